"""Panels of edits: a piece before and after, what is added hatched and what goes dotted."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
import shapely
from drawing import Frame, Picture, composed

import propagate
from propagate.engine.darts.cap import lie_of
from propagate.engine.finish import cut_line
from propagate.geometry.polyline import point_at
from propagate.io.edits_toml import edit_of_words
from propagate.pattern.model import SizedPiece
from propagate.report.scene.items import Item, Line, Role, Scene, make_line
from propagate.report.style import BLUE, ORANGE, Stroke

__all__ = ["Panel", "demo_set", "draw_panels"]

Array = npt.NDArray[np.float64]

SLASH = Stroke(BLUE, 0.55, (0.7, 1.5))
RING = Stroke(ORANGE, 0.45)
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
    for words in panel.does:
        word, *said = words.split()
        new = propagate.run(new, edit_of_words(word, said).edit).pattern
    return old, new


def draw_panels(
    picture: Picture, panels: Sequence[Panel], *, wide: float, high: Sequence[float], columns: int
) -> None:
    """Draw panels in rows; each row is as high as `high` says, words and all, mm."""
    tops = [-sum(high[:row]) for row in range(len(high))]
    for i, panel in enumerate(panels):
        _draw(picture, panel, (wide * (i % columns), tops[i // columns]), wide, high[i // columns])
    picture.legend({Role.BEFORE: "line before"})


def frame_of(panel: Panel, pieces: Sequence[SizedPiece], corner: tuple[float, float]) -> Frame:
    """The piece the right way up, the upper left corner of its box at `corner`."""
    x, y = lie_of(demo_set(panel.demo), panel.piece, pieces[0]).up
    turned = Frame(panel.scale, turn=90.0 - math.degrees(math.atan2(y, x)))
    points = turned(np.vstack([piece.outline for piece in pieces]))
    left, top = points[:, 0].min(), points[:, 1].max() - panel.scale * panel.shown[0]
    return replace(turned, at=(corner[0] - left, corner[1] - top))


def _draw(
    picture: Picture, panel: Panel, corner: tuple[float, float], wide: float, high: float
) -> None:
    pieces = [one.sized(panel.piece, one.base) for one in sets_of(panel)]
    title_at = corner[1] - high + 11.0 + 4.7 * (1 + panel.words.count("\n"))
    frame, box = _placed(panel, pieces, corner, wide, title_at + 7.0)
    picture.draw(_scene(panel, frame).clipped(box))
    _slashes(picture, panel, frame, pieces[0])
    if panel.notches:
        _moved_notches(picture, frame, pieces)
    _levels(picture, panel, frame, pieces[1], box)
    middle = corner[0] + wide / 2
    picture.text([middle, title_at], panel.title, bold=True, size=TITLE)
    picture.text([middle, title_at - 5.2], panel.words)


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


def _scene(panel: Panel, frame: Frame) -> Scene:
    """The piece after and before, as the program draws a result."""
    (old, old_info), (new, info) = (
        (one.sized(panel.piece, one.base), one.info[panel.piece]) for one in sets_of(panel)
    )
    now = composed(new, frame, info, before=old, cut=cut_line(new, info) if panel.cut else None)
    inside = composed(old, frame, shown=(Role.INNER, Role.DART))
    kept = {(item.role, item.name): item.points for item in now.items if isinstance(item, Line)}
    was: list[Item] = [
        make_line(Role.BEFORE, item.points)
        for item in inside.items
        if isinstance(item, Line) and not _same(item.points, kept.get((item.role, item.name)))
    ]
    if panel.cut:
        was.append(make_line(Role.CUT_BEFORE, frame(cut_line(old, old_info).points), closed=True))
    return now + Scene(tuple(was))


def _same(points: Array, others: Array | None) -> bool:
    return others is not None and points.shape == others.shape and np.allclose(points, others)


def _moved_notches(picture: Picture, frame: Frame, pieces: Sequence[SizedPiece]) -> None:
    """A dot for each notch that lies elsewhere, a ring where it was."""
    old, new = pieces
    for mark in old.landmarks:
        now = new.landmark(mark.name).point
        if mark.kind == "notch" and not np.allclose(mark.point, now, atol=0.5):
            ring = picture.arc(frame([mark.point])[0], 1.1, 0.0, 360.0)
            picture.line(ring[:-1], RING, closed=True)
            picture.dot(frame([now])[0], radius=1.1, colour=BLUE)


def _slashes(picture: Picture, panel: Panel, frame: Frame, piece: SizedPiece) -> None:
    """The lines along which a piece was cut, as they lie on it before."""
    said = dict(word.split("=", 1) for word in panel.does[0].split()[1:])
    for along in panel.slashes:
        ends = [
            point_at(piece.edge(said[key]).points, mm)
            for key, mm in zip(("from", "to"), along, strict=True)
        ]
        picture.line(frame(np.array(ends)), SLASH)


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
        picture.line([[x.min() - 2.0, y], [x.max() + 2.0, y]], Role.LEVEL)
        picture.text([x.max() + 3.0, y - 1.2], name, anchor="start", size=3.2)
