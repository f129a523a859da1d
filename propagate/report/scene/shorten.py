"""Shorten a long piece: stretches of its height where nothing changed are left out.

As on drawings of other trades, a break line, drawn wavy, stands where a part is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.scene.items import Role, Scene, make_line

__all__ = ["Stretch", "changed_stretches", "height_of", "shortened_scene"]

Array = npt.NDArray[np.float64]
Stretch = tuple[float, float]
"""Lowest and highest y of a part that is drawn, mm."""

_AROUND = 0.2
"""What is shown above and below a change, of the width of the piece, ..."""
_LEAST_MM = 40.0
"""... and at least so much."""
_WORTH = 0.2
"""Leaving out less than this of the height at an end is not worth a break, ..."""
_APART_MM = 150.0
"""... nor less than this between two changes."""
_GAP_MM = 4.0
"""Between two parts that are drawn, on the page."""
_WAVE_MM = (0.7, 8.0)
"""Height and length of a wave, on the page."""
_SEEN_MM = 0.6
"""A change narrower than this, where others are wider, does not decide what is shown."""
_FAR_MM = 500.0
"""No mark of a piece lies further outside of it."""


def changed_stretches(changed: shapely.Geometry, low: Array, high: Array) -> tuple[Stretch, ...]:
    """Return the parts of the height of a piece that a drawing of its changed areas shows.

    Parameters
    ----------
    changed : areas, mm
        Taped on or trimmed, with the grain of the piece upwards.
    low, high : (2,) arrays
        Corners of the whole piece, mm.
    """
    wide = changed.buffer(-_SEEN_MM / 2).buffer(_SEEN_MM)
    parts = shapely.get_parts(changed if wide.is_empty else wide)
    spans = [(part.bounds[1], part.bounds[3]) for part in parts if not part.is_empty]
    return _stretches_shown(spans, float(low[1]), float(high[1]), float(high[0] - low[0]))


def _stretches_shown(
    changed: Sequence[Stretch], low: float, high: float, width: float
) -> tuple[Stretch, ...]:
    """Return the parts of the height of a piece that a drawing of its changes shows, lowest first.

    Parameters
    ----------
    changed : sequence of (low, high)
        Where it changed; nothing shows all of it.
    low, high : float
        Of the whole piece, mm.
    width : float
        Of the whole piece, mm.
    """
    around = max(_LEAST_MM, _AROUND * width)
    least = _WORTH * (high - low)
    found: list[Stretch] = []
    for bottom, top in sorted((a - around, b + around) for a, b in changed):
        if found and bottom - found[-1][1] < max(least, _APART_MM):
            found[-1] = (found[-1][0], max(found[-1][1], top))
        else:
            found.append((bottom, top))
    if not found:
        return ((low, high),)
    first, last = found[0][0], found[-1][1]
    found[0] = (low if first - low < least else first, found[0][1])
    found[-1] = (found[-1][0], high if high - last < least else last)
    return tuple(found)


def height_of(shown: Sequence[Stretch], scale: float) -> float:
    """Return height of a shortened drawing on the page, mm; `scale` 4.0 stands for 1:4."""
    return sum(b - a for a, b in shown) / scale + _GAP_MM * (len(shown) - 1)


def shortened_scene(scene: Scene, shown: Sequence[Stretch], scale: float) -> Scene:
    """Return the parts of a piece that are shown, moved together, in mm of the piece.

    Parameters
    ----------
    scene : Scene
        The piece with its grain upwards.
    shown : sequence of (low, high)
        Lowest first.
    scale : float
        That it will be drawn at: 4.0 stands for 1:4.
    """
    low, high = Scene(scene.of(Role.FACE, Role.BEFORE)).bounds()
    if len(shown) == 1 and shown[0][0] <= low[1] and high[1] <= shown[0][1]:
        return scene
    face = scene.area_of(Role.FACE)
    left_out = [0.0, *(b[0] - a[1] - _GAP_MM * scale for a, b in pairwise(shown))]
    result = Scene()
    for (bottom, top), down in zip(shown, np.cumsum(left_out), strict=True):
        lower = _wavy_line(low[0], high[0], bottom if bottom > low[1] else low[1] - _FAR_MM, scale)
        upper = _wavy_line(low[0], high[0], top if top < high[1] else high[1] + _FAR_MM, scale)
        part = scene.clipped(shapely.Polygon([*lower, *upper[::-1]]))
        breaks = [
            make_line(Role.BREAK, crossing.coords)
            for wave in (lower, upper)
            for crossing in shapely.get_parts(shapely.LineString(wave).intersection(face))
            if crossing.geom_type == "LineString" and crossing.length > 0.0
        ]
        shift = np.array([0.0, -float(down)])
        result += (part + Scene(tuple(breaks))).placed(1.0, shift.__add__)
    return result


def _wavy_line(left: float, right: float, y: float, scale: float) -> Array:
    """Return A wavy line across a piece, and so far beyond it that no mark at its sides is lost."""
    height, size = (mm * scale for mm in _WAVE_MM)
    x = np.arange(left - _FAR_MM, right + _FAR_MM + size, size / 16.0)
    return np.column_stack([x, y + height * np.sin(x * (2.0 * np.pi / size))])
