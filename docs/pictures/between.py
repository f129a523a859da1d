"""A size between two that were drawn: the three laid over each other."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
from drawing import Frame, Picture, composed
from panels import demo_set

import propagate
from propagate.pattern.model import SizedPiece
from propagate.report.scene.items import Role

__all__ = ["between"]

PIECE, SIZES = "front", ("122", "126", "128")
SERIES = (2, 0, 1)
"""Dots, a line without breaks, dashes."""
SCALE = 0.55
ACROSS, BELOW = 205.0, 10.0
"""mm of the piece that are shown to the right of its fold, and below the level."""
TIPS = {"122": 58.0, "126": 34.0, "128": 12.0}
"""How far below the shoulder the leader of a size ends, mm on the page."""
WORDS = {
    "122": "122, as drawn",
    "126": "126: two thirds of the way,\npoint for point",
    "128": "128, as drawn",
}


def between(folder: Path) -> None:
    """Draw the top of a front in two sizes and the one between."""
    picture = Picture(
        "A size between sizes",
        "The top of a pinafore's front in size 122, dotted, in size 128, dashed, and in size 126, "
        "which lies two thirds of the way from the one to the other at every point.",
    )
    pattern = propagate.with_between_size(demo_set("puddle_pinafore"), SIZES[1])
    pieces = [pattern.sized(PIECE, size) for size in SIZES]
    frames = [_frame(piece) for piece in pieces]
    largest = frames[2](pieces[2].outline)
    box = shapely.box(-2.0, -SCALE * BELOW, SCALE * ACROSS, float(largest[:, 1].max()) + 2.0)
    for piece, frame, series in zip(pieces, frames, SERIES, strict=True):
        seen = (Role.FACE, Role.SEAM) if series == 0 else (Role.SEAM,)
        picture.draw(composed(piece, frame, series=series, shown=seen).clipped(box))
    for piece, frame, size in zip(pieces, frames, SIZES, strict=True):
        armhole = frame(piece.edge("armhole").points)
        fallen = armhole[:, 1].max() - armhole[:, 1]
        tip = armhole[int(np.argmin(np.abs(fallen - TIPS[size])))]
        picture.leader([SCALE * ACROSS + 6.0, float(tip[1]) + 3.0], tip, WORDS[size])
    picture.save(folder, "between")


def _frame(piece: SizedPiece) -> Frame:
    """The fold upright on the left, the level at the height 0."""
    fold = piece.edge("centre").points
    up = fold[-1] - fold[0]
    up = up if up @ piece.grain.direction > 0 else -up
    turn = 90.0 - float(np.degrees(np.arctan2(up[1], up[0])))
    level = np.asarray(piece.levels["chest"])
    on_fold = fold[0] + up * float((level - fold[0]) @ up) / float(up @ up)
    return Frame(SCALE, origin=(float(on_fold[0]), float(on_fold[1])), turn=turn)
