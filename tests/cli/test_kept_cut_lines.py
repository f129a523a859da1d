"""A set that keeps a DXF of cut lines, whose allowances are said edge by edge."""

from __future__ import annotations

import tomllib
from pathlib import Path

import ezdxf
import pytest

from propagate.io.folder import load
from tests.cli.conftest import run
from tests.io.test_schema import validator

WIDE = {"S": 280, "M": 290, "L": 300}
SAID = ("--boundary", "cut", "--allowance", "10mm", "--allowance", "hem=40mm",
        "--allowance", "BIB.left=1in")  # fmt: skip


def draw_bib(file: Path, more: float = 0.0, sizes: tuple[str, ...] = ("S", "M", "L")) -> Path:
    """Cut lines of a bib by ezdxf, `more` mm wider at the right."""
    document = ezdxf.new("R12")
    space = document.modelspace()
    for size in sizes:
        wide, tall = WIDE[size] + more, WIDE[size] + 180
        ring = [(0, 0), (wide, 0), (wide, tall), (0, tall)]
        block = document.blocks.new(f"BIB-{size}")
        block.add_polyline2d(ring, close=True, dxfattribs={"layer": "1"})
        for corner in ring:
            block.add_point(corner, dxfattribs={"layer": "2"})
        block.add_point((0, 200), dxfattribs={"layer": "4"})
        block.add_line((140, 100), (140, 300), dxfattribs={"layer": "7"})
        for words in ("Piece Name: BIB", f"Size: {size}", "Quantity: 1,0"):
            block.add_text(words, dxfattribs={"layer": "1", "height": 5})
        space.add_blockref(block.name, (0, 0), dxfattribs={"layer": "1"})
    for words in ("Style Name: BIB", "Units: METRIC", "Sample Size: M"):
        space.add_text(words, dxfattribs={"layer": "1", "height": 5})
    document.saveas(file)
    return file


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    file = draw_bib(tmp_path / "bib.dxf")
    done = run("begin", str(file), "--keep-dxf", *SAID, "-o", str(tmp_path / "set"))
    assert done.exit_code == 0, done.output
    assert (tmp_path / "set" / "bib.dxf").read_bytes() == file.read_bytes()
    return tmp_path / "set"


def test_each_edge_has_its_allowance(kept: Path) -> None:
    said = tomllib.loads((kept / "set.toml").read_text("utf-8"))
    assert said["dxf"] == {
        "boundary": "cut", "allowance": 10, "allowances": {"hem": 40, "BIB.left": 25.4},
    }  # fmt: skip
    validator("set").validate(said)
    pattern = load(kept)
    for size, wide in WIDE.items():
        lengths = {edge.name: edge.length for edge in pattern.sized("BIB", size).edges}
        assert lengths["hem"] == lengths["top"] == pytest.approx(wide - 10 - 25.4)
        assert lengths["left"] == pytest.approx(wide + 180 - 40 - 10)
        assert pattern.sized("BIB", size).landmark("notch_1").point == (25.4, 200.0)
    stated = pattern.info["BIB"].allowance
    assert (stated.default, dict(stated.edges)) == (10, {"hem": 40, "left": 25.4})


def test_a_change_in_every_size_stays_in_the_drawing(kept: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run("change", str(kept), "let-out", "edge=BIB.right", "by=5mm", "-o", str(out))
    assert done.exit_code == 0, done.output
    assert (out / "bib.dxf").is_file()
    assert not (out / "geometry").exists()
    pattern = load(out)
    for size, wide in WIDE.items():
        assert pattern.sized("BIB", size).edge("hem").length == pytest.approx(wide - 30.4, abs=2e-3)


def test_a_drawing_that_is_sent_is_read_as_the_set_is(kept: Path, tmp_path: Path) -> None:
    """The base size alone, 5 mm wider: its sizes follow; M has both lines then."""
    sent = draw_bib(tmp_path / "sent.dxf", 5.0, ("M",))
    for name, options in (("all", ()), ("one", ("--sizes", "M"))):
        out = tmp_path / name
        done = run("revise", str(kept), "--from", str(sent), "-o", str(out), *options)
        assert done.exit_code == 0, done.output
        assert "BIB.left=25.4mm" in " ".join(done.output.split())
        assert load(out).sized("BIB", "M").edge("hem").length == pytest.approx(259.6, abs=2e-3)


def test_sizes_with_both_lines_stand_beside_those_with_one(kept: Path, tmp_path: Path) -> None:
    sent = draw_bib(tmp_path / "sent.dxf", 5.0)
    sent.write_text(sent.read_text().replace("285.0", "280.0").replace("305.0", "300.0"))
    out = tmp_path / "out"
    done = run("revise", str(kept), "--from", str(sent), "-o", str(out))
    assert done.exit_code == 0, done.output
    assert (out / "bib.dxf").is_file()
    pattern = load(out)
    lengths = {size: pattern.sized("BIB", size).edge("hem").length for size in WIDE}
    assert lengths == pytest.approx({"S": 244.6, "M": 259.6, "L": 264.6}, abs=2e-3)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"BIB.left"', '"BIB.lft"', "no edge 'lft' on piece 'BIB'; did you mean 'left'"),
        ('"BIB.left"', '"a.b.c"', "found 'a.b.c' (text), expected EDGE or PIECE.EDGE"),
        ("hem = 40", "hem = -40", "expected a length of 0 or more"),
        ("allowance = 10\n", "", "piece 'BIB', edge '"),
    ],
)
def test_what_is_wrong_in_the_set_is_told(kept: Path, old: str, new: str, said: str) -> None:
    file = kept / "set.toml"
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    done = run("show", str(kept))
    assert done.exit_code == 2
    assert said in " ".join(done.output.split())
