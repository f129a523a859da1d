"""Before and after: the picture of the README."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import shapely
from demo import BACK, FRONT, LOWER, UPPER, blended, result, top_of, trousers, upright
from drawing import THIN, Frame, Picture, composed, lines_of, piece_of

from propagate.engine.tape import tape
from propagate.report.scene.items import Role, Scene
from propagate.report.scene.looks import stroke_of
from propagate.report.scene.piece import piece_before
from propagate.report.style import Stroke

__all__ = ["before_after"]

SCALE = 0.165
BELOW = 40.0
"""mm of leg that are shown below the crotch level."""
ROW = -80.0
"""Height of the second row."""


def before_after(folder: Path) -> None:
    """Draw the two sizes, and the pieces of the result."""
    picture = Picture(
        "Before and after",
        f"The waist of size {UPPER} blended into the hip of size {LOWER}: front, back, pocket "
        "facing and both bags, with the paper to tape on and to trim.",
    )
    heading(picture, 8.0, f"Before: sizes {UPPER} and {LOWER} of the set, laid over each other")
    _nest(picture, FRONT, (2.0, 0.0), "front and pocket facing")
    _nest(picture, BACK, (66.0, 0.0), "back")
    sizes = [(f"size {size}", size_look(i)) for i, size in enumerate((LOWER, UPPER))]
    key(picture, (156.0, -14.0), sizes)
    heading(
        picture,
        ROW + 8.0,
        f"After: the waist of {UPPER} on the hip of {LOWER}; what is sewn to them follows",
    )
    _changed(picture, "front", (2.0, ROW), SCALE)
    _changed(picture, "back", (66.0, ROW), SCALE)
    for name, x in (("facing", 145.0), ("under_bag", 180.0), ("top_bag", 219.0)):
        _changed(picture, name, (x, ROW), 1.4 * SCALE)
    picture.text((156.0, -34.0), "The pocket pieces are drawn larger.", anchor="start")
    picture.legend()
    picture.save(folder, "before-after")


def heading(picture: Picture, height: float, text: str) -> None:
    """A line of bold text at the left."""
    picture.text((0.0, height), text, anchor="start", bold=True, size=3.8)


def size_look(series: int) -> Stroke:
    """The seam line of a size among others."""
    return stroke_of(Role.SEAM, series, THIN)


def key(picture: Picture, corner: tuple[float, float], items: Sequence[tuple[str, Stroke]]) -> None:
    """Name lines that only this picture tells apart."""
    for i, (text, look) in enumerate(items):
        x, y = corner[0], corner[1] - 7.0 * i
        picture.line([(x, y), (x + 10.0, y)], look)
        picture.text((x + 12.0, y), text, anchor="start")


def caption(picture: Picture, frame: Frame, shown: shapely.Geometry, text: str) -> None:
    """A text under what is shown."""
    points = frame(shapely.get_coordinates(shown))
    middle = (points[:, 0].min() + points[:, 0].max()) / 2
    picture.text((middle, points[:, 1].min() - 5.0), text)


def _nest(picture: Picture, name: str, corner: tuple[float, float], title: str) -> None:
    """Both sizes of a main, laid level on level and centre seam on centre seam."""
    lower, upper = (tape(trousers(), name, size) for size in (LOWER, UPPER))
    motion = next(s.laid.motion for s in blended().sides if s.laid.main.silhouette == name)
    crop = top_of(lower.base, BELOW)
    shown = shapely.Polygon(lower.outline).intersection(crop)
    frame = upright(lower.base, SCALE, corner, shown)
    picture.draw(composed(piece_of(lower), frame, series=0, crop=crop))
    seams = composed(piece_of(upper), frame, series=1, shown=(Role.SEAM,), laid=motion, crop=crop)
    picture.draw(seams)
    own = composed(lower.base, frame, trousers().info[lower.lead])
    picture.draw(Scene(own.of(Role.DART)) + lines_of(own, "mouth", role=Role.INNER))
    caption(picture, frame, shown, title)


def _changed(picture: Picture, name: str, corner: tuple[float, float], scale: float) -> None:
    """A piece of the result: outline before and after, paper to tape on and to trim."""
    record = result().record
    new = result().pattern.sized(name, record.size)
    old = piece_before(new, next(piece for piece in record.pieces if piece.piece == name))
    both = shapely.union_all([shapely.Polygon(piece.outline) for piece in (old, new)])
    crop = top_of(new, BELOW) if "crotch" in new.levels else both.buffer(10.0)
    frame = upright(new, scale, corner, both.intersection(crop))
    info = trousers().info[name]
    picture.draw(composed(new, frame, info, before=old, crop=crop))
    caption(picture, frame, both.intersection(crop), info.title.lower())
