"""The picture that a folder of pictures and the report page begin with."""

from __future__ import annotations

from pathlib import Path

from demo import result

from propagate.report.draw import lead_picture
from propagate.report.units import MILLIMETRES

__all__ = ["first_look"]


def first_look(folder: Path) -> None:
    """Draw every piece that the main job changed."""
    text = lead_picture(result(), MILLIMETRES)
    assert text is not None
    (folder / "first-look.svg").write_text(text, encoding="utf-8")
