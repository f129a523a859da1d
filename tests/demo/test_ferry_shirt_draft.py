"""The drafted shirt: what its files say, and redrafts of it as the judge of edits.

Lengths and distances are shapely's.  Trade facts (seams that run on squarely, a cap with its ease
above the notches, buttons evenly spaced) are common practice, no source.
"""

from __future__ import annotations

import math
import runpy
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from demo_sets.ferry_shirt import draft as drafting
from propagate import Amount, BlendLevels
from propagate.engine.applying import NamedEdit, apply_edits
from propagate.engine.edits.lengthen import Lengthen
from propagate.engine.edits.move_mark import MoveMark
from propagate.engine.edits.raise_edge import Lower
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.edits.take_in import LetOut, TakeIn
from propagate.engine.walk import walk
from propagate.io.geometry_json import dump_piece
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.cli.conftest import run
from tests.shared import demo

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "ferry_shirt"
SIZES = ("37", "38", "39", "40", "41", "42", "43", "44")
BANDS = ("buttonhole_band", "button_band")


def line(edge: Edge) -> shapely.LineString:
    return shapely.LineString(edge.points)


def stretches(piece: SizedPiece, edge: str, marks: tuple[str, ...]) -> np.ndarray:
    """Lengths between the start of an edge, some marks on it, and its end."""
    whole = line(piece.edge(edge))
    places = [whole.project(shapely.Point(piece.landmark(mark).point)) for mark in marks]
    return np.diff(sorted([0.0, *places, whole.length]))


def laid(piece: SizedPiece, on: str) -> dict[str, np.ndarray]:
    """Points of every edge with the start of an edge at zero and its chord upright."""
    chord = piece.edge(on).points
    way = (chord[-1] - chord[0]) / np.hypot(*(chord[-1] - chord[0]))
    turn = np.array([[way[1], -way[0]], [way[0], way[1]]])
    return {edge.name: (edge.points - chord[0]) @ turn.T for edge in piece.edges}


def gap(one: SizedPiece, other: SizedPiece, on: str) -> float:
    """The farthest that two pieces are apart, edge by edge, laid on one of their edges, mm."""
    first, second = laid(one, on), laid(other, on)
    return max(
        float(
            shapely.hausdorff_distance(
                shapely.LineString(first[name]), shapely.LineString(second[name])
            )
        )
        for name in first
    )


def test_the_files_are_what_the_draft_draws() -> None:
    for name, piece in runpy.run_path(str(HOME / "draft.py"))["build"]().items():
        assert (HOME / "geometry" / f"{name}.json").read_text("utf-8") == dump_piece(piece), name


@pytest.mark.parametrize("size", SIZES)
def test_it_is_as_its_readme_tells(size: str) -> None:
    pattern = demo("ferry_shirt")
    on = {name: pattern.sized(name, size) for name in pattern.pieces}
    cap = stretches(on["sleeve"], "cap", ("front_notch", "top", "back_notch"))
    front = stretches(on["front"], "armhole", ("front_notch",))
    back = stretches(on["back"], "armhole", ("back_notch",))[::-1]  # drawn mirrored
    over = stretches(on["yoke"], "armhole", ("arm_notch",))
    wanted = (front[0], front[1] + over[1] + 5.0, over[0] + back[1] + 7.0, back[0])
    assert cap == pytest.approx(wanted, abs=0.02)
    chart = {row: values[size] for row, values in pattern.chart.items()}
    found = {row.name: row.second for row in walk(pattern, size, cut_lines=False).of("girth")}
    for girth, ease in (("waist", 170.0), ("hip", 110.0)):
        assert found[girth] + 30.0 - chart[girth] == pytest.approx(ease, abs=0.01)
    assert found["bust"] + 30.0 - chart["bust"] == pytest.approx(120.0, abs=5.0)  # below the arm
    neck = 2 * (line(on["stand"].edge("neck")).length - 15.0)
    assert neck - chart["neck"] == pytest.approx(16.0, abs=0.01)


@pytest.mark.parametrize("size", SIZES)
def test_buttons_lie_evenly_and_on_their_holes(size: str) -> None:
    assert_buttons_are_even(demo("ferry_shirt"), size)


def assert_buttons_are_even(pattern: PatternSet, size: str) -> None:
    """As few as lie at most 92 mm apart, 62 mm from the neck and 150 mm from the hem."""
    holes, buttons = (pattern.sized(name, size) for name in BANDS)
    high = line(holes.edge("sewn")).length
    count = math.ceil((high - 62.0 - 150.0) / 92.0) + 1
    wanted = np.linspace(150.0, high - 62.0, count)
    low = line(holes.edge("hem"))
    on_holes = sorted(
        low.distance(shapely.LineString(hole.points).centroid) for hole in holes.lines
    )
    low = line(buttons.edge("hem"))
    on_buttons = sorted(low.distance(shapely.Point(mark.point)) for mark in buttons.drills)
    assert on_holes == pytest.approx(wanted, abs=0.02)
    assert on_buttons == pytest.approx(wanted, abs=0.02)


def test_everything_sews_in_every_size() -> None:
    for size in SIZES:
        checks = walk(demo("ferry_shirt"), size, cut_lines=False).checks
        assert {check.verdict for check in checks if check.kind != "girth"} == {"sews"}
        apart = [c.difference for c in checks if c.kind in ("seam", "notches", "band")]
        assert max(map(abs, apart)) < 0.01


@pytest.mark.parametrize("sizes", [*permutations(("38", "41", "43")), ("37", "44", "37")])
def test_blends_by_level_sew_and_have_their_girths(sizes: tuple[str, str, str]) -> None:
    pattern = demo("ferry_shirt")
    levels = dict(zip(("bust", "waist", "hip"), sizes, strict=True))
    result = propagate.run(pattern, BlendLevels(levels))
    walked = walk(result.pattern)
    assert result.sews
    for kind in ("seam", "notches", "band"):
        assert max(abs(check.difference) for check in walked.of(kind)) < 0.05
    assert_buttons_are_even(result.pattern, result.pattern.base)
    for girth in walked.of("girth"):
        own = {
            row.name: row.second
            for row in walk(pattern, levels[girth.name], cut_lines=False).of("girth")
        }
        assert girth.second == pytest.approx(
            own[girth.name], abs=1.0 if girth.name == "bust" else 0.01
        )


# --- edits, judged by drafting anew -------------------------------------------


def test_a_longer_body_is_as_drafted_longer() -> None:
    """The side's curve ends on the hip; the engine runs it on over the gap, a free choice of some
    tenths of a millimetre.  The bands follow as drafted."""
    edit = Lengthen(level="hip", by=Amount(mm=30.0))
    result = propagate.run(demo("ferry_shirt"), edit)
    longer = drafting.build(edits={"longer": 30.0})
    for name, on in (("front", "edge"), ("back", "centre"), *((band, "sewn") for band in BANDS)):
        new = result.pattern.sized(name, "39")
        assert gap(new, longer[name].at("39"), on) < (0.01 if name in BANDS else 0.5), name
    assert_buttons_are_even(result.pattern, "39")
    holes, drawn = result.pattern.sized(BANDS[0], "39"), longer[BANDS[0]].at("39")
    assert len(holes.lines) == len(drawn.lines)


def test_a_lower_neck_gives_the_bands_stand_and_collar_of_a_draft_with_a_lower_neck() -> None:
    """The draft bends the whole stand anew, the engine where it grows: that is a free choice, and
    moves its end by some tenths of a millimetre."""
    edit = Lower(edge="front.neck", by=Amount(mm=8.0), at="end", to=("start",))
    result = propagate.run(demo("ferry_shirt"), edit)
    deeper = drafting.build(edits={"deeper": 8.0})
    assert result.sews
    for name, on in (("stand", "centre"), ("collar", "centre"), *((b, "sewn") for b in BANDS)):
        new, old = result.pattern.sized(name, "39"), demo("ferry_shirt").sized(name, "39")
        assert gap(new, deeper[name].at("39"), on) < 0.5, name
        assert gap(old, deeper[name].at("39"), on) > 2.0, name


def test_a_closer_waist_is_as_drafted_closer() -> None:
    edit = TakeIn(edge="front.side", by=Amount(mm=8.0), at="waist", to=("end", "hip"), both=True)
    result = propagate.run(demo("ferry_shirt"), edit)
    closer = drafting.build(edits={"waist_in": 8.0})
    for name, on in (("front", "edge"), ("back", "centre")):
        assert gap(result.pattern.sized(name, "39"), closer[name].at("39"), on) < 0.5, name


@pytest.mark.parametrize(
    "edit",
    [
        TakeIn(edge="front.side", by=Amount(mm=5.0), both=True),
        LetOut(edge="front.side", by=Amount(mm=8.0), at="end", to=("waist",), both=True),
        TakeIn(edge="front.armhole", by=Amount(mm=4.0), at="front_notch", to=("start", "end")),
        TakeIn(edge="back.armhole", by=Amount(mm=4.0), at="back_notch", to=("start", "end")),
        Lower(edge="back.yoke", by=Amount(mm=8.0)),
        Lengthen(level="bust", by=Amount(mm=10.0)),
        MoveMark(mark="front.front_notch", by=Amount(mm=10.0)),
    ],
    ids=lambda edit: f"{edit.word} {edit.said().get('edge', '')}",
)
def test_the_cap_has_its_ease_where_it_was_said_after_any_edit(edit: SizedEdit) -> None:
    changed = apply_edits(demo("ferry_shirt"), [NamedEdit("it", edit)], sizes=("37", "39", "44"))
    for size in ("37", "39", "44"):
        on = {name: changed.pattern.sized(name, size) for name in changed.pattern.pieces}
        cap = stretches(on["sleeve"], "cap", ("front_notch", "top", "back_notch"))
        front = stretches(on["front"], "armhole", ("front_notch",))
        back = stretches(on["back"], "armhole", ("back_notch",))[::-1]
        over = stretches(on["yoke"], "armhole", ("arm_notch",))
        sewn = np.array([front[0], front[1] + over[1], over[0] + back[1], back[0]])
        assert cap - sewn == pytest.approx([0.0, 5.0, 7.0, 0.0], abs=0.1), size


def test_the_edit_file_runs_on_the_whole_nest(tmp_path: Path) -> None:
    out = tmp_path / "changed"
    done = run("apply", str(HOME), str(HOME / "edits.toml"), "-o", str(out))
    assert done.exit_code == 0, done.output
    changed: PatternSet = propagate.load(out)
    assert propagate.review(changed) == ()
    for size in SIZES:
        walked = walk(changed, size, cut_lines=False)
        assert walked.sews
        for kind in ("seam", "notches", "band"):
            assert max(abs(check.difference) for check in walked.of(kind)) < 0.05, (size, kind)
        assert_buttons_are_even(changed, size)
