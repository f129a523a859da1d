"""Rows of an offset table: points of a new line, so close that straight lines will do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.polyline import between, length, locate
from propagate.lengths import MM_PER_INCH
from propagate.report.units import PENCIL_MM, PER_INCH, Unit
from propagate.report.worksheet.old_line import OldLine
from propagate.report.worksheet.smooth import smooth_values
from propagate.report.worksheet.value import At, Offset
from propagate.values import dataclass

__all__ = ["Place", "RowMaker", "Table", "table_rows"]

Array = npt.NDArray[np.float64]

STRAIGHT_MM = 0.5
"""Straight lines from row to row stay this close to the new line."""
SMOOTH_MM = 0.25
"""A smooth line through the rows stays this close to it, ..."""
_AIM_MM = 0.2
"""... and closer where there is room for rows."""
_ROUNDS = 12
_STEPS_MM = (
    *(1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0),
    *(30.0, 40.0, 50.0, 75.0, 100.0, 150.0, 200.0),
)
_STEPS_IN = (0.125, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
_ROWS = 8
"""Rows to begin with, before more are put where the line bends."""
_BREAKS = ("new leg", "old leg", "turn")
_SHORT_MM = 5.0
_FAR_MM = 60.0
_LOOKS = 24
_LEAST_LOOKS = 6
"""How densely the offsets between two rows are looked at: every mm, at so many places."""
_SAME_MM = 0.3
"""Two rows closer than this are one."""


@dataclass(frozen=True)
class Place:
    """A row in the making; `on` is its distance along the new line."""

    along: float
    out: float
    on: float
    at: At = ""
    kept: bool = False
    """The old line stays from here to the next row."""


@dataclass(frozen=True)
class Table:
    """Rows, and how far what is drawn from them in millimetres leaves the new line at most.

    Rounding to 1/16 in adds half a step on either side.
    """

    rows: tuple[Offset, ...]
    straight: float
    """With a ruler from row to row."""
    smooth: float
    """As a smooth line through the rows."""

    @property
    def tells(self) -> bool:
        """Whether a line can be drawn from it as closely as is promised."""
        return self.straight <= STRAIGHT_MM and self.smooth <= SMOOTH_MM


Stretch = tuple["RowMaker", list[Place]]
"""What makes the rows from one corner to the next, and those that are fixed: corners, dart legs,
places where the line leaves the old one; at least the first and the last row."""


def table_rows(stretches: Sequence[Stretch]) -> Table:
    """Return rows at the fixed places, at round distances, and where the line bends between them.

    Parameters
    ----------
    stretches : sequence of (RowMaker, list of Place)
        One after the other; with each begins a line of its own.

    Returns
    -------
    Table
        Only corners and places of the old line where straight lines will do between them.
        It does not tell the line where rows square to the old one cannot.
    """
    drafts = [(maker, _draft_rows(maker, fixed)) for maker, fixed in stretches]
    # A line is told as straight where the old one does not stay, unless it bends there.
    at_rows = {place.at for _, places in drafts for place in places}
    if not at_rows <= {"corner", "old line"}:
        drafts = [(maker, _smooth_rows(maker, places)) for maker, places in drafts]
    straight, smooth = 0.0, 0.0
    for maker, places in drafts:
        gaps = (maker.off(a, b)[0] for a, b in pairwise(places) if not a.kept)
        straight = max([straight, *gaps])
        gaps = (gap for run in _runs_between_breaks(places) for _, gap, _ in maker.curved(run))
        smooth = max([smooth, *gaps])
    return Table(_join_rows(drafts), straight, smooth)


def _draft_rows(maker: RowMaker, fixed: list[Place]) -> list[Place]:
    """Return rows from which straight lines will do."""
    places = _thin_out(sorted(fixed, key=lambda place: place.on))
    if all(a.kept or maker.straight(a, b) for a, b in pairwise(places)):
        return places
    places = maker.with_round_ones(places)
    found: list[Place] = []
    for first, second in pairwise(places):
        found += [first, *maker.refined(first, second)]
    return [*found, places[-1]]


def _join_rows(drafts: Sequence[Stretch]) -> tuple[Offset, ...]:
    """Join the rows of all stretches; where two meet, the corner is told from either."""
    found: list[Offset] = []
    for maker, places in drafts:
        # A corner that did not move, beside a part that stays, needs no row.
        if places and places[0].kept and places[0].at == "old line":
            places = places[1:] if places[0].along <= maker.old.begin else places
        if len(places) > 1 and places[-2].kept and places[-1].at == "old line":
            places = places[:-1]
        rows = [Offset(place.along + 0.0, place.out + 0.0, place.at) for place in places]
        if found:
            found[-1] = replace(found[-1], at="to turn")
            rows[0] = replace(rows[0], at="from turn")
        found += rows
    return tuple(found)


def _drop_unseen(out: float) -> float:
    """Drop what is finer than a pencil line."""
    return out if abs(out) >= PENCIL_MM else 0.0


def _thin_out(places: list[Place]) -> list[Place]:
    """Keep of two rows at one place the one with more to say: a corner before a leg."""
    weight = {"corner": 3, "new leg": 2, "turn": 2, "old line": 1, "old leg": 0, "": 0}
    found: list[Place] = []
    for place in places:
        backwards = bool(found) and place.along < found[-1].along
        if backwards and place.at in _BREAKS:
            continue  # the line runs back here: a row square to the old one would mislead
        if found and abs(place.along - found[-1].along) < _SAME_MM:
            one = max(found[-1], place, key=lambda item: weight[item.at])
            kept = place.kept
            found[-1] = Place(one.along, one.out, one.on, one.at, kept)
        else:
            found.append(place)
    return found


def _smooth_rows(maker: RowMaker, places: list[Place]) -> list[Place]:
    """Add rows where a smooth line through them would leave the new line."""
    for _ in range(_ROUNDS):
        more = [row for run in _runs_between_breaks(places) for row in maker.smoother(run)]
        if not more:
            break
        places = sorted([*places, *more], key=lambda place: place.on)
    return places


def _runs_between_breaks(places: list[Place]) -> list[list[Place]]:
    """Return the rows from break to break: a smooth line goes through those of each."""
    breaks = [i for i, place in enumerate(places) if place.at in _BREAKS]
    ends = sorted({0, *breaks, len(places) - 1})
    return [places[a : b + 1] for a, b in pairwise(ends)]


@dataclass(frozen=True, eq=False)
class RowMaker:
    """What every row of one table needs.

    Attributes
    ----------
    new : (n, 2) array
        The new line in the direction of the old one, mm.
    unit : Unit
        Distances are round in it.
    reach : float
        How far the new line may lie off the old one, mm.
    drawn : OldLine or None
        The old line as a hand has it, where that is drawn by figures too.
    """

    old: OldLine
    new: Array
    unit: Unit
    reach: float
    drawn: OldLine | None = None

    @cached_property
    def _line(self) -> shapely.LineString:
        return shapely.LineString(self.new)

    @property
    def _steps(self) -> list[float]:
        steps = _STEPS_IN if self.unit.name == "in" else _STEPS_MM
        return [step * self.unit.mm for step in steps]

    @property
    def _last(self) -> float:
        """The last place that is printed, mm."""
        return MM_PER_INCH / PER_INCH if self.unit.name == "in" else 0.1

    def printed(self, places: Sequence[Place]) -> Array:
        """(n, 2) points as a hand marks them; in inches without what rounding adds."""
        return self._points(*self._figures(places))

    def _figures(self, places: Sequence[Place]) -> tuple[Array, Array]:
        """Places along the old line and square to it, as they are printed in millimetres."""
        alongs, outs = np.array([(place.along, place.out) for place in places]).T
        return (alongs, outs) if self.unit.name == "in" else (alongs.round(1), outs.round(1))

    def _points(self, alongs: Array, outs: Array) -> Array:
        return (self.drawn or self.old).spots(alongs, outs)

    def off(self, first: Place, second: Place) -> tuple[float, Array]:
        """How far the new line leaves what is drawn between two rows, and where.

        Drawn with a ruler from point to point, or with the offset changing evenly along
        the old line: whichever is worse.
        """
        most, where = self._off_chord(first, second)
        span = second.along - first.along
        if span < _SHORT_MM:
            return most, where
        shares = np.linspace(0.0, 1.0, min(int(span) + 2, _LOOKS))[1:-1]
        outs = first.out + shares * (second.out - first.out)
        gap, point = self._worst(self._points(first.along + shares * span, outs), self._line)
        return (most, where) if most >= gap else (gap, point)

    def _off_chord(self, first: Place, second: Place) -> tuple[float, Array]:
        chord = shapely.LineString(self.printed([first, second]))
        return self._worst(between(self.new, first.on, second.on), chord)

    @staticmethod
    def _worst(points: Array, line: shapely.LineString) -> tuple[float, Array]:
        gaps = shapely.distance(shapely.points(points), line)
        worst = int(gaps.argmax())
        return float(gaps[worst]), points[worst]

    def straight(self, first: Place, second: Place) -> bool:
        """Whether a line between two rows is told as a straight one."""
        return self.off(first, second)[0] <= STRAIGHT_MM / 2

    def corner(self, end: int) -> Place:
        """The row of a new corner, the first (0) or the last (1)."""
        along, out = self.old.measure(self.new[-end], half=end)
        return Place(along, _drop_unseen(out), length(self.new) * end, "corner")

    def stays(self, along: float) -> Place:
        """The row where a part begins or ends in which the old line stays."""
        on = locate(self.new, self.old.point(along, 0.0))[0]
        return Place(along, 0.0, on, "old line")

    def at_breaks(
        self, breaks: Sequence[tuple[At, Array]], stays: Sequence[tuple[float, float]] = ()
    ) -> Iterator[Place]:
        """Rows of breaks at points of either line; none where the old line stays."""
        for at, point in breaks:
            along = self._round(self.old.measure(point)[0])
            if not any(begin < along < end for begin, end in stays):
                row = self.row(along, 0.0, length(self.new))
                if row is not None:
                    yield replace(row, at=at)

    def _round(self, along: float) -> float:
        return round(along / self._last) * self._last

    def row(self, along: float, low: float, high: float) -> Place | None:
        """The row at a distance along the old line, between two distances on the new one."""
        for out in self.old.square(along, self._line, self.reach):
            on = locate(self.new, self.old.point(along, out))[0]
            if low + 1e-6 < on < high - 1e-6:
                return Place(along, _drop_unseen(out), on)
        return None

    def with_round_ones(self, places: list[Place]) -> list[Place]:
        """Rows at round distances between the fixed ones, not close to them."""
        first, last = places[0].along, places[-1].along
        span = last - first
        step = next((s for s in self._steps if span / s <= _ROWS - 1), span / (_ROWS - 1))
        found: list[Place] = []
        for here, there in pairwise(places):
            found.append(here)
            if here.kept or there.along - here.along < step:
                continue
            count = range(int(np.floor(here.along / step)), int(np.ceil(there.along / step)) + 1)
            for along in (i * step for i in count):
                if not here.along + step / 4 < along < there.along - step / 4:
                    continue
                row = self.row(along, found[-1].on, there.on)
                found += [row] if row is not None else []
        return [*found, places[-1]]

    def refined(self, first: Place, second: Place) -> list[Place]:
        """Rows between two rows, until straight lines between them will do."""
        gap, worst = self.off(first, second)
        # Where it runs out, and between rows far apart, a smooth line needs to know more.
        closer = "old line" in (first.at, second.at) or second.along - first.along > _FAR_MM
        if first.kept or gap <= (STRAIGHT_MM / 2 if closer else STRAIGHT_MM):
            return []
        middle = self._between(first, second, worst)
        if middle is None:
            return []
        return [*self.refined(first, middle), middle, *self.refined(middle, second)]

    def smoother(self, run: list[Place]) -> list[Place]:
        """A row between two where a smooth line through the run lies too far off the new one."""
        found = (
            self._between(run[i], run[i + 1], where)
            for i, gap, where in self.curved(run)
            if gap > _AIM_MM
        )
        return [row for row in found if row is not None]

    def curved(self, run: list[Place]) -> Iterator[tuple[int, float, Array]]:
        """How far a smooth line through a run leaves the new one after each row, and where."""
        alongs, outs = self._figures(run)
        for i in range(len(run) - 1):
            wide = alongs[i + 1] - alongs[i]
            if run[i].kept:
                continue
            if len(run) < 3 or (np.diff(alongs) <= 0.0).any():  # no curve: a straight line
                yield i, *self._off_chord(run[i], run[i + 1])
                continue
            count = min(max(int(wide) + 2, _LEAST_LOOKS), _LOOKS)
            looks = alongs[i] + np.linspace(0.0, wide, count)[1:-1]
            points = self._points(looks, smooth_values(alongs, outs, looks))
            yield i, *self._worst(points, self._line)

    def _between(self, first: Place, second: Place, worst: Array) -> Place | None:
        """A row near the worst place, at the roundest distance that is near enough."""
        low, high = sorted((first.along, second.along))
        around, least = (high - low) / 6, 2 * self._last
        for there in (self.old.measure(worst)[0], (low + high) / 2):
            for step in (*reversed(self._steps), self._last):
                along = round(there / step) * step
                near = abs(along - there) <= around and low + least < along < high - least
                row = self.row(along, first.on, second.on) if near else None
                if row is not None:
                    return row
        return None
