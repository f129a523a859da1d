"""Buttons and their buttonholes: a whole number of them, evenly between two places."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import field

import numpy as np

from propagate.pattern.model import Array, InternalLine, Mark, SizedPiece
from propagate.pattern.relations import Run
from propagate.pattern.told import told
from propagate.tolerances import BUTTON_MM
from propagate.values import dataclass

__all__ = ["Buttons", "marks_called", "middle_of", "places_of_buttons", "points_of"]

_NEARLY = 1e-9
"""Share of a gap by which a room may be longer and still has no further button."""


@dataclass(frozen=True)
class Buttons:
    """Buttons and buttonholes along two edges: as few as the spacing lets, evenly spaced."""

    name: str = field(metadata=told("name", "what the row of buttons is called"))
    sides: tuple[Run, ...] = field(
        metadata=told(
            "runs",
            "the edge of each side along which they lie, all written from the same physical end; "
            "the first one says where they lie",
        )
    )
    marks: tuple[str, ...] = field(
        metadata=told(
            "texts",
            "of each side what its drill marks or inner lines are called: `NAME` for `NAME_1`, "
            "`NAME_2` and so on from the start of its run",
        )
    )
    start: float = field(
        metadata=told("length", "how far the first lies from the start of the run")
    )
    end: float = field(metadata=told("length", "how far the last lies from the end of the run"))
    spacing: float = field(metadata=told("length", "how far apart they lie at most"))
    tolerance: float = field(
        default=BUTTON_MM,
        metadata=told("length", "how far the check lets one lie off its place"),
    )


def places_of_buttons(buttons: Buttons, long: float) -> Array:
    """Distances of the buttons from the start of a run, mm.

    As few gaps as are at most `spacing` wide, all alike: the number is the room between the first
    and the last, divided by the spacing and rounded up.

    Parameters
    ----------
    buttons : Buttons
    long : float
        Length of the run, mm.

    Returns
    -------
    (n,) array
        Two at least; empty where the run has no room for two.

    Examples
    --------
    >>> shirt = Buttons("front", (), (), start=60.0, end=100.0, spacing=90.0)
    >>> places_of_buttons(shirt, 520.0).tolist()
    [60.0, 150.0, 240.0, 330.0, 420.0]
    >>> places_of_buttons(shirt, 521.0).tolist()
    [60.0, 132.2, 204.4, 276.6, 348.8, 421.0]
    """
    room = long - buttons.start - buttons.end
    if room <= 0.0:
        return np.zeros(0)
    gaps = max(math.ceil(room / buttons.spacing - _NEARLY), 1)
    return np.round(buttons.start + room * np.arange(gaps + 1) / gaps, 9)


def marks_called(piece: SizedPiece, name: str) -> list[Mark | InternalLine]:
    """Drill marks and inner lines called ``NAME_1``, ``NAME_2`` and so on, in that order."""
    found: list[tuple[int, Mark | InternalLine]] = []
    marks: list[Mark | InternalLine] = [*piece.drills, *piece.lines]
    for mark in marks:
        number = re.fullmatch(re.escape(name) + r"_(\d+)", mark.name)
        if number is not None:
            found.append((int(number.group(1)), mark))
    return [mark for _, mark in sorted(found, key=lambda one: one[0])]


def points_of(mark: Mark | InternalLine) -> Array:
    """(n, 2) points of an inner line, or the one of a drill mark."""
    return np.array([mark.point]) if isinstance(mark, Mark) else mark.points


def middle_of(mark: Mark | InternalLine) -> Array:
    """(2,) place of a button, or the middle between the ends of a buttonhole."""
    if isinstance(mark, Mark):
        return np.asarray(mark.point, dtype=np.float64)
    ends: Sequence[Array] = (mark.points[0], mark.points[-1])
    return np.asarray((ends[0] + ends[1]) / 2.0)
