"""The drafted jeans, judged from their files alone.

The files are read with ``json`` and points come from numpy and shapely.  Trade facts (a seam's
corner angles add to 180 degrees, the two sides of a seam are equally long) are common practice,
no source.
"""

from __future__ import annotations

import json
import runpy
import tomllib
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

import propagate
from propagate.io.geometry_json import dump_piece, load_piece
from tests.engine.measure import corner_angle, registration
from tests.shared import demo

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "quay_jeans"
FILES = {path.stem: json.loads(path.read_text("utf-8")) for path in HOME.glob("geometry/*.json")}
TOML = tomllib.loads((HOME / "set.toml").read_text("utf-8"))
SIZES = TOML["sizes"]
CHART = TOML["chart"]


def raw(piece: str, size: str) -> dict:
    return FILES[piece]["sizes"][size]


def edge(piece: str, size: str, name: str) -> np.ndarray:
    (found,) = [e for e in raw(piece, size)["edges"] if e["name"] == name]
    return np.array(found["points"])


def mark(piece: str, size: str, name: str) -> np.ndarray:
    (found,) = [m for m in raw(piece, size)["landmarks"] if m["name"] == name]
    return np.array(found["point"])


def length(points: np.ndarray) -> float:
    return float(LineString(points).length)


def part(points: np.ndarray, begin: np.ndarray, end: np.ndarray) -> float:
    """Length of a line between two points on it."""
    line = LineString(points)
    return abs(line.project(Point(begin)) - line.project(Point(end)))


def facing_waist(size: str) -> float:
    line = edge("facing", size, "waist")
    return part(line, mark("facing", size, "mouth_top"), line[-1])


def facing_side(size: str) -> float:
    line = edge("facing", size, "side")
    return part(line, line[0], mark("facing", size, "mouth_low"))


# --- the files --------------------------------------------------------------------------


def test_the_draft_gives_the_files_byte_for_byte() -> None:
    drafted = runpy.run_path(str(HOME / "draft.py"))["build"]()
    assert sorted(drafted) == sorted(FILES) == sorted(TOML["pieces"])
    for name, piece in drafted.items():
        text = dump_piece(piece)
        assert text.encode() == (HOME / "geometry" / f"{name}.json").read_bytes()
        assert dump_piece(load_piece(text, name)) == text


@pytest.mark.parametrize("size", SIZES)
def test_outlines_are_closed_simple_and_counter_clockwise(size: str) -> None:
    for piece in FILES:
        names = [e["name"] for e in raw(piece, size)["edges"] if "points" in e]
        if len(names) < len(raw(piece, size)["edges"]):
            continue  # path data, which the model draws
        for first, second in pairwise([*names, names[0]]):
            assert (edge(piece, size, first)[-1] == edge(piece, size, second)[0]).all()
        shape = Polygon(np.vstack([edge(piece, size, name)[:-1] for name in names]))
        assert shape.is_valid, piece
        assert shape.exterior.is_ccw, piece
        for found in raw(piece, size).get("landmarks", []):
            line = LineString(edge(piece, size, found["edge"]))
            assert line.distance(Point(found["point"])) < 0.01


def test_the_expected_walk_has_no_difference_in_any_size() -> None:
    jeans = demo("quay_jeans")
    assert propagate.review(jeans) == ()
    for size in jeans.sizes:
        walked = propagate.walk(jeans, size=size, cut_lines=False)
        assert {check.verdict for check in walked.checks} <= {"sews", "told"}, size
        kinds = {check.kind for check in walked.checks}
        assert len(walked.checks) >= 28, kinds
        for check in walked.checks:
            if check.kind in ("seam", "notch", "zone"):
                assert abs(check.difference) < 0.01, (size, check.name)


# --- the jeans ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_side_and_inseam_are_as_long_on_both_sides(size: str) -> None:
    front = facing_side(size) + length(edge("front", size, "side"))
    back = length(edge("yoke", size, "side")) + length(edge("back", size, "side"))
    assert front == pytest.approx(back, abs=0.01)
    inseams = [length(edge(piece, size, "inseam")) for piece in ("front", "back")]
    assert inseams[0] == pytest.approx(inseams[1], abs=0.01)


@pytest.mark.parametrize(("i", "size"), list(enumerate(SIZES)))
def test_the_waist_is_the_chart_and_its_ease(i: int, size: str) -> None:
    sewn = length(edge("front", size, "waist")) + facing_waist(size)
    sewn += length(edge("yoke", size, "waist"))
    assert 2 * sewn == pytest.approx(CHART["waist"][i] + 14.0, abs=0.02)


@pytest.mark.parametrize("size", SIZES)
def test_the_yoke_takes_the_dart_and_side_and_centre_run_on_as_sewn(size: str) -> None:
    lower, top = edge("yoke", size, "lower"), edge("back", size, "top")
    assert length(lower) == pytest.approx(length(top), abs=1e-3)
    chords = [np.hypot(*(line[-1] - line[0])) for line in (lower, top)]
    assert chords[0] == pytest.approx(chords[1], abs=3e-4)
    # Sewn, the two corners beside the seam add up to a straight line.
    for name in ("side", "centre"):
        corners = []
        for piece, seam in (("yoke", "lower"), ("back", "top")):
            order = [e["name"] for e in raw(piece, size)["edges"]]
            first, second = (
                (seam, name)
                if order.index(name) == (order.index(seam) + 1) % len(order)
                else (name, seam)
            )
            corners.append(corner_angle(edge(piece, size, first), edge(piece, size, second)))
        assert sum(corners) == pytest.approx(180.0, abs=0.35), name
    # Laid flat by the ends of the seam, the sides of the wedge that is left add up to the dart.
    move = registration(lower[[0, -1]], top[[-1, 0]])
    laid = move(lower)
    gap = np.abs(Polygon(np.vstack([laid, top])).area)
    # Two arcs of turn d/2 over a chord c enclose c^2 d / 12 for small d, with d in radians.
    assert gap == pytest.approx(chords[0] ** 2 * np.radians(7.0) / 12, rel=0.02)


@pytest.mark.parametrize("size", SIZES)
def test_the_mouth_is_one_curve_in_every_size(size: str) -> None:
    mouth, base = edge("front", size, "mouth"), edge("front", TOML["base"], "mouth")
    assert length(mouth) == pytest.approx(135.0, abs=1e-3)
    z, b = (line @ [1, 1j] for line in (mouth, base))
    turn = (z[-1] - z[0]) / (b[-1] - b[0])
    assert abs(turn) == pytest.approx(1.0, abs=1e-5)
    assert np.abs(z - z[0] - turn * (b - b[0])).max() < 5e-4


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("patch", "main", "place"),
    [("coin_pocket", "facing", "coin_place"), ("back_pocket", "back", "pocket_place")],
)
def test_places_of_patches_have_the_shape_of_the_patch(
    patch: str, main: str, place: str, size: str
) -> None:
    names = [e["name"] for e in raw(patch, size)["edges"] if e["name"] != "upper"]
    shape = Polygon(np.vstack([edge(patch, size, name)[:-1] for name in [*names, "upper"]]))
    (found,) = [x for x in raw(main, size)["lines"] if x["name"] == place]
    marked = Polygon(found["points"])
    assert marked.area == pytest.approx(shape.area, abs=0.05)
    assert marked.length == pytest.approx(shape.length, abs=5e-3)
    edges = [e["name"] for e in raw(main, size)["edges"] if "points" in e]
    lines = [LineString(edge(main, size, name)) for name in edges]
    assert min(line.distance(marked) for line in lines) > 10.0
    assert all(marked.contains(Point(d["point"])) for d in raw(main, size)["drills"])


@pytest.mark.parametrize("size", SIZES)
def test_the_band_is_an_arc_of_one_width_and_its_zones_are_the_runs(size: str) -> None:
    front, facing = length(edge("front", size, "waist")), facing_waist(size)
    yoke = length(edge("yoke", size, "waist"))
    for piece, zones in (
        ("band_right", [40.0, front, facing, yoke]),
        ("band_left", [yoke, facing, front]),
    ):
        lower, upper = edge(piece, size, "lower"), LineString(edge(piece, size, "upper"))
        marks = [m["name"] for m in raw(piece, size)["landmarks"]]
        at = [lower[0], *(mark(piece, size, name) for name in marks), lower[-1]]
        assert [part(lower, a, b) for a, b in pairwise(at)] == pytest.approx(zones, abs=5e-3)
        assert max(abs(upper.distance(Point(p)) - 38.0) for p in lower) < 0.02
