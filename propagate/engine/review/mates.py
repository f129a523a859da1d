"""Two sides of a seam, or a band's zone and its run, that differ by far more than ease.

The walk tells by how much; here it is told what was probably meant: an edge that fits, a
landmark that fits, an ease with the wrong sign, a dart that was not closed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import product

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.line import median
from propagate.engine.review.taken import (
    Array,
    list_uses,
    pieces_of,
    run_lengths,
    say_run,
    seam_eases,
    span_lengths,
    zone_eases,
    zone_runs,
)
from propagate.engine.review.zones import pair_exchanged_zones
from propagate.pattern.beside import is_beside
from propagate.pattern.ease import plain_amount
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.values import dataclass

__all__ = ["find_unlike_lengths"]

FITS_MM = 0.5
"""An edge that was meant agrees within this in every size."""
STEADY_MM = 0.5
EASE_MM = 30.0
"""More is no ease that cloth can be eased by (common practice, no source)."""
UNIT_SHARE = 0.01
SLIP_MM = 5.0
"""Differences from here on are slips in names; smaller ones are drawn, and walked."""


@dataclass(frozen=True)
class Join:
    """Two runs that are sewn together.

    `differ` is what is left in every size, mm: the second run less the first, less ease.
    `ease` is an amount in mm, 0 where ease is said in another form (`plain` is false then).
    """

    where: str
    words: str
    first: Run
    second: Run
    ease: float
    tolerance: float
    differ: Array
    plain: bool = True

    @property
    def sides(self) -> tuple[tuple[Run, Array], tuple[Run, Array]]:
        """Both runs, the second one first, each with what it is longer by than it should be."""
        return (self.second, self.differ), (self.first, -self.differ)


def find_unlike_lengths(pattern: PatternSet) -> Iterator[Finding]:
    """Find joins that are off in every size, with the likely mistake.

    A small difference is told where an ease or a dart explains it.
    """
    base = pattern.sizes.index(pattern.base)
    exchanged = {where for both, _ in pair_exchanged_zones(pattern) for where in both}
    for join in _list_joins(pattern):
        least = float(np.abs(join.differ).min())
        if least <= join.tolerance:
            continue
        if join.where in exchanged or least <= SLIP_MM:
            likely = _explain_by_ease(join) or _explain_by_dart(pattern, join)
        else:
            likely = (
                _explain_by_unit(pattern, join)
                or _explain_by_ease(join)
                or _explain_by_dart(pattern, join)
                or _explain_by_zone(pattern, join)
                or _explain_by_mark(pattern, join)
                or _explain_by_edge(pattern, join)
                or _explain_as_steady(join)
                or (
                    "Nothing in the set fits better: probably one of the edges is named wrongly, "
                    "or drawn in another state than the other; measure both"
                )
            )
        if not likely:
            continue
        off = float(join.differ[base])
        ease = f" and an ease of {join.ease:g} mm" if join.ease else ""
        yield Finding(
            "lengths do not agree",
            f"{join.where}, size '{pattern.base}'",
            f"found {join.words}{ease}: {abs(off):.1f} mm too "
            f"{'long' if off > 0 else 'short'} on the second side, and "
            f"off in every size; expected the same length within {join.tolerance:g} mm. {likely}",
            pieces_of(join.first, join.second),
            sews=False,
        )


def _list_joins(pattern: PatternSet) -> Iterator[Join]:
    base = pattern.sizes.index(pattern.base)
    for seam in pattern.relations.seams.values():
        if seam.mirror:
            continue
        first, second = (run_lengths(pattern, run) for run in (seam.lead, seam.follow))
        amount = plain_amount(seam.ease)
        yield Join(
            f"seam '{seam.name}'",
            f"{say_run(seam.lead)} of {first[base]:.1f} mm sewn to {say_run(seam.follow)} of "
            f"{second[base]:.1f} mm",
            seam.lead,
            seam.follow,
            amount or 0.0,
            seam.tolerance,
            second - first - seam_eases(pattern, seam),
            amount is not None and not is_beside(seam),
        )
    for band in pattern.relations.bands.values():
        for zone in (zone for zone in band.zones if zone.run):
            span = Span(band.piece, band.sewn, zone.begin, zone.end)
            first, second = span_lengths(pattern, span), zone_runs(pattern, zone)
            amount = plain_amount(zone.ease)
            yield Join(
                f"band '{band.name}', zone '{zone.name}'",
                f"the zone of {first[base]:.1f} mm sewn to {say_run(zone.run)} of "
                f"{second[base]:.1f} mm",
                (span,),
                zone.run,
                amount or 0.0,
                band.tolerance,
                second - first - zone_eases(pattern, zone, second, first),
                amount is not None and not is_beside(zone),
            )


# ------------------------------------------------------------------------ likely mistakes


def _explain_by_unit(pattern: PatternSet, join: Join) -> str:
    """One side that is 25.4 or 10 times the other in every size."""
    first, second = (run_lengths(pattern, run) for run in (join.first, join.second))
    for unit, times in (("inches", 25.4), ("centimetres", 10.0)):
        for small, large, run in ((first, second, join.first), (second, first, join.second)):
            if np.abs(large / small / times - 1.0).max() <= UNIT_SHARE:
                names = " and ".join(f"'{piece}'" for piece in pieces_of(run))
                return (
                    f"One side is {times:g} times the other: probably {names} was drawn or read in "
                    f"{unit}; multiply the geometry by {times:g}"
                )
    return ""


def _explain_by_ease(join: Join) -> str:
    """An ease with the wrong sign, or ten times too large."""
    if join.ease == 0.0:
        return ""
    true = join.differ + join.ease
    if np.abs(true + join.ease).max() <= FITS_MM:
        return (
            f"Probably the ease has the wrong sign: with ease = {-join.ease:g} both sides agree "
            "(ease is what the follower, or the run of a zone, is longer by)"
        )
    if np.abs(true * 10.0 - join.ease).max() <= 10 * FITS_MM and abs(join.ease) > EASE_MM:
        return f"Probably the ease is in another unit: ease = {join.ease / 10.0:g} fits"
    if float(np.ptp(true)) <= STEADY_MM and -FITS_MM <= true.min() <= true.max() <= EASE_MM:
        middle = round(float(median(true)), 1)
        return f"Probably the ease is a slip: the second side is {middle:g} mm longer in every size"
    return ""


def _explain_by_dart(pattern: PatternSet, join: Join) -> str:
    """A dart whose mouth is just what the sides differ by."""
    for span in (*join.first, *join.second):
        nest = [pattern.sized(span.piece, size) for size in pattern.sizes]
        for dart in nest[0].darts:
            if dart.edge != span.edge:
                continue
            legs = [[sized.distance(dart.edge, leg) for leg in dart.legs] for sized in nest]
            mouth = np.abs(np.diff(legs, axis=1)[:, 0])
            if np.abs(np.abs(join.differ) - mouth).max() <= FITS_MM:
                return (
                    f"The difference is the mouth of dart '{dart.name}' of '{span.piece}', "
                    "which is left out of the length: probably it is pleated or sewn on "
                    "the other side too, or its legs are marked on the wrong edge"
                )
    return ""


def _explain_by_zone(pattern: PatternSet, join: Join) -> str:
    """A run of the same band, used once, that would fill up a zone that is too long."""
    for band in pattern.relations.bands.values():
        runs = [span for zone in band.zones for span in zone.run]
        if join.first[0].piece != band.piece or not set(join.second) <= set(runs):
            continue
        uses = Counter(span.key for span in runs)
        for span in runs:
            fits = np.abs(span_lengths(pattern, span) + join.differ).max() <= FITS_MM
            if uses[span.key] == 1 and 2 in uses.values() and fits:
                return (
                    f"What is missing is just the length of '{span}', to which the band is sewn "
                    "once and to others twice: probably its second zone was left out; add it"
                )
    return ""


def _explain_by_mark(pattern: PatternSet, join: Join) -> str:
    """Another landmark of the same edge at which a span should begin or end."""
    for run, longer in join.sides:
        for span in run:
            piece = pattern.sized(span.piece, pattern.base)
            wanted = span_lengths(pattern, span) - longer
            marks = ("start", "end", *(mark.name for mark in piece.landmarks_on(span.edge)))
            for begin, end in product(marks, marks):
                other = Span(span.piece, span.edge, begin, end)
                if (begin != span.begin) + (end != span.end) != 1:
                    continue
                if np.abs(span_lengths(pattern, other) - wanted).max() <= FITS_MM:
                    return f"It fits in every size with '{other}': did you mean that?"
    return ""


def _explain_by_edge(pattern: PatternSet, join: Join) -> str:
    """Another edge, of the same piece if any, that is as long as was expected."""
    taken = list_uses(pattern)
    pieces = pieces_of(join.first, join.second)
    known = {span.key for span in (*join.first, *join.second)}
    found: list[tuple[tuple[bool, bool], str]] = []
    for run, longer in join.sides:
        for span in run:
            wanted = span_lengths(pattern, span) - longer
            if not {span.begin, span.end} <= {"start", "end"} or wanted.min() <= FITS_MM:
                continue
            for name in pattern.pieces:
                for edge in pattern.sized(name, pattern.base).edge_names:
                    other = Span(name, edge, span.begin, span.end)
                    if other.key in known or (name != span.piece and name in pieces):
                        continue
                    if np.abs(span_lengths(pattern, other) - wanted).max() <= FITS_MM:
                        rank = (name != span.piece, bool(taken.get(other.key)))
                        found.append((rank, f"'{other}' in the place of '{span}'"))
    if not found:
        return ""
    best = min(rank for rank, _ in found)
    named = [words for rank, words in found if rank == best]
    return f"It fits in every size with {' or with '.join(named[:3])}: did you mean that?"


def _explain_as_steady(join: Join) -> str:
    """The same difference in every size, small enough for ease that was not said."""
    true = join.differ + join.ease
    steady = float(np.ptp(true)) <= STEADY_MM and np.abs(true).max() <= EASE_MM
    if not join.plain or not steady or len(true) < 2:
        return ""
    if true.min() < 0.0:
        return (
            "The difference is the same in every size: probably one of the two edges (or a mark on "
            "it, such as a dart's leg) is drawn off; measure both"
        )
    middle = round(float(median(true)), 1)
    return (
        f"The difference is the same in every size: probably the ease was left out; write "
        f"ease = {middle:g} if it is meant"
    )
