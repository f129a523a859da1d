"""The sleeve of the ferry shirt, its cap one edge, and its cuff and placket."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import Bezier, along, flatten, join, length, solve
from demo_sets.drawing import Drawing
from propagate.pattern.model import Array

__all__ = ["CapAsks", "draw_cuff", "draw_placket", "draw_sleeve"]

CUFF_WIDTH = 62.0
CUFF_EASE = 70.0  # of the closed cuff over the wrist
UNDERLAP = 24.0
PLEAT = 20.0  # what the pleat takes of the wrist edge
SLIT = 130.0
SLIT_FROM = 0.2  # of the wrist edge, from the back underarm
PLACKET_WIDTH = 32.0


@dataclass(frozen=True)
class CapAsks:
    """How long the cap has to be on both sides of its top, mm, and where its notches lie.

    `front` runs from the front underarm up to the top, `back` from the top down; the notches
    are counted from the two ends of the cap.
    """

    front: float
    back: float
    front_notch: float
    back_notch: float
    high: float


def draw_sleeve(asks: CapAsks, arm: float, wrist: float) -> Drawing:
    """Draft a sleeve: front at the right, the wrist level with the cap's height below 0."""
    front, back = _cap_side(asks.front, asks.high, 0.50), _cap_side(asks.back, asks.high, 0.44)
    cap = join(front, (back * (-1.0, 1.0))[::-1])
    right, left = float(front[0, 0]), float(back[0, 0])
    low = asks.high - (arm - CUFF_WIDTH)
    around = wrist + CUFF_EASE + PLEAT
    shift = (right - left) / 2.0  # both sides lean alike, so that they are as long
    ends = np.array([[-around / 2.0 + shift, low], [around / 2.0 + shift, low]])
    reach = -low / 3.0

    def side(foot: Array, top: Array) -> Array:
        return flatten(Bezier.hermite(foot, (0.0, 1.0), top, (0.0, 1.0), (reach, reach)))

    drawing = Drawing()
    drawing.edge("wrist", ends)
    drawing.edge("side_front", side(ends[1], cap[0]))
    drawing.edge("cap", cap)
    drawing.edge("side_back", side(ends[0], cap[-1])[::-1])
    slit = ends[0] + np.array([SLIT_FROM * around, 0.0])
    top = slit + np.array([0.0, SLIT])
    drawing.mark("slit", "wrist", slit)
    for name, place in (("pleat_under", 40.0), ("pleat_over", 40.0 + PLEAT)):
        drawing.mark(name, "wrist", slit + np.array([place, 0.0]))
    drawing.mark("front_notch", "cap", along(cap, asks.front_notch))
    drawing.mark("top", "cap", along(cap, asks.front))
    drawing.mark("back_notch", "cap", along(cap, length(cap) - asks.back_notch))
    drawing.lines.append(("slit_line", np.array([slit, top])))
    drawing.drills.append(("slit_end", top))
    drawing.grain = ((0.0, low + 60.0), (0.0, asks.high - 40.0))
    drawing.levels = {"elbow": (0.0, 0.45 * low)}
    drawing.label = ((25.0, 0.6 * low), 90.0)
    return drawing


def _cap_side(wanted: float, high: float, pull: float) -> Array:
    """From the underarm up to the top of the cap; the width is solved for."""

    def line(wide: float) -> Array:
        handles = (pull * wide, 0.52 * wide)
        return flatten(Bezier.hermite((wide, 0.0), (-1.0, 0.0), (0.0, high), (-1.0, 0.0), handles))

    (wide,) = solve(lambda x: length(line(float(x[0]))) - wanted, 0.8 * wanted, close=1e-4)
    return line(float(wide))


def draw_cuff(wrist: float) -> Drawing:
    """A straight strip: from the slit round by the front to the slit again, and the underlap."""
    around = wrist + CUFF_EASE
    back = SLIT_FROM * (around + PLEAT)
    long = around + UNDERLAP
    corners = np.array([(0.0, 0.0), (long, 0.0), (long, CUFF_WIDTH), (0.0, CUFF_WIDTH), (0.0, 0.0)])
    drawing = Drawing()
    for name, k in (("sewn", 0), ("under_end", 1), ("lower", 2), ("over_end", 3)):
        drawing.edge(name, corners[k : k + 2])
    drawing.mark("side", "sewn", (around - back, 0.0))
    drawing.mark("under", "sewn", (around, 0.0))
    middle = CUFF_WIDTH / 2.0
    drawing.lines.append(("buttonhole", np.array([(12.0, middle), (28.0, middle)])))
    drawing.drills.append(("button", np.array([around + 12.0, middle])))
    drawing.grain = ((0.3 * long, middle), (0.7 * long, middle))
    drawing.label = ((0.5 * long, middle + 10.0), 0.0)
    return drawing


def draw_placket() -> Drawing:
    """The placket of the slit; the same in every size."""
    high = SLIT + 30.0
    corners = np.array(
        [(0.0, 0.0), (PLACKET_WIDTH, 0.0), (PLACKET_WIDTH, high), (0.0, high), (0.0, 0.0)]
    )
    drawing = Drawing()
    for name, k in (("lower", 0), ("right", 1), ("top", 2), ("left", 3)):
        drawing.edge(name, corners[k : k + 2])
    drawing.lines.append(("fold", np.array([(PLACKET_WIDTH / 2, 0.0), (PLACKET_WIDTH / 2, high)])))
    drawing.grain = ((8.0, 20.0), (8.0, high - 20.0))
    drawing.label = ((24.0, high / 2.0), 90.0)
    return drawing
