"""The picture of a question: are these two sewn together."""

from __future__ import annotations

from pathlib import Path

from demo import trousers

from propagate.report.asking_picture import drawn_question, write_picture
from propagate.suggesting import suggest

__all__ = ["asked"]


def asked(folder: Path) -> None:
    """Draw the first question about the trousers, as if nothing were known of them."""
    first = suggest(trousers()).proposals[0]
    text = write_picture(
        drawn_question(trousers(), first),
        "What is asked: the side seam",
        "Pocket facing, front and back side by side; line A along the side of the facing and of "
        "the front, broken line B along the side of the back. Both begin at the waist, at a "
        "filled dot, and end at the hem, at a ring.",
    )
    (folder / "asked.svg").write_text(text, encoding="utf-8", newline="\n")
