"""Pleats that cannot be folded as they are marked."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from propagate.engine.pleats import wanted_takes
from propagate.engine.review.finding import Finding
from propagate.pattern.patternset import PatternSet
from propagate.pattern.pleats import FoldedRun, Pleats, folded_run
from propagate.tolerances import ON_LINE_MM

__all__ = ["find_faulty_pleats"]

_OVER_MM = 1.0
"""Full knife pleats have no room to spare: what lies behind them meets within this."""


def find_faulty_pleats(pattern: PatternSet) -> Iterator[Finding]:
    """Find pleats that overlap, leave their run, take up more than it has, or lie too close."""
    for one in pattern.relations.pleats.values():
        span = one.run[0]
        for size in pattern.sizes:
            lies = folded_run(pattern.sized(span.piece, size), one)
            found = next(_judge_folds(one, lies), None)
            if found is not None:
                rule, text, sews = found
                where = f"pleats '{one.name}', size '{size}'"
                yield Finding(rule, where, text, (span.piece,), sews=sews)
                break  # the others tell the same


def _judge_folds(one: Pleats, lies: FoldedRun) -> Iterator[tuple[str, str, bool]]:
    """What is wrong with the pleats in a size, and whether it can be sewn all the same."""
    takes = wanted_takes(one, lies)
    named = {fold: name for name, fold, _ in reversed(lies.marks)}
    both = {fold for _, fold, share in lies.marks if 0.0 < share < 1.0}
    for k, ((_, end), (begin, _)) in enumerate(pairwise(lies.folds.tolist())):
        if begin < end - ON_LINE_MM:
            yield (
                "pleats overlap",
                f"found '{named[k]}' and '{named[k + 1]}' with {end - begin:.1f} mm of the edge in "
                "both, expected each beside the other: cloth is folded away once. Most likely a "
                "mark is named in the wrong pleat, or lies on the wrong side of its neighbour",
                False,
            )
    low, high = lies.folds.min(), lies.folds.max()
    if low < -ON_LINE_MM or high > lies.open_mm + ON_LINE_MM:
        yield (
            "pleat outside of its run",
            f"found marks up to {max(-low, high - lies.open_mm):.1f} mm outside of '{one.run[0]}', "
            "expected all of them on it. Most likely the run ends at the wrong mark; let it reach "
            "over the last pleat",
            False,
        )
    taken = float(takes.sum())
    if taken > lies.open_mm - ON_LINE_MM:
        yield (
            "pleats take up more than their run",
            f"found {taken:.1f} mm taken up of {lies.open_mm:.1f} mm, expected something left to "
            "sew. Most likely the depth is the whole of what a pleat takes up; write half of it",
            False,
        )
    for k, (first, last) in enumerate(pairwise(lies.folds.tolist())):
        room, depths = last[0] - first[1], takes[k : k + 2] / 2.0
        reach = float(depths.max())
        if {k, k + 1} & both:
            reach = sum(float(d) / (2.0 if i in both else 1.0) for i, d in enumerate(depths, k))
        if one.fold == "pleat" and room < reach - _OVER_MM:
            # The cloth behind them lies five times, as nobody means it.
            yield (
                "pleats lie over each other",
                f"found {room:.1f} mm between two pleats that are {reach:.1f} mm deep behind it, "
                "expected as much room as depth (3 to 1 in all): the cloth behind them lies five "
                "times. Most likely the depth is the whole of what a pleat takes up, or a mark "
                "is off; it is right where they are to lie over each other",
                True,
            )
