"""How a corner of a cut line was finished, told by its lines.

A square corner ends the allowance of one edge square to it, so that the cut line has a short
stretch there as long as that allowance is wide.  Beyond a turned edge the cut line is the image
of the line before the fold.  A mitre has nothing of its own.  See `propagate.geometry.joints`,
which makes these corners.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

import numpy as np

from propagate.geometry.corner import turn_between
from propagate.geometry.directions import end_direction
from propagate.geometry.inward import inward_line, meet_inside, run_on_bent, trim_line
from propagate.geometry.polyline import arc_lengths, locate_all, unit
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Finish", "FinishKind", "finish_at", "finish_of_jog"]

FinishKind = Literal["square", "square second", "turned", "turned second"]
"""``square`` and ``turned`` say it of the edge before the corner, the others of that after it."""

_LENGTH_MM: Final = 0.05
_SQUARE: Final = 0.0005
"""Cosine of the angle by which a short stretch, drawn to 0.001 mm, may be off square."""
_BETTER: Final = 0.15
"""A finish has to fit so many times better than a plain corner does."""
_TURN_DEG: Final = 0.02
"""A vertex that turns by less ends no stretch: with it and without, the line is the same."""
_STRAIGHT_MM: Final = 0.01
_IMAGE_MM: Final = 0.03
_NEAR_FOLD_MM: Final = 2.0
_REACH: Final = 4.0
_MOST_TRIED: Final = 40


@dataclass(frozen=True, eq=False)
class Finish:
    """A corner that is more than a mitre.

    Attributes
    ----------
    kind : FinishKind
    before, after : (n, 2) arrays, mm
        The lines on both sides without what the finish added between them.
    """

    kind: FinishKind
    before: Array
    after: Array


def finish_at(before: Array, after: Array, widths: tuple[float, float]) -> Finish | None:
    """Tell the finish of a corner whose added stretch is a part of one of its lines.

    Parameters
    ----------
    before, after : (n, 2) arrays, mm
        The line of the cut line that runs into a corner and the one that leaves it.
    widths : (float, float), mm
        Their allowances.
    """
    first, second = widths
    rest = _after_square(before, after, first, 1.0)
    if rest is not None:
        return Finish("square", before, rest)
    rest = _after_square(after[::-1], before[::-1], second, -1.0)
    if rest is not None:
        return Finish("square second", rest[::-1], after)
    rest = _before_image(before, after, (first, second))
    if rest is not None:
        return Finish("turned second", rest, after)
    rest = _before_image(after[::-1], before[::-1], (second, first), left=False)
    return None if rest is None else Finish("turned", before, rest[::-1])


def finish_of_jog(
    before: Array, jog: Array, after: Array, widths: tuple[float, float]
) -> Finish | None:
    """Tell the finish of a corner whose added stretch stands between two lines, as an edge."""
    first, second = widths
    end = len(jog) - 1
    if _after_square(before, np.vstack([jog, after[1:]]), first, 1.0, at=end) is not None:
        return Finish("square", before, after)
    back = np.vstack([jog[::-1], before[-2::-1]])
    if _after_square(after[::-1], back, second, -1.0, at=end) is not None:
        return Finish("square second", before, after)
    whole = np.vstack([before, jog[1:]])
    if _before_image(whole, after, (first, second), at=len(before) - 1) is not None:
        return Finish("turned second", before, after)
    whole = np.vstack([after[::-1], jog[-2::-1]])
    image = _before_image(whole, before[::-1], (second, first), left=False, at=len(after) - 1)
    return None if image is None else Finish("turned", before, after)


def _after_square(
    own: Array, other: Array, width: float, sense: float, at: int | None = None
) -> Array | None:
    """What is left of the line that leaves a corner after the square end of the other's allowance.

    `sense` is 1 where `own` runs into the corner counter-clockwise, else -1.
    """
    if width <= _LENGTH_MM or len(other) < 3:
        return None
    arc = arc_lengths(other)
    k = int(np.abs(arc - width).argmin()) if at is None else at
    if not 0 < k < len(other) - 1 or abs(float(arc[k]) - width) > _LENGTH_MM:
        return None
    wall, chord = other[k] - other[0], own[-1] - own[-2]
    long = float(np.hypot(*wall))
    if arc[k] - long > _STRAIGHT_MM or long == 0.0:
        return None
    wall, chord = wall / long, chord / float(np.hypot(*chord))
    turns_out = sense * float(chord[0] * wall[1] - chord[1] * wall[0]) > 0.0
    turn = _turn_at(other, k)
    if not turns_out or turn < _TURN_DEG:
        return None
    off = _SQUARE + _BETTER * min(float(np.sin(np.radians(min(turn, 90.0)))), 0.35)
    return other[k:] if abs(float(wall @ chord)) <= off else None


def _turn_at(line: Array, k: int) -> float:
    """By how much a line turns at a vertex, degrees."""
    return abs(float(np.degrees(turn_between(line[k] - line[k - 1], line[k + 1] - line[k]))))


def _before_image(
    line: Array,
    fold: Array,
    widths: tuple[float, float],
    *,
    left: bool = True,
    at: int | None = None,
) -> Array | None:
    """What is left of a line before it is mirrored in the seam line of the edge it runs up to.

    `left` says that the piece lies to the left of both lines.
    """
    if widths[1] <= _LENGTH_MM:
        return None
    seam = _move_inside(fold, widths[1], left=left)
    for k in _find_hinges(line, seam, widths, at):
        own = _move_inside(line[: k + 1], widths[0], left=left)
        try:
            reach = _REACH * max(widths) + _NEAR_FOLD_MM
            corner = meet_inside(own, seam, line[k], reach).corner
        except ValueError:
            continue
        run = trim_line(seam, corner, seam[-1])[0]
        tangent = unit(end_direction(run, "start"))
        if _is_image(line, k, corner, tangent):
            return line[: k + 1]
    return None


def _move_inside(line: Array, width: float, *, left: bool) -> Array:
    """The parallel of a line on the side of the piece, in the line's own direction."""
    if left:
        return inward_line(line, width).points
    return inward_line(line[::-1], width).points[::-1]


def _find_hinges(
    line: Array, seam: Array, widths: tuple[float, float], at: int | None
) -> Iterator[int]:
    """Vertices near the run-on seam line of the turned edge at which a line may be mirrored."""
    if at is not None:
        yield at
        return
    reach = _REACH * max(widths)
    arc = arc_lengths(line)
    near = np.flatnonzero(arc[-1] - arc[1:-1] <= reach) + 1
    if not len(near):
        return
    ahead = run_on_bent(seam[::-1], 2.0 * reach)[::-1]
    gaps = locate_all(ahead, line[near])[1]
    close = near[gaps <= _NEAR_FOLD_MM]
    for k in close[:_MOST_TRIED].tolist():
        if _turn_at(line, k) >= _TURN_DEG:
            yield k


def _is_image(line: Array, k: int, corner: Array, tangent: Array) -> bool:
    """Whether what follows a vertex is the image of what is before it."""
    normal = np.array([-tangent[1], tangent[0]])
    if abs(float((line[k] - corner) @ normal)) > _LENGTH_MM or len(line) - k < 2:
        return False
    off = line[k:] - corner
    image = corner + off - 2.0 * np.outer(off @ normal, normal)
    if abs(float(off[-1] @ normal)) <= _LENGTH_MM:
        return False
    before = line[: k + 1]
    long = float(arc_lengths(before)[-1])
    far = np.hypot(*(image - line[k]).T)
    shown = image[far <= long]
    if len(shown) < 2:
        return False
    ahead = before[-1] - before[-2]
    plain = np.abs((line[k:][far <= long] - line[k]) @ [-ahead[1], ahead[0]]) / np.hypot(*ahead)
    most = max(_IMAGE_MM / 10.0, min(_IMAGE_MM, _BETTER * float(plain.max())))
    return bool(locate_all(before, shown)[1].max() <= most)
