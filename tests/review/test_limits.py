"""Tolerances, eases and allowances: common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate.engine.review.allowances import find_unlikely_allowances
from propagate.engine.review.finding import Finding
from propagate.engine.review.limits import (
    find_large_eases,
    find_turned_ratios,
    find_wide_tolerances,
)
from propagate.pattern.ease import Ease
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, Band, Zone, parse_run
from tests.review.strips import HEIGHT, rules, sewn, strip, strip_set


def pattern(**values: object) -> PatternSet:
    return sewn(strip_set([strip(200.0)]), **values)


@pytest.mark.parametrize(("tolerance", "told"), [(1.5, False), (5.0, False), (150.0, True)])
def test_tolerances(tolerance: float, told: bool) -> None:
    found = [finding.rule for finding in find_wide_tolerances(pattern(tolerance=tolerance))]
    assert found == (["tolerance too wide"] if told else [])


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, False), (0.1, False), (-0.1, False), (0.2, True), (-0.2, True), (0.5, False)],
)
def test_eases(share: float, told: bool) -> None:
    """A tenth is eased in, a half is gathered; a fifth is neither."""
    found = [finding.rule for finding in find_large_eases(pattern(ease=share * HEIGHT))]
    assert found == (["ease too large"] if told else [])


def of_allowances(allowance: Allowance, fold: str | None = None) -> list[Finding]:
    of = pattern()
    info = {"strip": replace(of.info["strip"], allowance=allowance, fold=fold)}
    return list(find_unlikely_allowances(replace(of, info=info)))


def test_a_seam_without_allowance() -> None:
    right, left = of_allowances(Allowance(10.0, {"right": 0.0, "left": 0.0}))
    assert (right.rule, right.where) == ("no allowance", "piece 'strip', edge 'right', allowance")
    assert "an edge that is sewn" in right.text
    assert left.where == "piece 'strip', edge 'left', allowance"
    assert len(of_allowances(Allowance(0.0))) == 2
    assert len(of_allowances(Allowance(10.0, {"right": 0.0, "left": 0.0}), fold="right")) == 1
    assert of_allowances(Allowance(10.0, {"low": 0.0, "top": 0.0})) == []


def test_two_sides_that_differ_are_told_once() -> None:
    """By the rule of allowances that differ."""
    assert of_allowances(Allowance(10.0, {"right": 0.0})) == []
    assert of_allowances(Allowance(10.0, {"right": 100.0})) == []
    of = pattern()
    wide = Allowance(10.0, {"right": 100.0})
    assert rules(replace(of, info={"strip": replace(of.info["strip"], allowance=wide)}))[0] == (
        "allowances differ"
    )


def test_allowances_that_nobody_sews() -> None:
    assert of_allowances(Allowance(10.0, {"right": 40.0, "left": 40.0, "low": 80.0})) == []
    found = of_allowances(Allowance(10.0, {"right": 100.0, "left": 100.0}))[0]
    assert (found.rule, found.sews) == ("allowance too wide", True)
    assert "100 mm on an edge of seam 'join', expected at most 50" in found.text
    (hem,) = of_allowances(Allowance(10.0, {"low": 150.0}))
    assert "on a hem" in hem.text


@pytest.mark.parametrize(
    ("ease", "told"),
    [
        (Ease(gathers=1.2), []),  # a fifth more, but said to be gathered
        (Ease(gathers=3.0), []),
        (Ease(stretched=0.8), []),
        (Ease(gathers=0.67), ["gathers below 1"]),
        (Ease(stretched=1.15), ["stretched above 1"]),
        (Ease(zones=(("end", Ease(gathers=0.5)),)), ["gathers below 1"]),
    ],
)
def test_ratios(ease: Ease, told: list[str]) -> None:
    of = pattern(ease=ease)
    assert [finding.rule for finding in (*find_large_eases(of), *find_turned_ratios(of))] == told
    zone = Zone("all", "start", "end", parse_run("strip.right"), ease)
    if not ease.zones:
        bands = {"b": Band("b", "strip", "left", "right", (zone,))}
        banded = replace(of, relations=Relations(bands=bands))
        found = (*find_large_eases(banded), *find_turned_ratios(banded))
        assert [finding.rule for finding in found] == told
