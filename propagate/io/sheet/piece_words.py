"""What each piece is called, and what the texts on it say of cutting."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import shapely

from propagate.geometry.symmetry import is_own_mirror_image
from propagate.io.chain import Chain, Point
from propagate.io.clean_names import clean_name
from propagate.io.drawn_lines import DrawnText
from propagate.io.report import ReportNotes
from propagate.io.sheet.nest import place_said
from propagate.io.sheet.texts import (
    Said,
    find_allowance_words,
    find_text_middle,
    said_by,
    texts_on,
)
from propagate.io.svg.drawing import Shape
from propagate.io.svg.figures import with_figures
from propagate.io.svg.sorting import DrawnPiece
from propagate.pattern.model import Array

__all__ = ["name_pieces", "put_words", "tell_allowance_words"]

AT_EDGE_MM = 40.0
"""A text that names a fold is at an edge no farther from it than this."""
ALONG_DEG = 6.0
SQUARE_DEG, STRAIGHT_MM, FOLD_SHARE = 4.0, 0.05, 0.4
"""A fold is square at its ends, straight, and so much of its piece's height."""
MOST_TOLD = 3
TURNED_MM = 0.5
"""A piece that lies on itself within this when it is turned over needs no mirrored twin."""
_NOT_IN_WORDS = re.compile(r"[^\w-]+")


def name_pieces(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    texts: Sequence[DrawnText],
    sizes: Sequence[str],
    base: str,
    notes: ReportNotes,
    source: str,
) -> None:
    """Name the pieces by the texts on them, and put down what these say of cutting."""
    areas = {
        index: shapely.union_all([piece[size].ring.polygon for size in sizes])
        for index, piece in enumerate(drawn)
    }
    on = texts_on(texts, areas)
    used: set[str] = set()
    for index, piece in enumerate(drawn):
        said = said_by(on[index])
        plain = _NOT_IN_WORDS.sub(" ", said.title).strip()
        name = first = clean_name(plain).lower() or f"piece_{index + 1}"
        number = 2
        while name in used:
            name, number = f"{first}_{number}", number + 1
        used.add(name)
        if not said.title:
            place = place_said(piece[base].ring)
            notes.add(
                "assumed",
                f"no text on the piece at {place} names it; pieces are numbered from the top left",
                option=f"--piece NEW={name}",
                file=source,
                piece=name,
            )
        for size in sizes:
            piece[size].name = name
        put_words(piece, said, sizes, name, notes, source)


def tell_allowance_words(texts: Iterable[str], source: str, notes: ReportNotes) -> None:
    """Say that words of allowances speak against outlines that are taken as seam lines."""
    words = find_allowance_words(texts)
    if words is not None:
        notes.add(
            "warning",
            f"it is written \u201c{words}\u201d, and the outlines are taken as seam lines; if they "
            "are cut lines, read it again with the widths of their allowances",
            option="--boundary cut --allowance WIDTH --allowance hem=WIDTH",
            file=source,
        )


def put_words(
    piece: Mapping[str, DrawnPiece],
    said: Said,
    sizes: Sequence[str],
    name: str,
    notes: ReportNotes,
    source: str,
) -> None:
    """Put down what the texts on a piece say of cutting, beside what it is told to be already."""
    data = {"title": said.title} if said.title else {}
    data |= {"cut": str(said.cut)} if said.cut else {}
    twins = _are_twins(said, piece[sizes[0]])
    data |= {"pair": "true"} if said.pair or twins else {}
    data |= {"fabric": said.fabric} if said.fabric else {}
    for size in sizes:
        piece[size].data = {**data, **piece[size].data}
    if twins and piece[sizes[0]].data["pair"] == "true":
        notes.add(
            "assumed",
            "an even number to cut of a piece that is not its own mirror image is mirrored pairs, "
            "as cut from cloth laid double; where all are alike, take pair = true out of set.toml",
            file=source,
            piece=name,
        )
    if said.cut is None:
        notes.add("assumed", "no text says how often it is cut, so once", file=source, piece=name)
    if said.notes:
        longest = sorted(set(said.notes), key=lambda words: (-len(words), words))
        some = ", ".join(f"\u201c{words[:40]}\u201d" for words in longest[:MOST_TOLD])
        notes.add(
            "ignored",
            f"texts that say nothing of how it is cut, such as {some}",
            file=source,
            piece=name,
            count=len(said.notes),
        )
    drawn = any("fold" in shape.words for shape in piece[sizes[0]].shapes)
    if said.fold and not drawn:
        _mark_fold(piece, said, sizes, name, notes, source)


def _are_twins(said: Said, piece: DrawnPiece) -> bool:
    """Whether a number to cut means mirrored pairs, though no text says so.

    "Cut 2" is cut from cloth that is laid double, so one lies face down.  Common practice, no
    source.
    """
    if said.cut is None or said.cut % 2 or said.pair or said.fold:
        return False
    folded = any("fold" in shape.words for shape in piece.shapes)
    return not folded and not is_own_mirror_image(piece.ring.points, TURNED_MM)


# ------------------------------------------------------------------------------------- fold


def _mark_fold(
    piece: Mapping[str, DrawnPiece],
    said: Said,
    sizes: Sequence[str],
    name: str,
    notes: ReportNotes,
    source: str,
) -> None:
    """Draw the fold on the straight edge that a text names it at, in every size."""
    for text in said.at_fold:
        lines = {size: _edge_at(piece[size].ring.points, text) for size in sizes}
        if _draw_fold(piece, lines):
            words = f"the edge that \u201c{text.text.strip()}\u201d stands at lies on the fold"
            notes.add("assumed", words, file=source, piece=name)
            return
    if _draw_fold(piece, {size: _square_edge(piece[size].ring.points) for size in sizes}):
        words = (
            "a text says that it lies on the fold: taken is its one straight outer edge along the "
            "page that is square at both ends"
        )
        notes.add("assumed", words, file=source, piece=name)
        return
    if any(_has_bracket(piece[size]) for size in sizes):  # it says on which edge
        return
    words = "a text says that it lies on the fold, and not on which edge; say it in set.toml: fold"
    notes.add("warning", words, file=source, piece=name)


def _has_bracket(piece: DrawnPiece) -> bool:
    """Whether a bracket with arrows toward an edge is drawn on a piece."""
    drawn, _ = with_figures(piece.shapes, piece.ring.polygon.exterior, 0.0)
    return any("fold" in shape.words for shape in drawn)


def _draw_fold(
    piece: Mapping[str, DrawnPiece], lines: Mapping[str, tuple[Point, Point] | None]
) -> bool:
    """Draw the fold where every size has a line for it; tells whether it did."""
    found = {size: line for size, line in lines.items() if line is not None}
    if len(found) < len(lines):
        return False
    for size, (begin, end) in found.items():
        chain = Chain(begin, ((end,),))
        piece[size].shapes.append(Shape(chain, None, frozenset({"fold"}), {}, "path"))
    return True


def _square_edge(points: Array) -> tuple[Point, Point] | None:
    """The straight upright line of an outline that nothing reaches beyond, square at both ends.

    Half a piece is drawn with its middle along the grain; what is square where it meets the fold
    runs on over it without a peak.  Common practice, no source.
    """
    ring = shapely.Polygon(points).simplify(STRAIGHT_MM).exterior.coords
    corners = np.asarray(ring)[:-1]
    steps = np.roll(corners, -1, axis=0) - corners
    angles = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    turns = np.abs((np.roll(angles, -1) - angles + 180.0) % 360.0 - 180.0)  # at the end of a step
    square = np.abs(turns - 90.0) <= SQUARE_DEG
    upright = np.abs(np.abs(angles) - 90.0) <= ALONG_DEG / 2
    far = np.ptp(points, axis=0)[1]
    long = np.abs(steps[:, 1]) >= FOLD_SHARE * far
    on_side = [
        bool(np.isclose(corners[k, 0], points[:, 0].min(), atol=STRAIGHT_MM))
        or bool(np.isclose(corners[k, 0], points[:, 0].max(), atol=STRAIGHT_MM))
        for k in range(len(corners))
    ]
    found = np.flatnonzero(square & np.roll(square, 1) & upright & long & np.array(on_side))
    if len(found) != 1:
        return None
    begin, end = corners[found[0]], corners[(found[0] + 1) % len(corners)]
    return (float(begin[0]), float(begin[1])), (float(end[0]), float(end[1]))


def _edge_at(points: Array, text: DrawnText) -> tuple[Point, Point] | None:
    """The straight line of an outline along which a text runs, the nearest if several."""
    turn = math.radians(text.angle)
    along = np.array([math.cos(turn), math.sin(turn)])
    middle = np.array(find_text_middle(text))
    best: tuple[float, Point, Point] | None = None
    ends = np.roll(points, -1, axis=0)
    for a, b in zip(points, ends, strict=True):
        length = float(np.hypot(*(b - a)))
        if length < 2 * text.height:
            continue
        unit = (b - a) / length
        off = abs(float(unit[0] * along[1] - unit[1] * along[0]))
        if math.degrees(math.asin(min(1.0, off))) > ALONG_DEG:
            continue
        reach = float((middle - a) @ unit)
        gap = abs(float(unit[0] * (middle - a)[1] - unit[1] * (middle - a)[0]))
        if 0.0 <= reach <= length and gap <= AT_EDGE_MM and (best is None or gap < best[0]):
            best = (gap, (float(a[0]), float(a[1])), (float(b[0]), float(b[1])))
    return None if best is None else best[1:]
