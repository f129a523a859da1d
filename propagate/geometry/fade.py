"""Displacements that fade smoothly to zero, so that what is held stays as it was."""

from __future__ import annotations

from functools import cache

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.polyline import arc_lengths
from propagate.tolerances import SAME_POINT_MM

__all__ = ["bend_start", "fade_end", "smoothstep"]


def smoothstep(u: Array) -> Array:
    """Evaluate the cubic 3u^2 - 2u^3 on 0..1: flat at both ends."""
    u = np.minimum(np.maximum(u, 0.0), 1.0)
    out: Array = u * u * (3.0 - 2.0 * u)
    return out


@cache
def _bend_table(ramp: float = 0.2, count: int = 4001) -> tuple[Array, Array]:
    """Tabulate the flattest S-shaped fade of a slope.

    The function h has h(0) = 0, h'(0) = 1, h(1) = h'(1) = 0 and a curvature that is
    -K on the first part and +K on the rest with a straight ramp of half-width `ramp`
    between: K = 2.53, where a cubic would need 4 and no such function can do with
    less than 2.41 (the two-arc solution, by hand).
    """
    turn = np.sqrt((1 - 2 * ramp**2 / 3) / 2)
    u = np.linspace(0.0, 1.0, count)
    second = np.clip((u - turn) / ramp, -1.0, 1.0)
    half = (second[1:] + second[:-1]) / 2 * np.diff(u)
    first = np.concatenate([[0.0], np.cumsum(half)])
    slope = 1.0 - first / first[-1]
    value = np.concatenate([[0.0], np.cumsum((slope[1:] + slope[:-1]) / 2 * np.diff(u))])
    value -= value[-1] * smoothstep(u)  # takes out the last rounding of the sums
    return u, value


def bend_start(points: Array, turn: float, step: float) -> Array:
    """Turn the start of a polyline and fade the turn out towards its end.

    Parameters
    ----------
    points : (n, 2) array, mm
        Start and end stay where they are, and so does the direction at the end.
    turn : float
        Angle in radians by which the direction at the start changes.
    step : float
        Longest chord of the result, mm.
    """
    dense = densify_smoothly(points, step)
    arc = arc_lengths(dense)
    u, value = _bend_table()
    offset = np.tan(turn) * arc[-1] * np.interp(arc / arc[-1], u, value)
    chord = np.gradient(dense, arc, axis=0)
    chord /= np.hypot(chord[:, 0], chord[:, 1])[:, None]
    normal = np.column_stack([-chord[:, 1], chord[:, 0]])
    moved: Array = dense + offset[:, None] * normal
    moved[0], moved[-1] = points[0], points[-1]
    return moved


def fade_end(points: Array, target: Array, over: float, step: float) -> Array:
    """Move the last point of a polyline to `target` and fade the move out.

    The displacement falls smoothly to zero over the last `over` mm; before that no
    digit changes.

    Parameters
    ----------
    points : (n, 2) array, mm
    target : (2,) array
    over, step : float, mm
    """
    arc = arc_lengths(points)
    start = max(arc[-1] - over, 0.0)
    # The tail begins at the last vertex that is held: a chord that ends where the fade
    # starts gets no new points.
    held = int(np.searchsorted(arc, start + SAME_POINT_MM, side="right")) - 1
    held = min(held, len(points) - 2)
    tail = densify_smoothly(points[held:], step)
    tail_arc = arc_lengths(tail) + arc[held]
    share = smoothstep((tail_arc - start) / max(arc[-1] - start, 1e-12))
    moved = tail + share[:, None] * (target - points[-1])
    moved[-1] = target
    return np.vstack([points[:held], moved])
