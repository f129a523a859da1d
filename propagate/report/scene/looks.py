"""How each role looks, the legend of those that a drawing holds, and the one painter.

Every kind of line has its own dashes, every area its own pattern, so that nothing is told by
colour alone; blue and orange are told apart by people who see few colours.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely

from propagate.report.canvas import Canvas, text_width
from propagate.report.scene.items import (
    Area,
    Dot,
    Item,
    Line,
    Role,
    Scene,
    Tone,
    areas_of,
    arrow_head,
    make_line,
    make_text,
)
from propagate.report.scene.piece import drill_mark
from propagate.report.style import ADDED, BLUE, INK, NEST, ORANGE, PALE, PAPER, TRIMMED, Stroke
from propagate.values import dataclass

__all__ = [
    "Entry",
    "LAYERS",
    "LOOKS",
    "SAMPLE_MM",
    "legend_of",
    "legend_rows",
    "paint_scene",
    "stroke_of",
]
LAYERS = (*(role.value for role in Role), "sheet")
"""Of a canvas, from the lowest up: one for each role, and what is written around a drawing."""
_TONES: Mapping[Tone, str] = {"ink": INK, "pale": PALE, "longer": BLUE, "shorter": ORANGE}
_NEST_WIDTH = 0.5
"""Of seam lines that lie close beside each other, mm; still wider than cut lines."""
_SIZED = frozenset({Role.SEAM, Role.CUT, Role.INNER, Role.DART})
"""Roles that tell by their dashes which size of a nest they belong to."""
SAMPLE_MM = 9.0
"""Usual width of a sample where entries stand beside each other."""
_ROW = 1.7
"""From row to row, of the size of the words."""


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
            colour=_TONES[item.tone],
            bold=item.bold,
            halo=put != "sheet",  # around a drawing texts lie on nothing
        )


@dataclass(frozen=True, eq=False)
class Entry:
    """A line of a legend: a sample to be painted, from (0, 0) to the right, and its words."""

    role: Role
    sample: Scene
    words: str
    width: float


def legend_of(
    roles: Sequence[Role], width: float, height: float, words: Mapping[Role, str] | None = None
) -> tuple[Entry, ...]:
    """Name the kinds of line and area that a drawing holds, the seam line first.

    Parameters
    ----------
    roles : sequence of Role
        Those that the drawing holds, as `Scene.roles` tells them.
    width, height : float
        Of a sample, mm; it stands on y = 0 from x = 0 to the right.
    words : mapping of Role to str, optional
        Words for this drawing instead of the usual ones.
    """
    said = {role: (words or {}).get(role, LOOKS[role].legend) for role in roles}
    order = [Role.SEAM, Role.BEFORE, Role.CUT, *roles]
    return tuple(
        Entry(role, _draw_sample(role, width, height), said[role], width)
        for role in dict.fromkeys(order)
        if said.get(role)
    )


def legend_rows(
    entries: Sequence[Entry],
    width: float,
    letter: float,
    widths: Callable[[str, float], float] = text_width,
    *,
    aligned: bool = False,
) -> tuple[Scene, float]:
    """Lay entries beside each other, in rows as wide as there is room.

    Parameters
    ----------
    width : float
        Of a row, mm; where it is 0, every entry has a row of its own.
    letter : float
        Size of the words, mm.
    widths : callable
        ``widths(text, size)`` in mm.
    aligned : bool
        The entries stand below each other in columns; long words are for the caller to shorten.

    Returns
    -------
    scene : Scene
        The middle of its first row at y = 0.
    low : float
        Height of the middle of its last row, mm.
    """
    items: list[Item] = []
    beside = max((entry.width for entry in entries), default=0.0) + 0.6 * letter
    each = [beside + widths(entry.words, letter) for entry in entries]
    if aligned:
        each = [max(each)] * len(each)
    x = y = 0.0
    for entry, wide in zip(entries, each, strict=True):
        if x > 0.0 and x + wide > width:
            x, y = 0.0, y - _ROW * letter
        items += entry.sample.placed(1.0, np.array([x, y]).__add__).items
        items.append(make_text((x + beside, y), entry.words, letter, anchor="start"))
        x += wide + 2.0 * letter
    return Scene(tuple(items)), y


def _draw_sample(role: Role, width: float, height: float) -> Scene:
    """Return A sample of a role for a legend, from (0, 0) to the right, `height` around y = 0."""
    ends = [(0.0, 0.0), (width, 0.0)]
    half = height / 2
    if role in (Role.TAPE_ON, Role.TRIM):
        box = shapely.box(0.0, -half, width, half)
        frame = make_line(Role.LEADER, box.exterior.coords[:-1], closed=True)
        return Scene((*areas_of(role, box), frame))
    if role is Role.NOTCH:
        middle = width / 2
        return Scene(
            (
                make_line(Role.SEAM, [(0.0, -half), (width, -half)]),
                make_line(role, [(middle, -half), (middle, half)]),
            )
        )
    if role is Role.GRAIN:
        head = min(0.25 * width, 4.0)
        tips = [
            arrow_head(role, (x, 0.0), (way, 0.0), head) for x, way in ((0.0, -1.0), (width, 1.0))
        ]
        return Scene((make_line(role, ends), *tips))
    if role is Role.BREAK:
        x = np.linspace(0.0, width, 33)
        return Scene((make_line(role, np.column_stack([x, 0.25 * height * np.sin(x)])),))
    if role is Role.DRILL:
        return Scene(tuple(drill_mark((width / 2, 0.0), half / 2.5)))
    if role is Role.LANDMARK:
        return Scene((Dot(role, np.array([width / 2, 0.0]), half / 2),))
    if role is Role.FOLD:
        left, right = 0.3 * half, width - 0.3 * half  # half the width of an arrow head
        down = [(left, half), (left, -half), (right, -half), (right, half)]
        heads = [arrow_head(role, (x, half), (0.0, 1.0), half) for x in (left, right)]
        return Scene((make_line(role, down), *heads))
    return Scene((make_line(role, ends),))
