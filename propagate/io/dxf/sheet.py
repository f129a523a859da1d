"""What a block of one piece in one size shows, in mm, and how it is written as DXF text."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.geometry.affine import UNMOVED, Affine
from propagate.geometry.corner import measure_turns
from propagate.geometry.polyline import as_pair, near_vertices, point_at
from propagate.io.dxf.conventions import VALIDATION, Layer
from propagate.io.dxf.cut_lines import DrawnCut, notch_layer, notch_place
from propagate.io.dxf.texts import KINDS, MARKER, escape_text, plain_text
from propagate.io.options import WriteOptions
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.pattern.relations import PieceInfo

__all__ = ["Pen", "Sheet", "draw_sheet", "write_block"]


@dataclass
class Pen:
    """Writes entities.

    Attributes
    ----------
    unit_mm : float
        Millimetres in one unit of the file.
    precision : float
        mm to which coordinates are rounded.
    place : Affine
        Coordinates are written before this map (a block that is inserted moved).
    handle : int
        The next handle; 0 writes entities of release 12, without handles.
    """

    unit_mm: float = 1.0
    precision: float = 0.001
    place: Affine = UNMOVED
    handle: int = 0
    parts: list[str] = field(default_factory=list)

    @cached_property
    def decimals(self) -> int:
        """Decimals of a coordinate in the file's unit."""
        step = self.precision / self.unit_mm
        return int(max(0, min(12, np.ceil(-np.log10(step) - 1e-9))))

    @cached_property
    def _at(self) -> str:
        """The groups of a place, to be filled with x and y."""
        return f" 10\n%.{self.decimals}f\n 20\n%.{self.decimals}f\n 30\n0.0\n"

    def rounded(self, points: Array) -> Array:
        """Return points in units of the file, as they are written."""
        units = self.place.back(np.asarray(points, dtype=np.float64)) / self.unit_mm
        if self.unit_mm == 1.0:
            step = self.precision
            units = np.round(units / step) * step if step not in (0.1, 0.01, 0.001) else units
        return np.asarray(np.round(units, self.decimals) + 0.0)

    def _open(self, kind: str, layer: str, *marks: str) -> str:
        if not self.handle:
            return f"  0\n{kind}\n  8\n{layer}\n"
        self.handle += 1
        subclass = "".join(f"100\n{mark}\n" for mark in marks)
        return f"  0\n{kind}\n  5\n{self.handle - 1:X}\n100\nAcDbEntity\n  8\n{layer}\n{subclass}"

    def line(self, layer: str, points: Array, *, closed: bool) -> None:
        """Write a polyline, or a LINE for two points; points that fall together are one."""
        at = self.rounded(points)
        keep = np.ones(len(at), dtype=bool)
        keep[1:] = (np.diff(at, axis=0) != 0.0).any(axis=1)
        at = at[keep]
        if closed and len(at) > 1 and (at[0] == at[-1]).all():
            at = at[:-1]
        if len(at) == 2 and not closed:
            self._segment(layer, at)
            return
        self.parts.append(
            self._open("POLYLINE", layer, "AcDb2dPolyline")
            + f" 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{int(closed)}\n"
        )
        self._placed("VERTEX", [layer] * len(at), at, "AcDbVertex", "AcDb2dVertex")
        self.parts.append(self._open("SEQEND", layer))

    def _placed(self, kind: str, layers: Sequence[str], at: Array, *marks: str) -> None:
        """Write entities that are no more than a place, which is rounded already."""
        if self.handle:
            whole = "".join(self._open(kind, layer, *marks) + self._at for layer in layers)
        else:
            head = {layer: self._open(kind, layer) + self._at for layer in set(layers)}
            whole = "".join([head[layer] for layer in layers])
        # All at once: places are most of what a file holds.
        self.parts.append(whole % tuple(at.ravel().tolist()))

    def _segment(self, layer: str, at: Array) -> None:
        digits = self.decimals
        (x0, y0), (x1, y1) = at.tolist()
        self.parts.append(
            self._open("LINE", layer, "AcDbLine")
            + f" 10\n{x0:.{digits}f}\n 20\n{y0:.{digits}f}\n 30\n0.0\n"
            + f" 11\n{x1:.{digits}f}\n 21\n{y1:.{digits}f}\n 31\n0.0\n"
        )

    def points(self, layers: Sequence[str], places: Array) -> None:
        """Write POINTs, each on its layer; their (n, 2) places are rounded as one array."""
        if layers:
            self._placed("POINT", layers, self.rounded(places), "AcDbPoint")

    def text(
        self,
        layer: str,
        point: Array | tuple[float, float],
        text: str,
        *,
        height: float,
        angle: float = 0.0,
    ) -> None:
        """Write a TEXT of ASCII letters; `height` in mm, `angle` in degrees."""
        x, y = self.rounded(np.asarray(point)).tolist()
        tail = "100\nAcDbText\n" if self.handle else ""
        turn = angle - self.place.angle
        rotation = f" 50\n{turn:.10g}\n" if turn else ""
        self.parts.append(
            self._open("TEXT", layer, "AcDbText")
            + self._at % (x, y)
            + f" 40\n{height / self.unit_mm:.6g}\n  1\n{text}\n{rotation}{tail}"
        )

    def take(self) -> str:
        """Return what was written and begin anew."""
        text = "".join(self.parts)
        self.parts.clear()
        return text


# ----------------------------------------------------------------------------- what a block shows

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


def draw_sheet(
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
    _add_outlines(sheet, piece, cut)
    if info.fold is not None:
        fold = piece.edge(info.fold).points
        sheet.lines.append(SheetLine(Layer.MIRROR, fold[[0, -1]], False))
    grain = np.array([piece.grain.start, piece.grain.end])
    sheet.lines.append(SheetLine(Layer.GRAIN, grain, False))
    if grade_axis is not None:
        middle, half = piece.outline.mean(axis=0), 25.0 * grade_axis / np.hypot(*grade_axis)
        ends = np.array([middle - half, middle + half])
        sheet.lines.append(SheetLine(Layer.GRADE_LINE, ends, False))
    for line in piece.lines:
        closed = len(line.points) > 3 and bool((line.points[0] == line.points[-1]).all())
        layer = Layer.CUT_OUT if line.name.startswith("cutout") else Layer.INTERNAL
        if line.name.startswith("stitch"):
            layer = Layer.SEW
        points = line.points[:-1] if closed else line.points
        bends = np.flatnonzero(np.abs(measure_turns(points)) > 10.0).tolist()
        turns = tuple(bends) if closed else tuple(sorted({0, *bends, len(points) - 1}))
        sheet.lines.append(SheetLine(layer, points, closed, turns))
    sheet.points += [(Layer.DRILL, mark.point) for mark in piece.drills]
    sheet.points += [(Layer.DRILL, dart.tip) for dart in piece.darts]
    for mark in piece.landmarks:
        if mark.kind != "mark":
            sheet.points.append(
                (
                    notch_layer(mark),
                    notch_place(mark, piece, cut, on_seam=options.notches == "seam"),
                )
            )
    _add_validation(sheet, piece, cut, name, options)
    if options.names:
        sheet.texts += _write_names(piece)
    if words:
        sheet.texts += _write_words(piece, info, name, size, options)
    return sheet


def _add_outlines(sheet: Sheet, piece: SizedPiece, cut: DrawnCut | None) -> None:
    starts, inner, count = [], [], 0
    for edge in piece.edges:
        starts.append(count)
        inner += [count + turn for turn in edge.turns]
        count += len(edge.points) - 1
    turns = tuple(sorted(starts + inner))
    outline = np.array(piece.outline)
    if cut is None:
        sheet.lines.append(SheetLine(Layer.BOUNDARY, outline, True, turns))
    else:
        sheet.lines.append(SheetLine(Layer.BOUNDARY, cut.points, True, cut.turns))
    sheet.lines.append(SheetLine(Layer.SEW, outline, True, turns))


def _add_validation(
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
            sheet.lines.append(SheetLine(VALIDATION[Layer.SEW], edge.points, False))
    for edge_name, part in cut.stretches if cut is not None else ():
        if shaped(edge_name, piece.edge(edge_name).points) and len(part) > 2:
            sheet.lines.append(SheetLine(VALIDATION[Layer.BOUNDARY], part, False))


def _find_edge_middle(edge: Edge) -> tuple[float, float]:
    """Return the middle of the longest stretch between corners inside an edge."""
    stops = [0, *edge.turns, len(edge.points) - 1]
    low, high = max(
        itertools.pairwise(stops),
        key=lambda pair: edge.arc[pair[1]] - edge.arc[pair[0]],
    )
    return as_pair(point_at(edge.points, float(edge.arc[low] + edge.arc[high]) / 2))


def _write_names(piece: SizedPiece) -> Iterator[SheetText]:
    """Texts of ours, each at the place it names."""

    def text(at: tuple[float, float], *words: str, angle: float = 0.0) -> SheetText:
        return SheetText(Layer.ANNOTATION, at, MARKER + escape_text(" ".join(words)), angle=angle)

    for edge in piece.edges:
        yield text(_find_edge_middle(edge), "edge", edge.name)
        for turn in edge.turns:
            yield text(as_pair(edge.points[turn]), "turn")
    for mark in piece.landmarks:
        yield text(mark.point, _WORD_OF[mark.kind], mark.name, mark.edge)
    for dart in piece.darts:
        yield text(dart.tip, "dart", dart.name, dart.edge, *dart.legs)
    for line in piece.lines:
        yield text(as_pair(line.points[0]), "line", line.name)
    for drill in piece.drills:
        yield text(drill.point, "drill", drill.name)
    for name, point in piece.levels.items():
        yield text(point, "level", name)
    if piece.label is not None:
        yield text(piece.label.point, "label", angle=piece.label.angle)


def _write_words(
    piece: SizedPiece, info: PieceInfo, name: str, size: str, options: WriteOptions
) -> Iterator[SheetText]:
    """System text of the piece, one line under the other."""
    cut, pair = info.cut, info.pair
    counts = (cut - cut // 2, cut // 2) if pair else (cut, 0)
    lines = [
        f"Piece Name: {plain_text(name)}",
        f"Size: {plain_text(size)}",
        f"Quantity: {counts[0]},{counts[1]}",
        *([f"Material: {plain_text(info.fabric)}"] if info.fabric else []),
        f"Annotation: {plain_text(info.title)}",
    ]
    at = np.array(piece.label.point) if piece.label is not None else piece.outline.mean(axis=0)
    for index, line in enumerate(lines):
        place = (float(at[0]), float(at[1]) - 1.4 * _TEXT_HEIGHT * index)
        yield SheetText(Layer.BOUNDARY, place, line, _TEXT_HEIGHT, fixed=True)
    if not options.names:
        return
    own = {"title": (info.title, plain_text(info.title).strip())}
    own["piece"] = (name, plain_text(name))
    own["size"] = (size, plain_text(size))
    for word, (value, written) in own.items():
        if word == "title" or value != written:
            said = f"{MARKER}{word} {escape_text(value)}"
            yield SheetText(Layer.ANNOTATION, as_pair(at), said, fixed=True)


def mark_line_points(sheet: Sheet, pen: Pen) -> tuple[list[str], Array]:
    """Turn and curve points of the lines, each place once on a layer: layers, (n, 2) places.

    Another line that turns or ends at a curve point of an outline does not make it a corner,
    nor does one that ends so near to it that a reader takes the two for one place.
    """
    marked = [line for line in sheet.lines if line.turns is not None]
    marked.sort(key=lambda line: not line.closed)
    seam = sheet.lines[1]
    curved = _find_curve_points(seam)
    corners = []
    for line in marked:
        corner = _flag_corners(line)
        corners.append(
            corner if line is seam else corner & (near_vertices(curved, line.points) < 0)
        )
        if line is sheet.lines[0]:
            curved = np.concatenate([curved, _find_curve_points(line)])
    corner, places = np.concatenate(corners), np.concatenate([line.points for line in marked])
    first: dict[tuple[bool, float, float], int] = {}
    keys = zip(corner.tolist(), *pen.rounded(places).T.tolist(), strict=True)
    for index, key in enumerate(keys):
        first.setdefault(key, index)
    layers = [Layer.TURN if turns else Layer.CURVE for turns, *_ in first]
    return layers, places[list(first.values())]


def _flag_corners(line: SheetLine) -> npt.NDArray[np.bool_]:
    """(n,) which vertices of a line are its corners."""
    corner = np.zeros(len(line.points), dtype=bool)
    corner[list(line.turns or ())] = True
    return corner


def _find_curve_points(line: SheetLine) -> Array:
    """Return the vertices of a line that are no corners."""
    return line.points[~_flag_corners(line)]


def write_block(sheet: Sheet, pen: Pen) -> None:
    """Write a block's entities, with the turn and curve points of its lines."""
    for line in sheet.lines:
        pen.line(line.layer, line.points, closed=line.closed)
    layers, places = mark_line_points(sheet, pen)
    layers += [layer for layer, _ in sheet.points]
    pen.points(layers, np.array([*places, *(at for _, at in sheet.points)]))
    for text in sheet.texts:
        pen.text(text.layer, text.at, text.text, height=text.height, angle=text.angle)
