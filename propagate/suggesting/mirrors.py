"""Propose mirror seams: an edge sewn to its own mirrored twin (centre back).

Such an edge meets the waist or the hem squarely, else the line would peak at the centre; it
runs with the grain, and no other run of the set fits it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from propagate.geometry.directions import end_direction
from propagate.pattern.relations import Band, Seam, Span
from propagate.suggesting.claims import claim_spans
from propagate.suggesting.laps import judge_laps
from propagate.suggesting.layers import Pocket
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import (
    LEAST,
    MIRROR_PRIOR,
    SEWN,
    Fact,
    Proposal,
    rank_proposals,
)

__all__ = ["FOLD_DEG", "judge_partners", "propose_mirror_seams"]

SQUARE_DEG = 1.5
WITH_GRAIN_DEG = 20.0
NO_PARTNER = 0.3
"""A run that scores less with an edge does not fit it."""
RIVAL = 0.7
"""An edge with this score for itself alone competes with the other edges of its piece."""
FOLD_DEG = 0.5
"""An edge on the fold of the cloth is straight."""
NARROW = 0.12
"""A piece that is not wider than this part of its edge is a strip."""
TWIN = 0.12
"""Two edges of a piece that differ by a smaller part may be the sides of a strip."""


class _Sewn:
    """What is proposed, by its edges; `far` tells the bands of which an edge is the far side."""

    def __init__(self, sewn: Sequence[Proposal]) -> None:
        self.on_edge: dict[str, list[Proposal]] = {}
        self.sides: dict[str, set[str]] = {}
        self.far: dict[str, list[Proposal]] = {}
        for one in sewn:
            for key in one.edges:
                self.on_edge.setdefault(key, []).append(one)
                if one.score >= SEWN:
                    self.sides.setdefault(key.partition(".")[0], set()).add(key)
            for far in {f"{r.piece}.{r.far}" for r in one.relations if isinstance(r, Band)}:
                self.far.setdefault(far, []).append(one)


def propose_mirror_seams(
    nest: Nest, sewn: Sequence[Proposal], pockets: Sequence[Pocket]
) -> list[Proposal]:
    """Return the mirror seam proposals, the likeliest first.

    Seams and bands that are proposed tell what else fits each edge; a pocket's layer has its place.
    """
    known = _Sewn(sewn)
    looked = []
    alone: dict[str, list[str]] = {}
    for edge in nest.edges.values():
        square = _find_square_ends(nest, edge)
        if square and not nest.is_fold(edge.key):
            one = _propose_mirror_seam(nest, edge, square, known, pockets)
            looked.append((edge, one))
            if one.score >= RIVAL:
                alone.setdefault(edge.piece, []).append(edge.key)
    found = []
    for edge, one in looked:
        # A piece is sewn to its twin along one edge; two that look so cannot be told apart.
        rivals = [key for key in alone.get(edge.piece, ()) if key != edge.key]
        if rivals:
            words = f"'{rivals[0]}' looks as much like an edge that meets its twin"
            one = one.with_facts(Fact(-2.5, words))
        if one.score >= LEAST:
            found.append(one)
    return rank_proposals(found)


def _propose_mirror_seam(
    nest: Nest,
    edge: EdgeMeasure,
    square: dict[str, float],
    known: _Sewn,
    pockets: Sequence[Pocket],
) -> Proposal:
    worst = max(square.values())
    corners = Fact(2.5, f"it is square (90°) at both ends within {worst:.1f}°")
    if len(square) < 2:
        corners = Fact(1.5, f"it is square (90°) at its {min(square)} within {worst:.1f}°")
    free = Fact(1.5, "no other run of the set fits it")
    if len(nest.pattern.sizes) == 1:
        free = Fact(0.5, "no other run fits it well, as far as a single size tells")
    facts = [
        corners,
        _judge_grain(nest, edge, square),
        judge_partners(known.on_edge.get(edge.key, ()), free),
        *_judge_sides(nest, edge, known),
        *judge_laps(nest, edge),
    ]
    on = next((pocket for pocket in pockets if edge.key in pocket.ridden), None)
    if on is not None:
        line = f"{on.mouth.piece}.{on.ridden[edge.key][0]}"
        facts.append(Fact(-5.0, f"it rides on '{line}' as a layer of a pocket"))
    info = nest.pattern.info.get(edge.piece)
    if info is not None and info.pair:
        facts.append(Fact(0.5, "the piece is cut as a mirrored pair"))
    elif info is not None and info.fold is not None:
        words = f"the piece is cut on the fold of '{info.fold}', so it is one already"
        facts.append(Fact(-2.0, words))
    elif float(np.ptp(edge.profile)) < FOLD_DEG:
        words = "it is straight and nothing is said of cutting a pair: it may lie on the fold"
        facts.append(Fact(-2.0, words))
    name = f"{edge.piece}_{edge.edge}_mirrored"
    crossing = {}
    for end in square:
        across = nest.beside(edge)[0 if end == "start" else 1].key
        crossing[end] = (across, across)
    run = (Span(edge.piece, edge.edge),)
    seam = Seam(name, run, (), crossing=crossing, mirror=True)
    claims = claim_spans(nest, run)
    return Proposal("mirror seam", name, (run,), MIRROR_PRIOR, tuple(facts), (seam,), claims)


def _find_square_ends(nest: Nest, edge: EdgeMeasure) -> dict[str, float]:
    """Ends at which the corner is square in every size that is looked at, with the worst."""
    off = {
        end: nest.off_square(edge.piece, edge.edge, at_start=end == "start")
        for end in ("start", "end")
    }
    return {end: worst for end, worst in off.items() if worst <= SQUARE_DEG}


def _judge_grain(nest: Nest, edge: EdgeMeasure, square: dict[str, float]) -> Fact:
    piece = nest.in_base(edge.piece)
    drawn = piece.edge(edge.edge)
    off = 90.0
    for end in square:
        angle = end_direction(drawn.points, "start" if end == "start" else "end", turns=drawn.turns)
        along = np.array([np.cos(angle), np.sin(angle)])
        cosine = abs(float(along @ piece.grain.direction))
        off = min(off, float(np.degrees(np.arccos(min(cosine, 1.0)))))
    if off <= WITH_GRAIN_DEG:
        return Fact(1.5, f"it leaves the square corner along the grain ({off:.0f}° off)")
    return Fact(-3.0, f"it runs across the grain ({off:.0f}° off)")


def judge_partners(fitting: Iterable[Proposal], free: Fact) -> Fact:
    """That another run fits what may be sewn to its twin, or else that none does."""
    best = max(fitting, key=lambda one: one.score, default=None)
    if best is None or best.score < NO_PARTNER:
        return free
    return Fact(-5.0 * best.score, f"another run fits it: {best} (score {best.score:.2f})")


def _judge_sides(nest: Nest, edge: EdgeMeasure, known: _Sewn) -> list[Fact]:
    """What the other edges of the piece say; a strip has two such, neither at a centre."""
    taken = known.sides.get(edge.piece, set())
    others = sorted(taken - {edge.key})
    if others:
        # A pocket's layer is sewn to one other too; a main piece to more.
        words = f"the piece is sewn to others along {', '.join(others)}"
        facts = [Fact(2.0 if len(others) > 1 else 1.0, words)]
    else:
        words = "no other edge of the piece is sewn to anything that was found"
        facts = [Fact(-1.5, words)]
    facts += [
        Fact(-6.0 * one.score, f"it is the far side of a band ({one.name})")
        for one in known.far.get(edge.key, ())
    ]
    for name in nest.outline_names(edge.piece):
        other = nest.edges[f"{edge.piece}.{name}"]
        narrow = _is_narrow(nest, edge)
        # A tie is cut askew at one of its ends; of a band one side is sewn on.
        if other is edge or len(_find_square_ends(nest, other)) < (1 if narrow else 2):
            continue
        if other.key in taken and not narrow:
            continue
        if float(np.abs(other.lengths / edge.lengths - 1.0).max()) < TWIN:
            words = f"'{other.key}' opposite is like it, as in a strip"
            return [*facts, Fact(-2.5, words)]
    return facts


def _is_narrow(nest: Nest, edge: EdgeMeasure) -> bool:
    """Whether a piece is a strip along one of its edges."""
    return nest.area[edge.piece] <= NARROW * float(edge.lengths[nest.base]) ** 2
