"""The first picture of a result: all pieces that changed, small, and what it came to."""

from __future__ import annotations

from propagate.engine.run import Result
from propagate.report.canvas import Canvas
from propagate.report.draw import MARGIN_MM
from propagate.report.lead_sentence import lead_sentence
from propagate.report.scene.lead import compose_lead
from propagate.report.scene.looks import LAYERS
from propagate.report.scene.paint import paint
from propagate.report.style import definitions
from propagate.report.units import Unit

__all__ = ["lead_picture"]

_WIDTH_MM, _HEIGHT_MM = 200.0, 190.0
_LETTER = 3.0
_THIN = 0.6
_PITCH = 1.6


def lead_picture(result: Result, unit: Unit, sizes: int = 1) -> str | None:
    """Draw all pieces that changed as one SVG text for a sheet of A4; None where none did.

    `sizes` is how many sizes of the set changed; that of the result is drawn.
    """
    lead = compose_lead(
        result, unit, width=_WIDTH_MM, height=_HEIGHT_MM, letter=_LETTER, sizes=sizes
    )
    if lead is None:
        return None
    canvas = Canvas()
    paint(lead.scene, canvas, thin=_THIN)
    y = lead.height + 2.0 * _LETTER
    told = lead_sentence(result, unit)
    for said in reversed(canvas.wrapped(told, _LETTER, _WIDTH_MM)):
        canvas.text("sheet", (0.0, y), said, _LETTER, anchor="start")
        y += 1.5 * _LETTER
    name = result.pattern.name
    canvas.text("sheet", (0.0, y + 0.5 * _LETTER), name, 1.6 * _LETTER, anchor="start", bold=True)
    return canvas.svg(
        title=f"{name}: what changed",
        text=f"The pieces that changed, before and now. {told}",
        definitions=definitions(_PITCH),
        order=LAYERS,
        margin=MARGIN_MM / 2,
    )
