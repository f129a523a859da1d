"""A step of the work sheet: the front of the first demo set's main job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from demo import result
from drawing import Picture

from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import PAPERS
from propagate.report.units import unit_of
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.flow import Flow
from propagate.report.worksheet.pages import step_pages
from propagate.report.worksheet.words import Source

__all__ = ["work_page"]

PIECE = "front"


def work_page(folder: Path) -> None:
    """Draw the step of the front as the PDF has it."""
    sheet, source = work_sheet(result()), Source(result(), unit_of("mm"))
    flow = Flow(FontBook(), PAPERS["a4"])
    own = next(step for step in sheet.steps if step.pieces == (PIECE,))
    step_pages(flow, source, replace(sheet, steps=(sheet.steps[0], own)))
    picture = Picture(
        "A step of the work sheet",
        "The part of the front that changes, large: the old outline, the new one, what is cut "
        "away, and every row of the tables as a line from the old outline to the new one with "
        "its two figures; letters at corners and notches; the tables below.",
    )
    parts = flow.pages[0].parts
    layers = list(dict.fromkeys(part.layer for part in parts))
    for part in sorted(parts, key=lambda part: layers.index(part.layer)):
        item = part.item
        if item.text is not None:
            line = item.text
            picture.canvas.text(
                "label",
                (round(line.x, 2), round(line.y, 2)),
                line.text,
                line.size,
                angle=line.angle,
                anchor=line.anchor,
                bold=line.bold,
                halo=True,
            )
        elif item.fill:
            picture.area(item.paths, item.fill, layer=part.layer)
        elif item.stroke is not None:
            for path in item.paths:
                picture.line(path, item.stroke, layer=part.layer, closed=item.closed)
    picture.save(folder, "work-sheet")
