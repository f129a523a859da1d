"""Corner angles at the two ends of a seam: crossing edges should run on."""

from __future__ import annotations

import numpy as np

from propagate.suggesting.proposal import Fact
from propagate.suggesting.rows import End, Row

__all__ = ["facts"]

FINE_DEG = 1.0
FAIR_DEG = 3.0
"""What the trade accepts across a seam (common practice, no source)."""
FAR_DEG = 12.0
PLAIN_DEG = 1.5
"""Two corners of about 90 degrees fit each other and every other square corner."""


def facts(
    lead: Row, follow: Row, turned: bool, *, stacked: bool, chained: bool = False
) -> tuple[list[Fact], dict[str, tuple[str, str]]]:
    """What the corners say, and the crossing edges where the angles add up.

    `stacked` tells that the two may be layers that lie on each other: then the angles may
    be equal instead, and nothing runs on across the seam.  So it is where the two are
    `chained`, sewn to each other around a corner; there equal corners go before square ones.
    """
    others = follow.ends[::-1] if turned else follow.ends
    ends = tuple(zip(("start", "end"), lead.ends, others, strict=True))
    more = FINE_DEG if chained else 0.0
    if (stacked or chained) and _measure_off(ends, equal=True) < _measure_off(
        ends, equal=False
    ) + more:
        return [fact for end in ends for fact in _judge_equal(*end)], {}
    found, crossing = [], {}
    for end, own, theirs in ends:
        fact, adds_up = _judge_sum(end, own, theirs)
        found += fact
        if adds_up and own.crossing and theirs.crossing:
            crossing[end] = (own.crossing, theirs.crossing)
    return found, crossing


def _measure_off(ends: tuple[tuple[str, End, End], ...], *, equal: bool) -> float:
    """How far the corners of both ends are from being equal, or from adding up, degrees."""
    total = 0.0
    for _, a, b in ends:
        if a.angles is not None and b.angles is not None:
            off = a.angles - b.angles if equal else a.angles + b.angles - 180.0
            total += float(np.abs(off).max())
    return total


def _judge_equal(end: str, own: End, theirs: End) -> list[Fact]:
    if own.angles is None or theirs.angles is None:
        return []
    a, b = float(own.angles.mean()), float(theirs.angles.mean())
    off = float(np.abs(own.angles - theirs.angles).max())
    if off > FINE_DEG:
        return []
    words = f"the corners at the {end} are equal within {off:.1f}° ({a:.1f}° and {b:.1f}°)"
    return [Fact(0.4 if abs(a - 90.0) < PLAIN_DEG else 1.0, words, "corners")]


def _judge_sum(end: str, own: End, theirs: End) -> tuple[list[Fact], bool]:
    if own.angles is None or theirs.angles is None:
        return [], False
    a, b = float(own.angles.mean()), float(theirs.angles.mean())
    off = float(np.abs(own.angles + theirs.angles - 180.0).max())
    sums = f"{a:.1f}° + {b:.1f}° at the {end}"
    if off <= FAIR_DEG:
        if max(abs(a - 90.0), abs(b - 90.0)) < PLAIN_DEG:
            return [Fact(0.3, f"both corners are square ({sums})", "corners")], True
        weight = 1.5 if off <= FINE_DEG else 0.8
        words = f"the corner angles add up to 180° within {off:.1f}° ({sums})"
        return [Fact(weight, words, "corners")], True
    if off > FAR_DEG:
        return [Fact(-0.4, f"the corner angles do not add up: {sums}", "corners")], False
    return [], False
