"""Gather a longer edge: what is sewn to it keeps its length, and the ease takes the difference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from propagate.errors import EditError
from propagate.pattern.ease import Ease, EaseSaid, ease_in_size
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run
from propagate.pattern.spans import run_length
from propagate.tolerances import RESTS_MM

__all__ = ["list_joins", "with_gathering"]


def with_gathering(
    pattern: PatternSet, piece: str, new: Mapping[str, SizedPiece], where: str
) -> PatternSet:
    """The set with the eases by which what is sewn to a changed piece keeps its length.

    Parameters
    ----------
    pattern : PatternSet
    piece : str
    new : mapping of size to SizedPiece
        The piece as it becomes, in the sizes in which it changes.
    where : str
        Set and edit, for messages.

    Raises
    ------
    EditError
        Where the ease there is not an amount.
    """
    relations = pattern.relations
    seams = dict(relations.seams)
    for name, seam in seams.items():
        more = {} if seam.mirror else _measure_growth(pattern, piece, new, seam.follow, seam.lead)
        if more:
            ease = _add_ease(pattern, seam.ease, more, f"{where}, seam '{name}'")
            seams[name] = replace(seam, ease=ease)
    bands = dict(relations.bands)
    for name, band in bands.items():
        zones = []
        for zone in band.zones:
            more = _measure_growth(pattern, piece, new, zone.run, ())
            if more:
                said = f"{where}, zone '{name}.{zone.name}'"
                zone = replace(zone, ease=_add_ease(pattern, zone.ease, more, said))
            zones.append(zone)
        bands[name] = replace(band, zones=tuple(zones))
    return replace(pattern, relations=replace(relations, seams=seams, bands=bands))


def list_joins(pattern: PatternSet, piece: str) -> frozenset[str]:
    """Seams, and zones of bands as ``BAND.ZONE``, in which something is sewn to a piece."""
    relations = pattern.relations
    seams = {
        name
        for name, seam in relations.seams.items()
        if not seam.mirror and piece in {span.piece for span in (*seam.lead, *seam.follow)}
    }
    zones = {
        f"{band.name}.{zone.name}"
        for band in relations.bands.values()
        for zone in band.zones
        if piece in {span.piece for span in zone.run}
    }
    return frozenset(seams | zones)


def _measure_growth(
    pattern: PatternSet, piece: str, new: Mapping[str, SizedPiece], run: Run, lead: Run
) -> dict[str, float]:
    """By how much a run outgrows its lead in each size, mm; empty when it does in none."""
    if piece not in {span.piece for span in (*run, *lead)}:
        return {}
    found = {}
    for size, fresh in new.items():
        before = pattern.in_size(size)

        def after(name: str, size: str = size, fresh: SizedPiece = fresh) -> SizedPiece:
            return fresh if name == piece else pattern.sized(name, size)

        was, now = (run_length(by, run) - run_length(by, lead) for by in (before, after))
        found[size] = now - was
    return found if any(abs(mm) > RESTS_MM for mm in found.values()) else {}


def _add_ease(
    pattern: PatternSet, was: EaseSaid, more: Mapping[str, float], where: str
) -> EaseSaid:
    by_size: list[tuple[str, EaseSaid]] = []
    for size in pattern.sizes:
        ease = ease_in_size(was, size)
        if isinstance(ease, Ease):
            raise EditError(
                f"{where}: found an ease that is no plain amount, expected one in mm to gather on; "
                "say it in mm with 'ease' first"
            )
        by_size.append((size, round(ease + more.get(size, 0.0), 3)))
    return Ease(sizes=tuple(by_size))
