"""Marks that are moved: judged by the distance along the drawn line, and by shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, MoveMark, NamedEdit, PropagateError
from tests.builders import tiny_set
from tests.examples import examples
from tests.shared import demo


def place(pattern, key: str, size: str) -> float:
    """Distance of a mark along its edge, by shapely."""
    piece, _, name = key.partition(".")
    sized = pattern.sized(piece, size)
    mark = sized.landmark(name)
    return shapely.LineString(sized.edge(mark.edge).points).project(shapely.Point(mark.point))


@pytest.mark.parametrize(
    ("mark", "mate"),
    [
        ("front.knee_notch_side", "back.knee_notch_side"),  # the lead's
        ("back.knee_notch_inseam", "front.knee_notch_inseam"),  # the follower's
        ("top_bag.bag_notch", "under_bag.bag_notch"),  # of a seam that is only walked
    ],
)
def test_a_notch_and_its_mate_go_by_as_much(mark: str, mate: str) -> None:
    trousers = demo("slant_trouser")
    edit = MoveMark(mark=mark, by=Amount(mm=7.0))
    found = propagate.apply_edits(trousers, [NamedEdit("it", edit)], sizes=("38", "50"))
    assert found.sews
    for size in ("38", "50"):
        moved = {
            key: place(found.pattern, key, size) - place(trousers, key, size)
            for key in (mark, mate)
        }
        assert moved[mark] == pytest.approx(7.0, abs=0.01)
        assert moved[mate] == pytest.approx(-7.0, abs=0.05)  # drawn the other way round
    for name in trousers.pieces:
        was, now = trousers.sized(name, "38"), found.pattern.sized(name, "38")
        assert was.edges == now.edges
        if name not in (mark.partition(".")[0], mate.partition(".")[0]):
            assert now is was


def test_a_notch_is_put_on_a_level() -> None:
    trousers = demo("slant_trouser")
    result = propagate.run(trousers, MoveMark(mark="front.hip_notch", to="crotch"))
    piece = result.pattern.sized("front", "42")
    off = np.subtract(piece.landmark("hip_notch").point, piece.levels["crotch"])
    assert abs(float(off @ piece.grain.direction)) < 0.02


def test_drills_and_lines_go_along_and_across_the_grain() -> None:
    trousers = demo("slant_trouser")
    old = trousers.sized("back", "42")
    up = np.subtract(old.levels["waist"], old.levels["hip"]) @ old.grain.direction
    up = old.grain.direction * np.sign(up)
    right = np.array([up[1], -up[0]])
    by, across = Amount(mm=-12.0), Amount(mm=5.0)
    for name in ("welt_side", "welt"):
        edit = MoveMark(mark=f"back.{name}", by=by, across=across)
        new = propagate.run(trousers, edit).pattern.sized("back", "42")
        if name == "welt":
            gone = new.lines[0].points - old.lines[0].points
        else:
            gone = np.subtract(new.drills[0].point, old.drills[0].point)[None]
        assert gone == pytest.approx(np.tile(-12.0 * up + 5.0 * right, (len(gone), 1)), abs=1e-6)
        assert new.edges == old.edges and new.landmarks == old.landmarks


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (MoveMark(mark="front.hip_noch", by=Amount(mm=1.0)), "did you mean 'hip_notch'"),
        (MoveMark(mark="front.hip_notch"), "either 'by' or 'to'"),
        (MoveMark(mark="front.hip_notch", by=Amount(mm=1.0), to="knee"), "either 'by' or 'to'"),
        (MoveMark(mark="front.hip_notch", to="nee"), "knee"),
        (MoveMark(mark="front.hip_notch", by=Amount(mm=-900.0)), "nearest possible is by = -"),
        (MoveMark(mark="back.dart_in", by=Amount(mm=5.0)), "leg of a dart"),
        (MoveMark(mark="facing.mouth_top", by=Amount(mm=5.0)), "change the opening"),
        (MoveMark(mark="waistband.side_right", by=Amount(mm=5.0)), "ends a zone"),
        (MoveMark(mark="back.welt", to="hip"), "no 'to'"),
        (MoveMark(mark="back.welt_side", by=Amount(mm=400.0)), "nearest possible is"),
    ],
)
def test_what_cannot_be_is_said(edit, words: str) -> None:
    trousers = demo("slant_trouser")
    with pytest.raises(PropagateError) as error:
        propagate.run(trousers, edit)
    assert words in str(error.value)


@examples(15)
@given(st.floats(-60.0, 60.0), st.sampled_from(["front.hip_notch", "back.hip_notch"]))
def test_there_and_back_is_where_it_was(mm: float, mark: str) -> None:
    old = tiny_set()
    there = propagate.run(old, MoveMark(mark=mark, by=Amount(mm=mm)))
    back = propagate.run(there.pattern, MoveMark(mark=mark, by=Amount(mm=-mm)))
    for key in ("front.hip_notch", "back.hip_notch"):
        assert place(back.pattern, key, "38") == pytest.approx(place(old, key, "38"), abs=0.05)
