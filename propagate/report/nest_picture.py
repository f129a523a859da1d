"""The picture of a nest: all sizes of a piece laid over each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import length, locate, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.pattern.titles import name_title
from propagate.report import sheet
from propagate.report.canvas import Canvas
from propagate.report.piece_picture import MARGIN_MM, text_size
from propagate.report.scene.frames import laid_on_base, moved_piece
from propagate.report.scene.items import Dot, Line, Role, Scene, text
from propagate.report.scene.labels import Labels
from propagate.report.scene.looks import LAYERS, stroke_of
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import compose_piece, grain_up
from propagate.report.set_text import cut_words
from propagate.report.style import definitions
from propagate.report.units import Unit, counted

__all__ = ["nest_picture"]

_DOT = 0.15
"""A dot on the line that a size's name is tied to, of the size of its letters."""


def nest_picture(pattern: PatternSet, name: str, unit: Unit) -> str:
    """Draw all sizes of a piece over each other as SVG text, the grain of the base size upwards."""
    info, base = pattern.info[name], pattern.sized(name, pattern.base)
    turn = grain_up(base)
    pieces = [
        moved_piece(pattern.sized(name, size), turn.after(laid_on_base(pattern, name, size)))
        for size in pattern.sizes
    ]
    upright = compose_piece(moved_piece(base, turn), info)
    scene = Scene(upright.of(Role.GRAIN, Role.FOLD))
    for i, (size, piece) in enumerate(zip(pattern.sizes, pieces, strict=True)):
        scene += _seams_of(piece, info, size, i)
    low, high = scene.bounds()
    letter = text_size(float((high - low).max()))
    canvas = Canvas()
    paint(scene + _size_names(scene, pattern.sizes, pieces, letter), canvas)
    on_level = pattern.lay_on in base.levels
    where = (
        f"level ‘{name_title(pattern, pattern.lay_on)}’"
        if on_level
        else f"the start of {name_title(pattern, base.edges[0].name, name)}"
    )
    lines = [
        f"{pattern.name}, {counted(len(pattern.sizes), 'size')} laid over each other on {where}",
        cut_words(info),
    ]
    blocks = [_lengths(pattern, name, letter, unit), sheet.test_square(letter)]
    sheet.lay_sheet(canvas, sheet.heading_lines(info.title, lines, letter), blocks, letter)
    return canvas.svg(
        title=f"{pattern.name}: {info.title}, all sizes",
        text=f"Nest of piece {name} at true scale: 1 unit is 1 mm. Seam lines only.",
        definitions=definitions(0.75 * letter),
        order=LAYERS,
        margin=MARGIN_MM,
    )


def _seams_of(piece: SizedPiece, info: PieceInfo, size: str, series: int) -> Scene:
    """The seam lines of one size, which tell what size they are of."""
    seams = compose_piece(piece, info, series=series).of(Role.SEAM)
    return Scene(
        tuple(
            replace(seam, facts={"size": size, **seam.facts})
            for seam in seams
            if isinstance(seam, Line)
        )
    )


def _size_names(
    scene: Scene, sizes: Sequence[str], pieces: Sequence[SizedPiece], letter: float
) -> Scene:
    """Every size tied to its own line, staggered, where the lines lie furthest apart."""
    first, last = pieces[0], pieces[-1]

    def spread(edge: str) -> float:
        line = last.edge(edge).points
        return locate(line, point_at(first.edge(edge).points, first.edge(edge).length / 2))[
            1
        ] * math.sqrt(length(line))

    edge = max(first.edge_names, key=spread)
    labels = Labels(scene)
    dots = []
    for i, (size, piece) in enumerate(zip(sizes, pieces, strict=True)):
        points = piece.edge(edge).points
        at = length(points) * (0.3 + 0.4 * i / max(len(sizes) - 1, 1))
        along = point_at(points, at + letter) - point_at(points, at - letter)
        outward, place = np.array([along[1], -along[0]]) / math.hypot(*along), point_at(points, at)
        label = text((0.0, 0.0), size, letter, bold=True)
        first_way = math.atan2(outward[1], outward[0])
        labels.near(place, label, first=first_way)
        dots.append(Dot(Role.LEADER, place, _DOT * letter, filled=True))
    return Scene(tuple(dots)) + labels.scene


def _lengths(pattern: PatternSet, name: str, letter: float, unit: Unit) -> sheet.Block:
    """The legend and the lengths of the edges in one table, a row for each size."""
    rows = []
    for size in pattern.sizes:
        piece = pattern.sized(name, size)
        named = f"{size} (base)" if size == pattern.base else size
        rows.append([named, *(unit.length(edge.length) for edge in piece.edges)])
    names = [
        name_title(pattern, edge, name) for edge in pattern.sized(name, pattern.base).edge_names
    ]
    strokes = [stroke_of(Role.SEAM, i) for i in range(len(pattern.sizes))]
    return sheet.table([f"size ({unit.name})", *names], rows, letter, strokes)
