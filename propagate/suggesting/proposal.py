"""What a proposal is: a relation that may hold, with what speaks for and against it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import Literal

from propagate.pattern.answers import Joining
from propagate.pattern.relations import Run
from propagate.values import dataclass

__all__ = [
    *("SURE", "About", "Claim", "Claimed", "Fact", "Kind", "Proposal", "Relation"),
    *("claims_meet", "score_of", "weighed", "words_of"),
]

About = Literal["", "corners", "short runs"]
Kind = Literal["seam", "mirror seam", "opening", "stack", "band"]

SURE = 0.999
"""Nothing that was only measured is certain."""


@dataclass(frozen=True)
class Fact:
    """One thing that was measured: its weight (log-odds) and the words for it.

    A positive weight speaks for the proposal, a negative one against it.  A fact of
    weight 0 is told among what speaks against.  `about` is what it is of, where somebody asks.
    """

    weight: float
    words: str
    about: About = ""


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


def _claims_overlap(a: Claim, b: Claim) -> bool:
    """Tell whether two claims on one edge share more than a millimetre."""
    return min(a.high, b.high) - max(a.low, b.low) > 1.0


def claims_meet(some: Iterable[Claim], others: Sequence[Claim]) -> bool:
    """Whether two proposals want more than a millimetre of the same edge in the same role."""
    return any(
        a.role == b.role and a.piece == b.piece and a.edge == b.edge and _claims_overlap(a, b)
        for a in some
        for b in others
    )


class Claimed:
    """Stretches that several proposals want for themselves, by their edges.

    Parameters
    ----------
    claims : sequence of iterables of Claim
        Those of each proposal.
    """

    def __init__(self, claims: Sequence[Iterable[Claim]]) -> None:
        self._on: dict[tuple[str, str, str], list[tuple[int, Claim]]] = {}
        for number, own in enumerate(claims):
            for claim in own:
                key = (claim.role, claim.piece, claim.edge)
                self._on.setdefault(key, []).append((number, claim))

    def over(self, claims: Iterable[Claim]) -> list[int]:
        """Numbers of those that want more than a millimetre of what is claimed."""
        found = {
            number
            for claim in claims
            for number, other in self._on.get((claim.role, claim.piece, claim.edge), ())
            if _claims_overlap(claim, other)
        }
        return sorted(found)

    def chains(self) -> Iterator[tuple[int, int]]:
        """Pairs that want the same stretch: as many as join all that do, through others."""
        for claims in self._on.values():
            farthest = None
            for number, claim in sorted(claims, key=lambda one: one[1].low):
                # Who reaches beyond its start overlaps the farthest, which does so too.
                if farthest is not None and _claims_overlap(farthest[1], claim):
                    yield farthest[0], number
                if farthest is None or claim.high > farthest[1].high:
                    farthest = number, claim


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
    relations: tuple[Joining, ...] = ()
    claims: tuple[Claim, ...] = ()
    needs: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = field(default=(), repr=False)

    @cached_property
    def edges(self) -> frozenset[str]:
        """``PIECE.EDGE`` of every span."""
        return frozenset(span.key for run in self.runs for span in run)

    def __str__(self) -> str:
        sides = " = ".join(" + ".join(str(span) for span in run) for run in self.runs)
        return f"{self.kind}: {sides}"


def score_of(prior: float, facts: Iterable[Fact]) -> float:
    """Probability from the log-odds of a prior and of independent facts.

    Adding log-odds takes the facts for independent (a naive Bayes rule); the weights are
    judgements, set so that the relations of the demo sets stand clear of the rest.
    """
    odds = prior + sum(fact.weight for fact in facts)
    return min(1.0 / (1.0 + math.exp(-odds)), SURE)


def words_of(facts: Iterable[Fact]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Split facts into (evidence, what speaks against), the weightiest first."""
    known = list(facts)
    ahead = sorted((f for f in known if f.weight > 0), key=lambda fact: -fact.weight)
    back = sorted((f for f in known if f.weight <= 0), key=lambda fact: fact.weight)
    return tuple(f.words for f in ahead), tuple(f.words for f in back)


def weighed(one: Proposal, prior: float, facts: Iterable[Fact]) -> Proposal:
    """A proposal weighed again, by other facts."""
    told = tuple(facts)
    evidence, against = words_of(told)
    return replace(one, score=score_of(prior, told), evidence=evidence, against=against, facts=told)
