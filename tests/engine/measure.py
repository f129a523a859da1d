"""Measuring without the engine: numpy, scipy and shapely on the bare points of a set.

Nothing here calls the project's geometry or engine.  Lengths and crossings come from
shapely, registrations from the singular value decomposition (Kabsch 1976, 1978; from
memory), directions and curvatures from Savitzky and Golay's local quadratic fit
(Analytical Chemistry 36, 1964; from memory) as scipy computes it.  Pieces are frozen: what is
measured along their edges is measured once, as most pieces of a result are those of its set.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.ops import substring

from tests.shared import once_for_each

HALF_WINDOW_MM = 10
"""Half of the window of the local fit, in steps of about 1 mm."""


# ------------------------------------------------------------------------------ points


def polyline_length(points) -> float:
    """Sum of the chords, mm."""
    return float(np.linalg.norm(np.diff(np.asarray(points), axis=0), axis=1).sum())


def nearest(points, line) -> np.ndarray:
    """(n,) distance of points from a polyline, mm."""
    return shapely.distance(shapely.points(np.atleast_2d(points)), shapely.LineString(line))


def farthest_apart(first, second) -> float:
    """Hausdorff distance of two polylines with their chords densified, mm."""
    a, b = (shapely.segmentize(shapely.LineString(line), 5.0) for line in (first, second))
    return max(
        float(nearest(shapely.get_coordinates(a), second).max()),
        float(nearest(shapely.get_coordinates(b), first).max()),
    )


def resampled(points, step: float = 1.0) -> tuple[np.ndarray, float]:
    """Points evenly spaced along a polyline, and their spacing (about `step`)."""
    points = np.asarray(points, float)
    arc = np.concatenate([[0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()])
    count = max(round(float(arc[-1]) / step), 2)
    at = np.linspace(0.0, arc[-1], count + 1)
    return np.column_stack([np.interp(at, arc, points[:, k]) for k in (0, 1)]), arc[-1] / count


def signed_area(points) -> float:
    x, y = (np.asarray(points) - np.asarray(points)[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


# ------------------------------------------------------------------------------- curves


@dataclass(frozen=True)
class Curve:
    """Direction (unwrapped, radians) and curvature (1/mm) at evenly spaced places."""

    at: np.ndarray
    direction: np.ndarray
    curvature: np.ndarray

    @property
    def largest(self) -> float:
        return float(np.abs(self.curvature).max())

    @property
    def peaks(self) -> int:
        """Maxima of the curvature that stand out by a fifth of the largest."""
        size = np.abs(self.curvature)
        if size.max() < 1 / 5000:  # a bow of 1 mm over 200 mm counts as straight
            return 0
        from scipy.signal import find_peaks  # takes two seconds to import

        padded = np.concatenate([[0.0], size, [0.0]])
        return len(find_peaks(padded, prominence=0.2 * size.max())[0])


def curve(points, half_window: int = HALF_WINDOW_MM) -> Curve:
    """Local quadratic fit over 2 * `half_window` mm; one-sided at the ends."""
    from scipy.signal import savgol_filter

    samples, step = resampled(points)
    window = min(2 * half_window + 1, (len(samples) - 1) // 2 * 2 + 1)
    first = savgol_filter(samples, window, 2, deriv=1, delta=step, axis=0)
    second = savgol_filter(samples, window, 2, deriv=2, delta=step, axis=0)
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return Curve(
        np.arange(len(samples)) * step,
        np.unwrap(np.arctan2(first[:, 1], first[:, 0])),
        cross / np.linalg.norm(first, axis=1) ** 3,
    )


def end_tangent(points, end: str, window: float = 15.0) -> float:
    """Direction of travel at an end, radians: a quadratic through the last `window` mm."""
    line = np.asarray(points) if end == "start" else np.asarray(points)[::-1]
    size = min(window, polyline_length(line))
    part = shapely.get_coordinates(substring(shapely.LineString(line), 0.0, size))
    samples, step = resampled(part, 0.5)
    t = np.arange(len(samples)) * step
    vx, vy = (np.polyfit(t, samples[:, k], min(2, len(t) - 1))[-2] for k in (0, 1))
    return float(np.arctan2(vy, vx)) if end == "start" else float(np.arctan2(-vy, -vx))


def degrees_between(first: float, second: float) -> float:
    """Signed angle from the first direction to the second, degrees."""
    return float(np.degrees(np.arctan2(np.sin(second - first), np.cos(second - first))))


def corner_angle(first, second) -> float:
    """Angle between two edges of a silhouette at the end that they share, degrees."""
    for first_end in ("start", "end"):
        for second_end in ("start", "end"):
            a = np.asarray(first)[0 if first_end == "start" else -1]
            b = np.asarray(second)[0 if second_end == "start" else -1]
            if np.linalg.norm(a - b) < 1e-6:
                away = [
                    end_tangent(line, end) + (0.0 if end == "start" else np.pi)
                    for line, end in ((first, first_end), (second, second_end))
                ]
                return abs(degrees_between(*away))
    raise AssertionError("the two edges share no end")


def inflections(points, least_deg: float = 0.5) -> int:
    """Changes of the side to which a curve bends; a bend below `least_deg` is none."""
    found = curve(points)
    turn = np.diff(found.direction)
    lobes: list[float] = []
    for value in turn:
        if lobes and np.sign(lobes[-1]) == np.sign(value):
            lobes[-1] += value
        else:
            lobes.append(float(value))
    while len(lobes) > 1:
        # The smallest lobe is noise as long as it is below the limit: it joins its
        # neighbours, which then bend to the same side.
        k = int(np.argmin(np.abs(lobes)))
        if abs(lobes[k]) >= np.radians(least_deg):
            break
        low, high = max(k - 1, 0), min(k + 2, len(lobes))
        lobes[low:high] = [float(sum(lobes[low:high]))]
    return len(lobes) - 1


def curvature_peaks(points) -> int:
    return curve(points).peaks


def largest_curvature(points) -> float:
    return curve(points).largest


def plain_arc_curvature(start, direction: float, end) -> float:
    """The circle that leaves `start` in `direction` and meets `end`: k = 2 d / c^2.

    d is the distance of `end` from the tangent, c that from `start` (chord and tangent,
    Euclid III.32 and III.36).
    """
    gap = np.subtract(end, start)
    off = gap[1] * np.cos(direction) - gap[0] * np.sin(direction)
    return float(2 * abs(off) / (gap @ gap))


# -------------------------------------------------------------------------- rigid motions


@dataclass(frozen=True)
class Rigid:
    """The map p -> R (p - source) + target; R is a rotation, or a reflection too."""

    rotation: np.ndarray
    source: np.ndarray
    target: np.ndarray

    def __call__(self, points) -> np.ndarray:
        return (np.asarray(points, float) - self.source) @ self.rotation.T + self.target


STAY = Rigid(np.eye(2), np.zeros(2), np.zeros(2))


def registration(source, target, *, mirrored: bool = False) -> Rigid:
    """Least-squares rigid map by the singular value decomposition (Kabsch)."""
    p, q = np.asarray(source, float), np.asarray(target, float)
    p0, q0 = p.mean(axis=0), q.mean(axis=0)
    u, _, vt = np.linalg.svd((p - p0).T @ (q - q0))
    sense = -1.0 if mirrored else 1.0
    sign = np.sign(np.linalg.det(u @ vt)) * sense
    return Rigid((u @ np.diag([1.0, sign]) @ vt).T, p0, q0)


# ------------------------------------------------------------------ pieces, spans and runs


def landmark(sized, name: str) -> np.ndarray:
    """A listed landmark, or ``EDGE.start`` / ``EDGE.end``."""
    for mark in sized.landmarks:
        if mark.name == name:
            return np.array(mark.point)
    edge, _, end = name.rpartition(".")
    return points_of(sized, edge)[0 if end == "start" else -1]


def points_of(sized, edge: str) -> np.ndarray:
    (found,) = [e.points for e in sized.edges if e.name == edge]
    return found


def fine_points_of(sized, edge: str, apart: float = 0.25) -> np.ndarray:
    """Points of an edge as geometries: its vertices, and others between them so far apart, mm."""
    line = shapely.segmentize(shapely.LineString(points_of(sized, edge)), apart)
    return shapely.points(shapely.get_coordinates(line))


@once_for_each
def along(sized, edge: str, name: str) -> float:
    """Distance of a landmark along an edge, by shapely's projection."""
    line = shapely.LineString(points_of(sized, edge))
    if name in ("start", "end"):
        return 0.0 if name == "start" else line.length
    return float(line.project(shapely.Point(landmark(sized, name))))


def span_points(sized, span) -> np.ndarray:
    """Points of a span in its own direction."""
    points = points_of(sized, span.edge)
    if {span.begin, span.end} == {"start", "end"}:
        return points if span.begin == "start" else points[::-1]
    first, last = along(sized, span.edge, span.begin), along(sized, span.edge, span.end)
    return shapely.get_coordinates(substring(shapely.LineString(points), first, last))


@once_for_each
def span_length(sized, span) -> float:
    """Length with the mouths of darts left out."""
    low, high = sorted(along(sized, span.edge, end) for end in (span.begin, span.end))
    size = high - low
    for dart in sized.darts:
        if dart.edge == span.edge:
            a, b = sorted(along(sized, dart.edge, leg) for leg in dart.legs)
            size -= max(0.0, min(b, high) - max(a, low))
    return size


def run_length(pattern, size: str, run) -> float:
    return sum(span_length(pattern.pieces[span.piece].at(size), span) for span in run)


def outline(sized) -> np.ndarray:
    return np.vstack([edge.points[:-1] for edge in sized.edges])


def polygon(sized) -> shapely.Polygon:
    return shapely.Polygon(outline(sized))


# ---------------------------------------------------------------------------- silhouettes


@dataclass(frozen=True)
class Taped:
    """Pieces taped together as sewn, by own registration, in the lead's frame."""

    lead: object
    edges: Mapping[str, np.ndarray]

    @property
    def grain(self) -> np.ndarray:
        vector = np.subtract(self.lead.grain.end, self.lead.grain.start)
        return vector / np.linalg.norm(vector)

    def height(self, points) -> np.ndarray:
        return np.asarray(points) @ self.grain

    def level(self, name: str) -> float:
        return float(self.height(self.lead.levels[name]))

    @cached_property
    def polygon(self) -> shapely.Polygon:
        return shapely.Polygon(np.vstack([points[:-1] for points in self.edges.values()]))

    def width(self, level: str) -> float:
        """Width along a level: shapely's intersection of the area with a long line."""
        across = np.array([-self.grain[1], self.grain[0]])
        here = np.asarray(self.lead.levels[level])
        line = shapely.LineString([here - 9e3 * across, here + 9e3 * across])
        return float(self.polygon.intersection(line).length)

    def up(self, edge: str, top: str) -> np.ndarray:
        """Points of an edge from its far end up to the crossing edge `top`."""
        points = self.edges[edge]
        gap = np.linalg.norm(self.edges[top][[0, -1]] - points[0], axis=1).min()
        return points[::-1] if gap < 1e-6 else points

    def above(self, edge: str, top: str, level: str) -> np.ndarray:
        """The stretch of an upward edge from its last crossing of a level to its top."""
        points = self.up(edge, top)
        gap = self.height(points) - self.level(level)
        gap = gap * np.sign(gap[-1])
        below = np.flatnonzero(gap <= 0)
        if not len(below):
            return points
        k = below[-1]
        share = gap[k] / (gap[k] - gap[k + 1])
        return np.vstack([points[k] + share * (points[k + 1] - points[k]), points[k + 1 :]])

    def below(self, edge: str, height: float) -> np.ndarray:
        """The stretch of a leg's edge below a height along the grain, from the height down."""
        points = self.edges[edge]
        gap = self.height(points) - height
        if gap[0] < gap[-1]:
            points, gap = points[::-1], gap[::-1]
        k = np.flatnonzero(gap > 0)[-1]
        share = gap[k] / (gap[k] - gap[k + 1])
        return np.vstack([points[k] + share * (points[k + 1] - points[k]), points[k + 1 :]])


def taped(pattern, name: str, size: str) -> Taped:
    """Tape an assembly, or take a plain piece."""
    assembly = pattern.relations.assemblies.get(name)
    if assembly is None:
        sized = pattern.pieces[name].at(size)
        return Taped(sized, {edge.name: edge.points for edge in sized.edges})
    lead = pattern.pieces[assembly.lead].at(size)
    motions = {assembly.lead: STAY}
    for part in assembly.parts:
        motions[part.piece] = put(lead, pattern.pieces[part.piece].at(size), part)
    edges = {}
    for edge, run in assembly.edges.items():
        joined: list[np.ndarray] = []
        for span in run:
            points = motions[span.piece](span_points(pattern.pieces[span.piece].at(size), span))
            joined.extend(points if not joined else points[1:])
        edges[edge] = np.array(joined)
    return Taped(lead, edges)


def put(main, sized, part) -> Rigid:
    """Registration of a part or layer on the main piece by its pairs of landmarks."""
    return registration(
        [landmark(sized, own) for own, _ in part.put],
        [landmark(main, theirs) for _, theirs in part.put],
        mirrored=part.face_down,
    )


def girth(pattern, girth, size: str) -> float:
    """Finished girth, both halves."""
    if girth.level is None:
        return girth.times * sum(run_length(pattern, size, run) for run in girth.runs)
    return girth.times * sum(
        taped(pattern, name, size).width(girth.level) for name in girth.silhouettes
    )


def same_digits(first: Iterable, second: Iterable) -> bool:
    """Whether two arrays agree in every digit."""
    a, b = np.asarray(first), np.asarray(second)
    return a.shape == b.shape and a.tobytes() == b.tobytes()
