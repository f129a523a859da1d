"""Names as a weak hint, and names for what is proposed."""

from __future__ import annotations

import re
from collections.abc import Iterable

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.titles import name_title

__all__ = ["name_of", "same_words", "shared_titles"]

_NEUTRAL = re.compile(r"[a-z]{0,6}_?\d+|edge|line|seam", re.IGNORECASE)
"""Names that say nothing: edge_1, e12, 7."""
_PARTS = re.compile(r"[_\-\s]+")


def name_of(run: Run) -> str:
    """A name for a run, made of its edges: ``front_side``."""
    return "_and_".join(f"{span.piece}_{span.edge}" for span in run)


def shared_titles(pattern: PatternSet, seams: Iterable[Seam]) -> dict[str, str]:
    """What an edge without a name that says something may be called after what it is sewn to.

    So a seam goes by one word on both its pieces.

    Parameters
    ----------
    pattern : PatternSet
    seams : iterable of Seam

    Returns
    -------
    dict of ``PIECE.EDGE`` to title
        Of whole edges alone, and of none whose piece has another edge of that name.
    """
    found: dict[str, str] = {}
    for seam in seams:
        for run, other in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            said = {
                name_title(pattern, span.edge, span.piece)
                for span in other
                if span.key in pattern.relations.titles or _split_name(span.edge)
            }
            if len(run) != 1 or len(said) != 1 or {run[0].begin, run[0].end} != {"start", "end"}:
                continue
            (span,), (title,) = run, said
            edges = pattern.sized(span.piece, pattern.base).edge_names
            others = {name_title(pattern, edge, span.piece) for edge in edges if edge != span.edge}
            if not _split_name(span.edge) and title not in others:
                found.setdefault(span.key, title)
    return found


def same_words(a: Run, b: Run) -> str | None:
    """A word that the names of both runs' edges share, and that means something."""
    sides = [{word for span in run for word in _split_name(span.edge)} for run in (a, b)]
    shared = sides[0] & sides[1]
    return min(shared) if shared else None


def _split_name(name: str) -> list[str]:
    if _NEUTRAL.fullmatch(name):
        return []
    return [word for word in _PARTS.split(name.lower()) if len(word) > 2]
