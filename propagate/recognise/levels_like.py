"""Draw the levels of a set before on a style that is drawn like it.

A level goes round the body.  It is drawn where the set before draws it in all its sizes: through a
landmark, as far from a level as on another piece, or as far from a landmark.  Else it is
drawn in the same part of the height between the landmarks above and below it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from propagate.geometry.arrays import Array
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["Drawn", "draw_levels_like"]

SAME_MM = 5.0 * ON_LINE_MM
"""A height that differs by less over the sizes is the same in all."""


@dataclass(frozen=True)
class Drawn:
    """A level that was drawn on a piece, and by what.

    Attributes
    ----------
    piece, level : str
    by : str
        In words, as in 'through LANDMARK'.
    """

    piece: str
    level: str
    by: str


def draw_levels_like(
    pattern: PatternSet, old: PatternSet, pieces: Mapping[str, SizedPiece]
) -> tuple[PatternSet, tuple[Drawn, ...]]:
    """Draw levels on pieces that have the names of the set before.

    Parameters
    ----------
    pattern, old : PatternSet
    pieces : mapping of piece name to SizedPiece
        Those that are sure, in the base size.

    Returns
    -------
    pattern : PatternSet
        Laid on the level of the set before where that is drawn.
    drawn : tuple of Drawn
    """
    work = _Levels(pattern, old, pieces)
    work.draw()
    lay_on = old.lay_on if old.lay_on in work.known else pattern.lay_on
    found = {name: work.pieces.get(name, piece) for name, piece in pattern.pieces.items()}
    return replace(pattern, pieces=found, lay_on=lay_on), tuple(work.drawn)


class _Levels:
    def __init__(
        self, pattern: PatternSet, old: PatternSet, pieces: Mapping[str, SizedPiece]
    ) -> None:
        self.old, self.sizes = old, pattern.sizes
        self.pieces = {name: pattern.pieces[name] for name in pieces}
        self.drawn: list[Drawn] = []
        self.wanted = [
            (name, level)
            for name, sized in pieces.items()
            for level in old.sized(name, old.base).levels
            if level not in sized.levels
        ]

    @property
    def known(self) -> set[str]:
        """The levels that some piece has."""
        return {
            level
            for piece in self.pieces.values()
            for sized in piece.nest.values()
            for level in sized.levels
        }

    def draw(self) -> None:
        """Draw what is surest first; from each level others may follow."""
        ways: list[Callable[[str, str], bool]] = [
            self._through_landmark,
            self._by_other_piece,
            self._beside_landmark,
            self._between_landmarks,
        ]
        while self.wanted:
            found = next(
                (one for way in ways for one in self.wanted if way(*one)),
                None,
            )
            if found is None:
                return
            self.wanted.remove(found)

    def _through_landmark(self, name: str, level: str) -> bool:
        far = self._far_from_landmarks(name, level)
        through = [mark for mark, gaps in far.items() if float(np.abs(gaps).max()) <= SAME_MM]
        if not through:
            return False
        self._put(name, level, through[0], dict.fromkeys(self.sizes, 0.0), "")
        return True

    def _beside_landmark(self, name: str, level: str) -> bool:
        far = self._far_from_landmarks(name, level)
        steady = {m: gaps for m, gaps in far.items() if float(np.ptp(gaps)) <= SAME_MM}
        if not steady:
            return False
        mark = min(steady, key=lambda one: (round(abs(float(steady[one].mean())), 3), one))
        up = float(steady[mark].mean())
        self._put(name, level, mark, dict.fromkeys(self.sizes, up), f"{_say_far(up)} ")
        return True

    def _by_other_piece(self, name: str, level: str) -> bool:
        """As far from a level of its own as the two are apart on another piece."""
        for base in next(iter(self.pieces[name].nest.values())).levels:
            was = self._apart_before(name, base, level)
            for other, piece in self.pieces.items():
                there = self._apart_before(other, base, level)
                drawn = all({base, level} <= {*s.levels} for s in piece.nest.values())
                if other == name or was is None or there is None or not drawn:
                    continue
                if float(np.abs(np.abs(there) - np.abs(was)).max()) > SAME_MM:
                    continue
                turned = (float(np.sign(there @ was)) or 1.0) * self._turned(name)
                turned *= self._turned(other)
                ups = {s: turned * _measure_apart(piece.nest[s], base, level) for s in self.sizes}
                nest = self.pieces[name].nest
                points = {s: _move_place(one, one.levels[base], ups[s]) for s, one in nest.items()}
                self._add(name, level, points, f"as far from '{base}' as on '{other}'")
                return True
        return False

    def _before(self, name: str) -> list[SizedPiece]:
        return [self.old.sized(name, size) for size in self.old.sizes]

    def _turned(self, name: str) -> float:
        sample = next(iter(self.pieces[name].nest.values()))
        return _is_turned(self.old.sized(name, self.old.base), sample)

    def _apart_before(self, name: str, base: str, level: str) -> Array | None:
        """How far two levels were apart over the sizes; None where one of them is not there."""
        nest = self._before(name)
        if any({base, level} - {*sized.levels} for sized in nest):
            return None
        return np.array([_measure_apart(sized, base, level) for sized in nest])

    def _between_landmarks(self, name: str, level: str) -> bool:
        """In the same part of the height between the landmarks above and below it."""
        before = self.old.sized(name, self.old.base)
        sample = next(iter(self.pieces[name].nest.values()))
        at = _measure_height(before, before.levels[level])
        heights = {
            mark: _measure_height(before, before.landmark(mark).point)
            for mark in _share_of(before, sample)
        }
        below = [mark for mark in heights if heights[mark] <= at]
        above = [mark for mark in heights if heights[mark] > at]
        if not below or not above:
            return False
        low = max(below, key=lambda mark: (heights[mark], mark))
        high = min(above, key=lambda mark: (heights[mark], mark))
        share = (at - heights[low]) / (heights[high] - heights[low])
        nest = self.pieces[name].nest
        ups = {
            size: share
            * float(np.subtract(s.landmark(high).point, s.landmark(low).point) @ _point_up(s))
            for size, s in nest.items()
        }
        turned = self._turned(name)
        ups = {size: turned * up for size, up in ups.items()}
        self._put(name, level, low, ups, f"at {100 * share:.0f}% of the way to '{high}' from ")
        return True

    def _far_from_landmarks(self, name: str, level: str) -> dict[str, Array]:
        """How far it lies above each landmark that both drawings have, over the sizes before."""
        nest = self._before(name)
        sample = next(iter(self.pieces[name].nest.values()))
        return {
            mark: np.array(
                [
                    _measure_height(s, s.levels[level]) - _measure_height(s, s.landmark(mark).point)
                    for s in nest
                ]
            )
            for mark in _share_of(nest[0], sample)
        }

    def _put(self, name: str, level: str, mark: str, ups: Mapping[str, float], far: str) -> None:
        turned = self._turned(name)
        points = {
            size: _move_place(sized, sized.landmark(mark).point, turned * ups[size])
            for size, sized in self.pieces[name].nest.items()
        }
        self._add(name, level, points, f"{far or 'through '}'{mark}'")

    def _add(
        self, name: str, level: str, points: Mapping[str, tuple[float, float]], by: str
    ) -> None:
        nest = {
            size: replace(sized, levels={**sized.levels, level: points[size]})
            for size, sized in self.pieces[name].nest.items()
        }
        self.pieces[name] = Piece(name, nest)
        self.drawn.append(Drawn(name, level, by))


def _point_up(piece: SizedPiece) -> Array:
    return piece.grain.direction


def _measure_height(piece: SizedPiece, point: tuple[float, float]) -> float:
    return float(np.asarray(point) @ _point_up(piece))


def _measure_apart(piece: SizedPiece, base: str, level: str) -> float:
    return float(np.subtract(piece.levels[level], piece.levels[base]) @ _point_up(piece))


def _move_place(piece: SizedPiece, point: tuple[float, float], up: float) -> tuple[float, float]:
    x, y = (np.asarray(point) + up * _point_up(piece)).tolist() if up else point
    return float(x), float(y)


def _share_of(before: SizedPiece, now: SizedPiece) -> list[str]:
    known = set(now.all_landmarks)
    return [mark for mark in before.all_landmarks if mark in known]


def _is_turned(before: SizedPiece, now: SizedPiece) -> float:
    """1 where both grains run the same way on the piece, -1 where one runs from its other end."""
    marks = _share_of(before, now)
    one, other = (
        np.array([_measure_height(piece, piece.landmark(mark).point) for mark in marks])
        for piece in (before, now)
    )
    return -1.0 if float((one - one.mean()) @ (other - other.mean())) < 0.0 else 1.0


def _say_far(up: float) -> str:
    return f"{abs(up):.1f} mm {'above' if up > 0.0 else 'below'}"
