"""What a block of one piece in one size shows, as lines, points and texts in mm."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from propagate.geometry.corner import turning
from propagate.geometry.polyline import near_vertices, point_at
from propagate.io.dxf.ascii_text import escaped, plain
from propagate.io.dxf.conventions import (
    ANNOTATION,
    BOUNDARY,
    CURVE,
    CUT_OUT,
    DRILL,
    GRADE_LINE,
    GRAIN,
    INTERNAL,
    MIRROR,
    SEW,
    TURN,
    VALIDATION,
)
from propagate.io.dxf.cut_lines import DrawnCut
from propagate.io.dxf.notch_places import notch_layer, notch_place
from propagate.io.dxf.options import WriteOptions
from propagate.io.dxf.ours import KINDS, MARKER
from propagate.io.dxf.pen import Pen
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.pattern.relations import PieceInfo

__all__ = ["Sheet", "SheetLine", "SheetText", "draw", "write_sheet"]

MANY_POINTS = 8
_NAME_HEIGHT = 2.0
_TEXT_HEIGHT = 5.0
_WORD_OF = {kind: word for word, kind in KINDS.items()}


@dataclass
class SheetLine:
    """A line; `turns` are its corners, None where no points are marked on it."""

    layer: str
    points: Array
    closed: bool
    turns: tuple[int, ...] | None = None


@dataclass
class SheetText:
    """A text; `fixed` ones are not graded."""

    layer: str
    at: tuple[float, float]
    text: str
    height: float = _NAME_HEIGHT
    angle: float = 0.0
    fixed: bool = False


@dataclass
class Sheet:
    """A block; sheets of one piece in several sizes can be compared item by item."""

    lines: list[SheetLine] = field(default_factory=list)
    points: list[tuple[str, tuple[float, float]]] = field(default_factory=list)
    texts: list[SheetText] = field(default_factory=list)


def draw(
    piece: SizedPiece,
    info: PieceInfo,
    cut: DrawnCut | None,
    name: str,
    size: str,
    options: WriteOptions,
    *,
    words: bool = True,
    grade_axis: Array | None = None,
) -> Sheet:
    """Lay out a block; with `grade_axis`, (2,), with a grade reference line along it."""
    sheet = Sheet()
    _outlines(sheet, piece, cut)
    if info.fold is not None:
        fold = piece.edge(info.fold).points
        sheet.lines.append(SheetLine(MIRROR, fold[[0, -1]], False))
    grain = np.array([piece.grain.start, piece.grain.end])
    sheet.lines.append(SheetLine(GRAIN, grain, False))
    if grade_axis is not None:
        middle, half = piece.outline.mean(axis=0), 25.0 * grade_axis / np.hypot(*grade_axis)
        sheet.lines.append(SheetLine(GRADE_LINE, np.array([middle - half, middle + half]), False))
    for line in piece.lines:
        closed = len(line.points) > 3 and bool((line.points[0] == line.points[-1]).all())
        layer = CUT_OUT if line.name.startswith("cutout") else INTERNAL
        if line.name.startswith("stitch"):
            layer = SEW
        points = line.points[:-1] if closed else line.points
        bends = np.flatnonzero(np.abs(turning(points)) > 10.0).tolist()
        turns = tuple(bends) if closed else tuple(sorted({0, *bends, len(points) - 1}))
        sheet.lines.append(SheetLine(layer, points, closed, turns))
    sheet.points += [(DRILL, mark.point) for mark in piece.drills]
    sheet.points += [(DRILL, dart.tip) for dart in piece.darts]
    for mark in piece.landmarks:
        if mark.kind != "mark":
            sheet.points.append(
                (
                    notch_layer(mark),
                    notch_place(mark, piece, cut, on_seam=options.notches == "seam"),
                )
            )
    _validation(sheet, piece, cut, name, options)
    if options.names:
        sheet.texts += _names(piece)
    if words:
        sheet.texts += _words(piece, info, name, size, options)
    return sheet


def _outlines(sheet: Sheet, piece: SizedPiece, cut: DrawnCut | None) -> None:
    starts, inner, count = [], [], 0
    for edge in piece.edges:
        starts.append(count)
        inner += [count + turn for turn in edge.turns]
        count += len(edge.points) - 1
    turns = tuple(sorted(starts + inner))
    outline = np.array(piece.outline)
    if cut is None:
        sheet.lines.append(SheetLine(BOUNDARY, outline, True, turns))
    else:
        sheet.lines.append(SheetLine(BOUNDARY, cut.points, True, cut.turns))
    sheet.lines.append(SheetLine(SEW, outline, True, turns))


def _validation(
    sheet: Sheet, piece: SizedPiece, cut: DrawnCut | None, name: str, options: WriteOptions
) -> None:
    """Dense copies of curved edges."""
    wanted = options.validation
    if wanted == "none":
        return

    def shaped(edge: str, points: Array) -> bool:
        if wanted == "many":
            return len(points) > MANY_POINTS
        return not isinstance(wanted, str) and edge in wanted.get(name, ())

    for edge in piece.edges:
        if shaped(edge.name, edge.points):
            sheet.lines.append(SheetLine(VALIDATION[SEW], edge.points, False))
    for edge_name, part in cut.stretches if cut is not None else ():
        if shaped(edge_name, piece.edge(edge_name).points) and len(part) > 2:
            sheet.lines.append(SheetLine(VALIDATION[BOUNDARY], part, False))


def _middle(edge: Edge) -> tuple[float, float]:
    """Return the middle of the longest stretch between corners inside an edge."""
    stops = [0, *edge.turns, len(edge.points) - 1]
    low, high = max(
        itertools.pairwise(stops),
        key=lambda pair: edge.arc[pair[1]] - edge.arc[pair[0]],
    )
    x, y = point_at(edge.points, float(edge.arc[low] + edge.arc[high]) / 2)
    return float(x), float(y)


def _at(point: Array) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _names(piece: SizedPiece) -> Iterator[SheetText]:
    """Texts of ours, each at the place it names."""

    def text(at: tuple[float, float], *words: str, angle: float = 0.0) -> SheetText:
        return SheetText(ANNOTATION, at, MARKER + escaped(" ".join(words)), angle=angle)

    for edge in piece.edges:
        yield text(_middle(edge), "edge", edge.name)
        for turn in edge.turns:
            yield text(_at(edge.points[turn]), "turn")
    for mark in piece.landmarks:
        yield text(mark.point, _WORD_OF[mark.kind], mark.name, mark.edge)
    for dart in piece.darts:
        yield text(dart.tip, "dart", dart.name, dart.edge, *dart.legs)
    for line in piece.lines:
        yield text(_at(line.points[0]), "line", line.name)
    for drill in piece.drills:
        yield text(drill.point, "drill", drill.name)
    for name, point in piece.levels.items():
        yield text(point, "level", name)
    if piece.label is not None:
        yield text(piece.label.point, "label", angle=piece.label.angle)


def _words(
    piece: SizedPiece, info: PieceInfo, name: str, size: str, options: WriteOptions
) -> Iterator[SheetText]:
    """System text of the piece, one line under the other."""
    cut, pair = info.cut, info.pair
    counts = (cut - cut // 2, cut // 2) if pair else (cut, 0)
    lines = [
        f"Piece Name: {plain(name)}",
        f"Size: {plain(size)}",
        f"Quantity: {counts[0]},{counts[1]}",
        *([f"Material: {plain(info.fabric)}"] if info.fabric else []),
        f"Annotation: {plain(info.title)}",
    ]
    at = np.array(piece.label.point) if piece.label is not None else piece.outline.mean(axis=0)
    for index, line in enumerate(lines):
        place = (float(at[0]), float(at[1]) - 1.4 * _TEXT_HEIGHT * index)
        yield SheetText(BOUNDARY, place, line, _TEXT_HEIGHT, fixed=True)
    if not options.names:
        return
    own = {"title": (info.title, plain(info.title).strip())}
    own["piece"] = (name, plain(name))
    own["size"] = (size, plain(size))
    for word, (value, written) in own.items():
        if word == "title" or value != written:
            yield SheetText(ANNOTATION, _at(at), f"{MARKER}{word} {escaped(value)}", fixed=True)


def line_points(sheet: Sheet, pen: Pen) -> Iterator[tuple[str, Array]]:
    """Turn and curve points of the lines, each place once on a layer.

    Another line that turns or ends at a curve point of an outline does not make it a corner,
    nor does one that ends so near to it that a reader takes the two for one place.
    """
    marked: set[tuple[str, float, float]] = set()
    closed = [line for line in sheet.lines if line.turns is not None and line.closed]
    opened = [line for line in sheet.lines if line.turns is not None and not line.closed]
    seam = sheet.lines[1]
    curved = _curved(seam)
    for line in (*closed, *opened):
        on_curve = near_vertices(curved, line.points) >= 0
        turns = set(line.turns or ())
        own = line is seam
        for index, (x, y) in enumerate(pen.rounded(line.points).tolist()):
            layer = TURN if index in turns and (own or not on_curve[index]) else CURVE
            if (layer, x, y) not in marked:
                marked.add((layer, x, y))
                yield layer, line.points[index]
        if line is sheet.lines[0]:
            curved = np.concatenate([curved, _curved(line)])


def _curved(line: SheetLine) -> Array:
    """Return the vertices of a line that are no corners."""
    corner = np.zeros(len(line.points), dtype=bool)
    corner[list(line.turns or ())] = True
    return line.points[~corner]


def write_sheet(sheet: Sheet, pen: Pen) -> None:
    """Write a block's entities, with the turn and curve points of its lines."""
    for line in sheet.lines:
        pen.line(line.layer, line.points, closed=line.closed)
    pen.points([*line_points(sheet, pen), *sheet.points])
    for text in sheet.texts:
        pen.text(text.layer, text.at, text.text, height=text.height, angle=text.angle)
