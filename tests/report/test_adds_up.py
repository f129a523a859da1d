"""What stands on paper adds up: rows are read as printed, and added again."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from propagate.demo import demo_names
from propagate.report.blend_text import blend_lines
from propagate.report.units import INCHES, MILLIMETRES, Unit
from propagate.report.why import why_lines
from tests.shared import main_job

ROW = re.compile(r"(\d+\.\d+) +(\d+\.\d+) +([+-]?\d+\.\d+)(?:$| )")
WHY = re.compile(r"before (\d+\.\d+), now (\d+\.\d+) \w+ \(([+-]?\d+\.\d+)\)")
SUM = re.compile(r"(\d+\.\d)° \+ (\d+\.\d)° = (\d+\.\d)°")
GIRTH = re.compile(r"(\d+\.\d+) (?:mm|in) finished;.*?the body (\d+\.\d+) and ([+-]?\d+\.\d+) ease")
UNITS = pytest.mark.parametrize("unit", [MILLIMETRES, INCHES], ids=lambda unit: unit.name)


def section(lines: list[str], head: str) -> list[str]:
    """The lines below a heading."""
    at = next(i for i, line in enumerate(lines) if line.startswith(head))
    end = next((i for i in range(at + 1, len(lines)) if not lines[i]), len(lines))
    return lines[at + 1 : end]


@UNITS
@pytest.mark.parametrize("name", demo_names())
def test_the_table_of_changes(name: str, unit: Unit) -> None:
    lines = blend_lines(main_job(name), unit)
    rows = [m.groups() for line in section(lines, "What changed") if (m := ROW.search(line))]
    assert rows
    for before, now, change in rows:
        assert Decimal(now) - Decimal(before) == Decimal(change), (before, now, change)


@UNITS
@pytest.mark.parametrize("name", demo_names())
def test_corners_and_girths(name: str, unit: Unit) -> None:
    text = " ".join(" ".join(blend_lines(main_job(name), unit)).split())
    for first, second, both in SUM.findall(text):
        assert Decimal(first) + Decimal(second) == Decimal(both)
    for found, body, ease in GIRTH.findall(text):
        assert Decimal(found) - Decimal(body) == Decimal(ease)


@pytest.mark.parametrize("name", demo_names())
def test_why(name: str) -> None:
    result = main_job(name)
    lines = [line for piece in result.pattern.pieces for line in why_lines(result, piece)]
    text = " ".join(" ".join(lines).split())
    rows = WHY.findall(text)
    assert rows
    for before, now, change in rows:
        assert Decimal(now) - Decimal(before) == Decimal(change)
