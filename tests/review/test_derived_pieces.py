"""Derived pieces follow their main piece: the review does not take them for forgotten."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from propagate.engine.review.finding import Finding
from propagate.engine.review.run import review
from propagate.pattern.relations import Seam
from tests.shared import demo


def without_seams(name: str, left_out: Callable[[Seam], bool]) -> tuple[Finding, ...]:
    """What is found in a demo set without some of its seams."""
    pattern = demo(name)
    seams = {n: one for n, one in pattern.relations.seams.items() if not left_out(one)}
    return tuple(review(replace(pattern, relations=replace(pattern.relations, seams=seams))))


@pytest.mark.parametrize("name", ["lined_skirt", "market_bag", "concert_dress"])
def test_derived_pieces_need_no_seam_to_follow(name: str) -> None:
    """Without any of the seams that are walked alone, each of them still follows."""
    derived = demo(name).relations.derived

    def of_derived(seam: Seam) -> bool:
        return any(span.piece in derived for span in (*seam.lead, *seam.follow))

    assert "piece joined to nothing" not in [one.rule for one in without_seams(name, of_derived)]


def test_free_edges_of_two_bags_are_a_seam_left_out_though_both_follow() -> None:
    (found,) = without_seams("lined_skirt", lambda seam: seam.name == "bag_seam")
    assert found.rule == "seam left out"
    assert "'bag_front.curve' and 'bag_back.curve'" in found.where
    assert "follows its main piece" in found.text and "does not reach" not in found.text
    (other,) = without_seams("lined_skirt", lambda seam: seam.name == "side_seam")
    assert "a change of the one does not reach the other now" in other.text
