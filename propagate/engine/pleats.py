"""Pleats and tucks, measured and laid: how they lie on an edge that became longer or shorter."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt

from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, compare_sides
from propagate.pattern.pleats import FoldedRun, Pleats, folded_run

__all__ = ["laid_anew", "pleat_words", "walk_pleats", "wanted_takes"]

Array = npt.NDArray[np.float64]


def walk_pleats(on: Walked, pleats: Pleats) -> list[Check]:
    """The run with its pleats closed, against its open length less what they are to take up.

    What is meant is the closed length; the words tell the open one too.
    """
    if len(pleats.run) != 1:
        return []
    span = pleats.run[0]
    piece = on.piece(span.piece)
    lies = folded_run(piece, pleats)
    wanted = lies.open_mm - float(wanted_takes(pleats, lies).sum())
    closed = lies.open_mm - _measure_away(lies)
    words = pleat_words(pleats, lies, lambda mm: f"{mm:.1f} mm")
    sides = str(span), "closed"
    return [compare_sides("pleats", pleats, sides, wanted, closed, meant=words)]


def _measure_away(lies: FoldedRun) -> float:
    """What is folded away within the run, mm; where two folds lie over each other, once."""
    done, away = 0.0, 0.0
    for low, high in np.clip(lies.folds, 0.0, lies.open_mm).tolist():
        away += max(high - max(low, done), 0.0)
        done = max(done, high)
    return away


def wanted_takes(pleats: Pleats, lies: FoldedRun) -> Array:
    """(n,) cloth that each fold is to take up, mm: as drawn, or twice the depth that is said.

    An inverted pleat is folded from both sides on to its middle: it takes up four times that.
    """
    if pleats.depth is None:
        return lies.taken_up
    both = {fold for _, fold, share in lies.marks if 0.0 < share < 1.0}
    return np.array([(4.0 if k in both else 2.0) * pleats.depth for k in range(len(lies.folds))])


def laid_anew(
    pleats: Pleats, was: FoldedRun, open_mm: float, anchored: Mapping[str, bool]
) -> FoldedRun:
    """The pleats on a run that has become so long.

    Their depth stays, and the closed run between them grows or shrinks in proportion, so that
    what was even stays even; or depth and room go in proportion.  One whose marks are anchored to
    an end of the edge keeps its distance from that end.

    Parameters
    ----------
    pleats : Pleats
    was : FoldedRun
        As they were.
    open_mm : float
        Length of the run with the pleats open.
    anchored : mapping of mark to bool
        Whether to the start of the run, for marks that are anchored.
    """
    takes = wanted_takes(pleats, was)
    if pleats.keep == "ratio" and pleats.depth is None:
        takes = takes * open_mm / was.open_mm
    closed = open_mm - float(takes.sum())
    places = np.interp(was.closed_at, *_fix_places(was, closed, anchored))
    begins = places + np.cumsum(takes) - takes
    return FoldedRun(open_mm, np.column_stack([begins, begins + takes]), was.marks)


def _fix_places(was: FoldedRun, closed: float, anchored: Mapping[str, bool]) -> tuple[Array, Array]:
    """Places on the closed run as it was, and where they lie now: its ends and what is anchored."""
    found = {0.0: 0.0, was.closed_mm: closed}
    for fold, place in enumerate(was.closed_at.tolist()):
        to_start = {anchored.get(name) for name, k, _ in was.marks if k == fold}
        if to_start == {True}:
            found[place] = place
        elif to_start == {False}:
            found[place] = closed - (was.closed_mm - place)
    places = sorted(found)
    return np.array(places), np.maximum.accumulate([found[place] for place in places])


def pleat_words(pleats: Pleats, lies: FoldedRun, said: Callable[[float], str]) -> str:
    """How many there are, how deep, and how much fuller the run lies open."""
    count = len(pleats.pleats)
    word = pleats.fold if count == 1 else f"{pleats.fold}s"
    both = {fold for _, fold, share in lies.marks if 0.0 < share < 1.0}
    depths = [take / (4.0 if k in both else 2.0) for k, take in enumerate(lies.taken_up.tolist())]
    least, most = min(depths), max(depths)
    deep = said(most) if most - least < 0.05 else f"{said(least)} to {said(most)}"
    ratio = lies.open_mm / lies.closed_mm if lies.closed_mm > 0.0 else np.inf
    away = f"{said(lies.open_mm)} on {said(lies.closed_mm)}"
    return f"{count} {word} {deep} deep, {away}, {ratio:.3g} to 1"
