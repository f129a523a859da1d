"""Slash and spread: a skirt's back opened at one edge, at both, and gathered on."""

from __future__ import annotations

from pathlib import Path

from drawing import Picture
from panels import Panel, draw_panels

__all__ = ["spread_edits"]


def _panel(does: str, title: str, words: str, slashes: tuple[tuple[float, float], ...]) -> Panel:
    return Panel("scoop_skirt", "skirt_back", (does,), title, words, 0.1, slashes=slashes)


BACK = "piece=skirt_back from=foot to=top"
PANELS = (
    _panel(
        f"spread {BACK} by=110mm lines=3 at=130mm,260mm to_at=20mm,70mm",
        "spread",
        "opened at the foot along three\nlines; the top is a hinge",
        ((130.0, 70.0), (195.0, 45.0), (260.0, 20.0)),
    ),
    _panel(
        f"widen {BACK} by=50mm at=150mm to_at=60mm gather=true",
        "widen",
        "opened all along, as much\nat the top as at the foot",
        ((150.0, 60.0),),
    ),
    _panel(
        "spread piece=skirt_back from=top to=foot by=70mm at=165mm to_at=110mm gather=true",
        "spread, gathered",
        "opened at the top, which is\ngathered on to the same belt",
        ((165.0, 110.0),),
    ),
)


def spread_edits(folder: Path) -> None:
    """Draw the three beside each other."""
    picture = Picture(
        "Spread and widen",
        "A skirt's back three times: spread at the foot with the top as a hinge, widened as much "
        "at the top as at the foot, spread at the top that is gathered on to the same belt. The "
        "old outlines are dashed, what is added is hatched, dotted lines are "
        "those along which it was cut.",
    )
    draw_panels(picture, PANELS, wide=74.0, high=(88.0,), columns=3)
    picture.save(folder, "spread-edits")
