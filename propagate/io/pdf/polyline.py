"""Lines of straight pieces as arrays: most of a drawing, of which most lies off its page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import overload

from propagate.io.chain import Chain, Point
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Polyline"]

Segment = tuple[Point, ...]


class _Steps(Sequence[Segment]):
    """The segments of a polyline, each made when it is asked for."""

    def __init__(self, ends: Array) -> None:
        self._ends = ends

    def __len__(self) -> int:
        return len(self._ends)

    @overload
    def __getitem__(self, index: int) -> Segment: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Segment]: ...
    def __getitem__(self, index: int | slice) -> Segment | Sequence[Segment]:
        if isinstance(index, slice):
            return _Steps(self._ends[index])
        x, y = self._ends[index].tolist()
        return ((x, y),)

    def __iter__(self) -> Iterator[Segment]:
        return iter([((x, y),) for x, y in self._ends.tolist()])


@dataclass(frozen=True, eq=False)
class Polyline:
    """A line of straight pieces; `Chain` tells what else it has.

    Attributes
    ----------
    xy : (n, 2) array
        Its points, those of a closed one with the first again at the end.
    closed : bool
    """

    xy: Array
    closed: bool

    @property
    def start(self) -> Point:
        """The first point."""
        x, y = self.xy[0].tolist()
        return x, y

    @property
    def end(self) -> Point:
        """The last point."""
        x, y = self.xy[-1].tolist()
        return x, y

    @property
    def segments(self) -> Sequence[Segment]:
        """A point for each piece."""
        return _Steps(self.xy[1:])

    @property
    def curved(self) -> bool:
        """It never is."""
        return False

    def to_chain(self) -> Chain:
        """The same line as one that may hold curves."""
        return Chain(self.start, tuple(self.segments), self.closed)
