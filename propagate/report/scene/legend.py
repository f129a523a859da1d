"""The legend of a drawing, made from the roles that it really holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely

from propagate.report.canvas import text_width
from propagate.report.scene.items import (
    Dot,
    Item,
    Role,
    Scene,
    areas_of,
    arrow_head,
    make_line,
    make_text,
)
from propagate.report.scene.looks import LOOKS
from propagate.report.scene.piece import drill_mark
from propagate.values import dataclass

__all__ = ["SAMPLE_MM", "Entry", "legend_of", "legend_rows"]

SAMPLE_MM = 9.0
"""Usual width of a sample where entries stand beside each other."""
_ROW = 1.7
"""From row to row, of the size of the words."""


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
