"""How the seams of a kind of garment fit pieces in its roles, by lengths alone."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

import numpy as np
import numpy.typing as npt

from propagate.pattern.answers import Question, question_of
from propagate.pattern.garments import Join
from propagate.pattern.relations import Run, Span
from propagate.suggesting.lengths import count_doublings
from propagate.suggesting.nest import Nest
from propagate.suggesting.roles import Cast
from propagate.values import dataclass

__all__ = ["Fit", "add_lengths", "fit_join", "list_runs"]

Array = npt.NDArray[np.float64]

FITS_MM = 1.5
"""The trade's walk (common practice, no source)."""
STEADY_MM, STEADY_SHARE = 4.0, 0.4
"""An ease may change over the sizes by so much, or by that part of itself."""
_MARK_MM = 0.6
STEADY_GATHERS = 0.06
"""Gathers may be so much more or less in a size, in parts of what they mostly are."""


@dataclass(frozen=True)
class Fit:
    """A join of a kind of garment that fits its pieces.

    Attributes
    ----------
    join : Join
    lead, follow : Run
        Of pieces.
    differ : (sizes,) array
        By how much the follower is longer, mm; zeros for a seam to the twin.
    worth : float
    """

    join: Join
    lead: Run
    follow: Run
    differ: Array
    worth: float

    @property
    def exact(self) -> bool:
        """Whether both are as long as each other, without ease."""
        return float(np.abs(self.differ).max()) <= FITS_MM

    @property
    def gathered(self) -> bool:
        """Whether the follower is gathered on."""
        return self.join.gathers is not None and bool(self.follow) and not self.exact

    @property
    def question(self) -> Question:
        """What is asked of it, as of a proposal."""
        if self.join.mirror:
            return question_of("mirror seam", (self.lead,))
        return question_of("seam", (self.lead, self.follow))

    @property
    def pieces(self) -> set[str]:
        """The pieces that it joins."""
        return {span.piece for span in (*self.lead, *self.follow)}

    @property
    def edges(self) -> set[str]:
        """``PIECE.EDGE`` of what it joins."""
        return {span.key for span in (*self.lead, *self.follow)}


def fit_join(nest: Nest, join: Join, cast: Mapping[str, Cast]) -> Fit | None:
    """A join with its pieces; None where one is missing or the lengths tell against it."""
    leads, follows = (
        [own for own in list_runs(nest, run, cast) if not _lies_on_fold(nest, own)]
        for run in (join.lead, join.follow)
    )
    if join.mirror:
        zeros = np.zeros(len(nest.pattern.sizes))
        return Fit(join, leads[0], (), zeros, 0.5) if leads else None
    best: Fit | None = None
    for lead, follow in product(leads, follows):
        differ = add_lengths(nest, follow) - add_lengths(nest, lead)
        worth = _judge_lengths(nest, join, lead, follow, differ)
        if worth is not None and (best is None or worth > best.worth):
            best = Fit(join, lead, follow, differ, worth)
    return best


def _lies_on_fold(nest: Nest, run: Run) -> bool:
    """Whether a part of it is on the fold of the cloth, where nothing is cut and nothing sewn."""
    return any(nest.is_fold(span.key) for span in run)


def _judge_lengths(nest: Nest, join: Join, lead: Run, follow: Run, differ: Array) -> float | None:
    low, high = join.ease
    worst = float(np.abs(differ).max())
    spread = float(np.ptp(differ))
    exact = worst <= FITS_MM
    marked = [s for s in (*lead, *follow) if {s.begin, s.end} - {"start", "end"}]
    choice = any(len(nest.edges[span.key].marks) > 1 for span in marked)
    if choice and worst > _MARK_MM and join.ease == (0.0, 0.0):
        return None  # of some marks one fits by chance
    long = add_lengths(nest, lead)
    if not exact and join.share is not None:
        # A share of the lead is the same one in every size, or it is chance.
        shares = differ / long
        spread = float(np.ptp(differ - np.median(shares) * long))
        if not _lies_within(shares, join.share) or spread > FITS_MM:
            return None
    elif join.gathers is not None:
        ratios = differ / long + 1.0
        far = np.abs(ratios / np.median(ratios) - 1.0).max()
        if exact or far > STEADY_GATHERS or not _lies_within(ratios, join.gathers):
            return None
        return 0.3  # so wide a range tells next to nothing
    elif not exact:
        eased = low - FITS_MM <= differ.min() and differ.max() <= high + FITS_MM
        if not eased or spread > max(STEADY_MM, STEADY_SHARE * worst):
            return None
    moved = float(np.ptp(long))
    told = float(np.clip(count_doublings(moved, spread), 0.0, 6.0)) / 6
    if join.perhaps:
        return 0.2
    # Equal lengths tell more than an ease, and a range of ease that is wide tells least.
    return (2.0 - worst / FITS_MM if exact else 0.4) + told


def _lies_within(values: Array, range_: tuple[float, float]) -> bool:
    return bool(values.min() >= range_[0] and values.max() <= range_[1])


def list_runs(nest: Nest, run: Run, cast: Mapping[str, Cast]) -> list[Run]:
    """A run of roles as runs of pieces, one for each mark that a landmark may stand for."""
    found: list[Run] = [()]
    for span in run:
        one = cast.get(span.piece)
        if one is None or span.edge not in one.sides:
            return []
        found = [(*done, *more) for done in found for more in _list_spans(nest, span, one)]
    return found


def _list_spans(nest: Nest, span: Span, cast: Cast) -> list[Run]:
    ends = (span.begin, span.end)
    if ends in (("start", "end"), ("end", "start")):
        return [cast.spans(span.edge, back=ends == ("end", "start"))]
    edges = cast.sides[span.edge].edges
    if len(edges) > 1:
        return []
    marks = list(nest.edges[f"{cast.piece}.{edges[0]}"].marks)
    swap = {"start": "end", "end": "start"} if cast.turned else {}
    choices = [[swap.get(end, end)] if end in ("start", "end") else marks for end in ends]
    return [(Span(cast.piece, edges[0], a, b),) for a, b in product(*choices) if a != b]


def add_lengths(nest: Nest, run: Run) -> Array:
    """The length of a run in every size, mm, darts closed."""
    total = np.zeros(len(nest.pattern.sizes))
    for span in run:
        edge = nest.edges[span.key]
        total = total + np.abs(edge.place(span.end) - edge.place(span.begin))
    return total
