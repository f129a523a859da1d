# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""The words: a back with everything on it named."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from before_after import darts
from demo import UPPER, top_of, trousers, upright
from drawing import CUT, LEVEL, SEAM, Frame, Picture, clipped, rings

from propagate.engine.finish import cut_line
from propagate.geometry.polyline import length, point_at
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Stroke
from propagate.report.style import BLUE, INK, PAPER

__all__ = ["grain_line", "level_line", "notch", "words"]

SCALE = 0.26
RIGHT = 112.0
"""Where the texts on the right begin."""


def words(folder: Path) -> None:
    """Draw the back of the demo set and name what is on it."""
    picture = Picture("The words", "A back with its seam line, cut line, landmarks and levels.")
    back = trousers().sized("back", UPPER)
    cut = cut_line(back, trousers().info["back"]).points
    crop = top_of(back, 90.0)
    frame = upright(back, SCALE, (0.0, 0.0), shapely.Polygon(cut).intersection(crop))
    picture.area(rings(shapely.Polygon(back.outline).intersection(crop), frame), PAPER)
    for part in clipped(np.vstack([cut, cut[:1]]), crop):
        picture.line(frame(part), CUT)
    for edge in back.edges:
        for part in clipped(edge.points, crop):
            picture.line(frame(part), SEAM)
    darts(picture, back, frame)
    for level in ("waist", "hip", "crotch"):
        left, height = level_line(picture, back, level, frame, 16.0)
        hold = ", here the hold" if level == "hip" else ""
        picture.text((left - 2.0, height), f"level '{level}'{hold}", anchor="end")
    notch(picture, back, "hip_notch", frame)
    grain_line(picture, frame(_on_grain(back)))
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
    picture.line([(left, height), (right, height)], LEVEL, layer="thin")
    return float(left), height


def notch(picture: Picture, piece: SizedPiece, name: str, frame: Frame) -> np.ndarray:
    """A short line across the seam line; returns its place in the picture."""
    mark = piece.landmark(name)
    points = piece.edge(mark.edge).points
    along = piece.distance(mark.edge, name)
    low, high = (frame(point_at(points, along + step)) for step in (-1.0, 1.0))
    way = (high - low) / float(np.hypot(*(high - low)))
    across = np.array([-way[1], way[0]])
    here = frame(mark.point)
    picture.line([here - 1.6 * across, here + 1.6 * across], SEAM, layer="marks")
    return np.asarray(here)


def grain_line(picture: Picture, points: np.ndarray) -> None:
    """A line with a head at both ends."""
    ink = Stroke(INK, 0.35)
    picture.arrow(points, ink)
    picture.arrow(points[::-1], ink)


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
    picture.line(np.array(span) + [-2.2, 0.0], Stroke(BLUE, 0.9), layer="marks")
    picture.text(span[15] + [-5.0, 0.0], "span: the side from\nhip_notch to end", anchor="end")
