"""A fixed, short part of ``python -m tests.faults``: writes that are broken off."""

from __future__ import annotations

import os

import pytest

from tests.faults import trials
from tests.faults.writes import KINDS, Kind, cases

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="no process can be forked here")
CASES = list(cases())
EACH = pytest.mark.parametrize(("kind", "replace"), CASES, ids=[f"{k.name}-{r}" for k, r in CASES])


@EACH
def test_killed_before_every_third_operation(kind: Kind, replace: bool) -> None:
    seen = trials.killed_everywhere(kind, replace, step=3)
    assert seen["killed"] >= 8 and seen["old"] and seen["new"]


@EACH
def test_a_full_disk(kind: Kind, replace: bool) -> None:
    seen = trials.full_disk(kind, replace)
    if seen["could not be mounted"]:
        pytest.skip("nothing can be mounted here")
    assert seen["refused"] == 1


def test_no_room_at_any_operation() -> None:
    assert trials.full_everywhere(KINDS["several files"], replace=True)["refused"] > 5


def test_two_writers_at_once() -> None:
    assert trials.two_at_once(KINDS["folder"], replace=True, times=1)["both done"] == 1
    assert trials.two_at_once(KINDS["folder"], replace=False, times=1)["one refused"] == 1


def test_an_interrupt() -> None:
    seen = trials.interrupted(KINDS["several files"], replace=True, times=1, seed=7)
    assert seen["old"] + seen["new"] == 1


def test_a_long_write_is_left_alone() -> None:
    assert trials.living_is_left_alone()["others meanwhile"] > 0
