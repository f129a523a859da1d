"""Draw the pictures of the documentation: ``python docs/pictures/make.py [FOLDER [NAME ...]]``.

Without a folder the pictures beside this file are drawn anew.  They show the demo sets
as the program handles them now, so run this after a change of the engine.  With names of
functions, such as ``side_edits``, those alone are drawn.
"""

from __future__ import annotations

import sys
from pathlib import Path

from allowances import allowance_edits, ease_edits
from asked import asked, asked_last, asked_pocket
from band_zones import band
from before_after import before_after
from between import between
from bought import bought_blend, bought_question, bought_sheet
from corner import corners
from cut_lines import cut_lines
from darts import dart_edits
from derived import derived
from edits import drawn_edges, height_edits, length_edits, mark_edits, side_edits
from first_look import first_look
from fullness import fullness
from inside import inner_lines
from jeans import jeans
from openings import open_edits, welt_opening
from pocket import opening, stack
from relation_graph import graph
from shirt import shirt_edits
from spread import spread_edits
from taken_back import taken_back
from taping import edit, taping
from trued import trued
from words import words
from work_sheet import work_page

PICTURES = (
    first_look,
    before_after,
    words,
    cut_lines,
    taken_back,
    taping,
    edit,
    corners,
    opening,
    stack,
    band,
    dart_edits,
    jeans,
    shirt_edits,
    derived,
    side_edits,
    height_edits,
    drawn_edges,
    mark_edits,
    length_edits,
    spread_edits,
    open_edits,
    welt_opening,
    allowance_edits,
    ease_edits,
    inner_lines,
    between,
    fullness,
    trued,
    graph,
    work_page,
    asked,
    asked_last,
    asked_pocket,
    bought_sheet,
    bought_question,
    bought_blend,
)


def main(folder: Path, *names: str) -> None:
    """Draw every picture into a folder, or those of some functions."""
    known = {draw.__name__: draw for draw in PICTURES}
    for name in names or known:
        known[name](folder)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent, *sys.argv[2:])
