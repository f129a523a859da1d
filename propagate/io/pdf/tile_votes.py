"""What the ends of cut lines say of the step from one page of a tiled print to the next."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["BIN_MM", "NO_VOTES", "Fit", "Votes", "find_peaks", "piles_of"]


@dataclass(frozen=True)
class Fit:
    """How well pages fit in an order.

    Attributes
    ----------
    matched, ends : int
        Ends of lines at inner borders that go on, and all ends at borders.
    pitch : (x, y)
        From one page to the next, mm; as in the other direction where no line tells.
    others : tuple of float
        What neighbours may share just as well, mm: all lines run straight over the borders.
    """

    matched: int
    ends: int
    pitch: tuple[float, float]
    others: tuple[float, ...] = ()

    @property
    def share(self) -> float:
        """Share of the ends that go on."""
        return self.matched / self.ends if self.ends else 0.0


BIN_MM = 0.1
_FINE_MM = 0.005
Bins = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Votes:
    """Pitches that ends speak for, and the bins of them, each once for each end."""

    pitches: Array
    bins: Bins


NO_VOTES = Votes(np.zeros(0), np.zeros(0, dtype=np.int64))


def piles_of(votes: Sequence[Votes]) -> tuple[Bins, Bins]:
    """The bins of pitches that ends speak for, and how many do for each and its neighbours."""
    bins = np.concatenate([vote.bins for vote in votes]) if votes else np.zeros(0, dtype=np.int64)
    if not len(bins):
        return bins, bins
    first = int(bins.min()) - 1
    counts = np.bincount(bins - first, minlength=int(bins.max()) - first + 2)
    used = np.flatnonzero(counts)
    return used + first, counts[used - 1] + counts[used] + counts[used + 1]


def find_peaks(votes: Sequence[Votes], most: int) -> list[float]:
    """The pitches that most ends agree on, the best first; the larger of two as good."""
    bins, sums = piles_of(votes)
    if not len(bins):
        return []
    values = np.concatenate([vote.pitches for vote in votes])
    found: list[float] = []
    taken: set[int] = set()
    for best in bins[np.lexsort((-bins, -sums))].tolist():
        if best in taken:
            continue
        taken |= {best - 2, best - 1, best, best + 1, best + 2}
        near = values[np.abs(values - best * BIN_MM) <= 1.5 * BIN_MM]
        found.append(_find_densest(np.sort(near)))
        if len(found) == most:
            break
    return found


def _find_densest(ordered: Array) -> float:
    """Where most of some near values lie, which rise: true ones agree, chance ones are spread."""
    around = np.searchsorted(ordered, ordered + _FINE_MM) - np.searchsorted(
        ordered, ordered - _FINE_MM
    )
    middle = ordered[int(np.argmax(around))]
    agreed = ordered[np.abs(ordered - middle) <= _FINE_MM]
    return float(agreed[(len(agreed) - 1) // 2] + agreed[len(agreed) // 2]) / 2
