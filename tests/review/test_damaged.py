"""A set that breaks rules of the model is refused with what is wrong, whatever trips on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from propagate.engine.review.run import review
from propagate.errors import InvalidSet
from propagate.pattern.patternset import PatternSet
from tests.review.changes import Change, leave_out
from tests.review.redrawing import Redraw, dart_lost, redraw
from tests.shared import demo


def left_out(piece: str, field: str) -> Change:
    """A piece without what is said of it, or without its drawing."""

    def change(pattern: PatternSet) -> PatternSet:
        held = getattr(pattern, field)
        return replace(pattern, **{field: {n: one for n, one in held.items() if n != piece}})

    return change


def in_one_size(piece: str, redrawn: Redraw) -> Callable[[PatternSet], PatternSet]:
    return lambda pattern: redraw(piece, redrawn, pattern.sizes[-1])(pattern)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (left_out("skirt_back", "info"), "piece 'skirt_back'"),
        (left_out("skirt_back", "pieces"), "piece 'skirt_back'"),
        (in_one_size("skirt_back", dart_lost), "no 'back_dart'"),
        (leave_out("openings", "scoop_pocket"), "no opening 'scoop_pocket'"),
    ],
)
def test_a_set_with_problems_is_refused_with_them(change: Change, told: str) -> None:
    with pytest.raises(InvalidSet, match=told):
        review(change(demo("scoop_skirt")))
