"""Run every rule of the review over a set."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from propagate.engine.review.allowances import allowances
from propagate.engine.review.body import review_chart, review_girths
from propagate.engine.review.cutting import cutting, fabrics
from propagate.engine.review.darts import review_darts
from propagate.engine.review.directions import along_seams
from propagate.engine.review.doubles import doubles
from propagate.engine.review.finding import Finding
from propagate.engine.review.folds import folds
from propagate.engine.review.forgotten import review_forgotten
from propagate.engine.review.free_edges import forgotten_seams, lone_pieces
from propagate.engine.review.fullness import fullness
from propagate.engine.review.laid import layers, mains
from propagate.engine.review.limits import review_allowances, review_eases, review_tolerances
from propagate.engine.review.mates import mates
from propagate.engine.review.plans import plans
from propagate.engine.review.pleats import pleats
from propagate.engine.review.pockets import pockets
from propagate.engine.review.rounds import rounds
from propagate.engine.review.sizes import review_sizes
from propagate.engine.review.titles import WAITING, review_titles
from propagate.engine.review.zones import zones
from propagate.pattern.patternset import PatternSet

__all__ = ["ACROSS_SIZES", "RULES", "review", "review_changed"]

Rule = Callable[[PatternSet], Iterable[Finding]]

RULES: tuple[Rule, ...] = (
    layers,
    pockets,
    mains,
    plans,
    zones,
    mates,
    along_seams,
    doubles,
    folds,
    cutting,
    fabrics,
    allowances,
    rounds,
    forgotten_seams,
    lone_pieces,
    review_sizes,
    review_forgotten,
    review_darts,
    review_chart,
    review_girths,
    review_tolerances,
    review_eases,
    fullness,
    pleats,
    review_allowances,
    review_titles,
)
"""Every rule, in the order in which its findings are told: one file for each kind."""


ACROSS_SIZES = frozenset(
    {
        "ease out of line",
        "graded unlike the chart",
        "size not graded",
        "size out of line",
        "sizes exchanged",
    }
)
"""What is found by comparing the sizes of a nest with each other."""


def review(pattern: PatternSet, *, some_sizes: bool = False) -> tuple[Finding, ...]:
    """Return what looks like a mistake in a set, what does not sew first.

    Parameters
    ----------
    pattern : PatternSet
        A set without problems (see `propagate.pattern.validate.problems`).
    some_sizes : bool
        Some sizes alone were edited on purpose: that they are out of line with the others is
        no mistake.

    Returns
    -------
    tuple of Finding
        Empty for a set that nothing strikes in.
    """
    found = [finding for rule in RULES for finding in rule(pattern)]
    told = (one for one in found if not (some_sizes and one.rule in ACROSS_SIZES))
    return tuple(sorted(dict.fromkeys(told), key=lambda finding: finding.sews))


def review_changed(
    pattern: PatternSet, before: Sequence[Finding], *, some_sizes: bool = False
) -> tuple[Finding, ...]:
    """Return what strikes in a set after an edit and did not before, as `review` does.

    Parameters
    ----------
    pattern : PatternSet
        After the edit.
    before : sequence of Finding
        Of the set before.
    some_sizes : bool
        As for `review`.
    """
    found = review(pattern, some_sizes=some_sizes)
    return tuple(one for one in found if one not in before and one.rule != WAITING)
