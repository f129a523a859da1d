"""What is written on a piece and beside it: its title, its edges, marks and levels."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from propagate.geometry.polyline import between
from propagate.pattern.model import SizedPiece
from propagate.pattern.titles import make_readable
from propagate.report.scene.items import Line, Role, Scene, Tone, make_text
from propagate.report.scene.labels import Labels
from propagate.report.units import Unit

__all__ = ["label_edges", "label_levels", "label_marks", "label_title"]

_SMALLER = 0.8
"""Names of marks and levels, of the size of ordinary text."""
_TITLE_SIZES = (1.6, 1.3, 1.0, 0.8)
_SECOND = 0.7
"""Lines below a title, of its size."""


def label_title(labels: Labels, piece: SizedPiece, lines: Sequence[str], size: float) -> None:
    """Write title and lines where the label of a piece lies, as large as there is room for."""
    if piece.label is None:
        return
    for letter in (size * scale for scale in _TITLE_SIZES):
        rows = [
            make_text((0.0, 0.0), line, letter * (_SECOND if i else 1.0), bold=not i)
            for i, line in enumerate(lines)
        ]
        if labels.block(rows, piece.label.point, piece.label.angle):
            return


def label_edges(
    labels: Labels,
    piece: SizedPiece,
    size: float,
    unit: Unit,
    before: Mapping[str, float],
    words: Callable[[str], str] = make_readable,
) -> None:
    """Write name and length of every edge; its change where `before` has that, mm."""
    for edge in sorted(piece.edges, key=lambda e: -e.length):
        said = f"{words(edge.name)} {unit.length(edge.length)}"
        label = make_text((0.0, 0.0), said, size)
        if edge.name in before:
            change = edge.length - before[edge.name]
            tone: Tone = "longer" if change > 0 else "shorter"
            said += f" ({unit.change(change)})"
            label = make_text((0.0, 0.0), said, size, tone=tone)
        labels.along(edge.points, label)


def label_marks(
    labels: Labels, piece: SizedPiece, size: float, words: Callable[[str], str] = make_readable
) -> None:
    """Write the names of notches and landmarks beside them."""
    small = _SMALLER * size
    for mark in piece.landmarks:
        if mark.kind == "dart leg":
            continue
        edge = piece.edge(mark.edge)
        at = piece.distance(mark.edge, mark.name)
        name = words(mark.name)
        reach = 0.5 * small * (len(name) + 2)
        stretch = between(edge.points, max(at - reach, 0.0), min(at + reach, edge.length))
        label = make_text((0.0, 0.0), name, small, tone="pale")
        labels.along(stretch, label, point=np.asarray(mark.point))


def label_levels(
    labels: Labels, scene: Scene, size: float, words: Callable[[str], str] = make_readable
) -> None:
    """Write the names of the levels that have room."""
    for level in scene.of(Role.LEVEL):
        assert isinstance(level, Line)
        label = make_text((0.0, 0.0), words(level.name), _SMALLER * size, tone="pale")
        labels.along(level.points, label, within=True)
