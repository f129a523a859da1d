"""What is written of a demo set's blends is a set again, with the same points."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import propagate
from propagate.demo import MAIN_JOBS
from tests.shared import demo, main_job

BY_PLAN = [name for name in MAIN_JOBS if demo(name).relations.blend is not None]
PLAN_OR_LEVEL = [name for name in BY_PLAN if not demo(name).relations.openings]
"""Those that can be blended by level alone as well: an opening goes with a plan."""


def loads_again(result: propagate.Result, folder: Path) -> propagate.PatternSet:
    propagate.save(result, folder)
    read = propagate.load(folder)
    size = result.pattern.base
    for name in result.pattern.pieces:
        was, now = (one.sized(name, size) for one in (result.pattern, read))
        assert np.abs(was.outline - now.outline).max() < 1e-9, name
        assert {mark.name for mark in was.landmarks} == {mark.name for mark in now.landmarks}
    return read


@pytest.mark.parametrize("name", MAIN_JOBS)
def test_the_main_blend_of_a_demo_set_loads_again(name: str, tmp_path: Path) -> None:
    """A dress by level was refused: its facings were derived and had a place as well."""
    read = loads_again(main_job(name), tmp_path / "set")
    assert not set(read.relations.derived) & set(read.relations.places)


@pytest.mark.parametrize("name", PLAN_OR_LEVEL)
def test_a_blend_by_level_alone_loads_again(name: str, tmp_path: Path) -> None:
    edit = propagate.BlendLevels(MAIN_JOBS[name])
    loads_again(propagate.run(demo(name), edit), tmp_path / "set")
