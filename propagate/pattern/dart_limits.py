"""What a dart looks like in a drawing (common practice, no source, where nothing else is said)."""

from __future__ import annotations

from typing import Final

__all__: list[str] = []

MOUTH_MM: Final = 80.0
"""A wider mouth is no dart's."""
SLASH_MM: Final = 4.0
"""A narrower one is a slash, for a placket or a gusset, or two strokes of one notch."""
LEG_MM: Final = 350.0
"""Longer legs are no dart's."""
SHORT_MM: Final = 20.0
"""Shorter legs are those of a notch that is cut, or of a pinked edge."""
LEGS_MM: Final = 1.5
"""The legs are sewn to each other: walked, they agree within the trade's own tolerance."""
DRAWN_LEGS_MM: Final = 1.0
"""Legs that are drawn as lines agree within this."""
MOUTH_SHARE: Final = 0.6
"""A mouth that takes more of its edge leaves no edge to be sewn."""
AT_CORNER_MM: Final = 1.0
"""A notch on the cut line is carried to the seam line square across, and a corner by its
two edges; they come to lie a little apart."""
OFF_AXIS: Final = 0.15
"""Share of the mouth by which a mark may lie beside the middle between two notches."""
