"""Which pages of a tiled print lie side by side: by the lines that go on from one to the next."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import product

import numpy as np
import shapely

from propagate.io.drawn_lines import DrawnLine
from propagate.io.pdf.cutting import Box
from propagate.io.pdf.page_lines import STEEP, PageLines, drawing_of, page_lines
from propagate.io.pdf.tile_levels import Crossed, count_misses, find_levels
from propagate.io.pdf.tile_votes import BIN_MM, NO_VOTES, Fit, Votes, find_peaks, piles_of
from propagate.pattern.model import Array

__all__ = ["FEW_WAYS", "Matcher", "Place"]

Place = tuple[int, int]
"""Row and column of a page, from 0; rows from the top."""
Pair = tuple[int, int]
"""A page and the one to its right or above it."""

NEAR_MM = 0.3
"""How far from the border of the pages the end of a line that was cut there may lie."""
_MOST_BINS = 10_000_000
"""More than there are on the longest page that is read."""
_HAIR_MM = 0.02
_TOUCH_MM = 0.02
_OFF_MM = 0.25
_WIDEST_OVERLAP = 0.35
"""Share of a page that two pages may both show."""
_STRAY = 0.2
"""Share of pages that may draw something beyond the border: marks on the margin."""
_NEARLY_MOST = 0.5
"""Share of the ends at the side where most end, with which a side farther out is the border."""
MOST_PEAKS = 6
"""Pitches that are tried, and ten times as many in the end."""
FEW_WAYS = 2
"""Ways that are compared at once: no more are worth looking at pages twice."""
USUAL_LAPS_MM = (0.0, 5.0, 6.35, 8.0, 10.0, 12.0, 12.7, 15.0, 20.0, 25.4)
"""What pages usually share (common practice, no source)."""
MOST_ENDS = 150
_FIRST_PAIRS = 3
"""Pairs that are compared first; as many again each time after, for most pitches fail at once."""


class Matcher:
    """Compares pages of one size in pairs.

    Parameters
    ----------
    pages : sequence of sequence of DrawnLine
        Without what belongs to the pages themselves.
    size : (width, height)
        mm.
    frame : Box or None
        Where the lines end when they do not tell it themselves.
    """

    def __init__(
        self, pages: Sequence[Sequence[DrawnLine]], size: tuple[float, float], frame: Box | None
    ) -> None:
        self.pages = [page_lines(lines) for lines in pages]
        self.size = size
        self.frame = self._border(frame or (0.0, 0.0, *size))
        self._votes: tuple[dict[Pair, Votes], dict[Pair, Votes]] = ({}, {})
        self._crossed: dict[tuple[int, int, bool], Crossed] = {}
        self._matched: defaultdict[tuple[int, float, float], dict[Pair, int]] = defaultdict(dict)
        self._drawn = np.array([drawing_of(page) for page in self.pages])
        self._at_border = [self._border_ends(page) for page in self.pages]
        self._end_counts = [list(map(len, sides)) for sides in self._at_border]

    def _border(self, usual: Box) -> Box:
        """Where lines are cut on many pages: left, bottom, right, top."""
        sides = list(usual)
        for side in range(4):
            axis, low = side % 2, side < 2
            extent = self.size[axis]
            values = np.concatenate([page.across(axis)[:, axis] for page in self.pages])
            values = values[values < 0.35 * extent] if low else values[values > 0.65 * extent]
            bins = Counter(np.round(values / BIN_MM).astype(int).tolist())
            piles = {b: n + bins[b - 1] + bins[b + 1] for b, n in bins.items()}
            if piles:
                most = max(piles.values())
                # Pieces in a row end side by side, too: of piles nearly as high, the outer one.
                outer = [b for b, n in piles.items() if n >= _NEARLY_MOST * most]
                best = min(outer) if low else max(outer)
                best = max(range(best - 1, best + 2), key=lambda b: (piles.get(b, 0), b))
                if piles[best] >= 3:
                    near = values[np.abs(values - best * BIN_MM) < 1.5 * BIN_MM]
                    border = float(np.median(near))
                    if self._pages_beyond(border, axis, low) <= _STRAY * len(self.pages):
                        sides[side] = border
        return sides[0], sides[1], sides[2], sides[3]

    def _pages_beyond(self, border: float, axis: int, low: bool) -> int:
        """How many pages draw anything beyond a border."""
        count = 0
        for page in self.pages:
            at = page.segments[:, axis::2]
            if len(at):
                count += bool(at.min() < border - NEAR_MM if low else at.max() > border + NEAR_MM)
        return count

    def _border_ends(self, page: PageLines) -> list[Array]:
        """The ends at each side of the border."""
        found = []
        for side in range(4):
            ends = page.across(side % 2)
            here = np.abs(ends[:, side % 2] - self.frame[side]) <= NEAR_MM
            found.append(ends[here][:MOST_ENDS])
        return found

    def total_ends(self) -> int:
        """All ends of lines at the borders of all pages."""
        return sum(len(ends) for page in self._at_border for ends in page)

    def ends_at(self, page: int, side: int) -> Array:
        """The ends at a side: 0 left, 1 bottom, 2 right, 3 top."""
        return self._at_border[page][side]

    def _all_votes(self, pairs: Sequence[Pair], axis: int) -> list[Votes]:
        """The pitches at which an end of one page lies on a line of the other."""
        known = self._votes[axis]
        for pair in pairs:
            if pair not in known:
                known[pair] = self._votes_of(*pair, axis)
        return [known[pair] for pair in pairs]

    def _votes_of(self, one: int, other: int, axis: int) -> Votes:
        low, high = self._at_border[other][axis], self._at_border[one][axis + 2]
        if not len(low) and not len(high):
            return NO_VOTES
        ahead = self._pitches(low, one, axis, ahead=True)
        back = self._pitches(high, other, axis, ahead=False)
        back[:, 0] += len(low)
        both = np.concatenate([ahead, back])
        bins = np.round(both[:, 1] / BIN_MM).astype(np.int64)
        once = np.unique(both[:, 0].astype(np.int64) * _MOST_BINS + bins) % _MOST_BINS
        return Votes(both[:, 1], once)

    def _pitches(self, ends: Array, page: int, axis: int, *, ahead: bool) -> Array:
        """Which end it is and the pitch, for every place where an end may lie on a page's lines."""
        if not len(ends):
            return np.zeros((0, 2))
        lines = self._crossed_at(page, axis, ahead)
        level = ends[:, 1 - axis][:, None]
        which, segment = np.nonzero((lines.low <= level) & (level <= lines.high))
        share = (level[which, 0] - lines.first[segment]) / lines.rise[segment]
        at = lines.start[segment] + share * lines.run[segment]
        pitch = at - ends[which, axis] if ahead else ends[which, axis] - at
        span = self.frame[axis + 2] - self.frame[axis]
        fits = (pitch >= (1 - _WIDEST_OVERLAP) * span) & (pitch <= span + 2 * NEAR_MM)
        return np.column_stack([which[fits], pitch[fits]])

    def _crossed_at(self, page: int, axis: int, ahead: bool) -> Crossed:
        """The lines of a page near one border: the far one where a page ahead may go on."""
        key = (page, axis, ahead)
        if key not in self._crossed:
            segments = self._segments_near(page, axis, ahead)
            first, last = segments[:, 1 - axis], segments[:, 3 - axis]
            start, stop = segments[:, axis], segments[:, axis + 2]
            steep = np.abs(last - first) > STEEP * np.abs(stop - start)  # along tells no place
            first, last, start, stop = (side[steep] for side in (first, last, start, stop))
            self._crossed[key] = Crossed(
                first,
                last - first,
                start,
                stop - start,
                np.minimum(first, last) - _TOUCH_MM,
                np.maximum(first, last) + _TOUCH_MM,
            )
        return self._crossed[key]

    def _segments_near(self, page: int, axis: int, ahead: bool) -> Array:
        """The lines of a page that the page beside may show as well."""
        segments = self.pages[page].segments
        start, stop = segments[:, axis], segments[:, axis + 2]
        border, widest = self.frame[axis + 2 * ahead], self._widest_lap(axis)
        if ahead:
            near = np.maximum(start, stop) >= border - widest
        else:
            near = np.minimum(start, stop) <= border + widest
        found: Array = segments[near]
        return found

    def _widest_lap(self, axis: int) -> float:
        """What two pages share at most, with room for what ends and lines may be off, mm."""
        span = self.frame[axis + 2] - self.frame[axis]
        return _WIDEST_OVERLAP * span + NEAR_MM + _TOUCH_MM / STEEP + _OFF_MM

    def fit(self, places: Mapping[Place, int], *, thorough: bool = False) -> Fit:
        """How well pages in their (row, column) go on in one another; rows from the top.

        `thorough` tries what few ends speak for and what is usual too: in a nest whose sizes lie
        at even steps, most ends speak for a pitch that is a step off.
        """
        found = self.fit_of_least(places, 0, thorough=thorough)
        assert found is not None  # no fewer than none go on
        return found

    def fit_of_least(
        self, places: Mapping[Place, int], least: float, *, thorough: bool = False
    ) -> Fit | None:
        """Fit pages; None as soon as it is plain that fewer than `least` ends go on."""
        pairs = _list_neighbours(places, 0), _list_neighbours(places, 1)
        may_go_on = [self._count_ends(pairs[axis], axis) for axis in (0, 1)]
        laps: list[list[tuple[int, float]]] = []
        for axis in (0, 1):
            missing = least - sum(may_go_on) + may_go_on[axis]
            found = self._laps(pairs[axis], axis, thorough=thorough, least=missing)
            if found:
                may_go_on[axis] = max(matched for matched, _ in found) // (1 + thorough)
            if sum(may_go_on) < least:
                return None
            laps.append(self._keep_alike(found, pairs[axis], axis) if thorough else found)
        across, down = laps
        # most ends that go on; of equals what is shared alike both ways, then the least of it
        best = max(
            product(across or down or [(0, 0.0)], down or across or [(0, 0.0)]),
            key=lambda pair: (
                pair[0][0] + pair[1][0],
                -round(abs(pair[0][1] - pair[1][1])),
                -pair[0][1] - pair[1][1],
            ),
        )
        pitch = [self.frame[axis + 2] - self.frame[axis] - best[axis][1] for axis in (0, 1)]
        matched = sum(self._count_going_on(pairs[axis], axis, pitch[axis]) for axis in (0, 1))
        tied = [{lap for count, lap in found if count == max(found)[0]} for found in laps]
        others = set.union(*tied) if all(len(some) != 1 for some in tied) else set[float]()
        if thorough and not any(laps) and matched:
            others = set(USUAL_LAPS_MM)
        apart = {lap for lap in others if min(abs(lap - own) for _, own in best) > NEAR_MM}
        return Fit(matched, self.total_ends(), (pitch[0], pitch[1]), tuple(sorted(apart)))

    def count_with(self, places: Mapping[Place, int], axis: int, lap: float) -> int:
        """How many ends at borders across an axis go on when neighbours share so much, mm."""
        span = self.frame[axis + 2] - self.frame[axis]
        return self._count_going_on(_list_neighbours(places, axis), axis, span - lap)

    def sort_ways(self, ways: Sequence[Mapping[Place, int]], clearly: float) -> list[int]:
        """The ways in which pages may lie, by number, so that the best is among the first.

        First those in which clearly more ends may go on than in others, by what ends speak for.
        """
        if len(ways) <= FEW_WAYS:
            return sorted(range(len(ways)), key=lambda n: (-self.count_votes(ways[n]), n))
        most = [self.count_possible(way) for way in ways]
        good = [n for n, count in enumerate(most) if count * clearly >= max(most)]
        votes = {n: self.count_votes(ways[n]) for n in good} if len(good) > 1 else {}
        rest = [n for n in range(len(ways)) if most[n] * clearly < max(most)]
        good.sort(key=lambda n: (-votes.get(n, 0), n))
        return [*good, *sorted(rest, key=lambda n: (-most[n], n))]

    def count_possible(self, places: Mapping[Place, int]) -> int:
        """How many ends at inner borders have anything of the page beside at their level.

        No more than these can go on, however much the pages share.
        """
        pairs = [(axis, *pair) for axis in (0, 1) for pair in _list_neighbours(places, axis)]
        return sum(int(self._met[axis][page, other]) for axis, page, other in pairs)

    @cached_property
    def _met(self) -> list[Array]:
        """For both axes the ends of each pair of pages with lines of the other at their level."""
        count = len(self.pages)
        found = [np.zeros((count, count)), np.zeros((count, count))]
        for axis, low in product((0, 1), (True, False)):
            ends = [page[axis + 2 * (not low)][:, 1 - axis] for page in self._at_border]
            owner, values = np.repeat(np.arange(count), list(map(len, ends))), np.concatenate(ends)
            for page in range(count):
                levels = find_levels(self._segments_near(page, axis, low), axis, _OFF_MM)
                met = np.bincount(owner, levels.has(values), count)
                if low:  # ends of the page to the right on this one
                    found[axis][page] += met
                else:
                    found[axis][:, page] += met
        return found

    def count_votes(self, places: Mapping[Place, int]) -> int:
        """How many ends at most speak for one pitch: about how many go on, and quickly told."""
        piles = [
            piles_of(self._all_votes(_list_neighbours(places, axis), axis))[1] for axis in (0, 1)
        ]
        return sum(int(pile.max(initial=0)) for pile in piles)

    def _keep_alike(
        self, laps: Sequence[tuple[int, float]], pairs: Sequence[Pair], axis: int
    ) -> list[tuple[int, float]]:
        """Of what pages may share, that for which most ends speak, and which is alike on both.

        A line straight over the border goes on in any case; an end or a bend has to be on both.
        """
        best = [lap for lap in laps if lap[0] == max(laps)[0]]
        if len(best) < 2:
            return list(laps)
        misses = [self._count_misses(pairs, axis, lap) for _, lap in best]
        kept = [lap for lap, count in zip(best, misses, strict=True) if count == min(misses)]
        usual = [lap for lap in kept if min(abs(lap[1] - u) for u in USUAL_LAPS_MM) < _HAIR_MM]
        return usual or kept

    def _count_misses(self, pairs: Sequence[Pair], axis: int, lap: float) -> int:
        """How many ends and bends in what two pages share are drawn on one of them alone."""
        pitch = self.frame[axis + 2] - self.frame[axis] - lap
        step = np.array([pitch, 0.0] if axis == 0 else [0.0, pitch])
        inner = np.array(self.frame) + NEAR_MM * np.array([1, 1, -1, -1])
        ways = [way for a, b in pairs for way in ((b, a, step), (a, b, -step))]
        return sum(
            count_misses(self.pages[page].segments, move, inner, self._drawn[beside], _OFF_MM)
            for page, beside, move in ways
        )

    def _count_ends(self, pairs: Sequence[Pair], axis: int) -> int:
        """The ends at the borders of pairs of pages."""
        counts = self._end_counts
        return sum([counts[other][axis] + counts[one][axis + 2] for one, other in pairs])

    def _laps(
        self, pairs: Sequence[Pair], axis: int, *, thorough: bool, least: float
    ) -> list[tuple[int, float]]:
        """What pages may share, each with how many ends go on then; none where no line tells.

        Where it is plain that fewer than `least` go on, or than with another, with how many may.
        """
        span = self.frame[axis + 2] - self.frame[axis]
        ends = self._count_ends(pairs, axis)
        pitches = find_peaks(
            self._all_votes(pairs, axis), MOST_PEAKS if not thorough else 10 * MOST_PEAKS
        )
        usual = [span - lap for lap in USUAL_LAPS_MM] if thorough and pitches else []
        found: list[tuple[int, float]] = []
        most = 0
        for pitch in (*pitches, *usual):
            needed = max(least, most / 2 if thorough else most)
            matched = self._count_going_on(pairs, axis, pitch, least=needed)
            if matched == ends and not thorough:
                return [(matched, span - pitch)]
            if thorough and 2 * matched >= most:  # those that go on to a hair speak twice
                matched += self._count_going_on(pairs, axis, pitch, _HAIR_MM, most - matched)
            most = max(most, matched)
            found.append((matched, span - pitch))
        return found

    def _count_going_on(
        self,
        pairs: Sequence[Pair],
        axis: int,
        pitch: float,
        off: float = _OFF_MM,
        least: float = 0,
    ) -> int:
        """How many ends at the borders of pairs of pages lie on a line of the other page.

        As soon as it is plain that fewer than `least` do: how many may.
        """
        known = self._matched[axis, round(pitch, 3), off]
        new = [pair for pair in pairs if pair not in known]
        may_go_on = sum(known[pair] for pair in pairs if pair in known)
        may_go_on += self._count_ends(new, axis)
        done, ahead = 0, _FIRST_PAIRS
        while done < len(new) and may_go_on >= least:
            some = new[done : done + ahead]
            found = self._going_on(some, axis, pitch, off)
            known.update(zip(some, found, strict=True))
            may_go_on += sum(found) - self._count_ends(some, axis)
            done, ahead = done + ahead, 2 * ahead
        return may_go_on

    def _going_on(self, pairs: Sequence[Pair], axis: int, pitch: float, off: float) -> list[int]:
        """How many ends of each pair of pages lie on a line of the other page."""
        low = [self._at_border[other][axis] for _, other in pairs]
        high = [self._at_border[one][axis + 2] for one, _ in pairs]
        counts = [len(ends) for ends in (*low, *high)]
        ends = np.concatenate([*low, *high])
        of_low = sum(map(len, low))
        ends[:of_low, axis] += pitch
        ends[of_low:, axis] -= pitch
        beside = np.repeat([one for one, _ in pairs] + [other for _, other in pairs], counts)
        near = shapely.dwithin(self._drawn[beside], shapely.points(ends), off)
        owner = np.repeat(np.tile(np.arange(len(pairs)), 2), counts)
        found: list[int] = np.bincount(owner[near], minlength=len(pairs)).tolist()
        return found


def _list_neighbours(places: Mapping[Place, int], axis: int) -> list[Pair]:
    """Each page and the one to its right (axis 0) or above it (axis 1)."""
    down, right = (0, 1) if axis == 0 else (-1, 0)
    return [
        (page, places[row + down, column + right])
        for (row, column), page in places.items()
        if (row + down, column + right) in places
    ]
