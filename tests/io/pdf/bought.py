"""Demo sets as a pattern that is bought: one sheet, all sizes, words, and no relations.

Each piece lies with its grain upright, its sizes nested as they were drafted.  Its seam lines, its
notches and its darts are drawn in each size; title, cutting and grain once.  A legend names the
looks of the sizes, and a square tells the scale.  What is drawn is written by programs that share
nothing with ours, so that the whole way from paper can be judged by the set that was drawn.
"""

from __future__ import annotations

import math
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pikepdf

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import piece_title
from tests.io.pdf.drafts import DASHES, MM, Draft, DraftLine, add_layers, svg_of
from tests.suggesting.strangers import Names

BLACK = (0.0, 0.0, 0.0)
ROOM, NOTCH, WIDE = 30.0, 5.0, 2400.0
"""mm: between pieces, the length of a notch, the widest row."""
EXAMPLE_SIZES = ("42", "44", "46", "48")


@dataclass(frozen=True)
class Words:
    """Words at a place, mm, y up."""

    text: str
    at: tuple[float, float]
    height: float = 6.0


@dataclass(frozen=True, eq=False)
class Sheet:
    """A sheet with lines and words, and where each piece lies in each size.

    Attributes
    ----------
    places : mapping of piece and size to (2 x 2 turn, shift in mm)
        From the draft to the sheet.
    """

    draft: Draft
    words: tuple[Words, ...]
    places: Mapping[tuple[str, str], tuple[np.ndarray, np.ndarray]]

    def placed(self, piece: str, size: str, points: object) -> np.ndarray:
        """Points of the draft on the sheet."""
        turn, shift = self.places[piece, size]
        return np.asarray(np.asarray(points, dtype=float) @ turn.T + shift)


def bought_sheet(pattern: PatternSet, sizes: Sequence[str] = ()) -> Sheet:
    """All pieces of a set side by side in rows, as bare drawings."""
    wanted = tuple(sizes) or pattern.sizes
    looks = {size: (DASHES[k % 4], _colour(k, len(wanted))) for k, size in enumerate(wanted)}
    places, extent = _places(pattern, wanted)
    sheet = Sheet(Draft((), extent), (), places)
    lines: list[DraftLine] = []
    words: list[Words] = []
    for name, piece in pattern.pieces.items():
        for size in wanted:
            dash, colour = looks[size]
            for points in _drawn(piece.at(size)):
                on_sheet = sheet.placed(name, size, points)
                lines.append(DraftLine(on_sheet, colour, dash, size))
        base = piece.at(pattern.base)
        ends = sheet.placed(name, pattern.base, _ends(base))
        lines += [DraftLine(points, BLACK, (), "") for points in _grain(ends)]
        rows = _said(pattern, name)
        wide = np.ptp(sheet.placed(name, pattern.base, base.outline)[:, 0])
        height = min(6.0, wide / max(map(len, rows)))
        words += [
            Words(text, (ends[:, 0].mean() + 1.0, ends[:, 1].mean() - 1.5 * k * height), height)
            for k, text in enumerate(rows)
        ]
    for number, (size, (dash, colour)) in enumerate(looks.items()):
        at = np.array([120.0 + 60.0 * (number % 8), 20.0 + 25.0 * (number // 8)])
        lines.append(DraftLine(np.array([at, at + np.array([30.0, 0.0])]), colour, dash, size))
        words.append(Words(f"size {size}", (at[0] + 33.0, at[1] - 2.0), 5.0))
    square = np.array([[20, 20], [70, 20], [70, 70], [20, 70], [20, 20]], dtype=float)
    lines.append(DraftLine(square, BLACK, (), ""))
    words.append(Words("5 cm", (38.0, 42.0), 5.0))
    return replace(sheet, draft=replace(sheet.draft, lines=tuple(lines)), words=tuple(words))


def _places(
    pattern: PatternSet, sizes: Sequence[str]
) -> tuple[dict[tuple[str, str], tuple[np.ndarray, np.ndarray]], tuple[float, float]]:
    """Where the pieces lie in rows, grain upright, and the extent of the sheet."""
    places = {}
    x, y, tall, right = ROOM, ROOM + 60.0, 0.0, 600.0
    for name, piece in pattern.pieces.items():
        turn = _upright(piece.at(pattern.base))
        turned = [piece.at(size).outline @ turn.T for size in sizes]
        moves = _nested(turned)
        nest = np.vstack([points + by for points, by in zip(turned, moves, strict=True)])
        low, extent = nest.min(axis=0), np.ptp(nest, axis=0)
        if x > ROOM and x + extent[0] > WIDE:
            x, y, tall = ROOM, y + tall + ROOM, 0.0
        for size, by in zip(sizes, moves, strict=True):
            places[name, size] = turn, np.array([x, y]) - low + by
        x, tall = x + float(extent[0]) + ROOM, max(tall, float(extent[1]))
        right = max(right, x)
    return places, (right, y + tall + ROOM)


def _nested(outlines: Sequence[np.ndarray]) -> list[np.ndarray]:
    """How each size is moved: not at all, or by its lower left corner if drafted apart."""
    corners = np.array([points.min(axis=0) for points in outlines])
    far = (
        np.ptp(corners, axis=0)
        > np.min([np.ptp(points, axis=0) for points in outlines], axis=0) / 2
    )
    return list(corners[0] - corners if far.any() else np.zeros_like(corners))


def _ends(piece: SizedPiece) -> np.ndarray:
    """Both ends of the grain line."""
    return np.array([piece.grain.start, piece.grain.end], dtype=float)


def _upright(piece: SizedPiece) -> np.ndarray:
    """The turn that puts the grain upright."""
    x, y = piece.grain.direction
    return np.array([[y, -x], [x, y]])


def _colour(number: int, count: int) -> tuple[float, float, float]:
    angle = 2 * math.pi * number / count
    red, green, blue = (round(0.4 + 0.4 * math.cos(angle + k * 2.1), 3) for k in range(3))
    return red, green, blue


def _drawn(piece: SizedPiece) -> Iterator[np.ndarray]:
    """Edges, notches and legs of darts; a dart's mouth is drawn through."""
    for edge in piece.edges:
        yield np.asarray(edge.points)
    legs = {leg for dart in piece.darts for leg in dart.legs}
    for mark in piece.landmarks:
        if mark.edge is None or mark.name in legs:
            continue
        points = np.asarray(piece.edge(mark.edge).points)
        at = np.asarray(mark.point)
        beside = points[np.argsort(np.hypot(*(points - at).T))[:2]]
        along = beside[1] - beside[0]
        across = np.array([-along[1], along[0]]) / math.hypot(*along)
        inward = across if _inside(piece, at + 0.5 * across) else -across
        yield np.array([at, at + NOTCH * inward])
    for dart in piece.darts:
        first, second = (piece.landmark(leg).point for leg in dart.legs)
        yield np.array([first, dart.tip, second])


def _inside(piece: SizedPiece, at: np.ndarray) -> bool:
    import shapely

    return bool(shapely.Polygon(piece.outline).contains(shapely.Point(at)))


def _grain(ends: np.ndarray) -> Iterator[np.ndarray]:
    """A line with an arrow at its upper end."""
    low, high = sorted(ends.tolist(), key=lambda end: float(end[1]))
    yield np.array([low, high])
    x, y = high
    yield np.array([[x - 3.0, y - 8.0], [x, y], [x + 3.0, y - 8.0]])


def _said(pattern: PatternSet, name: str) -> list[str]:
    """Title, cutting and cloth."""
    info = pattern.info[name]
    cut = (
        f"cut {info.cut}" + (" as a pair" if info.pair else "") + (" on fold" if info.fold else "")
    )
    return [piece_title(pattern, name), cut, *([info.fabric] if info.fabric else [])]


def bought_by_cairo(sheet: Sheet, file: Path) -> Path:
    """Written by cairo: sizes differ in colour and dash, words are text."""
    tall = sheet.draft.size[1]
    extra = "\n".join(
        f'<text x="{one.at[0]}" y="{tall - one.at[1]}" font-size="{one.height}" fill="#000" '
        f'font-family="DejaVu Sans">{one.text}</text>'
        for one in sheet.words
    )
    source = file.with_suffix(".svg")
    source.write_text(svg_of(sheet.draft, extra), encoding="utf-8")
    subprocess.run(["rsvg-convert", "-f", "pdf", str(source), "-o", str(file)], check=True)
    source.unlink()
    return file


def bought_by_reportlab(sheet: Sheet, file: Path) -> Path:
    """Written by a library for reports, each size in a layer of its own; all lines look alike."""
    from reportlab.pdfgen.canvas import Canvas

    draft = sheet.draft
    canvas = Canvas(
        str(file), pagesize=tuple(MM * part for part in draft.size), pageCompression=1, invariant=1
    )
    layers = [one for one in dict.fromkeys(line.layer for line in draft.lines) if one]
    canvas.setLineWidth(0.3 * MM)
    for line in draft.lines:
        if line.layer:
            canvas._code.append(f"/OC /L{layers.index(line.layer)} BDC")
        path = canvas.beginPath()
        path.moveTo(*(line.points[0] * MM))
        for point in line.points[1:]:
            path.lineTo(*(point * MM))
        canvas.drawPath(path)
        if line.layer:
            canvas._code.append("EMC")
    for one in sheet.words:
        canvas.setFont("Helvetica", one.height * MM)
        canvas.drawString(one.at[0] * MM, one.at[1] * MM, one.text)
    canvas.showPage()
    canvas.save()
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        add_layers(pdf, [f"size {layer}" for layer in layers])
        pdf.save(file, deterministic_id=True)
    return file


def names_on(pattern: PatternSet, sheet: Sheet, begun: PatternSet) -> Names:
    """What is called how in the set that was begun from the sheet, by where it lies."""
    size = pattern.base
    found = {name: piece.at(size) for name, piece in begun.pieces.items()}
    pieces, edges, marks = {}, {}, {}
    for name, piece in pattern.pieces.items():
        own = piece.at(size)
        low = sheet.placed(name, size, own.outline).min(axis=0)
        new = min(found, key=lambda other: math.dist(found[other].outline.min(axis=0), low))
        pieces[name] = new
        for edge in own.edges:
            on_sheet = sheet.placed(name, size, [edge.points[0], edge.points[-1]])
            edges[name, edge.name] = min(
                found[new].edges,
                key=lambda one: float(np.abs(np.asarray(one.points)[[0, -1]] - on_sheet).sum()),
            ).name
        for mark in own.landmarks:
            at = sheet.placed(name, size, mark.point)
            marks[name, mark.name] = min(
                found[new].landmarks, key=lambda one: math.dist(one.point, at)
            ).name
    return Names(pieces, edges, marks)


def write_example(folder: Path) -> Path:
    """The pattern that the tutorial begins with: four sizes of trousers."""
    from tests.shared import demo

    sheet = bought_sheet(demo("slant_trouser"), EXAMPLE_SIZES)
    return bought_by_reportlab(sheet, folder / "trousers.pdf")


if __name__ == "__main__":
    write_example(Path("docs/patterns"))
