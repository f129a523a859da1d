"""The command: what it prints, what it writes, what it leaves alone."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.engine.walk import walk


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    """The skirt without any relation, its names kept."""
    folder = tmp_path / "skirt"
    source = propagate.demo_path("scoop_skirt")
    shutil.copytree(source / "geometry", folder / "geometry")
    text = (source / "set.toml").read_text(encoding="utf-8")
    head = text[: text.index("# --- the full front")]
    (folder / "set.toml").write_text(head, encoding="utf-8")
    return folder


def run(*args: str) -> str:
    result = CliRunner().invoke(app.cli, ["suggest", *args])
    assert result.exit_code == 0, result.output
    return result.output


def test_nothing_is_written_unless_asked(bare: Path) -> None:
    before = (bare / "set.toml").read_bytes()
    text = run(str(bare))
    assert "flank of skirt back" in text and "scoop pocket" not in text
    assert (bare / "set.toml").read_bytes() == before


def test_accept_adds_to_the_file_and_the_set_sews(bare: Path) -> None:
    before = (bare / "set.toml").read_text(encoding="utf-8")
    assert "Added 6 proposals" in run(str(bare), "--accept", "0.9")
    after = (bare / "set.toml").read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    assert "# + the lengths agree within" in after
    pattern = propagate.load(bare)
    assert len(pattern.relations.seams) == 3
    assert all(walk(pattern, size).sews for size in pattern.sizes)
    assert [path.name for path in sorted(bare.iterdir())] == ["geometry", "set.toml"]


def test_accepting_again_changes_nothing(bare: Path) -> None:
    run(str(bare), "--accept", "0.9")
    once = (bare / "set.toml").read_bytes()
    assert "Nothing was added" in run(str(bare), "--accept", "0.9")
    assert (bare / "set.toml").read_bytes() == once


def test_json_tells_scores_evidence_and_conflicts() -> None:
    told = json.loads(run(str(propagate.demo_path("slant_trouser")), "--json"))
    proposals = told["proposals"]
    assert [one["score"] for one in proposals] == sorted(
        (one["score"] for one in proposals), reverse=True
    )
    for k, one in enumerate(proposals):
        assert one["evidence"]
        assert all(k in proposals[other]["conflicts"] for other in one["conflicts"])
    assert any(one["conflicts"] for one in proposals)


def test_rivals_are_told_together() -> None:
    text = run(str(propagate.demo_path("slant_trouser")))
    together = text[text.index("In each other's way:") :].split("\n\n")[0]
    assert "centre of fly extension" in together and "centre of fly shield" in together


@pytest.mark.parametrize("name", ["slant_trouser", "scoop_skirt", "market_bag"])
def test_proposals_are_told_in_words(name: str) -> None:
    """At 80 columns, and none with a name of the data; those are in the JSON."""
    path = str(propagate.demo_path(name))
    text = run(path)
    assert max(map(len, text.splitlines())) <= 80
    pieces = "|".join(propagate.load(path).pieces)
    assert re.findall(rf"\w+_\w+|\b(?:{pieces})\.\w+|'(?:{pieces})'", text) == []


@pytest.mark.parametrize("option", ["--accept", "--least"])
@pytest.mark.parametrize("value", ["9", "-0.1", "nan", "NaN", "inf"])
def test_a_level_outside_its_range_is_refused(bare: Path, option: str, value: str) -> None:
    before = (bare / "set.toml").read_bytes()
    result = CliRunner().invoke(app.cli, ["suggest", str(bare), option, value])
    assert result.exit_code == 2
    assert value.removeprefix("-") in result.output
    assert (bare / "set.toml").read_bytes() == before
