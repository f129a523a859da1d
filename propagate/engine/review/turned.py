"""A size that lies otherwise to its grain line than the others."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.engine.review.finding import Finding
from propagate.engine.review.measures import Measured
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import OFF_GRAIN_DEG
from propagate.values import dataclass

__all__ = ["turned_sizes"]

_TURNED = 0.5
"""A size is only turned when turning it back takes away this much of what parts it."""


def turned_sizes(pattern: PatternSet, piece: str, of: Measured) -> Iterator[Finding]:
    """A size that lies otherwise to its grain than the sizes beside it."""
    base = pattern.sizes.index(pattern.base)
    fit = (np.conj(of.chords[:, [base]]) * of.chords).sum(axis=0)
    angles = np.degrees(np.angle(fit))
    if np.abs(angles).max() < OFF_GRAIN_DEG:
        return
    found = max((_measure_turn(fit, at) for at in range(len(angles))), key=lambda turn: turn.sure)
    at, turn = found.at, found.degrees
    if found.sure <= OFF_GRAIN_DEG or not _only_turned(of.chords, at, turn):
        return
    reversed_ = abs(turn) > 180.0 - OFF_GRAIN_DEG
    likely = (
        "most likely its grain line is drawn from the other end, and the piece is laid against "
        "nap or print. Draw the grain of every size in one direction"
        if reversed_
        else "most likely the piece or its grain line was turned in this size: it would be cut "
        "off the grain, and hang and stretch otherwise. Turn it or its grain line back"
    )
    yield Finding(
        "size off the grain",
        f"piece '{piece}', size '{pattern.sizes[at]}'",
        f"found the outline turned by {abs(turn):.0f}° against the grain line, compared with "
        f"the other sizes, expected the same direction in every size; {likely}",
        (piece,),
    )


@dataclass(frozen=True)
class _Turn:
    """By how much one size is turned against the line of the others.

    `sure` is what is left of it when three times the scatter of the others is taken off.
    """

    at: int
    degrees: float
    sure: float


def _measure_turn(fit: npt.NDArray[np.complex128], at: int) -> _Turn:
    places = np.delete(np.arange(len(fit)), at)
    rest = np.degrees(np.unwrap(np.angle(fit[places])))
    line = np.polynomial.polynomial.polyfit(places, rest, 1)
    scatter = float(np.abs(rest - np.polynomial.polynomial.polyval(places, line)).max())
    expected = float(np.polynomial.polynomial.polyval(at, line))
    turn = float(np.degrees(np.angle(fit[at] * np.exp(-1j * np.radians(expected)))))
    return _Turn(at, turn, abs(turn) - 3 * scatter)


def _only_turned(chords: npt.NDArray[np.complex128], at: int, degrees: float) -> bool:
    """Whether a size, turned back, lies on the size beside it: else its shape is another."""
    beside = chords[:, at - 1 if at else 1]
    back = chords[:, at] * np.exp(-1j * np.radians(degrees))
    return bool(np.abs(back - beside).sum() < _TURNED * np.abs(chords[:, at] - beside).sum())
