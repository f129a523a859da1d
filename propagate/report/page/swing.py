"""The swing of an opening as a small drawing: where it lay, where it lies, the angle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from propagate.report.page.paths import path_data, place, short
from propagate.report.page.subject import Subject
from propagate.report.page.tables import degrees

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


def swing_view(subject: Subject, row: Mapping[str, Any]) -> SwingView:
    """Draw an opening as it lies, and turned back by its swing about the end on the top."""
    opening = subject.pattern.relations.openings[str(row["opening"])]
    piece = subject.sized(opening.piece)
    now = np.array(piece.edge(opening.edge).points)
    if opening.across_end == "end":
        now = now[::-1]
    pin = now[0]
    swing = float(np.radians(row["swing_deg"]))
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
    beyond = end - swing - np.sign(swing or 1.0) * 2.4 * letter / radius
    said_at = pin + radius * np.array([np.cos(beyond), np.sin(beyond)])
    return SwingView(
        view_box=" ".join(short(float(v), 1) for v in box),
        edges=[path_data(edge.points) for edge in piece.edges if edge.name != opening.edge],
        before=path_data(before),
        now=path_data(now),
        chords=(path_data([pin, before[-1]]), path_data([pin, now[-1]])),
        arc=path_data(arc),
        pin=place(pin),
        said=degrees(row["swing_deg"]),
        said_at=place(said_at),
        letter=short(letter, 1),
    )


def _turned(points: Array, about: Array, angle: float) -> Array:
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return np.asarray(about + (points - about) @ turn.T)
