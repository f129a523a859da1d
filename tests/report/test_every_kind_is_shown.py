"""Every relation that a set holds is told when it is shown, in words and as plain values."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

import propagate
from propagate.pattern.alike import Alike
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.report.set_plain import set_plain
from propagate.report.set_text import set_lines
from tests.shared import demo


def said(pattern: PatternSet) -> tuple[str, str]:
    """The set in words on one line, and as plain values."""
    return " ".join(" ".join(set_lines(pattern)).split()), json.dumps(set_plain(pattern))


@pytest.mark.parametrize("name", propagate.demo_names())
def test_every_relation_of_a_demo_set_is_named(name: str) -> None:
    pattern = demo(name)
    words, plain = said(pattern)
    for key in KINDS:
        for relation in relations_of(pattern.relations, key):
            assert f'"{relation}"' in plain, f"{key} '{relation}' is missing in --json"
            # what lies behind an opening is told with it
            assert key == "stack" or relation in words, f"{key} '{relation}' is missing"


def test_every_kind_has_its_place_among_the_plain_values() -> None:
    plain = set_plain(demo("puddle_pinafore"))
    assert {kind.kept or key for key, kind in KINDS.items()} <= set(plain)


def test_what_is_set_on_and_what_is_cut_alike_is_told_by_its_keys() -> None:
    jeans = demo("quay_jeans")
    alike = {"halves": Alike("halves", ("band_left", "band_right"), 0.8)}
    words, plain = said(replace(jeans, relations=replace(jeans.relations, alike=alike)))
    assert (
        "back_pocket_place on back; lines pocket_place; drills pocket_side, pocket_centre; from "
        "top, centre; piece back_pocket" in words
    )
    assert "halves pieces band_left, band_right; tolerance 0.8 mm" in words
    assert '"pieces": ["band_left", "band_right"], "tolerance": 0.8' in plain
