"""Panels of edits: a piece before and after, what is added hatched and what goes dotted."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import shapely
from drawing import BEFORE, LEVEL, SEAM, SMALL, Frame, Picture, clipped, rings

import propagate
from propagate.engine.darts.cap import lie_of
from propagate.engine.finish import cut_line
from propagate.geometry.polyline import between, point_at
from propagate.io.edits_toml import edit_of_words
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Stroke
from propagate.report.style import ADDED, BLUE, ORANGE, PAPER, TRIMMED

__all__ = ["Panel", "cloth_of", "demo_set", "draw_panels", "frame_of", "sets_of"]

MARK = Stroke(BLUE, 0.5)
OLD_MARK = Stroke(ORANGE, 0.35, (1.6, 1.2))
OLD_RING = Stroke(ORANGE, 0.45)
CUT_LINE = Stroke(BLUE, 0.4)
CROP_MM = 6.0
"""What lies so far outside of the piece is drawn: a cut line, the end of a level."""
TITLE = 4.0
"""Size of the title of a panel, mm."""


@dataclass(frozen=True)
class Panel:
    """One edit, or several one after the other, in the words of the command, on one piece.

    `shown` is how much of the piece is seen, mm below its top, and `across` mm from its left.
    `levels` are drawn and named; `slashes` go from so far along the first edge of the edit to
    so far along the second, mm. `lines` are drawn inside the pieces before anything is done.
    """

    demo: str
    piece: str
    does: tuple[str, ...]
    title: str
    words: str
    scale: float
    shown: tuple[float, float] = (0.0, 5000.0)
    across: tuple[float, float] = (0.0, 5000.0)
    levels: tuple[str, ...] = ()
    slashes: tuple[tuple[float, float], ...] = ()
    cut: bool = False
    notches: bool = False
    lines: Callable[[propagate.PatternSet], propagate.PatternSet] | None = None


@cache
def demo_set(name: str) -> propagate.PatternSet:
    """A demo set."""
    return propagate.load(propagate.demo_path(name))


@cache
def sets_of(panel: Panel) -> tuple[propagate.PatternSet, propagate.PatternSet]:
    """The set before and after."""
    old = demo_set(panel.demo)
    if panel.lines is not None:
        old = panel.lines(old)
    new = old
    for line in panel.does:
        word, *said = line.split()
        new = propagate.run(new, edit_of_words(word, said).edit).pattern
    return old, new


def draw_panels(
    picture: Picture, panels: Sequence[Panel], *, wide: float, high: Sequence[float], columns: int
) -> None:
    """Draw panels in rows; each row is as high as `high` says, words and all, mm."""
    tops = [-sum(high[:row]) for row in range(len(high))]
    for i, panel in enumerate(panels):
        _draw(picture, panel, (wide * (i % columns), tops[i // columns]), wide, high[i // columns])


def frame_of(panel: Panel, pieces: Sequence[SizedPiece], corner: tuple[float, float]) -> Frame:
    """The piece the right way up, the upper left corner of its box at `corner`."""
    x, y = lie_of(demo_set(panel.demo), panel.piece, pieces[0]).up
    turned = Frame(panel.scale, turn=90.0 - math.degrees(math.atan2(y, x)))
    points = turned(np.vstack([piece.outline for piece in pieces]))
    left, top = points[:, 0].min(), points[:, 1].max() - panel.scale * panel.shown[0]
    return replace(turned, at=(corner[0] - left, corner[1] - top))


def cloth_of(piece: SizedPiece) -> shapely.Geometry:
    """The area of a piece without the mouths of its darts."""
    area = shapely.Polygon(piece.outline)
    for dart in piece.darts:
        low, high = sorted(piece.distance(dart.edge, leg) for leg in dart.legs)
        mouth = between(piece.edge(dart.edge).points, low, high)
        area = area.difference(shapely.Polygon([*mouth, dart.tip]))
    return area


def _draw(
    picture: Picture, panel: Panel, corner: tuple[float, float], wide: float, high: float
) -> None:
    pieces = [one.sized(panel.piece, one.base) for one in sets_of(panel)]
    title_at = corner[1] - high + 11.0 + 4.7 * (1 + panel.words.count("\n"))
    frame, box = _placed(panel, pieces, corner, wide, title_at + 7.0)
    _areas(picture, pieces, frame, box)
    for piece, stroke, layer in zip(pieces, (BEFORE, SEAM), ("before", "seam"), strict=True):
        for edge in piece.edges:
            for part in clipped(frame(edge.points), box):
                picture.line(part, stroke, layer=layer)
    for piece, stroke in zip(pieces, (OLD_MARK, MARK), strict=True):
        _marks(picture, frame, piece, stroke, box)
    _slashes(picture, panel, frame, pieces[0])
    if panel.notches:
        _moved_notches(picture, frame, pieces)
    if panel.cut:
        _cut_lines(picture, panel, frame, box)
    _levels(picture, panel, frame, pieces[1], box)
    middle = corner[0] + wide / 2
    picture.text([middle, title_at], panel.title, bold=True, size=TITLE, halo=False)
    picture.text([middle, title_at - 5.2], panel.words, halo=False)


def _placed(
    panel: Panel,
    pieces: Sequence[SizedPiece],
    corner: tuple[float, float],
    wide: float,
    lowest: float,
) -> tuple[Frame, shapely.Geometry]:
    """The frame that puts what is shown into the middle of a panel, and the box it is cut to."""
    frame = frame_of(panel, pieces, corner)
    x = np.concatenate([frame(piece.outline)[:, 0] for piece in pieces])
    whole = float(x.max() - corner[0])
    left, right = (min(panel.scale * mm, whole) for mm in panel.across)
    start = corner[0] + (wide - (right - left)) / 2
    frame = replace(frame, at=(frame.at[0] + start - corner[0] - left, frame.at[1]))
    low = corner[1] - panel.scale * (panel.shown[1] - panel.shown[0])
    box = shapely.box(
        start - (CROP_MM if left == 0.0 else 0.0),
        max(low, lowest),
        start + right - left + (CROP_MM if right == whole else 0.0),
        corner[1] + CROP_MM,
    )
    return frame, box


def _areas(
    picture: Picture, pieces: Sequence[SizedPiece], frame: Frame, box: shapely.Geometry
) -> None:
    was, now = (shapely.transform(shapely.Polygon(p.outline), frame) for p in pieces)
    cloth = shapely.transform(cloth_of(pieces[1]), frame)
    picture.area(rings(cloth.intersection(box), Frame(1.0)), PAPER, layer="paper")
    for area, fill in ((now.difference(was), ADDED), (was.difference(now), TRIMMED)):
        # what no eye sees would only be specks of the hatching
        seen = area.buffer(-0.12).buffer(0.12).intersection(box)
        picture.area(rings(seen, Frame(1.0)), fill)


def _marks(
    picture: Picture, frame: Frame, piece: SizedPiece, stroke: Stroke, box: shapely.Geometry
) -> None:
    drawn = [line.points for line in piece.lines]
    for dart in piece.darts:
        drawn += [np.array([piece.landmark(leg).point, dart.tip]) for leg in dart.legs]
    for points in drawn:
        for part in clipped(frame(points), box):
            picture.line(part, stroke, layer="marks" if stroke is MARK else "before")
    for mark in piece.drills:
        if box.contains(shapely.Point(frame([mark.point])[0])):
            picture.dot(frame([mark.point])[0], radius=0.6, colour=stroke.colour)


def _cut_lines(picture: Picture, panel: Panel, frame: Frame, box: shapely.Geometry) -> None:
    for one, stroke in zip(sets_of(panel), (OLD_MARK, CUT_LINE), strict=True):
        cut = cut_line(one.sized(panel.piece, one.base), one.info[panel.piece]).points
        for part in clipped(frame(np.vstack([cut, cut[:1]])), box):
            picture.line(part, stroke, layer="before" if stroke is OLD_MARK else "thin")


def _moved_notches(picture: Picture, frame: Frame, pieces: Sequence[SizedPiece]) -> None:
    """A dot for each notch that lies elsewhere, a ring where it was."""
    old, new = pieces
    for mark in old.landmarks:
        now = new.landmark(mark.name).point
        if mark.kind == "notch" and not np.allclose(mark.point, now, atol=0.5):
            ring = picture.arc(frame([mark.point])[0], 1.1, 0.0, 360.0)
            picture.line(ring[:-1], OLD_RING, layer="marks", closed=True)
            picture.dot(frame([now])[0], radius=1.1, colour=BLUE)


def _slashes(picture: Picture, panel: Panel, frame: Frame, piece: SizedPiece) -> None:
    """The lines along which a piece was cut, as they lie on it before."""
    said = dict(word.split("=", 1) for word in panel.does[0].split()[1:])
    for along in panel.slashes:
        ends = [
            point_at(piece.edge(said[key]).points, mm)
            for key, mm in zip(("from", "to"), along, strict=True)
        ]
        picture.line(frame(np.array(ends)), SMALL, layer="marks")


def _levels(
    picture: Picture, panel: Panel, frame: Frame, piece: SizedPiece, box: shapely.Geometry
) -> None:
    """Levels across the piece, and a little beyond it on the right, where their names stand."""
    outline = shapely.transform(shapely.Polygon(piece.outline), frame).intersection(box)
    x = shapely.get_coordinates(outline)[:, 0]
    for name in panel.levels:
        y = float(frame([piece.levels[name]])[0, 1])
        if not box.bounds[1] < y < box.bounds[3]:
            continue
        picture.line([[x.min() - 2.0, y], [x.max() + 2.0, y]], LEVEL, layer="marks")
        picture.text([x.max() + 3.0, y - 1.2], name, anchor="start", size=3.2)
