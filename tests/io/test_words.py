"""Counts and quotations in messages, and no Python in what a reader or writer says."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

import propagate
from propagate.counts import say_count
from propagate.io.dxf import WriteOptions, write
from propagate.io.report import ReportNotes
from propagate.io.svg.write import lost_relations
from propagate.pattern.patternset import PatternSet
from propagate.visible import quoted
from tests.shared import demo

SOURCE = Path(propagate.__file__).parent / "io"


def one_of_each() -> PatternSet:
    """A set with one seam, one band and one chart row."""
    found = demo("scoop_skirt")
    relations = found.relations
    seam, band = next(iter(relations.seams.items())), next(iter(relations.bands.items()))
    row = next(iter(found.chart.items()))
    return replace(
        found,
        relations=replace(relations, seams=dict([seam]), bands=dict([band])),
        chart=dict([row]),
    )


@pytest.mark.parametrize("count", [0, 1, 2])
def test_one_thing_has_no_s(count: int) -> None:
    assert say_count(count, "seam") == f"{count} seam{'' if count == 1 else 's'}"
    assert say_count(count, "assembly") == f"{count} assembl{'y' if count == 1 else 'ies'}"


def test_letters_that_cannot_be_seen_are_told() -> None:
    assert quoted("a'b\x1b") == "'a'b<U+001B>'"


def test_lost_relations_are_counted_in_words(tmp_path: Path) -> None:
    pattern = one_of_each()
    notes = ReportNotes()
    lost_relations(pattern, notes)
    report = write(pattern, tmp_path / "x.dxf", WriteOptions(kind="nested"))
    said = [line.text for line in notes.lines]
    said += [note.text for note in report.lines if "relations" in note.text]
    assert len(said) == 3
    for text in said:
        assert not re.search(r"\b1 (chart )?\w+s\b", text), text
    assert "1 seam, " in said[0]
    assert "1 band" in said[0]
    assert "1 chart row" in said[2]


@pytest.mark.parametrize("path", sorted(SOURCE.rglob("*.py")), ids=lambda p: p.name)
def test_messages_hold_no_quoting_of_python(path: Path) -> None:
    """Neither repr in a text, nor a plural left to the reader."""
    text = path.read_text("utf-8")
    assert not re.search(r"\{(?!self\.|block\.base)[^{}\"]+!r\}", text)  # these are no messages
    assert not re.search(r"[a-z]\(s\) ", text)
