"""The lines that are on no outline, put together again where they were split."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from propagate.io.chain import Chain
from propagate.io.sheet.stretches import cut_at_ends, leave_doubled, nodes_of
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["put_together"]

STRAIGHT_ON_DEG = 8.0
"""Where several lines meet, those go on as one that turn by less."""
STRAIGHT_MM = 0.05
"""Where a line was split it has a vertex only if that lies farther from the straight one."""
TURN_DEG = 100.0
"""Where two meet, they are one line unless it turns back by more."""


@dataclass(frozen=True, eq=False)
class _End:
    """One end of a line: its number, which end, and the direction out of the line there."""

    line: int
    first: bool
    out: Array


def put_together(lines: Sequence[Chain], join: float) -> list[Chain]:
    """Lines as they were before they were split, each once.

    Parameters
    ----------
    lines : sequence of Chain
    join : float
        Ends this near to each other meet, mm.
    """
    closed: list[tuple[Array, Chain]] = []  # each once
    for line in (line for line in lines if line.closed):
        box = np.concatenate([line.points.min(axis=0), line.points.max(axis=0)])
        if not any(float(np.abs(box - other).max()) <= 2 * join for other, _ in closed):
            closed.append((box, line))
    whole = [line for _, line in sorted(closed, key=lambda item: item[0].tolist())]
    kept, _ = leave_doubled(
        cut_at_ends([x for x in lines if not x.closed and x.length > join], join), join
    )
    # Each in the direction that does not depend on how it was drawn.
    chains = sorted(
        (s.chain if s.chain.start <= s.chain.end else s.chain.reversed() for s in kept),
        key=lambda c: (c.start, c.end, c.length),
    )
    return [*whole, *_join_chains(chains, join)]


def _join_chains(chains: Sequence[Chain], join: float) -> list[Chain]:
    """Follow each line over the ends where it goes on."""
    at: dict[int, list[_End]] = {}
    nodes = nodes_of(chains, join)
    for index, (chain, (a, b)) in enumerate(zip(chains, nodes, strict=True)):
        at.setdefault(a, []).append(_End(index, True, _find_way_out(chain.points)))
        at.setdefault(b, []).append(_End(index, False, _find_way_out(chain.points[::-1])))
    after: dict[tuple[int, bool], tuple[int, bool]] = {}
    for ends in at.values():
        for one, other in _pair_ends(ends):
            after[one.line, one.first] = (other.line, other.first)
            after[other.line, other.first] = (one.line, one.first)
    done: set[int] = set()
    found = []
    starts = [(i, first) for i in range(len(chains)) for first in (True, False)]
    for index, first in [s for s in starts if s not in after] + starts:
        if index in done:
            continue
        parts: list[Chain] = []
        here: tuple[int, bool] | None = (index, first)
        while here is not None and here[0] not in done:
            number, from_first = here
            done.add(number)
            parts.append(chains[number] if from_first else chains[number].reversed())
            here = after.get((number, not from_first))
        closed = here is not None and here[0] == index and len(parts) > 1
        found.append(_join_run(parts, closed=closed))
    return found


def _find_way_out(points: Array) -> Array:
    """The direction in which a line leaves its first point backward."""
    step = points[0] - points[1]
    return np.asarray(step / max(float(np.hypot(*step)), 1e-12))


def _pair_ends(ends: Sequence[_End]) -> list[tuple[_End, _End]]:
    """Ends at one place that go on into each other, the straightest first."""
    limit = TURN_DEG if len(ends) == 2 else STRAIGHT_ON_DEG
    turns = sorted(
        (math.degrees(math.acos(float(np.clip(-(a.out @ b.out), -1.0, 1.0)))), i, j)
        for i, a in enumerate(ends)
        for j, b in enumerate(ends)
        if i < j and a.line != b.line
    )
    used: set[int] = set()
    found = []
    for turn, i, j in turns:
        if turn <= limit and not {i, j} & used:
            used |= {i, j}
            found.append((ends[i], ends[j]))
    return found


def _join_run(parts: Sequence[Chain], *, closed: bool) -> Chain:
    segments = list(parts[0].segments)
    starts = [parts[0].start, *(s[-1] for s in segments[:-1])]
    for part in parts[1:]:
        here = segments[-1][-1]
        more = list(part.with_ends(here, part.end).segments)
        if len(more[0]) == 1 and len(segments[-1]) == 1 and _is_flat(starts[-1], here, more[0][0]):
            segments[-1] = more[0]
            more = more[1:]
        for segment in more:
            starts.append(segments[-1][-1])
            segments.append(segment)
    if closed:
        segments[-1] = (*segments[-1][:-1], parts[0].start)
    return Chain(parts[0].start, tuple(segments), closed)


def _is_flat(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    whole = math.dist(a, c)
    off = abs((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])) / max(whole, 1e-9)
    return off <= STRAIGHT_MM and math.dist(a, b) <= whole
