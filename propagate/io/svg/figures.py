"""Marks that are drawn with several strokes: arrows, brackets, darts, notches, crosses.

Nothing here has a name: a mark is told by its shape and by how it lies on the outline.  What is
recognised comes back as one line with its role; every other line stays as it was drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
import shapely

from propagate.io.chain import Chain
from propagate.io.svg.drawing import Shape
from propagate.io.svg.roles import role_of
from propagate.pattern.dart_shape import DRAWN_LEGS_MM, LEG_MM, MOUTH_MM, SHORT_MM, SLASH_MM
from propagate.pattern.model import Array

__all__ = ["LARGEST_DRILL_MM", "ON_OUTLINE_MM", "with_figures"]

ON_OUTLINE_MM = 1.0  # a mark this near to the outline is on it
LARGEST_DRILL_MM = 12.0
MEETS_MM = 0.3  # ends this near to each other meet
LONGEST_BARB_MM = 20.0  # of an arrow
BARB_DEG = (8.0, 65.0)
HEAD_COS = 0.97  # a solid head points along its shaft
SHORTEST_SHAFT_MM = 20.0
LONGEST_ARM_MM = 60.0  # of a fold bracket
SQUARE_DEG = 15.0
ROUND = 0.03  # a circle's radius differs by less than this share of it
MOST_SEGMENTS = 12
MOST_STROKES = 600
_WORDS = {
    "grain": "a line with an arrow head is the grain",
    "fold": "a bracket with arrows toward an edge puts the edge on the fold",
    "dart": "two lines from the outline to a point are a dart",
    "notch": "a small V or T on the outline is a notch",
    "drill": "a small cross is a drill mark",
    "line": "a stroke with a bar at both ends is a buttonhole",
}


@dataclass(eq=False)
class _Stroke:
    """A straight line of a shape: the shape's number and its two ends."""

    shape: int
    a: Array
    b: Array

    @property
    def length(self) -> float:
        return float(np.hypot(*(self.b - self.a)))

    def other_end(self, end: Array) -> Array:
        """The end that is not the one given."""
        return self.b if end is self.a else self.a

    def from_end(self, end: Array) -> Array:
        """The unit vector away from one of its ends."""
        away = self.other_end(end) - end
        return np.asarray(away / max(float(np.hypot(*away)), 1e-9))


@dataclass(eq=False)
class _Canvas:
    """The strokes of the lines without a role, and the outline they lie on."""

    shapes: list[Shape]
    ring: shapely.LinearRing
    notch: float
    strokes: list[_Stroke] = field(default_factory=list)
    triangles: dict[int, Array] = field(default_factory=dict)
    """Corners of the small triangles, by the number that stands for each among the strokes."""
    taken: set[int] = field(default_factory=set)
    """Numbers of strokes that are part of a mark."""
    made: list[tuple[Shape, tuple[int, ...]]] = field(default_factory=list)
    """Marks, with the strokes that draw each."""

    def free(self) -> Iterator[tuple[int, _Stroke]]:
        """The strokes that are no part of a mark yet."""
        for number, stroke in enumerate(self.strokes):
            if number not in self.taken and number not in self.triangles:
                yield number, stroke

    def gap(self, point: Array) -> float:
        """How far a point is from the outline, mm."""
        return float(self.ring.distance(shapely.Point(point)))

    def at(self, point: Array, but: Sequence[int] = ()) -> Iterator[tuple[int, _Stroke, Array]]:
        """Free strokes that end at a point, with that end."""
        for number, stroke in self.free():
            if number in but:
                continue
            for end in (stroke.a, stroke.b):
                if math.dist(end, point) <= MEETS_MM:
                    yield number, stroke, end

    def make(self, role: str, points: Sequence[Array], used: Sequence[int], name: str = "") -> None:
        """Put a mark in the place of the strokes that draw it."""
        places = [(float(x), float(y)) for x, y in points]
        chain = Chain(places[0], tuple((p,) for p in places[1:]))
        first = self.shapes[self.strokes[used[0]].shape]
        named = name or first.name
        mark = Shape(chain, named, first.words | {role}, first.data, "path")
        self.made.append((mark, tuple(used)))
        self.taken.update(used)

    def whole_marks(self) -> list[tuple[Shape, frozenset[int]]]:
        """The marks that leave no stroke of a shape over, with the numbers of their shapes."""
        owners: dict[int, set[int]] = {}
        for number, stroke in enumerate(self.strokes):
            owners.setdefault(stroke.shape, set()).add(number)
        marks = [
            (mark, frozenset(self.strokes[i].shape for i in used), used) for mark, used in self.made
        ]
        while True:
            covered = {number for _, _, used in marks for number in used}
            kept = [m for m in marks if all(owners[shape] <= covered for shape in m[1])]
            if len(kept) == len(marks):
                return [(mark, shapes) for mark, shapes, _ in marks]
            marks = kept


def with_figures(
    shapes: Sequence[Shape], ring: shapely.LinearRing, notch: float
) -> tuple[list[Shape], tuple[str, ...]]:
    """Put one line with a role in the place of the strokes that draw a mark.

    Parameters
    ----------
    shapes : sequence of Shape
        Everything on a piece that is not its outline.
    ring : LinearRing
        The outline.
    notch : float
        Longest notch, mm.

    Returns
    -------
    shapes : list of Shape
    said : tuple of str
        What was taken for what, a sentence for each mark that was put together.
    """
    unknown = [shape for shape in shapes if role_of(shape) == "unknown"]
    if not unknown:
        return list(shapes), ()
    canvas = _Canvas(unknown, ring, notch)
    for number, shape in enumerate(unknown):
        chain, points = shape.chain, shape.chain.points
        if chain.curved:
            continue
        if chain.closed and len(points) == 4 and np.ptp(points, axis=0).max() <= LONGEST_BARB_MM:
            canvas.triangles[len(canvas.strokes)] = points[:3]
            canvas.strokes.append(_Stroke(number, points[0], points[1]))
        elif not chain.closed and len(chain.segments) <= MOST_SEGMENTS:
            canvas.strokes += [_Stroke(number, a, b) for a, b in pairwise(points)]
    if len(canvas.strokes) > MOST_STROKES:
        return list(shapes), ()
    for find in (_find_brackets, _find_arrows, _darts_and_notches, _find_bars, _find_crosses):
        find(canvas)
    marks = canvas.whole_marks()
    gone = {id(unknown[number]) for _, numbers in marks for number in numbers}
    kept = []
    for shape in (one for one in shapes if id(one) not in gone):
        chain, points = shape.chain, shape.chain.points[:-1]
        if role_of(shape) == "unknown" and chain.closed and chain.curved and len(points) >= 7:
            away = np.hypot(*(points - (points.min(axis=0) + points.max(axis=0)) / 2).T)
            if np.ptp(away) <= ROUND * 2 * away.max():  # a circle that is drawn as a path
                kept.append(replace(shape, tag="circle"))
                continue
        kept.append(shape)
    made = [mark for mark, _ in marks]
    said = (_WORDS[role] for mark in made for role in _WORDS if role in mark.words)
    return [*kept, *made], tuple(said)


def _find_barbs(canvas: _Canvas, tip: Array, back: Array, but: Sequence[int]) -> list[int]:
    """The strokes of an arrow head at a tip; `back` is the unit vector along its shaft."""
    for number, corners in canvas.triangles.items():
        if number in canvas.taken or number in but:
            continue
        for k in range(3):  # its tip or its base is where the shaft ends
            apex, base = corners[k], (corners[k - 1] + corners[k - 2]) / 2
            length = float(np.hypot(*(base - apex)))
            at_end = min(math.dist(apex, tip), math.dist(base, tip)) <= MEETS_MM
            if at_end and length > 0 and float((base - apex) @ back) / length >= HEAD_COS:
                return [number]
    found: list[int] = []
    sides: list[float] = []
    for number, stroke, end in canvas.at(tip, but):
        away = stroke.from_end(end)
        turn = math.degrees(math.acos(float(np.clip(away @ back, -1.0, 1.0))))
        if stroke.length <= LONGEST_BARB_MM and BARB_DEG[0] <= turn <= BARB_DEG[1]:
            found.append(number)
            sides.append(float(back[0] * away[1] - back[1] * away[0]))
    if not sides or (len(found) == 2 and sides[0] * sides[1] > 0):
        return []
    if len(found) < 2:
        return found
    sides_of_head = (canvas.strokes[i] for i in found[:2])
    far = [s.b if math.dist(s.a, tip) <= MEETS_MM else s.a for s in sides_of_head]
    return found + [
        i
        for i, s in canvas.free()
        if i not in found
        and any(
            max(math.dist(s.a, one), math.dist(s.b, other)) <= MEETS_MM
            for one, other in (far, far[::-1])
        )
    ]


def _find_arrows(canvas: _Canvas) -> None:
    """A long stroke off the outline with a head, drawn or by its style, is a grain line."""
    shafts = sorted(canvas.free(), key=lambda item: -item[1].length)
    for number, stroke in shafts:
        if number in canvas.taken or stroke.length < SHORTEST_SHAFT_MM:
            continue
        heads: list[int] = []
        for end in (stroke.a, stroke.b):
            heads += _find_barbs(canvas, end, stroke.from_end(end), (number, *heads))
        longest = max((canvas.strokes[i].length for i in heads), default=0.0)
        shape = canvas.shapes[stroke.shape]
        headed = heads or (shape.headed and len(shape.chain.segments) == 1)
        if headed and longest <= 0.5 * stroke.length:
            canvas.make("grain", (stroke.a, stroke.b), (number, *heads))


def _find_brackets(canvas: _Canvas) -> None:
    """A stroke along an edge with an arm at each end, both with a head toward it: a fold."""
    for number, base in sorted(canvas.free(), key=lambda item: -item[1].length):
        if number in canvas.taken or base.length < SHORTEST_SHAFT_MM:
            continue
        arms = [_find_arm(canvas, number, base, end) for end in (base.a, base.b)]
        if arms[0] is None or arms[1] is None:
            continue
        (first, one, heads), (second, two, more) = arms[0], arms[1]
        if first == second or (not heads and not more):
            continue
        same_side = float((one - base.a) @ (two - base.b)) > 0
        nearer = canvas.gap(one) < canvas.gap(base.a) and canvas.gap(two) < canvas.gap(base.b)
        if same_side and nearer and max(canvas.gap(one), canvas.gap(two)) <= LONGEST_ARM_MM:
            along = canvas.ring.project(shapely.points([one, two]))
            places = shapely.get_coordinates(canvas.ring.interpolate(along))
            canvas.make("fold", places, (number, first, second, *heads, *more))


def _find_arm(
    canvas: _Canvas, number: int, base: _Stroke, end: Array
) -> tuple[int, Array, list[int]] | None:
    """The stroke square to a base at its end, its tip, and the head on it."""
    along = base.from_end(end)
    for other, stroke, near in canvas.at(end, (number,)):
        away = stroke.from_end(near)
        square = abs(math.degrees(math.asin(float(np.clip(away @ along, -1.0, 1.0)))))
        if square <= SQUARE_DEG and 2.0 <= stroke.length <= LONGEST_ARM_MM:
            tip = stroke.other_end(near)
            heads = _find_barbs(canvas, tip, stroke.from_end(tip), (number, other))
            return other, tip, heads
    return None


def _darts_and_notches(canvas: _Canvas) -> None:
    """Two strokes from one point to the outline: a dart when they are long, else a notch."""
    feet = {
        number: [canvas.gap(end) <= ON_OUTLINE_MM / 2 for end in (stroke.a, stroke.b)]
        for number, stroke in canvas.free()
    }
    legs = [(number, canvas.strokes[number]) for number, on in feet.items() if sum(on) == 1]
    for number, stroke in legs:
        if number in canvas.taken:
            continue
        tip, foot = (stroke.b, stroke.a) if feet[number][0] else (stroke.a, stroke.b)
        for other, leg, end in canvas.at(tip, (number,)):
            if other not in feet or sum(feet[other]) != 1:
                continue
            end_foot = leg.other_end(end)
            mouth = math.dist(foot, end_foot)
            less, more = sorted((stroke.length, leg.length))
            longest, apart = max(more, mouth), more - less
            in_reach = less >= SHORT_MM and more <= LEG_MM and apart <= DRAWN_LEGS_MM
            if longest <= canvas.notch and apart <= 0.2 * more + MEETS_MM:
                role = "notch"
            elif in_reach and SLASH_MM <= mouth <= MOUTH_MM and mouth < less:
                role = "dart"
            else:
                continue
            if canvas.gap(end_foot) <= ON_OUTLINE_MM / 2:
                canvas.make(role, (foot, tip, end_foot), (number, other))
                break


def _find_bars(canvas: _Canvas) -> None:
    """A stroke with a bar across its end: a notch on the outline, with two a buttonhole."""
    for number, stem in sorted(canvas.free(), key=lambda item: -item[1].length):
        if number in canvas.taken or stem.length > 3 * canvas.notch:
            continue
        bars: dict[int, Array] = {}
        on = [canvas.gap(end) <= ON_OUTLINE_MM / 2 for end in (stem.a, stem.b)]
        for end in (stem.a, stem.b):
            widest = 0.9 * stem.length
            if (
                sum(on) == 1 and not on[end is stem.b]
            ):  # the bar of a T may be as wide as it is long
                widest = max(widest, min(2.0 * stem.length, canvas.notch))
            for i, bar in canvas.free():
                apart = math.dist((bar.a + bar.b) / 2, end)
                if i == number or bar.length > widest or apart > MEETS_MM:
                    continue
                across = float((bar.b - bar.a) @ (stem.b - stem.a))
                across /= max(bar.length * stem.length, 1e-9)
                if abs(math.degrees(math.asin(max(-1.0, min(1.0, across))))) <= SQUARE_DEG:
                    bars[i] = end
        if len(bars) == 1 and any(on) and stem.length <= canvas.notch:
            foot = min((stem.a, stem.b), key=canvas.gap)
            canvas.make("notch", (foot, stem.other_end(foot)), (number, *bars))
        elif len(bars) == 2 and not any(on) and len({id(end) for end in bars.values()}) == 2:
            canvas.make("line", (stem.a, stem.b), (number, *bars), name="buttonhole")


def _find_crosses(canvas: _Canvas) -> None:
    """Two short strokes across each other, inside the piece: a drill mark."""
    for number, stroke in list(canvas.free()):
        if number in canvas.taken or stroke.length > LARGEST_DRILL_MM:
            continue
        middle = (stroke.a + stroke.b) / 2
        if canvas.gap(middle) <= ON_OUTLINE_MM:
            continue
        for other, across in canvas.free():
            meets = math.dist((across.a + across.b) / 2, middle) <= MEETS_MM
            if other != number and meets and across.length <= LARGEST_DRILL_MM:
                canvas.make("drill", (middle - 0.5, middle + 0.5), (number, other))
                break
