"""Propose mirror seams: an edge sewn to its own mirrored twin (centre back).

Such an edge meets the waist or the hem squarely, else the line would peak at the centre; it
runs with the grain, and no other run of the set fits it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from propagate.geometry.directions import end_direction
from propagate.pattern.relations import Band, Seam, Span
from propagate.suggesting.layers import Pocket
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import Fact, Proposal, score_of, words_of
from propagate.suggesting.seams import LEAST, ranked
from propagate.suggesting.settled import claims_of

__all__ = ["SEWN", "mirror_seams"]

PRIOR = -4.0
SQUARE_DEG = 1.5
WITH_GRAIN_DEG = 20.0
SEWN = 0.9
"""A seam of this score counts as found."""
NO_PARTNER = 0.3
RIVAL = 0.7
"""An edge with this score for itself alone competes with the other edges of its piece."""
FOLD_DEG = 0.5
"""An edge on the fold of the cloth is straight."""
TWIN = 0.12
"""Two edges of a piece that differ by a smaller part may be the sides of a strip."""


def mirror_seams(nest: Nest, sewn: Sequence[Proposal], pockets: Sequence[Pocket]) -> list[Proposal]:
    """Return the mirror seam proposals, the likeliest first.

    Parameters
    ----------
    nest : Nest
    sewn : sequence of Proposal
        Seams and bands that are proposed, for what else fits each edge.
    pockets : sequence of Pocket
        A layer's edges have their place already.
    """
    looked = []
    known = _Sewn(sewn)
    for edge in nest.edges.values():
        square = _square_ends(nest, edge)
        info = nest.pattern.info.get(edge.piece)
        if not square or (info is not None and info.fold == edge.edge):
            continue
        facts = [
            *_corner_facts(square),
            _grain_fact(nest, edge, square),
            _partner_fact(nest, known.on_edge.get(edge.key, ())),
            _other_sides(edge, known.sides.get(edge.piece, ())),
            *_strip_facts(nest, edge, known),
            *_layer_facts(edge, pockets),
            *_cut_facts(nest, edge),
        ]
        looked.append((edge, square, facts))
    alone: dict[str, list[str]] = {}
    for edge, _, facts in looked:
        if score_of(PRIOR, facts) >= RIVAL:
            alone.setdefault(edge.piece, []).append(edge.key)
    found = []
    for edge, square, facts in looked:
        told = [*facts, *_rival_facts(edge, alone.get(edge.piece, ()))]
        score = score_of(PRIOR, told)
        if score >= LEAST:
            found.append(_make_proposal(nest, edge, square, told, score))
    return ranked(found)


class _Sewn:
    """What is proposed, by the edges that it is of.

    Attributes
    ----------
    on_edge : mapping of ``PIECE.EDGE`` to proposals
    sides : mapping of piece name to its ``PIECE.EDGE`` that count as sewn
    far : mapping of ``PIECE.EDGE`` to bands of which it is the far side
    """

    def __init__(self, sewn: Iterable[Proposal]) -> None:
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


def _rival_facts(edge: EdgeMeasure, alone: Sequence[str]) -> list[Fact]:
    """A piece is sewn to its twin along one edge; two that look so cannot be told apart."""
    rivals = [key for key in alone if key != edge.key]
    if not rivals:
        return []
    return [Fact(-2.5, f"'{rivals[0]}' looks as much like an edge that meets its twin")]


def _make_proposal(
    nest: Nest, edge: EdgeMeasure, square: list[tuple[str, float]], facts: list[Fact], score: float
) -> Proposal:
    name = f"{edge.piece}_{edge.edge}_mirrored"
    crossing = {}
    for end, _ in square:
        across = nest.neighbour(edge.piece, edge.edge, -1 if end == "start" else 1).key
        crossing[end] = (across, across)
    run = (Span(edge.piece, edge.edge),)
    seam = Seam(name, run, (), crossing=crossing, mirror=True)
    evidence, against = words_of(facts)
    claims = claims_of(nest, run)
    return Proposal(
        "mirror seam", name, (run,), score, evidence, against, (seam,), claims, facts=tuple(facts)
    )


def _square_ends(nest: Nest, edge: EdgeMeasure) -> list[tuple[str, float]]:
    """Ends at which the corner is square in every size that is looked at, with the worst."""
    found = []
    for end in ("start", "end"):
        angles = nest.corner(edge.piece, edge.edge, at_start=end == "start")
        off = float(np.abs(angles - 90.0).max())
        if off <= SQUARE_DEG:
            found.append((end, off))
    return found


def _corner_facts(square: list[tuple[str, float]]) -> list[Fact]:
    worst = max(off for _, off in square)
    if len(square) == 2:
        return [Fact(2.5, f"it is square (90°) at both ends within {worst:.1f}°")]
    return [Fact(1.5, f"it is square (90°) at its {square[0][0]} within {worst:.1f}°")]


def _grain_fact(nest: Nest, edge: EdgeMeasure, square: list[tuple[str, float]]) -> Fact:
    piece = nest.pattern.sized(edge.piece, nest.pattern.base)
    drawn = piece.edge(edge.edge)
    off = 90.0
    for end, _ in square:
        angle = end_direction(drawn.points, "start" if end == "start" else "end", turns=drawn.turns)
        along = np.array([np.cos(angle), np.sin(angle)])
        cosine = abs(float(along @ piece.grain.direction))
        off = min(off, float(np.degrees(np.arccos(min(cosine, 1.0)))))
    if off <= WITH_GRAIN_DEG:
        return Fact(1.5, f"it leaves the square corner along the grain ({off:.0f}° off)")
    return Fact(-3.0, f"it runs across the grain ({off:.0f}° off)")


def _partner_fact(nest: Nest, fitting: Sequence[Proposal]) -> Fact:
    best = max(fitting, key=lambda one: one.score, default=None)
    if best is None or best.score < NO_PARTNER:
        if len(nest.pattern.sizes) == 1:
            return Fact(0.5, "no other run fits it well, as far as a single size tells")
        return Fact(1.5, "no other run of the set fits it")
    return Fact(-5.0 * best.score, f"another run fits it: {best} (score {best.score:.2f})")


def _other_sides(edge: EdgeMeasure, sides: Iterable[str]) -> Fact:
    others = sorted(key for key in sides if key != edge.key)
    if others:
        # A pocket's layer is sewn to one other too; a main piece to more.
        weight = 2.0 if len(others) > 1 else 1.0
        return Fact(weight, f"the piece is sewn to others along {', '.join(others)}")
    return Fact(-1.5, "no other edge of the piece is sewn to anything that was found")


def _strip_facts(nest: Nest, edge: EdgeMeasure, known: _Sewn) -> list[Fact]:
    """A strip has two such edges; so neither need lie at a centre."""
    facts = [
        Fact(-4.0 * one.score, f"it is the far side of a band ({one.name})")
        for one in known.far.get(edge.key, ())
    ]
    taken = known.sides.get(edge.piece, ())
    names = nest.outline_names(edge.piece)
    for other in (nest.edges[f"{edge.piece}.{name}"] for name in names):
        if other is edge or other.key in taken or len(_square_ends(nest, other)) < 2:
            continue
        differ = float(np.abs(other.lengths / edge.lengths - 1.0).max())
        if differ < TWIN:
            facts.append(Fact(-2.5, f"'{other.key}' opposite is like it, as in a strip"))
            break
    return facts


def _layer_facts(edge: EdgeMeasure, pockets: Sequence[Pocket]) -> list[Fact]:
    for pocket in pockets:
        if edge.key in pocket.ridden:
            line = f"{pocket.mouth.piece}.{pocket.ridden[edge.key][0]}"
            return [Fact(-5.0, f"it rides on '{line}' as a layer of a pocket")]
    return []


def _cut_facts(nest: Nest, edge: EdgeMeasure) -> list[Fact]:
    info = nest.pattern.info.get(edge.piece)
    if info is not None and info.pair:
        return [Fact(0.5, "the piece is cut as a mirrored pair")]
    if info is not None and info.fold is not None:
        return [Fact(-2.0, f"the piece is cut on the fold of '{info.fold}', so it is one already")]
    if float(np.ptp(edge.profile)) < FOLD_DEG:
        words = "it is straight and nothing is said of cutting a pair: it may lie on the fold"
        return [Fact(-2.0, words)]
    return []
