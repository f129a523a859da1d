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

    def from_end(self, end: Array) -> Array:
        """The unit vector away from one of its ends."""
        away = self.b - self.a if end is self.a else self.a - self.b
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
        self.made.append((said_shape(first, chain, role, name), tuple(used)))
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


def said_shape(shape: Shape, chain: Chain, role: str, name: str = "") -> Shape:
    """A shape with another line, said to be a mark."""
    return Shape(chain, name or shape.name, shape.words | {role}, shape.data, "path", shape.group)


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
        if _is_triangle(shape.chain):
            corners = shape.chain.points[:3]
            canvas.triangles[len(canvas.strokes)] = corners
            canvas.strokes.append(_Stroke(number, corners[0], corners[1]))
        else:
            canvas.strokes += _strokes_of(number, shape)
    if len(canvas.strokes) > MOST_STROKES:
        return list(shapes), ()
    for find in (_find_brackets, _find_arrows, _darts_and_notches, _find_bars, _find_crosses):
        find(canvas)
    marks = canvas.whole_marks()
    gone = {id(unknown[number]) for _, numbers in marks for number in numbers}
    kept = [_round_or_same(shape) for shape in shapes if id(shape) not in gone]
    made = [mark for mark, _ in marks]
    said = (_WORDS[role] for mark in made for role in _WORDS if role in mark.words)
    return [*kept, *made], tuple(said)


def _strokes_of(number: int, shape: Shape) -> list[_Stroke]:
    chain = shape.chain
    if chain.closed or chain.curved or len(chain.segments) > MOST_SEGMENTS:
        return []
    points = chain.points
    return [_Stroke(number, a, b) for a, b in pairwise(points)]


def _is_triangle(chain: Chain) -> bool:
    """Whether a line is a triangle as small as an arrow head."""
    points = chain.points
    small = float(np.ptp(points, axis=0).max()) <= LONGEST_BARB_MM
    return chain.closed and not chain.curved and len(points) == 4 and small


def _round_or_same(shape: Shape) -> Shape:
    """A circle that is drawn as a path, as a circle."""
    chain = shape.chain
    if role_of(shape) != "unknown" or not chain.closed or len(chain.points) < 8:
        return shape
    points = chain.points[:-1]
    away = np.hypot(*(points - (points.min(axis=0) + points.max(axis=0)) / 2).T)
    even = float(np.ptp(away)) <= ROUND * 2 * float(away.max())
    return replace(shape, tag="circle") if even and chain.curved else shape


# ------------------------------------------------------------------------------------ arrows


def _find_barbs(canvas: _Canvas, tip: Array, back: Array, but: Sequence[int]) -> list[int]:
    """The strokes of an arrow head at a tip; `back` is the unit vector along its shaft."""
    solid = [i for i, corners in canvas.triangles.items() if _points_out(corners, tip, back)]
    solid = [i for i in solid if i not in canvas.taken and i not in but]
    if solid:
        return solid[:1]
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
    far = [_far(canvas.strokes[i], tip) for i in found[:2]]
    return found + [i for i, s in canvas.free() if i not in found and _spans(s, far[0], far[1])]


def _points_out(corners: Array, tip: Array, back: Array) -> bool:
    """Whether a triangle is the head of an arrow: its tip, or its base, where the shaft ends."""
    for k in range(3):
        apex, base = corners[k], (corners[k - 1] + corners[k - 2]) / 2
        axis = base - apex
        length = float(np.hypot(*axis))
        at_end = min(math.dist(apex, tip), math.dist(base, tip)) <= MEETS_MM
        if at_end and length > 0 and float(axis @ back) / length >= HEAD_COS:
            return True
    return False


def _far(stroke: _Stroke, tip: Array) -> Array:
    return stroke.b if math.dist(stroke.a, tip) <= MEETS_MM else stroke.a


def _spans(stroke: _Stroke, one: Array, other: Array) -> bool:
    return any(
        math.dist(stroke.a, p) <= MEETS_MM and math.dist(stroke.b, q) <= MEETS_MM
        for p, q in ((one, other), (other, one))
    )


def _find_arrows(canvas: _Canvas) -> None:
    """A long stroke with a head at one end or both, away from the outline, is a grain line."""
    shafts = sorted(canvas.free(), key=lambda item: -item[1].length)
    for number, stroke in shafts:
        if number in canvas.taken or stroke.length < SHORTEST_SHAFT_MM:
            continue
        heads: list[int] = []
        for end in (stroke.a, stroke.b):
            heads += _find_barbs(canvas, end, stroke.from_end(end), (number, *heads))
        longest = max((canvas.strokes[i].length for i in heads), default=0.0)
        if heads and longest <= 0.5 * stroke.length:
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
            feet = [_on_ring(canvas.ring, p) for p in (one, two)]
            canvas.make("fold", feet, (number, first, second, *heads, *more))


def _find_arm(
    canvas: _Canvas, number: int, base: _Stroke, end: Array
) -> tuple[int, Array, list[int]] | None:
    """The stroke square to a base at its end, its tip, and the head on it."""
    along = base.from_end(end)
    for other, stroke, near in canvas.at(end, (number,)):
        away = stroke.from_end(near)
        square = abs(math.degrees(math.asin(float(np.clip(away @ along, -1.0, 1.0)))))
        if square <= SQUARE_DEG and 2.0 <= stroke.length <= LONGEST_ARM_MM:
            tip = stroke.b if near is stroke.a else stroke.a
            heads = _find_barbs(canvas, tip, stroke.from_end(tip), (number, other))
            return other, tip, heads
    return None


def _on_ring(ring: shapely.LinearRing, point: Array) -> Array:
    found = ring.interpolate(ring.project(shapely.Point(point)))
    return np.array([found.x, found.y])


# -------------------------------------------------------------------------- on the outline


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
            end_foot = leg.b if end is leg.a else leg.a
            role = _of_two_legs(stroke.length, leg.length, math.dist(foot, end_foot), canvas.notch)
            if role and canvas.gap(end_foot) <= ON_OUTLINE_MM / 2:
                canvas.make(role, (foot, tip, end_foot), (number, other))
                break


def _of_two_legs(first: float, second: float, mouth: float, notch: float) -> str | None:
    less, more = sorted((first, second))
    if more <= notch and mouth <= notch and more - less <= 0.2 * more + MEETS_MM:
        return "notch"
    alike = more - less <= DRAWN_LEGS_MM
    fits = less >= SHORT_MM and more <= LEG_MM and SLASH_MM <= mouth <= MOUTH_MM and mouth < less
    return "dart" if alike and fits else None


def _find_bars(canvas: _Canvas) -> None:
    """A stroke with a bar across its end: a notch on the outline, with two a buttonhole."""
    for number, stem in sorted(canvas.free(), key=lambda item: -item[1].length):
        if number in canvas.taken or stem.length > 3 * canvas.notch:
            continue
        bars = {
            i: end
            for end in (stem.a, stem.b)
            for i, bar in canvas.free()
            if i != number and _is_bar(bar, stem, end)
        }
        on_line = min(canvas.gap(stem.a), canvas.gap(stem.b)) <= ON_OUTLINE_MM / 2
        if len(bars) == 1 and on_line and stem.length <= canvas.notch:
            foot = min((stem.a, stem.b), key=canvas.gap)
            tip = stem.b if foot is stem.a else stem.a
            canvas.make("notch", (foot, tip), (number, *bars))
        elif len(bars) == 2 and not on_line and len({id(end) for end in bars.values()}) == 2:
            canvas.make("line", (stem.a, stem.b), (number, *bars), name="buttonhole")


def _is_bar(bar: _Stroke, stem: _Stroke, end: Array) -> bool:
    """Whether a stroke lies across the end of another, its middle there."""
    if bar.length > 0.9 * stem.length or math.dist((bar.a + bar.b) / 2, end) > MEETS_MM:
        return False
    along = float((bar.b - bar.a) @ (stem.b - stem.a)) / max(bar.length * stem.length, 1e-9)
    return abs(math.degrees(math.asin(max(-1.0, min(1.0, along))))) <= SQUARE_DEG


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
