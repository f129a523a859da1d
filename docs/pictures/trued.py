"""The waist of a trouser that was taken in at the side: before its corner is trued, and after."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import shapely
from drawing import Frame, Picture, composed, lines_of, piece_of

import propagate
from propagate import Amount
from propagate.engine.tape import tape
from propagate.geometry.motion import Motion, fit
from propagate.report.scene.items import Role, Scene

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
    (now, middle), (was, _) = _as_sewn(_taken_in(corners)), _as_sewn(_taken_in("left"))
    frame = Frame(SCALE, at=(at[0] - SCALE * middle[0], at[1] - SCALE * middle[1]))
    box = shapely.box(
        at[0] - SCALE * ACROSS,
        at[1] - SCALE * DOWN,
        at[0] + SCALE * ACROSS,
        at[1] + 12.0,
    )
    drawn = Scene(now.of(Role.FACE)) + lines_of(now, "waist", "side")
    if corners == "trued":
        drawn += lines_of(was, "waist", role=Role.BEFORE)
    picture.draw(drawn.placed(1.0 / SCALE, frame).clipped(box))
    words = "left: a dip at the side" if corners == "left" else "trued: the waist runs on"
    picture.text([at[0], at[1] - SCALE * DOWN - 6.0], words)


def _as_sewn(pattern: propagate.PatternSet) -> tuple[Scene, np.ndarray]:
    """Front and back laid as sewn, the side upright; and their common corner."""
    drawn, lines = [], []
    for name in ("full_front", "back"):
        taped = tape(pattern, name, pattern.base)
        side, waist = taped.edge("side").points, taped.edge("waist").points
        ways = [(side[::i], waist[::j]) for i in (1, -1) for j in (1, -1)]
        lines.append(min(ways, key=lambda way: float(np.hypot(*(way[0][0] - way[1][0]))))[0])
        drawn.append(composed(piece_of(taped), Frame(1.0)))
    back = drawn[1].placed(1.0, _laid(lines[1], lines[0]).apply)
    upright = _laid(lines[0], np.array([[0.0, 0.0], [0.0, -300.0]]))
    return (drawn[0] + back).placed(1.0, upright.apply), upright.apply(lines[0][0])


def _laid(line: np.ndarray, on: np.ndarray) -> Motion:
    """The motion that lays the first 60 mm of a line on those of another."""
    return fit(*(_start(points) for points in (line, on)))[0]


def _start(points: np.ndarray) -> np.ndarray:
    whole = shapely.LineString(points)
    return shapely.get_coordinates([whole.interpolate(at) for at in (0.0, 20.0, 40.0, 60.0)])
