"""A page of the work sheet: the front of the first demo set's main job."""

from __future__ import annotations

from pathlib import Path

from demo import result
from drawing import Picture

from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import PAPERS
from propagate.report.units import unit_of
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.flow import Flow
from propagate.report.worksheet.piece_page import piece_page
from propagate.report.worksheet.words import Source

__all__ = ["work_page"]

PIECE = "front"


def work_page(folder: Path) -> None:
    """Draw the page of the front as the PDF has it."""
    sheet, source = work_sheet(result()), Source(result(), unit_of("mm"))
    flow = Flow(FontBook(), PAPERS["a4"])
    flow.pages.clear()
    piece_page(flow, source, next(work for work in sheet.pieces if work.piece == PIECE))
    picture = Picture(
        "A page of the work sheet",
        "The front in its old and its new outline, what is cut away, the widest measures and "
        "where they are, the new corners, and the distances of notches on the new lines.",
    )
    for layer, items in flow.pages[0].drawn.items():
        for item in items:
            if item.text is not None:
                line = item.text
                picture.text(
                    (line.x, line.y), line.text, anchor=line.anchor, size=line.size, bold=line.bold
                )
            elif item.fill is not None:
                picture.area(item.paths, item.fill, layer=layer)
            elif item.stroke is not None:
                for path in item.paths:
                    picture.line(path, item.stroke, layer=layer, closed=item.closed)
    picture.save(folder, "work-sheet")
