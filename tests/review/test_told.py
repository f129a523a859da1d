"""Where findings are told: walk, show, blend, revise, as text and as JSON, and the exit status."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import propagate
from propagate.demo import demo_path
from propagate.engine.review.finding import Finding
from propagate.io.folder import save
from propagate.pattern.model import Piece
from propagate.report.review_text import review_lines, review_short_lines, review_words
from tests.cli.conftest import plain, run
from tests.review.judge import told_about
from tests.review.mistakes import MISTAKES
from tests.review.strips import strip, strip_set
from tests.shared import demo

WIDE = 'name = "inseam"                  # from the hem up to the crotch'


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> str:
    """Return a copy of the trousers whose set.toml says something else."""
    folder = tmp_path / "trouser"
    shutil.copytree(demo_path("slant_trouser"), folder)
    text = (folder / "set.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    (folder / "set.toml").write_text(text, encoding="utf-8")
    return str(folder)


@pytest.fixture
def wide(tmp_path: Path) -> str:
    """A set whose inseam is walked to 150 mm: a notice, all sews."""
    return changed(tmp_path, (WIDE, f"{WIDE}\ntolerance = 150"))


@pytest.fixture
def aside(tmp_path: Path) -> str:
    """A set whose dart tip lies 25 mm aside in size 44: legs of 96.8 and 103.8 mm."""
    folder = changed(tmp_path)
    pattern = propagate.load(folder)
    (x, y) = pattern.sized("back", "44").darts[0].tip
    file = Path(folder) / "geometry" / "back.json"
    text = file.read_text(encoding="utf-8")
    nest = json.loads(text)
    size = nest["sizes"]["44"]
    assert size["darts"][0]["tip"] == [x, y]
    size["darts"][0]["tip"] = [x + 25.0, y]
    file.write_text(json.dumps(nest), encoding="utf-8")
    return folder


def test_walk_tells_a_notice_and_ends_well(wide: str) -> None:
    done = run("walk", wide)
    assert done.exit_code == 0
    head, _, rest = done.stdout.partition("\nLooks like a mistake in the set\n")
    assert "everything sews together (30 checks); 1 likely mistake" in head
    assert rest.startswith("  - seam ‘inseam’, tolerance: found 150 mm")
    assert rest.index("found 150 mm") < rest.index("\nSeams (mm)")
    assert all(len(line) <= 80 for line in done.stdout.splitlines())
    assert "1 likely mistake" in run("walk", wide, "--all-sizes").stdout


def test_walk_ends_with_1_when_a_finding_does_not_sew(aside: str) -> None:
    done = run("walk", aside)
    assert done.exit_code == 1
    assert "everything sews" not in done.stdout
    assert "WILL NOT SEW: back, size 44, dart ‘dart’" in done.stdout
    assert "96.8 mm" in done.stdout
    assert "103.8 mm" in done.stdout
    assert run("show", aside).exit_code == 0


def test_json_of_walk_and_show(aside: str) -> None:
    for command, status in (("walk", 1), ("show", 0)):
        done = run(command, aside, "--json")
        (found,) = plain(done)["review"]
        assert done.exit_code == status
        assert found["rule"] == "dart legs differ"
        assert found["pieces"] == ["back"]
        assert found["sews"] is False


def test_show_tells_at_its_end(wide: str) -> None:
    said = run("show", wide).stdout
    assert said.index("Looks like a mistake") > said.index("\nBlend")


def test_blend_tells_before_the_result_and_not_in_the_record(wide: str, tmp_path: Path) -> None:
    words = ("--size", "waist=42", "--size", "hip=44")
    done = run("blend", wide, *words, "-o", str(tmp_path / "one"))
    assert done.exit_code == 0
    assert done.stdout.startswith("Before the result: 1 likely mistake in the set\n  - seam")
    assert len(plain(run("blend", wide, *words, "--json"))["review"]) == 1
    record = (tmp_path / "one" / "record.json").read_text(encoding="utf-8")
    assert "review" not in record
    assert "expected at most 6" not in record


def test_revise_tells_of_the_set_and_of_what_came_new(tmp_path: Path) -> None:
    pattern = strip_set([strip(200.0 + 10.0 * i) for i in range(4)])
    save(pattern, tmp_path / "set")
    nest = dict(pattern.pieces["strip"].nest)
    nest["S1"] = strip(210.0, tip=(105.0, 25.0), notch=55.0)
    save(replace(pattern, pieces={"strip": Piece("strip", nest)}), tmp_path / "drawn")
    words = ("revise", str(tmp_path / "set"), "--from", str(tmp_path / "drawn"))
    found = plain(run(*words, "--json"))
    assert found["changed"]
    assert "size out of line" in {line["rule"] for line in found["review"]}
    said = run(*words).stdout
    assert said.startswith("Before the result: ")
    assert "in the revised set" in said
    assert "mark ‘notch’ on edge ‘low’ 55.0 mm from" in " ".join(said.split())


def test_a_silent_review_prints_nothing() -> None:
    assert review_lines(()) == review_short_lines((), demo("slant_trouser"), "set") == []
    assert review_words(()) == ""


def test_the_first_three_and_how_many_more() -> None:
    findings = [
        Finding("rule", f"seam '{i}'", f"found {i}, expected", sews=i > 0) for i in range(5)
    ]
    lines = review_short_lines(findings, demo("slant_trouser"), "my set")
    assert lines[0] == "Before the result: 5 likely mistakes in the set"
    assert lines[1] == "  - WILL NOT SEW: seam '0': found 0, expected"
    assert lines[-2:] == ["  2 more: propagate walk 'my set'", ""]
    assert review_words(findings) == "5 likely mistakes in the set, 1 of which WILL NOT SEW"
    assert len(review_lines(findings)) == 2 + 5


def test_what_strikes_alike_is_told_once() -> None:
    """Of several sizes with the figures of the first, of several seams with all their names."""
    pattern = demo("slant_trouser")
    sizes = [
        Finding("rule", f"piece 'under_bag', size '{size}'", f"found {i + 3}.5 mm", ("under_bag",))
        for i, size in enumerate(("40", "42", "44"))
    ]
    seams = [Finding("rule", f"seam '{name}'", "found it") for name in ("side_seam", "inseam")]
    assert review_lines([*sizes, *seams], pattern)[2:] == [
        "  - under bag, size 40 (and by other figures in size 42, 44): found 3.5 mm",
        "  - seam ‘side seam’; seam ‘inseam’: found it",
    ]


def test_findings_are_told_in_words() -> None:
    """No name of the set but where it is typed: as a key, between double quotes or brackets."""
    typed = re.compile(r'"[^"]*"|\[[^\]]*\]|(?<=row )\S+|chart, .*?;')
    seen = 0
    for told in map(told_about, MISTAKES):
        if told.of is None or not told.findings:
            continue
        names = "|".join(map(re.escape, told.of.pieces))
        name = re.compile(rf"'(?:{names})['.]|\b(?:{names})\.\w|\b[a-z]+_(?!down)[a-z]+")
        lines = review_lines(told.findings, told.of)[2:]
        said = typed.sub("", " ".join(" ".join(lines).split()))
        assert not name.search(said), said
        seen += 1
    assert seen > 80


def test_what_does_not_sew_comes_first(aside: str) -> None:
    assert [finding.sews for finding in propagate.review(propagate.load(aside))] == [False]
