"""A seam that a person said, in words: what was measured, and which way round it is sewn."""

from __future__ import annotations

from propagate.pattern.ease import ease_words, is_eased
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.pattern.titles import in_words
from propagate.report.asking_text import asked_of
from propagate.report.layout import lay_entries, wrap_sentence
from propagate.report.units import MILLIMETRES
from propagate.suggesting.sewn import GATHERED, SaidSeam

__all__ = ["sewn_lines"]


def sewn_lines(pattern: PatternSet, said: SaidSeam) -> list[str]:
    """Lay out what was found of a seam that was said, as a question is."""
    asked = asked_of(pattern, said.proposal)
    lines = ["", *wrap_sentence(f"{asked.title}. These are sewn together, B on to A:")]
    lines += lay_entries(asked.sides)
    for text in asked.ends:
        lines += wrap_sentence(text, 5, 2)
    rows = zip(pattern.sizes, said.lead, said.follow, strict=True)
    sizes = [(f"size {size}", _say_lengths(float(a), float(b))) for size, a, b in rows]
    lines += [f"  {line}" for line in lay_entries(sizes)]
    for seam in said.proposal.relations:
        if isinstance(seam, Seam) and is_eased(seam.ease):
            words = in_words(pattern, ease_words(seam.ease, MILLIMETRES.said))
            lines += wrap_sentence(f"written as: {words}", 5, 2)
    lines += wrap_sentence(f"+ {asked.evidence[0]}", 2, 2) if asked.evidence else []
    return lines + wrap_sentence(_say_way(said), 2)


def _say_lengths(lead: float, follow: float) -> str:
    apart = round(follow - lead, 1)
    said = f"A {MILLIMETRES.said(lead)}, B {MILLIMETRES.said(follow)}"
    if not apart:
        return f"{said}: as long as each other"
    way = "longer" if apart > 0.0 else "shorter"
    full = f", gathered {follow / lead:.2f} to 1" if follow >= GATHERED * lead else ""
    return f"{said}: B {MILLIMETRES.said(abs(apart))} {way}{full}"


def _say_way(said: SaidSeam) -> str:
    if not said.turned:
        return "One piece is on both sides, so it has no other way round."
    other = f'the other way round is --sewn "{said.turned}".'
    if not said.found:
        return f"Sewn the way round that was said; {other}"
    if said.sure:
        return f"Taken the likelier way round; {other}"
    return f"Taken the likelier way round, which is not certain: look at the ends; {other}"
