# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""Match and true together: the two corners at the top of the side seam, as sewn."""

from __future__ import annotations

import math
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt
import shapely
from demo import BACK, FRONT, result
from drawing import LEADER, Frame, Picture, composed, lines_of, piece_of

import propagate
from propagate.engine.tape import Silhouette, tape
from propagate.geometry.directions import end_direction
from propagate.geometry.motion import IDENTITY, Motion, from_two_points
from propagate.report.scene.items import Role, Scene

__all__ = ["corners"]

Array = npt.NDArray[np.float64]

SCALE = 0.42
REACH = 115.0
"""mm of cloth that are shown on both sides of the seam."""
WIDE = 110.0


def corners(folder: Path) -> None:
    """Draw front and back sewn together at the side, with the waist traced and trued."""
    picture = Picture(
        "Match and true together",
        "Front and back as sewn at the side: a traced waist dips, a trued one runs on.",
    )
    for i, (traced, title) in enumerate(((True, "Traced: a dip"), (False, "Trued: it runs on"))):
        _sewn(picture, result(traced=traced), np.array([i * WIDE + 50.0, -16.0]), title)
    picture.save(folder, "corners")


def _sewn(picture: Picture, made: propagate.Result, at: Array, title: str) -> None:
    size = made.record.size
    front, back = (tape(made.pattern, name, size) for name in (FRONT, BACK))
    side = front.edge("side").points
    corner, upright = side[0], Motion(-1j / complex(*unit_step(side)))
    beside = _as_sewn(front, back)
    box = shapely.box(-REACH, -75.0, REACH, 75.0)
    frame = Frame(SCALE, at=(float(at[0]), float(at[1])))
    angles = []
    for silhouette, motion in ((front, IDENTITY), (back, beside)):
        taped = composed(piece_of(silhouette), Frame(1.0))
        drawn = Scene(taped.of(Role.FACE)) + lines_of(taped, "waist", "side")
        local = drawn.placed(1.0, partial(_local, motion=motion, corner=corner, upright=upright))
        picture.draw(local.clipped(box).placed(1.0 / SCALE, frame))
        angles.append(_directions(silhouette, motion, upright))
    picture.text(at + [0.0, 30.0], title, bold=True, size=3.8)
    sums = made.record.top_corners[0]
    both = (sums.first, sums.second)
    for (waist, down), radius, value in zip(angles, (9.0, 11.5), both, strict=True):
        sweep = (down - waist + 180.0) % 360.0 - 180.0
        picture.line(picture.arc(at, radius, waist, waist + sweep), LEADER)
        middle = math.radians(waist + sweep / 2)
        label = at + (radius + 7.5) * np.array([math.cos(middle), math.sin(middle)])
        picture.text(label, f"{value:.1f}°")
    picture.text(at + [30.0, -14.0], "front", anchor="start")
    picture.text(at + [-30.0, -14.0], "back", anchor="end")
    printed = sum(round(angle, 1) for angle in both)  # what is read adds up
    total = f"{sums.first:.1f}° + {sums.second:.1f}° = {printed:.1f}°"
    picture.text(at + [0.0, -38.0], total)


def _as_sewn(front: Silhouette, back: Silhouette) -> Motion:
    """Lay the back beside the front, corner on corner, side along side."""
    mine, other = front.edge("side").points, back.edge("side").points[::-1]
    way = [unit_step(points) for points in (mine, other)]
    return from_two_points([other[0], other[0] + way[1]], [mine[0], mine[0] + way[0]])


def unit_step(points: Array) -> Array:
    """Unit vector of an edge at its start."""
    angle = end_direction(points, "start")
    return np.array([math.cos(angle), math.sin(angle)])


def _local(points: Array, motion: Motion, corner: Array, upright: Motion) -> Array:
    """Points in the front's frame with the corner at the origin and the side hanging down."""
    return upright.apply(motion.apply(points) - corner)


def _directions(silhouette: Silhouette, motion: Motion, upright: Motion) -> tuple[float, float]:
    """Directions of waist and side away from the corner, degrees."""
    found = []
    for name in ("waist", "side"):
        points = silhouette.edge(name).points
        other = silhouette.edge("side" if name == "waist" else "waist").points
        if np.abs(points[0] - other[[0, -1]]).max(axis=1).min() > 1e-6:
            points = points[::-1]
        x, y = upright.rotate(motion.rotate(unit_step(points)))
        found.append(math.degrees(math.atan2(y, x)))
    return found[0], found[1]
