"""Every tolerance of the project by its meaning, in millimetres or degrees.

The engine works to the first group.  The second group is what a person accepts
when walking a pattern; it is the default of the *check* and never of the engine.
"""

from __future__ import annotations

from typing import Final

FARTHEST_MM: Final = 1e6
"""A kilometre; beyond it no digits are left for a thousandth of a millimetre."""

# What the engine promises.
SEAM_LENGTH_MM: Final = 0.05
"""Two runs that are sewn together agree within this, plus declared ease."""
OPENING_LENGTH_MM: Final = 0.01
"""An opening's length changes by less than this."""
ON_LINE_MM: Final = 0.01
"""A point that was put on a line lies within this of it."""
GIRTH_MM: Final = 0.1
"""A girth equals that of the size that gives it within this."""
CORNER_SUM_DEG: Final = 1.0
"""Two corner angles add up across a seam as in the source within this."""
TANGENT_DEG: Final = 0.5
"""Two curves that join smoothly differ in direction by less than this."""
CURVATURE_RATIO: Final = 1.6
"""Largest curvature of a new curve against its parents' and the plain arc's."""
STICKS_OUT_MM2: Final = 1.0
"""Area by which a pocket layer may stick out of the silhouette."""

# What people accept (common practice, no source): 1/16 in and 1/8 in, rounded.
WALK_MM: Final = 1.5
OPENING_DRIFT_MM: Final = 3.0
CORNER_WALK_DEG: Final = 3.0
DERIVED_MM: Final = 0.5
"""How far a derived piece may be drawn off its definition (half a pencil line)."""

BUTTON_MM: Final = 1.0
"""How far a button may lie off its place: it is sewn on under its hole by eye."""

OPENING_ROOM_MM: Final = 15.0
"""How near a welt opening may come to a seam or a dart before it is told: the little triangles at
its ends and the turned allowance of its welts (about 10 each) have to lie flat beside it."""

# What a review takes for a mistake (common practice, no source).
OUT_OF_LINE_MM: Final = 2.0
"""A measure of one size that is off its line by less is drawing precision."""
OUT_OF_LINE_SHARE: Final = 0.25
"""Share of a grade step by which a size may be off its line."""
OUT_OF_LINE_EASE_MM: Final = 8.0
"""The same of ease over the body, whose chart is often rounded to whole centimetres."""
EASE_RUNS_AWAY_MM: Final = 80.0
"""Difference of ease between the smallest and the largest size that may be meant."""
EASE_RUNS_AWAY_SHARE: Final = 0.5
"""Share of what the body grows by, by which a garment may grow more or less."""
OFF_GRAIN_DEG: Final = 6.0
"""Turn of one size against the others, seen from the grain, above which it is told."""
DART_LEGS_MM: Final = 3.0
"""Difference of a dart's legs (1/8 in, rounded) above which they do not sew together."""
DART_LEGS_LOOK_MM: Final = 1.5
"""Difference of a dart's legs (1/16 in, rounded) that deserves a look."""
WIDEST_TOLERANCE_MM: Final = 6.0
"""Widest tolerance (1/4 in, rounded) to which a seam is walked; a wider one hides mistakes."""
EASED_SHARE: Final = 0.12
"""Share of a seam that cloth eases in without gathers; wool at a sleeve cap takes this."""
GATHERED_SHARE: Final = 0.3
"""Share of a seam from which the longer side is gathered or pleated on purpose."""
WIDEST_ALLOWANCE_MM: Final = 50.0
"""Widest usual allowance of an edge that is sewn; let-out seams are 25 to 40."""
WIDEST_HEM_MM: Final = 100.0
"""Widest usual hem."""
SHORTEST_BODY_MM: Final = 40.0
"""A body measurement of a chart that is shorter is in another unit."""
UNIT_RATIO: Final = 6.0
"""A garment this many times the body, or the reverse, is measured in another unit."""

# How the engine gets there.
DRAWN_MM: Final = 0.05
"""Precision of drawings: a mark this close to a hold lies on it."""
SAME_POINT_MM: Final = 1e-6
"""Points closer than this are one point."""
CHORD_ERROR_MM: Final = 0.01
"""Largest distance of a polyline made here from the curve it stands for."""
STEP_MM: Final = 2.0
"""Longest chord of a curve made here; 0.01 mm of chord error down to a radius of 50 mm."""
TANGENT_WINDOW_MM: Final = 15.0
"""Stretch at the end of an edge from which its end tangent is estimated."""
RESTS_MM: Final = 1e-3
"""What lies this close to its place is there already and keeps every digit."""
DECIMALS: Final = 6
"""Decimals kept of a coordinate made here (a nanometre)."""
SWING_WARN_DEG: Final = 8.0
"""Swing of an opening above which the user is warned."""
HAND_ROOM_RATIO: Final = 0.05
"""Change of a bag's area or depth above which the user is warned."""
GRAZE_DEG: Final = 20.0
"""A free edge that meets the outline at less than this is faded, not extended."""
RUN_ON_MM: Final = 25.0
"""A free edge that would have to be extended by more than this is faded."""
FADE_MM: Final = 60.0
"""Stretch over which the end of a free edge is faded to its new place."""
SAME_PLACE_MM: Final = 0.03
"""A text or point of a drawing belongs to the vertex within this (0.02 mm or 0.001 in: ours)."""
