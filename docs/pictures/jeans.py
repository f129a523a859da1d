"""The jeans: front and back taped as sewn, taken in on both sides of the seam."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import shapely
from before_after import caption
from demo import top_of, upright
from drawing import BEFORE, CUT, SEAM, Frame, Picture, clipped, rings

import propagate
from propagate import Amount, TakeIn
from propagate.engine.tape import tape
from propagate.geometry.motion import Motion
from propagate.pattern.model import SizedPiece
from propagate.report.style import PAPER

__all__ = ["jeans"]

SCALE = 0.26
BELOW = 20.0
"""mm of leg that are shown below the crotch level."""


@cache
def _sets() -> tuple[propagate.PatternSet, propagate.PatternSet]:
    """The set, and the set with its sides taken in by 10 mm at the waist."""
    drawn = propagate.load(propagate.demo_path("quay_jeans"))
    edit = TakeIn(edge="full_front.side", by=Amount(mm=10.0), at="waist", to=("hip",), both=True)
    return drawn, propagate.run(drawn, edit).pattern


def jeans(folder: Path) -> None:
    """Draw what is taped, and the yoke by itself."""
    picture = Picture(
        "Jeans taken in",
        "Front with its facing and back with its yoke, each taped as sewn, before and after their "
        "sides were taken in at the waist; the places of coin pocket and back pocket on them; "
        "and the yoke by itself, its lower edge bowed.",
    )
    _taped(picture, "full_front", (0.0, 0.0), "front and facing, with the coin pocket's place")
    _taped(picture, "full_back", (92.0, 0.0), "back and yoke, with the back pocket's place")
    yokes = [pattern.sized("yoke", pattern.base) for pattern in _sets()]
    shown = shapely.union_all([shapely.Polygon(piece.outline) for piece in yokes])
    frame = upright(yokes[0], SCALE, (204.0, 0.0), shown)
    picture.area(rings(shapely.Polygon(yokes[1].outline), frame), PAPER, layer="paper")
    picture.line(frame(yokes[0].outline), BEFORE, layer="before", closed=True)
    picture.line(frame(yokes[1].outline), SEAM, closed=True)
    caption(picture, frame, shown, "the yoke, its dart closed")
    picture.save(folder, "jeans")


def _taped(picture: Picture, name: str, corner: tuple[float, float], title: str) -> None:
    """What is taped, before and after, with its joints and the places marked on it."""
    old, new = (tape(pattern, name, pattern.base) for pattern in _sets())
    crop = top_of(old.base, BELOW)
    shown = shapely.Polygon(old.outline).intersection(crop)
    frame = upright(old.base, SCALE, corner, shown)
    area = shapely.Polygon(new.outline).intersection(crop)
    picture.area(rings(area, frame), PAPER, layer="paper")
    for edge in old.edges:
        for part in clipped(edge.points, crop):
            picture.line(frame(part), BEFORE, layer="before")
    for edge in new.edges:
        for part in clipped(edge.points, crop):
            picture.line(frame(part), SEAM)
    for piece, motion in new.motions.items():
        _inner(picture, frame, new.sized[piece], motion)
    caption(picture, frame, shown, title)


def _inner(picture: Picture, frame: Frame, piece: SizedPiece, motion: Motion) -> None:
    """The joint of a piece that is taped on or of the piece it is taped to, and its lines."""
    joints = [edge.points for edge in piece.edges if edge.name in ("mouth", "top", "lower")]
    for points in [*joints, *(line.points for line in piece.lines)]:
        picture.line(frame(np.asarray(motion.apply(points))), CUT)
