"""Which pages of a tiled print lie side by side: by the lines that go on from one to the next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
import shapely

from propagate.io.drawn_lines import DrawnLine
from propagate.io.pdf.cutting import Box
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Fit", "Matcher", "PageLines"]

NEAR_MM = 0.3
"""How far from the border of the pages the end of a line that was cut there may lie."""
_BIN_MM = 0.1
_FINE_MM = 0.005
_HAIR_MM = 0.02
_STEEP = 0.1
_TOUCH_MM = 0.02
_OFF_MM = 0.25
_WIDEST_OVERLAP = 0.35
"""Share of a page that two pages may both show."""
_STRAY = 0.2
"""Share of pages that may draw something beyond the border: marks on the margin."""
MOST_PEAKS = 6
"""Pitches that are tried, and ten times as many in the end."""
USUAL_LAPS_MM = (0.0, 5.0, 6.35, 8.0, 10.0, 12.0, 12.7, 15.0, 20.0, 25.4)
"""What pages usually share (common practice, no source)."""
MOST_ENDS = 150
MOST_SEGMENTS = 15_000


@dataclass(frozen=True, eq=False)
class PageLines:
    """The lines of a page as arrays, in page coordinates.

    Attributes
    ----------
    ends : (n, 2) array
        Ends of open lines, each place once; not corners, where several lines end.
    ways : (n, 2) array
        How much of the direction at each end is along x and along y, 0 to 1.
    segments : (m, 4) array
        x and y of the start and of the end of every straight piece.
    """

    ends: Array
    ways: Array
    segments: Array

    def across(self, axis: int) -> Array:
        """The ends that run across a border at right angles to an axis, not along it."""
        found: Array = self.ends[self.ways[:, axis] >= _STEEP]
        return found


def page_lines(lines: Sequence[DrawnLine]) -> PageLines:
    """Take the lines of a page apart."""
    ends = [
        np.hstack([tip, _way(tip - inner)])
        for line in lines
        if not line.closed
        for tip, inner in (line.chain.points[:2], line.chain.points[:-3:-1])
    ]
    pieces = [np.hstack([line.chain.points[:-1], line.chain.points[1:]]) for line in lines]
    segments = np.vstack(pieces) if pieces else np.zeros((0, 4))
    found = np.array(ends).reshape(-1, 4)
    once = found[np.unique(np.round(found, 2), axis=0, return_index=True)[1]]
    places = np.round(once[:, :2], 2)
    _, which, count = np.unique(places, axis=0, return_index=True, return_counts=True)
    alone = once[which[count == 1]]
    return PageLines(alone[:, :2], alone[:, 2:], segments[:MOST_SEGMENTS])


def _way(run: Array) -> Array:
    """How much of a direction is along x and along y."""
    found: Array = np.abs(run) / max(float(np.hypot(run[0], run[1])), 1e-12)
    return found


def _drawing(page: PageLines) -> shapely.Geometry:
    """All lines of a page as one, ready to be asked for distances."""
    drawn = shapely.multilinestrings(shapely.linestrings(page.segments.reshape(-1, 2, 2)))
    shapely.prepare(drawn)
    return drawn


@dataclass(frozen=True)
class Fit:
    """How well pages fit in an order.

    Attributes
    ----------
    matched, ends : int
        Ends of lines at inner borders that go on, and all ends at borders.
    pitch : (x, y)
        From one page to the next, mm; as in the other direction where no line tells.
    """

    matched: int
    ends: int
    pitch: tuple[float, float]

    @property
    def share(self) -> float:
        """Share of the ends that go on."""
        return self.matched / self.ends if self.ends else 0.0


@dataclass(frozen=True, eq=False)
class _Votes:
    """Pitches that ends speak for, and the bins of them, each once for each end."""

    pitches: Array
    bins: tuple[int, ...]


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
        self._votes: dict[tuple[int, int, int], _Votes] = {}
        self._matched: dict[tuple[int, int, int, float, float], int] = {}
        self._drawn = [_drawing(page) for page in self.pages]
        self._at_border = [self._border_ends(page) for page in self.pages]

    def _border(self, usual: Box) -> Box:
        """Where lines are cut on many pages: left, bottom, right, top."""
        sides = list(usual)
        for side in range(4):
            axis, low = side % 2, side < 2
            extent = self.size[axis]
            values = np.concatenate([page.across(axis)[:, axis] for page in self.pages])
            values = values[values < 0.35 * extent] if low else values[values > 0.65 * extent]
            bins = Counter(np.round(values / _BIN_MM).astype(int).tolist())
            piles = {b: n + bins[b - 1] + bins[b + 1] for b, n in bins.items()}
            if piles:
                best = max(piles, key=lambda b: (piles[b], -b if low else b))
                if piles[best] >= 3:
                    near = values[np.abs(values - best * _BIN_MM) < 1.5 * _BIN_MM]
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

    def votes(self, one: int, other: int, axis: int) -> _Votes:
        """The pitches at which an end of one page lies on a line of the other.

        `other` is the page to the right of `one` (axis 0), or the one above it (axis 1).
        """
        key = (one, other, axis)
        if key not in self._votes:
            low, high = self._at_border[other][axis], self._at_border[one][axis + 2]
            ahead = self._pitches(low, self.pages[one], axis, 1.0)
            back = self._pitches(high, self.pages[other], axis, -1.0)
            back[:, 0] += len(low)
            both = np.vstack([ahead, back])
            both[:, 1] = np.round(both[:, 1] / _BIN_MM)
            once = np.unique(both, axis=0)[:, 1].astype(int).tolist() if len(both) else []
            self._votes[key] = _Votes(np.concatenate([ahead[:, 1], back[:, 1]]), tuple(once))
        return self._votes[key]

    def _pitches(self, ends: Array, page: PageLines, axis: int, sign: float) -> Array:
        if not len(ends):
            return np.zeros((0, 2))
        across = 1 - axis
        level = ends[:, across][:, None]
        a, b = page.segments[:, across], page.segments[:, across + 2]
        start, stop = page.segments[:, axis], page.segments[:, axis + 2]
        steep = np.abs(b - a) > _STEEP * np.abs(stop - start)  # a line along tells no place
        low, high = np.minimum(a, b) - _TOUCH_MM, np.maximum(a, b) + _TOUCH_MM
        which, segment = np.nonzero((low <= level) & (level <= high) & steep)
        share = (level[which, 0] - a[segment]) / (b - a)[segment]
        at = start[segment] + share * (stop - start)[segment]
        pitch = sign * (at - ends[which, axis])
        span = self.frame[axis + 2] - self.frame[axis]
        fits = (pitch >= (1 - _WIDEST_OVERLAP) * span) & (pitch <= span + 2 * NEAR_MM)
        return np.column_stack([which[fits], pitch[fits]])

    def fit(self, places: Mapping[tuple[int, int], int], *, thorough: bool = False) -> Fit:
        """How well pages in their (row, column) go on in one another; rows from the top.

        `thorough` tries what few ends speak for and what is usual too: in a nest whose sizes lie
        at even steps, most ends speak for a pitch that is a step off.
        """
        across, down = (self._laps(_pairs(places, axis), axis, thorough) for axis in (0, 1))
        # most ends that go on; of equals what is shared alike both ways, then the least of it
        best = max(
            product(across or down or [(0, 0.0)], down or across or [(0, 0.0)]),
            key=lambda pair: (
                pair[0][0] + pair[1][0],
                -round(abs(pair[0][1] - pair[1][1])),
                -pair[0][1] - pair[1][1],
            ),
        )
        laps = best[0][1], best[1][1]
        pitch = [self.frame[axis + 2] - self.frame[axis] - laps[axis] for axis in (0, 1)]
        matched = sum(
            self._going_on(one, other, axis, pitch[axis])
            for axis in (0, 1)
            for one, other in _pairs(places, axis)
        )
        return Fit(matched, self.total_ends(), (pitch[0], pitch[1]))

    def _laps(
        self, pairs: Sequence[tuple[int, int]], axis: int, thorough: bool
    ) -> list[tuple[int, float]]:
        """What pages may share, each with how many ends go on then; none where no line tells."""
        span = self.frame[axis + 2] - self.frame[axis]
        ends = sum(
            len(self._at_border[other][axis]) + len(self._at_border[one][axis + 2])
            for one, other in pairs
        )
        found = []
        votes = [self.votes(one, other, axis) for one, other in pairs]
        pitches = _peaks(votes, MOST_PEAKS if not thorough else 10 * MOST_PEAKS)
        usual = [span - lap for lap in USUAL_LAPS_MM] if thorough and pitches else []
        for pitch in (*pitches, *usual):
            matched = sum(self._going_on(one, other, axis, pitch) for one, other in pairs)
            if matched == ends and not thorough:
                return [(matched, span - pitch)]
            if thorough:  # those that go on to a hair speak twice
                matched += sum(
                    self._going_on(one, other, axis, pitch, _HAIR_MM) for one, other in pairs
                )
            found.append((matched, span - pitch))
        return found

    def _going_on(self, one: int, other: int, axis: int, pitch: float, off: float = _OFF_MM) -> int:
        """How many ends at the border of two pages lie on a line of the other page."""
        key = (one, other, axis, round(pitch, 3), off)
        if key not in self._matched:
            low, high = self._at_border[other][axis], self._at_border[one][axis + 2]
            move = np.array([pitch, 0.0] if axis == 0 else [0.0, pitch])
            count = 0
            for ends, page, shift in ((low, one, move), (high, other, -move)):
                if len(ends) and not self._drawn[page].is_empty:
                    spots = shapely.points(ends + shift)
                    count += int(np.count_nonzero(shapely.dwithin(self._drawn[page], spots, off)))
            self._matched[key] = count
        return self._matched[key]


def _pairs(places: Mapping[tuple[int, int], int], axis: int) -> list[tuple[int, int]]:
    """Each page and the one to its right (axis 0) or above it (axis 1)."""
    down, right = (0, 1) if axis == 0 else (-1, 0)
    return [
        (page, places[row + down, column + right])
        for (row, column), page in places.items()
        if (row + down, column + right) in places
    ]


def _peaks(votes: Sequence[_Votes], most: int) -> list[float]:
    """The pitches that most ends agree on, the best first; the larger of two as good."""
    bins = Counter(b for vote in votes for b in vote.bins)
    sums = {b: bins[b - 1] + n + bins[b + 1] for b, n in bins.items()}
    values = np.concatenate([vote.pitches for vote in votes]) if bins else np.zeros(0)
    found: list[float] = []
    taken: set[int] = set()
    for best in sorted(sums, key=lambda b: (-sums[b], -b)):
        if best in taken:
            continue
        taken |= {best - 2, best - 1, best, best + 1, best + 2}
        found.append(_densest(values[np.abs(values - best * _BIN_MM) <= 1.5 * _BIN_MM]))
        if len(found) == most:
            break
    return found


def _densest(values: Array) -> float:
    """Where most of some near values lie: true ones agree, chance ones are spread."""
    ordered = np.sort(values)
    around = np.searchsorted(ordered, ordered + _FINE_MM) - np.searchsorted(
        ordered, ordered - _FINE_MM
    )
    middle = ordered[int(np.argmax(around))]
    return float(np.median(ordered[np.abs(ordered - middle) <= _FINE_MM]))
