"""A refused edit names what in the set looks like its cause."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from propagate.demo import demo_path
from tests.cli.conftest import run


def harmed(folder: Path, old: str, new: str) -> str:
    """A copy of the trousers with one thing written otherwise in its file."""
    copy = folder / "set"
    shutil.copytree(demo_path("slant_trouser"), copy)
    file = copy / "set.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return str(copy)


def refused(path: str, *options: str) -> tuple[int, str, str]:
    done = run("blend", path, "--size", "waist=42", "--size", "hip=48", *options)
    return done.exit_code, done.stdout, done.stderr


def test_centre_and_side_exchanged(tmp_path: Path) -> None:
    path = harmed(
        tmp_path,
        'across = "waist", centre = "centre", side = "side"',
        'across = "waist", centre = "side", side = "centre"',
    )
    status, _, said = refused(path)
    assert status == 3
    assert "likely cause: blend, main 'full_front'" in said
    assert "Probably centre and side are exchanged" in said


def test_the_cause_is_in_the_json_too(tmp_path: Path) -> None:
    path = harmed(
        tmp_path,
        'across = "waist", centre = "centre", side = "side"',
        'across = "waist", centre = "side", side = "centre"',
    )
    _, out, _ = refused(path, "--json")
    assert "centre and side are exchanged" in json.loads(out)["likely_causes"][0]


def test_a_refusal_of_a_sound_set_stands_alone() -> None:
    status, _, said = refused(str(demo_path("slant_trouser")), "--hold", "0.001mm", "--rise", "1mm")
    assert status != 0
    assert "likely cause" not in said
