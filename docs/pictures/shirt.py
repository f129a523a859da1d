"""The shirt: its pieces before and after the edits of its file, with the buttons of its bands."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from drawing import Frame, Picture, composed

import propagate
from propagate.geometry.motion import Motion
from propagate.io.edits_toml import read_edits
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import SizedPiece
from propagate.report.scene.piece import moved_piece

__all__ = ["shirt_edits"]

SCALE = 0.11
PIECES = (  # name, words, upper left corner on the page, on which edge the two lie
    ("back", "back", (0.0, 0.0), "yoke"),
    ("front", "front", (48.0, 0.0), "yoke"),
    ("buttonhole_band", "buttonhole\nband", (92.0, 0.0), "neck"),
    ("button_band", "button\nband", (114.0, 0.0), "neck"),
    ("sleeve", "sleeve", (132.0, 0.0), "cap"),
    ("yoke", "yoke", (132.0, -74.0), "back"),
    ("stand", "stand", (168.0, -68.0), "centre"),
    ("collar", "collar", (168.0, -88.0), "centre"),
)


def shirt_edits(folder: Path) -> None:
    """Draw the pieces of the base size, the old outlines dashed."""
    home = propagate.demo_path("ferry_shirt")
    pattern = propagate.load(home)
    changed = propagate.apply_edits(pattern, read_edits(home / "edits.toml").edits).pattern
    picture = Picture(
        "A shirt and its edits",
        "The pieces of a shirt: back, front, two bands, sleeve, yoke, stand and collar, after a "
        "file of edits: closer at the waist, longer body and sleeve, lower neckline. The old "
        "outlines are dashed; the buttonholes and buttons are spaced anew.",
    )
    for name, words, corner, edge in PIECES:
        old, new = (one.sized(name, pattern.base) for one in (pattern, changed))
        _piece(picture, old, new, pattern.info[name], (corner, edge), words)
    picture.legend()
    picture.save(folder, "shirt-edits")


def _piece(
    picture: Picture,
    old: SizedPiece,
    new: SizedPiece,
    info: PieceInfo,
    place: tuple[tuple[float, float], str],
    words: str,
) -> None:
    corner, edge = place
    shift = [one.edge(edge).points[[0, -1]].mean(axis=0) for one in (old, new)]
    before = moved_piece(old, Motion(shift=complex(*(shift[1] - shift[0]))))
    turned = Frame(SCALE, turn=90.0 - math.degrees(math.atan2(*old.grain.direction[::-1])))
    points = turned(new.outline)
    at = (corner[0] - points[:, 0].min(), corner[1] - points[:, 1].max())
    frame = replace(turned, at=at)
    picture.draw(composed(new, frame, info, before=before))
    low = frame(new.outline)
    middle = (low[:, 0].min() + low[:, 0].max()) / 2.0
    picture.text([middle, low[:, 1].min() - 5.0], words)
