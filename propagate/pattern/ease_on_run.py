"""The ease of a seam on the runs it joins: in all, and up to any place along the lead."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.pattern.beside import is_beside, line_beside
from propagate.pattern.ease import (
    Ease,
    ease_in_size,
    least_and_most,
    meant_ease,
)
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import Lookup, distance_on_run, run_length
from propagate.values import dataclass

__all__ = ["SeamEase", "seam_ease", "zone_places"]


@dataclass(frozen=True)
class SeamEase:
    """The ease of a seam in one size.

    Attributes
    ----------
    total : float
        By how much the follower should be longer than the lead, mm.
    lead_mm : float
        Length of the lead.
    places, eases : tuple of float
        Distances along the lead and the ease up to each, mm; empty: even all along.
    least, most : tuple of float
        Bounds of the ease up to each place, mm.
    """

    total: float
    lead_mm: float
    places: tuple[float, ...] = ()
    eases: tuple[float, ...] = ()
    least: tuple[float, ...] = ()
    most: tuple[float, ...] = ()

    def before(self, distance: float, of: float | None = None) -> float:
        """The ease up to a distance along the lead, mm; `of`: where the lead is this long."""
        whole = self.lead_mm if of is None else of
        if not self.places:
            return self.total * distance / whole
        return float(np.interp(distance * self.lead_mm / whole, self.places, self.eases))

    def meant_between(self, first: float, last: float, apart: float) -> float:
        """The ease of a stretch of the lead, mm.

        Parameters
        ----------
        first, last : float
            Distances along the lead, mm.
        apart : float
            By how much the follower is longer there now; within a range it is as meant.
        """
        if not self.places:
            return self.total * (last - first) / self.lead_mm
        ends = [
            float(np.subtract(*np.interp((last, first), self.places, bound)))
            for bound in (self.least, self.most)
        ]
        return min(max(apart, ends[0]), ends[1])


def seam_ease(
    lookup: Lookup, seam: Seam, size: str, lengths: tuple[float, float] | None = None
) -> SeamEase:
    """Return the ease that a seam should have, its pieces as they are.

    Parameters
    ----------
    lookup : callable
    seam : Seam
    size : str
    lengths : (float, float) or None
        Lengths of lead and follower, mm, where they are known.

    Raises
    ------
    KeyError
        A size of which a seam with an ease for each size says nothing.
    """
    if is_beside(seam):
        return _find_ease_beside(lookup, seam, size, lengths)
    lead_mm = run_length(lookup, seam.lead) if lengths is None else lengths[0]
    if not isinstance(seam.ease, Ease):
        return SeamEase(seam.ease, lead_mm)
    ease = ease_in_size(seam.ease, size)
    follow_mm = run_length(lookup, seam.follow) if lengths is None else lengths[1]
    apart = 0.0 if seam.mirror else follow_mm - lead_mm
    if not isinstance(ease, Ease) or not ease.zones:
        return SeamEase(meant_ease(ease, size, lead_mm, apart), lead_mm)
    places = [0.0, *zone_places(lookup, seam.lead, ease, lead_mm)]
    ends = [
        least_and_most(one, size, mm)
        for (_, one), mm in zip(ease.zones, np.diff(places).tolist(), strict=True)
    ]
    low, high = (np.cumsum([0.0, *bound]) for bound in zip(*ends, strict=True))
    least, most = float(low[-1]), float(high[-1])
    # Within a range every zone gives the same part of what it may.
    part = 0.0 if most == least else (min(max(apart, least), most) - least) / (most - least)
    eases = low + part * (high - low)
    bounds = [tuple(each.tolist()) for each in (eases, low, high)]
    return SeamEase(float(eases[-1]), lead_mm, tuple(places), *bounds)


def _find_ease_beside(
    lookup: Lookup, seam: Seam, size: str, lengths: tuple[float, float] | None
) -> SeamEase:
    """The ease of a seam whose follower takes the length of a line beside its lead.

    What the line beside is longer lies where the lead bends; what is eased on to that line is
    eased on along it.
    """
    line = line_beside(lookup, seam.lead, seam.out - seam.inside)
    lead_mm, long = float(line.places[-1]), float(line.lengths[-1])
    follow_mm = run_length(lookup, seam.follow) if lengths is None else lengths[1]
    plain = replace(seam, out=0.0, inside=0.0)
    inner = seam_ease(lookup, plain, size, (lead_mm, follow_mm - long + lead_mm))
    if isinstance(seam.ease, Ease) and not inner.places:
        total = meant_ease(ease_in_size(seam.ease, size), size, long, follow_mm - long)
        inner = replace(inner, total=total)
    places = np.union1d(line.places, inner.places)
    on_line = np.interp(places, line.places, line.lengths)
    gains = on_line - places

    def eased(bounds: tuple[float, ...]) -> tuple[float, ...]:
        if not inner.places:
            return tuple((gains + inner.total * on_line / long).tolist())
        return tuple((gains + np.interp(places, inner.places, bounds)).tolist())

    eases = eased(inner.eases)
    ends = eased(inner.least), eased(inner.most)
    return SeamEase(eases[-1], lead_mm, tuple(places.tolist()), eases, *ends)


def zone_places(lookup: Lookup, lead: Run, ease: Ease, lead_mm: float) -> list[float]:
    """Distances along the lead at which the zones of an ease end, mm."""
    found = []
    for to, _ in ease.zones:
        piece, _, landmark = to.partition(".")
        place = lead_mm if to == "end" else distance_on_run(lookup, lead, piece, landmark)
        found.append(lead_mm if place is None else place)
    return found
