"""The edits of darts: the top of a skirt's back before and after each of them."""

from __future__ import annotations

from pathlib import Path

from drawing import Picture
from panels import Panel, draw_panels

__all__ = ["dart_edits"]

DART = "dart=skirt_back.back_dart"


def _panel(does: str, title: str, words: str) -> Panel:
    return Panel("scoop_skirt", "skirt_back", (does,), title, words, 0.2, (0.0, 245.0))


PANELS = (
    _panel(
        f"swing-dart {DART} into=flank at=450mm",
        "swing-dart",
        "the whole of it,\ninto the side",
    ),
    _panel(
        f"swing-dart {DART} into=cb at=160mm share=50%",
        "swing-dart, a share",
        "half of it, into\nthe centre back",
    ),
    _panel(
        f"divide-dart {DART} apart=56mm",
        "divide-dart",
        "two of half the width,\n56 mm apart",
    ),
    _panel(
        f"move-dart {DART} by=26mm towards=start",
        "move-dart",
        "legs and tip together,\n26 mm along the top",
    ),
    _panel(
        f"widen-dart {DART} by=16mm",
        "widen-dart",
        "16 mm wider, and let out\nas much at the side",
    ),
    _panel(
        f"narrow-dart {DART} by=12mm",
        "narrow-dart",
        "12 mm narrower, and taken in\nas much at the side",
    ),
)


def dart_edits(folder: Path) -> None:
    """Draw the edits in two rows."""
    picture = Picture(
        "Edits of darts",
        "The top of a skirt's back six times: its dart swung into the side, swung in part into "
        "the centre back, divided into two, moved along the top, made wider with the side let "
        "out, made narrower with the side taken in. The old outline and the old dart are dashed, "
        "what is added is hatched, what goes is dotted.",
    )
    draw_panels(picture, PANELS, wide=74.0, high=(80.0, 80.0), columns=3)
    picture.save(folder, "dart-edits")
