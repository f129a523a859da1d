"""The figure of a step: the part of a piece that changes, large, with every row as a whisker."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.lettering import letters_of
from propagate.report.pdf.fonts import FontBook
from propagate.report.scene.change import piece_before
from propagate.report.scene.items import Line, Role, Scene, line, text
from propagate.report.scene.labels import Labels
from propagate.report.scene.piece import compose_piece, grain_up
from propagate.report.worksheet.lengths import offset_word, place_word
from propagate.report.worksheet.old_line import OldLine
from propagate.report.worksheet.value import EdgeWork, Offset, PieceWork
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["Figure", "StepFigures", "step_figures"]

Array = npt.NDArray[np.float64]

_SCALES = (0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40)
_ROOM_MM = 19.0
"""Room around what is shown, for labels."""
_LEAST_MM = 4.0
_GAP_MM = 5.0
_APART = 0.18
"""Changes farther apart than this share of the piece can have windows of their own."""
_WORTH = 1.3
"""Two windows are drawn when they show more by this factor."""
_ROW_SIZE, _LETTER_SIZE, _MARK_SIZE, _NAME_SIZE = 2.3, 3.4, 2.7, 2.5
_TRIES = 2


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

    def scene(self, scale: float) -> Scene:
        """Everything but texts, for a drawing of that scale."""
        pair = self.source.compared(self.work.piece)
        now, info = pair.now, self.source.result.pattern.info[self.work.piece]
        same = set(now.edge_names) - set(self.source.changed_edges(self.work.piece))
        before = piece_before(now, pair.change)
        piece = compose_piece(now, info, before=before, same=same, page_mm=scale)
        whiskers = [line(Role.OFFSET, [w.foot, w.tip]) for w in self.whiskers]
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
        scales = [_scale(part, size) for part in parts]
        tall = [_height(part, scale, size) for part, scale in zip(parts, scales, strict=True)]
        return max(scales), max(tall) if beside else sum(tall) + _GAP_MM * (len(parts) - 1)

    def drawn(self, fonts: FontBook, room: tuple[float, float]) -> list[tuple[Figure, float]]:
        """The figures from the top down, each with its distance from the left, mm.

        Those beside each other stand in one row, which the next one does not leave.
        """
        parts, size, beside = self._arranged(room)
        return [
            (_figure(self.shown, fonts, part, size), i * (size[0] + _GAP_MM) if beside else 0.0)
            for i, part in enumerate(parts)
        ]

    def _arranged(
        self, room: tuple[float, float]
    ) -> tuple[tuple[Array, ...], tuple[float, float], bool]:
        """The windows, the room of each, and whether they stand beside each other."""
        low = np.min([window[0] for window in self.windows], axis=0)
        high = np.max([window[1] for window in self.windows], axis=0)
        whole: tuple[Array, ...] = (np.array([low, high]),)
        rooms = [(whole, room, False)]
        if len(self.windows) > 1:
            half = room[0] / 2 - _GAP_MM / 2, room[1] / 2 - _GAP_MM / 2
            rooms += [(self.windows, (half[0], room[1]), True)]
            rooms += [(self.windows, (room[0], half[1]), False)]
        scales = [max(_scale(window, size) for window in parts) for parts, size, _ in rooms]
        best = min(range(len(rooms)), key=lambda i: (scales[i] * (_WORTH if i else 1.0), i))
        return rooms[best]


def step_figures(source: Source, work: PieceWork) -> StepFigures | None:
    """What is to be drawn of a piece; None where a figure would show no row."""
    shown = _shown(source, work)
    if not shown.whiskers:
        return None
    turn = grain_up(source.sized(work.piece))
    return StepFigures(shown, tuple(_windows(turn.apply(shown.points))))


def _shown(source: Source, work: PieceWork) -> _Shown:
    whiskers: list[_Whisker] = []
    beyond: list[Line] = []
    corners: dict[str, Array] = {}
    for edge in work.edges:
        for rows, base in _tables(source, edge):
            if rows and rows is edge.offsets:
                corners[edge.offsets_from] = base.point(0.0, 0.0)
            whiskers += [_whisker(source, base, row) for row in rows]
            beyond += _run_on(base, rows)
        if edge.chord:
            ends = source.sized(work.piece).edge(edge.edge).points[[0, -1]]
            beyond.append(line(Role.BEYOND, ends))
    return _Shown(tuple(whiskers), tuple(beyond), tuple(corners.items()), source, work)


def _tables(source: Source, edge: EdgeWork) -> Iterator[tuple[tuple[Offset, ...], OldLine]]:
    """The rows of an edge and what they are measured from."""
    pair = source.compared(edge.piece)
    from_end = edge.offsets_from == edge.letters[1] != edge.letters[0]
    yield edge.offsets, pair.old_line(edge.edge, from_end=from_end)
    yield edge.chord, pair.chord(edge.edge)


def _whisker(source: Source, base: OldLine, row: Offset) -> _Whisker:
    foot, _, out = base.frame(row.along_mm)
    place = place_word(row.along_mm, source.unit)
    words = f"{place} | {offset_word(row.out_mm, source.unit)}"
    return _Whisker(foot, base.point(row.along_mm, row.out_mm), out, place, words)


def _run_on(base: OldLine, rows: tuple[Offset, ...]) -> Iterator[Line]:
    """The old line run straight on beyond its ends, as far as rows stand on it."""
    for row in rows:
        if row.along_mm < -0.5 or row.along_mm > base.total + 0.5:
            end = min(max(row.along_mm, 0.0), base.total)
            yield line(Role.BEYOND, [base.point(end, 0.0), base.point(row.along_mm, 0.0)])


# --------------------------------------------------------------------------- windows


def _windows(points: Array) -> list[Array]:
    """Boxes around what changed: [low, high] of each, the upper first; two at most."""
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


def _scale(window: Array, room: tuple[float, float]) -> float:
    """The largest drawing that fits: 4.0 stands for 1:4."""
    size = window[1] - window[0]
    wide, tall = (max(mm - 2 * _ROOM_MM, _LEAST_MM) for mm in room)
    need = max(float(size[0]) / wide, float(size[1]) / tall, _least(size))
    return next((float(s) for s in _SCALES if s >= need - 1e-9), math.ceil(need / 10.0) * 10.0)


def _height(window: Array, scale: float, room: tuple[float, float]) -> float:
    return float(min((window[1] - window[0])[1] / scale + 2 * _ROOM_MM, room[1]))


def _least(size: Array) -> float:
    """True scale at the largest; twice that where what changes is as small as a button."""
    return 0.5 if float(max(size)) < 40.0 else 1.0


def _figure(shown: _Shown, fonts: FontBook, window: Array, room: tuple[float, float]) -> Figure:
    """One window, with its labels; smaller where that has room for the figures of more rows."""
    scale = _scale(window, room)
    turn = grain_up(shown.source.sized(shown.work.piece))
    scales = [scale, *(float(s) for s in _SCALES if s > scale)][:_TRIES]
    height = _height(window, scale, room)
    middle = np.array([room[0], height]) / 2
    tries: list[tuple[int, int, float, Scene]] = []
    for scale in scales:

        def at(xy: Array, scale: float = scale) -> Array:
            return np.asarray((turn.apply(xy) - window.mean(axis=0)) / scale + middle)

        scene, missing, short = _labelled(shown, fonts, (room[0], height), scale, at)
        tries.append((missing, short, scale, scene))
        if not short:
            break
    _, _, scale, scene = min(tries, key=lambda one: one[:3])
    return Figure(scene, room[0], height, scale)


def _labelled(
    shown: _Shown,
    fonts: FontBook,
    size: tuple[float, float],
    scale: float,
    at: Callable[[Array], Array],
) -> tuple[Scene, int, int]:
    """What a window shows, with its texts; how many rows have none, and how many only one."""
    frame = shapely.box(0.0, 0.0, *size)
    whole = shown.scene(scale).placed(scale, at)
    scene = whole.clipped(frame)
    if not frame.covers(shapely.box(*np.concatenate(whole.bounds()))):
        scene = scene + Scene((line(Role.LEADER, frame.exterior.coords[:-1], closed=True),))
    labels = Labels(scene, fonts.width, frame.buffer(-0.6))
    now = shown.source.sized(shown.work.piece)
    centre = at(now.outline).mean(axis=0)

    def name_point(point: Array, words: str, size: float, *, inward: bool = False) -> None:
        way = (centre - point) * (1.0 if inward else -1.0)
        label = text(point, words, size, bold=size == _LETTER_SIZE)
        labels.near(point, label, first=math.atan2(way[1], way[0]))

    letters = [(one, at(one.point)) for one in letters_of(now)]
    letters = [(one, point) for one, point in letters if frame.covers(shapely.Point(point))]
    for one, point in letters:
        if one.kind == "corner":
            name_point(point, one.letter, _LETTER_SIZE)
    rows = [w for w in shown.whiskers if frame.covers(shapely.Point(at(w.tip)))]
    short = [row for row in rows if not _write_row(labels, row, row.words, at)]
    missing = [row for row in short if not _write_row(labels, row, row.place, at)]
    for letter, old in shown.old_corners:
        if frame.covers(shapely.Point(at(old))):
            name_point(at(old), f"old {letter}", _MARK_SIZE)
    for one, point in letters:
        if one.kind != "corner":
            name_point(point, one.letter, _MARK_SIZE, inward=True)
    for seam in scene.of(Role.SEAM):
        assert isinstance(seam, Line)
        labels.along(seam.points, text((0.0, 0.0), seam.name, _NAME_SIZE))
    return scene.without(Role.FACE) + labels.scene, len(missing), len(short)


def _write_row(labels: Labels, whisker: _Whisker, words: str, at: Callable[[Array], Array]) -> bool:
    """Write figures of a row along it, else near it; False without room."""
    foot, tip = at(whisker.foot), at(whisker.tip)
    way = at(whisker.foot + whisker.out) - foot
    way = way / math.hypot(*way)
    outer = max((foot, tip), key=lambda point: float(point @ way))
    label = text(outer, words, _ROW_SIZE)
    return labels.ahead(outer, way, label, back=math.dist(foot, tip)) or labels.near(
        outer, label, first=math.atan2(way[1], way[0])
    )
