"""True an edge across its seams: the corner stays, the line runs on, the rest keeps its digits.

Angles are measured by the means of `tests.engine.measure` (a fit of bare points).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate import (
    Amount,
    EditError,
    NamedEdit,
    PatternSet,
    Raise,
    TakeIn,
    TrueEdge,
    apply_edits,
    load,
    run,
    walk,
)
from propagate.engine.edits.bending import Bend, angle_at, bend_edge, bend_to_angle
from propagate.io.folder import save
from propagate.pattern.model import Edge
from propagate.pattern.validate import find_problems
from tests.builders import tiny_set
from tests.engine import measure
from tests.examples import examples
from tests.shared import demo

TROUSER, GILET = "slant_trouser", "workshop_gilet"
RUNS_ON_DEG = 0.1
FITTED_DEG = 0.5
"""What two ways to read a direction from the same 15 mm may differ by."""


def edited(source: PatternSet, *edits: object) -> PatternSet:
    """What edits leave at the corners, and what `true` makes of it: no more is trued here."""
    named = [NamedEdit(str(i), edit) for i, edit in enumerate(edits)]
    return apply_edits(source, named, sizes=[source.base], corners="left").pattern


def by(mm: float) -> Amount:
    return Amount(mm=mm)


CLOSER = TakeIn(edge="full_front.side", by=by(10.0), at="waist", to=("hip",), both=True)


def corner(pattern: PatternSet, piece: str, before: str, after: str) -> float:
    """Angle inside a piece between two edges that follow each other, degrees."""
    sized = pattern.sized(piece, pattern.base)
    arriving = measure.end_tangent(sized.edge(before).points, "end")
    leaving = measure.end_tangent(sized.edge(after).points, "start")
    return float(np.degrees(np.pi - (leaving - arriving)) % 360.0)


def walked(pattern: PatternSet, seam: str, end: str) -> float:
    """The sum of the two corner angles at an end of a seam, degrees."""
    return next(
        check.first
        for check in walk(pattern, pattern.base).of("corner")
        if (check.name, check.end) == (seam, end)
    )


# ------------------------------------------------------------------------- the bend


@given(turn=st.floats(-0.2, 0.2), over=st.floats(40.0, 180.0))
@examples(30)
def test_a_bend_turns_the_corner_and_fades_out(turn: float, over: float) -> None:
    """Of a straight edge: the slope is the tangent of the turn, then nothing after the fade.

    No curve that starts with a slope s and fades out over f can do with a curvature below
    2.41 s / f (two arcs, by hand); a cubic needs 4 s / f.
    """
    edge = Edge("top", np.array([[200.0, 300.0], [0.0, 300.0]]))  # the piece lies below
    new, stretches = bend_edge(edge, {"start": Bend(over, turn)})
    assert (new.points[[0, -1]] == edge.points[[0, -1]]).all()
    along, down = 200.0 - new.points[:, 0], 300.0 - new.points[:, 1]
    slopes = np.diff(down) / np.diff(along)
    step = float(np.diff(along)[0])
    assert abs(slopes[0] + np.tan(turn)) < 2.7 * abs(np.tan(turn)) * step / over + 1e-5
    assert (new.points[along > over + 1e-6, 1] == 300.0).all()
    if abs(turn) > 0.01:
        bends = np.abs(np.diff(slopes)) / step
        assert bends[np.diff(along)[1:] > 0.99 * step].max() < 2.7 * abs(np.tan(turn)) / over
    ends = stretches[0].here[0], stretches[-1].here[1]
    assert ends == (0.0, pytest.approx(new.length, abs=1e-9))
    assert stretches[-1].kept


@pytest.mark.parametrize("end", ["start", "end"])
@pytest.mark.parametrize("wanted", [80.0, 89.0, 97.5])
def test_a_corner_gets_the_angle_that_is_asked_for(end: str, wanted: float) -> None:
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0]])
    names = ("hem", "side", "top", "centre")
    square = [Edge(n, corners[[i, (i + 1) % 4]]) for i, n in enumerate(names)]
    bend = bend_to_angle(square, square[2], end, 90.0, wanted)
    new, _ = bend_edge(square[2], {end: bend})
    assert abs(angle_at(square, new, end) - wanted) < 0.01
    points = new.points if end == "start" else new.points[::-1]
    fitted = measure.end_tangent(points, "start")
    level = np.pi if end == "start" else 0.0
    turned = np.degrees(fitted - level) * (-1.0 if end == "start" else 1.0)
    assert abs((turned + 180.0) % 360.0 - 180.0 - (wanted - 90.0)) < FITTED_DEG


# ------------------------------------------------------------------- what edits leave


def test_a_waist_runs_on_across_the_side_after_it_was_taken_in() -> None:
    """The corners add up to 191.8°; each waist takes half, and the rest keeps its digits."""
    source = demo(TROUSER)
    taken = edited(source, CLOSER)
    assert walked(taken, "side_seam", "start") > 183.0
    trued = edited(taken, TrueEdge(edge="full_front.waist"))
    assert abs(walked(trued, "side_seam", "start") - 180.0) < RUNS_ON_DEG
    was = corner(taken, "back", "side", "waist"), corner(taken, "facing", "waist", "side")
    now = corner(trued, "back", "side", "waist"), corner(trued, "facing", "waist", "side")
    assert abs(sum(now) - 180.0) < FITTED_DEG
    for before, after in zip(was, now, strict=True):
        assert abs((before - after) - (sum(was) - 180.0) / 2.0) < FITTED_DEG
    old, new = (p.sized("back", p.base) for p in (taken, trued))
    for edge in ("side", "hem", "inseam", "centre"):
        assert old.edge(edge) == new.edge(edge)
    leg = old.distance("waist", "dart_out")
    first = old.edge("waist").arc
    beyond = {tuple(p) for p in old.edge("waist").points[first >= max(leg, first[-1] / 2) + 1e-6]}
    if leg > first[-1] / 2:
        beyond = {tuple(p) for p in old.edge("waist").points[first <= leg - 1e-6]}
    assert beyond <= {tuple(p) for p in new.edge("waist").points}
    assert old.darts == new.darts
    assert walk(trued).sews
    assert not find_problems(trued)


def test_a_centre_back_is_trued_on_both_halves_alike() -> None:
    """A waist raised by 15 mm at the centre back, straight: 83.8° twice is a peak of 12.4°."""
    raised = edited(demo(TROUSER), Raise(edge="back.waist", by=by(15.0), at="end", to=("start",)))
    assert abs(walked(raised, "centre_back", "start") - 180.0) > 10.0
    trued = edited(raised, TrueEdge(edge="back.waist", at="end"))
    assert abs(walked(trued, "centre_back", "start") - 180.0) < RUNS_ON_DEG
    assert abs(corner(trued, "back", "waist", "centre") - 90.0) < FITTED_DEG


@given(mm=st.floats(1.0, 14.0), which=st.sampled_from(["neck", "armhole"]))
@examples(6, deadline=None)
def test_whatever_was_taken_in_the_line_runs_on_and_twice_is_once(mm: float, which: str) -> None:
    source = demo(GILET)
    edit = TakeIn(edge="upper_front.shoulder", by=by(mm), at="start", to=("end",))
    if which == "armhole":
        edit = TakeIn(edge="upper_front.armhole", by=by(mm), at="start", to=("end",))
    true = TrueEdge(edge=f"upper_front.{which}")
    taken = edited(source, edit)
    trued = edited(taken, true)
    for check in walk(trued, trued.base).of("corner"):
        if f"upper_front.{which}" in check.sides:
            assert abs(check.first - 180.0) < RUNS_ON_DEG, check
    for piece in ("upper_front", "upper_back"):
        old, new = (p.sized(piece, p.base) for p in (taken, trued))
        for was, now in zip(old.edges, new.edges, strict=True):
            assert (was.points[[0, -1]] == now.points[[0, -1]]).all()  # every corner stays
            assert was == now or was.name == which
            assert abs(was.length - now.length) < 0.02 * was.length
    assert walk(trued).sews
    again = edited(trued, true)
    for piece in trued.pieces:
        assert again.pieces[piece] == trued.pieces[piece] or all(
            again.sized(piece, size) == trued.sized(piece, size) for size in trued.sizes
        )


def test_where_nothing_was_edited_nothing_changes() -> None:
    source = demo(TROUSER)
    for edge in ("full_front.hem", "back.hem", "full_front.waist"):
        result = run(source, TrueEdge(edge=edge))
        for piece in source.pieces:
            assert result.pattern.sized(piece, source.base) == source.sized(piece, source.base)
        assert "runs on smoothly already" in result.record.changes[0].what


def test_it_does_not_matter_which_side_of_the_seam_leads() -> None:
    taken = edited(demo(TROUSER), CLOSER)
    seam = taken.relations.seams["side_seam"]
    crossing = {end: (b, a) for end, (a, b) in seam.crossing.items()}
    turned = replace(
        seam,
        lead=seam.follow,
        follow=seam.lead,
        crossing=crossing,
        notches=tuple((b, a) for a, b in seam.notches),
    )
    relations = replace(taken.relations, seams={**taken.relations.seams, "side_seam": turned})
    ways = [
        edited(one, TrueEdge(edge=edge))
        for one in (taken, replace(taken, relations=relations))
        for edge in ("full_front.waist", "back.waist")
    ]
    for one in ways[1:]:
        for piece, edge in (("back", "waist"), ("facing", "waist"), ("front", "waist")):
            first, other = (p.sized(piece, p.base).edge(edge).points for p in (ways[0], one))
            assert np.abs(measure.nearest(first, other)).max() < 0.02


def test_alone_the_mate_keeps_every_digit() -> None:
    taken = edited(demo(TROUSER), CLOSER)
    trued = edited(taken, TrueEdge(edge="full_front.waist", alone=True))
    assert trued.sized("back", "42") == taken.sized("back", "42")
    assert abs(walked(trued, "side_seam", "start") - 180.0) < RUNS_ON_DEG


def test_the_amounts_are_in_the_record() -> None:
    taken = edited(demo(TROUSER), CLOSER)
    record = run(taken, TrueEdge(edge="full_front.waist")).record
    (row,) = record.edit["corners"]
    assert (row["seam"], row["end"]) == ("side_seam", "start")
    assert row["before_deg"] == pytest.approx(walked(taken, "side_seam", "start"), abs=0.1)
    shares = row["turned_deg"]
    assert set(shares) == {"full_front.waist", "back.waist"}
    assert sum(shares.values()) == pytest.approx(180.0 - row["before_deg"], abs=1e-9)


# ------------------------------------------------------------------ a peak that is meant


def peaked(source: PatternSet, seam: str, *ends: str) -> PatternSet:
    one = replace(source.relations.seams[seam], peak=ends)
    seams = {**source.relations.seams, seam: one}
    return replace(source, relations=replace(source.relations, seams=seams))


def test_a_peak_that_is_meant_is_left_and_not_told(tmp_path) -> None:
    taken = peaked(edited(demo(TROUSER), CLOSER), "side_seam", "start")
    check = next(c for c in walk(taken).of("corner") if (c.name, c.end) == ("side_seam", "start"))
    assert check.verdict == "sews"
    assert "a peak that is meant" in check.what
    with pytest.raises(EditError, match="a peak meant"):
        run(taken, TrueEdge(edge="full_front.waist"))
    save(taken, tmp_path / "peaked")
    assert load(tmp_path / "peaked").relations.seams["side_seam"].peak == ("start",)


@pytest.mark.parametrize("ends", [("top",), ("start", "start2")])
def test_a_peak_is_at_an_end_with_a_crossing(ends: tuple[str, ...]) -> None:
    wrong = find_problems(peaked(tiny_set(), "side_seam", *ends))
    assert any("seam 'side_seam', peak" in text for text in wrong)


# ------------------------------------------------------------------------- refusals


def test_what_cannot_be_trued_is_refused() -> None:
    source = demo(TROUSER)
    with pytest.raises(EditError, match="found no seam across which edge 'side' runs on"):
        run(source, TrueEdge(edge="full_front.side"))
    taken = edited(source, CLOSER)
    with pytest.raises(EditError, match="expected 20 mm at least"):
        run(taken, TrueEdge(edge="full_front.waist", at="end", to="end"))
    steep = edited(
        source, Raise(edge="back.waist", by=by(70.0), at="end", to=("start",), taper="straight")
    )
    assert abs(walked(steep, "centre_back", "start") - 180.0) > 30.0
    with pytest.raises(EditError, match="a line that is meant to turn there is a 'peak'"):
        run(steep, TrueEdge(edge="back.waist", at="end"))


def test_a_bend_whose_line_is_made_finer_twice_is_done() -> None:
    """A line that was made finer once may be made finer again; every vertex has its like."""
    gilet = demo("workshop_gilet")
    edit = TrueEdge(edge="upper_back.armhole", alone=True, size="118")
    piece = run(gilet, edit).pattern.sized("upper_back", "118")
    assert shapely.Polygon(piece.outline).is_valid
