"""What lies inside a piece, seen against its outline."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import locate_all
from propagate.pattern.model import SizedPiece

__all__ = ["inside_changes", "lines_off"]

Array = npt.NDArray[np.float64]

_ON_MM = 0.1
_OFF_MM = 0.5
_NEAR_MM = 10.0
"""A mark nearer to the outline than a usual allowance is in the seam (common practice)."""


def inside_changes(old: SizedPiece, new: SizedPiece) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Lines that no longer end on the outline, marks that came into a seam, lost darts."""
    yield from lines_off(old, new)
    was_line, now_line = _closed(old), _closed(new)
    marks = {mark.name: mark.point for mark in new.drills}
    for mark in old.drills:
        if mark.name not in marks:
            continue
        _, before = locate_all(was_line, np.array([mark.point]))
        _, after = locate_all(now_line, np.array([marks[mark.name]]))
        if before[0] >= _NEAR_MM > after[0]:
            yield (
                f"mark '{mark.name}' came within {after[0]:.1f} mm of the seam line",
                ("mark near the seam line", mark.name),
            )
    gone = {dart.name for dart in old.darts} ^ {dart.name for dart in new.darts}
    for name in sorted(gone):
        yield f"dart '{name}' is on one of the old and the new piece alone", ()


def lines_off(old: SizedPiece, new: SizedPiece) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Lines that ended on the outline and no longer do."""
    was_line, now_line = _closed(old), _closed(new)
    lines = {line.name: line.points for line in new.lines}
    for line in old.lines:
        if line.name not in lines:
            continue
        _, before = locate_all(was_line, line.points[[0, -1]])
        _, after = locate_all(now_line, lines[line.name][[0, -1]])
        off = after[(before <= _ON_MM) & (after > _OFF_MM)]
        if len(off):
            yield (
                f"line '{line.name}' ended on the outline and now ends {off.max():.1f} mm off it",
                ("line off the outline", line.name),
            )


def _closed(piece: SizedPiece) -> Array:
    return np.vstack([piece.outline, piece.outline[:1]])
