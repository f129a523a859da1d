"""Button bands, collar stand and collar of the ferry shirt."""

from __future__ import annotations

import math

import numpy as np

from demo_sets.drafting import unit
from demo_sets.drawing import Drawing
from propagate.pattern.model import Array

__all__ = ["draw_band", "draw_collar", "draw_stand", "spaced"]

BAND_WIDTH = 30.0
BUTTONHOLE = 17.0
TOP, BOTTOM, LARGEST = 62.0, 150.0, 92.0  # of the buttons: from the ends, and their spacing
STAND_WIDTH = 32.0
STAND_TURN = 14.0  # degrees that the half stand bends upward to the front
COLLAR_WIDTH = 44.0
POINT = (14.0, 66.0)  # of the collar, from its front end


def spaced(long: float) -> Array:
    """Heights of the buttons over the hem, from the lowest up: as few as can be, evenly."""
    room = long - TOP - BOTTOM
    gaps = math.ceil(room / LARGEST - 1e-9)
    return BOTTOM + room / gaps * np.arange(gaps + 1)


def draw_band(neck: tuple[float, float], hem: float, holes: bool) -> Drawing:
    """A button band, sewn to the front's edge at x = `neck[0]` between hem and neck."""
    x, top = neck
    left, middle = x - BAND_WIDTH, x - BAND_WIDTH / 2.0
    corners = np.array([(left, hem), (x, hem), (x, top), (left, top), (left, hem)])
    drawing = Drawing()
    for name, k in (("hem", 0), ("sewn", 1), ("neck", 2), ("outer", 3)):
        drawing.edge(name, corners[k : k + 2])
    drawing.mark("centre", "neck", (middle, top))
    for number, height in enumerate(spaced(top - hem), 1):
        at = np.array([middle, hem + height])
        if holes:
            half = (0.0, BUTTONHOLE / 2.0)
            drawing.lines.append((f"buttonhole_{number}", np.array([at - half, at + half])))
        else:
            drawing.drills.append((f"button_{number}", at))
    drawing.grain = ((middle - 8.0, hem + 100.0), (middle - 8.0, hem + 300.0))
    drawing.label = ((middle + 8.0, hem + 330.0), 90.0)
    return drawing


def draw_stand(back_neck: float, front_neck: float, band: float) -> Drawing:
    """Half a collar stand: an arc that rises to the front, as long as the neck it is sewn to."""
    long = back_neck + front_neck + band
    radius = long / math.radians(STAND_TURN)

    def at(along: float, up: float) -> Array:
        turn = math.degrees(along / radius)
        return np.array([0.0, radius]) + (radius - up) * unit(turn - 90.0)

    places = np.linspace(0.0, long, 41)
    low = np.array([at(place, 0.0) for place in places])
    high = np.array([at(place, STAND_WIDTH) for place in places])
    drawing = Drawing()
    drawing.edge("neck", low)
    drawing.edge("front_end", np.array([low[-1], high[-1]]))
    drawing.edge("top", high[::-1])
    drawing.edge("centre", np.array([high[0], low[0]]))
    for name, place in (("shoulder", back_neck), ("centre_front", long - band / 2.0)):
        drawing.mark(name, "neck", _on(low, long, place))
        drawing.mark(f"{name}_top", "top", _on(high, long, place))
    middle = STAND_WIDTH / 2.0
    hole = np.array([at(long - band / 2.0 - 8.0, middle), at(long - band / 2.0 + 8.0, middle)])
    drawing.lines.append(("buttonhole", hole))
    drawing.grain = ((0.0 + 12.0, 6.0), (12.0, STAND_WIDTH - 6.0))
    drawing.label = (at(0.35 * long, middle), 0.0)
    return drawing


def _on(line: Array, long: float, place: float) -> Array:
    """The point of an arc of 40 chords at a share of it."""
    part = place / long * (len(line) - 1)
    k = min(int(part), len(line) - 2)
    return np.asarray(line[k] + (part - k) * (line[k + 1] - line[k]))


def draw_collar(back: float, front: float) -> Drawing:
    """Half a collar; its outer edge falls to the point."""
    long = back + front
    point = (long + POINT[0], POINT[1])
    drawing = Drawing()
    drawing.edge("sewn", np.array([(0.0, 0.0), (long, 0.0)]))
    drawing.edge("front_end", np.array([(long, 0.0), point]))
    drawing.edge("outer", np.array([point, (0.0, COLLAR_WIDTH)]))
    drawing.edge("centre", np.array([(0.0, COLLAR_WIDTH), (0.0, 0.0)]))
    drawing.mark("shoulder", "sewn", (back, 0.0))
    drawing.grain = ((14.0, 8.0), (14.0, COLLAR_WIDTH - 6.0))
    drawing.label = ((0.5 * long, 22.0), 0.0)
    return drawing
