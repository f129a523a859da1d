"""How the movement of the nodes of a line spreads over it.

A cubic spline through the nodes, linear in their movements: natural at an end that moves,
clamped at one that is held.  Between a moving end and a held one that is
``(1 - x)^2 (1 + x / 2)``, the fade that makes no S on a straight line; between two moving
ends it is the straight interpolation.
"""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array

__all__ = ["spline_weights"]


def spline_weights(at: Array, nodes: Array, clamped: tuple[bool, bool]) -> Array:
    """Return values at places for unit movements of the nodes of a cubic spline.

    Parameters
    ----------
    at : (m,) array
        Places; those outside the nodes take the nearest node's movement.
    nodes : (k,) array, ascending, k >= 2
    clamped : (bool, bool)
        Whether the slope at each end is zero; else the curvature is.

    Returns
    -------
    (m, k) array

    Examples
    --------
    >>> spline_weights(np.array([5.0]), np.array([0.0, 10.0]), (False, False)).tolist()
    [[0.5, 0.5]]
    """
    second = _second_derivatives(nodes, clamped)
    inside = np.clip(at, nodes[0], nodes[-1])
    cell = np.clip(np.searchsorted(nodes, inside, side="right") - 1, 0, len(nodes) - 2)
    width = nodes[cell + 1] - nodes[cell]
    right = (inside - nodes[cell]) / width
    left = 1.0 - right
    rows = np.arange(len(at))
    weights = np.zeros((len(at), len(nodes)))
    weights[rows, cell] += left
    weights[rows, cell + 1] += right
    pull = (width**2 / 6.0)[:, None]
    weights += pull * ((left**3 - left)[:, None] * second[cell])
    weights += pull * ((right**3 - right)[:, None] * second[cell + 1])
    return weights


def _second_derivatives(nodes: Array, clamped: tuple[bool, bool]) -> Array:
    """Return (k, k) second derivative at each node by the movement of each."""
    count = len(nodes)
    width = np.diff(nodes)
    system, right = np.zeros((count, count)), np.zeros((count, count))
    for i in range(1, count - 1):
        system[i, i - 1 : i + 2] = width[i - 1] / 6, (width[i - 1] + width[i]) / 3, width[i] / 6
        right[i, i - 1 : i + 2] = (1 / width[i - 1], -1 / width[i - 1] - 1 / width[i], 1 / width[i])
    for row, beside, gap, is_clamped in (
        (0, 1, width[0], clamped[0]),
        (count - 1, count - 2, width[-1], clamped[1]),
    ):
        system[row, row] = 1.0
        if is_clamped:
            system[row, row], system[row, beside] = gap / 3, gap / 6
            right[row, row], right[row, beside] = -1 / gap, 1 / gap
    return np.asarray(np.linalg.solve(system, right))
