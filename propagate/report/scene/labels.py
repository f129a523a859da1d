"""Place texts in a drawing: on no line, mark or text, beside what they name or tied to it.

This is the only placer of labels.  It reads what is drawn from the scene itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import text_width
from propagate.report.scene.items import Area, Dot, Item, Line, Role, Scene, Text, line, text
from propagate.report.scene.taken import Taken
from propagate.values import dataclass

__all__ = [
    "_INSIDE",
    "MOST_TRIES",
    "_SHARES",
    "_TALL",
    "Labels",
    "box_at",
    "label_box",
    "shapes_of",
]

Array = npt.NDArray[np.float64]
Widths = Callable[..., float]
"""``width(text, size, bold=False)``: how wide a text is written, mm."""

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
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
_INSIDE = (0.2, 0.7, 1.4, 2.6)
_OUTSIDE = (0.2, 0.7, *(1.2 + 0.6 * row for row in range(38)))
"""How far from its line a text may lie, in letters."""
_AROUND = (0.35, 0.8, 1.4, 2.2, 3.2, 4.4, 6.0, 8.0, 10.5, 13.5, 17.0)
_WAYS = tuple(math.pi * k / 8 for k in range(16))
_TIED = 1.6
"""A text farther from what it names, in letters, is tied to it by a thin line."""
_OWN = 0.5
"""Lines that a tie meets this close to its point, in letters, are the point's own."""
_HALF_WAYS = (0.0, 0.2, -0.2, 0.4, -0.4, 0.6, -0.6, 0.8, -0.8)


@dataclass(frozen=True, eq=False)
class _Spot:
    """Where a text could go: the middle of its box, its angle; the point that it is tied to."""

    centre: Array
    angle: float
    point: Array | None = None


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
                self._hatched.add(shapely.Polygon(item.rings[0], item.rings[1:]))
        faces = [shapely.Polygon(a.rings[0]) for a in scene.of(Role.FACE) if isinstance(a, Area)]
        cuts = [
            shapely.make_valid(shapely.Polygon(ring.points))
            for ring in scene.of(Role.CUT, Role.CUT_BEFORE)
            if isinstance(ring, Line) and ring.closed
        ]
        self.inside: shapely.Geometry = shapely.union_all(faces)
        self.around: shapely.Geometry = shapely.union_all([self.inside, *cuts])
        shapely.prepare(self.inside)
        shapely.prepare(self.around)
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
        hatched = (self._is_plain,) if self._any_hatched else ()
        for allowed in (*hatched, self._is_inside):
            inner = self._beside(points, label, wide, 1.0, _INSIDE, point)
            if self._put(inner, label, allowed):
                return True
        if within:
            return False
        outer = self._beside(points, label, wide, -1.0, _OUTSIDE, point)
        return self._put(outer, label, self._is_outside)

    def near(self, point: Array, label: Text, *, first: float = 0.0) -> bool:
        """Write near a point, looking in one direction (radians) first; False without room."""
        half = np.array([self._width(label), label.size * _TALL]) / 2

        def spots() -> Iterator[_Spot]:
            for reach in _AROUND:
                for turn in sorted(_WAYS, key=lambda way: 1.0 - math.cos(way - first)):
                    way = np.array([math.cos(turn), math.sin(turn)])
                    centre = np.asarray(point) + way * (reach * label.size + half)
                    yield _Spot(centre, label.angle, np.asarray(point))

        return self._put(spots(), label)

    def ahead(self, point: Array, way: Array, label: Text, *, back: float = 0.0) -> bool:
        """Write along a direction, ahead of a point; else behind it, at least `back` mm."""
        angle = math.degrees(math.atan2(way[1], way[0]))
        aside, wide = np.array([-way[1], way[0]]), self._width(label)

        def spots() -> Iterator[_Spot]:
            for reach in _AROUND:
                for shift in (0.0, 0.35, -0.35, 0.7, -0.7, 1.1, -1.1, 1.7, -1.7):
                    for sense, start in ((1.0, 0.0), (-1.0, back)):
                        far = sense * (start + reach * label.size + wide / 2)
                        centre = point + way * far + aside * shift * label.size
                        yield _Spot(centre, angle, point)

        return self._put(spots(), label)

    def block(
        self, lines: Sequence[Text], middle: Array, angle: float, sizes: Sequence[float]
    ) -> bool:
        """Write lines below each other inside a piece, as large as there is room for.

        Parameters
        ----------
        lines : sequence of Text
            Their sizes are parts of that of the block.
        middle : (2,) array
            Where they had better be; else elsewhere inside the piece.
        angle : float
            Degrees.
        sizes : sequence of float
            Of the block, mm; the largest first.
        """
        parts = shapely.get_parts(self.inside)
        if not len(parts):
            return False
        area = max(parts, key=lambda part: float(part.area))
        for size in sizes:
            rows = [replace(row, size=row.size * size) for row in lines]
            wide = max(self._width(row) for row in rows)
            tall = sum(1.35 * row.size for row in rows)
            for centre, turn in _places_inside(area, middle, angle):
                box = box_at(centre, turn, wide, tall)
                self.tries += 1
                if self.inside.contains_properly(box) and not self._hit(box):
                    self._texts.add(box)
                    self._write_block(rows, centre, turn, tall)
                    return True
        return False

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
    ) -> Iterator[_Spot]:
        """Spots along a line, on its left (1) or on its right (-1), the near ones first."""
        stretch = shapely.LineString(points)
        rests: dict[float, tuple[Array, Array, float]] = {}
        for gap in gaps:
            for share in _SHARES:
                if share not in rests:
                    rests[share] = _resting(stretch, share, wide, side)
                middle, inward, angle = rests[share]
                centre = middle + inward * (gap * label.size + label.size * _TALL / 2)
                tied = point
                if tied is None:
                    tied = np.array(stretch.interpolate(share, normalized=True).coords[0])
                yield _Spot(centre, angle, tied)

    def _put(
        self,
        spots: Iterable[_Spot],
        label: Text,
        allowed: Callable[[shapely.Polygon], bool] = lambda _: True,
    ) -> bool:
        """Take the first free spot whose tie crosses nothing, else the first free one."""
        second: tuple[_Spot, shapely.Geometry, shapely.Geometry | None] | None = None
        wide, tall = self._width(label), label.size * _TALL
        last = MOST_TRIES
        for spot in spots:
            if self.tries >= last:
                break
            self.tries += 1
            box = box_at(spot.centre, spot.angle, wide, tall)
            if self._hit(box) or not allowed(box):
                continue
            tie = self._tie(box, spot.point, label.size)
            if tie is None or not self._crosses(tie, spot.point, label.size):
                self._take(label, spot, box, tie)
                return True
            if second is None and not self._texts.hit(tie):
                second = spot, box, tie
                last = min(last, self.tries + _MORE_TRIES)
        if second is not None:
            self._take(label, *second)
        return second is not None

    def _is_inside(self, box: shapely.Polygon) -> bool:
        return bool(self.inside.contains_properly(box))

    def _is_plain(self, box: shapely.Polygon) -> bool:
        return self._is_inside(box) and not self._hatched.hit(box)

    def _is_outside(self, box: shapely.Polygon) -> bool:
        return not self.around.intersects(box)

    def _hit(self, box: shapely.Geometry) -> bool:
        if self._frame is not None and not self._frame.covers(box):
            return True
        return self._lies_on_drawn(box) or self._texts.hit(box) or self._ties.hit(box)

    def _lies_on_drawn(self, shape: shapely.Geometry) -> bool:
        return any(known.hit(shape) for known in (self._drawn, *self._also))

    def _tie(
        self, box: shapely.Geometry, point: Array | None, size: float
    ) -> shapely.Geometry | None:
        """The line that ties a far text to its point."""
        if point is None:
            return None
        tie = shapely.shortest_line(box, shapely.Point(point))
        return tie if tie.length > _TIED * size else None

    def _crosses(self, tie: shapely.Geometry, point: Array | None, size: float) -> bool:
        rest = tie.difference(shapely.Point(point).buffer(_OWN * size))
        return self._lies_on_drawn(rest) or self._texts.hit(tie) or self._ties.hit(tie)

    def _take(
        self, label: Text, spot: _Spot, box: shapely.Geometry, tie: shapely.Geometry | None
    ) -> None:
        if tie is not None:
            self._ties.add(tie)
            self.items.append(line(Role.LEADER, tie.coords))
        self._texts.add(box)
        self.items.append(_set_at(label, spot.centre, spot.angle))

    def _write_block(self, rows: Sequence[Text], centre: Array, angle: float, tall: float) -> None:
        turn = math.radians(angle)
        down, y = np.array([math.sin(turn), -math.cos(turn)]), -tall / 2
        for row in rows:
            step = 1.35 * row.size
            self.items.append(_set_at(row, centre + down * (y + step / 2), angle))
            y += step


def _set_at(label: Text, at: Array, angle: float) -> Text:
    return text(at, label.text, label.size, angle=angle, bold=label.bold, tone=label.tone)


def _resting(
    stretch: shapely.LineString, share: float, wide: float, side: float
) -> tuple[Array, Array, float]:
    """Find where a text beside a line begins: on its left (`side` 1) or on its right (-1).

    Returns
    -------
    point : (2,) array
        Off the bulge of the line.
    way : (2,) array
        Unit vector from there to the text.
    angle : float
        Of the text, degrees.
    """
    total = stretch.length
    reach = min(wide, total) / 2
    at = min(max(total * share, reach), total - reach)
    first, middle, last = (
        np.array(stretch.interpolate(place).coords[0]) for place in (at - reach, at, at + reach)
    )
    along = last - first
    size = math.hypot(*along)
    along = along / size if size > 1e-9 else np.array([1.0, 0.0])
    inward = np.array([-along[1], along[0]]) * side
    # Off the chord and off the curve, whichever reaches further towards the text.
    bulge = max(float((p - middle) @ inward) for p in (first, middle, last))
    return middle + inward * bulge, inward, math.degrees(math.atan2(along[1], along[0]))


def _places_inside(
    area: shapely.Polygon, middle: Array, angle: float
) -> Iterator[tuple[Array, float]]:
    """Middles and angles to try: the place that is asked for, then around the widest part."""
    own = (angle + 90.0) % 180.0 - 90.0
    yield np.asarray(middle), own
    circle = shapely.maximum_inscribed_circle(area, tolerance=1.0)
    widest = np.asarray(circle.coords[0])
    left, low, right, top = area.bounds
    half = np.array([right - left, top - low]) / 2
    for turn in dict.fromkeys((own, 0.0, 90.0)):
        for around in (np.asarray(middle), widest):
            for along in _HALF_WAYS:
                for aside in _HALF_WAYS:
                    yield around + half * np.array([aside, along]), turn


def shapes_of(item: Item) -> list[shapely.Geometry]:
    """What of an item no text may lie on; nothing of what is read through."""
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
    """The box that a text fills."""
    wide = widths(label.text, label.size, bold=label.bold)
    turn = math.radians(label.angle)
    shift = {"start": wide / 2, "middle": 0.0, "end": -wide / 2}[label.anchor]
    centre = label.at + shift * np.array([math.cos(turn), math.sin(turn)])
    return box_at(centre, label.angle, wide, label.size * _TALL)


def box_at(centre: Array, angle: float, wide: float, high: float) -> shapely.Polygon:
    """Return the box of a text around its middle, its angle in degrees."""
    turn = math.radians(angle)
    along = np.array([math.cos(turn), math.sin(turn)]) * wide / 2
    up = np.array([-math.sin(turn), math.cos(turn)]) * high / 2
    return shapely.Polygon(
        [centre - along - up, centre + along - up, centre + along + up, centre - along + up]
    )
