"""A run that names what is not there is told, whatever the kind of relation that it stands in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

import propagate
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import parse_run
from propagate.pattern.told import told_fields
from propagate.pattern.validate import find_problems
from tests.shared import demo

NOWHERE = parse_run("nowhere.at_all")


def broken(value: Any) -> Iterator[tuple[str, Any]]:
    """A relation, or a row of one, with one of its runs leading nowhere; each with its key."""
    for one in told_fields(type(value)):
        said = getattr(value, one.name)
        if one.told.form == "run" and said:
            yield one.key, replace(value, **{one.name: NOWHERE})
        elif one.told.form == "runs" and said:
            yield one.key, replace(value, **{one.name: (NOWHERE, *said[1:])})
        elif one.told.form == "runs by name":
            first = next(iter(said))
            yield one.key, replace(value, **{one.name: {**said, first: NOWHERE}})
        elif one.told.form in ("rows", "tables"):
            for i, row in enumerate(said):
                for key, odd in broken(row):
                    rows = (*said[:i], odd, *said[i + 1 :])
                    yield f"{one.key} {key}", replace(value, **{one.name: rows})


def cases() -> Iterator[tuple[str, str, str, PatternSet]]:
    """One relation of each kind that demo sets have, each of its runs broken once."""
    for key, kind in KINDS.items():
        names = [n for n in propagate.demo_names() if relations_of(demo(n).relations, key)]
        for name in names[:1]:
            pattern = demo(name)
            held = relations_of(pattern.relations, key)
            first = next(iter(held))
            for said, odd in dict(broken(held[first])).items():
                relations = replace(pattern.relations, **{kind.kept: {**held, first: odd}})
                yield key, said, first, replace(pattern, relations=relations)


CASES = [pytest.param(*case[2:], id=f"{case[0]}-{case[1]}") for case in cases()]


@pytest.mark.parametrize(("name", "pattern"), CASES)
def test_a_run_that_leads_nowhere_is_told(name: str, pattern: PatternSet) -> None:
    found = [line for line in find_problems(pattern) if "nowhere" in line]
    assert any(f"'{name}'" in line for line in found), "check it in pattern/validate.py"


def test_most_kinds_that_have_runs_are_tried() -> None:
    assert {"seam", "band", "girth", "seam_opening", "buttons"} <= {
        c.id.split("-")[0] for c in CASES
    }
