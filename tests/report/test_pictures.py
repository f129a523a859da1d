"""Pictures are read again with an XML parser of the standard library and measured."""

from __future__ import annotations

import math
import re
import shutil
import struct
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from tests.builders import tiny_set
from tests.examples import goes_on
from tests.report.conftest import JOBS
from tests.shared import demo

SVG = "{http://www.w3.org/2000/svg}"
PIECES = [(name, piece) for name in JOBS for piece in demo(name).pieces]


def read(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def points_of(path: ET.Element) -> list[np.ndarray]:
    """Subpaths of a path of M, L and Z alone, read without the code that wrote it."""
    rings = []
    for part in re.findall(r"M([^M]*)", path.attrib["d"]):
        body, closed = part.removesuffix("Z"), part.endswith("Z")
        xy = np.array([[float(v) for v in pair.split()] for pair in body.split("L")])
        rings.append(np.vstack([xy, xy[:1]]) if closed else xy)
    return rings


def length_of(path: ET.Element) -> float:
    return sum(math.dist(a, b) for ring in points_of(path) for a, b in pairwise(ring))


def edges(root: ET.Element) -> Iterator[ET.Element]:
    return (path for path in root.iter(f"{SVG}path") if path.get("class") == "seam")


def true_scale(root: ET.Element) -> tuple[float, float]:
    """Width and height in mm, which the view box has in units."""
    low_x, low_y, width, height = (float(v) for v in root.attrib["viewBox"].split())
    assert (low_x, low_y) == (0.0, 0.0)
    for name, value in (("width", width), ("height", height)):
        match = re.fullmatch(r"([\d.]+)mm", root.attrib[name])
        assert match
        assert float(match[1]) == value
    return width, height


@pytest.mark.parametrize(("name", "piece"), PIECES)
def test_a_result_is_drawn_at_true_scale(
    results: dict[str, propagate.Result], name: str, piece: str
) -> None:
    result = results[name]
    root = read(propagate.draw(result, piece))
    width, height = true_scale(root)
    drawn = {path.attrib["data-name"]: path for path in edges(root)}
    sized = result.pattern.sized(piece, result.record.size)
    assert list(drawn) == list(sized.edge_names)
    for edge in sized.edges:
        model = float(np.hypot(*np.diff(edge.points, axis=0).T).sum())
        assert math.isclose(length_of(drawn[edge.name]), model, abs_tol=0.01)
        assert math.isclose(float(drawn[edge.name].attrib["data-length-mm"]), model, abs_tol=1e-3)
    for path in root.iter(f"{SVG}path"):
        for ring in points_of(path):
            assert ring.min() >= 0.0
            assert ring[:, 0].max() <= width
            assert ring[:, 1].max() <= height


def test_the_drawing_is_not_mirrored(results: dict[str, propagate.Result]) -> None:
    """y runs down on the page: a counter-clockwise outline has a negative area there."""
    result = results["slant_trouser"]
    root = read(propagate.draw(result, "front"))
    ring = np.vstack([points_of(path)[0][:-1] for path in edges(root)])
    x, y = ring.T
    area = 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    outline = result.pattern.sized("front", result.record.size).outline
    assert math.isclose(-area, shapely.Polygon(outline).area, rel_tol=1e-6)


def test_added_and_trimmed_areas_are_those_of_the_record(
    results: dict[str, propagate.Result],
) -> None:
    result = results["slant_trouser"]
    for change in result.record.pieces:
        root = read(propagate.draw(result, change.piece))
        for kind, wanted in (("tape-on", change.added_mm2), ("trim", change.trimmed_mm2)):
            shapes = [p for p in root.iter(f"{SVG}path") if p.get("class") == kind]
            found = sum(
                shapely.Polygon(rings[0], rings[1:]).area for rings in map(points_of, shapes)
            )
            # Slivers of rounding are left out: of an edge of a metre, 0.02 mm wide.
            assert math.isclose(found, wanted, abs_tol=20.0), (change.piece, kind)
            assert {p.attrib["fill"] for p in shapes} <= {f"url(#{kind})"}


def test_the_cut_line_is_that_of_the_model(results: dict[str, propagate.Result]) -> None:
    result = results["scoop_skirt"]
    sized = result.pattern.sized("skirt_back", result.record.size)
    cut = propagate.cut_line(sized, result.pattern.info["skirt_back"])
    root = read(propagate.draw(result, "skirt_back"))
    (path,) = (p for p in root.iter(f"{SVG}path") if p.get("class") == "cut")
    (ring,) = points_of(path)
    assert math.isclose(shapely.Polygon(ring).area, cut.area, rel_tol=1e-5)


def test_the_test_square_measures_50_mm(results: dict[str, propagate.Result]) -> None:
    root = read(propagate.draw(results["scoop_skirt"], "belt"))
    (square,) = (p for p in root.iter(f"{SVG}path") if p.get("id") == "test-square")
    assert math.isclose(length_of(square), 200.0, abs_tol=1e-3)


@pytest.mark.parametrize("piece", ["front", "facing", "waistband"])
def test_a_nest_shows_every_size_at_true_length(piece: str) -> None:
    pattern = demo("slant_trouser")
    root = read(propagate.draw(pattern, piece))
    true_scale(root)
    drawn = {(p.attrib["data-size"], p.attrib["data-name"]): length_of(p) for p in edges(root)}
    wanted = {
        (size, edge.name): edge.length
        for size in pattern.sizes
        for edge in pattern.sized(piece, size).edges
    }
    assert drawn.keys() == wanted.keys()
    assert all(math.isclose(drawn[key], wanted[key], abs_tol=0.01) for key in wanted)


def test_a_nest_lies_on_its_level() -> None:
    """Crotch on crotch: the tips of the front's fork lie at one height in every size."""
    pattern = demo("slant_trouser")
    root = read(propagate.draw(pattern, "front"))
    heights = [
        points_of(path)[0][-1][1] for path in edges(root) if path.get("data-name") == "inseam"
    ]
    assert len(heights) == len(pattern.sizes)
    assert np.ptp(heights) < 0.01


def test_sizes_of_a_nest_differ_in_more_than_colour() -> None:
    root = read(propagate.draw(demo("slant_trouser"), "welt"))
    looks = {
        p.attrib["data-size"]: (p.get("stroke"), p.get("stroke-dasharray"), p.get("stroke-width"))
        for p in edges(root)
    }
    assert len(set(looks.values())) == len(looks)
    neighbours = list(looks.values())
    assert all(a[1:] != b[1:] for a, b in pairwise(neighbours))


def odd_set(piece: str, title: str) -> PatternSet:
    """The tiny set with one piece of another name, as a program could build it."""
    tiny = tiny_set()
    front = tiny.pieces["front"]
    return replace(
        tiny,
        name='a & "b" <c>',
        pieces={piece: Piece(piece, front.nest)},
        info={piece: replace(tiny.info["front"], title=title, fabric="a < b & c")},
        relations=type(tiny.relations)(),
    )


@pytest.mark.parametrize("size", ["38", None])
def test_every_text_is_escaped(size: str | None) -> None:
    name = "<script>alert(1)</script>"
    pattern = odd_set(name, '"><script>\x00\x1f&amp;')
    svg = propagate.draw(pattern, name, size)
    root = read(svg)
    assert not list(root.iter(f"{SVG}script"))
    assert "<script" not in svg
    texts = [text.text or "" for text in root.iter(f"{SVG}text")]
    assert any(
        '"><script>\N{REPLACEMENT CHARACTER}\N{REPLACEMENT CHARACTER}&amp;' in t for t in texts
    )


def test_a_piece_named_script_is_refused_in_a_file(tmp_path: Path) -> None:
    with pytest.raises(propagate.OutputError, match="cannot name a file"):
        propagate.save(odd_set("<script>", "x"), tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_unknown_names() -> None:
    pattern = demo("scoop_skirt")
    with pytest.raises(propagate.UnknownName, match="did you mean 'belt'"):
        propagate.draw(pattern, "bellt")
    with pytest.raises(propagate.UnknownName, match="no size 'ML'"):
        propagate.draw(pattern, "belt", "ML")


def test_the_same_result_gives_the_same_picture(results: dict[str, propagate.Result]) -> None:
    result = results["slant_trouser"]
    assert propagate.draw(result, "back") == propagate.draw(result, "back")


@pytest.mark.skipif(shutil.which("rsvg-convert") is None, reason="rsvg-convert is not installed")
@pytest.mark.parametrize(("name", "piece"), [("slant_trouser", "facing"), ("scoop_skirt", "belt")])
def test_an_independent_renderer_sees_the_same_size(
    results: dict[str, propagate.Result], name: str, piece: str, tmp_path: Path
) -> None:
    """Ten dots a millimetre for small pieces, two for large ones, whose pictures take long."""
    svg = propagate.draw(results[name], piece)
    width, height = true_scale(read(svg))
    dots = 10 if width * height < 30_000 or goes_on() else 2
    dpi = str(25.4 * dots)
    file = tmp_path / "a.svg"
    file.write_text(svg, encoding="utf-8")
    subprocess.run(
        ["rsvg-convert", "-d", dpi, "-p", dpi, str(file), "-o", str(tmp_path / "a.png")],
        check=True,
    )
    head = (tmp_path / "a.png").read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    across, down = struct.unpack(">II", head[16:24])
    assert abs(across - dots * width) <= 1.0
    assert abs(down - dots * height) <= 1.0
