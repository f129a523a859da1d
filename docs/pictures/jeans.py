"""The jeans: front and back taped as sewn, taken in on both sides of the seam."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import shapely
from before_after import caption
from demo import top_of, upright
from drawing import Picture, composed, lines_of, piece_of

import propagate
from propagate import Amount, TakeIn
from propagate.engine.tape import tape
from propagate.report.scene.items import Role, Scene

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
    picture.draw(composed(yokes[1], frame, before=yokes[0]))
    caption(picture, frame, shown, "the yoke, its dart closed")
    picture.legend()
    picture.save(folder, "jeans")


def _taped(picture: Picture, name: str, corner: tuple[float, float], title: str) -> None:
    """What is taped, before and after, with its joints and the places marked on it."""
    old, new = (tape(pattern, name, pattern.base) for pattern in _sets())
    crop = top_of(old.base, BELOW)
    shown = shapely.Polygon(old.outline).intersection(crop)
    frame = upright(old.base, SCALE, corner, shown)
    picture.draw(composed(piece_of(new), frame, before=piece_of(old), crop=crop))
    for piece, motion in new.motions.items():
        inside = composed(new.sized[piece], frame, laid=motion)
        joints = lines_of(inside, "mouth", "top", "lower", role=Role.INNER)
        picture.draw(Scene(inside.of(Role.INNER)) + joints)
    caption(picture, frame, shown, title)
