"""Two sides of a seam, or a band's zone and its run, that differ by far more than ease.

The walk tells by how much; here it is told what was probably meant: an edge that fits, a
landmark that fits, an ease with the wrong sign, a dart that was not closed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.line import median
from propagate.engine.review.taken import (
    Array,
    lengths,
    run_lengths,
    run_words,
    seam_eases,
    uses,
    zone_eases,
    zone_runs,
)
from propagate.engine.review.zones import exchanged_zones
from propagate.pattern.beside import is_beside
from propagate.pattern.ease import plain_amount
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.values import dataclass

__all__ = ["mates"]

FITS_MM = 0.5
"""An edge that was meant agrees within this in every size."""
STEADY_MM = 0.5
EASE_MM = 30.0
"""More is no ease that cloth can be eased by (common practice, no source)."""
UNIT_SHARE = 0.01
SLIP_MM = 5.0
"""Differences from here on are slips in names; smaller ones are drawn, and walked."""


@dataclass(frozen=True)
class Side:
    """One side of what is sewn: `sign` is +1 where a longer side makes the difference larger."""

    run: Run
    sign: float


@dataclass(frozen=True)
class Join:
    """Two runs that are sewn together.

    `differ` is what is left in every size, mm: the second side less the first, less ease.
    `ease` is an amount in mm, 0 where ease is said in another form (`plain` is false then).
    """

    where: str
    words: str
    first: Side
    second: Side
    ease: float
    tolerance: float
    differ: Array
    plain: bool = True


def mates(pattern: PatternSet) -> Iterator[Finding]:
    """Find joins that are off in every size, with the likely mistake."""
    exchanged = {where for both, _ in exchanged_zones(pattern) for where in both}
    for join in _list_joins(pattern):
        least = float(np.abs(join.differ).min())
        if join.where in exchanged or least <= max(join.tolerance, SLIP_MM):
            if least > join.tolerance:
                yield from _find_signs(pattern, join)
            continue
        yield _make_finding(pattern, join, _tell_likely(pattern, join))


def _find_signs(pattern: PatternSet, join: Join) -> Iterator[Finding]:
    """A small difference is told where an ease or a dart explains it."""
    likely = _ease_words(join) or _dart_words(pattern, join)
    if likely:
        yield _make_finding(pattern, join, likely)


def _make_finding(pattern: PatternSet, join: Join, likely: str) -> Finding:
    base = pattern.sizes.index(pattern.base)
    off = float(join.differ[base])
    ease = f" and an ease of {join.ease:g} mm" if join.ease else ""
    pieces = dict.fromkeys(span.piece for span in (*join.first.run, *join.second.run))
    return Finding(
        "lengths do not agree",
        f"{join.where}, size '{pattern.base}'",
        f"found {join.words}{ease}: {abs(off):.1f} mm too "
        f"{'long' if off > 0 else 'short'} on the second side, and "
        f"off in every size; expected the same length within {join.tolerance:g} mm. {likely}",
        tuple(pieces),
        sews=False,
    )


def _list_joins(pattern: PatternSet) -> Iterator[Join]:
    base = pattern.sizes.index(pattern.base)
    for seam in pattern.relations.seams.values():
        if seam.mirror:
            continue
        first, second = (run_lengths(pattern, run) for run in (seam.lead, seam.follow))
        yield Join(
            f"seam '{seam.name}'",
            f"{run_words(seam.lead)} of {first[base]:.1f} mm sewn to {run_words(seam.follow)} of "
            f"{second[base]:.1f} mm",
            Side(seam.lead, -1.0),
            Side(seam.follow, 1.0),
            plain_amount(seam.ease) or 0.0,
            seam.tolerance,
            second - first - seam_eases(pattern, seam),
            plain_amount(seam.ease) is not None and not is_beside(seam),
        )
    for band in pattern.relations.bands.values():
        for zone in band.zones:
            if not zone.run:
                continue
            span = Span(band.piece, band.sewn, zone.begin, zone.end)
            first, second = lengths(pattern, span), zone_runs(pattern, zone)
            yield Join(
                f"band '{band.name}', zone '{zone.name}'",
                f"the zone of {first[base]:.1f} mm sewn to {run_words(zone.run)} of "
                f"{second[base]:.1f} mm",
                Side((span,), -1.0),
                Side(zone.run, 1.0),
                plain_amount(zone.ease) or 0.0,
                band.tolerance,
                second - first - zone_eases(pattern, zone, second, first),
                plain_amount(zone.ease) is not None and not is_beside(zone),
            )


# ------------------------------------------------------------------------ likely mistakes


def _tell_likely(pattern: PatternSet, join: Join) -> str:
    return (
        _unit_words(pattern, join)
        or _ease_words(join)
        or _dart_words(pattern, join)
        or _zone_words(pattern, join)
        or _part_words(pattern, join)
        or _edge_words(pattern, join)
        or _steady_words(join)
        or (
            "Nothing in the set fits better: probably one of the edges is named wrongly, or drawn "
            "in another state than the other; measure both"
        )
    )


def _unit_words(pattern: PatternSet, join: Join) -> str:
    """One side that is 25.4 or 10 times the other in every size."""
    first, second = (run_lengths(pattern, side.run) for side in (join.first, join.second))
    for unit, times in (("inches", 25.4), ("centimetres", 10.0)):
        for small, large, side in ((first, second, join.first), (second, first, join.second)):
            if np.abs(large / small / times - 1.0).max() <= UNIT_SHARE:
                names = " and ".join(dict.fromkeys(f"'{span.piece}'" for span in side.run))
                return (
                    f"One side is {times:g} times the other: probably {names} was drawn or read in "
                    f"{unit}; multiply the geometry by {times:g}"
                )
    return ""


def _ease_words(join: Join) -> str:
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


def _dart_words(pattern: PatternSet, join: Join) -> str:
    """A dart whose mouth is just what the sides differ by."""
    for side in (join.first, join.second):
        for span in side.run:
            for dart in pattern.sized(span.piece, pattern.base).darts:
                if dart.edge != span.edge:
                    continue
                mouth = np.array(
                    [_measure_mouth(pattern, span.piece, dart.name, size) for size in pattern.sizes]
                )
                if np.abs(np.abs(join.differ) - mouth).max() <= FITS_MM:
                    return (
                        f"The difference is the mouth of dart '{dart.name}' of '{span.piece}', "
                        "which is left out of the length: probably it is pleated or sewn on "
                        "the other side too, or its legs are marked on the wrong edge"
                    )
    return ""


def _measure_mouth(pattern: PatternSet, name: str, dart: str, size: str) -> float:
    piece = pattern.sized(name, size)
    for one in piece.darts:
        if one.name == dart:
            first, second = (piece.distance(one.edge, leg) for leg in one.legs)
            return abs(second - first)
    return float("inf")


def _zone_words(pattern: PatternSet, join: Join) -> str:
    """A run of the same band, used once, that would fill up a zone that is too long."""
    missing = -join.differ
    for band in pattern.relations.bands.values():
        runs = [span for zone in band.zones for span in zone.run]
        if join.first.run[0].piece != band.piece or not set(join.second.run) <= set(runs):
            continue
        for span in runs:
            once = sum(s.key == span.key for s in runs) == 1
            used_twice = any(sum(s.key == o.key for s in runs) == 2 for o in runs)
            if once and used_twice and np.abs(lengths(pattern, span) - missing).max() <= FITS_MM:
                return (
                    f"What is missing is just the length of '{span}', to which the band is sewn "
                    "once and to others twice: probably its second zone was left out; add it"
                )
    return ""


def _part_words(pattern: PatternSet, join: Join) -> str:
    """Another landmark of the same edge at which a span should begin or end."""
    for side in (join.second, join.first):
        for span in side.run:
            piece = pattern.sized(span.piece, pattern.base)
            wanted = lengths(pattern, span) - side.sign * join.differ
            marks = ("start", "end", *(mark.name for mark in piece.landmarks_on(span.edge)))
            for begin, end in ((b, e) for b in marks for e in marks):
                other = Span(span.piece, span.edge, begin, end)
                if (begin != span.begin) + (end != span.end) != 1:
                    continue
                if np.abs(lengths(pattern, other) - wanted).max() <= FITS_MM:
                    return f"It fits in every size with '{other}': did you mean that?"
    return ""


def _edge_words(pattern: PatternSet, join: Join) -> str:
    """Another edge, of the same piece if any, that is as long as was expected."""
    taken = uses(pattern)
    found: list[tuple[tuple[bool, bool], Span, Span]] = []
    for side in (join.second, join.first):
        for span in side.run:
            if (span.begin in ("start", "end")) + (span.end in ("start", "end")) < 2:
                continue
            wanted = lengths(pattern, span) - side.sign * join.differ
            if wanted.min() <= FITS_MM:
                continue
            others = (one.piece for one in (*join.first.run, *join.second.run))
            known = {span.key, *(one.key for one in (*join.first.run, *join.second.run))}
            for name in pattern.pieces:
                for edge in pattern.sized(name, pattern.base).edge_names:
                    other = Span(name, edge, span.begin, span.end)
                    if other.key in known or (name != span.piece and name in set(others)):
                        continue
                    if np.abs(lengths(pattern, other) - wanted).max() <= FITS_MM:
                        rank = (name != span.piece, bool(taken.get(other.key)))
                        found.append((rank, span, other))
    if not found:
        return ""
    best = min(rank for rank, _, _ in found)
    named = [f"'{o}' in the place of '{s}'" for rank, s, o in found if rank == best]
    return f"It fits in every size with {' or with '.join(named[:3])}: did you mean that?"


def _steady_words(join: Join) -> str:
    """The same difference in every size, small enough for ease that was not said."""
    true = join.differ + join.ease
    if not join.plain:
        return ""
    if float(np.ptp(true)) > STEADY_MM or np.abs(true).max() > EASE_MM or len(true) < 2:
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
