"""A drawing that a house sends for its own set is read as the set's own drawing is."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from click.testing import CliRunner

import propagate
from propagate.cli.app import cli

SIZES = {"S": 0.0, "M": 12.0, "L": 26.0}
ALLOWANCE = 10.0


def corners(name: str, size: str, wider: float = 0.0) -> list[tuple[float, float]]:
    """Corners of the cut line of half a skirt, counter-clockwise from the centre's hem."""
    side = 200.0 + SIZES[size] + (0.0 if name == "front" else 6.0)
    return [(0.0, 0.0), (side + wider, 0.0), (side - 20.0, 500.0), (0.0, 490.0)]


def drawing(path: Path, pieces: list[tuple[str, str, float]], *, turned: bool) -> None:
    """Cut lines alone, on layer 1, in mm, as some houses send them."""
    document = ezdxf.new("R12")
    space = document.modelspace()
    for row, text in enumerate(["Style Name: plain skirt", "Sample Size: M", "Units: METRIC"]):
        space.add_text(text, dxfattribs={"layer": "1"}).set_placement((0.0, -20.0 * row))
    for name, size, wider in pieces:
        block = document.blocks.new(f"{name}_{size}")
        points = np.array(corners(name, size, wider))
        points = points @ [[0.0, 1.0], [-1.0, 0.0]] + [900.0, 50.0] if turned else points
        block.add_polyline2d(points.tolist(), close=True, dxfattribs={"layer": "1"})
        for point in points.tolist():
            block.add_point(point, dxfattribs={"layer": "2"})
        grain = points[[0, 3]] + (points[1] - points[0]) * 0.2
        block.add_line(*grain.tolist(), dxfattribs={"layer": "7"})
        for row, text in enumerate([f"Piece Name: {name}", f"Size: {size}", "Quantity: 1,1"]):
            attributes = {"layer": "1"}
            block.add_text(text, dxfattribs=attributes).set_placement((30.0, 99.0 - 9.0 * row))
        space.add_blockref(block.name, (0.0, 0.0), dxfattribs={"layer": "1"})
    document.saveas(path)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    drawing(
        tmp_path / "skirt.dxf",
        [(name, size, 0.0) for name in ("front", "back") for size in SIZES],
        turned=False,
    )
    begun = CliRunner().invoke(
        cli,
        ["begin", "skirt.dxf", "-o", "skirt", "--keep-dxf", "--dxf", "boundary=cut", "--dxf",
         f"allowance={ALLOWANCE}"],
    )  # fmt: skip
    assert begun.exit_code == 0, begun.output
    with (tmp_path / "skirt" / "set.toml").open("a") as file:
        file.write('[[seam]]\nname = "side"\nlead = ["front.side"]\nfollow = ["back.side"]\n')
    drawing(tmp_path / "sent.dxf", [("front", "M", 8.0)], turned=True)
    return tmp_path


def test_the_cut_line_of_a_sent_front_is_taken_for_one(folder: Path) -> None:
    done = CliRunner().invoke(cli, ["revise", "skirt", "--from", "sent.dxf", "-o", "next"])
    assert done.exit_code == 0, done.output
    said = " ".join(done.output.split())
    assert "read as the set's own drawing is: allowance=10.0, boundary=cut" in said
    assert "no edge of the drawing" not in said
    assert "written as JSON" not in said
    # It stays a DXF; the seam line of the front is shapely's offset of the cut line.
    assert (folder / "next" / "skirt.dxf").is_file()
    front = propagate.load("next").sized("front", "M")
    wanted = shapely.Polygon(corners("front", "M", 8.0)).buffer(
        -ALLOWANCE, join_style="mitre", mitre_limit=50.0
    )
    own = shapely.Polygon(front.outline)
    assert own.area == pytest.approx(wanted.area, rel=1e-5)
    assert propagate.walk(propagate.load("next"), "L", cut_lines=False).sews


def test_a_cut_line_taken_for_the_seam_line_is_pointed_out(folder: Path) -> None:
    words = ["revise", "skirt", "--from", "sent.dxf", "--dxf", "boundary=seam"]
    done = CliRunner().invoke(cli, words)
    assert "no edge of the drawing is as it was in the set" in " ".join(done.output.split())
    assert not (folder / "next").exists()
