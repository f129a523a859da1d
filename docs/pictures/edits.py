"""Edits of pieces: the old outline dashed, the new one over it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from drawing import BEFORE, SEAM, Frame, Picture, clipped, rings

import propagate
from propagate import Amount
from propagate.engine.darts.cap import lie_of
from propagate.engine.edits.sized import SizedEdit
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Stroke
from propagate.report.style import BLUE, ORANGE, PAPER

__all__ = ["edits"]

MARK = Stroke(BLUE, 0.5)
OLD_MARK = Stroke(ORANGE, 0.35, (1.6, 1.2))
STEP = 86.0
WORDS_MM = 72.0
"""The words below each panel stand this far below its top."""


@dataclass(frozen=True)
class Panel:
    """One edit on one piece, and how much of the piece is shown, from its top, mm."""

    demo: str
    piece: str
    edit: SizedEdit
    words: str
    depth: float
    scale: float


PANELS = (
    Panel(
        "scoop_skirt",
        "skirt_back",
        propagate.Spread(
            piece="skirt_back",
            first="foot",
            second="top",
            by=Amount(mm=110.0),
            lines=3,
            at=("130mm", "260mm"),
            to_at=("20mm", "70mm"),
        ),
        "spread: the foot opened\nalong three lines, the top a hinge",
        620.0,
        0.105,
    ),
    Panel(
        "slant_trouser",
        "front",
        propagate.ChangeOpening(opening="front_pocket", to=Amount(mm=178.0), along=Amount(mm=15.0)),
        "opened: the mouth longer,\nand moved along the waist",
        330.0,
        0.2,
    ),
    Panel(
        "slant_trouser",
        "back",
        propagate.Raise(edge="back.waist", by=Amount(mm=40.0), at="end", to=("start",)),
        "raised at the centre: drawn\nacross the folded dart",
        330.0,
        0.2,
    ),
    Panel(
        "slant_trouser",
        "back",
        propagate.MoveMark(mark="back.welt", by=Amount(mm=-25.0), across=Amount(mm=12.0)),
        "a mark moved down the grain\nand across it",
        330.0,
        0.2,
    ),
)


@cache
def _set(name: str) -> propagate.PatternSet:
    return propagate.load(propagate.demo_path(name))


def edits(folder: Path) -> None:
    """Draw the edits beside each other."""
    picture = Picture(
        "Edits of pieces",
        "Four edits, the old lines dashed: a skirt's back spread from the foot to the top, the "
        "opening of a trouser front made longer and moved, the waist of a trouser back raised at "
        "the centre with its dart folded, and the line of a welt pocket moved.",
    )
    for i, panel in enumerate(PANELS):
        _draw(picture, panel, (i * STEP, 0.0))
    picture.save(folder, "edits")


def _draw(picture: Picture, panel: Panel, corner: tuple[float, float]) -> None:
    pattern = _set(panel.demo)
    old = pattern.sized(panel.piece, pattern.base)
    new = propagate.run(pattern, panel.edit).pattern.sized(panel.piece, pattern.base)
    frame = _frame(panel, old, new, corner)
    both = frame(np.vstack([old.outline, new.outline]))
    top = float(both[:, 1].max())
    left, right = float(both[:, 0].min()), float(both[:, 0].max())
    box = shapely.box(left - 2.0, top - panel.scale * panel.depth, right + 2.0, top + 2.0)
    cloth = shapely.transform(shapely.Polygon(new.outline), frame).intersection(box)
    picture.area(rings(cloth, Frame(1.0)), PAPER, layer="paper")
    for piece, stroke, layer in ((old, BEFORE, "before"), (new, SEAM, "seam")):
        for edge in piece.edges:
            for part in clipped(frame(edge.points), box):
                picture.line(part, stroke, layer=layer)
    for piece, stroke in ((old, OLD_MARK), (new, MARK)):
        _marks(picture, frame, piece, stroke)
    shown = clipped(frame(np.vstack([new.outline, new.outline[:1]])), box)
    x = np.concatenate(shown)[:, 0]
    place = [(x.min() + x.max()) / 2, corner[1] - WORDS_MM]
    picture.text(place, panel.words, halo=False)


def _frame(panel: Panel, old: SizedPiece, new: SizedPiece, corner: tuple[float, float]) -> Frame:
    """The piece the right way up, the upper left corner of its box at `corner`."""
    x, y = lie_of(_set(panel.demo), panel.piece, old).up
    turned = Frame(panel.scale, turn=90.0 - math.degrees(math.atan2(y, x)))
    points = turned(np.vstack([old.outline, new.outline]))
    return replace(turned, at=(corner[0] - points[:, 0].min(), corner[1] - points[:, 1].max()))


def _marks(picture: Picture, frame: Frame, piece: SizedPiece, stroke: Stroke) -> None:
    for dart in piece.darts:
        for leg in dart.legs:
            ends = np.array([piece.landmark(leg).point, dart.tip])
            picture.line(frame(ends), stroke, layer="marks")
    for line in piece.lines:
        picture.line(frame(line.points), stroke, layer="marks")
