"""Points and colours of a PDF."""

from __future__ import annotations

__all__ = ["POINTS_PER_MM", "SMALLEST_MM", "colour_parts"]

POINTS_PER_MM = 72.0 / 25.4
"""A point is 1/72 inch."""
SMALLEST_MM = 6.0 / POINTS_PER_MM
"""No letter on paper is smaller than 6 points: what many print rules ask (common practice)."""


def colour_parts(colour: str) -> tuple[float, float, float]:
    """Return red, green and blue of ``#rrggbb``, from 0 to 1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue
