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
            found = _judge_folds(one, lies) or _judge_room(one, lies)
            if found:
                rule, text, sews = found
                where = f"pleats '{one.name}', size '{size}'"
                yield Finding(rule, where, text, (span.piece,), sews=sews)
                break  # the others tell the same


def _judge_folds(one: Pleats, lies: FoldedRun) -> tuple[str, str, bool] | None:
    takes = float(wanted_takes(one, lies).sum())
    for k, ((_, end), (begin, _)) in enumerate(pairwise(lies.folds.tolist())):
        if begin < end - ON_LINE_MM:
            named = {fold: name for name, fold, _ in reversed(lies.marks)}
            names = " and ".join(f"'{named[fold]}'" for fold in (k, k + 1))
            return (
                "pleats overlap",
                f"found {names} with {end - begin:.1f} mm of the edge in both, expected each "
                "beside the other: cloth is folded away once. Most likely a mark is named in the "
                "wrong pleat, or lies on the wrong side of its neighbour",
                False,
            )
    low, high = lies.folds.min(), lies.folds.max()
    if low < -ON_LINE_MM or high > lies.open_mm + ON_LINE_MM:
        return (
            "pleat outside of its run",
            f"found marks up to {max(-low, high - lies.open_mm):.1f} mm outside of '{one.run[0]}', "
            "expected all of them on it. Most likely the run ends at the wrong mark; let it reach "
            "over the last pleat",
            False,
        )
    if takes > lies.open_mm - ON_LINE_MM:
        return (
            "pleats take up more than their run",
            f"found {takes:.1f} mm taken up of {lies.open_mm:.1f} mm, expected something left to "
            "sew. Most likely the depth is the whole of what a pleat takes up; write half of it",
            False,
        )
    return None


def _judge_room(one: Pleats, lies: FoldedRun) -> tuple[str, str, bool] | None:
    """Two pleats behind which the cloth lies five times, as nobody means it."""
    takes = wanted_takes(one, lies).tolist()
    both = {fold for _, fold, share in lies.marks if 0.0 < share < 1.0}
    for k, (first, last) in enumerate(pairwise(lies.folds.tolist())):
        room = last[0] - first[1]
        reach = max(takes[k], takes[k + 1]) / 2.0
        if k in both or k + 1 in both:
            reach = sum(takes[i] / (4.0 if i in both else 2.0) for i in (k, k + 1))
        if one.fold == "pleat" and room < reach - _OVER_MM:
            return (
                "pleats lie over each other",
                f"found {room:.1f} mm between two pleats that are {reach:.1f} mm deep behind it, "
                "expected as much room as depth (3 to 1 in all): the cloth behind them lies five "
                "times. Most likely the depth is the whole of what a pleat takes up, or a mark "
                "is off; it is right where they are to lie over each other",
                True,
            )
    return None
