"""Which pages of a tiled print lie side by side: by the lines that go on from one to the next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

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
_STEEP = 0.1
_OFF_MM = 0.25
_WIDEST_OVERLAP = 0.35
"""Share of a page that two pages may both show."""
_STRAY = 0.2
"""Share of ends beyond a border, of those at it, that may be marks on the margin."""
MOST_ENDS = 150
MOST_SEGMENTS = 15_000


@dataclass(frozen=True, eq=False)
class PageLines:
    """The lines of a page as arrays, in page coordinates.

    Attributes
    ----------
    ends : (n, 2) array
        Ends of open lines, each place once.
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
    once = np.unique(np.round(np.array(ends).reshape(-1, 4), 3), axis=0)
    return PageLines(once[:, :2], once[:, 2:], segments[:MOST_SEGMENTS])


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
        self._matched: dict[tuple[int, int, int, int], int] = {}
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
                    beyond = values < border - NEAR_MM if low else values > border + NEAR_MM
                    if np.count_nonzero(beyond) <= _STRAY * len(near):
                        sides[side] = border
        return sides[0], sides[1], sides[2], sides[3]

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
        which, segment = np.nonzero(((a - level) * (b - level) <= 0) & steep)
        share = (level[which, 0] - a[segment]) / (b - a)[segment]
        at = start[segment] + share * (stop - start)[segment]
        pitch = sign * (at - ends[which, axis])
        span = self.frame[axis + 2] - self.frame[axis]
        fits = (pitch >= (1 - _WIDEST_OVERLAP) * span) & (pitch <= span + 2 * NEAR_MM)
        return np.column_stack([which[fits], pitch[fits]])

    def fit(self, places: Mapping[tuple[int, int], int]) -> Fit:
        """How well pages in their (row, column) go on in one another; rows from the top."""
        pairs = [_pairs(places, axis) for axis in (0, 1)]
        laps = [self._overlap(pairs[axis], axis) for axis in (0, 1)]
        known = [lap for lap in laps if lap is not None]
        usual = known[0] if known else 0.0
        shared = [usual if lap is None else lap for lap in laps]
        pitch = [self.frame[axis + 2] - self.frame[axis] - shared[axis] for axis in (0, 1)]
        matched = sum(
            self._going_on(one, other, axis, pitch[axis])
            for axis in (0, 1)
            for one, other in pairs[axis]
        )
        return Fit(matched, self.total_ends(), (pitch[0], pitch[1]))

    def _overlap(self, pairs: Sequence[tuple[int, int]], axis: int) -> float | None:
        """What most pairs of pages share; None where no line tells."""
        best = _peak([self.votes(one, other, axis) for one, other in pairs])
        return None if best is None else self.frame[axis + 2] - self.frame[axis] - best

    def _going_on(self, one: int, other: int, axis: int, pitch: float) -> int:
        """How many ends at the border of two pages lie on a line of the other page."""
        key = (one, other, axis, round(pitch / _BIN_MM))
        if key not in self._matched:
            low, high = self._at_border[other][axis], self._at_border[one][axis + 2]
            move = np.array([pitch, 0.0] if axis == 0 else [0.0, pitch])
            count = 0
            for ends, page, shift in ((low, one, move), (high, other, -move)):
                if len(ends) and not self._drawn[page].is_empty:
                    spots = shapely.points(ends + shift)
                    count += int(
                        np.count_nonzero(shapely.dwithin(self._drawn[page], spots, _OFF_MM))
                    )
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


def _peak(votes: Sequence[_Votes]) -> float | None:
    """The pitch that most ends agree on; the largest of those that are as good."""
    bins = Counter(b for vote in votes for b in vote.bins)
    if not bins:
        return None
    sums = {b: bins[b - 1] + n + bins[b + 1] for b, n in bins.items()}
    best = max(sums, key=lambda b: (sums[b], b))
    values = np.concatenate([vote.pitches for vote in votes])
    return float(np.median(values[np.abs(values - best * _BIN_MM) <= 1.5 * _BIN_MM]))
