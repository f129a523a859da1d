"""Paint a drawing on a canvas: a picture's or paper's; both take the same calls."""

from __future__ import annotations

from propagate.report.canvas import Canvas
from propagate.report.scene.items import Area, Dot, Item, Line, Scene
from propagate.report.scene.looks import LOOKS, TONES, stroke_of

__all__ = ["paint"]


def paint(scene: Scene, canvas: Canvas, *, thin: float = 1.0, layer: str = "") -> None:
    """Paint every item in the layer of its role, or all of them in one layer.

    Parameters
    ----------
    scene : Scene
        In mm of the canvas.
    canvas : Canvas
    thin : float
        Widths and dashes of lines against those of a picture at true scale.
    layer : str
        The one layer of the canvas that all of it goes to.
    """
    for item in scene.items:
        _paint_item(item, canvas, thin, layer)


def _paint_item(item: Item, canvas: Canvas, thin: float, layer: str) -> None:
    put = layer or item.role.value
    if isinstance(item, Line):
        stroke = stroke_of(item.role, item.series, thin)
        # What a picture keeps beside a line for programs that read it.
        facts = {"name": item.name, **item.facts} if item.name else item.facts
        told = {f"data-{key.replace('_', '-')}": value for key, value in facts.items()}
        told = {} if layer else {"class": item.role.value, **told}
        canvas.line(put, item.points, stroke, closed=item.closed, attributes=told)
    elif isinstance(item, Area):
        told = {} if layer else {"class": put}
        canvas.shape(put, item.rings, LOOKS[item.role].fill, attributes=told)
    elif isinstance(item, Dot):
        stroke, fill = stroke_of(item.role, None, thin), "#ffffff" if item.filled else ""
        canvas.circle(put, item.centre, item.radius, stroke, fill)
    else:
        canvas.text(
            put,
            item.at,
            item.text,
            item.size,
            angle=item.angle,
            anchor=item.anchor,
            colour=TONES[item.tone],
            bold=item.bold,
            halo=put != "sheet",  # around a drawing texts lie on nothing
        )
