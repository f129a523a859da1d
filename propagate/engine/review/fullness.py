"""Fullness that cannot be as it is said: gathers that are shorter, elastics that are longer."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.pattern.ease import Ease, EaseSaid, eases_within
from propagate.pattern.patternset import PatternSet

__all__ = ["fullness", "says_fullness"]


def says_fullness(ease: EaseSaid) -> bool:
    """Whether an ease says in words that something is gathered or stretched on."""
    return any(
        isinstance(one, Ease) and (one.gathers is not None or one.stretched is not None)
        for one in eases_within(ease)
    )


def fullness(pattern: PatternSet) -> Iterator[Finding]:
    """Find ratios on the wrong side of 1."""
    for seam in pattern.relations.seams.values():
        pieces = tuple(dict.fromkeys(span.piece for span in (*seam.lead, *seam.follow)))
        yield from _judge_ratios(f"seam '{seam.name}', ease", seam.ease, pieces)
    for tape in pattern.relations.tapes.values():
        pieces = tuple(dict.fromkeys(span.piece for span in tape.run))
        yield from _judge_ratios(f"tape '{tape.name}', ease", tape.ease, pieces)
    for band in pattern.relations.bands.values():
        for zone in band.zones:
            where = f"band '{band.name}', zone '{zone.name}', ease"
            yield from _judge_ratios(where, zone.ease, (band.piece,))


def _judge_ratios(where: str, ease: EaseSaid, pieces: tuple[str, ...]) -> Iterator[Finding]:
    for one in eases_within(ease):
        if not isinstance(one, Ease):
            continue
        if one.gathers is not None and one.gathers < 1.0:
            yield Finding(
                "gathers below 1",
                where,
                f"found gathers = {one.gathers:g}, expected 1 or more: what is gathered is the "
                "longer side, and the ratio is its length in lengths of the other. Most likely "
                f"it was written the other way round, gathers = {1.0 / one.gathers:.3g}; for "
                "something that is cut shorter and stretched on write "
                f"stretched = {one.gathers:g}",
                pieces,
            )
        if one.stretched is not None and one.stretched > 1.0:
            yield Finding(
                "stretched above 1",
                where,
                f"found stretched = {one.stretched:g}, expected 1 or less: what is stretched on "
                "is cut shorter than what it is sewn to. Most likely it was written the other way "
                f"round, stretched = {1.0 / one.stretched:.3g}; for something that is longer and "
                f"gathered write gathers = {one.stretched:g}",
                pieces,
            )
