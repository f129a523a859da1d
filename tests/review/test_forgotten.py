"""Lines, drill marks and kinds of marks that not every size has alike."""

from __future__ import annotations

from dataclasses import replace

from propagate.pattern.model import InternalLine, frozen_points
from tests.review.strips import only, rules, strip, strip_set

LINE = InternalLine("fold_here", frozen_points([(20.0, 20.0), (80.0, 20.0)]))


def test_a_line_that_one_size_lacks() -> None:
    nest = [replace(strip(200.0), lines=() if i == 3 else (LINE,)) for i in range(4)]
    found = only(strip_set(nest))
    assert (found.rule, found.where) == ("line forgotten", "piece 'strip', size 'S3'")
    assert "found no line 'fold_here', which other sizes have" in found.text
    assert rules(strip_set([replace(one, lines=(LINE,)) for one in nest])) == []


def test_a_drill_mark_that_only_one_size_has() -> None:
    nest = [strip(200.0) if i == 1 else replace(strip(200.0), drills=()) for i in range(4)]
    found = only(strip_set(nest))
    assert found.where == "piece 'strip', size 'S0', 'S2', 'S3'"
    assert "not graded" in found.text


def test_a_notch_that_is_a_mere_mark_in_one_size() -> None:
    nest = [strip(200.0) for _ in range(3)]
    marks = nest[2].landmarks
    nest[2] = replace(nest[2], landmarks=(replace(marks[0], kind="mark"), *marks[1:]))
    found = only(strip_set(nest))
    assert (found.rule, found.where) == ("mark of two kinds", "piece 'strip', mark 'notch'")
    assert "a notch in size S0, S1, a mark in size S2" in found.text
