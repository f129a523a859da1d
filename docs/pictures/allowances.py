"""What leaves the seam line alone: an allowance, the finish of a corner; and the ease of a seam."""

from __future__ import annotations

from pathlib import Path

from drawing import Picture
from panels import Panel, draw_panels

__all__ = ["allowance_edits", "ease_edits"]

PANELS = (
    Panel(
        "puddle_pinafore",
        "front",
        ("allow edge=front.side to=35mm",),
        "allow",
        "the side with an allowance\nof 35 mm",
        0.088,
        cut=True,
    ),
    Panel(
        "concert_dress",
        "side_front",
        ("finish-corner corner=side_front.shoulder/princess finish=square",),
        "finish-corner",
        "square to the shoulder, where the\nallowances ran into a point",
        0.95,
        (-16.0, 40.0),
        (55.0, 110.0),
        cut=True,
    ),
)
EASES = (
    Panel(
        "ferry_shirt",
        "sleeve",
        ("ease seam=armhole to=40mm",),
        "more ease",
        "the cap becomes longer,\nthe armhole stays",
        0.14,
        (-10.0, 380.0),
    ),
    Panel(
        "ferry_shirt",
        "sleeve",
        ("ease seam=armhole to=0mm",),
        "no ease",
        "the cap becomes shorter,\nthe armhole stays",
        0.14,
        (-10.0, 380.0),
    ),
)


def allowance_edits(folder: Path) -> None:
    """Draw an allowance and a corner."""
    picture = Picture(
        "Allowance and corner",
        "The front of a pinafore with a wider allowance at the side, and the cut line of a "
        "dress's side front with a square corner at the shoulder. The old cut lines are dashed.",
    )
    draw_panels(picture, PANELS, wide=84.0, high=(82.0,), columns=2)
    picture.save(folder, "allowance-edits")


def ease_edits(folder: Path) -> None:
    """Draw more ease and less."""
    picture = Picture(
        "Ease",
        "A sleeve with more ease in its cap, which becomes longer and higher, and one with none, "
        "whose cap becomes lower. The old lines are dashed, what is added is hatched, what goes "
        "is dotted.",
    )
    draw_panels(picture, EASES, wide=84.0, high=(82.0,), columns=2)
    picture.save(folder, "ease-edits")
