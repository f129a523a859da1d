"""The scoop pocket of the quay jeans: mouth, facing with its coin pocket, under bag and top bag.

All layers are drafted in place on the full front.  The mouth, the coin pocket and the shape of
the bags are the same in every size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import (
    Bezier,
    along,
    crossing,
    curve_length,
    cut,
    flatten,
    join,
    length,
    locate,
    offset_left,
    solve,
)
from demo_sets.drawing import Drawing
from demo_sets.quay_jeans.mains import Front
from propagate.pattern.model import Array

__all__ = ["Pocket", "draw_coin_pocket", "draw_facing", "draw_pocket", "draw_top_bag"]

MOUTH_LENGTH = 135.0
MOUTH_BOW = 24.0  # the mouth is scooped this much towards the centre
FACING_BEHIND = 34.0  # facing behind the mouth
BAG_BEYOND = 34.0  # bag along the waist, from the mouth towards the centre
BAG_BELOW = 70.0  # bag down the side below the mouth
BAG_DEPTH = 150.0  # depth of the bag below the mouth's lower end
CLEAR = 0.3  # no chord shorter than this where a line is cut

COIN_WIDTH, COIN_DEPTH, COIN_POINT = 56.0, 50.0, 8.0
COIN_FROM_SIDE, COIN_FROM_WAIST = 16.0, 33.0


@dataclass(frozen=True, eq=False)
class Pocket:
    """The full front with the mouth on it, and the bags' free edge.

    `top` and `low` are the mouth's ends as distances along the front's waist and side.
    """

    front: Front
    mouth: Array
    top: float
    low: float
    bag: tuple[Bezier, ...]

    @property
    def side(self) -> Array:
        """The side of the full front."""
        return self.front.leg.side


def _mouth_shape() -> Array:
    """The mouth from (0, 0) along the x axis, bowed to the left, `MOUTH_LENGTH` long."""

    def shape(chord: float) -> Bezier:
        lift = MOUTH_BOW * 4 / 3
        points = [(0.0, 0.0), (0.22 * chord, lift), (0.70 * chord, lift), (chord, 0.0)]
        return Bezier(np.array(points))

    (chord,) = solve(lambda x: length(flatten(shape(x[0]))) - MOUTH_LENGTH, [0.9 * MOUTH_LENGTH])
    return flatten(shape(chord))


def draw_pocket(front: Front, from_side: float) -> Pocket:
    """Lay the mouth on the full front.

    It begins on the waist, `from_side` mm from the side corner, and swings about that
    point until its lower end lies on the side.
    """
    waist, side = front.curves
    shape = _mouth_shape()
    chord = float(shape[-1, 0])
    (on_waist,) = solve(lambda t: curve_length(waist, t[0], 1.0) - from_side, [0.6])
    (pivot,) = waist(np.array([on_waist]))
    (on_side,) = solve(lambda t: np.hypot(*(side(t)[0] - pivot)) - chord, [0.55])
    front = front.with_vertices(on_waist, on_side)
    (foot,) = side(np.array([on_side]))
    top, low = locate(front.waist, pivot), locate(front.leg.side, foot)
    axis = (foot - pivot) / np.hypot(*(foot - pivot))
    mouth = pivot + shape @ np.array([axis, [-axis[1], axis[0]]])
    mouth[0], mouth[-1] = pivot, foot
    return Pocket(front, mouth, top, low, _bag(front, top, low))


def _bag(front: Front, top: float, low: float) -> tuple[Bezier, ...]:
    """The bag's free edge from the side round the bottom up to the waist."""
    foot = along(front.leg.side, low)
    begin = along(front.leg.side, low + BAG_BELOW)
    end = along(front.waist, top - BAG_BEYOND)
    bottom = foot + np.array([76.0, -BAG_DEPTH])
    right = foot + np.array([152.0, -62.0])
    inwards = np.array([0.75, -0.66]) / np.hypot(0.75, 0.66)
    up = (end - right) / np.hypot(*(end - right)) * [0.6, 1.0]
    up = up / np.hypot(*up)
    return (
        Bezier.hermite(begin, inwards, bottom, (1.0, 0.0), (36.0, 36.0)),
        Bezier.hermite(bottom, (1.0, 0.0), right, (0.0, 1.0), (42.0, 46.0)),
        Bezier.hermite(right, (0.0, 1.0), end, up, (46.0, 50.0)),
    )


# --- the layers -----------------------------------------------------------------------


def draw_facing(pocket: Pocket) -> Drawing:
    """The facing: the corner that the front has lost, and a strip behind the mouth."""
    drawing = Drawing()
    behind = offset_left(pocket.mouth, FACING_BEHIND)
    head, tail = behind[0] - behind[1], behind[-1] - behind[-2]
    line = np.concatenate(
        [
            [behind[0] + 60.0 * head / np.hypot(*head)],
            behind,
            [behind[-1] + 60.0 * tail / np.hypot(*tail)],
        ]
    )
    on_line, begin = crossing(line, pocket.front.waist)
    off_line, end = crossing(line, pocket.side)
    inner = cut(line, on_line, off_line, clear=CLEAR)
    waist = cut(pocket.front.waist, begin, clear=CLEAR)
    side = cut(pocket.side, 0.0, end, clear=CLEAR)
    inner[0], inner[-1] = waist[0], side[-1]
    drawing.edge("waist", waist)
    drawing.edge("side", side)
    drawing.edge("inner", inner[::-1])
    _opening_ends(drawing, pocket)
    place = coin_place(pocket)
    drawing.lines.append(("coin_place", place))
    drawing.drills += [
        ("coin_side", _inside(place[0], place)),
        ("coin_front", _inside(place[-1], place)),
    ]
    return drawing


def coin_shape() -> Array:
    """Outline of the coin pocket without its upper edge, from its upper left corner round."""
    wide, deep = COIN_WIDTH, COIN_DEPTH
    corners = [(0.0, 0.0), (0.0, -deep), (wide / 2, -deep - COIN_POINT), (wide, -deep), (wide, 0.0)]
    return np.array(corners)


def coin_place(pocket: Pocket) -> Array:
    """Where the coin pocket is stitched on the facing: beside the side seam, below the waist."""
    corner = pocket.side[0]
    depth = locate(pocket.side, corner - [0.0, COIN_FROM_WAIST])
    beside = along(pocket.side, depth)
    return coin_shape() + beside + np.array([COIN_FROM_SIDE, 0.0])


def _inside(corner: Array, place: Array) -> Array:
    """A drill hole 3 mm inside a corner, so that the pocket covers it."""
    middle = place.mean(axis=0)
    return corner + 3.0 * np.sign(middle - corner)


def draw_under_bag(pocket: Pocket) -> Drawing:
    """The under bag: lies on the body and reaches the waist and the side seam."""
    drawing = Drawing()
    drawing.edge("waist", cut(pocket.front.waist, pocket.top - BAG_BEYOND, clear=CLEAR))
    drawing.edge("side", cut(pocket.side, 0.0, pocket.low + BAG_BELOW, clear=CLEAR))
    _bag_edge(drawing, pocket)
    _opening_ends(drawing, pocket)
    return drawing


def draw_top_bag(pocket: Pocket) -> Drawing:
    """The top bag: lies behind the front and ends at the mouth."""
    drawing = Drawing()
    waist = cut(pocket.front.waist, pocket.top - BAG_BEYOND, pocket.top, clear=CLEAR)
    drawing.edge("waist", waist)
    drawing.edge("mouth", pocket.mouth)
    drawing.edge("side", cut(pocket.side, pocket.low, pocket.low + BAG_BELOW, clear=CLEAR))
    _bag_edge(drawing, pocket)
    return drawing


def draw_coin_pocket() -> Drawing:
    """The coin pocket, as it is stitched on; its upper edge is hemmed."""
    drawing = Drawing()
    shape = coin_shape()
    names = ("left", "lower_left", "lower_right", "right")
    for name, begin, end in zip(names, shape[:-1], shape[1:], strict=True):
        drawing.edge(name, [begin, end])
    drawing.edge("upper", [shape[-1], shape[0]])
    drawing.grain = ((COIN_WIDTH / 2, -COIN_DEPTH), (COIN_WIDTH / 2, -10.0))
    drawing.label = ((COIN_WIDTH / 2 - 12.0, -COIN_DEPTH / 2), 90.0)
    return drawing


def _bag_edge(drawing: Drawing, pocket: Pocket) -> None:
    points = join(*(flatten(bezier) for bezier in pocket.bag))
    drawing.edge("bag", points)
    drawing.mark("bag_notch", "bag", along(points, 0.45 * length(points)))


def _opening_ends(drawing: Drawing, pocket: Pocket) -> None:
    drawing.mark("mouth_top", "waist", pocket.mouth[0], "mark")
    drawing.mark("mouth_low", "side", pocket.mouth[-1], "mark")
