"""Darts swung, divided, moved, made wider or narrower: judged by rotation, folding and area."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, EditError, MoveDart, UnknownName
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth, PieceInfo
from propagate.pattern.validate import find_problems
from propagate.report.pdf.paper import paper_of
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.write import write_sheet
from tests import shared
from tests.darts.bodice import MOUTH, SIZES, bodice, laid, turned
from tests.darts.drawn import angle_of, cloth, leg_lengths, mouth_line, sewn, swung_to_side
from tests.darts.edits import divide, move, resize, swing
from tests.examples import examples


@pytest.fixture(scope="module")
def plain() -> PatternSet:
    return bodice()


def sews(pattern: PatternSet, near: float = 0.05) -> None:
    assert find_problems(pattern) == ()
    for check in propagate.walk(pattern, cut_lines=False).checks:
        if check.kind in ("seam", "notches", "band", "opening"):
            assert abs(check.difference) <= near, (check.kind, check.name, check.difference)


def legs_are_equal(piece: SizedPiece, near: float = 1e-5) -> None:
    for dart in piece.darts:
        first, second = leg_lengths(piece, dart.name)
        assert first == pytest.approx(second, abs=near), dart.name


# ------------------------------------------------------------------------------- swing


@pytest.mark.parametrize("share", [1.0, 0.35])
@pytest.mark.parametrize("edge", ["side", "armhole", "shoulder", "neck", "centre", "waist"])
def test_a_swing_keeps_lengths_areas_and_angles(plain: PatternSet, edge: str, share: float) -> None:
    """A rotation does: Euclid, Elements I.4, for the two parts that hang together at the tip."""
    old = plain.sized("front", "38")
    at = 0.62 * old.edge(edge).length if edge != "waist" else 190.0
    result = propagate.run(plain, swing("front", "waist_dart", edge, at, share=share))
    new = result.pattern.sized("front", "38")
    sews(result.pattern)
    legs_are_equal(new)
    assert cloth(new) == pytest.approx(cloth(old), abs=2e-3)
    for name in old.edge_names:
        assert sewn(new, name) == pytest.approx(sewn(old, name), abs=1e-5), name
    whole = angle_of(old, "waist_dart")
    angles = {dart.name: angle_of(new, dart.name) for dart in new.darts}
    assert sum(angles.values()) == pytest.approx(whole, abs=1e-5)
    swung = "waist_dart" if share == 1.0 else "waist_dart_2"
    assert angles[swung] == pytest.approx(share * whole, abs=1e-5)
    assert all(dart.tip == old.darts[0].tip for dart in new.darts)
    for mate in ("back", "skirt"):
        assert result.pattern.sized(mate, "38") is plain.sized(mate, "38")


def test_it_is_what_a_ruler_and_a_pin_make(plain: PatternSet) -> None:
    old = plain.sized("front", "38")
    by_hand = swung_to_side(old, 0.6)
    at = 0.6 * old.edge("side").length
    new = propagate.run(plain, swing("front", "waist_dart", "side", at)).pattern.sized(
        "front", "38"
    )
    for edge in ("armhole", "shoulder", "neck", "centre"):
        assert new.edge(edge) is old.edge(edge)
    (mine,), (theirs,) = new.darts, by_hand.darts
    for a, b in zip(mine.legs, theirs.legs, strict=True):
        gap = np.subtract(new.landmark(a).point, by_hand.landmark(b).point)
        assert np.hypot(*gap) <= 1e-5
    assert (
        np.hypot(*np.subtract(new.landmark("balance").point, by_hand.landmark("balance").point))
        <= 1e-5
    )
    # Beside the mouth, whose cap is cut, the outlines are one.
    area = shapely.Polygon(new.outline).symmetric_difference(shapely.Polygon(by_hand.outline))
    mouth = shapely.LineString([by_hand.landmark(leg).point for leg in theirs.legs])
    assert area.difference(mouth.buffer(12.0)).area <= 1e-2


@pytest.mark.parametrize("edge", ["side", "shoulder", "armhole"])
def test_the_cap_lies_on_the_edge_when_the_dart_is_folded(plain: PatternSet, edge: str) -> None:
    """Folded to one side and sewn, both layers of the cap end on the line of the edge."""
    old = plain.sized("front", "38")
    at = 0.55 * old.edge(edge).length
    result = propagate.run(plain, swing("front", "waist_dart", edge, at))
    new = result.pattern.sized("front", "38")
    (dart,) = new.darts
    cap = mouth_line(new, dart.name)
    tip = np.array(dart.tip)
    assert len(cap) % 2 == 1 and len(cap) >= 3
    line = shapely.LineString(new.edge(edge).points)
    peak = len(cap) // 2
    # The peak is on the fold: as far from one leg as from the other.
    assert np.hypot(*(cap[peak] - cap[0])) == pytest.approx(
        np.hypot(*(cap[peak] - cap[-1])), abs=1e-5
    )
    first, last = ((leg - tip) @ np.array([1.0, 1j]) for leg in (cap[0], cap[-1]))
    near, far = ((part - tip) @ np.array([1.0, 1j]) for part in (cap[1 : peak + 1], cap[peak:-1]))
    closing = np.angle(first / last)

    def mirrored(z: npt.NDArray[np.complex128], leg: complex) -> npt.NDArray[np.complex128]:
        return np.asarray((z / (leg / abs(leg))).conj() * (leg / abs(leg)))

    to_start = [mirrored(near, first), far * np.exp(1j * closing)]
    to_end = [mirrored(far, last), near * np.exp(-1j * closing)]
    off = [
        max(
            line.distance(shapely.Point(tip + np.array([w.real, w.imag])))
            for z in layers
            for w in z
        )
        for layers in (to_start, to_end)
    ]
    assert min(off) <= 1e-4, off


def test_a_lining_drawn_alike_is_the_front_in_its_own_frame(plain: PatternSet) -> None:
    for edit in (
        swing("front", "waist_dart", "shoulder", 60.0, share=0.5),
        move("front", "waist_dart", 25.0),
        divide("front", "waist_dart", 40.0),
        resize("front", "waist_dart", 5.0),
    ):
        result = propagate.run(plain, edit)
        front, lining = (result.pattern.sized(name, "38") for name in ("front", "lining"))
        redraft = laid(front, 31.0, (700.0, -80.0))
        areas = [shapely.Polygon(piece.outline) for piece in (redraft, lining)]
        assert areas[0].symmetric_difference(areas[1]).area <= 0.2
        assert len(lining.darts) == len(front.darts)
        for mine, theirs in zip(lining.darts, redraft.darts, strict=True):
            assert np.hypot(*np.subtract(mine.tip, theirs.tip)) <= 0.01
        sews(result.pattern)


def in_frame(pattern: PatternSet, put: Callable[[SizedPiece], SizedPiece]) -> PatternSet:
    pieces = {
        n: Piece(n, {s: put(p) for s, p in piece.nest.items()})
        for n, piece in pattern.pieces.items()
    }
    return replace(pattern, pieces=pieces)


def test_the_frame_does_not_matter(plain: PatternSet) -> None:
    other = in_frame(plain, lambda piece: laid(piece, 123.0, (5000.0, -900.0)))
    for edit in (
        swing("front", "waist_dart", "side", 100.0, share=0.6),
        divide("front", "waist_dart", 45.0, share=0.6),
        resize("front", "waist_dart", -5.0),
    ):
        here, there = (propagate.run(p, edit).pattern.sized("front", "38") for p in (plain, other))
        moved = laid(here, 123.0, (5000.0, -900.0))
        for a, b in zip(moved.edges, there.edges, strict=True):
            assert a.points.shape == b.points.shape and np.abs(a.points - b.points).max() <= 1e-5


@examples(25)
@given(
    share=st.floats(0.05, 1.0),
    place=st.floats(0.1, 0.9),
    edge=st.sampled_from(["side", "armhole", "shoulder"]),
)
def test_any_swing_keeps_what_a_rotation_keeps(share: float, place: float, edge: str) -> None:
    plain = bodice(lining=False)
    old = plain.sized("front", "38")
    edit = swing("front", "waist_dart", edge, place * old.edge(edge).length, share=share)
    new = propagate.run(plain, edit).pattern.sized("front", "38")
    assert cloth(new) == pytest.approx(cloth(old), abs=2e-3)
    legs_are_equal(new)
    for name in old.edge_names:
        assert sewn(new, name) == pytest.approx(sewn(old, name), abs=1e-5)


def test_a_dart_swung_there_and_back_is_as_it_was(plain: PatternSet) -> None:
    there = propagate.run(plain, swing("front", "waist_dart", "side", 110.0)).pattern
    back = propagate.run(there, swing("front", "waist_dart", "waist", 103.0)).pattern
    for name in ("front", "lining"):
        old, new = plain.sized(name, "38"), back.sized(name, "38")
        mouths = shapely.union_all(
            [shapely.LineString(mouth_line(p, "waist_dart")).buffer(3.0) for p in (old, new)]
        )
        area = shapely.Polygon(old.outline).symmetric_difference(shapely.Polygon(new.outline))
        assert area.difference(mouths).area <= 0.5
        for a, b in zip(old.darts[0].legs, new.darts[0].legs, strict=True):
            assert np.hypot(*np.subtract(old.landmark(a).point, new.landmark(b).point)) <= 0.05


def test_what_stays_may_be_said(plain: PatternSet) -> None:
    """The two ways differ by a motion of the whole piece."""
    old = plain.sized("front", "38")
    found = {}
    for stays in ("centre", "armhole"):
        edit = swing("front", "waist_dart", "shoulder", 60.0, stays=stays)
        found[stays] = propagate.run(plain, edit).pattern.sized("front", "38")
        assert found[stays].edge(stays) is old.edge(stays)
    angle = angle_of(old, "waist_dart")
    a, b = found["centre"].outline, found["armhole"].outline
    assert len(a) == len(b)
    assert np.abs(turned(a, angle, old.darts[0].tip) - b).max() <= 1e-4


def test_a_drill_mark_in_the_dart_goes_with_it() -> None:
    skirt = shared.demo("scoop_skirt")
    old = skirt.sized("skirt_back", "M")
    new = propagate.run(skirt, swing("skirt_back", "back_dart", "cb", 300.0)).pattern.sized(
        "skirt_back", "M"
    )
    (dart,) = new.darts
    mark = next(d for d in new.drills if d.name == "dart_drill")
    was = next(d for d in old.drills if d.name == "dart_drill")
    legs = [new.landmark(leg).point for leg in dart.legs]
    assert shapely.Polygon([*legs, dart.tip]).contains(shapely.Point(mark.point))
    away = [np.hypot(*np.subtract(p, dart.tip)) for p in (mark.point, was.point)]
    assert away[0] == pytest.approx(away[1], abs=1e-6)


# -------------------------------------------------------------------- move, divide, resize


@pytest.mark.parametrize("by", [30.0, -22.5, 24.0])
def test_a_moved_dart_is_the_same_triangle_elsewhere(plain: PatternSet, by: float) -> None:
    old = plain.sized("front", "38")
    result = propagate.run(plain, move("front", "waist_dart", by))
    new = result.pattern.sized("front", "38")
    sews(result.pattern)
    for leg in ("dart_in", "dart_out"):
        gone = np.subtract(new.landmark(leg).point, old.landmark(leg).point)
        assert gone == pytest.approx([by, 0.0], abs=1e-6)
    assert np.subtract(new.darts[0].tip, old.darts[0].tip) == pytest.approx([by, 0.0], abs=1e-6)
    assert sewn(new, "waist") == pytest.approx(sewn(old, "waist"), abs=1e-6)
    assert [e.name for e in new.edges if e is not old.edge(e.name)] == ["waist"]
    back = propagate.run(result.pattern, move("front", "waist_dart", -by)).pattern
    again = back.sized("front", "38")
    assert again.landmark("dart_in").point == pytest.approx(old.landmark("dart_in").point, abs=1e-6)


def test_two_darts_take_what_the_one_took(plain: PatternSet) -> None:
    old = plain.sized("front", "38")
    result = propagate.run(plain, divide("front", "waist_dart", 50.0, share=0.6))
    new = result.pattern.sized("front", "38")
    sews(result.pattern)
    legs_are_equal(new)
    first, second = new.darts
    assert (first.name, second.name) == ("waist_dart", "waist_dart_2")
    chords = [
        float(np.hypot(*np.subtract(*(new.landmark(leg).point for leg in d.legs))))
        for d in new.darts
    ]
    assert chords == pytest.approx([0.6 * MOUTH, 0.4 * MOUTH], abs=1e-6)
    middles = [np.mean([new.landmark(leg).point for leg in d.legs], axis=0) for d in new.darts]
    assert np.hypot(*(middles[1] - middles[0])) == pytest.approx(50.0, abs=1e-6)
    assert np.mean(middles, axis=0) == pytest.approx([115.0, 0.0], abs=1e-6)
    # Both are as deep as the one, so the angles add up but for what chords differ from arcs by.
    assert sum(angle_of(new, d.name) for d in new.darts) == pytest.approx(
        angle_of(old, "waist_dart"), abs=0.05
    )
    for name in old.edge_names:
        assert sewn(new, name) == pytest.approx(sewn(old, name), abs=1e-6)


@pytest.mark.parametrize("by", [6.0, -6.0])
def test_a_wider_dart_is_let_out_at_the_side(plain: PatternSet, by: float) -> None:
    old = plain.sized("front", "38")
    result = propagate.run(plain, resize("front", "waist_dart", by, to="150mm"))
    new = result.pattern.sized("front", "38")
    sews(result.pattern)
    legs_are_equal(new)
    assert new.darts[0].tip == old.darts[0].tip
    chord = np.hypot(*np.subtract(*(new.landmark(leg).point for leg in new.darts[0].legs)))
    assert chord == pytest.approx(MOUTH + by, abs=0.01)
    for name in old.edge_names:
        assert sewn(new, name) == pytest.approx(sewn(old, name), abs=1e-5), name
    corner = np.subtract(new.edge("side").points[0], old.edge("side").points[0])
    assert corner[0] == pytest.approx(by, abs=0.2)
    # Beyond the taper the side is as it was, digit for digit at its end.
    assert (new.edge("side").points[-1] == old.edge("side").points[-1]).all()
    far = new.edge("side").points[new.edge("side").arc > 150.5]
    line = shapely.LineString(old.edge("side").points)
    assert max(line.distance(shapely.Point(p)) for p in far) <= 1e-6
    for mate in ("back", "skirt"):
        assert result.pattern.sized(mate, "38").edges == plain.sized(mate, "38").edges
    back = propagate.run(result.pattern, resize("front", "waist_dart", -by, to="150mm"))
    again = back.pattern.sized("front", "38")
    for edge in ("waist", "side"):
        assert sewn(again, edge) == pytest.approx(sewn(old, edge), abs=0.05)
    assert np.hypot(*np.subtract(again.edge("side").points[0], old.edge("side").points[0])) <= 0.05


@pytest.mark.parametrize("by", [9.0, -7.0])
def test_both_legs_turn_about_the_tip_by_as_much(by: float) -> None:
    """On an edge that is not square to the dart: the lean of this one is 4 degrees."""
    skirt = shared.demo("scoop_skirt")
    old = skirt.sized("skirt_back", "L")
    edit = resize("skirt_back", "back_dart", by, size="L")
    new = propagate.run(skirt, edit).pattern.sized("skirt_back", "L")
    legs_are_equal(new)
    turns = []
    for leg in old.darts[0].legs:
        rays = [
            np.subtract(p.landmark(leg).point, old.darts[0].tip) @ np.array([1.0, 1j])
            for p in (old, new)
        ]
        turns.append(float(np.degrees(np.angle(rays[1] / rays[0]))))
    assert turns[0] == pytest.approx(-turns[1], abs=1e-3)
    widened = angle_of(new, "back_dart") - angle_of(old, "back_dart")
    assert abs(turns[0]) == pytest.approx(abs(widened) / 2, abs=1e-3)
    assert np.sign(widened) == np.sign(by)


def test_a_dart_made_wider_within_the_outline_takes_the_skirt_in(plain: PatternSet) -> None:
    result = propagate.run(plain, resize("front", "waist_dart", 6.0, keep="outline"))
    sews(result.pattern)
    lengths = [p.sized("skirt", "38").edge("waist").length for p in (plain, result.pattern)]
    assert lengths[1] - lengths[0] == pytest.approx(-6.0, abs=0.01)
    new, old = result.pattern.sized("front", "38"), plain.sized("front", "38")
    assert [e.name for e in new.edges if e is not old.edge(e.name)] == ["waist"]


# ---------------------------------------------------------------------------- demo sets

_DEMOS = {
    "scoop_skirt": ("skirt_back", "back_dart", "cb", "S"),
    "slant_trouser": ("back", "dart", "side", "48"),
}


@pytest.mark.parametrize("demo", list(_DEMOS))
@pytest.mark.parametrize("kind", ["swing", "half", "move", "divide", "wider", "narrower"])
def test_demo_sets_sew_and_the_review_is_silent(demo: str, kind: str) -> None:
    """Also where legs are named, a waistband is zoned by them, and the piece only follows."""
    pattern = shared.demo(demo)
    if kind in ("swing", "half"):  # a dart swung to the tip from the side would cross the welt
        pattern = shared.without_welts(pattern)
    piece, dart, edge, size = _DEMOS[demo]
    old = pattern.sized(piece, size)
    near_waist = 150.0 if demo == "scoop_skirt" else old.edge(edge).length - 120.0
    edits = {
        "swing": swing(piece, dart, edge, near_waist, size=size),
        "half": swing(piece, dart, edge, near_waist, share=0.5, size=size),
        "move": move(piece, dart, 12.0, size=size),
        "divide": divide(piece, dart, 40.0, size=size),
        "wider": resize(piece, dart, 5.0, size=size),
        "narrower": resize(piece, dart, -5.0, size=size),
    }
    result = propagate.run(pattern, edits[kind])
    assert result.sews
    sews(result.pattern)
    new = result.pattern.sized(piece, size)
    drawn = leg_lengths(old, dart)  # in the demo set's own digits
    legs_are_equal(new, abs(drawn[0] - drawn[1]) + 1e-5)
    for name in old.edge_names:
        assert sewn(new, name) == pytest.approx(sewn(old, name), abs=0.01), name
    assert not [f for f in propagate.review(result.pattern) if f.rule.startswith("dart")]
    for before, after in zip(
        propagate.walk(pattern, size, cut_lines=False).of("corner"),
        propagate.walk(result.pattern, cut_lines=False).of("corner"),
        strict=True,
    ):
        assert abs(after.difference) <= abs(before.difference) + 1.0, after.name


# ------------------------------------------------------------------------------- refused


def two_darts(plain: PatternSet) -> PatternSet:
    return propagate.run(plain, divide("front", "waist_dart", 60.0)).pattern


def test_a_dart_is_not_swung_past_another(plain: PatternSet) -> None:
    both = two_darts(plain)
    front = both.sized("front", "38")
    low = front.edge("side").length * 0.05
    words = r"past dart 'waist_dart_2'.*nearest possible place is ([\d.]+) mm"
    with pytest.raises(EditError, match=words) as said:
        propagate.run(both, swing("front", "waist_dart", "side", low))
    found = re.search(words, str(said.value))
    assert found is not None
    place = float(found.group(1))
    result = propagate.run(both, swing("front", "waist_dart", "side", place))
    sews(result.pattern)


FRONT = ("front", "waist_dart")
REFUSED = [
    (swing(*FRONT, "side", 300.0), r"edge is 184\.6 mm long.*nearest possible place is 179\.6 mm"),
    (swing(*FRONT, "side", "start"), r"at least 5 mm from its ends.*possible place is 5\.0 mm"),
    (swing(*FRONT, "waist", 110.0), r"mouth of dart 'waist_dart'.*possible place is 9[78]\.\d mm"),
    (swing(*FRONT, "side", 90.0, share=0.0), r"found 0% of the dart to swing, expected more"),
    (swing(*FRONT, "side", 90.0, share=1.2), r"found 120% of the dart to swing, expected more"),
    (move(*FRONT, 200.0), r"less than 5 mm from an end of 'waist'.*nearest possible is 10\d\.0 mm"),
    (divide(*FRONT, 10.0), r"within 5 mm of another dart's.*nearest possible is 17\.0 mm"),
    (divide(*FRONT, 900.0), r"'waist', or beyond it; the nearest possible is"),
    (divide(*FRONT, 40.0, share=1.0), r"found 24\.0 mm for the first dart, expected"),
    (resize(*FRONT, -24.0), r"24\.0 mm wide; the most possible is 23\.0 mm"),
    (resize(*FRONT, 6.0, to="500mm"), r"184\.6 mm long.*nearest possible is 184\.6 mm"),
    (resize(*FRONT, 6.0, to="3mm"), r"nearest possible is 12\.0 mm"),
]


@pytest.mark.parametrize("edit", [move(*FRONT, 0.0), divide(*FRONT, -3.0), resize(*FRONT, 0.0)])
def test_an_amount_is_more_than_nothing(plain: PatternSet, edit: MoveDart) -> None:
    with pytest.raises(EditError, match="expected more than 0"):
        propagate.run(plain, edit)


@pytest.mark.parametrize(("edit", "words"), REFUSED)
def test_what_cannot_be_is_refused_with_the_nearest_that_can(
    plain: PatternSet, edit: MoveDart, words: str
) -> None:
    with pytest.raises(EditError, match=words) as said:
        propagate.run(plain, edit)
    assert str(said.value).startswith("set 'plain bodice', piece 'front', size '38', dart 'wai")


@pytest.mark.parametrize(
    "edit",
    [
        swing("front", "waist_dart", "sides", 90.0),
        swing("front", "waist_dart", "side", 90.0, stays="center"),
        swing("front", "waist_dart", "side", "balanc"),
        move("front", "dart", 5.0),
        move("frond", "waist_dart", 5.0),
        resize("front", "waist_dart", 5.0, size="XL"),
    ],
)
def test_unknown_names_are_told_with_the_nearest(plain: PatternSet, edit: MoveDart) -> None:
    with pytest.raises(UnknownName):
        propagate.run(plain, edit)


def test_no_dart_opens_on_the_fold_and_the_fold_does_not_give(plain: PatternSet) -> None:
    info = {**plain.info, "front": PieceInfo("front", cut=1, fold="centre")}
    folded = replace(plain, info=info)
    with pytest.raises(EditError, match="lies on the fold"):
        propagate.run(folded, swing("front", "waist_dart", "centre", 90.0))
    with pytest.raises(EditError, match="lies on the fold 'centre'"):
        propagate.run(folded, resize("front", "waist_dart", 4.0, end="start"))


def test_legs_that_differ_are_trued_first(plain: PatternSet) -> None:
    front = plain.sized("front", "38")
    off = replace(front, darts=(replace(front.darts[0], tip=(126.0, 134.0)),))
    nest = {**plain.pieces["front"].nest, "38": off}
    askew = replace(plain, pieces={**plain.pieces, "front": Piece("front", nest)})
    with pytest.raises(EditError, match=r"found legs of 136\.0 mm and 134\.0 mm"):
        propagate.run(askew, move("front", "waist_dart", 5.0))


# ------------------------------------------------------------------------- told and kept


def test_it_is_told_saved_drawn_and_written_down(plain: PatternSet, tmp_path: Path) -> None:
    edit = swing("front", "waist_dart", "side", "balance", share=0.5, size="40")
    result = propagate.run(plain, edit)
    assert result.record.edit["kind"] == "swing-dart"
    assert result.record.edit["at_mm"] == pytest.approx(100.0)
    chain = result.record.chain("lining.side")
    assert "front.waist_dart swung from 'waist' into 'side' by 50% of it" in chain[-1].what
    assert any("'waist_dart_2' on 'side' is new" in change.what for change in chain)
    propagate.save(result, tmp_path / "swung")
    again = propagate.load_result(tmp_path / "swung")
    assert again.sews and again.record.edit == result.record.edit
    assert propagate.draw(again, "front").startswith("<svg")
    out = BytesIO()
    write_sheet(result, work_sheet(result), out, paper_of("a4"))
    assert out.getvalue().startswith(b"%PDF")
    twice = propagate.run(plain, edit)
    for name in plain.pieces:
        assert twice.pattern.sized(name, "40") == result.pattern.sized(name, "40")


def test_a_share_may_be_said_by_the_width_and_a_place_by_a_level(plain: PatternSet) -> None:
    edit = swing("front", "waist_dart", "side", 80.0)
    by_width = replace(edit, share=Amount(mm=MOUTH / 4), at="80mm")
    by_angle = replace(edit, share=Amount(share=0.25))
    one, other = (
        propagate.run(plain, e).pattern.sized("front", "38") for e in (by_width, by_angle)
    )
    assert one == other
    skirt = shared.demo("scoop_skirt")
    wide = resize("skirt_back", "back_dart", 5.0, to="seat")
    same = resize("skirt_back", "back_dart", 5.0)  # the seam's hold is the seat
    pieces = [propagate.run(skirt, e).pattern.sized("skirt_back", "M") for e in (wide, same)]
    assert pieces[0].edges == pieces[1].edges


@pytest.mark.parametrize("size", SIZES)
def test_it_is_done_in_the_size_that_is_asked_for(plain: PatternSet, size: str) -> None:
    result = propagate.run(plain, swing("front", "waist_dart", "side", 90.0, size=size))
    assert result.pattern.sizes == (size,)
    old, new = plain.sized("front", size), result.pattern.sized("front", size)
    assert sewn(new, "side") == pytest.approx(sewn(old, "side"), abs=1e-5)
    sews(result.pattern)


def test_a_girth_at_a_level_is_measured_with_darts_closed(plain: PatternSet) -> None:
    """Similar triangles: at 60 of 134 mm of its depth the dart takes 74/134 of its mouth."""
    nest = {
        size: replace(front, levels={**front.levels, "high": (0.0, 60.0)})
        for size, front in plain.pieces["front"].nest.items()
    }
    girth = Girth("high", level="high", silhouettes=("front",), times=1)
    made = replace(
        plain,
        pieces={**plain.pieces, "front": Piece("front", nest)},
        relations=replace(plain.relations, girths={"high": girth}),
    )
    (row,) = propagate.walk(made, "38", cut_lines=False).of("girth")
    side = made.sized("front", "38").edge("side").points
    flat = float(np.interp(60.0, side[:, 1], side[:, 0]))
    assert row.first == pytest.approx(flat - MOUTH * 74.0 / 134.0, abs=1e-6)
