"""The picture of a nest: all sizes of a piece laid over each other."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from propagate.engine.main_sides import two_sided_mains
from propagate.geometry.crossing import line_crossings
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import length, locate, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.report import sheet
from propagate.report.canvas import Canvas, Stroke
from propagate.report.piece_parts import draw_grain
from propagate.report.piece_picture import MARGIN_MM, text_size
from propagate.report.set_text import cut_words
from propagate.report.style import LAYERS, NEST, definitions
from propagate.report.units import Unit, counted

__all__ = ["nest_picture"]

Array = npt.NDArray[np.float64]

_BASE_WIDTH = 0.8


def nest_picture(pattern: PatternSet, name: str, unit: Unit) -> str:
    """Draw all sizes of a piece over each other as SVG text, in the base size's frame."""
    info, base = pattern.info[name], pattern.sized(name, pattern.base)
    canvas = Canvas()
    strokes = [_stroke(pattern, i) for i in range(len(pattern.sizes))]
    outlines: list[dict[str, Array]] = []
    for size, stroke in zip(pattern.sizes, strokes, strict=True):
        piece = pattern.sized(name, size)
        motion = _laid(pattern, name, size)
        for edge in piece.edges:
            attributes = {
                "class": "seam",
                "data-name": edge.name,
                "data-size": size,
                "data-length-mm": f"{edge.length:.4f}",
            }
            canvas.line("seam", motion.apply(edge.points), stroke, attributes=attributes)
        outlines.append({edge.name: motion.apply(edge.points) for edge in piece.edges})
    draw_grain(canvas, base)
    letter = text_size(float((canvas.high - canvas.low).max()))
    _name_sizes(canvas, pattern.sizes, outlines, strokes, letter)
    on_level = pattern.lay_on in base.levels
    where = f"level '{pattern.lay_on}'" if on_level else f"the start of {base.edges[0].name}"
    lines = [
        f"{pattern.name}, {counted(len(pattern.sizes), 'size')} laid over each other on {where}",
        cut_words(info),
    ]
    blocks = [_lengths(pattern, name, letter, unit, strokes), sheet.test_square(letter)]
    sheet.lay_sheet(canvas, sheet.heading_lines(info.title, lines, letter), blocks, letter)
    return canvas.svg(
        title=f"{pattern.name}: {info.title}, all sizes",
        text=f"Nest of piece {name} at true scale: 1 unit is 1 mm. Seam lines only.",
        definitions=definitions(0.75 * letter),
        order=LAYERS,
        margin=MARGIN_MM,
    )


def _name_sizes(
    canvas: Canvas,
    sizes: Sequence[str],
    outlines: Sequence[Mapping[str, Array]],
    strokes: Sequence[Stroke],
    letter: float,
) -> None:
    """Write every size on its own line, staggered, where the lines lie furthest apart."""
    first, last = outlines[0], outlines[-1]

    def spread(edge: str) -> float:
        a, b = first[edge], last[edge]
        return locate(b, point_at(a, length(a) / 2))[1] * math.sqrt(length(b))

    edge = max(first, key=spread)
    for i, (size, lines, stroke) in enumerate(zip(sizes, outlines, strokes, strict=True)):
        points = lines[edge]
        at = length(points) * (0.3 + 0.4 * i / max(len(sizes) - 1, 1))
        ends = point_at(points, at - letter), point_at(points, at + letter)
        along = ends[1] - ends[0]
        angle = float(np.degrees(np.arctan2(along[1], along[0])))
        angle = (angle + 90.0) % 180.0 - 90.0
        place = point_at(points, at)
        canvas.text(
            "labels", place, size, letter, angle=angle, colour=stroke.colour, bold=True, halo=True
        )


def _stroke(pattern: PatternSet, index: int) -> Stroke:
    stroke = NEST[index % len(NEST)]
    if pattern.sizes[index] != pattern.base:
        return stroke
    return Stroke(stroke.colour, _BASE_WIDTH, stroke.dash)


def _laid(pattern: PatternSet, name: str, size: str) -> Motion:
    """Motion that lays a size on the base size: grain parallel, place on place."""
    piece, base = pattern.sized(name, size), pattern.sized(name, pattern.base)
    turn = complex(*base.grain.direction) / complex(*piece.grain.direction)
    turned = Motion(turn / abs(turn))
    shift = _place(pattern, name, base) - turned.apply(_place(pattern, name, piece))
    return Motion(turned.turn, complex(*shift))


def _place(pattern: PatternSet, name: str, piece: SizedPiece) -> Array:
    """The place of a size that is laid on its twin.

    The height is the lay level's.  Across the grain it is where the centre edge of a main
    crosses its hold, else the level's own point.  A piece without the level is laid on
    its first corner.
    """
    if pattern.lay_on not in piece.levels:
        return np.asarray(piece.edges[0].points[0])
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    level = np.asarray(piece.levels[pattern.lay_on])
    centre = _centre(pattern, name, piece)
    beside = level if centre is None else centre
    return np.asarray(grain * (level @ grain) + across * (beside @ across))


def _centre(pattern: PatternSet, name: str, piece: SizedPiece) -> Array | None:
    """Where the centre edge of a main crosses the level of its hold; None elsewhere."""
    plan, assemblies = pattern.relations.blend, pattern.relations.assemblies
    middles = two_sided_mains(pattern, plan) if plan else frozenset()
    for main in plan.mains if plan else ():
        if main.silhouette in middles:
            continue
        assembly = assemblies.get(main.silhouette)
        run = assembly.edges[main.centre] if assembly else (Span(name, main.centre),)
        lead = assembly.lead if assembly else main.silhouette
        if lead != name or main.centre_hold not in piece.levels:
            continue
        points = piece.edge(run[0].edge).points
        grain = piece.grain.direction
        across = np.array([-grain[1], grain[0]])
        hits = line_crossings(points, np.asarray(piece.levels[main.centre_hold]), across)
        if len(hits):
            return point_at(points, float(hits[0]))
    return None


def _lengths(
    pattern: PatternSet, name: str, letter: float, unit: Unit, strokes: list[Stroke]
) -> sheet.Block:
    """The legend and the lengths of the edges in one table, a row for each size."""
    rows = []
    for size in pattern.sizes:
        piece = pattern.sized(name, size)
        rows.append([size, *(unit.length(edge.length) for edge in piece.edges)])
    names = pattern.sized(name, pattern.base).edge_names
    return sheet.table([f"size ({unit.name})", *names], rows, letter, strokes)
