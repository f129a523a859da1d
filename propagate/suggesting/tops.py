"""The levels that a top or a dress is blended by, as far as its joined pieces tell them.

The bust lies below the underarm, where side and armhole meet; the waist at notches that meet in
the hollow of the side, at its narrowest place, or as far below the underarm as somebody says; the
hip at notches below that, at the hem, or as far below the waist as is said.  A level of that name
that is drawn goes before all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import replace
from typing import Literal

import numpy as np

from propagate.geometry.arrays import Array
from propagate.pattern.answers import Question, question_of, reverse_run
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.suggesting.carried_levels import carry_level
from propagate.suggesting.hips import HIP_BELOW_MM, HIP_NEAR_MM
from propagate.suggesting.levels import LevelPoints, Point, put_levels
from propagate.suggesting.side_places import BothSides, SidePlace
from propagate.suggesting.side_seams import HIP, SIDE_ENDS_MM, WAIST, SideWay
from propagate.suggesting.underarms import find_underarms
from propagate.values import dataclass

__all__ = ["BUST_BELOW_MM", "Lack", "Leveling", "Told", "Top", "find_top"]

BUST, CHEST, SEAT = "bust", "chest", "seat"
BUST_BELOW_MM = 25.0
"""So far below the underarm the bust is taken, and girths with it (common practice, no source)."""
BUST_NEAR_MM = 60.0
"""Notches that lie so far below the underarm at most may be those of the bust."""
WAIST_BELOW_MM, WAIST_NEAR_MM = 195.0, 75.0
"""How far the waist lies below the underarm, mostly, and how far from there (no source)."""
HOLLOW_NEAR_MM = 50.0
"""Notches that lie further from where the side is narrowest are not those of the waist."""
APART_MM = 60.0
"""Levels lie so far from each other at least: between them one size goes over into another."""
HEM_NEAR_MM = 45.0
"""A hem that lies so much below the hip at most is where it is measured."""
SAME_MM = 10.0
"""Two places that are no further apart are one question."""
MOST_WAYS = 6


@dataclass(frozen=True)
class Told:
    """What was said of a length that nothing shows: nothing yet, or a length; None for no level."""

    said: bool = False
    along: float | None = None


@dataclass(frozen=True)
class Leveling:
    """Levels by which a set would be blended; a person says whether it is so.

    Attributes
    ----------
    way : SideWay
    places : tuple of SidePlace
        From the bust down.
    levels : mapping of level name to a mapping of piece to a point for each size, mm
        Those that the pieces lack.
    crossed : tuple of str
        All pieces that have a level then.
    lay_on : str
    runs : (Run, Run)
        Down both sides, from the notch of the waist to that of the hip, as far as they have one;
        what is as far as somebody said goes from the armhole, and to the hem.
    """

    way: SideWay
    places: tuple[SidePlace, ...]
    levels: Mapping[str, LevelPoints]
    crossed: tuple[str, ...]
    lay_on: str
    runs: tuple[Run, Run]

    @property
    def question(self) -> Question:
        """What is asked, the same whichever side is named first."""
        return question_of("levels", self.runs)

    def put_on(self, pattern: PatternSet) -> PatternSet:
        """The set with its levels; those that it has stay."""
        return replace(put_levels(pattern, self.levels), lay_on=self.lay_on)


@dataclass(frozen=True)
class Top:
    """A set with a side seam that goes down from an armhole, and has too few levels.

    Attributes
    ----------
    sides : BothSides
    """

    sides: BothSides

    @property
    def words(self) -> tuple[str, str, str]:
        """What its levels are called: as the chart has them, if it does."""
        chart = self.sides.pattern.chart
        bust = CHEST if CHEST in chart and BUST not in chart else BUST
        return bust, WAIST, SEAT if SEAT in chart and HIP not in chart else HIP

    @property
    def shortest(self) -> tuple[float, str]:
        """The least length of a side in all sizes, mm, and the size that has it."""
        return min(
            (line.length, size) for on in self.sides.lines.values() for size, line in on.items()
        )

    def holds(self, along: float) -> bool:
        """Whether the waist can lie so far below the underarm in every size."""
        low, high = self.ends
        return low <= along <= high

    @property
    def ends(self) -> tuple[float, float]:
        """Between which distances below the underarm the waist can lie, mm."""
        return BUST_BELOW_MM + APART_MM, self.shortest[0] - SIDE_ENDS_MM

    def list_levelings(self, waist: Told, hip: Told) -> tuple[Leveling, ...]:
        """Every way in which the levels may lie, the likeliest first."""
        bust = self._find_bust()
        if bust is None:
            return ()
        found: list[tuple[int, int, tuple[SidePlace, ...]]] = []
        for i, first in enumerate(self.list_waists(bust, waist)):
            for k, second in enumerate(self.list_hips(bust, first, hip)):
                places = tuple(one for one in (bust, first, second) if one is not None)
                if len(places) > 1:
                    found.append((i + k, i, places))
        found.sort(key=lambda one: one[:2])
        return tuple(self._make_leveling(places) for _, _, places in found[:MOST_WAYS])

    def find_lack(self, waist: Told, hip: Told) -> Lack | None:
        """The length that is to be asked for before any way is found; None where none is."""
        bust = self._find_bust()
        if bust is None:
            return None
        waists = self.list_waists(bust, waist)
        if not waists and not waist.said:
            return Lack(self, "waist", None)
        if hip.said or any(self.list_hips(bust, one, hip) for one in waists):
            return None
        return Lack(self, "hip", waists[0])

    def find_next(self, waist: Told, hip: Told) -> Lack | None:
        """The length that is to be asked for where every way that was found is not so."""
        bust = self._find_bust()
        if bust is None or (waist.said and hip.said):
            return None
        if not waist.said and self.sides.find_drawn(self.words[1]) is None:
            return Lack(self, "waist", None)
        waists = self.list_waists(bust, waist)
        if hip.said or not waists or self.sides.find_drawn(self.words[2]) is not None:
            return None
        return Lack(self, "hip", waists[0])

    def find_misfit(self, waist: Told, hip: Told) -> tuple[Lack, float] | None:
        """A length that was said and does not fit on the side, with what could be."""
        bust = self._find_bust()
        if waist.along is not None and not self.holds(waist.along):
            return Lack(self, "waist", None), waist.along
        waists = [] if bust is None else self.list_waists(bust, waist)
        lacks = [Lack(self, "hip", one) for one in waists]
        if hip.along is not None and lacks and not any(one.holds(hip.along) for one in lacks):
            return lacks[0], hip.along
        return None

    def list_waists(self, bust: SidePlace, told: Told) -> list[SidePlace | None]:
        """Where the waist may lie, the likeliest first; None where there is to be none."""
        drawn = self.sides.find_drawn(self.words[1])
        if drawn is not None:
            return [drawn]
        if told.said:
            return [None if told.along is None else self.sides.put_along(self.words[1], told.along)]
        narrowest = self.sides.find_narrowest(self.words[1], self.holds)
        middle = None if narrowest is None else _mean(narrowest.along)
        found: list[tuple[float, SidePlace]] = []
        for one in self.sides.list_notched(self.words[1]):
            if middle is not None:
                off, most = abs(_mean(one.along) - middle), HOLLOW_NEAR_MM
            else:
                off, most = abs(_mean(one.along) - WAIST_BELOW_MM), WAIST_NEAR_MM
            if off <= most and _mean(one.along) - _mean(bust.along) >= APART_MM:
                found.append((off, one))
        found.sort(key=lambda one: one[0])
        if narrowest is not None and not any(off <= SAME_MM for off, _ in found):
            found.append((0.0, narrowest))
        return [one for _, one in found]

    def list_hips(
        self, bust: SidePlace, waist: SidePlace | None, told: Told
    ) -> list[SidePlace | None]:
        """Where the hip may lie, the likeliest first; empty where that is to be asked."""
        word = self.words[2]
        drawn = self.sides.find_drawn(word)
        if drawn is not None:
            return [drawn]
        above = bust if waist is None else waist
        if told.said:
            if told.along is None:
                return [None]
            if not Lack(self, "hip", waist).holds(told.along):
                return []
            return [self.sides.put_along(word, told.along, waist)]
        below = HIP_BELOW_MM if waist is not None else WAIST_BELOW_MM - BUST_BELOW_MM + HIP_BELOW_MM

        def measure_off(one: SidePlace) -> float:
            return _mean(one.along) - _mean(above.along) - below

        notched = [
            one for one in self.sides.list_notched(word) if abs(measure_off(one)) <= HIP_NEAR_MM
        ]
        if notched:
            return [*sorted(notched, key=lambda one: abs(measure_off(one)))]
        hem = self.sides.put_hem(word)
        if measure_off(hem) > HEM_NEAR_MM:
            return []
        return [hem if measure_off(hem) >= -HIP_NEAR_MM else None]

    def _find_bust(self) -> SidePlace | None:
        word = self.words[0]
        drawn = self.sides.find_drawn(word)
        if drawn is not None:
            return drawn
        near = [one for one in self.sides.list_notched(word) if _mean(one.along) <= BUST_NEAR_MM]
        if near:
            return min(near, key=lambda one: _mean(one.along))
        return self.sides.put_below(word, BUST_BELOW_MM)

    def _make_leveling(self, places: Iterable[SidePlace]) -> Leveling:
        pattern, places = self.sides.pattern, tuple(places)
        barred = frozenset[str]().union(
            *(self.sides.way.tops(side) for side in self.sides.way.sides)
        )
        lacking: dict[str, dict[str, Mapping[str, Point]]] = {}
        crossed: dict[str, None] = {}
        for one in places:
            for piece, points in carry_level(pattern, one.at, barred).items():
                crossed[piece] = None
                if one.level not in pattern.sized(piece, pattern.base).levels:
                    lacking.setdefault(one.level, {})[piece] = points
        names = [one.level for one in places]
        kept = any(pattern.lay_on in pattern.sized(one, pattern.base).levels for one in crossed)
        lay_on = pattern.lay_on if kept else WAIST if WAIST in names else names[0]
        ordered = tuple(piece for piece in pattern.pieces if piece in crossed)
        return Leveling(self.sides.way, places, lacking, ordered, lay_on, self._list_runs(places))

    def _list_runs(self, places: tuple[SidePlace, ...]) -> tuple[Run, Run]:
        by_level = {one.level: one for one in places}
        waist, hip = (by_level.get(word) for word in self.words[1:])
        found = []
        for run, side in zip(
            (self.sides.way.seam.lead, self.sides.way.seam.follow),
            self.sides.way.sides,
            strict=True,
        ):
            down = run if self.sides.way.at_begin else reverse_run(run)
            for one, at_begin in ((waist, True), (hip, False)):
                mark = None if one is None else one.marks.get(side.lead)
                if mark is not None:
                    down = _cut_run(self.sides.pattern, down, side.lead, mark, at_begin=at_begin)
            armhole, hem = (
                tuple(part.span for part in side.silhouette.segments[edge])
                for edge in (
                    self.sides.way.across(side),
                    side.beside(1, at_begin=not self.sides.way.at_begin),
                )
            )
            if waist is None or waist.how == "along":
                down = (*armhole, *down)
            if hip is None or hip.how == "along":
                down = (*down, *hem)
            found.append(down)
        return found[0], found[1]


@dataclass(frozen=True)
class Lack:
    """A level that nothing shows, so that its distance along the side is to be asked for.

    Attributes
    ----------
    top : Top
    kind : "waist" or "hip"
    waist : SidePlace or None
        Below which the hip is measured; else it is below the underarm, as the waist is.
    """

    top: Top
    kind: Literal["waist", "hip"]
    waist: SidePlace | None

    @property
    def seam(self) -> Seam:
        """The side seam along which it is measured."""
        return self.top.sides.way.seam

    @property
    def span(self) -> tuple[float, float]:
        """The least and the greatest length that it can have in every size, mm."""
        low, high = self.top.ends
        if self.waist is None:
            return low, high
        above = np.stack([*self.waist.along.values()])
        ends = [[line.length for line in on.values()] for on in self.top.sides.lines.values()]
        return APART_MM, float(np.min(np.array(ends) - above))

    @property
    def ends(self) -> str:
        """The same in words."""
        low, high = self.span
        return f"a distance of {low:g} to {high:.1f} mm"

    def holds(self, along: float) -> bool:
        """Whether the level can lie so far down in every size."""
        low, high = self.span
        return low <= along <= high


def find_top(pattern: PatternSet, no_top: Set[str] = frozenset()) -> Top | None:
    """The side seam of a top that lacks levels; None where it has two, or sizes or a side lack.

    Of `no_top`, pieces that are known for those of trousers or a skirt, it is none.
    """
    if len(pattern.sizes) < 2 or pattern.relations.blend is not None:
        return None
    for way in find_underarms(pattern, no_top):
        top = Top(BothSides.trace(pattern, way))
        drawn = [
            pattern.sized(piece, pattern.base).levels.keys() & {*top.words}
            for piece in top.sides.lines
        ]
        low, high = top.ends
        if low <= high and len(frozenset.intersection(*map(frozenset, drawn))) < 2:
            return top
    return None


def _cut_run(pattern: PatternSet, run: Run, piece: str, mark: str, *, at_begin: bool) -> Run:
    """A run from one of its marks on, or up to it."""
    edge = f"{piece}.{pattern.sized(piece, pattern.base).landmark(mark).edge}"
    at = next((k for k, span in enumerate(run) if span.key == edge), None)
    if at is None:
        return run
    if at_begin:
        return (replace(run[at], begin=mark), *run[at + 1 :])
    return (*run[:at], replace(run[at], end=mark))


def _mean(along: Mapping[str, Array]) -> float:
    """In the middle of both sides and all sizes."""
    return float(np.mean([mm.mean() for mm in along.values()]))
