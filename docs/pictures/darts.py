"""The edits of darts: the top of a skirt's back before and after each of the four."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from drawing import BEFORE, SEAM, Frame, Picture, clipped, rings

import propagate
from propagate.engine.darts.cap import lie_of
from propagate.geometry.polyline import between
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Stroke
from propagate.report.style import BLUE, ORANGE, PAPER

__all__ = ["dart_edits"]

LEG = Stroke(BLUE, 0.5)
OLD_LEG = Stroke(ORANGE, 0.35, (1.6, 1.2))
BACK, DART = "skirt_back", "skirt_back.back_dart"
DEPTH_MM, SCALE = 260.0, 0.24
EDITS = (
    (
        propagate.SwingDart(dart=DART, into="cb", at="160mm", share=propagate.Amount(share=0.5)),
        "swung: half of it\ninto the centre back",
    ),
    (
        propagate.DivideDart(dart=DART, apart=propagate.Amount(mm=56.0)),
        "divided into two,\n56 mm apart",
    ),
    (
        propagate.MoveDart(dart=DART, by=propagate.Amount(mm=26.0), towards="start"),
        "moved by 26 mm\nalong the top",
    ),
    (
        propagate.WidenDart(dart=DART, by=propagate.Amount(mm=14.0)),
        "14 mm wider, and let\nout as much at the side",
    ),
)


@cache
def _skirt() -> propagate.PatternSet:
    return propagate.load(propagate.demo_path("scoop_skirt"))


def dart_edits(folder: Path) -> None:
    """Draw the four edits beside each other."""
    picture = Picture(
        "Edits of darts",
        "The top of a skirt's back four times: its dart swung in part into the centre back, "
        "divided into two, moved along the top, and made wider with the side let out. The old "
        "outline and the old dart are dashed.",
    )
    old = _skirt().sized(BACK, _skirt().base)
    for i, (edit, words) in enumerate(EDITS):
        new = propagate.run(_skirt(), edit).pattern.sized(BACK, _skirt().base)
        _panel(picture, old, new, (i * 88.0, 0.0), words)
    picture.save(folder, "dart-edits")


def _frame(old: SizedPiece, corner: tuple[float, float]) -> Frame:
    """The piece the right way up, the upper left corner of its box at `corner`."""
    x, y = lie_of(_skirt(), BACK, old).up
    turned = Frame(SCALE, turn=90.0 - math.degrees(math.atan2(y, x)))
    points = turned(old.outline)
    return replace(turned, at=(corner[0] - points[:, 0].min(), corner[1] - points[:, 1].max()))


def _panel(
    picture: Picture, old: SizedPiece, new: SizedPiece, corner: tuple[float, float], words: str
) -> None:
    frame = _frame(old, corner)
    left, right = corner[0], float(frame(old.outline)[:, 0].max())
    box = shapely.box(left - 12.0, corner[1] - SCALE * DEPTH_MM, right + 12.0, corner[1] + 12.0)
    area = shapely.Polygon(new.outline)
    for dart in new.darts:
        low, high = sorted(new.distance(dart.edge, leg) for leg in dart.legs)
        mouth = between(new.edge(dart.edge).points, low, high)
        area = area.difference(shapely.Polygon([*mouth, dart.tip]))
    cloth = shapely.transform(area, frame).intersection(box)
    picture.area(rings(cloth, Frame(1.0)), PAPER, layer="paper")
    for piece, stroke, layer in ((old, BEFORE, "before"), (new, SEAM, "seam")):
        for edge in piece.edges:
            for part in clipped(frame(edge.points), box):
                picture.line(part, stroke, layer=layer)
    _legs(picture, frame, old, OLD_LEG)
    _legs(picture, frame, new, LEG)
    picture.text([(left + right) / 2, corner[1] - SCALE * DEPTH_MM - 6.0], words, halo=False)


def _legs(picture: Picture, frame: Frame, piece: SizedPiece, stroke: Stroke) -> None:
    for dart in piece.darts:
        for leg in dart.legs:
            ends = np.array([piece.landmark(leg).point, dart.tip])
            picture.line(frame(ends), stroke, layer="marks")
