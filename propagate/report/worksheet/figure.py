"""The figure of a step: the part of a piece that changes, large, with every row as a whisker."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.lettering import letters_of
from propagate.report.pdf.fonts import FontBook
from propagate.report.scene.items import Line, Role, Scene, make_line, make_text
from propagate.report.scene.labels import Labels, label_box
from propagate.report.scene.lead import SCALES
from propagate.report.scene.piece import compose_changed, grain_up
from propagate.report.units import offset_word, place_word
from propagate.report.worksheet.old_line import lines_of_rows
from propagate.report.worksheet.value import PieceWork
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["Figure", "StepFigures", "largest_scale", "step_figures"]

Array = npt.NDArray[np.float64]
_Arranged = tuple[tuple[Array, ...], tuple[float, float], bool]
"""Windows, the room of each in mm, and whether they stand beside each other."""

_SAME_MM = 1e-6
_WORTH = 1.3
"""Two windows are drawn when they show more by this factor, three when by its square."""
_ROW_MM = 6.0
"""Rows that are closer on average, all around what is shown, have too little room."""
_APART_MM, _CROWDED, _FEW = 2.5, 1 / 2, 12
"""Rows nearer to each other than the first are crowded, if more than a share and a few are so."""
_ROW_SIZE, _LETTER_SIZE, _MARK_SIZE, _NAME_SIZE = 2.3, 3.4, 2.7, 2.5
_HEAD_MM = 1.8
_TRIES = 6
"""Rows without both figures are written first in the next try; most figures need one."""
_ROOM_MM = 19.0
"""Room around what is shown, for labels."""
_LEAST_MM = 4.0
_GAP_MM = 5.0
_APART = 0.18
"""Changes farther apart than this share of the piece can have windows of their own."""


@dataclass(frozen=True, eq=False)
class Figure:
    """A drawing in mm on the page, from its lower left corner (0, 0)."""

    scene: Scene
    width: float
    height: float
    scale: float


@dataclass(frozen=True, eq=False)
class _Whisker:
    """A row of a table: from its foot on the old line, square to it, to the new line."""

    foot: Array
    tip: Array
    out: Array
    place: str
    """Its first figure, by which its table tells it from the others."""
    words: str


@dataclass(frozen=True, eq=False)
class _Shown:
    """A piece with its rows, in its own frame."""

    whiskers: tuple[_Whisker, ...]
    beyond: tuple[Line, ...]
    old_corners: tuple[tuple[str, Array], ...]
    source: Source
    work: PieceWork

    @property
    def points(self) -> Array:
        """(n, 2) points that a figure has to show."""
        return np.array([p for w in self.whiskers for p in (w.foot, w.tip)])

    @property
    def turned_tips(self) -> Array:
        """(n, 2) points of the new line, one for each row, with the grain upwards."""
        turn = grain_up(self.source.sized(self.work.piece))
        return turn.apply(np.array([whisker.tip for whisker in self.whiskers]))

    def scene(self, scale: float) -> Scene:
        """Everything but texts, for a drawing of that scale."""
        pair = self.source.compared(self.work.piece)
        now, info = pair.now, self.source.pattern.info[self.work.piece]
        piece = compose_changed(now, info, pair.change, page_mm=scale)
        whiskers = [make_line(Role.OFFSET, [w.foot, w.tip]) for w in self.whiskers]
        rest = Scene((*self.beyond, *whiskers))
        return piece.without(Role.LEVEL, Role.FOLD) + rest


@dataclass(frozen=True, eq=False)
class StepFigures:
    """What the figures of a step have to show, and how that fits into some room on a page."""

    shown: _Shown
    windows: tuple[Array, ...]

    def fitted(self, room: tuple[float, float]) -> tuple[float, float]:
        """Scale (4.0 stands for 1:4) and height in mm of the drawing in a room of that size."""
        parts, size, beside = self._arranged(room)
        scales = [largest_scale(part, size) for part in parts]
        tall = [_drawn_height(part, scale, size) for part, scale in zip(parts, scales, strict=True)]
        return max(scales), max(tall) if beside else sum(tall) + _GAP_MM * (len(parts) - 1)

    def drawn(self, fonts: FontBook, room: tuple[float, float]) -> list[tuple[Figure, float]]:
        """The figures from the top down, each with its distance from the left, mm.

        Those beside each other stand in one row, which the next one does not leave.
        """
        parts, size, beside = self._arranged(room)
        return [
            (
                _draw_window(self.shown, fonts, part, size),
                i * (size[0] + _GAP_MM) if beside else 0.0,
            )
            for i, part in enumerate(parts)
        ]

    def is_crowded(self, room: tuple[float, float]) -> bool:
        """Whether in a room of that size many rows lie too near each other for their figures."""
        parts, size, _ = self._arranged(room)
        tips = self.shown.turned_tips
        near = 0
        for part in parts:
            own = tips[_is_within(part, tips)] / largest_scale(part, size)
            apart = np.hypot(*(own[:, None] - own[None, :]).transpose(2, 0, 1))
            np.fill_diagonal(apart, np.inf)
            near += int((apart.min(axis=1, initial=np.inf) < _APART_MM).sum())
        return near > max(_CROWDED * len(tips), _FEW)

    def _arranged(self, room: tuple[float, float]) -> _Arranged:
        """The windows, the room of each, and whether they stand beside each other."""
        low = np.min([window[0] for window in self.windows], axis=0)
        high = np.max([window[1] for window in self.windows], axis=0)
        whole = np.array([low, high])
        found: list[_Arranged] = [((whole,), room, False)]
        if len(self.windows) > 1:
            found += [
                (self.windows, _share_of(room, 2, beside), beside) for beside in (True, False)
            ]
        if self._is_full(whole, largest_scale(whole, room)):
            beside = bool(np.argmax(high - low))
            found += [
                (_slice_window(whole, count), _share_of(room, count, beside), beside)
                for count in (2, 3)
            ]
        scales = [max(largest_scale(window, size) for window in parts) for parts, size, _ in found]
        costs = [
            scale * _WORTH ** (len(one[0]) - 1) for scale, one in zip(scales, found, strict=True)
        ]
        return found[int(np.argmin(costs))]

    def _is_full(self, window: Array, scale: float) -> bool:
        """Whether rows stand too close all around what is shown for their figures."""
        around = 2.0 * float((window[1] - window[0]).sum()) / scale
        return around < _ROW_MM * len(self.shown.whiskers)


def step_figures(source: Source, work: PieceWork) -> StepFigures | None:
    """Tell what is to be drawn of a piece; None where a figure would show no row."""
    shown = _find_shown(source, work)
    if not shown.whiskers:
        return None
    turn = grain_up(source.sized(work.piece))
    return StepFigures(shown, tuple(_windows_of(turn.apply(shown.points))))


def _find_shown(source: Source, work: PieceWork) -> _Shown:
    whiskers: list[_Whisker] = []
    beyond: list[Line] = []
    corners: dict[str, Array] = {}
    for edge in work.edges:
        pair = source.compared(edge.piece)
        from_end = edge.offsets_from == edge.letters[1] != edge.letters[0]
        lines = pair.old_lines(edge.edge, from_end=from_end)
        if edge.offsets:
            corners[edge.offsets_from] = lines[0].point(0.0, 0.0)
        based = [
            *zip(edge.offsets, lines_of_rows(lines, edge.offsets), strict=True),
            *((row, pair.chord(edge.edge)) for row in edge.chord),
        ]
        for row, base in based:
            foot, _, out = base.frame(row.along_mm)
            place = place_word(row.along_mm, source.unit)
            words = f"{place} | {offset_word(row.out_mm, source.unit)}"
            tip = base.point(row.along_mm, row.out_mm)
            whiskers.append(_Whisker(foot, tip, out, place, words))
            # Beyond its ends the old line is run straight on, as far as a row stands on it.
            if not base.begin - 0.5 <= row.along_mm <= base.end + 0.5:
                end = min(max(row.along_mm, base.begin), base.end)
                ends = [base.point(along, 0.0) for along in (end, row.along_mm)]
                beyond.append(make_line(Role.BEYOND, ends))
        if edge.chord:
            rest = source.sized(work.piece).edge(edge.edge).points[[0, -1]]
            beyond.append(make_line(Role.BEYOND, rest))
    return _Shown(tuple(whiskers), tuple(beyond), tuple(corners.items()), source, work)


def _draw_window(
    shown: _Shown, fonts: FontBook, window: Array, room: tuple[float, float]
) -> Figure:
    """Draw one window and its labels; rows without room are written first in another try."""
    scale = largest_scale(window, room)
    turn = grain_up(shown.source.sized(shown.work.piece))
    height = _drawn_height(window, scale, room)
    middle = np.array([room[0], height]) / 2

    def at(xy: Array) -> Array:
        return np.asarray((turn.apply(xy) - window.mean(axis=0)) / scale + middle)

    own = _is_within(window, shown.turned_tips)
    rows = [whisker for whisker, shows in zip(shown.whiskers, own, strict=True) if shows]
    tries: list[tuple[int, int, int, Scene]] = []
    for number in range(_TRIES):
        scene, missing, short = _label_window(shown, rows, fonts, (room[0], height), scale, at)
        tries.append((len(short), len(missing), number, scene))
        if not short:
            break
        rows = [*short, *(row for row in rows if row not in short)]
    return Figure(min(tries, key=lambda one: one[:3])[3], room[0], height, scale)


def _label_window(
    shown: _Shown,
    rows: Sequence[_Whisker],
    fonts: FontBook,
    size: tuple[float, float],
    scale: float,
    at: Callable[[Array], Array],
) -> tuple[Scene, list[_Whisker], list[_Whisker]]:
    """Label what a window shows; tell the rows without any text, and all without both figures."""
    frame = shapely.box(0.0, 0.0, *size)
    whole = shown.scene(scale).placed(scale, at)
    scene = whole.clipped(frame)
    if not frame.covers(shapely.box(*np.concatenate(whole.bounds()))):
        scene = scene + Scene((make_line(Role.LEADER, frame.exterior.coords[:-1], closed=True),))
    labels = Labels(scene, fonts.width, frame.buffer(-0.6))
    now = shown.source.sized(shown.work.piece)
    centre = at(now.outline).mean(axis=0)

    def name_point(point: Array, words: str, size: float, *, inward: bool = False) -> None:
        way = (centre - point) * (1.0 if inward else -1.0)
        label = make_text(point, words, size, bold=size == _LETTER_SIZE)
        labels.near(point, label, first=math.atan2(way[1], way[0]))

    letters = [(one, at(one.point)) for one in letters_of(now)]
    letters = [(one, point) for one, point in letters if frame.covers(shapely.Point(point))]
    for one, point in letters:
        if one.kind == "corner":
            name_point(point, one.letter, _LETTER_SIZE)
    for letter, old in shown.old_corners:
        if frame.covers(shapely.Point(at(old))):
            name_point(at(old), f"old {letter}", _MARK_SIZE)
    short = [row for row in rows if not _write_row(labels, row, row.words, at)]
    missing = [row for row in short if not _write_row(labels, row, row.place, at)]
    for one, point in letters:
        if one.kind != "corner":
            name_point(point, one.letter, _MARK_SIZE, inward=True)
    heads: list[Line] = []
    for letter, leaves, way in _find_left_out(shown, frame, at):
        back, aside = leaves - _HEAD_MM * way, 0.4 * _HEAD_MM * np.array([-way[1], way[0]])
        head = make_line(Role.LEADER, [back + aside, leaves, back - aside])
        own = shapely.LineString(head.points)
        if any(label_box(one, fonts.width).intersects(own) for one in labels.texts):
            continue
        labels.keep(own)
        label = make_text(leaves, f"to {letter}", _MARK_SIZE)
        if labels.near(leaves, label, first=math.atan2(-way[1], -way[0])):
            heads.append(head)
    scene = scene + Scene(tuple(heads))
    for seam in scene.of(Role.SEAM):
        assert isinstance(seam, Line)
        title = shown.source.called(seam.name, shown.work.piece)
        labels.along(seam.points, make_text((0.0, 0.0), title, _NAME_SIZE))
    return scene.without(Role.FACE) + labels.scene, missing, short


def _find_left_out(
    shown: _Shown, frame: shapely.Polygon, at: Callable[[Array], Array]
) -> Iterator[tuple[str, Array, Array]]:
    """Yield corners of changed edges beyond a frame: letter, where the edge leaves, which way."""
    now = shown.source.sized(shown.work.piece)
    for edge in shown.work.edges:
        points = at(now.edge(edge.edge).points)
        for letter, path_points in zip(edge.letters, (points, points[::-1]), strict=True):
            path = shapely.LineString(path_points)
            inside = path.intersection(frame.buffer(-_MARK_SIZE))
            if frame.covers(shapely.Point(path_points[0])) or inside.is_empty:
                continue
            entry = min(path.project(shapely.Point(p)) for p in shapely.get_coordinates(inside))
            leaves, before = (path.interpolate(entry + mm) for mm in (0.0, _HEAD_MM))
            way = shapely.get_coordinates([leaves])[0] - shapely.get_coordinates([before])[0]
            size = math.hypot(*way)
            if size > 0.0:
                yield letter, shapely.get_coordinates([leaves])[0], way / size


def _write_row(labels: Labels, whisker: _Whisker, words: str, at: Callable[[Array], Array]) -> bool:
    """Write figures of a row along it, else near it; False without room."""
    foot, tip = at(whisker.foot), at(whisker.tip)
    way = at(whisker.foot + whisker.out) - foot
    way = way / math.hypot(*way)
    outer = max((foot, tip), key=lambda point: float(point @ way))
    label = make_text(outer, words, _ROW_SIZE)
    return labels.ahead(outer, way, label, back=math.dist(foot, tip)) or labels.near(
        outer, label, first=math.atan2(way[1], way[0])
    )


def _windows_of(points: Array) -> list[Array]:
    """Return boxes around what changed: [low, high] of each, the upper first; two at most."""
    low, high = points.min(axis=0), points.max(axis=0)
    reach = _APART * float(np.hypot(*(high - low)))
    areas = shapely.MultiPoint(points).buffer(reach / 2, quad_segs=2)
    groups = [
        points[shapely.covers(part, shapely.points(points))] for part in shapely.get_parts(areas)
    ]
    if len(groups) != 2:
        groups = [points]
    boxes = [np.array([group.min(axis=0), group.max(axis=0)]) for group in groups]
    return sorted(boxes, key=lambda box: (-box[1][1], box[0][0]))


def _is_within(window: Array, points: Array) -> npt.NDArray[np.bool_]:
    """Tell of each point whether a window shows it."""
    inside = (points >= window[0] - _SAME_MM) & (points <= window[1] + _SAME_MM)
    return np.asarray(inside.all(axis=1))


def _slice_window(window: Array, count: int) -> tuple[Array, ...]:
    """Cut a box into equal parts along its longer side, the upper or left ones first."""
    axis = int(np.argmax(window[1] - window[0]))
    cuts = np.linspace(window[0, axis], window[1, axis], count + 1)
    parts = []
    for begin, end in pairwise(cuts):
        part = window.copy()
        part[:, axis] = begin, end
        parts.append(part)
    return tuple(parts[::-1] if axis else parts)


def _share_of(room: tuple[float, float], count: int, beside: bool) -> tuple[float, float]:
    """Return the room of one of some windows, beside or below each other."""
    across, down = (count, 1) if beside else (1, count)
    return (room[0] + _GAP_MM) / across - _GAP_MM, (room[1] + _GAP_MM) / down - _GAP_MM


def largest_scale(window: Array, room: tuple[float, float]) -> float:
    """Return the largest drawing that fits: 4.0 stands for 1:4."""
    size = window[1] - window[0]
    wide, tall = (max(mm - 2 * _ROOM_MM, _LEAST_MM) for mm in room)
    # True scale at the largest; twice that where what changes is as small as a button.
    least = 0.5 if float(max(size)) < 40.0 else 1.0
    need = max(float(size[0]) / wide, float(size[1]) / tall, least)
    return next((float(s) for s in SCALES if s >= need - 1e-9), math.ceil(need / 10.0) * 10.0)


def _drawn_height(window: Array, scale: float, room: tuple[float, float]) -> float:
    """Tell how tall a window is in a room, mm, with room for labels."""
    return float(min((window[1] - window[0])[1] / scale + 2 * _ROOM_MM, room[1]))
