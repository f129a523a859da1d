"""Draw a piece as one SVG at true scale: a result with before and after, a size, a nest, bare."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from propagate.counts import say_count
from propagate.engine.finish import cut_line
from propagate.engine.record import PieceChange
from propagate.engine.run import Result
from propagate.geometry.polyline import between, length, locate, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import name_title, piece_title
from propagate.report import sheet
from propagate.report.blend_text import edit_words, size_taken
from propagate.report.canvas import Canvas
from propagate.report.lead_sentence import lead_sentence
from propagate.report.notices import notices_of, say_notice_of
from propagate.report.scene.items import Dot, Line, Role, Scene, Tone, make_text
from propagate.report.scene.labels import Labels
from propagate.report.scene.lead import compose_lead
from propagate.report.scene.looks import LAYERS, paint_scene, stroke_of
from propagate.report.scene.piece import (
    compose_piece,
    grain_up,
    laid_on_base,
    moved_piece,
    piece_before,
    shown_changes,
)
from propagate.report.set_text import cut_words
from propagate.report.style import write_patterns
from propagate.report.units import MILLIMETRES, Unit, unit_of

__all__ = ["MARGIN_MM", "draw", "lead_picture", "numbered_picture", "picture_size"]

MARGIN_MM = 12.0
_SMALLEST_TEXT, _LARGEST_TEXT = 3.2, 9.5
_DOT = 0.15
"""A dot on the line that a size's name is tied to, of the size of its letters."""
_WIDTH_MM, _HEIGHT_MM = 200.0, 190.0
_LETTER = 3.0
_THIN = 0.6
_PITCH = 1.6
_SMALLER = 0.8
"""Names of marks and levels, of the size of ordinary text."""
_TITLE_SIZES = (1.6, 1.3, 1.0, 0.8)
_SECOND = 0.7
"""Lines below a title, of its size."""


def draw(
    source: PatternSet | Result, piece: str, size: str | None = None, *, unit: str = "mm"
) -> str:
    """Draw one piece as SVG text, width and height in mm, at true scale.

    Parameters
    ----------
    source : PatternSet or Result
        A result is drawn with its outline before, what is taped on and what is trimmed.
    size : str or None
        Size to draw; None draws the nest of a set with several sizes.
    unit : "mm" or "in"
        Unit of the lengths that are written; the drawing itself is true in either.

    Raises
    ------
    UnknownName
        For a piece or size that the set does not have.
    """
    result = source if isinstance(source, Result) else None
    pattern = source.pattern if isinstance(source, Result) else source
    pattern.piece(piece)
    if size is None and len(pattern.sizes) > 1:
        return _draw_nest(pattern, piece, unit_of(unit))
    return _draw_size(pattern, piece, size or pattern.base, unit_of(unit), result)


def picture_size(svg: str) -> tuple[float, float]:
    """Return width and height of a picture that `draw` made, mm."""
    head = svg[: svg.index(">")]
    found = [head.split(f' {name}="', 1)[1].split('mm"', 1)[0] for name in ("width", "height")]
    return float(found[0]), float(found[1])


def _draw_size(pattern: PatternSet, name: str, size: str, unit: Unit, result: Result | None) -> str:
    """Draw one piece in one size, its grain upwards; of a result, with what it was before."""
    sized, info = pattern.sized(name, size), pattern.info[name]
    change = shown_changes(result.record).get(name) if result is not None else None
    turn = grain_up(sized)
    piece = moved_piece(sized, turn)
    letter = _letter_size(piece.outline)
    before, same, longer = None, frozenset[str](), dict[str, float]()
    if change is not None:
        before = moved_piece(piece_before(sized, change), turn)
        same = frozenset(edge.edge for edge in change.edges if edge.status == "same")
        longer = {e.edge: e.before_mm for e in change.edges if e.status == "reshaped"}
    cut = cut_line(piece, info, size=size)
    scene = compose_piece(piece, info, cut=cut, before=before, same=same)
    labels, title_of = Labels(scene), partial(name_title, pattern)
    _label_title(labels, piece, [f"{info.title}  {size}", cut_words(info)], letter)
    _label_marks(labels, piece, letter, partial(title_of, of=name))
    _label_edges(labels, piece, letter, unit, longer, partial(title_of, of=name))
    _label_levels(labels, scene, letter, title_of)
    lines = [f"{pattern.name}, size {size}: {cut_words(info)}"]
    blocks = [
        sheet.legend_block(scene, letter, change.size if change else ""),
        _tabulate_lengths(pattern, name, size, letter, unit, change),
        sheet.test_square(letter),
    ]
    if result is not None:
        taken = size_taken(result, name)
        lines.append(edit_words(result))
        lines.append(f"taken from size {taken} and changed" if change else f"size {taken} as drawn")
        said = [say_notice_of(pattern, name, notice) for notice in notices_of(result, name)]
        if said:
            blocks.append(sheet.notes_block(said, letter, max(blocks[0].width, blocks[1].width)))
    return _finish_picture(
        scene + labels.scene,
        letter,
        (info.title, lines, blocks),
        title=f"{pattern.name}: {info.title}, size {size}",
        words=f"{piece_title(pattern, name)} at true scale: 1 unit is 1 mm.",
    )


def numbered_picture(
    pattern: PatternSet, name: str, size: str | None = None, unit: Unit = MILLIMETRES
) -> str:
    """Draw a bare piece with the number and name of every edge, to write relations from.

    Numbers count counter-clockwise from the first edge, which starts at a dot.

    Raises
    ------
    UnknownName
        For a piece or size that the set does not have.
    """
    shown = size or pattern.base
    sized, info = pattern.sized(name, shown), pattern.info[name]
    piece = moved_piece(sized, grain_up(sized))
    letter = _letter_size(piece.outline)
    start = Scene((Dot(Role.SEAM, piece.edges[0].points[0], 2.0),))
    scene = compose_piece(piece, info).without(Role.LEVEL) + start
    labels = Labels(scene)
    numbered = list(enumerate(piece.edges, start=1))
    for number, edge in sorted(numbered, key=lambda item: -item[1].length):
        labels.along(edge.points, make_text((0.0, 0.0), f"{number} {edge.name}", letter, bold=True))
    _label_marks(labels, piece, letter, str)
    rows = [[f"{number}  {edge.name}", unit.length(edge.length)] for number, edge in numbered]
    blocks = [
        sheet.legend_block(scene, letter),
        sheet.table_block(["edge", unit.name], rows, letter),
        sheet.test_square(letter),
    ]
    return _finish_picture(
        scene + labels.scene,
        letter,
        (info.title, [f"{pattern.name}, size {shown}: piece '{name}'"], blocks),
        title=f"{pattern.name}: {info.title}, size {shown}",
        words=f"Piece {name} with its edges numbered; 1 unit is 1 mm.",
    )


def _letter_size(outline: np.ndarray) -> float:
    """Return size of ordinary text for an outline (n, 2), mm: readable on a screen too."""
    extent = float(np.ptp(outline, axis=0).max())
    return float(np.clip(extent / 105.0, _SMALLEST_TEXT, _LARGEST_TEXT))


def _finish_picture(
    scene: Scene,
    letter: float,
    around: tuple[str, Sequence[str], Sequence[sheet.Block]],
    *,
    title: str,
    words: str,
) -> str:
    """Write a drawing with its sheet as SVG; `around` is the heading, lines below it, blocks."""
    canvas = Canvas()
    paint_scene(scene, canvas)
    sheet.lay_sheet(canvas, *around, letter)
    return canvas.svg(
        title=title,
        text=words,
        definitions=write_patterns(0.75 * letter),
        order=LAYERS,
        margin=MARGIN_MM,
    )


def _tabulate_lengths(
    pattern: PatternSet,
    name: str,
    size: str,
    letter: float,
    unit: Unit,
    change: PieceChange | None,
) -> sheet.Block:
    edges = pattern.sized(name, size).edges
    titles = [name_title(pattern, edge.name, name) for edge in edges]
    rows = [[title, unit.length(edge.length)] for title, edge in zip(titles, edges, strict=True)]
    if change is None:
        return sheet.table_block(["edge", unit.name], rows, letter)
    before = {edge.edge: edge for edge in change.edges}
    for row, edge in zip(rows, edges, strict=True):
        old = before[edge.name]
        row.insert(1, unit.length(old.before_mm))
        said = unit.change(edge.length - old.before_mm)
        row.append(said if old.status == "reshaped" else old.status)
    return sheet.table_block([f"edge ({unit.name})", "before", "now", "change"], rows, letter)


# -------------------------------------------------------------------------------- a nest


def _draw_nest(pattern: PatternSet, name: str, unit: Unit) -> str:
    """Draw all sizes of a piece over each other, the grain of the base size upwards."""
    info, base = pattern.info[name], pattern.sized(name, pattern.base)
    turn = grain_up(base)
    pieces = [
        moved_piece(pattern.sized(name, size), turn.after(laid_on_base(pattern, name, size)))
        for size in pattern.sizes
    ]
    scene = Scene(compose_piece(moved_piece(base, turn), info).of(Role.GRAIN, Role.FOLD))
    for i, (size, piece) in enumerate(zip(pattern.sizes, pieces, strict=True)):
        seams = compose_piece(piece, info, series=i).of(Role.SEAM)
        told = (replace(s, facts={"size": size, **s.facts}) for s in seams if isinstance(s, Line))
        scene += Scene(tuple(told))
    letter = _letter_size(np.array(scene.bounds()))
    edge_titles = [name_title(pattern, edge, name) for edge in base.edge_names]
    where = f"the start of {edge_titles[0]}"
    if pattern.lay_on in base.levels:
        where = f"level ‘{name_title(pattern, pattern.lay_on)}’"
    lines = [
        f"{pattern.name}, {say_count(len(pattern.sizes), 'size')} laid over each other on {where}",
        cut_words(info),
    ]
    rows = []  # the legend too: the line of each size stands before its lengths
    for size in pattern.sizes:
        named = f"{size} (base)" if size == pattern.base else size
        edges = pattern.sized(name, size).edges
        rows.append([named, *(unit.length(edge.length) for edge in edges)])
    strokes = [stroke_of(Role.SEAM, i) for i in range(len(pattern.sizes))]
    lengths = sheet.table_block([f"size ({unit.name})", *edge_titles], rows, letter, strokes)
    return _finish_picture(
        scene + _name_sizes(scene, pattern.sizes, pieces, letter),
        letter,
        (info.title, lines, [lengths, sheet.test_square(letter)]),
        title=f"{pattern.name}: {info.title}, all sizes",
        words=f"Nest of piece {name} at true scale: 1 unit is 1 mm. Seam lines only.",
    )


def _name_sizes(
    scene: Scene, sizes: Sequence[str], pieces: Sequence[SizedPiece], letter: float
) -> Scene:
    """Tie every size to its own line, staggered, where the lines lie furthest apart."""
    first, last = pieces[0], pieces[-1]

    def spread(edge: str) -> float:
        line, middle = last.edge(edge).points, first.edge(edge).length / 2
        apart = locate(line, point_at(first.edge(edge).points, middle))[1]
        return apart * math.sqrt(length(line))

    edge = max(first.edge_names, key=spread)
    labels = Labels(scene)
    dots = []
    for i, (size, piece) in enumerate(zip(sizes, pieces, strict=True)):
        points = piece.edge(edge).points
        at = length(points) * (0.3 + 0.4 * i / max(len(sizes) - 1, 1))
        along = point_at(points, at + letter) - point_at(points, at - letter)
        outward, place = np.array([along[1], -along[0]]) / math.hypot(*along), point_at(points, at)
        way = math.atan2(outward[1], outward[0])
        labels.near(place, make_text((0.0, 0.0), size, letter, bold=True), first=way)
        dots.append(Dot(Role.LEADER, place, _DOT * letter, filled=True))
    return Scene(tuple(dots)) + labels.scene


def lead_picture(result: Result, unit: Unit, sizes: int = 1) -> str | None:
    """Draw all pieces that changed as one SVG text for a sheet of A4; None where none did.

    `sizes` is how many sizes of the set changed; that of the result is drawn.
    """
    lead = compose_lead(
        result, unit, width=_WIDTH_MM, height=_HEIGHT_MM, letter=_LETTER, sizes=sizes
    )
    if lead is None:
        return None
    canvas = Canvas()
    paint_scene(lead.scene, canvas, thin=_THIN)
    y = lead.height + 2.0 * _LETTER
    told = lead_sentence(result, unit)
    for said in reversed(canvas.wrapped(told, _LETTER, _WIDTH_MM)):
        canvas.text("sheet", (0.0, y), said, _LETTER, anchor="start")
        y += 1.5 * _LETTER
    name = result.pattern.name
    canvas.text("sheet", (0.0, y + 0.5 * _LETTER), name, 1.6 * _LETTER, anchor="start", bold=True)
    return canvas.svg(
        title=f"{name}: what changed",
        text=f"The pieces that changed, before and now. {told}",
        definitions=write_patterns(_PITCH),
        order=LAYERS,
        margin=MARGIN_MM / 2,
    )


def _label_title(labels: Labels, piece: SizedPiece, lines: Sequence[str], size: float) -> None:
    """Write title and lines where the label of a piece lies, as large as there is room for."""
    if piece.label is None:
        return
    for letter in (size * scale for scale in _TITLE_SIZES):
        rows = [
            make_text((0.0, 0.0), line, letter * (_SECOND if i else 1.0), bold=not i)
            for i, line in enumerate(lines)
        ]
        if labels.block(rows, piece.label.point, piece.label.angle):
            return


def _label_edges(
    labels: Labels,
    piece: SizedPiece,
    size: float,
    unit: Unit,
    before: Mapping[str, float],
    words: Callable[[str], str],
) -> None:
    """Write name and length of every edge; its change where `before` has that, mm."""
    for edge in sorted(piece.edges, key=lambda e: -e.length):
        said = f"{words(edge.name)} {unit.length(edge.length)}"
        label = make_text((0.0, 0.0), said, size)
        if edge.name in before:
            change = edge.length - before[edge.name]
            tone: Tone = "longer" if change > 0 else "shorter"
            said += f" ({unit.change(change)})"
            label = make_text((0.0, 0.0), said, size, tone=tone)
        labels.along(edge.points, label)


def _label_marks(
    labels: Labels, piece: SizedPiece, size: float, words: Callable[[str], str]
) -> None:
    """Write the names of notches and landmarks beside them."""
    small = _SMALLER * size
    for mark in piece.landmarks:
        if mark.kind == "dart leg":
            continue
        edge = piece.edge(mark.edge)
        at = piece.distance(mark.edge, mark.name)
        name = words(mark.name)
        reach = 0.5 * small * (len(name) + 2)
        stretch = between(edge.points, max(at - reach, 0.0), min(at + reach, edge.length))
        label = make_text((0.0, 0.0), name, small, tone="pale")
        labels.along(stretch, label, point=np.asarray(mark.point))


def _label_levels(labels: Labels, scene: Scene, size: float, words: Callable[[str], str]) -> None:
    """Write the names of the levels that have room."""
    for level in scene.of(Role.LEVEL):
        assert isinstance(level, Line)
        label = make_text((0.0, 0.0), words(level.name), _SMALLER * size, tone="pale")
        labels.along(level.points, label, within=True)
