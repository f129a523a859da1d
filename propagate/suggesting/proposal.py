"""What a proposal is: a relation that may hold, with what speaks for and against it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import field, replace
from functools import cached_property
from typing import Literal

from propagate.pattern.answers import Joining, Question, question_of
from propagate.pattern.relations import Run
from propagate.suggesting.claims import Claim
from propagate.values import dataclass

__all__ = [
    *("LEAST", "LIKELY", "MIRROR_PRIOR", "PRIOR", "SEWN", "SURE", "UNSURE"),
    *("Fact", "Proposal", "rank_proposals", "say_gap"),
]

PRIOR = -5.0
"""Log-odds that runs of about equal length are sewn together, and that an opening is one."""
MIRROR_PRIOR = -4.0
"""Log-odds that an edge is sewn to its own mirrored twin."""

SURE = 0.999
"""Nothing that was only measured is certain."""
SEWN = 0.9
"""A seam of this score counts as found."""
UNSURE = 0.85
"""The most that a proposal scores of which something is not certain that geometry cannot tell."""
LIKELY = 0.5
"""A seam of a lower score says nothing about its neighbours, and closes nothing."""
LEAST = 0.05
"""Proposals below are not worth reading."""


@dataclass(frozen=True)
class Fact:
    """One thing that was measured: its weight (log-odds) and the words for it.

    A positive weight speaks for the proposal, a negative one against it.  A fact of
    weight 0 is told among what speaks against.  `about` is what it is of, where somebody asks.
    """

    weight: float
    words: str
    about: Literal["", "corners", "short runs"] = ""


def say_gap(mm: float) -> str:
    """Say within what lengths agree; below a hundredth that, for within 0.00 mm says nothing."""
    return f"{max(mm, 0.01):.2f} mm"


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
        layer's line that matches it; a band's sewn edge and the runs of its zones; both sides of
        the seam that a pocket lies in, then its bags.
    prior : float
        Log-odds before anything is looked at.
    facts : tuple of Fact
    relations : tuple
        What would be written.
    claims : tuple of Claim
    needs : tuple of str
        Names of other proposals that this one builds upon.
    most : float
        The score is no higher.
    """

    kind: Literal["seam", "mirror seam", "opening", "stack", "band", "pocket", "seam opening"]
    name: str
    runs: tuple[Run, ...]
    prior: float
    facts: tuple[Fact, ...] = field(default=(), repr=False)
    relations: tuple[Joining, ...] = ()
    claims: tuple[Claim, ...] = ()
    needs: tuple[str, ...] = ()
    most: float = SURE

    @cached_property
    def score(self) -> float:
        """0 to 1: the log-odds of the prior and of the facts as a probability.

        Adding log-odds takes the facts for independent (a naive Bayes rule); the weights are
        judgements, set so that the relations of the demo sets stand clear of the rest.
        """
        return min(1.0 / (1.0 + math.exp(-self._odds)), self.most)

    @property
    def _odds(self) -> float:
        return self.prior + sum(fact.weight for fact in self.facts)

    @cached_property
    def evidence(self) -> tuple[str, ...]:
        """What speaks for it, in words with figures, the weightiest first."""
        known = sorted((f for f in self.facts if f.weight > 0), key=lambda fact: -fact.weight)
        return tuple(fact.words for fact in known)

    @cached_property
    def against(self) -> tuple[str, ...]:
        """What speaks against it, the weightiest first."""
        known = sorted((f for f in self.facts if f.weight <= 0), key=lambda fact: fact.weight)
        return tuple(fact.words for fact in known)

    @cached_property
    def edges(self) -> frozenset[str]:
        """``PIECE.EDGE`` of every span."""
        return frozenset(span.key for run in self.runs for span in run)

    @cached_property
    def question(self) -> Question:
        """What is asked of it, the same from whichever end and side it is written."""
        return question_of(self.kind, self.runs)

    def __str__(self) -> str:
        sides = " = ".join(" + ".join(str(span) for span in run) for run in self.runs)
        return f"{self.kind}: {sides}"

    def with_facts(self, *more: Fact) -> Proposal:
        """Weigh it again, by further facts."""
        return replace(self, facts=(*self.facts, *more))

    def hold_back(self, words: str, weight: float = 0.0) -> Proposal:
        """Keep what nothing tells below the level of what is written; it may weigh more than so."""
        most = math.log(UNSURE / (1.0 - UNSURE))
        return self.with_facts(Fact(min(weight, most - self._odds), words))


def rank_proposals(found: Iterable[Proposal]) -> list[Proposal]:
    """The likeliest first; equals by name, so that the order never varies."""
    return sorted(found, key=lambda one: (-round(one.score, 9), one.kind, one.name))
