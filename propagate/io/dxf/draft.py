"""One block in one size as a draft: outline, corners, and what lies on it, not yet named."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from propagate.counts import say_count
from propagate.geometry.arrays import Indices
from propagate.geometry.beside import find_squares, ring_part
from propagate.geometry.polyline import locate_all, near_vertices
from propagate.io.dxf.conventions import (
    LAYERS,
    NO_PLACE,
    NOTCH_NAMES,
    SEAM_SHARE,
    VALIDATION,
    Layer,
)
from propagate.io.dxf.outline import Loop, check_outline, corner_vertices, find_loops, fold_run
from propagate.io.dxf.shapes import Line, Shapes, table_points
from propagate.io.dxf.texts import Ours, list_places, read_ours
from propagate.io.options import DxfChoices
from propagate.io.report import ReportNotes
from propagate.pattern.grain import Grain
from propagate.pattern.model import Array
from propagate.tolerances import SAME_PLACE_MM, SAME_POINT_MM

__all__ = ["Draft", "PlacedNotch", "draft_block", "list_notches", "part_at_corners"]

MAX_OUTLINE = 50_000
MAX_INSIDE = 5_000
MAX_CORNERS = 500
MAX_NOTCHES = 300
_AT_CORNER_MM = 0.02
"""By so much the digits of a drawing put a notch at a corner nearer to one of both edges."""
_NAME_MM = 5.0
"""How far from its edge a name may stand."""


@dataclass
class PlacedNotch:
    """A notch on its edge.

    Attributes
    ----------
    word : str
        Of its type, as in names.
    edge : int
        Index of the edge.
    along : float
        Distance from the edge's start, mm.
    gap : float
        How far off the outline it was drawn, mm.
    inside : bool
        It lies on the seam line inside the cut line that is the outline.
    """

    word: str
    edge: int
    along: float
    gap: float
    at: tuple[float, float]
    name: str = ""
    inside: bool = False


@dataclass
class Draft:
    """A piece in one size, its edges in outline order.

    Those of a cut line that is drawn alone, when that was asked for: `alone` is true then, and
    `fold_inside` where the mirror line runs along the seam line.
    """

    edges: list[Array]
    turns: list[tuple[int, ...]]
    names: list[str]
    grain: Grain
    cut: Array | None
    fold: int | None
    ours: Ours
    notches: list[PlacedNotch] = field(default_factory=list)
    lines: list[tuple[str, Array]] = field(default_factory=list)
    drills: list[Array] = field(default_factory=list)
    alone: bool = False
    fold_inside: bool = False

    @property
    def outline(self) -> Array:
        """(n, 2) closed outline, the first point not repeated."""
        return np.concatenate([edge[:-1] for edge in self.edges])


def draft_block(shapes: Shapes, choices: DxfChoices, notes: ReportNotes, where: str) -> Draft | str:
    """Read one block in millimetres; text says why it is no piece."""
    by_layer: dict[str, list[Line]] = {}
    for line in shapes.lines:
        by_layer.setdefault(line.layer, []).append(line)
    at = table_points(shapes.points).by_layer()
    ours, _ = read_ours(shapes.texts)
    _list_unknown(by_layer, at, notes, where)
    if max(len(by_layer.get(layer, ())) for layer in (Layer.BOUNDARY, Layer.SEW)) > MAX_INSIDE:
        return f"it has more than {MAX_INSIDE} lines on layer 1 or 14"
    if len(ours.items) > MAX_INSIDE:
        return f"it has more than {MAX_INSIDE} texts that begin with '@'"
    boundary = _find_boundary(by_layer.get(Layer.BOUNDARY, []), notes, where)
    if boundary is None:
        return "it has no closed line on layer 1"
    if sum(len(at.get(layer, ())) for layer in (*NOTCH_NAMES, Layer.DRILL)) > MAX_NOTCHES:
        return f"it has more than {MAX_NOTCHES} notches and drill holes"
    seam, stitches = _find_seam(boundary, by_layer.get(Layer.SEW, []), choices, notes, where)
    if max(len(seam.points), len(boundary.points)) > MAX_OUTLINE:
        return f"its outline has more than {MAX_OUTLINE} points"
    outline = check_outline(
        seam.points,
        by_layer.get(VALIDATION[Layer.SEW if seam is not boundary else "1"], []),
        notes,
        where,
    )
    mirrors = by_layer.get(Layer.MIRROR, [])
    inside = choices.allowance if choices.boundary == "cut" and seam is boundary else 0.0
    mirrored = fold_run(outline, mirrors, notes, where, inside=inside)
    fold = mirrored.run if mirrored is not None else None
    cut = None if seam is boundary else boundary.points
    corners = corner_vertices(outline, at, fold, choices, notes, where, cut)
    if len(corners) > MAX_CORNERS:
        return f"it has more than {MAX_CORNERS} corners"
    _check_points(shapes, at, len(outline) > len(corners), notes, where)
    found = _split_outline(outline, corners, ours, _find_grain(by_layer, outline, notes, where))
    found.cut = boundary.points if seam is not boundary else None
    found.alone = seam is boundary and choices.boundary == "cut"
    found.fold_inside = mirrored is not None and mirrored.outside
    if fold is not None:
        chord = outline[fold[len(fold) // 2 - 1 : len(fold) // 2 + 1]]
        middle = chord.mean(axis=0)[None]
        found.fold = int(np.argmin([locate_all(edge, middle)[1][0] for edge in found.edges]))
    _name_edges(found, inside, notes, where)
    _place_notches(found, at, notes, where)
    _add_inside(found, by_layer, stitches, at)
    return found


def _list_unknown(
    by_layer: dict[str, list[Line]], points: Iterable[str], notes: ReportNotes, where: str
) -> None:
    for layer in sorted({*by_layer, *points} - {*LAYERS, *NO_PLACE}):
        notes.warn(f"layer '{layer}' is not known; what is on it is kept as it is", where=where)
    for layer, what in NO_PLACE.items():
        if layer in by_layer:
            notes.info(
                f"the {what} on layer {layer} has no place in a set; it is kept as it is",
                where=where,
            )


def _find_boundary(lines: Sequence[Line], notes: ReportNotes, where: str) -> Loop | None:
    loops, opened = find_loops(lines)
    if not loops:
        long = [line for line in opened if len(line.points) >= 3]
        if len(long) != 1:
            return None
        closed = Line(Layer.BOUNDARY, long[0].points, True, long[0].source)
        loops, _ = find_loops([closed])
        opened = []
        notes.warn(
            "the boundary is neither flagged closed nor does its last point repeat the first; "
            "it was closed by a straight line",
            where=where,
        )
    if loops and loops[0].closing == "chained":
        notes.info("the boundary is drawn as several lines; they were joined", where=where)
    if len(loops) > 1 or opened:
        more = say_count(len(loops) + len(opened) - 1, "more line")
        notes.warn(
            f"layer 1 has {more}; the largest closed one is the boundary, the others are "
            "kept as they are",
            where=where,
        )
    return loops[0] if loops else None


def _find_seam(
    boundary: Loop, lines: Sequence[Line], choices: DxfChoices, notes: ReportNotes, where: str
) -> tuple[Loop, list[Array]]:
    """Return the seam line and the other lines on the sew layer."""
    if choices.boundary == "seam" or not lines:
        if choices.boundary == "auto" and not lines:
            notes.warn(
                "there is no seam line on layer 14: the line on layer 1 is taken as the seam "
                "line, without allowances",
                option="--dxf boundary=...",
                where=where,
            )
        elif choices.boundary == "cut" and not lines:
            notes.info(
                "there is no seam line on layer 14: the line on layer 1 is taken as the cut line, "
                "outside the seam line by the allowances",
                option="--boundary, --allowance",
                where=where,
            )
        return boundary, [line.points for line in lines]
    loops, opened = find_loops(lines)
    if not loops or loops[0].area < SEAM_SHARE * boundary.area:
        notes.warn(
            "layer 14 has no closed line as large as the piece: its lines are kept as internal "
            "lines and the line on layer 1 is taken as the seam line",
            option="--dxf boundary=...",
            where=where,
        )
        return boundary, [line.points for line in lines]
    if loops[0].area > boundary.area * (1 + 1e-6):
        notes.warn("the seam line on layer 14 is larger than the boundary on layer 1", where=where)
    rest = [np.vstack([loop.points, loop.points[:1]]) for loop in loops[1:]]
    return loops[0], rest + [line.points for line in opened]


def _check_points(
    shapes: Shapes, at: dict[str, Array], curved: bool, notes: ReportNotes, where: str
) -> None:
    """Say when turn or curve points lie on no line."""
    given = [at[layer] for layer in (Layer.TURN, Layer.CURVE) if layer in at]
    if Layer.CURVE not in at and curved:
        notes.info(
            "there are no curve points on layer 3: every vertex is taken as drawn", where=where
        )
    lines = [line.points for line in shapes.lines if line.layer in VALIDATION]
    if not given or not lines:
        return
    lost = int((near_vertices(np.concatenate(lines), np.concatenate(given)) < 0).sum())
    if lost:
        notes.warn(
            f"{say_count(lost, 'turn or curve point')} on no vertex of a line, left out",
            where=where,
        )


def _find_grain(
    by_layer: dict[str, list[Line]], outline: Array, notes: ReportNotes, where: str
) -> Grain:
    lines = by_layer.get(Layer.GRAIN, [])
    if lines:
        if len(lines) > 1:
            notes.info(f"there are {len(lines)} grain lines; the first is taken", where=where)
        start, end = lines[0].points[0], lines[0].points[-1]
        if np.hypot(*(end - start)) > 0.01:
            return Grain((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
    centre = outline.mean(axis=0)
    along = np.array([1.0, 0.0])
    grades = by_layer.get(Layer.GRADE_LINE, [])
    if grades and np.hypot(*(grades[0].points[-1] - grades[0].points[0])) > 0.01:
        along = grades[0].points[-1] - grades[0].points[0]
        along = along / np.hypot(*along)
    notes.warn(
        "there is no grain line: "
        + ("the grade reference line" if grades else "the drawing's x axis")
        + " is taken as the grain",
        where=where,
    )
    half = along * float(np.ptp(outline, axis=0).max()) / 4
    start, end = centre - half, centre + half
    return Grain((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))


def _split_outline(outline: Array, corners: list[int], ours: Ours, grain: Grain) -> Draft:
    """Cut the outline at its corners; those marked as inside an edge stay inside."""
    inner = set(near_vertices(outline, list_places(ours.of("turn"))).tolist()) & set(corners)
    starts = [index for index in corners if index not in inner] or [0]
    if not ours.of("edge"):
        # a stable place to begin: the corner at the lower left, the grain pointing up
        x, y = grain.direction
        frame = np.array([[y, -x], [x, y]])
        low = (outline[starts] @ frame.T).sum(axis=1)
        first = int(np.argmin(np.round(low, 3)))
        starts = starts[first:] + starts[:first]
    edges, turns = [], []
    for index in part_at_corners(len(outline), starts):
        edges.append(outline[index])
        last = len(index) - 1
        turns.append(tuple(k for k, i in enumerate(index.tolist()) if i in inner and 0 < k < last))
    return Draft(edges, turns, [""] * len(edges), grain, None, None, ours)


def part_at_corners(count: int, starts: Sequence[int]) -> list[Indices]:
    """The vertices of each edge of an outline of `count`, from corner to corner."""
    return [
        ring_part(start, starts[(place + 1) % len(starts)], count)
        for place, start in enumerate(starts)
    ]


def _name_edges(found: Draft, inside: float, notes: ReportNotes, where: str) -> None:
    """Give edges the names that stand at their middles."""
    named = found.ours.of("edge")
    if not named:
        return
    where_at = list_places(named)
    gaps = np.array([locate_all(edge, where_at)[1] for edge in found.edges])
    for index, item in enumerate(named):
        edge = int(gaps[:, index].argmin())
        if (
            gaps[edge, index] > _NAME_MM + inside
            or found.names[edge]
            or item.names[0] in found.names
        ):
            notes.warn(f"the name '{item.names[0]}' stands at no edge of its own", where=where)
        else:
            found.names[edge] = item.names[0]


def _place_notches(found: Draft, at: dict[str, Array], notes: ReportNotes, where: str) -> None:
    layers = [layer for layer in NOTCH_NAMES if layer in at]
    if layers:
        targets = np.concatenate([at[layer] for layer in layers])
        words = [NOTCH_NAMES[layer] for layer in layers for _ in at[layer]]
        found.notches = list_notches(found, words, targets)
    for notch in found.notches:
        if notch.gap > 50.0:
            notes.warn(
                f"a notch lies {notch.gap:.1f} mm off the seam line; it was projected on it",
                where=where,
            )


def list_notches(found: Draft, words: Sequence[str], targets: Array) -> list[PlacedNotch]:
    """Place notch points on the edges of a draft, each square across from where it is drawn.

    One at a corner goes to the first of both edges, whichever its last digit is nearer to.
    """
    on = [locate_all(edge, targets) for edge in found.edges]
    gaps = np.array([gap for _, gap in on])
    best = (gaps <= gaps.min(axis=0) + _AT_CORNER_MM).argmax(axis=0)
    across = {
        edge: find_squares(found.edges, edge, found.turns[edge]) for edge in set(best.tolist())
    }
    placed = []
    for index, word in enumerate(words):
        edge = int(best[index])
        gap = float(gaps[edge, index])
        foot = across[edge].foot(targets[index], gap) if gap > SAME_PLACE_MM else None
        along = float(on[edge][0][index]) if foot is None else foot
        point = (float(targets[index][0]), float(targets[index][1]))
        placed.append(PlacedNotch(word, edge, along, gap, point))
    return placed


def _add_inside(
    found: Draft, by_layer: dict[str, list[Line]], stitches: list[Array], at: dict[str, Array]
) -> None:
    for layer, word in ((Layer.INTERNAL, "line"), (Layer.CUT_OUT, "cutout")):
        for line in by_layer.get(layer, []):
            points = line.points
            if line.closed and np.hypot(*(points[0] - points[-1])) > SAME_POINT_MM:
                points = np.vstack([points, points[:1]])
            found.lines.append((word, points))
    found.lines += [("stitch", points) for points in stitches]
    found.drills = list(at.get(Layer.DRILL, []))
