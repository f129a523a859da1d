"""``propagate revise``: from a drawing sent back to a revised set on disk."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import propagate
from propagate.io.folder import save
from propagate.pattern.model import Piece
from tests.cli.conftest import SKIRT, plain, run
from tests.revise.test_revise import let_out
from tests.shared import demo


@pytest.fixture
def sent(tmp_path: Path) -> Path:
    """The skirt's front, its flank let out by 4 mm in the base size, as a vector drawing."""
    skirt = demo("scoop_skirt")
    front = let_out(skirt.sized("skirt_front", "M"), "flank", 4.0)
    pieces = {**skirt.pieces, "skirt_front": Piece("skirt_front", {"M": front})}
    others = {n: Piece(n, {"M": p.at("M")}) for n, p in pieces.items()}
    chart = {row: {"M": values["M"]} for row, values in skirt.chart.items()}
    save(replace(skirt, pieces=others, sizes=("M",), base="M", chart=chart), tmp_path / "one")
    done = run("convert", str(tmp_path / "one"), str(tmp_path / "sent.svg"))
    assert done.exit_code == 0, done.output
    return tmp_path / "sent.svg"


def test_a_drawing_changes_every_size(sent: Path, tmp_path: Path) -> None:
    out = tmp_path / "revised"
    words = ("revise", SKIRT, "--from", str(sent), "--piece", "skirt_front", "-o", str(out))
    done = run(*words, "--sizes", "M", "--base", "M")
    assert done.exit_code == 0, done.output
    assert "flank of skirt front" in done.stdout and "skirt back" in done.stdout
    assert all(len(line) <= 80 or str(tmp_path) in line for line in done.stdout.splitlines())
    again = propagate.load(out)
    assert again.sizes == demo("scoop_skirt").sizes
    assert all(propagate.walk(again, size, cut_lines=False).sews for size in again.sizes)
    told = json.loads((out / "revised.json").read_text())
    assert {e["status"] for e in told["edges"] if e["edge"] == "flank"} == {"reshaped"}
    old = Path(SKIRT, "geometry", "belt.json").read_bytes()
    changed = {p["piece"] for r in told["records"].values() for p in r["pieces"]}
    assert "belt" in changed or (out / "geometry" / "belt.json").read_bytes() == old


def test_unknown_pieces_and_files(sent: Path, tmp_path: Path) -> None:
    done = run("revise", SKIRT, "--from", str(sent), "--piece", "skirt_fron")
    assert done.exit_code == 2 and "did you mean 'skirt_front'" in done.stderr
    done = run("revise", SKIRT, "--from", str(tmp_path / "none.svg"))
    assert done.exit_code == 2 and "none.svg" in done.stderr
    done = run("revise", SKIRT, "--from", str(sent), "--within", "0")
    assert done.exit_code == 2 and "0.001 to 5" in done.stderr


def test_json_without_writing(tmp_path: Path) -> None:
    done = run("convert", SKIRT, str(tmp_path / "same.svg"))
    assert done.exit_code == 0
    found = plain(run("revise", SKIRT, "--from", str(tmp_path / "same.svg"), "--json"))
    assert found["changed"] is False and found["sews"] is True and found["written_to"] is None
