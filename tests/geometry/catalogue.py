"""Polylines that are easy to get wrong, and closed-form curves, for many tests."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
from hypothesis import strategies as st

from tests.examples import examples

Array = npt.NDArray[np.float64]

# Derandomised: the same examples on every run and every machine.
quick = examples(40)

FAR = np.array([1e6, -1e6])


def arc(radius: float, start_deg: float, end_deg: float, chords: int) -> Array:
    angles = np.radians(np.linspace(start_deg, end_deg, chords + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def chords_for(radius: float, sweep_deg: float, chord_error: float) -> int:
    """Chords that keep the chord height r (1 - cos(phi / 2)) below an error."""
    return int(np.ceil(np.radians(sweep_deg) / (2 * np.arccos(1 - chord_error / radius))))


def cubic(control: npt.ArrayLike, count: int) -> Array:
    p = np.asarray(control, dtype=float)
    t = np.linspace(0.0, 1.0, count + 1)[:, None]
    return (
        (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    )


def shift(points: npt.ArrayLike, x: float, y: float) -> Array:
    """The points moved by (x, y)."""
    moved: Array = np.asarray(points, dtype=float) + np.array([x, y])
    return moved


def frozen(points: npt.ArrayLike) -> Array:
    """Read-only, so that a function that writes to its argument fails."""
    out = np.array(points, dtype=float)
    out.setflags(write=False)
    return out


S_CURVE = cubic([(0, 0), (60, 50), (60, -50), (120, 0)], 80)

AWKWARD: dict[str, Array] = {
    "two points": frozen([(0, 0), (30, 40)]),
    "two points, upright": frozen([(5, -5), (5, 95)]),
    "two points, very short": frozen([(0, 0), (1e-3, 0)]),
    "collinear run": frozen([(0, 0), (10, 0), (20, 0), (20.5, 0), (70, 0)]),
    "collinear run, tilted": frozen(np.outer([0, 1, 3, 7, 7.25, 20], [3, 4])),
    "right angle": frozen([(0, 0), (50, 0), (50, 50)]),
    "narrow hairpin": frozen([(0, 0), (100, 0), (100, 0.5), (0, 0.5)]),
    "sharp spike": frozen([(0, 0), (50, 0), (20, 1), (90, 1)]),
    "zigzag": frozen([(i * 5.0, 3.0 * (i % 2)) for i in range(12)]),
    "crosses itself": frozen([(0, 0), (60, 0), (60, 40), (30, 40), (30, -40)]),
    "closed loop": frozen(arc(40, 0, 360, 60)),
    "tiny chord": frozen([(0, 0), (40, 0), (40.00001, 0.000002), (80, 3)]),
    "tiny last chord": frozen([(0, 0), (40, 0), (80, 3), (80.00002, 3.000003)]),
    "uneven chords": frozen(cubic([(0, 0), (0, 40), (30, 90), (90, 90)], 200)[::13]),
    "coarse arc": frozen(arc(60, 0, 90, 4)),
    "fine arc": frozen(arc(60, 0, 90, 300)),
    "s-curve": frozen(S_CURVE),
    "rounded to a micron": frozen(np.round(S_CURVE, 3)),
    "far from the origin": frozen(S_CURVE + FAR),
    "negative coordinates": frozen(S_CURVE - 500.0),
    "far, two points": frozen([FAR, shift(FAR, 30, 40)]),
}

_coordinate = st.floats(-500, 500, allow_nan=False).map(lambda v: round(v, 3))


@st.composite
def polylines(draw: st.DrawFn, least: int = 2, most: int = 12) -> Array:
    """Polylines without doubled points, coordinates of whole microns."""
    points = draw(st.lists(st.tuples(_coordinate, _coordinate), min_size=least, max_size=most))
    kept = [points[0]]
    for point in points[1:]:
        if np.hypot(point[0] - kept[-1][0], point[1] - kept[-1][1]) > 1e-3:
            kept.append(point)
    if len(kept) == 1:
        kept.append((kept[0][0] + 10.0, kept[0][1]))
    return frozen(kept)


def chopped(points: Array, step: float) -> Array:
    """The same line with chords no longer than `step`; old vertices stay."""
    parts = [
        np.linspace(a, b, max(int(np.ceil(np.hypot(*(b - a)) / step - 1e-9)), 1), endpoint=False)
        for a, b in pairwise(points)
    ]
    return np.vstack([*parts, points[-1:]])
