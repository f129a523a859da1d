"""Places on both sides of a side seam at which a level may lie, in every size."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Literal, TypeAlias

import numpy as np

from propagate.geometry.arrays import Array
from propagate.pattern.patternset import PatternSet
from propagate.suggesting.levels import LevelPoints, round_point
from propagate.suggesting.side_lines import SideLine, trace_side
from propagate.suggesting.side_seams import Side, SideWay
from propagate.values import dataclass

__all__ = ["BothSides", "How", "SidePlace"]

How: TypeAlias = Literal["level", "notch", "underarm", "narrowest", "hem", "along"]


@dataclass(frozen=True)
class SidePlace:
    """Where a level lies on both sides.

    Attributes
    ----------
    level : str
    how : str
        What tells it.
    at : mapping of piece to a point for each size
    marks : mapping of piece to its notch
    along : mapping of piece to (sizes,) array
        How far down the side from the underarm it lies in every size, darts closed, mm.
    """

    level: str
    how: How
    at: LevelPoints
    marks: Mapping[str, str]
    along: Mapping[str, Array]


@dataclass(frozen=True)
class BothSides:
    """The two sides of a side seam, in every size.

    Attributes
    ----------
    pattern : PatternSet
    way : SideWay
    lines : mapping of piece to a SideLine for each size
    """

    pattern: PatternSet
    way: SideWay
    lines: Mapping[str, Mapping[str, SideLine]]

    @classmethod
    def trace(cls, pattern: PatternSet, way: SideWay) -> BothSides:
        """The two sides of a seam."""
        lines = {
            side.lead: {size: trace_side(way, side, pattern, size) for size in pattern.sizes}
            for side in way.sides
        }
        return cls(pattern, way, lines)

    def put_below(self, word: str, below: float) -> SidePlace:
        """A level so far below the upper ends, along the grain, mm."""
        at = {
            piece: {
                size: round_point(line.points[0] - below * line.up) for size, line in on.items()
            }
            for piece, on in self.lines.items()
        }
        return self.measure(word, "underarm", at)

    def find_drawn(self, word: str) -> SidePlace | None:
        """A level that is drawn on both."""
        base = self.pattern.base
        if not all(word in self.pattern.sized(piece, base).levels for piece in self.lines):
            return None
        at = {
            piece: {size: self.pattern.sized(piece, size).levels[word] for size in on}
            for piece, on in self.lines.items()
        }
        return self.measure(word, "level", at)

    def list_notched(self, word: str) -> Iterator[SidePlace]:
        """A level at every pair of notches that meet on the seam."""
        for marks, at in self.way.notch_pairs(self.pattern):
            yield self.measure(word, "notch", at, marks)

    def find_narrowest(self, word: str, holds: Callable[[float], bool]) -> SidePlace | None:
        """Where both sides are hollow: as far along on both, in every size."""
        along: dict[str, list[float]] = {}
        for side in self.way.sides:
            inward = _point_inward(self.way, side, self.pattern)
            for size, line in self.lines[side.lead].items():
                found = line.find_waist(inward[size])
                if found is None or not holds(found):
                    return None
                along.setdefault(size, []).append(found)
        at = {
            piece: {size: line.put(float(np.mean(along[size]))) for size, line in on.items()}
            for piece, on in self.lines.items()
        }
        return self.measure(word, "narrowest", at)

    def put_hem(self, word: str) -> SidePlace:
        """A level at the lower ends."""
        at = {
            piece: {size: line.put(line.length) for size, line in on.items()}
            for piece, on in self.lines.items()
        }
        return self.measure(word, "hem", at)

    def put_along(self, word: str, along: float, above: SidePlace | None = None) -> SidePlace:
        """So far below the underarm along the side, or below another level."""
        at = {
            piece: {
                size: line.put(along + (0.0 if above is None else float(above.along[piece][k])))
                for k, (size, line) in enumerate(on.items())
            }
            for piece, on in self.lines.items()
        }
        return self.measure(word, "along", at)

    def measure(
        self, word: str, how: How, at: LevelPoints, marks: Mapping[str, str] | None = None
    ) -> SidePlace:
        """Tell how far down points lie that a level goes through."""
        along = {
            piece: np.array([line.find(at[piece][size]) for size, line in on.items()])
            for piece, on in self.lines.items()
        }
        return SidePlace(word, how, at, marks or {}, along)


def _point_inward(way: SideWay, side: Side, pattern: PatternSet) -> dict[str, Array]:
    """Square to the grain, from the side into the piece, in every size."""
    found = {}
    for size in pattern.sizes:
        sized = pattern.sized(side.lead, size)
        grain = sized.grain.direction
        square = np.array([-grain[1], grain[0]])
        line = way.down(side, pattern, size)
        into = float((sized.outline.mean(axis=0) - line.mean(axis=0)) @ square) > 0.0
        found[size] = square if into else -square
    return found
