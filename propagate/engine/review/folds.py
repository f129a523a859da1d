"""Folds that cannot be folds: curved, sewn, or on a piece that is cut as a pair."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import (
    Use,
    edges_beside,
    join_names,
    list_uses,
    sewn_together,
)
from propagate.pattern.model import Array
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span

__all__ = ["STRAIGHT_MM", "find_faulty_folds", "measure_bow"]

STRAIGHT_MM = 0.5
"""How far a folded edge may be from straight (from memory: drafts round to tenths of a mm)."""
LEAST_MM = 20.0
"""A straight edge that is shorter is not offered as the fold that was meant."""


def find_faulty_folds(pattern: PatternSet) -> Iterator[Finding]:
    """Find folds on curved or sewn edges, allowances on folds, and folded pairs."""
    taken = list_uses(pattern)
    for name, info in pattern.info.items():
        if info.fold is None:
            continue
        where = f"piece '{name}', fold '{info.fold}'"
        bow, size = _find_largest_bow(pattern, name, info.fold)
        sewn = [
            use
            for use in taken[f"{name}.{info.fold}"]
            if use.kind != "fold" and not _lies_on(pattern, use, Span(name, info.fold))
        ]
        faults = []
        if bow > STRAIGHT_MM:
            faults.append(f"the edge is curved (by {bow:.1f} mm in size '{size}')")
        if sewn:
            said = " and ".join(dict.fromkeys(use.relation for use in sewn))
            faults.append(f"the edge is also sewn ({said})")
        if faults:
            yield Finding(
                "fold on the wrong edge",
                where,
                f"found that {' and '.join(faults)}; expected a straight edge that is sewn to "
                f"nothing, since cloth folds along a straight line and is not cut there. "
                f"{_tell_meant(pattern, name, taken)}",
                (name,),
                sews=bow <= STRAIGHT_MM,
            )
        elif info.allowance.edges.get(info.fold, 0.0) > 0.0:
            yield Finding(
                "allowance on a fold",
                where,
                f"found an allowance of {info.allowance.edges[info.fold]:g} mm on the fold, "
                "expected 0: it would make the piece wider by twice as much. Probably the edge "
                "is no fold, or its allowance was left from before; take one of them out",
                (name,),
            )
        if info.pair:
            yield Finding(
                "fold and pair",
                where,
                f"found a piece that is cut on the fold and as a mirrored pair (cut = {info.cut}, "
                "pair = true); expected one or the other: a folded piece has both halves. "
                "Probably pair = true is left over (or the fold is); take one of them out",
                (name,),
            )


def _lies_on(pattern: PatternSet, use: Use, fold: Span) -> bool:
    """Whether a fold's mate lies on the piece as a lining does: they are sewn beside it too."""
    seam = pattern.relations.seams.get(use.name)
    if seam is None:
        return False
    return any(
        sewn_together(pattern, own, theirs)
        for mate in (*seam.lead, *seam.follow)
        if mate.piece != fold.piece
        for own in edges_beside(pattern, fold)
        for theirs in edges_beside(pattern, mate)
    )


def _find_largest_bow(pattern: PatternSet, name: str, edge: str) -> tuple[float, str]:
    bows = {
        size: measure_bow(pattern.sized(name, size).edge(edge).points) for size in pattern.sizes
    }
    size = max(bows, key=lambda one: bows[one])
    return bows[size], size


def measure_bow(points: Array) -> float:
    """Largest distance of a line's points from the straight between its ends, mm."""
    along = points[-1] - points[0]
    reach = float(np.hypot(*along))
    off = points - points[0]
    if reach == 0.0:
        return float(np.hypot(*off.T).max())
    return float(np.abs(along[0] * off[:, 1] - along[1] * off[:, 0]).max() / reach)


def _tell_meant(pattern: PatternSet, name: str, taken: dict[str, list[Use]]) -> str:
    """Say which other edge may be the fold, or that there is none."""
    could = [
        edge.name
        for edge in pattern.sized(name, pattern.base).edges
        if edge.length >= LEAST_MM
        and edge.name not in pattern.info[name].allowance.turned
        and not taken.get(f"{name}.{edge.name}")
        and _find_largest_bow(pattern, name, edge.name)[0] <= STRAIGHT_MM
    ]
    if could:
        edges = join_names(could)
        return f"Probably another edge was meant (straight and sewn to nothing: {edges}); name it"
    return (
        "No edge of the piece is straight and sewn to nothing, so probably the piece is not cut "
        "on the fold; take 'fold' out, or correct the seam"
    )
