"""The waist of a trouser that was taken in at the side: before its corner is trued, and after."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import shapely
from drawing import BEFORE, SEAM, Frame, Picture, clipped, rings

import propagate
from propagate import Amount
from propagate.engine.tape import tape
from propagate.geometry.motion import Motion, fit
from propagate.report.style import PAPER

__all__ = ["trued"]

ACROSS, DOWN = 70.0, 52.0
"""Half of the width that is shown, and how far down, mm."""
SCALE = 0.95
STEP = 145.0


@cache
def _taken_in(corners: str) -> propagate.PatternSet:
    source = propagate.load(propagate.demo_path("slant_trouser"))
    edit = propagate.TakeIn(
        edge="full_front.side", by=Amount(mm=10.0), at="waist", to=("hip",), both=True
    )
    return propagate.run(source, edit, corners="trued" if corners == "trued" else "left").pattern


def trued(folder: Path) -> None:
    """Draw the two waists beside each other."""
    picture = Picture(
        "A waist that is trued",
        "Front and back of a trouser laid on each other along the side seam, taken in by 10 mm at "
        "the waist: left the waist dips where the two meet; right it runs on smoothly, and the "
        "line with the dip is dashed.",
    )
    for i, corners in enumerate(("left", "trued")):
        _draw(picture, corners, (i * STEP, 0.0))
    picture.save(folder, "trued")


def _draw(picture: Picture, corners: str, at: tuple[float, float]) -> None:
    now, was = _sides(_taken_in(corners)), _sides(_taken_in("left"))
    middle = now[0][1][0]
    frame = Frame(SCALE, at=(at[0] - SCALE * middle[0], at[1] - SCALE * middle[1]))
    box = shapely.box(
        at[0] - SCALE * ACROSS,
        at[1] - SCALE * DOWN,
        at[0] + SCALE * ACROSS,
        at[1] + 12.0,
    )
    for (outline, side, waist), (_, _, old) in zip(now, was, strict=True):
        cloth = shapely.transform(shapely.Polygon(outline), frame).intersection(box)
        picture.area(rings(cloth, Frame(1.0)), PAPER, layer="paper")
        if corners == "trued":
            for part in clipped(frame(old), box):
                picture.line(part, BEFORE, layer="before")
        for line in (waist, side):
            for part in clipped(frame(line), box):
                picture.line(part, SEAM, layer="seam")
    words = "left: a dip at the side" if corners == "left" else "trued: the waist runs on"
    picture.text([at[0], at[1] - SCALE * DOWN - 6.0], words, halo=False)


def _sides(pattern: propagate.PatternSet) -> list[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Outline, side and waist of front and back, from their common corner on, laid as sewn."""
    found = []
    for name in ("full_front", "back"):
        taped = tape(pattern, name, pattern.base)
        side, waist = taped.edge("side").points, taped.edge("waist").points
        ways = [(side[::i], waist[::j]) for i in (1, -1) for j in (1, -1)]
        lines = min(ways, key=lambda way: float(np.hypot(*(way[0][0] - way[1][0]))))
        outline = np.vstack([edge.points[:-1] for edge in taped.edges])
        found.append((outline, *lines))
    front, back = found
    motion = _laid(back[1], front[1])
    laid = (motion.apply(line) for line in back)
    upright = _laid(front[1], np.array([[0.0, 0.0], [0.0, -300.0]]))
    return [
        (upright.apply(a), upright.apply(b), upright.apply(c)) for a, b, c in (front, tuple(laid))
    ]


def _laid(line: np.ndarray, on: np.ndarray) -> Motion:
    """The motion that lays the first 60 mm of a line on those of another."""
    return fit(*(_start(points) for points in (line, on)))[0]


def _start(points: np.ndarray) -> np.ndarray:
    whole = shapely.LineString(points)
    return shapely.get_coordinates([whole.interpolate(at) for at in (0.0, 20.0, 40.0, 60.0)])
