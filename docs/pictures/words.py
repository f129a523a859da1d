# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""The words: a back with everything on it named."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from demo import UPPER, top_of, trousers, upright
from drawing import STRESS, Frame, Picture, composed

from propagate.engine.finish import cut_line
from propagate.geometry.polyline import length, point_at
from propagate.pattern.model import SizedPiece
from propagate.report.scene.items import Role, Scene, arrow_head, make_line

__all__ = ["level_line", "words"]

SCALE = 0.26
RIGHT = 112.0
"""Where the texts on the right begin."""


def words(folder: Path) -> None:
    """Draw the back of the demo set and name what is on it."""
    picture = Picture("The words", "A back with its seam line, cut line, landmarks and levels.")
    back = trousers().sized("back", UPPER)
    info = trousers().info["back"]
    line_of_cut = cut_line(back, info)
    cut = line_of_cut.points
    crop = top_of(back, 90.0)
    frame = upright(back, SCALE, (0.0, 0.0), shapely.Polygon(cut).intersection(crop))
    seen = (Role.FACE, Role.CUT, Role.SEAM, Role.DART)
    picture.draw(composed(back, frame, info, cut=line_of_cut, shown=seen, crop=crop))
    notches = composed(back, frame, info, cut=line_of_cut, shown=(Role.NOTCH,))
    picture.draw(Scene(tuple(n for n in notches.items if n.name == "hip_notch")))
    for level in ("waist", "hip", "crotch"):
        left, height = level_line(picture, back, level, frame, 16.0)
        hold = ", here the hold" if level == "hip" else ""
        picture.text((left - 2.0, height), f"level '{level}'{hold}", anchor="end")
    picture.draw(_grain_line(frame(_on_grain(back))))
    _name(picture, back, cut, frame)
    picture.save(folder, "words")


def level_line(
    picture: Picture, piece: SizedPiece, level: str, frame: Frame, beyond: float
) -> tuple[float, float]:
    """Draw a level across a piece; returns its ends, left and right, in the picture."""
    grain = piece.grain.direction
    across = np.array([grain[1], -grain[0]])
    at = np.asarray(piece.levels[level])
    line = shapely.LineString([at - 2000 * across, at + 2000 * across])
    inside = frame(shapely.get_coordinates(line.intersection(shapely.Polygon(piece.outline))))
    left, right = inside[:, 0].min() - beyond, inside[:, 0].max() + beyond
    height = float(inside[0, 1])
    picture.line([(left, height), (right, height)], Role.LEVEL)
    return float(left), height


def _grain_line(points: np.ndarray) -> Scene:
    """A part of the grain line that is short enough for the picture."""
    along = (points[1] - points[0]) / float(np.hypot(*(points[1] - points[0])))
    heads = (
        arrow_head(Role.GRAIN, end, way, 2.6)
        for end, way in zip(points, (-along, along), strict=True)
    )
    return Scene((make_line(Role.GRAIN, points), *heads))


def _on_grain(piece: SizedPiece) -> np.ndarray:
    """A stretch of the grain, below the hip."""
    grain = piece.grain.direction
    foot = np.asarray(piece.levels["crotch"]) - 20.0 * grain + 10.0 * grain[::-1] * [1, -1]
    return np.array([foot - 60.0 * grain, foot + 60.0 * grain])


def _name(picture: Picture, back: SizedPiece, cut: np.ndarray, frame: Frame) -> None:
    side, waist, centre = (back.edge(name).points for name in ("side", "waist", "centre"))
    hip = frame(back.landmark("hip_notch").point)
    corner = frame(waist[0])
    outside = frame(cut)
    picture.leader((RIGHT, corner[1] + 6.0), corner, "corner: where two edges meet")
    far = length(side)
    needle = "edge 'side', on the seam line:\nwhere the needle goes"
    picture.leader((RIGHT, corner[1] - 10.0), frame(point_at(side, far * 0.93)), needle)
    picture.leader((RIGHT, hip[1] + 8.0), hip, "notch: a landmark on the edge")
    near = outside[np.argmin(np.hypot(*(outside - (hip + [2.6, -16.0])).T))]
    picture.leader((RIGHT, hip[1] - 14.0), near, "cut line: the seam line and\nthe allowance")
    legs = [frame(back.landmark(leg).point) for leg in ("dart_in", "dart_out")]
    middle = (legs[0] + legs[1]) / 2
    picture.leader(
        (middle[0] - 24.0, middle[1] + 15.0),
        middle,
        "dart's mouth: left out\nof the length of the waist",
        anchor="end",
    )
    picture.leader((legs[1][0] + 10.0, middle[1] + 15.0), legs[1], "dart leg: a landmark")
    seat = frame(point_at(centre, length(centre) * 0.3))
    picture.leader(seat + [-16.0, 0.0], seat, "edge 'centre'", anchor="end")
    picture.text(frame(_on_grain(back))[0] + [4.0, 4.0], "grain", anchor="start")
    span = [
        frame(point_at(side, far - d))
        for d in np.linspace(0.0, far - back.distance("side", "hip_notch"), 30)
    ]
    picture.line(np.array(span) + [-2.2, 0.0], STRESS[0])
    picture.text(span[15] + [-5.0, 0.0], "span: the side from\nhip_notch to end", anchor="end")
