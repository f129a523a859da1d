"""The shape of a line, told by its direction along it, so that two lines can be compared."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.polyline import arc_lengths

__all__ = ["SAMPLES", "tangent_profile"]

SAMPLES = 32
"""Chords from which the shape of a line is told."""


def tangent_profile(points: Array) -> Array:
    """Return (SAMPLES,) direction along a line against its mean direction, degrees.

    The line is resampled by equal lengths first, so that two lines compare chord by chord.
    """
    arc = arc_lengths(points)
    at = np.linspace(0.0, arc[-1], SAMPLES + 1)
    x, y = np.interp(at, arc, points[:, 0]), np.interp(at, arc, points[:, 1])
    angles: Array = np.degrees(np.unwrap(np.arctan2(np.diff(y), np.diff(x))))
    return np.asarray(angles - angles.mean())
