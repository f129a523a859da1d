"""Openings that are changed on purpose: the mouth of a slanted pocket, and a welt opening."""

from __future__ import annotations

from pathlib import Path

from drawing import Picture
from panels import Panel, draw_panels

__all__ = ["open_edits", "welt_opening"]


def _front(does: str, title: str, words: str) -> Panel:
    return Panel("slant_trouser", "front", (does,), title, words, 0.19, (0.0, 260.0))


PANELS = (
    _front(
        "open opening=front_pocket to=182mm",
        "open, longer",
        "165 mm to 182 mm; its end\non the waist stays",
    ),
    _front(
        "open opening=front_pocket along=20mm",
        "open, moved",
        "20 mm along the waist,\nas long as before",
    ),
    _front(
        "open opening=front_pocket turn=4",
        "open, turned",
        "by 4 degrees: it runs\nmore like the side",
    ),
)
WELT = ("open opening=welt_pocket to=165mm down=20mm",)
WELTS = (
    Panel(
        "slant_trouser",
        "back",
        WELT,
        "the opening",
        "130 mm to 165 mm long,\n20 mm further down",
        0.19,
        (0.0, 260.0),
    ),
    Panel("slant_trouser", "welt", WELT, "the welt", "as long as\nthe opening", 0.3),
    Panel(
        "slant_trouser",
        "welt_bag",
        WELT,
        "the bag",
        "spread along the opening;\nits corners keep their shape",
        0.3,
    ),
)


def open_edits(folder: Path) -> None:
    """Draw three ways to change the mouth of a pocket."""
    picture = Picture(
        "An opening that is changed",
        "The top of a trouser's front three times: the mouth of its slanted pocket made longer, "
        "moved along the waist, turned. The old line is dashed, what is added is hatched, what "
        "goes is dotted.",
    )
    draw_panels(picture, PANELS, wide=74.0, high=(80.0,), columns=3)
    picture.save(folder, "open-edits")


def welt_opening(folder: Path) -> None:
    """Draw a welt opening that is longer, and what is sewn to it."""
    picture = Picture(
        "A welt opening",
        "The back of a trouser with the line of its welt opening below the dart, made longer and "
        "moved down, and the welt and the pocket bag that follow it. The old lines are dashed, "
        "what is added is hatched.",
    )
    draw_panels(picture, WELTS, wide=74.0, high=(80.0,), columns=3)
    picture.save(folder, "welt-opening")
