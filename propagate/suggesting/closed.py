"""Two pieces that are sewn together all round: one of their edges stays open."""

from __future__ import annotations

import math
from collections.abc import Sequence

from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact, Proposal, weighed

__all__ = ["UNSURE_SCORE", "capped", "left_open"]

UNSURE_SCORE = 0.85
"""The most that a seam scores of which something is not certain that geometry cannot tell."""
_OPEN = (
    "sewn here too, '{0}' and '{1}' would be closed all round; one edge stays open, such as a "
    "pocket's mouth, and this one has the least evidence"
)


def capped(prior: float, facts: Sequence[Fact], words: str) -> Fact:
    """What nothing tells keeps the score below the level of what is written."""
    most = math.log(UNSURE_SCORE / (1.0 - UNSURE_SCORE))
    odds = prior + sum(fact.weight for fact in facts)
    return Fact(min(0.0, most - odds), words)


def left_open(nest: Nest, found: Sequence[Proposal], prior: float, likely: float) -> list[Proposal]:
    """Hold back the least likely seam of two pieces that the seams would close all round.

    Parameters
    ----------
    nest : Nest
    found : sequence of Proposal
        Seams.
    prior : float
        Their log-odds before anything is looked at.
    likely : float
        Seams of a lower score are taken for none.
    """
    groups: dict[frozenset[str], list[Proposal]] = {}
    for one in found:
        pieces = frozenset(span.piece for run in one.runs for span in run)
        if len(pieces) == 2 and one.score >= likely:
            groups.setdefault(pieces, []).append(one)
    held: dict[str, Proposal] = {}
    for pieces, seams in groups.items():
        every = {key for piece in pieces for key in _list_edges(nest, piece)}
        if every <= set().union(*(one.edges for one in seams)):
            least = min(seams, key=lambda one: (round(one.score, 9), one.name))
            fact = capped(prior, least.facts, _OPEN.format(*sorted(pieces)))
            held[least.name] = weighed(least, prior, (*least.facts, fact))
    return [held.get(one.name, one) for one in found]


def _list_edges(nest: Nest, piece: str) -> list[str]:
    pattern = nest.pattern
    return [f"{piece}.{name}" for name in pattern.sized(piece, pattern.base).edge_names]
