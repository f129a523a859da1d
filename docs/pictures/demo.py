"""What the pictures of the method are drawn from: the main job of the first demo set."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import shapely
from drawing import Frame

import propagate
from propagate.demo import FIRST_DEMO, MAIN_JOBS
from propagate.engine.edits.blend import Blended, blend_silhouettes, resolve_blend
from propagate.engine.tape import Silhouette, tape
from propagate.pattern.model import SizedPiece

__all__ = [
    "FRONT",
    "BACK",
    "LOWER",
    "UPPER",
    "blended",
    "full_front",
    "result",
    "top_of",
    "trousers",
    "upright",
]

Array = npt.NDArray[np.float64]

UPPER, LOWER = MAIN_JOBS[FIRST_DEMO].values()
FRONT, BACK = "full_front", "back"


@cache
def trousers() -> propagate.PatternSet:
    """The demo set."""
    return propagate.load(propagate.demo_path(FIRST_DEMO))


@cache
def result(*, traced: bool = False) -> propagate.Result:
    """The blend of the main job."""
    edit = propagate.Blend(MAIN_JOBS[FIRST_DEMO], top="traced" if traced else "trued")
    return propagate.blend(trousers(), edit)


@cache
def blended() -> Blended:
    """The main silhouettes of the main job, before they are cut apart."""
    edit = propagate.Blend(MAIN_JOBS[FIRST_DEMO])
    return blend_silhouettes(trousers(), edit, resolve_blend(trousers(), edit))


def full_front(pattern: propagate.PatternSet, size: str) -> Silhouette:
    """Front and facing taped together."""
    return tape(pattern, FRONT, size)


def upright(
    piece: SizedPiece, scale: float, corner: tuple[float, float], shown: shapely.Geometry
) -> Frame:
    """A frame in which the grain of a piece stands upright.

    The upper left corner of what is `shown` (in the piece's coordinates) comes to lie at
    `corner`.
    """
    x, y = piece.grain.direction
    turned = Frame(scale, turn=90.0 - math.degrees(math.atan2(y, x)))
    points = turned(shapely.get_coordinates(shown))
    left, top = points[:, 0].min(), points[:, 1].max()
    return replace(turned, at=(float(corner[0] - left), float(corner[1] - top)))


def top_of(piece: SizedPiece, below: float, level: str = "crotch") -> shapely.Polygon:
    """A box, in the piece's own coordinates, of all that lies above a level and a bit."""
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    foot = np.asarray(piece.levels[level]) - below * grain
    wide, high = 2000.0 * across, 2000.0 * grain
    return shapely.Polygon([foot - wide, foot + wide, foot + wide + high, foot - wide + high])
