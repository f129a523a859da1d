"""What a proposal is: a relation that may hold, with what speaks for and against it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import field
from typing import Literal

from propagate.pattern.relations import Assembly, Band, Opening, Run, Seam, Stack
from propagate.values import dataclass

__all__ = ["Claim", "Fact", "Kind", "Proposal", "Relation", "score_of", "words_of"]

Kind = Literal["seam", "mirror seam", "opening", "stack", "band"]
Relation = Seam | Assembly | Opening | Stack | Band

_SURE = 0.999
"""Nothing that was only measured is certain."""


@dataclass(frozen=True)
class Fact:
    """One thing that was measured: its weight (log-odds) and the words for it.

    A positive weight speaks for the proposal, a negative one against it.  A fact of
    weight 0 is told among what speaks against.
    """

    weight: float
    words: str


@dataclass(frozen=True)
class Claim:
    """A stretch of an edge that a proposal wants for itself, as distances in the base size, mm.

    Two proposals that claim the same stretch in the same role are in conflict.
    """

    role: Literal["sewn", "opening", "stack"]
    piece: str
    edge: str
    low: float
    high: float

    def overlaps(self, other: Claim) -> bool:
        """Tell whether two claims share more than a millimetre."""
        same = (self.role, self.piece, self.edge) == (other.role, other.piece, other.edge)
        return same and min(self.high, other.high) - max(self.low, other.low) > 1.0


@dataclass(frozen=True)
class Proposal:
    """A relation that may hold.

    Attributes
    ----------
    kind : str
    name : str
        What the relation would be called in the set's TOML.
    runs : tuple of Run
        Lead and follower of a seam; the one run of a mirror seam; an opening's edge and the
        layer's line that matches it; a band's sewn edge and the runs of its zones.
    score : float
        0 to 1; the log-odds of the facts as a probability.
    evidence, against : tuples of str
        In words with figures, the weightiest first.
    relations : tuple
        What would be written.
    claims : tuple of Claim
    needs : tuple of str
        Names of other proposals that this one builds upon.
    """

    kind: Kind
    name: str
    runs: tuple[Run, ...]
    score: float
    evidence: tuple[str, ...]
    against: tuple[str, ...]
    relations: tuple[Relation, ...] = ()
    claims: tuple[Claim, ...] = ()
    needs: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = field(default=(), repr=False)

    @property
    def edges(self) -> frozenset[str]:
        """``PIECE.EDGE`` of every span."""
        return frozenset(span.key for run in self.runs for span in run)

    def conflicts_with(self, other: Proposal) -> bool:
        """Tell whether both cannot be written: they want the same stretch of an edge."""
        return any(a.overlaps(b) for a in self.claims for b in other.claims)

    def __str__(self) -> str:
        sides = " = ".join(" + ".join(str(span) for span in run) for run in self.runs)
        return f"{self.kind}: {sides}"


def score_of(prior: float, facts: Iterable[Fact]) -> float:
    """Probability from the log-odds of a prior and of independent facts.

    Adding log-odds takes the facts for independent (a naive Bayes rule); the weights are
    judgements, set so that the relations of the demo sets stand clear of the rest.
    """
    odds = prior + sum(fact.weight for fact in facts)
    return min(1.0 / (1.0 + math.exp(-odds)), _SURE)


def words_of(facts: Iterable[Fact]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Split facts into (evidence, what speaks against), the weightiest first."""
    known = list(facts)
    ahead = sorted((f for f in known if f.weight > 0), key=lambda fact: -fact.weight)
    back = sorted((f for f in known if f.weight <= 0), key=lambda fact: fact.weight)
    return tuple(f.words for f in ahead), tuple(f.words for f in back)
