"""One count of checks: every report that tells how many there are tells the same number."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli.app import cli
from propagate.demo import MAIN_JOBS
from propagate.engine.walk import walk
from propagate.report.blend_text import blend_lines
from propagate.report.page import report_page
from propagate.report.units import MILLIMETRES
from propagate.report.walk_text import walk_lines
from propagate.report.worksheet.derive import work_sheet
from tests.shared import main_job

KINDS = r"(\d+) checks: ((?:\d+ [a-z ]+, )*\d+ [a-z ]+)"


def counts_of(text: str) -> tuple[int, list[int]]:
    """How many checks a text tells of, and how many of each kind."""
    found = re.search(KINDS, " ".join(re.sub("<[^>]*>", " ", text).split()))
    assert found, text
    return int(found[1]), [int(one) for one in re.findall(r"(\d+) ", found[2])]


@pytest.mark.parametrize("name", ["slant_trouser", "lined_skirt"])
def test_what_was_reached_is_counted_alike(name: str) -> None:
    """In the terminal as on the work sheet, where each check has a box to tick."""
    result = main_job(name)
    total, kinds = counts_of("\n".join(blend_lines(result)))
    assert total == sum(kinds) == len(work_sheet(result, MILLIMETRES).checks)


@pytest.mark.parametrize("name", ["slant_trouser", "lined_skirt"])
def test_the_page_counts_as_the_walk_does(name: str) -> None:
    """Both walk the whole set, what was not reached as well."""
    result = main_job(name)
    walked = walk(result.pattern)
    lines = walk_lines(walked, pattern=result.pattern)
    headed = re.search(r"\((\d+) checks\)", lines[0])
    assert headed
    total, kinds = counts_of(report_page(result))
    assert total == sum(kinds) == int(headed[1]) == len(walked.checks)
    told = lines[1 : next(place for place, line in enumerate(lines) if not line)]
    assert [int(one) for one in re.findall(r"(\d+) ", " ".join(told))] == kinds


def test_json_counts_as_the_terminal_does() -> None:
    sizes = [f"--size={level}={size}" for level, size in MAIN_JOBS["slant_trouser"].items()]
    words = ["blend", str(propagate.demo_path("slant_trouser")), *sizes, "--json"]
    done = CliRunner().invoke(cli, words)
    said = json.loads(done.stdout)["checks"]
    _, kinds = counts_of("\n".join(blend_lines(main_job("slant_trouser"))))
    assert sorted(said.values()) == sorted(kinds)
