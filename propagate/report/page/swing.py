"""The swing of an opening as a small drawing: where it lay, where it lies, the angle."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.rows import OpeningRow
from propagate.report.page.paths import path_data, place, short
from propagate.report.page.subject import Subject
from propagate.report.page.tables import degrees
from propagate.values import dataclass

__all__ = ["SwingView", "swing_view"]

Array = npt.NDArray[np.float64]

_ARC = 0.62
_AROUND = 0.35


@dataclass(frozen=True)
class SwingView:
    """Paths of the drawing; y down, mm."""

    view_box: str
    edges: Sequence[str]
    before: str
    now: str
    chords: tuple[str, str]
    arc: str
    pin: tuple[str, str]
    said: str
    said_at: tuple[str, str]
    letter: str


def swing_view(subject: Subject, row: OpeningRow) -> SwingView:
    """Draw an opening as it lies, and turned back by its swing about the end on the top."""
    opening = subject.pattern.relations.openings[row.opening]
    piece = subject.sized(opening.piece)
    now = np.array(piece.edge(opening.edge).points)
    if opening.across_end == "end":
        now = now[::-1]
    pin = now[0]
    swing = float(np.radians(row.swing_deg))
    before = _turned(now, pin, -swing)
    radius = float(np.hypot(*(now[-1] - pin))) * _ARC
    end = float(np.arctan2(*(now[-1] - pin)[::-1]))
    angles = np.linspace(end - swing, end, 24)
    arc = pin + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    low, high = (f(np.vstack([now, before]), axis=0) for f in (np.min, np.max))
    margin = float((high - low).max()) * _AROUND
    wide, tall = (high - low) + 2 * margin
    box = (low[0] - margin, -high[1] - margin, wide, tall)
    letter = float(max(wide, tall)) / 22.0
    said = degrees(row.swing_deg)
    lines = [now, before, np.array([pin, now[-1]]), np.array([pin, before[-1]]), arc]
    lines += [edge.points for edge in piece.edges if edge.name != opening.edge]
    frame = shapely.box(box[0], -box[1] - tall, box[0] + wide, -box[1])
    said_at = _free_place(pin, radius, (end, end - swing), (said, letter), lines, frame)
    return SwingView(
        view_box=" ".join(short(float(v), 1) for v in box),
        edges=[path_data(edge.points) for edge in piece.edges if edge.name != opening.edge],
        before=path_data(before),
        now=path_data(now),
        chords=(path_data([pin, before[-1]]), path_data([pin, now[-1]])),
        arc=path_data(arc),
        pin=place(pin),
        said=said,
        said_at=place(said_at),
        letter=short(letter, 1),
    )


def _free_place(
    pin: Array,
    radius: float,
    angles: tuple[float, float],
    text: tuple[str, float],
    lines: Sequence[Array],
    frame: shapely.Geometry,
) -> Array:
    """The place beside the arc, on either side of it, where a text is furthest from all lines."""
    words, letter = text
    half = np.array([0.33 * letter * len(words), 0.6 * letter])
    drawn = shapely.union_all([shapely.LineString(line) for line in lines])
    low, high = min(angles), max(angles)
    best, widest = pin, -1.0
    for reach in (1.0, 0.8, 1.25, 0.6, 1.5):
        for gap in (1.6, 2.4, 3.4):
            for turn in (low - gap * letter / radius, high + gap * letter / radius):
                middle = pin + reach * radius * np.array([np.cos(turn), np.sin(turn)])
                box = shapely.box(*(middle - half), *(middle + half))
                clear = min(float(box.distance(drawn)), 0.6 * letter)
                if frame.contains(box) and clear > widest + 1e-9:
                    best, widest = middle, clear
    return best


def _turned(points: Array, about: Array, angle: float) -> Array:
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return np.asarray(about + (points - about) @ turn.T)
