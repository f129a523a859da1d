"""The slant pocket: mouth, facing, under bag and top bag, cut from the full front.

All layers are drafted in place on the front; each is stored in a frame of its own.
The mouth and the shape of the bags are the same in every size.
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
from demo_sets.slant_trouser.mains import Main
from propagate.pattern.model import Array

__all__ = ["Pocket", "draw_facing", "draw_pocket", "draw_top_bag", "draw_under_bag"]

MOUTH_LENGTH = 165.0
MOUTH_BOW = 5.0  # the mouth is scooped this much towards the centre
FACING_BEHIND = 28.0  # facing behind the mouth
FACING_BELOW = 25.0  # facing down the side below the mouth
BAG_BEYOND = 62.0  # bag along the waist, from the mouth towards the centre
BAG_BELOW = 75.0  # bag down the side below the mouth
CLEAR = 0.3  # no chord shorter than this where a line is cut
BAG_DEPTH = 108.0  # depth of the bag below the mouth's lower end


@dataclass(frozen=True, eq=False)
class Pocket:
    """The full front with the mouth on it, and the bags' free edge.

    `top` and `low` are the mouth's ends as distances along the front's waist and side.
    """

    front: Main
    mouth: Array
    top: float
    low: float
    bag: tuple[Bezier, ...]

    @property
    def waist_bag(self) -> float:
        """Where the bags begin on the waist."""
        return self.top - BAG_BEYOND

    @property
    def side_bag(self) -> float:
        """Where the bags end on the side."""
        return self.low + BAG_BELOW


def _mouth_shape() -> Array:
    """The mouth from (0, 0) along the x axis, bowed to the left, `MOUTH_LENGTH` long."""

    def shape(chord: float) -> Bezier:
        lift = MOUTH_BOW * 4 / 3
        points = [(0.0, 0.0), (0.3 * chord, lift), (0.72 * chord, lift), (chord, 0.0)]
        return Bezier(np.array(points))

    (chord,) = solve(lambda x: length(flatten(shape(x[0]))) - MOUTH_LENGTH, [MOUTH_LENGTH])
    return flatten(shape(chord))


def draw_pocket(front: Main, from_side: float) -> Pocket:
    """Lay the mouth on the full front.

    It begins on the waist, `from_side` mm from the side corner, and swings about that
    point until its lower end lies on the side.
    """
    if front.curves is None:
        raise ValueError("the mouth is laid on a front that keeps its curves")
    waist, side = front.curves
    shape = _mouth_shape()
    chord = float(shape[-1, 0])
    (on_waist,) = solve(lambda t: curve_length(waist, t[0], 1.0) - from_side, [0.8])
    (pivot,) = waist(np.array([on_waist]))
    (on_side,) = solve(lambda t: np.hypot(*(side(t)[0] - pivot)) - chord, [0.75])
    front = front.with_vertices(on_waist, on_side)
    (foot,) = side(np.array([on_side]))
    top, low = locate(front.waist, pivot), locate(front.side, foot)
    axis = (foot - pivot) / np.hypot(*(foot - pivot))
    mouth = pivot + shape @ np.array([axis, [-axis[1], axis[0]]])
    mouth[0], mouth[-1] = pivot, foot
    return Pocket(front, mouth, top, low, _bag(front, top, low))


def _bag(front: Main, top: float, low: float) -> tuple[Bezier, ...]:
    """The bag's free edge from the side round the bottom up to the waist."""
    foot = along(front.side, low)
    begin = along(front.side, low + BAG_BELOW)
    end = along(front.waist, top - BAG_BEYOND)
    bottom = foot + np.array([66.0, -BAG_DEPTH])
    right = foot + np.array([136.0, -38.0])
    inwards = np.array([0.75, -0.66]) / np.hypot(0.75, 0.66)
    up = (end - right) / np.hypot(*(end - right)) * [0.6, 1.0]
    up = up / np.hypot(*up)
    return (
        Bezier.hermite(begin, inwards, bottom, (1.0, 0.0), (26.0, 30.0)),
        Bezier.hermite(bottom, (1.0, 0.0), right, (0.0, 1.0), (38.0, 40.0)),
        Bezier.hermite(right, (0.0, 1.0), end, up, (52.0, 60.0)),
    )


def draw_facing(pocket: Pocket) -> Drawing:
    """The facing: the corner that the front has lost, and a strip behind the mouth."""
    drawing = Drawing()
    end = pocket.low + FACING_BELOW
    behind = offset_left(pocket.mouth, FACING_BEHIND)
    head, tail = behind[0] - behind[1], behind[-1] - behind[-2]
    line = np.concatenate(
        [
            [behind[0] + 40.0 * head / np.hypot(*head)],
            behind,
            [behind[-1] + 120.0 * tail / np.hypot(*tail)],
        ]
    )
    on_line, begin = crossing(line, pocket.front.waist)
    foot = along(pocket.front.side, end)
    down = foot - along(pocket.front.side, end - 1.0)
    square = np.array([foot, foot + 200.0 * np.array([-down[1], down[0]])])
    off_line, reach = crossing(line, square)
    inner = cut(line, on_line, off_line, clear=CLEAR)
    corner = along(square, reach)
    waist, side = (
        cut(pocket.front.waist, begin, clear=CLEAR),
        cut(pocket.front.side, 0.0, end, clear=CLEAR),
    )
    inner[0], inner[-1] = waist[0], corner
    drawing.edge("waist", waist)
    drawing.edge("side", side)
    drawing.edge("lower", np.array([side[-1], corner]))
    drawing.edge("inner", inner[::-1])
    _opening_ends(drawing, pocket)
    return drawing


def draw_under_bag(pocket: Pocket) -> Drawing:
    """The under bag: lies on the body and reaches the waist and the side seam."""
    drawing = Drawing()
    drawing.edge("waist", cut(pocket.front.waist, pocket.waist_bag, clear=CLEAR))
    drawing.edge("side", cut(pocket.front.side, 0.0, pocket.side_bag, clear=CLEAR))
    _bag_edge(drawing, pocket)
    _opening_ends(drawing, pocket)
    return drawing


def draw_top_bag(pocket: Pocket) -> Drawing:
    """The top bag: lies behind the front and ends at the mouth."""
    drawing = Drawing()
    drawing.edge("waist", cut(pocket.front.waist, pocket.waist_bag, pocket.top, clear=CLEAR))
    drawing.edge("mouth", pocket.mouth)
    drawing.edge("side", cut(pocket.front.side, pocket.low, pocket.side_bag, clear=CLEAR))
    _bag_edge(drawing, pocket)
    return drawing


def _bag_edge(drawing: Drawing, pocket: Pocket) -> None:
    points = join(*(flatten(bezier) for bezier in pocket.bag))
    drawing.edge("bag", points)
    drawing.mark("bag_notch", "bag", along(points, 0.45 * length(points)))


def _opening_ends(drawing: Drawing, pocket: Pocket) -> None:
    drawing.mark("mouth_top", "waist", pocket.mouth[0], "mark")
    drawing.mark("mouth_low", "side", pocket.mouth[-1], "mark")
