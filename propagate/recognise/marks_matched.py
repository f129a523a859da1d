"""Which landmarks, darts, inner lines and drill marks of two drawings of a piece answer to each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.polyline import sample_line
from propagate.pattern.model import SizedPiece
from propagate.values import dataclass

__all__ = ["Inside", "match_darts", "match_inside", "match_marks"]

IN_ORDER, NEAR = 0.2, 0.06
"""How far marks may lie apart, as shares of their edge: where there are as many, and else."""
NEAR_INSIDE = 0.15
"""What lies inside is looked for within that part of the piece's size around its place."""
CLEARLY = 2.0
"""Where there are more in one drawing, the nearest is so much nearer than the next, or not it."""
_SAMPLES = 9


@dataclass(frozen=True)
class Inside:
    """What lies inside of a piece, by its names now.

    Attributes
    ----------
    lines, drills : mapping of name now to name to be
    back : frozenset of str
        Lines, by their names to be, that are drawn from their end to their start.
    """

    lines: Mapping[str, str]
    drills: Mapping[str, str]
    back: frozenset[str]


def match_marks(old: SizedPiece, new: SizedPiece) -> dict[str, str]:
    """Names now to names to be, for landmarks on edges that have one name in both."""
    found: dict[str, str] = {}
    for edge in new.edges:
        if edge.name not in old.edge_names:
            continue
        kinds = {mark.kind for mark in old.landmarks_on(edge.name)}
        for kind in sorted(kinds):
            rows = [
                sorted(
                    (one.distance(edge.name, mark.name) / one.edge(edge.name).length, mark.name)
                    for mark in one.landmarks_on(edge.name)
                    if mark.kind == kind
                )
                for one in (old, new)
            ]
            found |= {now: name for name, now in _pair_in_order(*rows)}
    return found


def _pair_in_order(
    old: Sequence[tuple[float, str]], new: Sequence[tuple[float, str]]
) -> list[tuple[str, str]]:
    """Pair marks along an edge; none is paired that could be another."""
    if len(old) == len(new):
        if all(abs(a - b) <= IN_ORDER for (a, _), (b, _) in zip(old, new, strict=True)):
            return [(a, b) for (_, a), (_, b) in zip(old, new, strict=True)]
        return []
    found = []
    for at, name in old:
        near = [now for place, now in new if abs(place - at) <= NEAR]
        others = [a for a, _ in old if any(abs(p - a) <= NEAR and n in near for p, n in new)]
        if len(near) == 1 and len(others) == 1:
            found.append((name, near[0]))
    return found


def match_darts(old: SizedPiece, new: SizedPiece) -> dict[str, str]:
    """Names now to names to be, for darts on edges that have one name in both."""
    found: dict[str, str] = {}
    for edge in new.edge_names:
        rows = [
            sorted(
                (one.distance(edge, dart.legs[0]), dart.name)
                for dart in one.darts
                if dart.edge == edge
            )
            for one in (old, new)
            if edge in one.edge_names
        ]
        if len(rows) == 2 and len(rows[0]) == len(rows[1]):
            found |= {now: name for (_, name), (_, now) in zip(*rows, strict=True)}
    return found


def match_inside(old: SizedPiece, new: SizedPiece) -> Inside:
    """Match inner lines and drill marks by their place between edges of one name."""
    both = [name for name in new.edge_names if name in old.edge_names]
    if not both:
        return Inside({}, {}, frozenset())
    here, there = (
        np.concatenate([sample_line(one.edge(name).points, _SAMPLES) for name in both])
        for one in (old, new)
    )
    flat = np.column_stack([here, np.ones(len(here))])
    move = np.linalg.lstsq(flat, there, rcond=None)[0]
    within = NEAR_INSIDE * float(np.hypot(*np.ptp(there, axis=0)))

    def moved(points: Array) -> Array:
        put: Array = np.column_stack([points, np.ones(len(points))]) @ move
        return put

    drills = _nearest_only(
        {mark.name: moved(np.array([mark.point])) for mark in old.drills},
        {mark.name: np.array([mark.point]) for mark in new.drills},
        within,
    )
    ends = {line.name: moved(sample_line(line.points, 3)) for line in old.lines}
    mine = {line.name: sample_line(line.points, 3) for line in new.lines}
    lines = _nearest_only(ends, mine, within)
    back = frozenset(
        name
        for now, name in lines.items()
        if _measure_apart(ends[name], mine[now][::-1]) < _measure_apart(ends[name], mine[now])
    )
    return Inside(lines, drills, back)


def _measure_apart(one: Array, other: Array) -> float:
    return float(np.hypot(*(one - other).T).max())


def _nearest_only(
    old: Mapping[str, Array], new: Mapping[str, Array], within: float
) -> dict[str, str]:
    """Pairs that are each other's nearest, and clearly nearer than any other; now to name to be."""
    clearly = 1.0 if len(old) == len(new) else CLEARLY
    far = {
        (a, b): min(_measure_apart(p, q), _measure_apart(p, q[::-1]))
        for a, p in old.items()
        for b, q in new.items()
    }
    found = {}
    for (name, now), gap in far.items():
        rivals = [
            far[pair] for pair in far if pair != (name, now) and (pair[0] == name or pair[1] == now)
        ]
        if gap <= within and all(other >= clearly * gap and other > gap for other in rivals):
            found[now] = name
    return found
