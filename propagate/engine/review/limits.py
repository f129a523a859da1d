"""Tolerances and eases beyond what the trade sews, and fullness that cannot be as it is said."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import pieces_of
from propagate.pattern.beside import is_beside
from propagate.pattern.ease import Ease, EaseSaid, eases_within, is_eased, least_and_most
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.pattern.spans import run_length
from propagate.tolerances import EASED_SHARE, GATHERED_SHARE, WIDEST_TOLERANCE_MM

__all__ = ["find_large_eases", "find_turned_ratios", "find_wide_tolerances"]


def find_wide_tolerances(pattern: PatternSet) -> Iterator[Finding]:
    """Find tolerances so wide that a walk could not see a mistake."""
    relations = pattern.relations
    for kind, group in (
        ("seam", relations.seams),
        ("opening", relations.openings),
        ("band", relations.bands),
    ):
        for name, relation in group.items():
            if relation.tolerance > WIDEST_TOLERANCE_MM:
                yield Finding(
                    "tolerance too wide",
                    f"{kind} '{name}', tolerance",
                    f"found {relation.tolerance:g} mm, expected at most {WIDEST_TOLERANCE_MM:g} "
                    "(a seam is walked to 1.5, an opening to 3): every mistake up to that "
                    "size would pass as sewn; most likely the decimal point is missing, or "
                    "the number was meant as ease. Write what you would accept at the machine",
                    pieces_of(relation.lead, relation.follow)
                    if isinstance(relation, Seam)
                    else (relation.piece,),
                )


def find_large_eases(pattern: PatternSet) -> Iterator[Finding]:
    """Find eases beyond what cloth eases and short of what is gathered on purpose."""
    base = pattern.in_size(pattern.base)
    for seam in pattern.relations.seams.values():
        if is_eased(seam.ease) and not (_says_fullness(seam.ease) or is_beside(seam)):
            pieces = pieces_of(seam.lead, seam.follow)
            ease = seam_ease(base, seam, pattern.base)
            yield from _judge_ease(f"seam '{seam.name}', ease", ease.total, ease.lead_mm, pieces)
    for band in pattern.relations.bands.values():
        for zone in band.zones:
            if is_eased(zone.ease) and zone.run and not _says_fullness(zone.ease):
                where = f"band '{band.name}', zone '{zone.name}', ease"
                run = run_length(base, zone.run)
                least, most = least_and_most(zone.ease, pattern.base, run)
                large = most if abs(most) >= abs(least) else least
                yield from _judge_ease(where, large, run - large, (band.piece,))


def _says_fullness(ease: EaseSaid) -> bool:
    """Whether an ease says in words that something is gathered or stretched on."""
    return any(
        isinstance(one, Ease) and (one.gathers is not None or one.stretched is not None)
        for one in eases_within(ease)
    )


def _judge_ease(
    where: str, ease: float, along: float, pieces: tuple[str, ...]
) -> Iterator[Finding]:
    share = abs(ease) / along if along > 0.0 else 1.0
    if EASED_SHARE < share < GATHERED_SHARE:
        yield Finding(
            "ease too large",
            where,
            f"found {ease:g} mm on {along:.1f} mm ({share:.0%}), expected at most "
            f"{EASED_SHARE:.0%}, which is what cloth takes without gathers; most likely a decimal "
            "point is missing, or the ease of both halves was added up. Look at the number; it "
            "is right where the seam is gathered a little, or the cloth stretches",
            pieces,
        )


def find_turned_ratios(pattern: PatternSet) -> Iterator[Finding]:
    """Find ratios on the wrong side of 1: gathers that are shorter, elastics that are longer."""
    relations = pattern.relations
    said = [
        *(
            (f"seam '{s.name}', ease", s.ease, pieces_of(s.lead, s.follow))
            for s in relations.seams.values()
        ),
        *((f"tape '{t.name}', ease", t.ease, pieces_of(t.run)) for t in relations.tapes.values()),
        *(
            (f"band '{band.name}', zone '{zone.name}', ease", zone.ease, (band.piece,))
            for band in relations.bands.values()
            for zone in band.zones
        ),
    ]
    for where, ease, pieces in said:
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
                    f"found stretched = {one.stretched:g}, expected 1 or less: what is stretched "
                    "on is cut shorter than what it is sewn to. Most likely it was written the "
                    f"other way round, stretched = {1.0 / one.stretched:.3g}; for something that "
                    f"is longer and gathered write gathers = {one.stretched:g}",
                    pieces,
                )
