"""Lengths in all sizes: which runs can be partners at all, and what their lengths say."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import numpy.typing as npt

from propagate.counts import say_range
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact, say_gap
from propagate.suggesting.rows import Row

__all__ = ["count_doublings", "find_candidates", "judge_lengths", "tell_ease"]

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

CLOSE_MM = 3.0
"""Without ease, partners agree within this in every size (twice the trade's walk)."""
AGREE_MM = 1.5
"""The trade's walk (common practice, no source): up to here nothing is eased."""
EASE_MM = 25.0
"""Largest ease that is looked for, and no more than a twentieth of the length."""
STEPS_MM = 1.0
"""With ease, the difference stays the same over all sizes within this."""
LIKE_MM = 0.3
"""Runs as close as this to a pair's lengths might take the place of either."""
DRAWN_MM = 0.05
"""How finely two drafted lengths can be told apart."""
MOST_PARTNERS, FEWEST_PARTNERS = 24, 4
"""At most so many partners are looked at for one run, the nearest first ..."""
MANY_RUNS = 300
"""... and in proportion fewer where a set has more runs than this."""
MOST_NEAR = 1000
"""At most so many runs that are longer in the base size are measured against one run."""
MOST_RIVALS = 100
"""More are not counted."""


def find_candidates(
    nest: Nest, rows: Sequence[Row], taken: Collection[int] = ()
) -> tuple[list[tuple[int, int, int]], int]:
    """Pairs of rows whose lengths may be partners, each with its number of rivals.

    Those that are `taken`, by their number, are sewn elsewhere and are nobody's rivals.

    Returns
    -------
    list of (i, j, rivals)
        `rivals` counts the other whole edges that fit one of the two as well, up to one more
        than `MOST_RIVALS`.
    int
        How many more pairs there are, of runs that have nearer partners.
    """
    if len(rows) < 2:
        return [], 0
    table = np.array([row.lengths for row in rows])
    i, j, left = _near_in_base(table[:, nest.base])
    differ = table[j] - table[i]
    worst = np.abs(differ).max(axis=1)
    steady = differ.max(axis=1) - differ.min(axis=1)
    keep = (worst <= CLOSE_MM) | (steady <= STEPS_MM)
    whole = np.array([row.whole for row in rows])
    keep &= whole[i] | whole[j]  # no pairs of two parts
    names = [(row.run[0].piece, row.run[-1].piece) for row in rows]
    pieces = np.unique(names, return_inverse=True)[1].reshape(-1, 2)
    shared = (pieces[i, :, None] == pieces[j, None, :]).any(axis=(1, 2))
    for k in np.flatnonzero(keep & shared):  # within one piece whole edges alone
        one, other = rows[i[k]], rows[j[k]]
        both = one.whole and other.whole and len(one.run) == len(other.run) == 1
        keep[k] = both and one.keys != other.keys
    order = np.flatnonzero(keep)
    order = order[np.lexsort((j[order], i[order], worst[order]))]
    pairs = list(zip(i[order].tolist(), j[order].tolist(), worst[order].tolist(), strict=True))
    fitting: list[list[tuple[float, int]]] = [[] for _ in rows]
    for a, b, gap in pairs:
        if whole[b] and b not in taken:
            fitting[a].append((gap, b))
        if whole[a] and a not in taken:
            fitting[b].append((gap, a))
    most = max(FEWEST_PARTNERS, MOST_PARTNERS * MANY_RUNS // len(rows))
    most = min(MOST_PARTNERS, most)
    met, found = [0] * len(rows), []
    for a, b, gap in pairs:
        if min(met[a], met[b]) < most:
            met[a] += 1
            met[b] += 1
            found.append((a, b, _count_rivals(rows, fitting, a, b, gap + LIKE_MM)))
    return sorted(found), left + len(pairs) - len(found)


def _near_in_base(base: Array) -> tuple[Indices, Indices, int]:
    """Pairs i < j whose lengths in the base size are near, by a sorted sweep; how many more."""
    order = np.argsort(base, kind="stable")
    ranked = base[order]
    reach = ranked + np.maximum(CLOSE_MM, np.minimum(EASE_MM, ranked / 20))
    stop = np.searchsorted(ranked, reach, side="right")
    near = stop - np.arange(len(base)) - 1
    counts = np.minimum(near, MOST_NEAR)
    first = np.repeat(np.arange(len(base)), counts)
    ahead = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + 1
    a, b = order[first], order[first + ahead]
    return np.minimum(a, b), np.maximum(a, b), int((near - counts).sum())


def _count_rivals(
    rows: Sequence[Row], fitting: Sequence[Sequence[tuple[float, int]]], a: int, b: int, most: float
) -> int:
    """How many other whole edges fit either side of a pair as well as its partner does."""
    others: set[frozenset[str]] = set()
    for side in (a, b):
        for gap, k in fitting[side]:
            if gap > most or len(others) > MOST_RIVALS:
                break
            if rows[k].keys.isdisjoint(rows[a].keys) and rows[k].keys.isdisjoint(rows[b].keys):
                others.add(rows[k].keys)
    return len(others)


def tell_ease(differ: Array) -> float:
    """What the follower is longer by on purpose: 0, or a steady difference in tenths of a mm."""
    middle = float(np.median(differ))
    return 0.0 if np.abs(differ).max() <= AGREE_MM else round(middle, 1)


def judge_lengths(nest: Nest, lead: Row, follow: Row, rivals: int) -> list[Fact]:
    """What the lengths of two runs say, in every size."""
    differ = follow.lengths - lead.lengths
    worst = float(np.abs(differ).max())
    count = len(differ)
    low, high = float(lead.lengths.min()), float(lead.lengths.max())
    sizes = f"in all {count} sizes" if count > 1 else "in the one size"
    lengths = say_range(f"{low:.1f}", f"{high:.1f}")
    words = f"the lengths agree within {say_gap(worst)} {sizes} ({lengths} mm)"
    if worst > CLOSE_MM:
        words = f"the lengths differ by {worst:.1f} mm"
    if worst <= AGREE_MM:
        weight = 3.0 - 3.0 * max(worst - DRAWN_MM, 0.0) / (AGREE_MM - DRAWN_MM)
    else:
        share = 0.01 * float(lead.lengths[nest.base])
        weight = -min(1.5, (worst - AGREE_MM) / max(share, 1.0))
    facts = [Fact(weight, words)]
    if count > 1:
        facts.append(_judge_grading(nest, lead, follow))
        steps = np.diff([lead.lengths, follow.lengths], axis=1)
        moved, spread = float(np.ptp(steps[0])), float(np.abs(steps[0] - steps[1]).max())
        doublings = count_doublings(moved, spread)
        if worst > CLOSE_MM and doublings >= 1.0:
            # They make up for a difference in length: it is ease, most likely.
            text = (
                f"the steps are uneven by {moved:.1f} mm and yet the same within {say_gap(spread)}"
            )
            facts.append(Fact(min(doublings, 6.0) / 3, text))
    if rivals:
        many = f"more than {MOST_RIVALS}" if rivals > MOST_RIVALS else str(rivals)
        text = f"{many} other edge{'s fit' if rivals > 1 else ' fits'} these lengths as well"
        facts.append(Fact(-0.5 * float(np.log1p(rivals)), text))
    if high < 60.0:
        facts.append(Fact(-1.0, f"the runs are short ({high:.0f} mm)", "short runs"))
    return facts


def count_doublings(moved: float, spread: float) -> float:
    """How many times what the grading moves is twice what is left of it in a difference, mm."""
    return float(np.log2((moved + DRAWN_MM) / (spread + DRAWN_MM)))


def _judge_grading(nest: Nest, lead: Row, follow: Row) -> Fact:
    """How far the steps of the grading tell these two from any other pair."""
    grown = lead.lengths - lead.lengths[nest.base]
    left = (follow.lengths - follow.lengths[nest.base]) - grown
    moved, spread = float(np.ptp(grown)), float(np.ptp(left))
    if moved < 2 * DRAWN_MM and spread < 2 * DRAWN_MM:
        return Fact(0.0, "neither length changes over the sizes, so that they agree says little")
    doublings = count_doublings(moved, spread)
    if doublings < 1.0:
        words = f"the grading differs by {spread:.2f} mm where it moves {moved:.2f} mm"
        return Fact(max(doublings - 1.0, -3.0) - 0.5, words)
    words = (
        f"both are graded alike: {moved:.1f} mm over the sizes, the same within {say_gap(spread)}"
    )
    return Fact(min(doublings, 6.0) / 2, words)
