"""Free spots for texts of a figure: on no line and on no other text, as wide as they print."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.labels import box_at
from propagate.report.pdf.fonts import FontBook
from propagate.report.scene.items import Area, Dot, Item, Line, Role, Text, line, text

__all__ = ["Spots", "label_box"]

Array = npt.NDArray[np.float64]
Spot = tuple[Array, float]
"""The middle of a box, and its angle in degrees."""

_AIR_MM = 0.4
_TALL = 1.15
_TIED_MM = 3.0
"""A text farther from its point is tied to it by a thin line."""
_OWN_MM = 1.2
"""Lines that a tie meets this close to its point are the point's own."""
_REACHES = (1.0, 2.0, 3.2, 4.8, 6.8, 9.0, 12.0, 15.5, 20.0, 26.0, 33.0, 42.0)
_WAYS = tuple(math.pi * k / 8 for k in range(16))


def label_box(label: Text, fonts: FontBook) -> shapely.Polygon:
    """The box that a text in the middle of its place fills on paper."""
    wide = fonts.width(label.text, label.size, bold=label.bold)
    return box_at(label.at, label.angle, wide, label.size * _TALL)


class Spots:
    """Keeps what a figure holds and finds places for its texts.

    Parameters
    ----------
    fonts : FontBook
    frame : polygon
        Texts stay inside.
    items : sequence of Item
        What is drawn, in mm on the page.
    """

    def __init__(self, fonts: FontBook, frame: shapely.Polygon, items: Sequence[Item]) -> None:
        self.fonts, self.frame = fonts, frame
        self.placed: list[Item] = []
        self._lines = shapely.STRtree([shape for item in items for shape in _shapes_of(item)])
        self._texts: list[shapely.Geometry] = []
        self._ties: list[shapely.Geometry] = []

    def beside(self, at: Array, way: Array, words: str, size: float, *, back: float = 0.0) -> bool:
        """Write along a direction, as near to a point as is free; `back` from it the other way."""
        angle = math.degrees(math.atan2(way[1], way[0]))
        wide = self.fonts.width(words, size) + 2 * _AIR_MM
        aside = np.array([-way[1], way[0]])

        def spots() -> Iterator[Spot]:
            for reach in _REACHES:
                for shift in (0.0, 0.8, -0.8, 1.6, -1.6, 2.6, -2.6, 4.0, -4.0):
                    for sense, start in ((1.0, 0.0), (-1.0, back)):
                        far = sense * (start + reach + wide / 2)
                        yield at + way * far + aside * shift, angle

        return self._put(spots(), at, words, size)

    def around(
        self, at: Array, words: str, size: float, *, bold: bool = False, first: float = 0.0
    ) -> bool:
        """Write upright near a point, looking in one direction (radians) first."""
        wide = self.fonts.width(words, size, bold=bold) + 2 * _AIR_MM
        half = np.array([wide, size * _TALL]) / 2

        def spots() -> Iterator[Spot]:
            for reach in _REACHES:
                for turn in sorted(_WAYS, key=lambda w: 1.0 - math.cos(w - first)):
                    yield at + np.array([math.cos(turn), math.sin(turn)]) * (reach + half), 0.0

        return self._put(spots(), at, words, size, bold=bold)

    def along(self, points: Array, words: str, size: float) -> bool:
        """Write along a line, close to either side of it."""
        whole = shapely.LineString(points)
        wide = self.fonts.width(words, size) + 2 * _AIR_MM
        if whole.length < wide:
            return False

        def spots() -> Iterator[Spot]:
            for gap in (0.9, 1.8, 3.0):
                for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
                    at = share * whole.length
                    ends = [whole.interpolate(at + d * wide / 2) for d in (-1.0, 1.0)]
                    first, last = (np.array([end.x, end.y]) for end in ends)
                    way = last - first
                    angle = math.degrees(math.atan2(way[1], way[0]))
                    out = np.array([-way[1], way[0]]) / max(math.hypot(*way), 1e-9)
                    for side in (1.0, -1.0):
                        yield (first + last) / 2 + out * side * (gap + size * _TALL / 2), angle

        return self._put(spots(), None, words, size)

    def _put(
        self,
        spots: Iterable[Spot],
        at: Array | None,
        words: str,
        size: float,
        *,
        bold: bool = False,
    ) -> bool:
        """Take the first free spot whose tie crosses no line, else the first free one."""
        second: tuple[Text, shapely.Geometry, shapely.Geometry | None] | None = None
        for centre, angle in spots:
            label = text(centre, words, size, angle=angle, bold=bold)
            box = label_box(label, self.fonts).buffer(_AIR_MM, cap_style="square", quad_segs=1)
            if not self._free(box):
                continue
            tie = self._tie(box, at)
            if tie is None or not self._crosses(tie, at):
                self._take(label, box, tie)
                return True
            if second is None and not any(tie.intersects(shape) for shape in self._texts):
                second = label, box, tie
        if second is not None:
            self._take(*second)
        return second is not None

    def _free(self, box: shapely.Geometry) -> bool:
        if not self.frame.covers(box) or len(self._lines.query(box, predicate="intersects")):
            return False
        return not any(box.intersects(shape) for shape in (*self._texts, *self._ties))

    def _tie(self, box: shapely.Geometry, at: Array | None) -> shapely.Geometry | None:
        """The line that ties a far text to its point."""
        if at is None:
            return None
        tie = shapely.shortest_line(box, shapely.Point(at))
        return tie if tie.length > _TIED_MM else None

    def _crosses(self, tie: shapely.Geometry, at: Array | None) -> bool:
        rest = tie.difference(shapely.Point(at).buffer(_OWN_MM))
        lines = len(self._lines.query(rest, predicate="intersects"))
        return bool(lines) or any(tie.intersects(shape) for shape in (*self._texts, *self._ties))

    def _take(self, label: Text, box: shapely.Geometry, tie: shapely.Geometry | None) -> None:
        if tie is not None:
            self._ties.append(tie)
            self.placed.append(line(Role.LEADER, tie.coords))
        self._texts.append(box)
        self.placed.append(label)


def _shapes_of(item: Item) -> list[shapely.Geometry]:
    """Lines that no text may lie on; hatched areas are read through."""
    if isinstance(item, Line):
        ring = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
        return [shapely.LineString(pair) for pair in itertools.pairwise(ring)]
    if isinstance(item, Dot):
        return [shapely.Point(item.centre).buffer(item.radius)]
    if isinstance(item, Area) and item.role not in (Role.FACE, Role.TAPE_ON, Role.TRIM):
        return [shapely.Polygon(item.rings[0])]
    return []
