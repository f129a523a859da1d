"""Sort what is drawn on a piece: grain, notches, darts, drill marks, levels, lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field

import numpy as np
import shapely

from propagate.errors import FormatError
from propagate.io.chain import Chain, Point
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.svg.drawing import Shape
from propagate.io.svg.figures import LARGEST_DRILL_MM, ON_OUTLINE_MM, with_figures
from propagate.io.svg.roles import role_of
from propagate.pattern.model import (
    Array,
    Grain,
    Label,
    LandmarkKind,
)
from propagate.tolerances import DECIMALS, ON_LINE_MM
from propagate.values import dataclass

__all__ = ["ON_OUTLINE_MM", "Place", "Sorted", "sort_marks"]

MOST_MARKS = 3000
SAME_DRILL_MM = 0.3


@dataclass(frozen=True)
class Place:
    """Where a message is about."""

    notes: ReportNotes
    file: str
    piece: str
    size: str

    def note(self, kind: str, text: str, option: str | None = None, count: int = 1) -> None:
        """Add a line to the report."""
        self.notes.add(
            kind,  # type: ignore[arg-type]
            text,
            option=option,
            file=self.file,
            piece=self.piece,
            size=self.size,
            count=count,
        )


@dataclass
class Sorted:
    """The marks of a piece, by role, not yet named."""

    grain: Grain | None = None
    grains: list[Chain] = field(default_factory=list)
    notches: list[tuple[Shape, Point, LandmarkKind]] = field(default_factory=list)
    darts: list[Shape] = field(default_factory=list)
    lines: list[Shape] = field(default_factory=list)
    drills: list[tuple[Shape, Point]] = field(default_factory=list)
    levels: list[tuple[Shape, Point]] = field(default_factory=list)
    folds: list[Chain] = field(default_factory=list)
    label: Label | None = None


# ------------------------------------------------------------------------------- sorting


def sort_marks(
    shapes: Sequence[Shape], outline: Array, options: ReadOptions, place: Place
) -> Sorted:
    """Sort everything on a piece that is not its outline.

    Raises
    ------
    FormatError
        For more lines than a piece has.
    """
    if len(shapes) > MOST_MARKS:
        raise FormatError(
            f"{place.file}, piece '{place.piece}', size '{place.size}': found {len(shapes)} lines "
            f"on it, expected at most {MOST_MARKS}; take hatchings out"
        )
    found = Sorted()
    ring = shapely.LinearRing(outline)
    area = shapely.Polygon(outline)
    shapely.prepare(area)
    shapely.prepare(ring)
    drawn, said = with_figures(shapes, ring, options.notch)
    for words in said:
        place.note("assumed", words)
    for shape in drawn:
        _sort_one(found, shape, ring, area, options, place)
    _choose_grain(found, outline, place)
    _once_each(found)
    return found


def _sort_one(
    found: Sorted,
    shape: Shape,
    ring: shapely.LinearRing,
    area: shapely.Polygon,
    options: ReadOptions,
    place: Place,
) -> None:
    role, chain = role_of(shape), shape.chain
    if role == "grain":
        found.grains.append(chain)
    elif role == "notch" or role == "mark":
        point = _mark_point(shape, ring)
        kind: LandmarkKind = "notch" if role == "notch" else "mark"
        if ring.distance(shapely.Point(point)) <= ON_OUTLINE_MM * 2:
            found.notches.append((shape, point, kind))
        else:
            place.note("ignored", f"a {kind} that is not on the outline")
    elif role == "dart" and len(chain.points) == 3 and not chain.closed:
        found.darts.append(shape)
    elif role == "drill":
        found.drills.append((shape, _find_middle(chain)))
    elif role == "level":
        found.levels.append((shape, _level_point(chain)))
    elif role == "fold":
        found.folds.append(chain)
    elif role == "cut":
        place.note("ignored", "a cut line; cut lines are built from the seam line")
    elif role == "label":
        found.label = _read_label(shape)
    else:
        _by_looks(found, shape, ring, area, options, place)


def _once_each(found: Sorted) -> None:
    """A circle with a cross in it is one drill mark."""
    kept: list[tuple[Shape, Point]] = []
    for shape, point in found.drills:
        if all(math.dist(point, other) > SAME_DRILL_MM for _, other in kept):
            kept.append((shape, point))
    found.drills = kept


def _by_looks(
    found: Sorted,
    shape: Shape,
    ring: shapely.LinearRing,
    area: shapely.Polygon,
    options: ReadOptions,
    place: Place,
) -> None:
    chain = shape.chain
    line = shapely.LineString(chain.points)
    size = np.ptp(chain.points, axis=0)
    if role_of(shape) != "line":
        if chain.closed and size.max() <= LARGEST_DRILL_MM and shape.tag in ("circle", "ellipse"):
            if ring.dwithin(shapely.Point(_find_middle(chain)), ON_OUTLINE_MM / 2):
                found.notches.append((shape, _find_middle(chain), "mark"))
                place.note("assumed", "a small circle on the outline is a mark on its edge")
                return
            found.drills.append((shape, _find_middle(chain)))
            place.note("assumed", "a small circle is a drill mark")
            return
        if line.length <= options.notch * 2 and _is_notch(chain, ring, options):
            found.notches.append((shape, _mark_point(shape, ring), "notch"))
            place.note("assumed", "a short line on the outline is a notch", "--notch")
            return
    if not shapely.dwithin(area, shapely.points(chain.points), ON_OUTLINE_MM).all():
        place.note("ignored", "a line that reaches out of the piece")
        return
    found.lines.append(shape)


def _is_notch(chain: Chain, ring: shapely.LinearRing, options: ReadOptions) -> bool:
    """A short straight line that touches the outline, or a small V or triangle on it."""
    points = chain.points
    gaps = [ring.distance(shapely.Point(p)) for p in points]
    if len(points) == 2:
        crosses = shapely.LineString(points).distance(ring) <= ON_OUTLINE_MM / 2
        # Along the outline it is no notch but a part of a line.
        return chain.length <= options.notch and crosses and max(gaps) > ON_OUTLINE_MM / 2
    corners = len(points) - (1 if chain.closed else 0)
    if chain.closed and corners == 4 and np.ptp(points, axis=0).max() <= options.notch:
        middle = shapely.Point(points[:-1].mean(axis=0))
        return bool(ring.distance(middle) <= ON_OUTLINE_MM / 2)
    return (
        corners == 3 and sorted(gaps)[1] <= ON_OUTLINE_MM / 2 and chain.length <= options.notch * 2
    )


def _mark_point(shape: Shape, ring: shapely.LinearRing) -> Point:
    """Where a mark meets the outline."""
    chain = shape.chain
    points = chain.points[:-1] if chain.closed else chain.points
    if shape.tag in ("circle", "ellipse"):
        return _find_middle(chain)
    gaps = np.array([ring.distance(shapely.Point(p)) for p in points])
    if chain.closed and len(points) == 4:  # a diamond across the line
        x, y = points.mean(axis=0)
        return float(x), float(y)
    if len(points) == 3:  # a V or triangle: the middle between its two ends on the line
        first, second = np.argsort(gaps, kind="stable")[:2]
        if gaps[second] <= ON_OUTLINE_MM / 2 or chain.closed:
            x, y = (points[first] + points[second]) / 2
            return float(x), float(y)
    best = int(np.argmin(gaps))
    if gaps[best] > ON_LINE_MM:
        hit = shapely.LineString(chain.points).intersection(ring)
        parts = [p for p in shapely.get_parts(hit) if p.geom_type == "Point"]
        if parts:
            return float(parts[0].x), float(parts[0].y)
    return float(points[best][0]), float(points[best][1])


def _find_middle(chain: Chain) -> Point:
    points = chain.points
    if chain.closed and chain.curved:  # a circle: half way between opposite joints
        starts = chain.starts()
        x = (starts[0][0] + starts[len(starts) // 2][0]) / 2
        y = (starts[0][1] + starts[len(starts) // 2][1]) / 2
        return round(x, DECIMALS) + 0.0, round(y, DECIMALS) + 0.0
    x, y = (points.min(axis=0) + points.max(axis=0)) / 2
    return round(float(x), DECIMALS), round(float(y), DECIMALS)


def _level_point(chain: Chain) -> Point:
    """The middle vertex of three, else the first."""
    points = chain.points
    x, y = points[1] if len(points) == 3 else points[0]
    return float(x), float(y)


def _read_label(shape: Shape) -> Label:
    try:
        angle = float(shape.data.get("angle", "0"))
    except ValueError:
        angle = 0.0
    return Label(shape.chain.start, angle if math.isfinite(angle) else 0.0)


def _choose_grain(found: Sorted, outline: Array, place: Place) -> None:
    """The longest line that is a grain, its two ends; upright through the middle if none."""
    straight = [c for c in found.grains if math.dist(c.start, c.end) > 1.0]
    if straight:
        best = max(straight, key=lambda c: (round(math.dist(c.start, c.end), 6), c.length))
        found.grain = Grain(best.start, best.end)
        return
    low, high = outline.min(axis=0), outline.max(axis=0)
    x = round(float(low[0] + high[0]) / 2, DECIMALS)
    span = high[1] - low[1]
    found.grain = Grain(
        (x, round(float(low[1] + 0.2 * span), DECIMALS)),
        (x, round(float(high[1] - 0.2 * span), DECIMALS)),
    )
    place.note(
        "assumed",
        "there is no line whose name has 'grain' in it, so the grain is upright on the page",
    )
