"""Place texts in a drawing: on no line, mark or text, beside what they name or tied to it.

This is the only placer of labels.  It reads what is drawn from the scene itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import text_width
from propagate.report.scene.items import (
    Area,
    Dot,
    Item,
    Line,
    Role,
    Scene,
    Text,
    make_line,
    make_text,
)
from propagate.report.scene.spots import (
    Boxes,
    Spots,
    Taken,
    boxes_at,
    places_inside,
    spots_at,
    spots_beside,
)

__all__ = ["MOST_TRIES", "Allowed", "Labels", "box_at", "allow_all", "label_box", "shapes_of"]

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Allowed = Callable[[Boxes], Flags]
"""Which of some boxes may be taken."""
Widths = Callable[..., float]
"""``width(text, size, bold=False)``: how wide a text is written, mm."""


def allow_all(boxes: Boxes) -> Flags:
    """Allow every box."""
    return np.ones(len(boxes), dtype=bool)


MOST_TRIES = 15_000
"""Boxes that are tried in one picture; beyond that there is no room that could be read."""
_MORE_TRIES = 60
"""Boxes that are tried for a tie that crosses nothing, once there is a free one."""
_READ_THROUGH = frozenset({Role.FACE, Role.TAPE_ON, Role.TRIM, Role.LEVEL})
"""What a text may lie on: areas, and levels, which a text interrupts."""
_TALL = 1.2
"""Height of a box, of the size of its letters, with what hangs below the line."""
_AIR = 0.14
"""Room around a text, of the size of its letters."""
_LEADING = 1.35
"""From line to line of a block, of the size of the letters."""
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
_INSIDE = (0.2, 0.7, 1.4, 2.6)
_OUTSIDE = (0.2, 0.7, *(1.2 + 0.6 * row for row in range(38)))
"""How far from its line a text may lie, in letters."""
_AROUND = (0.35, 0.8, 1.4, 2.2, 3.2, 4.4, 6.0, 8.0, 10.5, 13.5, 17.0)
_WAYS = tuple(math.pi * k / 8 for k in range(16))
_CLOSE = 4
"""So many of these distances are close enough to be better than a nearer place on hatching."""
_TIED = 1.6
"""A text farther from what it names, in letters, is tied to it by a thin line."""
_OWN = 0.5
"""Lines that a tie meets this close to its point, in letters, are the point's own."""
_ASIDE = (0.0, 0.35, -0.35, 0.7, -0.7, 1.1, -1.1, 1.7, -1.7)
_PORTION = 8
"""Boxes that are looked at together to begin with; then twice as many."""


class Labels:
    """Keeps what a drawing holds and places texts in it.

    Parameters
    ----------
    scene : Scene
        What is drawn.  Where it has the face of a piece, texts along an edge lie inside
        the piece if they can, else outside of its cut line.
    widths : callable
        ``widths(text, size, bold=False)`` in mm; rather too wide than too narrow.
    frame : polygon or None
        Texts stay inside.
    also : sequence of Taken
        What else is drawn.
    texts : Taken or None
        Texts that are written already; those that are placed are added, and a caller may.
    """

    def __init__(
        self,
        scene: Scene,
        widths: Widths = text_width,
        frame: shapely.Geometry | None = None,
        also: Sequence[Taken] = (),
        texts: Taken | None = None,
    ) -> None:
        self._widths, self._frame, self._also = widths, frame, tuple(also)
        self._drawn, self._hatched = Taken(), Taken()
        self._texts, self._ties = Taken() if texts is None else texts, Taken()
        self._any_hatched = bool(scene.of(Role.TAPE_ON, Role.TRIM))
        for item in scene.items:
            for shape in shapes_of(item):
                self._drawn.add(shape)
            if isinstance(item, Area) and item.role in (Role.TAPE_ON, Role.TRIM):
                self._hatched.add(item.polygon)
        cuts = [
            shapely.make_valid(shapely.Polygon(ring.points))
            for ring in scene.of(Role.CUT, Role.CUT_BEFORE)
            if isinstance(ring, Line) and ring.closed
        ]
        self.inside: shapely.Geometry = scene.area_of(Role.FACE)
        self.around: shapely.Geometry = shapely.union_all([self.inside, *cuts])
        shapely.prepare([self.inside, self.around, frame])
        self.tries = 0
        self.items: list[Item] = []

    @property
    def scene(self) -> Scene:
        """The texts that were placed, and their ties."""
        return Scene(tuple(self.items))

    @property
    def texts(self) -> tuple[Text, ...]:
        """Those of the texts alone, in the order in which they were placed."""
        return tuple(item for item in self.items if isinstance(item, Text))

    # --------------------------------------------------------------------- what is asked

    def along(
        self, points: Array, label: Text, *, point: Array | None = None, within: bool = False
    ) -> bool:
        """Write along a stretch of a counter-clockwise outline; inside the piece if it can be.

        Parameters
        ----------
        points : (n, 2) array
        label : Text
            Its place and angle are found.
        point : (2,) array or None
            What it is tied to where it lies far off; the stretch itself when None.
        within : bool
            Never outside of the piece.

        Returns
        -------
        bool
            False where there is no room.
        """
        wide = self._width(label)
        inner = self._beside(points, label, wide, 1.0, _INSIDE, point)
        if self._any_hatched:
            if self._put(inner, label, self._is_plain):
                return True
            close = self._beside(points, label, wide, -1.0, _OUTSIDE[:2], point)
            if not within and self._put(
                close, label, lambda boxes: self._is_outside(boxes) & self._is_clear(boxes)
            ):
                return True
        if self._put(inner, label, self._is_inside):
            return True
        if within:
            return False
        outer = self._beside(points, label, wide, -1.0, _OUTSIDE, point)
        return self._put(outer, label, self._is_outside)

    def near(self, point: Array, label: Text, *, first: float = 0.0) -> bool:
        """Write near a point, looking in one direction (radians) first; False without room."""
        half = np.array([self._width(label), label.size * _TALL]) / 2
        turns = np.array(sorted(_WAYS, key=lambda way: 1.0 - math.cos(way - first)))
        ways = np.stack([np.cos(turns), np.sin(turns)], axis=1)
        reaches = np.array(_AROUND)[:, None, None] * label.size + half
        centres = np.asarray(point) + (ways * reaches).reshape(-1, 2)
        return self._put_clear(spots_at(centres, label.angle, point), label, _CLOSE * len(ways))

    def ahead(self, point: Array, way: Array, label: Text, *, back: float = 0.0) -> bool:
        """Write along a direction, ahead of a point; else behind it, at least `back` mm."""
        reaches = np.array(_AROUND)[:, None, None] * label.size + self._width(label) / 2
        shifts = np.array(_ASIDE)[None, :, None] * label.size
        senses = np.array([1.0, -1.0])
        far = (reaches + np.array([0.0, back])) * senses + 0.0 * shifts
        aside = shifts + 0.0 * far
        normal = np.array([-way[1], way[0]])
        centres = point + far.reshape(-1, 1) * way + aside.reshape(-1, 1) * normal
        angle = math.degrees(math.atan2(way[1], way[0]))
        close = _CLOSE * len(_ASIDE) * len(senses)
        return self._put_clear(spots_at(centres, angle, point), label, close)

    def block(
        self,
        rows: Sequence[Text],
        middle: npt.ArrayLike | None,
        angle: float,
        allowed: Allowed = allow_all,
    ) -> bool:
        """Write lines below each other inside a piece; False without room.

        Parameters
        ----------
        middle : (2,) array or None
            Where they had better be; else elsewhere inside the piece.
        angle : float
            Degrees.
        allowed : callable
            Which of some boxes may be taken.
        """
        parts = shapely.get_parts(self.inside)
        if not len(parts):
            return False
        area = max(parts, key=lambda part: float(part.area))
        wide = max(self._width(row) for row in rows)
        tall = sum(_LEADING * row.size for row in rows)
        for spots in places_inside(area, middle, angle):
            found = self.take(spots, wide, tall, lambda b: self._is_inside(b) & allowed(b))
            if found is not None:
                self._write_block(rows, spots.centres[found], float(spots.angles[found]), tall)
                return True
        return False

    def keep(self, shape: shapely.Geometry) -> None:
        """Keep a place free of texts."""
        self._texts.add(shape)

    def take(
        self, spots: Spots, wide: float, tall: float, allowed: Allowed = allow_all
    ) -> int | None:
        """Take the first free box of a size, for what a caller draws itself; which spot it is."""
        boxes = boxes_at(spots.centres, spots.angles, wide, tall)
        good = self._is_free(boxes)
        good[good] = allowed(boxes[good])
        found = int(np.argmax(good)) if good.any() else None
        self.tries += len(boxes) if found is None else found + 1
        if found is not None:
            self._texts.add(boxes[found])
        return found

    # ------------------------------------------------------------------------ how it is done

    def _width(self, label: Text) -> float:
        return self._widths(label.text, label.size, bold=label.bold) + 2 * _AIR * label.size

    def _beside(
        self,
        points: Array,
        label: Text,
        wide: float,
        side: float,
        gaps: Sequence[float],
        point: Array | None,
    ) -> Spots:
        """Spots along a line, on its left (1) or on its right (-1), the near ones first."""
        off = np.array(gaps) * label.size + label.size * _TALL / 2
        spots = spots_beside(points, _SHARES, off, wide, side)
        return spots if point is None else replace(spots, points=np.tile(point, (spots.count, 1)))

    def _put_clear(self, spots: Spots, label: Text, close: int) -> bool:
        """Take one of the first spots, that are close, clear of hatching; else any."""
        if self._any_hatched:
            first = Spots(spots.centres[:close], spots.angles[:close], spots.points[:close])
            if self._put(first, label, self._is_clear):
                return True
        return self._put(spots, label)

    def _put(self, spots: Spots, label: Text, allowed: Allowed = allow_all) -> bool:
        """Take the first free spot whose tie crosses nothing, else the first free one."""
        second: tuple[int, shapely.Geometry, shapely.Geometry] | None = None
        begin, last = self.tries, MOST_TRIES
        self.tries = min(begin + spots.count, last)
        for index, box, tie, crosses in self._free(spots, label, allowed, last - begin):
            if begin + index >= last:
                break
            if not crosses:
                self.tries = begin + index + 1
                self._take(label, spots, index, box, tie)
                return True
            if second is None and not self._texts.hit(tie):
                second = index, box, tie
                last = self.tries = min(self.tries, begin + index + 1 + _MORE_TRIES)
        if second is not None:
            self._take(label, spots, *second)
        return second is not None

    def _free(
        self, spots: Spots, label: Text, allowed: Allowed, most: int
    ) -> Iterator[tuple[int, shapely.Polygon, shapely.LineString | None, bool]]:
        """The free spots in order: box, tie, whether that crosses anything.

        They are looked at in growing portions.
        """
        wide, tall = self._width(label), label.size * _TALL
        end = min(spots.count, most)
        begin, count = 0, _PORTION
        while begin < end:
            numbers = np.arange(begin, min(begin + count, end))
            boxes = boxes_at(spots.centres[numbers], spots.angles[numbers], wide, tall)
            for test in (self._is_free, allowed):
                good = test(boxes)
                numbers, boxes = numbers[good], boxes[good]
            points = shapely.points(spots.points[numbers])
            ties = shapely.shortest_line(boxes, points)
            far = shapely.length(ties) > _TIED * label.size
            crosses = far.copy()
            crosses[far] = self._crosses(ties[far], points[far], label.size)
            ties[~far] = None
            yield from zip(map(int, numbers), boxes, ties, map(bool, crosses), strict=True)
            begin, count = begin + count, 2 * count

    def _is_inside(self, boxes: Boxes) -> Flags:
        return np.asarray(shapely.contains_properly(self.inside, boxes))

    def _is_clear(self, boxes: Boxes) -> Flags:
        return np.asarray(~self._hatched.hits(boxes))

    def _is_plain(self, boxes: Boxes) -> Flags:
        return self._is_inside(boxes) & self._is_clear(boxes)

    def _is_outside(self, boxes: Boxes) -> Flags:
        return np.asarray(~shapely.intersects(self.around, boxes))

    def _is_free(self, boxes: Boxes) -> Flags:
        free = np.ones(len(boxes), dtype=bool)
        if self._frame is not None:
            free &= shapely.covers(self._frame, boxes)
        for known in (self._texts, self._ties, self._drawn, *self._also):
            free[free] = ~known.hits(boxes[free])
        return free

    def _crosses(self, ties: Boxes, points: Boxes, size: float) -> Flags:
        """Which ties cross what is drawn, apart from close to their points, or a text or tie."""
        rests = shapely.difference(ties, shapely.buffer(points, _OWN * size))
        crosses = self._texts.hits(ties) | self._ties.hits(ties)
        for known in (self._drawn, *self._also):
            crosses |= known.hits(rests)
        return crosses

    def _take(
        self,
        label: Text,
        spots: Spots,
        index: int,
        box: shapely.Geometry,
        tie: shapely.Geometry | None,
    ) -> None:
        if tie is not None:
            self._ties.add(tie)
            self.items.append(make_line(Role.LEADER, tie.coords))
        self._texts.add(box)
        self.items.append(_set_at(label, spots.centres[index], spots.angles[index]))

    def _write_block(self, rows: Sequence[Text], centre: Array, angle: float, tall: float) -> None:
        turn = math.radians(angle)
        down, y = np.array([math.sin(turn), -math.cos(turn)]), -tall / 2
        for row in rows:
            step = _LEADING * row.size
            self.items.append(_set_at(row, centre + down * (y + step / 2), angle))
            y += step


def _set_at(label: Text, at: Array, angle: float) -> Text:
    return make_text(at, label.text, label.size, angle=angle, bold=label.bold, tone=label.tone)


def shapes_of(item: Item) -> list[shapely.Geometry]:
    """Tell what of an item no text may lie on; nothing of what is read through."""
    if item.role in _READ_THROUGH:
        return []
    if isinstance(item, Line):
        ring = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
        return [shapely.LineString(pair) for pair in pairwise(ring)]
    if isinstance(item, Dot):
        return [shapely.Point(item.centre).buffer(item.radius)]
    if isinstance(item, Area):
        return [shapely.Polygon(item.rings[0])]
    return [label_box(item)]


def label_box(label: Text, widths: Widths = text_width) -> shapely.Polygon:
    """Return the box that a text fills."""
    wide = widths(label.text, label.size, bold=label.bold)
    turn = math.radians(label.angle)
    shift = {"start": wide / 2, "middle": 0.0, "end": -wide / 2}[label.anchor]
    centre = label.at + shift * np.array([math.cos(turn), math.sin(turn)])
    return box_at(centre, label.angle, wide, label.size * _TALL)


def box_at(centre: Array, angle: float, wide: float, high: float) -> shapely.Polygon:
    """Return the box of a text around its middle, its angle in degrees."""
    return boxes_at(np.asarray(centre)[None], np.array([angle]), wide, high)[0]
