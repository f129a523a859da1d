"""The picture of one piece in one size; of a result, with what it was before."""

from __future__ import annotations

from itertools import product

import numpy as np
import shapely

from propagate.engine.finish import cut_line
from propagate.engine.record import PieceChange
from propagate.engine.run import Result
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.report import piece_parts as parts
from propagate.report import sheet
from propagate.report.blend_text import edit_words, size_taken
from propagate.report.canvas import Canvas, text_width
from propagate.report.labels import Placer
from propagate.report.notices import notices_of
from propagate.report.scene.change import piece_before
from propagate.report.scene.items import Scene
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import compose_piece, outward_at
from propagate.report.set_text import cut_words
from propagate.report.style import LAYERS, definitions
from propagate.report.units import Unit

__all__ = ["MARGIN_MM", "piece_picture", "text_size"]

MARGIN_MM = 12.0
_BESIDE = ((0.0, 0.0), (0.0, 1.7), (0.0, -1.7), (1.0, 0.0), (-1.0, 0.0), (0.0, 3.4), (0.0, -3.4))
"""Where a piece's text may go when its own place is taken: half widths and heights away."""
_SMALLEST_TEXT, _LARGEST_TEXT = 3.2, 9.5


def text_size(extent: float) -> float:
    """Size of ordinary text for a drawing of this extent, mm: readable on a screen too."""
    return float(np.clip(extent / 105.0, _SMALLEST_TEXT, _LARGEST_TEXT))


def piece_picture(
    pattern: PatternSet, name: str, size: str, unit: Unit, result: Result | None = None
) -> str:
    """Draw one piece in one size as SVG text."""
    piece, info = pattern.sized(name, size), pattern.info[name]
    change = _change(result, name)
    letter = text_size(float(np.ptp(piece.outline, axis=0).max()))
    cut = cut_line(piece, info, size=size)
    before, same = None, frozenset[str]()
    if change is not None:
        before = piece_before(piece, change)
        same = frozenset(edge.edge for edge in change.edges if edge.status == "same")
    scene = compose_piece(piece, info, cut=cut, before=before, same=same)
    canvas = Canvas()
    paint(scene, canvas)
    _texts(canvas, scene, piece, info, size, letter, unit, change, cut.points)
    _sheet(canvas, pattern, name, size, letter, unit, result, change, scene)
    title = f"{pattern.name}: {info.title}, size {size}"
    return canvas.svg(
        title=title,
        text=f"Piece {name} at true scale: 1 unit is 1 mm.",
        definitions=definitions(0.75 * letter),
        order=LAYERS,
        margin=MARGIN_MM,
    )


def _change(result: Result | None, name: str) -> PieceChange | None:
    """What became of a piece, when there is something to show."""
    if result is None:
        return None
    for change in result.record.pieces:
        if change.piece == name and change.status != "same" and change.before:
            return change
    return None


def _texts(
    canvas: Canvas,
    scene: Scene,
    piece: SizedPiece,
    info: PieceInfo,
    size: str,
    letter: float,
    unit: Unit,
    change: PieceChange | None,
    outer: object,
) -> None:
    """Write everything that lies on the piece or beside it, without collisions."""
    inside = shapely.Polygon(piece.outline)
    was = [np.asarray(points) for points in change.before.values()] if change else []
    around = shapely.union_all(
        [shapely.make_valid(shapely.Polygon(outer)), *(shapely.LineString(line) for line in was)]
    ).buffer(0.25 * letter)
    placer = Placer(inside.buffer(-0.25 * letter), around, [*parts.inner_lines(piece), *was])
    for drill in piece.drills:
        placer.take(shapely.Point(drill.point).buffer(2.8))
    for mark in piece.landmarks:
        placer.take(shapely.Point(mark.point).buffer(1.6))
        if mark.kind == "notch":
            tip = np.asarray(mark.point) + outward_at(piece, mark) * 6.0
            placer.take(shapely.LineString([mark.point, tip]))
    _piece_label(canvas, piece, info, size, letter, placer)
    edges = {e.edge: e.before_mm for e in change.edges if e.status == "reshaped"} if change else {}
    parts.label_marks(canvas, piece, placer, letter * 0.8)
    parts.label_edges(canvas, piece, placer, letter, unit, edges)
    parts.label_levels(canvas, scene, placer, letter)


def _piece_label(
    canvas: Canvas,
    piece: SizedPiece,
    info: PieceInfo,
    size: str,
    letter: float,
    placer: Placer,
) -> None:
    """Title, size and cutting where the piece's label lies, as large as there is room for."""
    if piece.label is None:
        return
    angle = (piece.label.angle + 90.0) % 180.0 - 90.0
    turn = np.radians(angle)
    down = np.array([np.sin(turn), -np.cos(turn)])
    right = np.array([np.cos(turn), np.sin(turn)])
    lines = [f"{info.title}  {size}", cut_words(info)]
    for scale, (along, aside) in product((1.6, 1.3, 1.0, 0.8), _BESIDE):
        height = letter * scale
        wide = max(text_width(lines[0], height) * 1.06, text_width(lines[1], height * 0.7))
        shift = right * along * (wide / 2 + height) + down * aside * height
        middle = np.asarray(piece.label.point) + shift
        if placer.fits(middle, angle, wide, height * 2.2):
            above, below = middle - down * height * 0.45, middle + down * height * 0.65
            canvas.text("labels", above, lines[0], height, angle=angle, bold=True, halo=True)
            canvas.text("labels", below, lines[1], height * 0.7, angle=angle, halo=True)
            return


def _sheet(
    canvas: Canvas,
    pattern: PatternSet,
    name: str,
    size: str,
    letter: float,
    unit: Unit,
    result: Result | None,
    change: PieceChange | None,
    scene: Scene,
) -> None:
    info = pattern.info[name]
    lines = [f"{pattern.name}, size {size}: {cut_words(info)}"]
    if result is not None:
        lines.append(edit_words(result))
        taken = size_taken(result, name)
        lines.append(f"taken from size {taken} and re-cut" if change else f"size {taken} as drawn")
    blocks = [
        sheet.legend_block(scene, letter, change.size if change else ""),
        _lengths(pattern.sized(name, size), letter, unit, change),
        sheet.test_square(letter),
    ]
    if result is not None:
        said = notices_of(result, name)
        if said:
            blocks.append(sheet.notes(said, letter, max(blocks[0].width, blocks[1].width)))
    heading = sheet.heading_lines(info.title, lines, letter)
    sheet.lay_sheet(canvas, heading, blocks, letter)


def _lengths(
    piece: SizedPiece, letter: float, unit: Unit, change: PieceChange | None
) -> sheet.Block:
    if change is None:
        rows = [[edge.name, unit.length(edge.length)] for edge in piece.edges]
        return sheet.table(["edge", unit.name], rows, letter)
    before = {edge.edge: edge for edge in change.edges}
    rows = []
    for edge in piece.edges:
        old = before[edge.name]
        word = {"same": "same", "moved": "moved"}.get(old.status)
        rows.append(
            [
                edge.name,
                unit.length(old.before_mm),
                unit.length(edge.length),
                word or unit.change(edge.length - old.before_mm),
            ]
        )
    return sheet.table([f"edge ({unit.name})", "before", "now", "change"], rows, letter)
