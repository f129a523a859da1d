# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""Tape and edit: pieces taped together as sewn, and one size laid over the other."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from before_after import caption, key, size_look
from demo import FRONT, LOWER, UPPER, blended, top_of, trousers, upright
from drawing import STRESS, Picture, composed, lines_of, piece_of
from words import level_line

from propagate.engine.edits.blend import Side
from propagate.engine.tape import tape
from propagate.geometry.polyline import between, length, point_at
from propagate.report.scene.items import Line, Role
from propagate.report.style import INK, Stroke

__all__ = ["edit", "taping"]

SCALE = 0.2
BELOW = 20.0
BARE = (Role.FACE, Role.SEAM)
KEPT = Stroke(INK, 1.3)
MOVED = Stroke(INK, 1.3, (0.4, 2.2))
TRUED, NEW = STRESS


def taping(folder: Path) -> None:
    """Draw front and facing apart, and taped together."""
    picture = Picture(
        "Tape", "Front and pocket facing, apart and taped together as sewn on two landmarks."
    )
    front, facing = trousers().sized("front", UPPER), trousers().sized("facing", UPPER)
    crop = top_of(front, BELOW)
    shown = shapely.Polygon(front.outline).intersection(crop)
    frame = upright(front, SCALE, (0.0, 0.0), shown)
    picture.draw(composed(front, frame, crop=crop, shown=BARE))
    for mark, text, at in (
        ("mouth.start", "mouth.start", (7.0, 6.0)),
        ("mouth.end", "mouth.end", (6.0, -2.0)),
    ):
        picture.dot(frame(front.landmark(mark).point))
        picture.text(frame(front.landmark(mark).point) + at, text, anchor="start")
    caption(picture, frame, shown, "front")
    picture.text((82.0, -30.0), "+", size=7.0)

    outline = shapely.Polygon(facing.outline)
    frame = upright(facing, SCALE, (92.0, -6.0), outline)
    picture.draw(composed(facing, frame, shown=BARE))
    for mark, at in (("mouth_top", (2.0, 6.0)), ("mouth_low", (9.0, 1.0))):
        picture.dot(frame(facing.landmark(mark).point))
        picture.text(frame(facing.landmark(mark).point) + at, mark, anchor="start")
    caption(picture, frame, outline, "facing, drawn in\na frame of its own")
    picture.text((140.0, -30.0), "=", size=7.0)

    full = tape(trousers(), FRONT, UPPER)
    shown = shapely.Polygon(full.outline).intersection(crop)
    frame = upright(front, SCALE, (152.0, 0.0), shown)
    picture.draw(composed(piece_of(full), frame, crop=crop))
    under = composed(facing, frame, laid=full.motions["facing"])
    picture.draw(lines_of(under, "inner", "lower", role=Role.BEYOND))
    picture.draw(lines_of(composed(front, frame), "mouth", role=Role.INNER))
    for mark in ("mouth.start", "mouth.end"):
        picture.dot(frame(front.landmark(mark).point))
    middle = frame(point_at(front.edge("mouth").points, 60.0))
    picture.leader(middle + [12.0, -24.0], middle, "split line:\nthe opening")
    caption(picture, frame, shown, "full_front: the silhouette that an edit works on")
    picture.save(folder, "taping")


def edit(folder: Path) -> None:
    """Draw where each part of the blended outlines comes from."""
    picture = Picture(
        "Edit",
        f"The top of size {UPPER} on size {LOWER}: what is kept, moved, drawn anew and trued.",
    )
    for side, x, title in zip(blended().sides, (0.0, 88.0), ("full_front", "back"), strict=True):
        _blended(picture, side, (x, 0.0), title)
    key(
        picture,
        (182.0, -10.0),
        [
            (f"kept: size {LOWER}, digit for digit", KEPT),
            (f"moved: size {UPPER}, as drawn", MOVED),
            ("drawn anew: the side", NEW),
            ("trued: the rest of the waist", TRUED),
            (f"size {LOWER}", size_look(0)),
            (f"size {UPPER}", size_look(1)),
        ],
    )
    picture.save(folder, "edit")


def _blended(picture: Picture, side: Side, corner: tuple[float, float], title: str) -> None:
    laid = side.laid
    name = laid.main.silhouette
    edited, lower = blended().edited[name], tape(trousers(), name, LOWER)
    crop = top_of(lower.base, BELOW)
    shown = shapely.Polygon(lower.outline).intersection(crop)
    frame = upright(lower.base, SCALE, corner, shown)
    drawn = composed(
        replace(piece_of(lower), edges=edited.edges), frame, shown=(Role.FACE,), crop=crop
    )
    picture.draw(drawn)
    picture.draw(composed(piece_of(lower), frame, series=0, shown=(Role.SEAM,), crop=crop))
    upper = piece_of(laid.upper)
    picture.draw(composed(upper, frame, series=1, shown=(Role.SEAM,), laid=laid.motion, crop=crop))
    below = crop.difference(top_of(lower.base, 0.0, "hip"))
    kept = composed(piece_of(lower), frame, shown=(Role.SEAM,), crop=below)
    for line in lines_of(kept, "hem", "inseam", laid.main.side, laid.main.centre).items:
        assert isinstance(line, Line)
        picture.line(line.points, KEPT)
    picture.line(frame(side.points), NEW)
    picture.line(frame(laid.centre.upper), MOVED)
    across = blended().edited[name].edge(laid.main.across).points
    if np.hypot(*(across[0] - laid.centre.upper[-1])) > 1.0:
        across = across[::-1]
    picture.line(frame(between(across, 0.0, laid.across_hold)), MOVED)
    picture.line(frame(between(across, laid.across_hold, length(across))), TRUED)
    left, height = level_line(picture, lower.base, "hip", frame, 6.0)
    picture.text((left + 14.0, height - 3.0), "hold", size=3.2)
    caption(picture, frame, shown, title)
