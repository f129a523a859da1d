"""Zones of a band whose runs are exchanged, or copied and not changed."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import Array, pieces_of, span_lengths, zone_eases, zone_runs
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span, Zone
from propagate.values import dataclass

__all__ = ["find_exchanged_zones", "find_runs_used_twice", "pair_exchanged_zones"]

FITS_MM = 0.5


@dataclass(frozen=True, eq=False)
class _Faulty:
    """A zone that is not as long as its run: both in every size, with the ease, mm."""

    zone: Zone
    own: Array
    run: Array
    ease: Array | float


def find_exchanged_zones(pattern: PatternSet) -> Iterator[Finding]:
    """Find two zones of a band each of which is as long as the other's run."""
    return (finding for _, finding in pair_exchanged_zones(pattern))


def pair_exchanged_zones(pattern: PatternSet) -> Iterator[tuple[tuple[str, str], Finding]]:
    """Find exchanged zones, with how the two of them are called."""
    base = pattern.sizes.index(pattern.base)
    for band in pattern.relations.bands.values():
        faulty = []
        for zone in (zone for zone in band.zones if zone.run):
            own = span_lengths(pattern, Span(band.piece, band.sewn, zone.begin, zone.end))
            run = zone_runs(pattern, zone)
            ease = zone_eases(pattern, zone, run, own)
            if float(np.abs(run - ease - own).min()) > band.tolerance:
                faulty.append(_Faulty(zone, own, run, ease))
        for one, two in combinations(faulty, 2):
            cross = (two.run - one.own, one.run - two.own)
            fits = any(
                max(float(np.abs(c - e).max()) for c, e in zip(cross, eases, strict=True))
                <= FITS_MM
                for eases in ((one.ease, two.ease), (two.ease, one.ease))
            )
            if not fits:
                continue
            names = one.zone.name, two.zone.name
            finding = Finding(
                "zones exchanged",
                f"band '{band.name}', zones '{names[0]}' and '{names[1]}'",
                f"found zones of {one.own[base]:.1f} and {two.own[base]:.1f} mm sewn to runs of "
                f"{one.run[base]:.1f} and {two.run[base]:.1f} mm in size '{pattern.base}'; "
                "expected each as long as its run. Each fits the other's run in every size: "
                "probably the two runs are exchanged, or the zones stand in the wrong order; put "
                "them in the order in which they follow each other along the band",
                pieces_of((Span(band.piece, band.sewn),), one.zone.run),
                sews=False,
            )
            where = [f"band '{band.name}', zone '{name}'" for name in names]
            yield (where[0], where[1]), finding


def find_runs_used_twice(pattern: PatternSet) -> Iterator[Finding]:
    """Find a run that a band is sewn to twice in the same direction: no right and left."""
    for band in pattern.relations.bands.values():
        seen: dict[Span, str] = {}
        for zone in band.zones:
            for span in zone.run:
                if span in seen:
                    yield Finding(
                        "run used twice",
                        f"band '{band.name}', zones '{seen[span]}' and '{zone.name}'",
                        f"found '{span}' in both, in the same direction; expected it once (or, on "
                        "a band that goes all the way round, the second time from its other end). "
                        "Probably the run of one zone was copied and not changed: name the edge "
                        "that was meant",
                        (band.piece, span.piece),
                        sews=False,
                    )
                seen.setdefault(span, zone.name)
