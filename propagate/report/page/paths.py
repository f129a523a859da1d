"""Lines as compact SVG path data: hundredths of a millimetre, relative, y down.

Lengths are never taken from these paths: the page is given them as they were measured.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["path_data", "place", "rings_data", "short"]

Array = npt.NDArray[np.float64]


def short(value: float, decimals: int = 2) -> str:
    """A number with no more digits than it needs."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def place(point: npt.ArrayLike) -> tuple[str, str]:
    """A point of the drawing, y down."""
    x, y = np.asarray(point, dtype=np.float64)
    return short(float(x)), short(-float(y))


def path_data(points: npt.ArrayLike, *, closed: bool = False, within: float = 0.01) -> str:
    """Write a polyline as path data.

    Parameters
    ----------
    points : (n, 2) array, mm, y up
    closed : bool
        Close the line back to its first point, which is not repeated in `points`.
    within : float
        Points that lie this near to the line through their neighbours are left out, mm.

    Examples
    --------
    >>> path_data([[0, 0], [10, 0], [10, 2.5]])
    'm0 0l10 0 0-2.5'
    """
    line = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if len(line) > 2:
        line = shapely.get_coordinates(shapely.simplify(shapely.LineString(line), within))
    cells = np.rint(line * [100.0, -100.0]).astype(np.int64)
    steps = np.diff(cells, axis=0)
    if len(steps) > 1:
        moved = steps.any(axis=1)
        steps = steps[moved] if moved.any() else steps[:1]
    start = _numbers(cells[0].tolist())
    return f"m{start}l{_numbers(steps.ravel().tolist())}" + ("z" if closed else "")


def rings_data(rings: Iterable[npt.ArrayLike], within: float = 0.01) -> str:
    """Write an area and its holes as path data, to be filled by the even-odd rule."""
    parts = (path_data(ring, closed=True, within=within) for ring in rings)
    return "".join(f"M{part[1:]}" for part in parts)


def _numbers(hundredths: list[int]) -> str:
    words: list[str] = []
    for value in hundredths:
        text = short(value / 100.0)
        words.append(text if not words or text.startswith("-") else f" {text}")
    return "".join(words)
