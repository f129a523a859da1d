"""Tolerances, eases and allowances beyond what the trade sews."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.engine.review.fullness import says_fullness
from propagate.pattern.beside import is_beside
from propagate.pattern.ease import is_eased, least_and_most
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run
from propagate.pattern.spans import run_length
from propagate.tolerances import (
    EASED_SHARE,
    GATHERED_SHARE,
    WIDEST_ALLOWANCE_MM,
    WIDEST_HEM_MM,
    WIDEST_TOLERANCE_MM,
)

__all__ = ["review_allowances", "review_eases", "review_tolerances"]


def review_tolerances(pattern: PatternSet) -> Iterator[Finding]:
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
                    _list_pieces(relation),
                )


def _list_pieces(relation: object) -> tuple[str, ...]:
    runs: tuple[Run, ...] = (getattr(relation, "lead", ()), getattr(relation, "follow", ()))
    own = (getattr(relation, "piece", ""),)
    return tuple(dict.fromkeys(p for p in (*own, *(s.piece for r in runs for s in r)) if p))


def review_eases(pattern: PatternSet) -> Iterator[Finding]:
    """Find eases beyond what cloth eases and short of what is gathered on purpose."""

    def base(piece: str) -> SizedPiece:
        return pattern.sized(piece, pattern.base)

    for seam in pattern.relations.seams.values():
        if is_eased(seam.ease) and not (says_fullness(seam.ease) or is_beside(seam)):
            pieces = tuple(dict.fromkeys(span.piece for span in (*seam.lead, *seam.follow)))
            ease = seam_ease(base, seam, pattern.base)
            yield from _judge_ease(f"seam '{seam.name}', ease", ease.total, ease.lead_mm, pieces)
    for band in pattern.relations.bands.values():
        for zone in band.zones:
            if is_eased(zone.ease) and zone.run and not says_fullness(zone.ease):
                where = f"band '{band.name}', zone '{zone.name}', ease"
                run = run_length(base, zone.run)
                least, most = least_and_most(zone.ease, pattern.base, run)
                large = most if abs(most) >= abs(least) else least
                yield from _judge_ease(where, large, run - large, (band.piece,))


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


def review_allowances(pattern: PatternSet) -> Iterator[Finding]:
    """Find allowances of nothing on a seam, and wider ones than anyone sews.

    Where the other side of the seam has another allowance the two are told together, by
    the rule of allowances that differ.
    """
    sewn = _find_sewn(pattern)
    for piece, info in pattern.info.items():
        for edge in pattern.pieces[piece].at(pattern.base).edge_names:
            found = info.allowance.of(edge)
            place = f"piece '{piece}', edge '{edge}', allowance"
            bare = not (info.allowance.default or any(info.allowance.edges.values()))
            if f"{piece}.{edge}" in sewn and not (bare or _are_alike(pattern, piece, edge)):
                continue
            if found == 0.0 and f"{piece}.{edge}" in sewn and info.fold != edge:
                yield Finding(
                    "no allowance",
                    place,
                    f"found 0 mm on an edge of {_name_seams(sewn[f'{piece}.{edge}'])}, expected "
                    "room to sew, usually 6 to 15 mm; most likely it was left out of the set. Give "
                    "the edge its allowance, or the piece a default",
                    (piece,),
                )
            hem = f"{piece}.{edge}" not in sewn
            most = WIDEST_HEM_MM if hem or edge in info.allowance.turned else WIDEST_ALLOWANCE_MM
            if found > most:
                what = "a hem" if hem else f"an edge of {_name_seams(sewn[f'{piece}.{edge}'])}"
                yield Finding(
                    "allowance too wide",
                    place,
                    f"found {found:g} mm on {what}, expected at most {most:g}; most likely a "
                    "decimal point is missing (10 for 100), or it was meant for a hem. Look at "
                    "the number",
                    (piece,),
                )


def _are_alike(pattern: PatternSet, piece: str, edge: str) -> bool:
    """Whether what an edge is sewn to has about its allowance."""
    found = pattern.info[piece].allowance.of(edge)
    for seam in pattern.relations.seams.values():
        for ours, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            if any((span.piece, span.edge) == (piece, edge) for span in ours):
                widths = [pattern.info[span.piece].allowance.of(span.edge) for span in theirs]
                if any(not found / 3 <= width <= found * 3 for width in widths):
                    return False
    return True


def _name_seams(seams: list[str]) -> str:
    return "seam " + " and ".join(f"'{name}'" for name in seams)


def _find_sewn(pattern: PatternSet) -> dict[str, list[str]]:
    """``PIECE.EDGE`` to the seams that it is sewn in; an edge in a band may be bound."""
    found: dict[str, list[str]] = {}
    for seam in pattern.relations.seams.values():
        for span in (*seam.lead, *seam.follow):
            names = found.setdefault(span.key, [])
            if seam.name not in names:
                names.append(seam.name)
    return found
