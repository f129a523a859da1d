"""Sort what is drawn on a piece: grain, notches, darts, drill marks, levels, lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field, replace

import numpy as np
import shapely

from propagate.errors import FormatError
from propagate.geometry.polyline import as_pair
from propagate.io.chain import Chain, Point
from propagate.io.options import ReadOptions
from propagate.io.report import LineKind, ReportNotes
from propagate.io.svg.drawing import Shape
from propagate.io.svg.figures import LARGEST_DRILL_MM, ON_OUTLINE_MM, with_figures
from propagate.io.svg.roles import role_of
from propagate.pattern.grain import Grain
from propagate.pattern.model import Array, Label, LandmarkKind
from propagate.tolerances import DECIMALS, ON_LINE_MM
from propagate.values import dataclass

__all__ = ["ON_OUTLINE_MM", "Place", "Sorted", "assume_grain", "sort_marks"]

MOST_MARKS = 3000
SAME_DRILL_MM = 0.3


@dataclass(frozen=True)
class Place:
    """Where a message is about."""

    notes: ReportNotes
    file: str
    piece: str
    size: str

    def note(self, kind: LineKind, text: str, option: str | None = None, count: int = 1) -> None:
        """Add a line to the report."""
        self.notes.add(
            kind,
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

    def add_drill(self, shape: Shape, point: Point) -> None:
        """Take a drill mark, unless one lies there: a circle with a cross in it is one."""
        if all(math.dist(point, other) > SAME_DRILL_MM for _, other in self.drills):
            self.drills.append((shape, point))


def sort_marks(
    shapes: Sequence[Shape], outline: Array, options: ReadOptions, place: Place
) -> Sorted:
    """Sort everything on a piece that is not its outline.

    Returns
    -------
    Sorted
        Its grain is the longest line that is one by its class, its name or an arrow head.

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
    ring, area = shapely.LinearRing(outline), shapely.Polygon(outline)
    shapely.prepare([area, ring])
    drawn, said = with_figures([_close_ends(shape) for shape in shapes], ring, options.notch)
    for words in said:
        place.note("assumed", words)
    for shape in drawn:
        role, chain, points = role_of(shape), shape.chain, shape.chain.points
        if role == "grain":
            found.grains.append(chain)
        elif role == "notch" or role == "mark":
            point = _mark_point(shape, ring)
            if ring.distance(shapely.Point(point)) <= ON_OUTLINE_MM * 2:
                found.notches.append((shape, point, role))
            else:
                place.note("ignored", f"a {role} that is not on the outline")
        elif role == "dart" and len(points) == 3 and not chain.closed:
            found.darts.append(shape)
        elif role == "drill":
            found.add_drill(shape, _find_middle(chain))
        elif role == "level":  # it goes through the middle vertex of three, else the first
            found.levels.append((shape, as_pair(points[1 if len(points) == 3 else 0])))
        elif role == "fold":
            found.folds.append(chain)
        elif role == "cut":
            place.note("ignored", "a cut line; cut lines are built from the seam line")
        elif role == "label":
            try:
                angle = float(shape.data.get("angle", "0"))
            except ValueError:
                angle = 0.0
            found.label = Label(chain.start, angle if math.isfinite(angle) else 0.0)
        else:
            _sort_by_looks(found, shape, ring, area, options, place)
    straight = [c for c in found.grains if math.dist(c.start, c.end) > 1.0]
    if straight:
        best = max(straight, key=lambda c: (round(math.dist(c.start, c.end), 6), c.length))
        found.grain = Grain(best.start, best.end)
    return found


def _close_ends(shape: Shape) -> Shape:
    """A mark that is drawn back to where it began, closed, though its path does not say so."""
    chain = shape.chain
    if chain.closed or len(chain.segments) < 3 or math.dist(chain.start, chain.end) > ON_LINE_MM:
        return shape
    closed = replace(chain.with_ends(chain.start, chain.start), closed=True)
    return replace(shape, chain=closed)


def _sort_by_looks(
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
            found.add_drill(shape, _find_middle(chain))
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
        return as_pair(points.mean(axis=0))
    if len(points) == 3:  # a V or triangle: the middle between its two ends on the line
        first, second = np.argsort(gaps, kind="stable")[:2]
        if gaps[second] <= ON_OUTLINE_MM / 2 or chain.closed:
            return as_pair((points[first] + points[second]) / 2)
    best = int(np.argmin(gaps))
    if gaps[best] > ON_LINE_MM:
        hit = shapely.LineString(chain.points).intersection(ring)
        parts = [p for p in shapely.get_parts(hit) if p.geom_type == "Point"]
        if parts:
            return float(parts[0].x), float(parts[0].y)
    return as_pair(points[best])


def _find_middle(chain: Chain) -> Point:
    points = chain.points
    if chain.closed and chain.curved:  # a circle: half way between opposite joints
        starts = chain.starts()
        (ax, ay), (bx, by) = starts[0], starts[len(starts) // 2]
        return round((ax + bx) / 2, DECIMALS) + 0.0, round((ay + by) / 2, DECIMALS) + 0.0
    x, y = (points.min(axis=0) + points.max(axis=0)) / 2
    return round(float(x), DECIMALS), round(float(y), DECIMALS)


def assume_grain(outline: Array, place: Place) -> Grain:
    """The grain of a piece that shows none: upright on the page, through its middle."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    x = round(float(low[0] + high[0]) / 2, DECIMALS)
    span = high[1] - low[1]
    place.note(
        "assumed",
        "there is no line whose name has 'grain' in it, so the grain is upright on the page",
    )
    return Grain(
        (x, round(float(low[1] + 0.2 * span), DECIMALS)),
        (x, round(float(high[1] - 0.2 * span), DECIMALS)),
    )
