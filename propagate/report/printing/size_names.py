"""Write the size on its lines, again and again, where it is seen which line it is."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import length, point_at
from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.scene.labels import box_at
from propagate.report.scene.taken import Taken

__all__ = ["name_line"]

Array = npt.NDArray[np.float64]

_LETTER = 3.4
_EVERY_MM = 170.0
"""One name on about every hand of a page."""
_STEP_MM = 5.0
_WIDEST_MM = 24.0
_BENT_MM = 1.2
"""A name stands where the line leaves its chord by less."""


def name_line(
    canvas: PdfCanvas,
    ring: Array,
    name: str,
    stroke: Stroke,
    share: float,
    others: Sequence[Taken],
    blocked: Sequence[Taken],
) -> None:
    """Write a size on its closed line.

    Parameters
    ----------
    canvas : PdfCanvas
    ring : (n, 2) array
    name : str
    stroke : Stroke
        Whose colour the name takes.
    share : float
        Place of the size among those printed, 0 to 1: names of neighbours are staggered.
    others : sequence of Taken
        Lines of the other sizes; a name keeps off them where it can.
    blocked : sequence of Taken
        What the names may not lie on; they are added to the first.
    """
    assert canvas.fonts is not None
    words = canvas.fonts.fitted(name, _LETTER, _WIDEST_MM, bold=True)
    wide = canvas.fonts.width(words, _LETTER, bold=True) + 1.2
    closed = np.vstack([ring, ring[:1]])
    total = length(closed)
    count = max(round(total / _EVERY_MM), 1)
    apart = total / count
    written = 0
    for k in range(count):
        want = (k + 0.15 + 0.7 * share) * apart
        spots = _spots(closed, total, want, apart / 2, wide)
        box = _first_free(spots, wide, [*blocked, *others]) or _first_free(spots, wide, blocked)
        if box is None and (k < count - 1 or written):
            continue
        centre, angle = box if box is not None else (point_at(closed, want % total), 0.0)
        canvas.text(
            "labels",
            centre,
            words,
            _LETTER,
            angle=angle,
            colour=stroke.colour,
            bold=True,
            halo=True,
        )
        blocked[0].add(box_at(centre, angle, wide, _LETTER * 1.2))
        written += 1


_Spot = tuple[Array, float]


def _spots(closed: Array, total: float, want: float, reach: float, wide: float) -> list[_Spot]:
    """Middles and angles of names on straight enough stretches, the nearest to `want` first."""
    found = []
    for i in range(int(reach / _STEP_MM) + 1):
        for at in {want + i * _STEP_MM, want - i * _STEP_MM}:
            first, last = ((at + side * wide / 2) % total for side in (-1.0, 1.0))
            a, b, middle = (point_at(closed, d) for d in (first, last, at % total))
            along = b - a
            size = math.hypot(*along)
            if size < 0.93 * wide:
                continue
            aside = abs(float(along[0] * (middle - a)[1] - along[1] * (middle - a)[0])) / size
            if aside < _BENT_MM:
                angle = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
                found.append((middle, angle))
    return found


def _first_free(spots: Sequence[_Spot], wide: float, blocked: Sequence[Taken]) -> _Spot | None:
    for centre, angle in spots:
        box = box_at(centre, angle, wide, _LETTER * 1.1)
        if not any(known.hit(box) for known in blocked):
            return centre, angle
    return None
