"""The outline of a piece: closed lines, the seam line, where edges begin, the fold."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.counts import say_count
from propagate.geometry.beside import answering_vertices
from propagate.geometry.corner import angle_corners, signed_area
from propagate.geometry.polyline import locate_all, near_vertices
from propagate.io.dxf.conventions import REAL_EDGE_MM, Layer
from propagate.io.dxf.shapes import Line, Shapes
from propagate.io.options import DxfChoices
from propagate.io.report import ReportNotes
from propagate.io.rings import follow_lines, gather_ends
from propagate.pattern.dart_shape import turned_back
from propagate.pattern.model import Array
from propagate.pattern.relations import Allowance
from propagate.recognise.corners import BareOutline, missed_corners
from propagate.recognise.drawn_seams import allowances_between
from propagate.recognise.folds import ON_MIRROR_MM, find_run_along
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = [
    "Loop",
    "closed_lines",
    "corner_vertices",
    "find_loops",
    "fold_run",
    "measured_allowance",
    "check_outline",
]


@dataclass(frozen=True, eq=False)
class Loop:
    """A closed outline, counter-clockwise, its first point not repeated.

    Attributes
    ----------
    points : (n, 2) array, mm
    lines : tuple of Line
        What it was drawn with.
    closing : str
        How it was closed: "flag", "repeated point", "both", "neither", "chained".
    area : float
        mm^2.
    """

    points: Array
    lines: tuple[Line, ...]
    closing: str
    area: float


def find_loops(lines: Sequence[Line]) -> tuple[list[Loop], list[Line]]:
    """Return the closed outlines, largest first, and the lines that belong to none.

    Open lines are followed from end to end.
    """
    loops: list[Loop] = []
    opened: list[Line] = []
    for line in lines:
        repeated = _measure_gap(line.points[0], line.points[-1]) <= REAL_EDGE_MM
        if line.closed or (repeated and len(line.points) > 3):
            closing = ("both" if repeated else "flag") if line.closed else "repeated point"
            _add_loop(loops, line.points, (line,), closing)
        else:
            opened.append(line)
    rest: list[Line] = []
    net = gather_ends([line.points for line in opened], REAL_EDGE_MM)
    for chain in follow_lines(net, range(len(opened))):
        used = tuple(opened[number] for number, *_ in chain)
        parts: deque[Array] = deque()
        for line, (_, turned, behind) in zip(used, chain, strict=True):
            points = line.points[::-1] if turned else line.points
            if behind:
                parts.append(points[1:] if parts else points)
            else:
                parts.appendleft(points[:-1])
        if len(used) > 1 and _measure_gap(parts[0][0], parts[-1][-1]) <= REAL_EDGE_MM:
            _add_loop(loops, np.vstack(list(parts)), used, "chained")
        else:
            rest += used
    loops.sort(key=lambda loop: -loop.area)
    return loops, rest


def _measure_gap(a: Array, b: Array) -> float:
    return float(np.hypot(*(a - b)))


def _add_loop(loops: list[Loop], points: Array, lines: tuple[Line, ...], closing: str) -> bool:
    if len(points) > 1 and _measure_gap(points[0], points[-1]) <= REAL_EDGE_MM:
        points = points[:-1]
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    points = points[steps > SAME_POINT_MM]
    if len(points) < 3:
        return False
    area = float(signed_area(points))
    if area < 0:  # the first point stays first
        points = np.roll(points[::-1], 1, axis=0)
    loops.append(Loop(points, lines, closing, abs(area)))
    return True


def closed_lines(shapes: Shapes, notes: ReportNotes, where: str) -> Shapes:
    """Return the shapes with every repeated last point left out and its line flagged closed."""
    changed: list[Line] = []
    for line in shapes.lines:
        if len(line.points) > 3 and _measure_gap(line.points[0], line.points[-1]) <= REAL_EDGE_MM:
            notes.info(
                f"the last point of a line on layer {line.layer} repeats its first"
                + (" and the line is flagged closed" if line.closed else "")
                + "; it is one point",
                where=where,
            )
            line = replace(line, points=line.points[:-1], closed=True)
        changed.append(line)
    return replace(shapes, lines=changed)


# ---------------------------------------------------------------------------------------- corners

_UP = np.array([0.0, 1.0])
_TOLD = 5  # flat corners of a piece


def corner_vertices(
    outline: Array,
    at: Mapping[str, Array],
    fold: list[int] | None,
    choices: DxfChoices,
    notes: ReportNotes,
    where: str,
    cut: Array | None = None,
) -> list[int]:
    """Return the vertices where edges begin, in outline order.

    `cut` is the cut line when the outline is a seam line of its own: where turn points stand
    on the cut line alone, the corners of the seam line that answer to them are taken.
    """
    given = at.get(Layer.TURN)
    found: list[int] = []
    if choices.corners != "angle" and given is not None:
        found = _at_turn_points(outline, given, cut, notes, where)
    if not found and choices.corners != "points":
        found = angle_corners(outline, choices.corner_deg)
        notes.warn(
            ("there are no turn points on the outline" if choices.corners == "auto" else "asked")
            + f": vertices that turn by more than {choices.corner_deg:g} degrees are corners",
            option="--dxf corners=..., --corner-angle",
            where=where,
        )
        for index, turn in missed_corners(BareOutline(outline, _UP), choices.corner_deg)[:_TOLD]:
            x, y = outline[index]
            notes.info(
                f"a turn of {turn:.0f} degrees at ({x:.1f}, {y:.1f}) mm was not taken as a corner",
                option="--corner-angle",
                where=where,
            )
    if fold is not None:
        found = sorted({*found, fold[0], fold[-1]} - set(fold[1:-1]))
    if not found:
        notes.warn("the outline has no corner: it is one edge", where=where)
    return found


def _at_turn_points(
    outline: Array, given: Array, cut: Array | None, notes: ReportNotes, where: str
) -> list[int]:
    """Return the vertices at turn points, or those that answer to the cut line's."""
    own = near_vertices(outline, given)
    found = sorted({int(i) for i in own if i >= 0})
    if cut is None:
        return found
    on_cut = near_vertices(cut, given)
    corners = sorted({int(i) for i in on_cut if i >= 0})
    if bool(((own >= 0) & (on_cut < 0)).any()) or not bool(((own < 0) & (on_cut >= 0)).any()):
        return found  # the seam line has some of its own, or the cut line has no more
    answers = answering_vertices(cut, corners, outline)
    lost = [corner for corner, vertex in zip(corners, answers, strict=True) if vertex is None]
    found = sorted({*found, *(vertex for vertex in answers if vertex is not None)})
    # The cut line of a narrow dart ends far from the seam line's, where none answers to it.
    darts = [vertex for dart in turned_back(outline) for vertex in dart]
    if darts and lost:
        found = sorted({*found, *darts})
        tips = {tip for _, tip, _ in turned_back(cut)}
        lost = [corner for corner in lost if corner not in tips]
    notes.info(
        f"the turn points stand on the cut line alone: the {len(found)} corners of the seam line "
        "that answer to them are taken",
        option="--dxf corners=...",
        where=where,
    )
    if lost:
        some = ", ".join(f"({x:.1f}, {y:.1f})" for x, y in cut[lost][:_TOLD])
        more = f" and {len(lost) - _TOLD} more" if len(lost) > _TOLD else ""
        notes.warn(
            f"no corner of the seam line answers to {say_count(len(lost), 'turn point')}: "
            f"{some}{more} mm",
            option="--dxf corners=...",
            where=where,
        )
    return found


# --------------------------------------------------------------------------------------- the fold


@dataclass(frozen=True)
class Fold:
    """Vertices of the outline on the fold, in outline order, and whether they lie on it.

    Where the outline is a cut line with an allowance at the fold too, they lie outside it.
    """

    run: list[int]
    outside: bool = False


def fold_run(
    outline: Array, lines: Sequence[Line], notes: ReportNotes, where: str, *, inside: float = 0.0
) -> Fold | None:
    """Return the vertices of the outline that lie on the mirror line.

    Parameters
    ----------
    outline : (n, 2) array, mm
    lines : sequence of Line
        On the mirror layer.
    notes, where
    inside : float
        mm that the seam line will lie inside the outline, which is a cut line then: the
        mirror line may run along either.
    """
    if not lines:
        return None
    if len(lines) > 1:
        notes.info(f"there are {len(lines)} mirror lines; the first is taken", where=where)
    start, end = lines[0].points[0], lines[0].points[-1]
    run = find_run_along(outline, start, end, within=ON_MIRROR_MM)
    if run is not None:
        return Fold(run)
    if inside:
        x, y = (end - start) / max(float(np.hypot(*(end - start))), 1e-12)
        square = np.array([y, -x]) * inside
        out = square if square @ (outline.mean(axis=0) - start) < 0 else -square  # off the middle
        run = find_run_along(outline, start + out, end + out, within=ON_MIRROR_MM)
    if run is None:
        notes.warn(
            "no edge of the outline lies on the mirror line on layer 6: the piece is taken as "
            "whole",
            option="--dxf mirror=...",
            where=where,
        )
        return None
    notes.info(
        f"the mirror line on layer 6 runs {inside:g} mm inside the cut line, along the seam line: "
        "the fold keeps that allowance",
        option="--dxf mirror=...",
        where=where,
    )
    return Fold(run, outside=True)


# ----------------------------------------------------------------------- lines beside the outline

MOST_CURVE_POINTS = 50_000
_SPREAD_MM = 0.5
_TRUE_MM = 0.1


def measured_allowance(
    edges: Sequence[Array], names: Sequence[str], cut: Array, notes: ReportNotes, where: str
) -> Allowance:
    """Measure the allowance of every edge as the distance of the cut line from it.

    The distance is taken at places between a fifth and four fifths of the edge, away from
    corners; the median counts.
    """
    widths: dict[str, float] = {}
    for name, found in zip(names, allowances_between(edges, cut), strict=True):
        widths[name] = found.width
        if found.most - found.least > _SPREAD_MM:
            notes.warn(
                f"edge '{name}': the cut line lies {found.least:.2f} to {found.most:.2f} mm from "
                f"the seam line; its allowance is taken as {found.width:g} mm",
                where=where,
            )
    default = Counter(widths.values()).most_common(1)[0][0]
    return Allowance(default, {name: w for name, w in widths.items() if w != default})


def check_outline(outline: Array, curves: Sequence[Line], notes: ReportNotes, where: str) -> Array:
    """Check an outline against its quality-validation curves.

    A stretch that departs from its curve by more than 0.1 mm is replaced by the curve,
    when the curve's ends are vertices of the outline.
    """
    if sum(len(curve.points) for curve in curves) > MOST_CURVE_POINTS:
        notes.warn(
            f"its quality-validation curves have more than {MOST_CURVE_POINTS} points; they were "
            "not looked at",
            where=where,
        )
        return outline
    for curve, off in zip(curves, _measure_departures(outline, curves), strict=True):
        points = curve.points
        if off <= _TRUE_MM:
            continue
        ends = near_vertices(outline, points[[0, -1]])
        if (ends < 0).any() or ends[0] == ends[1] or curve.closed:
            notes.warn(
                f"a quality-validation curve departs from the outline by {off:.2f} mm and does "
                "not begin and end on it; the outline is taken as drawn",
                where=where,
            )
            continue
        notes.info(
            f"the outline departs from its quality-validation curve by {off:.2f} mm: the curve "
            "is taken",
            where=where,
        )
        outline = _replace_stretch(outline, int(ends[0]), int(ends[1]), points)
    return outline


def _measure_departures(outline: Array, curves: Sequence[Line]) -> list[float]:
    """How far each curve departs from an outline, mm; 0 where it has the outline's vertices."""
    if not curves:
        return []
    every = np.concatenate([curve.points for curve in curves])
    gaps = np.zeros(len(every))
    free = near_vertices(outline, every) < 0
    if free.any():
        gaps[free] = locate_all(np.vstack([outline, outline[:1]]), every[free])[1]
    stops = np.cumsum([len(curve.points) for curve in curves])[:-1]
    return [float(part.max()) for part in np.split(gaps, stops)]


def _replace_stretch(outline: Array, begin: int, end: int, points: Array) -> Array:
    count = len(outline)
    if (end - begin) % count > (begin - end) % count:  # the curve runs against the outline
        begin, end, points = end, begin, points[::-1]
    keep = np.arange(end, end + (begin - end) % count + 1) % count
    return np.vstack([outline[keep], points[1:-1]])
