"""Hatch an area: lines for paper that is taped on, dots for paper that is cut away."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pydyf

from propagate.report.pdf.measure import POINTS_PER_MM, colour_parts
from propagate.report.style import BLUE, ORANGE

__all__ = ["hatch"]

Array = npt.NDArray[np.float64]

_ADDED_FILL, _TRIMMED_FILL = "#d9e5f0", "#f9ede3"


def hatch(stream: pydyf.Stream, rings: Sequence[Array], pitch: float, *, added: bool) -> None:
    """Fill rings (points) with a pale colour and a pattern of its own."""
    stream.push_state()
    for ring in rings:
        rows = ring.tolist()
        stream.move_to(*rows[0])
        for x, y in rows[1:]:
            stream.line_to(x, y)
        stream.close()
    stream.clip(even_odd=True)
    stream.set_color_rgb(*colour_parts(_ADDED_FILL if added else _TRIMMED_FILL))
    stream.fill(even_odd=True)
    points = np.concatenate(list(rings))
    low, high = points.min(axis=0), points.max(axis=0)
    stream.set_color_rgb(*colour_parts(BLUE if added else ORANGE), stroke=True)
    if added:
        stream.set_line_width(min(0.22 * pitch, 0.5 * POINTS_PER_MM))
        stream.set_dash([], 0)
        _lines(stream, low, high, pitch)
    else:
        stream.set_line_width(0.34 * pitch)
        stream.set_line_cap(1)
        stream.set_dash([0.0, pitch], 0)  # dashes without length: round dots
        _lines(stream, low, high, pitch)
    stream.stroke()
    stream.pop_state()


def _lines(stream: pydyf.Stream, low: Array, high: Array, pitch: float) -> None:
    """Lines that rise to the right, at places that do not depend on the area."""
    step = pitch * math.sqrt(2.0)
    first = math.floor((low[1] - high[0]) / step)
    last = math.ceil((high[1] - low[0]) / step)
    for i in range(first, last + 1):
        offset = i * step
        start = max(low[0], low[1] - offset)
        start = math.floor(start / step) * step
        end = min(high[0], high[1] - offset)
        if end > start:
            stream.move_to(float(start), float(start + offset))
            stream.line_to(float(end), float(end + offset))
