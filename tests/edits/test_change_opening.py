"""An opening that is changed: judged by numpy and shapely on the new and the old outline."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, ChangeOpening, NamedEdit, PropagateError
from propagate.engine.tape import tape
from tests.examples import examples
from tests.shared import demo

SETS = {
    "slant_trouser": ("front_pocket", "front", "mouth", "full_front", "waist", "side"),
    "scoop_skirt": ("scoop_pocket", "skirt_front", "scoop", "full_front", "top", "flank"),
}


def mouth(pattern, name: str, size: str) -> np.ndarray:
    _, piece, edge, *_ = SETS[name]
    return pattern.sized(piece, size).edge(edge).points


def degrees(points: np.ndarray) -> float:
    return float(np.degrees(np.arctan2(*(points[-1] - points[0])[::-1])))


def length(points: np.ndarray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def check(old, new, name: str, size: str) -> None:
    """Its ends lie on the outline as it was, and that did not change; what is sewn still sews."""
    _, _, _, silhouette, across, side = SETS[name]
    was, now = tape(old, silhouette, size), tape(new, silhouette, size)
    line = mouth(new, name, size)
    for edge, end in ((across, line[0]), (side, line[-1])):
        lines = [shapely.LineString(taped.edge(edge).points) for taped in (was, now)]
        assert lines[0].distance(shapely.Point(end)) < 0.01
        assert lines[0].hausdorff_distance(lines[1]) < 0.05
    before = {
        (c.kind, c.name, c.what)
        for c in propagate.walk(old, cut_lines=False).checks
        if c.verdict != "sews"
    }
    after = {
        (c.kind, c.name, c.what)
        for c in propagate.walk(new, cut_lines=False).checks
        if c.verdict != "sews"
    }
    assert after <= before


@pytest.mark.parametrize("name", SETS)
def test_a_longer_one_keeps_its_end_on_the_crossing_edge(name: str) -> None:
    old = demo(name)
    sizes = (old.sizes[0], old.base, old.sizes[-1])
    edit = ChangeOpening(opening=SETS[name][0], to=Amount(share=1.05))
    found = propagate.apply_edits(old, [NamedEdit("longer", edit)], sizes=sizes)
    assert found.sews
    for size in sizes:
        was, now = (mouth(p, name, size) for p in (old, found.pattern))
        assert length(now) == pytest.approx(1.05 * length(was), abs=0.02)
        assert now[0] == pytest.approx(was[0], abs=1e-5)
        check(old, found.pattern, name, size)


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("along", [10.0, -8.0])
def test_one_that_is_moved_along_keeps_its_length(name: str, along: float) -> None:
    old = demo(name)
    edit = ChangeOpening(opening=SETS[name][0], along=Amount(mm=along))
    result = propagate.run(old, edit)
    assert result.sews
    was, now = (mouth(p, name, old.base) for p in (old, result.pattern))
    assert length(now) == pytest.approx(length(was), abs=0.02)
    _, _, _, silhouette, across, side = SETS[name]
    taped = tape(old, silhouette, old.base)
    line = shapely.LineString(taped.edge(across).points)
    ends = [shapely.Point(points[0]) for points in (was, now)]
    corner = shapely.LineString(taped.edge(side).points).intersection(line)
    gone = [abs(line.project(end) - line.project(corner)) for end in ends]
    assert gone[1] - gone[0] == pytest.approx(along, abs=0.01)
    check(old, result.pattern, name, old.base)


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("turn", [3.0, -3.0])
def test_one_that_is_turned_keeps_its_length_and_has_its_angle(name: str, turn: float) -> None:
    old = demo(name)
    result = propagate.run(old, ChangeOpening(opening=SETS[name][0], turn=turn))
    was, now = (mouth(p, name, old.base) for p in (old, result.pattern))
    assert abs(degrees(now) - degrees(was)) == pytest.approx(3.0, abs=0.01)
    assert length(now) == pytest.approx(length(was), abs=0.02)
    # Above 0 it runs more like the side: its end on the crossing edge comes nearer to it.
    side = shapely.LineString(tape(old, SETS[name][3], old.base).edge(SETS[name][5]).points)
    near = [side.distance(shapely.Point(points[0])) for points in (was, now)]
    assert (near[1] < near[0]) is (turn > 0)
    check(old, result.pattern, name, old.base)


def test_the_layers_follow_and_nothing_else_is_touched() -> None:
    old = demo("slant_trouser")
    new = propagate.run(old, ChangeOpening(opening="front_pocket", to=Amount(mm=180.0))).pattern
    for name in old.pieces:
        same = new.sized(name, "42") is old.sized(name, "42")
        assert same is (name not in ("front", "facing", "under_bag", "top_bag"))
    assert length(new.sized("top_bag", "42").edge("mouth").points) == pytest.approx(180.0, abs=0.02)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"opening": "front_pokket", "turn": 1.0}, "did you mean 'front_pocket'"),
        ({}, "one of 'to', 'along' and 'turn'"),
        ({"to": Amount(mm=180), "along": Amount(mm=5), "turn": 1.0}, "two of them"),
        ({"to": Amount(mm=900)}, "the nearest possible is 184"),
        ({"to": Amount(mm=20)}, "the nearest possible is "),
        ({"to": Amount(mm=-20)}, "at least 5 mm"),
        ({"along": Amount(mm=400)}, "nearest is along = "),
        ({"turn": 60.0}, "the nearest possible is 11.5°"),
    ],
)
def test_what_cannot_be_is_said(said, words: str) -> None:
    old = demo("slant_trouser")
    with pytest.raises(PropagateError) as error:
        propagate.run(old, ChangeOpening(**{"opening": "front_pocket", **said}))
    assert words in str(error.value)


@examples(8)
@given(st.floats(140.0, 182.0), st.floats(-12.0, 12.0))
def test_there_and_back_is_where_it_was(to: float, along: float) -> None:
    old = demo("slant_trouser")
    there = ChangeOpening(opening="front_pocket", along=Amount(mm=along))
    back = ChangeOpening(opening="front_pocket", along=Amount(mm=-along))
    edits = [
        ChangeOpening(opening="front_pocket", to=Amount(mm=to)),
        ChangeOpening(opening="front_pocket", to=Amount(mm=165.0)),
        there,
        back,
    ]
    pattern = old
    try:
        for edit in edits:
            pattern = propagate.run(pattern, edit).pattern
    except PropagateError:
        return  # the way there is refused
    for name in ("front", "facing"):
        for edge in old.sized(name, "42").edges:
            was, now = (
                shapely.LineString(p.sized(name, "42").edge(edge.name).points)
                for p in (old, pattern)
            )
            assert was.hausdorff_distance(now) < 0.05, (name, edge.name)
