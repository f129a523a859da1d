"""Derived pieces: the back of a skirt, and what is a region of it, before and after an edit."""

from __future__ import annotations

import math
from pathlib import Path

from drawing import Frame, Picture, composed

import propagate
from propagate.engine.finish import cut_line
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["derived"]

SCALE = 0.19
PIECES = (
    ("back", "the back, taken in\nat the waist"),
    ("facing_back", "facing: 55 mm wide,\nits dart closed"),
    ("fusible_back", "interfacing: 3 mm inside\nthe facing's cut line"),
    ("lining_back", "lining: ease at the\nside, a shorter hem"),
    ("bag_back", "bag: along the mouth,\nits curve its own"),
)
PLACES = ((0.0, 0.0), (70.0, 0.0), (70.0, -36.0), (128.0, 0.0), (80.0, -73.0))


def derived(folder: Path) -> None:
    """Draw a back that was taken in, and its four derived pieces."""
    picture = Picture(
        "Derived pieces",
        "The back of a skirt, taken in at the side of the waist, and four pieces that are regions "
        "of it: facing with the dart closed, interfacing, lining, and a pocket bag. "
        "The old outlines are dashed.",
    )
    old = propagate.load(propagate.demo_path("lined_skirt"))
    edit = propagate.TakeIn(
        edge="front.side", by=propagate.Amount(mm=20.0), at="waist", to=("hip",), both=True
    )
    new = propagate.run(old, edit).pattern
    for (name, words), corner in zip(PIECES, PLACES, strict=True):
        _piece(picture, (old, new), name, corner, words)
    picture.legend()
    picture.save(folder, "derived")


def _piece(
    picture: Picture,
    sets: tuple[PatternSet, PatternSet],
    name: str,
    corner: tuple[float, float],
    words: str,
) -> None:
    was, now = (one.sized(name, one.base) for one in sets)
    frame = _frame(name, was, corner)
    info = sets[1].info[name]
    cut = cut_line(now, info) if name == "facing_back" else None
    picture.draw(composed(now, frame, info, cut=cut, before=was))
    drawn = frame(now.outline)
    middle = (drawn.min(axis=0) + drawn.max(axis=0)) / 2
    tall = name in ("back", "lining_back")
    picture.text(middle if tall else [middle[0], drawn[:, 1].min() - 6.0], words)


def _frame(name: str, piece: SizedPiece, corner: tuple[float, float]) -> Frame:
    """The piece the right way up, the upper left corner of its box at `corner`."""
    x, y = piece.grain.direction
    turned = Frame(SCALE, turn=90.0 - math.degrees(math.atan2(y, x)))
    if name == "bag_back":  # drawn face down: its mouth at the right, as the side
        turned = Frame(SCALE, turn=turned.turn + 180.0)
    points = turned(piece.outline)
    at = (corner[0] - points[:, 0].min(), corner[1] - points[:, 1].max())
    return Frame(SCALE, at=at, turn=turned.turn)
