"""What jumps out of the line of its neighbours, in the order of the sizes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.tolerances import OUT_OF_LINE_SHARE

__all__ = ["expected_beside", "find_jumps", "median", "out_of_line"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

_ENDS_MORE = 2.0
"""A last step longer than the largest other one by this many times it is no break size."""
_MARKS_MORE = 1.0
"""The same of marks, which hardly ever have a break of their own."""
_QUARTER = 0.25
"""Of three sizes, an edge that leaves the two others by this share of itself is off."""


def median(values: npt.ArrayLike) -> Array:
    """Middle value along the last axis; nan where there is none.

    ``numpy.median`` gives the same and loads masked arrays for it, 16 ms that every command
    which reads a set would wait for.
    """
    ordered = np.sort(values, axis=-1)
    count = ordered.shape[-1]
    if not count:
        return np.full(ordered.shape[:-1], np.nan)
    middle: Array = (ordered[..., (count - 1) // 2] + ordered[..., count // 2]) / 2
    return middle


def out_of_line(values: Array, least: float | Array, ends: Flags | bool = False) -> Flags:
    """Tell which values lie out of the line of the sizes beside them.

    A value that is off makes the step before it too long and the one behind it too short,
    or the other way round: both lie outside of what every other step of the row spans, on
    opposite sides.  Where the grade changes at a break size the two steps lie between the
    others, so uneven grading is no mistake, however uneven.

    Parameters
    ----------
    values : (m, n) array
        A row for each measure, a column for each size in order.
    least : float or (m,) array
        What is off by less is in line.
    ends : bool or (m,) array of bool
        Judge a first or last value strictly: one that leaves a row without grading, or one
        whose step is more than twice as long as every other, is out of line.

    Returns
    -------
    (m, n) array of bool
        Nothing for fewer than three sizes.

    Examples
    --------
    >>> import numpy as np
    >>> rows = np.array([[100.0, 110.0, 128.0, 130.0, 140.0], [0.0, 40.0, 80.0, 130.0, 190.0]])
    >>> out_of_line(rows, 2.0).astype(int).tolist()
    [[0, 0, 1, 0, 0], [0, 0, 0, 0, 0]]
    """
    flags = np.zeros(values.shape, dtype=bool)
    if values.shape[1] < 3 or not len(values):
        return flags
    # who is out of line makes two steps differ by twice as much: most rows are done here
    least, ends = (np.broadcast_to(given, len(values)) for given in (least, ends))
    uneven = np.abs(np.diff(values, n=2, axis=1)).max(axis=1) > 2 * least
    if uneven.any():
        judge = _of_three if values.shape[1] == 3 else _of_many
        flags[uneven] = judge(values[uneven], least[uneven], ends[uneven])
    return flags


def _of_many(values: Array, least: Array, ends: Flags) -> Flags:
    """Judge four sizes or more by the steps on both sides of each."""
    flags = np.zeros(values.shape, dtype=bool)
    count, steps = values.shape[1], np.diff(values, axis=1)
    for at in range(1, count - 1):
        before, after = steps[:, at - 1], steps[:, at]
        others = np.delete(steps, (at - 1, at), axis=1)
        low, high = others.min(axis=1), others.max(axis=1)
        off = np.maximum(
            np.minimum(before - high, low - after), np.minimum(low - before, after - high)
        )
        usual = median(np.abs(others))
        flags[:, at] = off > np.maximum(least, OUT_OF_LINE_SHARE * usual)
    clean = ~flags.any(axis=1)
    for at, step in ((0, 0), (count - 1, count - 2)):
        flags[:, at] = clean & _end_is_off(steps, step, least, ends)
    return flags


def _of_three(values: Array, least: Array, ends: Flags) -> Flags:
    """Judge three sizes: too few to know a step, so the two that agree speak against the third.

    The middle one is off when the row goes there and back; the first or last one when the other
    two are nearly alike and it is far away, by a quarter of itself unless it is a mark.
    """
    flags = np.zeros(values.shape, dtype=bool)
    steps = np.diff(values, axis=1)
    sizes = np.abs(steps)
    small, large = sizes.min(axis=1), sizes.max(axis=1)
    back = steps[:, 0] * steps[:, 1] < 0.0
    flags[:, 1] = back & (small > np.maximum(least, large / 2))
    far = ~flags[:, 1] & (large > np.where(ends, 2, 4) * small + 4 * least)
    far &= ends | (large > _QUARTER * np.abs(values[:, 1]))
    flags[:, 0] = far & (sizes[:, 0] == large)
    flags[:, 2] = far & (sizes[:, 1] == large)
    return flags


def _end_is_off(steps: Array, at: int, least: Array, ends: Flags) -> Flags:
    """Tell where the step to a first or last size is none that the row could take.

    At an end nothing stands on the other side, and the largest size often has a step of its
    own; so only a step that goes back, or is several times as long, counts.
    """
    others = np.delete(steps, at, axis=1)
    step, low, high = steps[:, at], others.min(axis=1), others.max(axis=1)
    usual = median(np.abs(others))
    graded = (low >= 0.0) | (high <= 0.0)
    back = graded & (step * (low + high) < 0.0) & (np.abs(step) > np.maximum(2 * least, usual))
    most = np.maximum(np.abs(low), np.abs(high))
    beyond = np.maximum(step - high, low - step)
    more = np.where(ends, _MARKS_MORE, _ENDS_MORE) * most
    far = graded & (most > least / 20) & (beyond > np.maximum(more, 2 * least))
    alone = ends & (most < least / 20) & (beyond > 2 * least)
    found: Flags = back | far | alone
    return found


def expected_beside(row: Array, at: int) -> float:
    """Return what the sizes beside one lead to: between them, or on from the nearest two."""
    if 0 < at < len(row) - 1:
        return float(row[at - 1] + row[at + 1]) / 2
    first, second = (1, 2) if at == 0 else (-2, -3)
    return float(2 * row[first] - row[second])


def find_jumps(row: Array, least: float) -> Iterator[tuple[int, float]]:
    """Yield each place of a row that is out of line, with what the sizes beside it lead to."""
    for at in np.flatnonzero(out_of_line(row[None], least)[0]).tolist():
        yield at, expected_beside(row, at)
