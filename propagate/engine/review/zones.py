"""Zones of a band whose runs are exchanged, or copied and not changed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import lengths, zone_eases, zone_runs
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span

__all__ = ["exchanged_zones", "zones"]

FITS_MM = 0.5


def zones(pattern: PatternSet) -> Iterator[Finding]:
    """Find zones whose runs are exchanged, and runs that are used twice."""
    yield from (finding for _, finding in exchanged_zones(pattern))
    yield from _run_twice(pattern)


def exchanged_zones(pattern: PatternSet) -> Iterator[tuple[tuple[str, str], Finding]]:
    """Find two zones of a band each of which is as long as the other's run, with their names."""
    for band in pattern.relations.bands.values():
        sewn = [zone for zone in band.zones if zone.run]
        zone_mm = [lengths(pattern, Span(band.piece, band.sewn, z.begin, z.end)) for z in sewn]
        run_mm = [zone_runs(pattern, z) for z in sewn]
        sides = zip(sewn, run_mm, zone_mm, strict=True)
        eases = [zone_eases(pattern, zone, run, own) for zone, run, own in sides]
        off = [
            float(np.abs(run - ease - zone).min()) > band.tolerance
            for zone, run, ease in zip(zone_mm, run_mm, eases, strict=True)
        ]
        for i in range(len(sewn)):
            for j in range(i + 1, len(sewn)):
                cross = (run_mm[j] - zone_mm[i], run_mm[i] - zone_mm[j])
                fits = any(
                    max(float(np.abs(c - e).max()) for c, e in zip(cross, pair, strict=True))
                    <= FITS_MM
                    for pair in ((eases[i], eases[j]), (eases[j], eases[i]))
                )
                if not (off[i] and off[j] and fits):
                    continue
                names = sewn[i].name, sewn[j].name
                where = tuple(f"band '{band.name}', zone '{name}'" for name in names)
                base = pattern.sizes.index(pattern.base)
                yield (
                    (where[0], where[1]),
                    Finding(
                        "zones exchanged",
                        f"band '{band.name}', zones '{names[0]}' and '{names[1]}'",
                        f"found zones of {zone_mm[i][base]:.1f} and {zone_mm[j][base]:.1f} mm sewn "
                        f"to runs of {run_mm[i][base]:.1f} and {run_mm[j][base]:.1f} mm in size "
                        f"'{pattern.base}'; expected each as long as its run. Each fits the "
                        "other's run in every size: probably the two runs are exchanged, or the "
                        "zones stand in the wrong order; put them in the order in which they "
                        "follow each other along the band",
                        tuple(dict.fromkeys([band.piece, *(s.piece for s in sewn[i].run)])),
                        sews=False,
                    ),
                )


def _run_twice(pattern: PatternSet) -> Iterator[Finding]:
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
