"""How each role looks, what the legend says of it, and the one painter of drawings.

Every kind of line has its own dashes, every area its own pattern, so that nothing is told by
colour alone; blue and orange are told apart by people who see few colours.
"""

from __future__ import annotations

from collections.abc import Mapping

from propagate.report.canvas import Canvas, Stroke
from propagate.report.scene.items import Area, Dot, Item, Line, Role, Scene, Tone
from propagate.report.style import ADDED, BLUE, INK, NEST, ORANGE, PALE, PAPER, TRIMMED
from propagate.values import dataclass

__all__ = ["LAYERS", "LOOKS", "Look", "TONES", "paint_scene", "stroke_of"]


@dataclass(frozen=True)
class Look:
    """How a role is painted, and its words in a legend; "" where it needs none.

    Attributes
    ----------
    stroke : Stroke
        Of lines and circles, at the width of a picture at true scale.
    fill : str
        Of areas; a colour, or one of the two patterns.
    """

    stroke: Stroke
    legend: str = ""
    fill: str = INK


LOOKS: Mapping[Role, Look] = {
    Role.FACE: Look(Stroke(INK, 0.35), fill=PAPER),
    Role.TAPE_ON: Look(Stroke(PALE, 0.2), "paper to tape on", ADDED),
    Role.TRIM: Look(Stroke(PALE, 0.2), "paper to trim", TRIMMED),
    Role.LEVEL: Look(Stroke("#7d7d7d", 0.3, (1.0, 2.0)), "level"),
    Role.CUT_BEFORE: Look(Stroke(ORANGE, 0.3, (1.0, 1.5)), "cut line before"),
    Role.CUT: Look(Stroke(INK, 0.35), "cut line"),
    Role.BEFORE: Look(Stroke(ORANGE, 0.5, (3.0, 1.5)), "seam line before"),
    Role.BEYOND: Look(Stroke(PALE, 0.4, (0.6, 1.2)), "outline beyond the opening"),
    Role.BREAK: Look(Stroke(INK, 0.3), "the piece goes on, not drawn"),
    Role.INNER: Look(Stroke(INK, 0.3, (6.0, 1.5, 1.0, 1.5)), "internal line"),
    Role.DART: Look(Stroke(INK, 0.45, (2.0, 1.2)), "dart"),
    Role.FOLD: Look(Stroke(INK, 0.4), "on the fold"),
    Role.GRAIN: Look(Stroke(INK, 0.4), "grain"),
    Role.SEAM: Look(Stroke(INK, 0.8), "seam line"),
    Role.DRILL: Look(Stroke(INK, 0.4), "drill mark"),
    Role.LANDMARK: Look(Stroke(INK, 0.4), "landmark"),
    Role.NOTCH: Look(Stroke(INK, 0.7), "notch"),
    Role.OFFSET: Look(Stroke(BLUE, 0.35), "measured square to the old line"),
    Role.DIMENSION: Look(Stroke(INK, 0.35), "measure"),
    Role.LEADER: Look(Stroke(PALE, 0.2)),
    Role.LABEL: Look(Stroke(INK, 0.2)),
}

LAYERS = (*(role.value for role in Role), "sheet")
"""Of a canvas, from the lowest up: one for each role, and what is written around a drawing."""

TONES: Mapping[Tone, str] = {"ink": INK, "pale": PALE, "longer": BLUE, "shorter": ORANGE}

_NEST_WIDTH = 0.5
"""Of seam lines that lie close beside each other, mm; still wider than cut lines."""
_SIZED = frozenset({Role.SEAM, Role.CUT, Role.INNER, Role.DART})
"""Roles that tell by their dashes which size of a nest they belong to."""


def stroke_of(role: Role, series: int | None = None, thin: float = 1.0) -> Stroke:
    """Return the line of a role; `series` gives the dashes of a size, `thin` scales it all."""
    look = LOOKS[role].stroke
    width = look.width
    if series is not None and role in _SIZED:
        look, width = NEST[series % len(NEST)], min(width, _NEST_WIDTH)
    return Stroke(look.colour, width * thin, tuple(d * thin for d in look.dash))


def paint_scene(scene: Scene, canvas: Canvas, *, thin: float = 1.0, layer: str = "") -> None:
    """Paint every item in the layer of its role, or all of them in one layer.

    Parameters
    ----------
    scene : Scene
        In mm of the canvas.
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
