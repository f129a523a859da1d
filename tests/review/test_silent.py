"""What is sound is not told of: demo sets, small sets, results of blends."""

from __future__ import annotations

from pathlib import Path

import pytest

import propagate
from propagate.demo import MAIN_JOBS
from propagate.pattern.patternset import PatternSet
from tests import shared
from tests.builders import pocket_set, tiny_set
from tests.cli.conftest import run
from tests.shared import blend_edit

DEMOS = (
    "slant_trouser",
    "scoop_skirt",
    "workshop_gilet",
    "lined_skirt",
    "ferry_shirt",
    "quay_jeans",
    "concert_dress",
    "market_bag",
    "puddle_pinafore",
)


@pytest.fixture(scope="module", params=DEMOS)
def demo(request: pytest.FixtureRequest) -> PatternSet:
    return shared.demo(request.param)


def test_demo_sets(demo: PatternSet) -> None:
    assert propagate.review(demo) == ()


def test_the_apron_as_its_drawings_give_it(tmp_path: Path) -> None:
    folder = Path(__file__).parents[2] / "demo_sets" / "garden_apron"
    files = sorted(str(path) for path in folder.glob("*.svg"))
    out = str(tmp_path / "apron")
    relations = str(folder / "relations.toml")
    done = run("begin", *files, "-o", out, "--relations", relations)
    assert done.exit_code == 0, done.output
    assert propagate.review(propagate.load(out)) == ()


@pytest.mark.parametrize("pattern", [tiny_set(), pocket_set()], ids=lambda p: p.name)
def test_small_sets(pattern: PatternSet) -> None:
    assert propagate.review(pattern) == ()


def test_results_of_blends(demo: PatternSet) -> None:
    plan, sizes = demo.relations.blend, demo.sizes
    job = MAIN_JOBS[demo.name.replace(" ", "_")]
    levels = list(job)[:2] if plan is None else (plan.upper, plan.lower)
    for upper, lower in ((2, 3), (3, 2), (1, 4), (4, 1)):
        chosen = dict(zip(levels, (sizes[upper], sizes[lower]), strict=True))
        result = propagate.run(demo, blend_edit(demo, chosen))
        assert propagate.review(result.pattern) == (), (sizes[upper], sizes[lower])
