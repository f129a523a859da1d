"""The picture of one piece in one size; of a result, with what it was before."""

from __future__ import annotations

from functools import partial

import numpy as np

from propagate.engine.finish import cut_line
from propagate.engine.record import PieceChange
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_words, name_title, piece_title
from propagate.report import sheet
from propagate.report.blend_text import edit_words, size_taken
from propagate.report.canvas import Canvas
from propagate.report.notices import notices_of
from propagate.report.scene.change import piece_before
from propagate.report.scene.frames import moved_piece
from propagate.report.scene.items import Scene
from propagate.report.scene.labels import Labels
from propagate.report.scene.looks import LAYERS
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import compose_piece, grain_up
from propagate.report.scene.texts import label_edges, label_levels, label_marks, label_title
from propagate.report.set_text import cut_words
from propagate.report.style import definitions
from propagate.report.units import Unit

__all__ = ["MARGIN_MM", "piece_picture", "text_size"]

MARGIN_MM = 12.0
_SMALLEST_TEXT, _LARGEST_TEXT = 3.2, 9.5


def text_size(extent: float) -> float:
    """Size of ordinary text for a drawing of this extent, mm: readable on a screen too."""
    return float(np.clip(extent / 105.0, _SMALLEST_TEXT, _LARGEST_TEXT))


def piece_picture(
    pattern: PatternSet, name: str, size: str, unit: Unit, result: Result | None = None
) -> str:
    """Draw one piece in one size as SVG text, its grain upwards."""
    sized, info = pattern.sized(name, size), pattern.info[name]
    change, turn = _change(result, name), grain_up(sized)
    piece = moved_piece(sized, turn)
    letter = text_size(float(np.ptp(piece.outline, axis=0).max()))
    before, same, longer = None, frozenset[str](), dict[str, float]()
    if change is not None:
        before = moved_piece(piece_before(sized, change), turn)
        same = frozenset(edge.edge for edge in change.edges if edge.status == "same")
        longer = {e.edge: e.before_mm for e in change.edges if e.status == "reshaped"}
    cut = cut_line(piece, info, size=size)
    scene = compose_piece(piece, info, cut=cut, before=before, same=same)
    labels = Labels(scene)

    def words(of: str) -> str:
        return name_title(pattern, of, name)

    label_title(labels, piece, [f"{info.title}  {size}", cut_words(info)], letter)
    label_marks(labels, piece, letter, words)
    label_edges(labels, piece, letter, unit, longer, words)
    label_levels(labels, scene, letter, partial(name_title, pattern))
    canvas = Canvas()
    paint(scene + labels.scene, canvas)
    _sheet(canvas, pattern, name, size, letter, unit, result, change, scene)
    title = f"{pattern.name}: {info.title}, size {size}"
    return canvas.svg(
        title=title,
        text=f"{piece_title(pattern, name)} at true scale: 1 unit is 1 mm.",
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
        lines.append(f"taken from size {taken} and changed" if change else f"size {taken} as drawn")
    blocks = [
        sheet.legend_block(scene, letter, change.size if change else ""),
        _lengths(pattern, name, size, letter, unit, change),
        sheet.test_square(letter),
    ]
    if result is not None:
        said = [in_words(pattern, text) for text in notices_of(result, name)]
        if said:
            blocks.append(sheet.notes(said, letter, max(blocks[0].width, blocks[1].width)))
    heading = sheet.heading_lines(info.title, lines, letter)
    sheet.lay_sheet(canvas, heading, blocks, letter)


def _lengths(
    pattern: PatternSet,
    name: str,
    size: str,
    letter: float,
    unit: Unit,
    change: PieceChange | None,
) -> sheet.Block:
    piece = pattern.sized(name, size)
    titles = {edge.name: name_title(pattern, edge.name, name) for edge in piece.edges}
    if change is None:
        rows = [[titles[edge.name], unit.length(edge.length)] for edge in piece.edges]
        return sheet.table(["edge", unit.name], rows, letter)
    before = {edge.edge: edge for edge in change.edges}
    rows = []
    for edge in piece.edges:
        old = before[edge.name]
        word = {"same": "same", "moved": "moved"}.get(old.status)
        rows.append(
            [
                titles[edge.name],
                unit.length(old.before_mm),
                unit.length(edge.length),
                word or unit.change(edge.length - old.before_mm),
            ]
        )
    return sheet.table([f"edge ({unit.name})", "before", "now", "change"], rows, letter)
