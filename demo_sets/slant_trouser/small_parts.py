"""Waistband, fly, welt, welt bag and belt loop of the slant trouser."""

from __future__ import annotations

import numpy as np

from demo_sets.drafting import Bezier, along, cut, length, unit
from demo_sets.drawing import Drawing
from propagate.pattern.model import Array

__all__ = [
    "WELT_LENGTH",
    "draw_belt_loop",
    "draw_fly_extension",
    "draw_fly_shield",
    "draw_waistband",
    "draw_welt",
    "draw_welt_bag",
]

CLEAR = 0.3  # no chord shorter than this where a line is cut
BAND_WIDTH = 40.0
BAND_EXTENSION = 38.0
FLY_WIDTH = 40.0
SHIELD_WIDTH = 44.0
WELT_LENGTH = 130.0
WELT_WIDTH = 28.0  # folded in half along its length


def _rectangle(drawing: Drawing, width: float, height: float, names: tuple[str, ...]) -> None:
    corners = np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)])
    for name, begin, end in zip(names, corners[:-1], corners[1:], strict=True):
        drawing.edge(name, np.array([begin, end]))


def draw_waistband(front: float, facing: float, back: float) -> Drawing:
    """A straight strip: the extension, then every part of the waist all the way round.

    The three lengths are those of the front's, the facing's and the back's waist.
    """
    marks = {
        "front_right": BAND_EXTENSION,
        "pocket_right": front,
        "side_right": facing,
        "centre_back": back,
        "side_left": back,
        "pocket_left": facing,
    }
    drawing = Drawing()
    total = BAND_EXTENSION + 2 * (front + facing + back)
    _rectangle(drawing, total, BAND_WIDTH, ("lower", "front_left", "upper", "extension"))
    place = 0.0
    for name, step in marks.items():
        place += step
        drawing.mark(name, "lower", (place, 0.0))
    drawing.grain = ((0.3 * total, BAND_WIDTH / 2), (0.5 * total, BAND_WIDTH / 2))
    drawing.label = ((0.7 * total, BAND_WIDTH / 2), 0.0)
    return drawing


def draw_fly_extension(waist: Array, centre: Array, notch: float) -> Drawing:
    """The facing of the left front's fly, cut on the front's waist and centre.

    `waist` runs from the centre, `centre` up to the waist; `notch` is how far below the
    waist the fly ends.
    """
    drawing = Drawing()
    sewn = cut(centre, length(centre) - notch, clear=CLEAR)
    top = cut(waist, 0.0, FLY_WIDTH, clear=CLEAR)
    up = (sewn[-1] - sewn[0]) / np.hypot(*(sewn[-1] - sewn[0]))
    turn = top[-1] - 0.72 * notch * up
    straight = (turn - top[-1]) / 3
    line = Bezier(np.array([top[-1], top[-1] + straight, turn - straight, turn]))
    bend = Bezier.hermite(turn, -up, sewn[0], unit(-12.0), (0.2 * notch, 0.4 * FLY_WIDTH))
    drawing.edge("centre", sewn)
    drawing.edge("waist", top)
    drawing.edge_of_beziers("outer", line, bend)
    inside = np.array([-up[1], up[0]])
    grain = sewn[0] + 0.35 * notch * up + 14.0 * inside
    drawing.grain = (grain, grain + 0.5 * notch * up)
    drawing.label = (along(sewn, 0.6 * notch) + 26.0 * inside, 90.0)
    return drawing


def draw_fly_shield(centre: Array, notch: float) -> Drawing:
    """The shield behind the fly: sewn to the right front, it reaches beyond the centre."""
    drawing = Drawing()
    sewn = cut(centre, length(centre) - notch, clear=CLEAR)[::-1]
    up = (sewn[0] - sewn[-1]) / np.hypot(*(sewn[0] - sewn[-1]))
    out = np.array([up[1], -up[0]])
    low, high = sewn[-1] + SHIELD_WIDTH * 0.7 * out, sewn[0] + SHIELD_WIDTH * out
    drawing.edge("centre", sewn)
    drawing.edge("lower", np.array([sewn[-1], low]))
    drawing.edge("outer", np.array([low, high]))
    drawing.edge("waist", np.array([high, sewn[0]]))
    middle = sewn[-1] + SHIELD_WIDTH / 2 * out
    drawing.grain = (middle + 0.3 * notch * up, middle + 0.8 * notch * up)
    drawing.label = (middle + 0.5 * notch * up - 8.0 * out, 90.0)
    return drawing


def draw_welt() -> Drawing:
    """The welt of the back pocket, folded along its length; the same in every size."""
    drawing = Drawing()
    _rectangle(drawing, WELT_LENGTH, WELT_WIDTH, ("sewn", "right", "inner", "left"))
    half = WELT_WIDTH / 2
    drawing.lines.append(("fold", np.array([(0.0, half), (WELT_LENGTH, half)])))
    drawing.grain = ((20.0, half + 6.0), (WELT_LENGTH - 20.0, half + 6.0))
    drawing.label = ((WELT_LENGTH / 2, half - 6.0), 0.0)
    return drawing


def draw_welt_bag(depth: float) -> Drawing:
    """The bag of the back pocket; both layers are alike."""
    drawing = Drawing()
    wide, bend = WELT_LENGTH + 24.0, 24.0
    hook = 0.5523 * bend  # handle of a quarter circle
    down, up, east = (0.0, -1.0), (0.0, 1.0), (1.0, 0.0)
    drawing.edge("left", np.array([(0.0, depth), (0.0, bend)]))
    flat = np.array([(bend, 0.0), (wide - bend, 0.0)])
    third = (flat[1] - flat[0]) / 3
    drawing.edge_of_beziers(
        "bottom",
        Bezier.hermite((0.0, bend), down, flat[0], east, (hook, hook)),
        Bezier(np.array([flat[0], flat[0] + third, flat[1] - third, flat[1]])),
        Bezier.hermite(flat[1], east, (wide, bend), up, (hook, hook)),
    )
    drawing.edge("right", np.array([(wide, bend), (wide, depth)]))
    drawing.edge("top", np.array([(wide, depth), (0.0, depth)]))
    for name, place in (("welt_right", wide - 12.0), ("welt_left", 12.0)):
        drawing.mark(name, "top", (place, depth))
    drawing.grain = ((wide / 2, 0.25 * depth), (wide / 2, 0.75 * depth))
    drawing.label = ((wide / 2 + 20.0, depth / 2), 90.0)
    return drawing


def draw_belt_loop() -> Drawing:
    """A belt loop: the same in every size."""
    drawing = Drawing()
    _rectangle(drawing, 24.0, 70.0, ("lower", "right", "upper", "left"))
    drawing.lines.append(("fold", np.array([(12.0, 0.0), (12.0, 70.0)])))
    drawing.grain = ((6.0, 15.0), (6.0, 55.0))
    drawing.label = ((18.0, 35.0), 90.0)
    return drawing
