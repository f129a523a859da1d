"""A piece that is cut along lines and spread: its parts move, its edges run on over the gaps.

By hand the pattern is slashed from one edge to another, the parts are laid apart, more at one end
than at the other or alike, and the two edges are drawn smoothly over what opened.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from propagate.engine.marks_on_lines import nearest_place, put_mark, share_place
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.tape import edge_from_parts
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import fade_end
from propagate.geometry.motion import IDENTITY, Motion, from_two_points
from propagate.geometry.polyline import as_pair, between, length, locate, point_at, unit
from propagate.pattern.model import Array, Edge, InternalLine, Label, Landmark, Mark, SizedPiece
from propagate.tolerances import RESTS_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["Slash", "opening_motion", "part_areas", "spread_piece"]

_TRUED_MM = 40.0
"""An edge is drawn anew over at least so much where it turns at a line, or opens by less."""
_STEP_MM = 0.01
_STRAIGHT_RAD = np.radians(0.05)
"""An edge that would turn by less runs straight over the gap."""


@dataclass(frozen=True)
class Slash:
    """The lines along which a piece is cut, and how far they open.

    Attributes
    ----------
    first, second : str
        The edges from and to which they run.
    places : tuple of (float, float)
        Of each line, its distance along both edges, mm: ascending along the first and
        descending along the second.
    opens : (float, float)
        By how much each line opens at both edges, mm.
    stays_last : bool
        The part behind the last line stays, else the one before the first.
    """

    first: str
    second: str
    places: tuple[tuple[float, float], ...]
    opens: tuple[float, float]
    stays_last: bool

    @property
    def on_first(self) -> list[float]:
        """Places on the first edge, in its direction."""
        return [place for place, _ in self.places]

    @property
    def on_second(self) -> list[float]:
        """Places on the second edge, in its direction."""
        return [place for _, place in self.places[::-1]]


def opening_motion(begin: Array, end: Array, opens: tuple[float, float], ahead: Array) -> Motion:
    """The motion that opens a line of length L by a at its begin and by b at its end.

    The sides of the gap stay as long as the line was, so the gap is half of a symmetric
    trapezoid's: it turns by ``2 asin((a - b) / 2 L)``.

    Parameters
    ----------
    begin, end : (2,) arrays
    opens : (float, float)
    ahead : (2,) array
        To the side of the line that moves.
    """
    along = (end - begin) / float(np.hypot(*(end - begin)))
    across = np.array([-along[1], along[0]])
    across = across if float(across @ ahead) >= 0.0 else -across
    lean = (opens[0] - opens[1]) / (2.0 * float(np.hypot(*(end - begin))))
    way = along * lean + across * float(np.sqrt(1.0 - lean * lean))
    ends = np.array([begin, end])
    return from_two_points(ends, ends + np.outer(opens, way))


def part_areas(piece: SizedPiece, slash: Slash) -> list[shapely.Polygon]:
    """The parts into which lines cut a piece, from before the first to behind the last."""
    names = piece.edge_names
    i, j = names.index(slash.first), names.index(slash.second)
    behind = _edges_between(piece, i, j)
    front = _edges_between(piece, j, i)
    first, second = piece.edge(slash.first), piece.edge(slash.second)
    ahead = [0.0, *slash.on_first, first.length]
    back = [second.length, *slash.on_second[::-1], 0.0]
    found = []
    for k in range(len(ahead) - 1):
        ring = [between(first.points, ahead[k], ahead[k + 1])]
        ring += behind if k == len(ahead) - 2 else []
        ring.append(between(second.points, back[k + 1], back[k]))
        ring += front if k == 0 else []
        points = np.vstack(ring)
        steps = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
        found.append(shapely.Polygon(points[steps > RESTS_MM]))  # edges meet to the last decimal
    return found


def _edges_between(piece: SizedPiece, i: int, j: int) -> list[Array]:
    """Points of the edges after one and before another, counter-clockwise."""
    count = len(piece.edges)
    return [piece.edges[(i + k) % count].points for k in range(1, (j - i) % count)]


def spread_piece(piece: SizedPiece, slash: Slash) -> tuple[SizedPiece, list[str]]:
    """The piece with its parts apart, and the inner lines that lie on both sides of a cut."""
    parts = _Parts(piece, slash)
    edges = [parts.edge(edge) for edge in piece.edges]
    new = replace(piece, edges=share_corners(edges, piece.edges))
    lines = []
    for line in piece.lines:
        points = np.array([parts.put(as_pair(point)) for point in line.points])
        lines.append(line if (points == line.points).all() else InternalLine(line.name, points))
    darts = []
    for dart in piece.darts:
        middle = np.mean([piece.landmark(leg).point for leg in dart.legs], axis=0)
        tip = parts.put(dart.tip, like=as_pair(middle))
        darts.append(replace(dart, tip=tip))
    label = piece.label
    new = replace(
        new,
        landmarks=tuple(parts.mark(new, mark) for mark in piece.landmarks),
        lines=tuple(lines),
        darts=tuple(darts),
        drills=tuple(Mark(mark.name, parts.put(mark.point)) for mark in piece.drills),
        label=None if label is None else Label(parts.put(label.point), label.angle),
    )
    crossed = [
        line.name
        for line in piece.lines
        if sum(area.intersects(shapely.LineString(line.points)) for area in parts.areas) > 1
    ]
    return new, crossed


class _Parts:
    """The parts of a piece that is cut, and the motion of each."""

    def __init__(self, piece: SizedPiece, slash: Slash) -> None:
        self._piece, self._slash = piece, slash
        first, second = piece.edge(slash.first).points, piece.edge(slash.second).points
        motions = [IDENTITY]
        for here, there in slash.places:
            begin, end = point_at(first, here), point_at(second, there)
            ahead = point_at(first, here + STEP_MM) - begin
            motions.append(motions[-1].after(opening_motion(begin, end, slash.opens, ahead)))
        if slash.stays_last:
            back = motions[-1].inverse()
            motions = [*(back.after(motion) for motion in motions[:-1]), IDENTITY]
        self._motions = motions
        self.areas = part_areas(piece, slash)
        names = piece.edge_names
        i, j = names.index(slash.first), names.index(slash.second)
        self._behind = {names[(i + k) % len(names)] for k in range(1, (j - i) % len(names))}

    def edge(self, edge: Edge) -> Edge:
        """An edge with its parts in their places."""
        if edge.name == self._slash.first:
            return _spread_edge(edge, self._slash.on_first, self._motions, self._legs(edge))
        if edge.name == self._slash.second:
            return _spread_edge(edge, self._slash.on_second, self._motions[::-1], self._legs(edge))
        motion = self._motion_on(edge.name, 0.0)
        if motion is IDENTITY:
            return edge
        return Edge(edge.name, rounded(motion.apply(edge.points)), edge.turns)

    def _legs(self, edge: Edge) -> list[float]:
        """Places of the legs of the darts on an edge."""
        return [
            self._piece.distance(edge.name, leg)
            for dart in self._piece.darts
            if dart.edge == edge.name
            for leg in dart.legs
        ]

    def put(
        self, point: tuple[float, float], *, like: tuple[float, float] | None = None
    ) -> tuple[float, float]:
        """A point where its part lies, or where that of another point does."""
        away = [area.distance(shapely.Point(like or point)) for area in self.areas]
        motion = self._motions[int(np.argmin(away))]
        if motion is IDENTITY:
            return point
        return as_pair(rounded(motion.apply(point)))

    def mark(self, new: SizedPiece, mark: Landmark) -> Landmark:
        """A landmark by its share where its edge opened, else where its part lies."""
        line = new.edge(mark.edge)
        if line is self._piece.edge(mark.edge):
            return mark
        opens = {self._slash.first: self._slash.opens[0], self._slash.second: self._slash.opens[1]}
        if opens.get(mark.edge) and mark.kind != "dart leg":
            return put_mark(mark, line, share_place(self._piece, line, mark))
        along = self._piece.distance(mark.edge, mark.name)
        moved = self._motion_on(mark.edge, along).apply(mark.point)
        return put_mark(mark, line, nearest_place(line, moved))

    def _motion_on(self, edge: str, along: float) -> Motion:
        """The motion of a place on an edge."""
        if edge == self._slash.first:
            return self._motions[sum(cut < along for cut in self._slash.on_first)]
        if edge == self._slash.second:
            return self._motions[::-1][sum(cut < along for cut in self._slash.on_second)]
        return self._motions[-1 if edge in self._behind else 0]


def _spread_edge(
    edge: Edge, cuts: Sequence[float], motions: Sequence[Motion], legs: Sequence[float]
) -> Edge:
    """An edge cut at some places, its parts moved and joined smoothly again.

    The legs of darts and the corners within the edge go with their parts and are not smoothed.
    """
    bounds = [0.0, *cuts, edge.length]
    turns = edge.turn_points
    places = [locate(edge.points, turn)[0] for turn in turns]
    parts, corners = [], [edge.points[:0]]
    for k, motion in enumerate(motions):
        part = between(edge.points, bounds[k], bounds[k + 1])
        parts.append(part if motion is IDENTITY else rounded(motion.apply(part)))
        mine = [t for t, x in zip(turns, places, strict=True) if bounds[k] < x < bounds[k + 1]]
        corners += [rounded(motion.apply(np.array([turn]))) for turn in mine]
    rooms = _find_rooms(bounds, [*legs, *places])
    for k, room in enumerate(rooms):
        parts[k], parts[k + 1] = _without_step(parts[k], parts[k + 1], room)
    joined = parts[0]
    for part, room in zip(parts[1:], rooms, strict=True):
        joined = _run_on(joined, part, room)
    return edge_from_parts(edge.name, [joined], np.vstack(corners))


def _find_rooms(bounds: Sequence[float], fixed: Sequence[float]) -> list[tuple[float, float]]:
    """How far an edge may be drawn anew before and behind each cut, mm.

    To its ends, to the middle between two cuts, and to what keeps its place.
    """
    found = []
    for k in range(1, len(bounds) - 1):
        cut = bounds[k]
        low = bounds[0] if k == 1 else (bounds[k - 1] + cut) / 2
        high = bounds[-1] if k == len(bounds) - 2 else (cut + bounds[k + 1]) / 2
        low = max([low, *(place for place in fixed if place < cut)])
        high = min([high, *(place for place in fixed if place > cut)])
        found.append((cut - low, high - cut))
    return found


def _without_step(before: Array, after: Array, room: tuple[float, float]) -> tuple[Array, Array]:
    """Two parts of an edge led towards each other where the one lies beside the other's line.

    A line that does not cross its edge squarely opens with a step; each part takes half of it,
    which fades over the room that it has.
    """
    gap = after[0] - before[-1]
    ahead = unit(end_direction(before, "end")) + unit(end_direction(after, "start"))
    out = np.array([-ahead[1], ahead[0]]) / float(np.hypot(*ahead))
    step = float(gap @ out)
    if abs(step) <= _STEP_MM:
        return before, after
    half = step / 2 * out
    return _lead_end(before, half, room[0]), _lead_end(after[::-1], -half, room[1])[::-1]


def _lead_end(points: Array, by: Array, room: float) -> Array:
    """A line whose end goes by a vector, which fades out over the room before it."""
    return rounded(fade_end(points, rounded(points[-1] + by), room, STEP_MM))


def _run_on(before: Array, after: Array, room: tuple[float, float]) -> Array:
    """Two lines as one: straight where they go on so, else smoothly over the gap."""
    gap = after[0] - before[-1]
    wide = float(np.hypot(*gap))
    ways = end_direction(before, "end"), end_direction(after, "start")
    seen = ways if wide <= RESTS_MM else (*ways, float(np.arctan2(gap[1], gap[0])))
    turns = [float(np.angle(np.exp(1j * (way - ways[0])))) for way in seen]
    if max(map(abs, turns)) <= _STRAIGHT_RAD:
        return np.vstack([before, after[1:] if wide <= RESTS_MM else after])
    back = max((_TRUED_MM - wide) / 2, 0.0)
    whole = length(before)
    first = between(before, 0.0, whole - min(back, room[0] / 2))
    second = between(after, min(back, room[1] / 2), length(after))
    ways = end_direction(first, "end"), end_direction(second, "start")
    # Points on the cubic between the two ends that has their directions there.
    begin, end, leaves, arrives = first[-1], second[0], unit(ways[0]), unit(ways[1])
    far = float(np.hypot(*(end - begin)))
    t = np.linspace(0.0, 1.0, max(int(np.ceil(far / STEP_MM)), 2) + 1)[1:-1, None]
    # So long the tangents of a circle's arc are: the cubic then lies on it.
    half = float(np.arccos(np.clip(leaves @ arrives, -1.0, 1.0))) / 2
    pull = far * 2.0 / (1.0 + np.cos(half))
    bow = (2 * t**3 - 3 * t**2 + 1) * begin + (3 * t**2 - 2 * t**3) * end
    bow = bow + pull * ((t**3 - 2 * t**2 + t) * leaves + (t**3 - t**2) * arrives)
    return np.vstack([first, rounded(bow), second])
