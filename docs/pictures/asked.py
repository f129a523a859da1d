"""Pictures of questions: are these two sewn together, and what does blending go by."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from demo import trousers

import propagate
from propagate.report.asking_picture import draw_blending, drawn_question, write_picture
from propagate.suggesting import suggest
from propagate.suggesting.blending import find_blendings

__all__ = ["asked", "asked_last", "asked_pocket"]


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


def asked_last(folder: Path) -> None:
    """Draw what is asked of the trousers last, as if nothing were known but their seams."""
    joined = replace(trousers(), relations=replace(trousers().relations, blend=None))
    text = write_picture(
        draw_blending(joined, find_blendings(joined)[0]),
        "What is asked last: what blending goes by",
        "Pocket facing, front and back side by side; side, waist and centre are marked on each, "
        "with whole lines on the front, which leads, and broken ones on the back, and the levels "
        "of hip, crotch and knee go across both.",
    )
    (folder / "asked-last.svg").write_text(text, encoding="utf-8", newline="\n")


def asked_pocket(folder: Path) -> None:
    """Draw the question about the pocket in the side seam of the skirt."""
    skirt = propagate.load(propagate.demo_path("lined_skirt"))
    pocket = next(one for one in suggest(skirt).proposals if one.kind == "pocket")
    text = write_picture(
        drawn_question(skirt, pocket),
        "What is asked: a pocket in the side seam",
        "Front and back of a skirt, lines A and B along the side between two notches, and two "
        "pocket bags, lines C and D along their straight edges. Each begins at a filled dot "
        "above and ends at a ring below.",
    )
    (folder / "asked-pocket.svg").write_text(text, encoding="utf-8", newline="\n")
