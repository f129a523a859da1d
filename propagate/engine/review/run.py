"""Run every rule of the review over a set."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from propagate.engine.review.finding import Finding
from propagate.pattern.patternset import PatternSet

__all__ = ["RULES", "review"]

Rule = Callable[[PatternSet], Iterable[Finding]]

RULES: tuple[Rule, ...] = ()
"""Every rule, in the order in which its findings are told: one file for each kind."""


def review(pattern: PatternSet) -> tuple[Finding, ...]:
    """Return what looks like a mistake in a set, what does not sew first.

    Parameters
    ----------
    pattern : PatternSet
        A set without problems (see `propagate.pattern.validate.problems`).

    Returns
    -------
    tuple of Finding
        Empty for a set that nothing strikes in.
    """
    found = [finding for rule in RULES for finding in rule(pattern)]
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: finding.sews))
