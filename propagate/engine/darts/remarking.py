"""Mark the legs and tips of darts anew on an edge whose outline stays: move, divide, resize.

The mouth is taken out of the edge first, leg straight to leg; the new mouths are marked on
that line, so what is sewn of the edge is as long as the mouths leave it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from propagate.engine.darts.cap import Lie
from propagate.engine.darts.changes import mouth_of
from propagate.engine.darts.placing import with_dart
from propagate.engine.darts.swinging import with_cap
from propagate.engine.marks_on_lines import nearest_place, put_mark
from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.arrays import Array
from propagate.geometry.corner import turn_between
from propagate.geometry.fade import fade_end
from propagate.geometry.motion import from_two_points
from propagate.geometry.polyline import arc_lengths, as_pair, between, locate, point_at
from propagate.pattern.model import Dart, Edge, SizedPiece
from propagate.tolerances import FADE_MM, SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["BareEdge", "Mouth", "bare_edge", "marked_anew", "tip_above", "widen_mouth"]

_ROUNDS = 40
_EXACT_MM = 1e-9
_BEYOND = 2.0
"""A leg is looked for on the edge up to so many times its length."""


@dataclass(frozen=True)
class BareEdge:
    """An edge without the mouth of one dart, leg straight to leg.

    Attributes
    ----------
    low, high : float
        Where the legs stand on it, mm from its start.
    others : tuple of (float, float)
        Mouths of the other darts on it.
    bend_deg : float
        By how much the line turns at the legs.
    """

    piece: SizedPiece
    dart: Dart
    edge: Edge
    low: float
    high: float
    others: tuple[tuple[float, float], ...]
    bend_deg: float

    @property
    def width(self) -> float:
        """From leg to leg, mm."""
        return self.high - self.low

    @property
    def sewn(self) -> float:
        """How much of the edge is sewn, mm."""
        return self.edge.length - self.width

    def at(self, distance: float) -> Array:
        """Return a point of it."""
        return point_at(self.edge.points, distance)


@dataclass(frozen=True)
class Mouth:
    """A mouth to be marked on a bare edge: the dart's names, the legs' places, and the tip."""

    name: str
    legs: tuple[str, str]
    low: float
    high: float
    tip: tuple[float, float]


def bare_edge(piece: SizedPiece, dart: Dart) -> BareEdge:
    """Take the mouth of a dart out of its edge."""
    edge = piece.edge(dart.edge)
    low, high = mouth_of(piece, dart)
    before, after = between(edge.points, 0.0, low), between(edge.points, high, edge.length)
    points = np.vstack([before, after])
    chords = np.diff(points, axis=0)
    legs = [k for k in (len(before) - 1, len(before)) if 0 < k < len(points) - 1]
    bend = max((float(abs(turn_between(chords[k - 1], chords[k]))) for k in legs), default=0.0)
    if bend <= 1e-6:  # the legs lie on one line with what is beside them
        points = np.vstack([before[:-1], after[1:]])
    ends = np.array([before[-1], after[0]])
    kept = [t for t in edge.turn_points if np.abs(ends - t).max(axis=1).min() > SAME_POINT_MM]
    bare = edge_from_parts(edge.name, [points], np.array(kept).reshape(-1, 2))
    width = float(np.hypot(*(after[0] - before[-1])))
    shift = width - (high - low)
    others = tuple(
        (a, b) if b <= low else (a + shift, b + shift)
        for a, b in (mouth_of(piece, d) for d in piece.darts if d.edge == edge.name and d != dart)
    )
    return BareEdge(piece, dart, bare, low, low + width, others, float(np.degrees(bend)))


def tip_above(bare: BareEdge, low: float, high: float) -> tuple[float, float]:
    """Return the tip of a dart of the same depth and lean over another mouth, its legs equal."""
    a, b = bare.at(low), bare.at(high)
    old = np.array([bare.at(bare.low), bare.at(bare.high)])
    across = (b - a) / np.hypot(*(b - a))
    middle = (a + b) / 2
    from_middle = old - old.mean(axis=0)
    turn = from_two_points(from_middle, np.array([-across, across]) * np.abs(from_middle).max())
    off = turn.rotate(np.asarray(bare.dart.tip) - old.mean(axis=0))
    off = off - across * float(off @ across)
    return as_pair(rounded(middle + off))


def widen_mouth(bare: BareEdge, by: float) -> BareEdge | None:
    """Turn the legs of the dart of a bare edge about its tip, each by as much.

    The legs stay as long as each other.  Where they would leave the edge it is led to their
    ends, which fades out beside the dart.  What is left of the edge to be sewn is shorter by
    just as much as was asked.

    Parameters
    ----------
    by : float
        What less of the edge is to be sewn, mm; below 0 more.

    Returns
    -------
    BareEdge or None
        None where a leg would meet no edge.
    """
    sewn = bare.sewn - by
    tip = np.asarray(bare.dart.tip)
    reach = float(np.hypot(*(bare.at(bare.low) - tip)))
    first, second = 0.0, by / 2 / reach
    found = _turn_legs(bare, first)
    off = None if found is None else found.sewn - sewn
    for _ in range(_ROUNDS):
        fresh = _turn_legs(bare, second)
        if fresh is None or off is None:
            return None
        now = fresh.sewn - sewn
        found = fresh
        if abs(now) <= _EXACT_MM or now == off:
            break
        first, second, off = second, second - now * (second - first) / (now - off), now
    return found


def _turn_legs(bare: BareEdge, turn: float) -> BareEdge | None:
    """Turn both legs on a bare edge outwards by an angle, radians."""
    tip = np.asarray(bare.dart.tip)
    ends = [bare.at(at) for at in (bare.low, bare.high)]
    rays = [complex(*(end - tip)) for end in ends]
    sign = np.sign(np.angle(rays[1] / rays[0]))
    aims = [
        ray * np.exp(1j * way * sign * turn) for ray, way in zip(rays, (-1.0, 1.0), strict=True)
    ]
    line = shapely.LineString(bare.edge.points)
    places = []
    for aim, own in zip(aims, (bare.low, bare.high), strict=True):
        far = tip + np.array([aim.real, aim.imag]) * _BEYOND
        hits = shapely.get_coordinates(line.intersection(shapely.LineString([tip, far])))
        if not len(hits):
            return None
        found = [locate(bare.edge.points, hit)[0] for hit in hits]
        places.append(min(found, key=lambda place: abs(place - own)))
    low, high = places
    if not low < high:
        return None
    radius = float(np.mean([np.hypot(*(bare.at(at) - tip)) for at in places]))
    legs = [tip + radius * np.array([aim.real, aim.imag]) / abs(aim) for aim in aims]
    near = max((b for _, b in bare.others if b <= low), default=0.0)
    far_end = min((a for a, _ in bare.others if a >= high), default=bare.edge.length)
    before = _lead_to(bare.edge.points, low, rounded(legs[0]), low - near)
    flipped = bare.edge.points[::-1]
    after = _lead_to(flipped, bare.edge.length - high, rounded(legs[1]), far_end - high)[::-1]
    width = float(np.hypot(*(legs[1] - legs[0])))
    begin = float(arc_lengths(before)[-1])
    edge = edge_from_parts(bare.edge.name, [np.vstack([before, after])], bare.edge.turn_points)
    shift = begin + width - high
    others = tuple((a, b) if b <= low else (a + shift, b + shift) for a, b in bare.others)
    return replace(bare, edge=edge, low=begin, high=begin + width, others=others)


def _lead_to(points: Array, end: float, to: Array, room: float) -> Array:
    """Lead a line, up to a place, from there to a point beside it."""
    part = between(points, 0.0, end)
    if np.hypot(*(part[-1] - to)) <= SAME_POINT_MM:
        return np.vstack([part[:-1], to])
    return rounded(fade_end(part, to, min(FADE_MM, room), STEP_MM))


def marked_anew(bare: BareEdge, mouths: Sequence[Mouth], lie: Lie) -> SizedPiece:
    """Mark darts on a bare edge instead of the one that it had, and cut their caps."""
    piece, dart = bare.piece, bare.dart
    points, arc = bare.edge.points, arc_lengths(bare.edge.points)
    for place in (at for mouth in mouths for at in (mouth.low, mouth.high)):
        if np.abs(arc - place).min() > SAME_POINT_MM:
            at = int(np.searchsorted(arc, place))
            points = np.insert(points, at, rounded(bare.at(place)), axis=0)
            arc = np.insert(arc, at, place)
    edge = edge_from_parts(bare.edge.name, [points], bare.edge.turn_points)
    new = replace(
        piece,
        edges=tuple(edge if one.name == edge.name else one for one in piece.edges),
        landmarks=tuple(
            put_mark(mark, edge, nearest_place(edge, mark.point))
            if mark.edge == edge.name
            else mark
            for mark in piece.landmarks
            if mark.name not in dart.legs
        ),
        darts=tuple(one for one in piece.darts if one.name != dart.name),
    )
    for mouth in mouths:
        places = [locate(edge.points, bare.at(at))[0] for at in (mouth.low, mouth.high)]
        fresh = Dart(mouth.name, edge.name, mouth.legs, mouth.tip)
        new = with_dart(new, fresh, (places[0], places[1]))
    for mouth in mouths:
        new = with_cap(new, mouth.name, lie)
    # Listed as they were, new ones last.
    marks = {mark.name: k for k, mark in enumerate(piece.landmarks)}
    darts = {dart.name: k for k, dart in enumerate(piece.darts)}
    return replace(
        new,
        landmarks=tuple(sorted(new.landmarks, key=lambda m: marks.get(m.name, len(marks)))),
        darts=tuple(sorted(new.darts, key=lambda d: darts.get(d.name, len(darts)))),
    )
