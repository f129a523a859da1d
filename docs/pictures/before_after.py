"""Before and after: the picture of the README."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import shapely
from demo import BACK, FRONT, LOWER, UPPER, blended, result, top_of, trousers, upright
from drawing import BEFORE, CUT, SEAM, SMALL, Frame, Picture, clipped, rings

from propagate.engine.tape import tape
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Stroke
from propagate.report.style import ADDED, PALE, PAPER, TRIMMED

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
    swatches = [(f"size {LOWER}", SEAM), (f"size {UPPER}", SMALL)]
    key(picture, (156.0, -14.0), swatches)
    heading(
        picture,
        ROW + 8.0,
        f"After: the waist of {UPPER} on the hip of {LOWER}; what is sewn to them follows",
    )
    _changed(picture, "front", (2.0, ROW), SCALE)
    _changed(picture, "back", (66.0, ROW), SCALE)
    for name, x in (("facing", 145.0), ("under_bag", 180.0), ("top_bag", 219.0)):
        _changed(picture, name, (x, ROW), 1.4 * SCALE)
    after: list[tuple[str, Stroke | str]] = [
        ("seam line", SEAM),
        ("before", BEFORE),
        ("paper to tape on", ADDED),
        ("paper to trim", TRIMMED),
    ]
    key(picture, (156.0, -30.0), after)
    picture.text((156.0, -60.0), "The pocket pieces are drawn larger.", anchor="start")
    picture.save(folder, "before-after")


def heading(picture: Picture, height: float, text: str) -> None:
    """A line of bold text at the left."""
    picture.text((0.0, height), text, anchor="start", bold=True, size=3.8)


def key(
    picture: Picture,
    corner: tuple[float, float],
    items: Sequence[tuple[str, Stroke | str]],
    columns: int = 1,
) -> None:
    """Name kinds of line and area."""
    for i, (text, look) in enumerate(items):
        x = corner[0] + 36.0 * (i % columns)
        y = corner[1] - 7.0 * (i // columns)
        if isinstance(look, str):
            ring = [(x, y - 2.0), (x + 10.0, y - 2.0), (x + 10.0, y + 2.0), (x, y + 2.0)]
            picture.area([ring], look)
            picture.line(ring, Stroke(PALE, 0.2), closed=True)
        else:
            picture.line([(x, y), (x + 10.0, y)], look)
        picture.text((x + 12.0, y), text, anchor="start")


def caption(picture: Picture, frame: Frame, shown: shapely.Geometry, text: str) -> None:
    """A text under what is shown."""
    points = frame(shapely.get_coordinates(shown))
    middle = (points[:, 0].min() + points[:, 0].max()) / 2
    picture.text((middle, points[:, 1].min() - 5.0), text)


def darts(picture: Picture, piece: SizedPiece, frame: Frame) -> None:
    """The legs of every dart."""
    for dart in piece.darts:
        legs = [piece.landmark(leg).point for leg in dart.legs]
        picture.line(frame([legs[0], dart.tip, legs[1]]), CUT)


def _nest(picture: Picture, name: str, corner: tuple[float, float], title: str) -> None:
    """Both sizes of a main, laid level on level and centre seam on centre seam."""
    lower, upper = (tape(trousers(), name, size) for size in (LOWER, UPPER))
    motion = next(s.laid.motion for s in blended().sides if s.laid.main.silhouette == name)
    crop = top_of(lower.base, BELOW)
    shown = shapely.Polygon(lower.outline).intersection(crop)
    frame = upright(lower.base, SCALE, corner, shown)
    picture.area(rings(shown, frame), PAPER, layer="paper")
    for edge in lower.edges:
        for part in clipped(edge.points, crop):
            picture.line(frame(part), SEAM)
    for edge in upper.edges:
        for part in clipped(motion.apply(edge.points), crop):
            picture.line(frame(part), SMALL, layer="before")
    darts(picture, lower.base, frame)
    if name == FRONT:
        picture.line(frame(lower.base.edge("mouth").points), CUT)
    caption(picture, frame, shown, title)


def _changed(picture: Picture, name: str, corner: tuple[float, float], scale: float) -> None:
    """A piece of the result: outline before and after, paper to tape on and to trim."""
    record = result().record
    new = result().pattern.sized(name, record.size)
    old = [np.array(p) for p in next(p for p in record.pieces if p.piece == name).before.values()]
    was = shapely.Polygon(np.vstack([points[:-1] for points in old]))
    now = shapely.Polygon(new.outline)
    both = was.union(now)
    crop = top_of(new, BELOW) if "crotch" in new.levels else both.buffer(1.0)
    frame = upright(new, scale, corner, both.intersection(crop))
    picture.area(rings(now.intersection(crop), frame), PAPER, layer="paper")
    picture.area(rings(now.difference(was).intersection(crop), frame), ADDED)
    picture.area(rings(was.difference(now).intersection(crop), frame), TRIMMED)
    for points in old:
        for part in clipped(points, crop):
            picture.line(frame(part), BEFORE, layer="before")
    for edge in new.edges:
        for part in clipped(edge.points, crop):
            picture.line(frame(part), SEAM)
    darts(picture, new, frame)
    caption(picture, frame, both.intersection(crop), trousers().info[name].title.lower())
