"""Run every rule of the review over a set."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from propagate.engine.review import allowances, cutting, doubles, plans, pockets, zones
from propagate.engine.review.body import find_chart_disorder, review_chart, review_girths
from propagate.engine.review.darts import review_darts
from propagate.engine.review.directions import review_seams
from propagate.engine.review.finding import Finding
from propagate.engine.review.folds import find_faulty_folds
from propagate.engine.review.forgotten import review_marks
from propagate.engine.review.free_edges import find_forgotten_seams, find_lone_pieces
from propagate.engine.review.laid import find_exchanged_mains, find_layers_laid_wrongly
from propagate.engine.review.limits import (
    find_large_eases,
    find_turned_ratios,
    find_wide_tolerances,
)
from propagate.engine.review.mates import find_unlike_lengths
from propagate.engine.review.pleats import find_faulty_pleats
from propagate.engine.review.rounds import review_rounds
from propagate.engine.review.sizes import review_sizes
from propagate.engine.review.titles import WAITING, review_titles
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import check_set

__all__ = ["ACROSS_SIZES", "RULES", "review", "review_changed"]

Rule = Callable[[PatternSet], Iterable[Finding]]

RULES: tuple[Rule, ...] = (
    find_layers_laid_wrongly,
    pockets.find_faulty_pockets,
    pockets.find_openings_sewn_shut,
    find_exchanged_mains,
    plans.find_legs_upside_down,
    plans.find_parted_holds,
    plans.find_mates_in_two_sizes,
    zones.find_exchanged_zones,
    zones.find_runs_used_twice,
    find_unlike_lengths,
    review_seams,
    doubles.find_sewn_to_itself,
    doubles.find_sewn_twice,
    find_faulty_folds,
    cutting.find_odd_pairs,
    cutting.find_missing_twins,
    cutting.find_lone_mates,
    cutting.find_fabrics_spelt_twice,
    allowances.find_unlike_mates,
    allowances.find_unlike_across,
    allowances.find_unlike_along_bands,
    allowances.find_narrow_allowances,
    allowances.find_sewn_turned_edges,
    review_rounds,
    find_forgotten_seams,
    find_lone_pieces,
    review_sizes,
    review_marks,
    review_darts,
    review_chart,
    find_chart_disorder,
    review_girths,
    find_wide_tolerances,
    find_large_eases,
    find_turned_ratios,
    find_faulty_pleats,
    allowances.find_unlikely_allowances,
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
        A set without problems (see `propagate.pattern.validate.find_problems`).
    some_sizes : bool
        Some sizes alone were edited on purpose: that they are out of line with the others is
        no mistake.

    Returns
    -------
    tuple of Finding
        Empty for a set that nothing strikes in.

    Raises
    ------
    InvalidSet
        When a rule cannot look at a set because it has problems: with those.
    """
    try:
        found = [finding for rule in RULES for finding in rule(pattern)]
    except Exception:
        check_set(pattern)
        raise
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
