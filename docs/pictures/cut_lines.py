# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""Why cut lines that match prove nothing: two arcs with closed-form lengths."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import shapely
from before_after import heading
from drawing import Picture

from propagate.report.scene.items import Role

__all__ = ["cut_lines"]

RADIUS, ALLOWANCE, ANGLE = 150.0, 10.0, math.pi / 2
"""A quarter of a circle of 150 mm, with 10 mm of allowance."""
SCALE = 0.24


def cut_lines(folder: Path) -> None:
    """Draw a hollow edge and a round edge that are sewn together, twice."""
    picture = Picture(
        "Seam lines and cut lines",
        "Two curved edges: where the seam lines are equal the cut lines differ, and where the "
        "cut lines are equal the seam lines differ.",
    )
    wide = RADIUS + ALLOWANCE
    ratio = wide / (RADIUS - ALLOWANCE)
    heading(picture, 14.0, "Seam lines equal: these sew together")
    _pair(picture, 0.0, RADIUS, ANGLE)
    picture.text(
        (118.0, 14.0), "Cut lines equal: these do not", anchor="start", bold=True, size=3.8
    )
    _pair(picture, 118.0, RADIUS, ANGLE * ratio)
    picture.legend()
    picture.save(folder, "cut-lines")


def _pair(picture: Picture, x: float, radius: float, hollow: float) -> None:
    """A round edge of a quarter circle, and a hollow edge of the angle `hollow`."""
    for i, (sign, angle, name) in enumerate(((1.0, ANGLE, "round"), (-1.0, hollow, "hollow"))):
        cut = radius + sign * ALLOWANCE
        centre = np.array([x + 34.0, -SCALE * radius + 2.0 - i * 34.0])
        half = math.degrees(angle) / 2
        seam = picture.arc(centre, SCALE * radius, 90 + half, 90 - half)
        edge = picture.arc(centre, SCALE * cut, 90 + half, 90 - half)
        body = picture.arc(centre, SCALE * (radius - sign * 55.0), 90 - half, 90 + half)
        picture.cloth(shapely.Polygon(np.vstack([seam, body])))
        picture.line(edge, Role.CUT)
        picture.line(seam, Role.SEAM)
        place = centre + [0.0, SCALE * radius - (8.0 if sign > 0 else -6.0)]
        picture.text(place, name)
        lines = f"seam line {radius * angle:.1f} mm\ncut line {cut * angle:.1f} mm"
        beside = centre + [SCALE * radius + 3.0, SCALE * radius - (1.0 if sign > 0 else 0.0)]
        picture.text(beside, lines, anchor="start")
