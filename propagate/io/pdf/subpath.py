"""A path while a page draws it (ISO 32000-1, 8.5.2)."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.geometry.affine import Affine
from propagate.io.chain import Point

__all__ = ["Subpath"]


class Subpath:
    """A path while it is drawn: a start and what follows it.

    Attributes
    ----------
    start : Point
    closed : bool
    row : (list of float, Affine) or None
        Straight lines right after the start, as the page writes them, and the map to mm: they are
        mapped when they are drawn, many paths at once.
    """

    __slots__ = ("_segments", "closed", "row", "start")

    def __init__(self, start: Point) -> None:
        self.start, self.closed = start, False
        self.row: tuple[Sequence[float], Affine] | None = None
        self._segments: list[tuple[Point, ...]] = []

    @property
    def segments(self) -> list[tuple[Point, ...]]:
        """All that follows the start, as the segments of a `Chain`; more can be put at its end."""
        if self.row is not None:
            v, m = self.row
            self.row = None
            pairs = zip(v[::2], v[1::2], strict=True)
            self._segments = [
                ((m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f),) for x, y in pairs
            ]
        return self._segments

    @property
    def straight(self) -> bool:
        """Whether it holds straight lines and nothing else."""
        if self.row is not None:
            return True
        return bool(self._segments) and all(len(segment) == 1 for segment in self._segments)

    def __len__(self) -> int:
        return len(self._segments) if self.row is None else len(self.row[0]) // 2
