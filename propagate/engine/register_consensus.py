"""Which edges of a revised piece were not changed: those that agree on how it lies."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.motion import Motion, fit

__all__ = ["laid_ways"]

Array = npt.NDArray[np.float64]


def laid_ways(
    source: Sequence[Array],
    target: Sequence[Array],
    close: Sequence[int],
    limit: float,
    exact: float,
) -> list[tuple[list[int], Motion, float]]:
    """Find the ways in which the piece lies so that edges agree.

    An edge that only happens to be as long as the old one must not push out those that
    were not changed, so where not all agree, each is asked in turn how the piece lies.

    Parameters
    ----------
    source, target : sequences of (k, 2) arrays, mm
        Each new edge and the old one it may be, at the same shares of their lengths.
    close : sequence of int
        The edges that come into question: those about as long as before.
    limit : float
        Edges that lie this close, mm, agree.
    exact : float
        Where not all lie this close, mm, edges are asked for those that do besides: a change
        of some tenths must not be shared between what was changed and what was not.

    Returns
    -------
    list of (kept, motion, residual)
        The edges that agree, the motion that lays the new ones on the old ones, and the
        largest distance left, mm.  Empty when none agrees.
    """
    found: dict[tuple[int, ...], tuple[list[int], Motion, float]] = {}
    kept: list[int] = []
    residual = np.inf
    for reach in (limit, min(exact, limit)):
        for start in (list(close), *([i] for i in close)):
            kept, motion, residual = _those_that_fit(source, target, start, reach)
            if kept and len(start) == 1:
                with_it = [
                    i for i in close if _measure_gap(motion, source[i], target[i]) <= 2 * reach
                ]
                kept, motion, residual = _those_that_fit(source, target, with_it, reach)
            if kept:
                found.setdefault(tuple(kept), (kept, motion, residual))
            if len(kept) == len(close):
                break
        if len(kept) == len(close) and residual <= exact:
            break
    return list(found.values())


def _those_that_fit(
    source: Sequence[Array], target: Sequence[Array], close: list[int], limit: float
) -> tuple[list[int], Motion, float]:
    """Lay by these edges, and leave out the worst until all lie within the limit."""
    while close:
        motion, residual = fit(
            np.vstack([source[i] for i in close]), np.vstack([target[i] for i in close])
        )
        gaps = [_measure_gap(motion, source[i], target[i]) for i in close]
        if max(gaps) <= limit:
            return close, motion, residual
        close = [i for i, gap in zip(close, gaps, strict=True) if gap < max(gaps)]
    return [], Motion(), np.inf


def _measure_gap(motion: Motion, source: Array, target: Array) -> float:
    return float(np.hypot(*(motion.apply(source) - target).T).max())
