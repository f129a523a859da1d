"""Names as a weak hint, and names for what is proposed."""

from __future__ import annotations

import re
from collections.abc import Iterable

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.titles import make_readable, name_title
from propagate.suggesting.garments import Garment

__all__ = ["find_shared_word", "name_run", "share_titles", "title_by_role"]

_NEUTRAL = re.compile(r"[a-z]{0,6}_?\d+|edge|line|seam", re.IGNORECASE)
"""Names that say nothing: edge_1, e12, 7."""
_BY_PLACE = frozenset({"top", "hem", "left", "right"})
"""Names that a drawing without names gives its edges by where they lie."""
_AS_TITLES = {"sewn": "sewn edge"}
"""Names of edges that can be read in a kind's list of edges and not by themselves."""
_PARTS = re.compile(r"[_\-\s]+")


def name_run(run: Run) -> str:
    """A name for a run, made of its edges: ``front_side``."""
    return "_and_".join(f"{span.piece}_{span.edge}" for span in run)


def share_titles(pattern: PatternSet, seams: Iterable[Seam]) -> dict[str, str]:
    """Call an edge without a name that says something after what it is sewn to.

    So a seam goes by one word on both its pieces: ``PIECE.EDGE`` to title of whole edges alone,
    and of none whose piece has another edge of that name.
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
            if not _split_name(span.edge) and title not in _other_titles(
                pattern, span.piece, span.edge
            ):
                found.setdefault(span.key, title)
    return found


def title_by_role(
    pattern: PatternSet, seams: Iterable[Seam], garments: Iterable[Garment]
) -> dict[str, str]:
    """Call edges without names that say something as a kind of garment does.

    Parameters
    ----------
    pattern : PatternSet
    seams : iterable of Seam
        That were confirmed: a piece has its role for certain once one of its joins is among them.
    garments : iterable of Garment
        Those are left out of which too little fits.

    Returns
    -------
    dict of ``PIECE.EDGE`` to title
        An edge of the kind that is drawn in two has no title.
    """
    sewn = {frozenset(span.key for span in (*seam.lead, *seam.follow)) for seam in seams}
    found: dict[str, str] = {}
    for garment in (one for one in garments if one.is_supported):
        sure = {piece for fit in garment.fits if fit.edges in sewn for piece in fit.pieces}
        for cast in garment.cast.values():
            edges = cast.sides.items() if cast.piece in sure else ()
            said = {
                side.edges[0]: _AS_TITLES.get(edge, make_readable(edge))
                for edge, side in edges
                if len(side.edges) == 1
            }
            found.update(
                (f"{cast.piece}.{edge}", title)
                for edge, title in said.items()
                if (edge in _BY_PLACE or not _split_name(edge))
                and title not in {make_readable(edge), *_other_titles(pattern, cast.piece, edge)}
            )
    return found


def find_shared_word(a: Run, b: Run) -> str | None:
    """A word that the names of both runs' edges share, and that means something."""
    sides = [{word for span in run for word in _split_name(span.edge)} for run in (a, b)]
    shared = sides[0] & sides[1]
    return min(shared) if shared else None


def _other_titles(pattern: PatternSet, piece: str, edge: str) -> set[str]:
    names = pattern.sized(piece, pattern.base).edge_names
    return {name_title(pattern, other, piece) for other in names if other != edge}


def _split_name(name: str) -> list[str]:
    if _NEUTRAL.fullmatch(name):
        return []
    return [word for word in _PARTS.split(name.lower()) if len(word) > 2]
