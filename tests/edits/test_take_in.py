"""Take in and let out, raise and lower: judged by closed forms and by shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import (
    Amount,
    Conflict,
    EditError,
    Lengthen,
    LetOut,
    Lower,
    PropagateError,
    Raise,
    TakeIn,
)
from propagate.engine.edits.moving import Node, move_edge
from propagate.engine.tape import tape
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.builders import tiny_set
from tests.engine import measure
from tests.engine.following.test_by_hand import panel, sewn
from tests.engine.test_corners_that_follow import _piece
from tests.examples import examples
from tests.shared import demo


def square(side: float = 400.0) -> tuple[Edge, ...]:
    """A square with straight edges, counter-clockwise."""
    corners = np.array([[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]])
    names = ("hem", "side", "top", "centre")
    return tuple(
        Edge(name, np.array([corners[i], corners[(i + 1) % 4]])) for i, name in enumerate(names)
    )


def test_a_straight_edge_fades_as_the_closed_form_says() -> None:
    """(1 - x)^2 (1 + x / 2): the cubic that is held flat at one end and free at the other."""
    moved = move_edge(square(), "side", [Node(100.0, 0.0), Node(400.0, 12.0)], "here")
    points = moved.edges["side"].points
    x = (400.0 - np.clip(points[:, 1], 100.0, 400.0)) / 300.0
    assert np.abs(400.0 - points[:, 0] - 12.0 * (1 - x) ** 2 * (1 + x / 2)).max() < 1e-5
    assert moved.edges["top"].points[0] == pytest.approx([388.0, 400.0], abs=1e-9)
    assert set(moved.edges) == {"side", "top"}


def test_an_edge_that_moves_all_along_stays_straight_and_as_long() -> None:
    moved = move_edge(square(), "side", [Node(0.0, -15.0), Node(400.0, -15.0)], "here")
    assert moved.edges["side"].points.tolist() == [[415.0, 0.0], [415.0, 400.0]]
    assert moved.edges["hem"].points.tolist() == [[0.0, 0.0], [415.0, 0.0]]
    assert moved.edges["top"].length == pytest.approx(415.0)


def test_the_new_corner_lies_on_the_old_waist_and_the_rest_keeps_its_digits() -> None:
    trousers = demo("slant_trouser")
    edit = TakeIn(edge="full_front.side", by=Amount(mm=10.0), at="waist", to=("hip",), both=True)
    result = propagate.run(trousers, edit, corners="left")
    assert result.sews
    for name in ("full_front", "back"):
        # The facing swings with the opening: its waist is looked at in its place on the front.
        waist, now = (tape(p, name, "42").edge("waist").points for p in (trousers, result.pattern))
        line = shapely.LineString(waist)
        assert shapely.distance(line, shapely.points(now)).max() < 2.5  # trued beside the corner
    old, new = (p.sized("back", "42") for p in (trousers, result.pattern))
    assert old.edge("waist").length - new.edge("waist").length == pytest.approx(10.0, abs=0.2)
    held = float(np.dot(old.levels["hip"], old.grain.direction))
    below = [q for q in old.edge("side").points if float(q @ old.grain.direction) < held - 1.0]
    kept = {tuple(q) for q in new.edge("side").points}
    assert below and all(tuple(q) in kept for q in below)
    for piece in ("front", "back"):
        for edge in ("hem", "inseam", "centre"):
            old_edge = trousers.sized(piece, "42").edge(edge)
            assert result.pattern.sized(piece, "42").edge(edge) == old_edge


@pytest.mark.parametrize("size", ["36", "38", "40"])
def test_a_waist_is_smaller_by_four_times_what_each_side_gives(size: str) -> None:
    skirt = tiny_set()
    both = TakeIn(edge="front.side", by=Amount(mm=5.0), at="waist", to=("hip",), both=True)
    found = propagate.apply_edits(
        skirt, [propagate.NamedEdit("both", both)], sizes=(size,), corners="left"
    )
    assert found.sews and set(found.records) == {size}
    now, was = (
        sum(p.sized(name, size).edge("waist").length for name in ("front", "back"))
        for p in (found.pattern, skirt)
    )
    assert 2 * (was - now) == pytest.approx(20.0, abs=0.2)


def test_a_share_and_an_amount_by_size_and_in_proportion() -> None:
    skirt = tiny_set()

    def waist(found, size: str) -> float:
        return found.pattern.sized("front", size).edge("waist").length

    amounts = {"36": 4.0, "38": 5.0, "40": 6.0}
    edit = TakeIn(
        edge="front.side", by=Amount(sizes=tuple(amounts.items())), at="waist", to=("hip",)
    )
    found = propagate.apply_edits(skirt, [propagate.NamedEdit("by size", edit)], corners="left")
    for size, mm in amounts.items():
        old = skirt.sized("front", size).edge("waist").length
        assert old - waist(found, size) == pytest.approx(mm, abs=0.02)
    plain = TakeIn(edge="front.side", by=Amount(mm=5.0), at="waist", to=("hip",))
    found = propagate.apply_edits(
        skirt, [propagate.NamedEdit("graded", plain)], graded="proportion", corners="left"
    )
    base = skirt.sized("front", "38").edge("side").length
    for size in skirt.sizes:
        old = skirt.sized("front", size).edge("waist").length
        wanted = 5.0 * skirt.sized("front", size).edge("side").length / base
        assert old - waist(found, size) == pytest.approx(wanted, abs=0.02)


def test_a_hem_is_lowered_parallel_and_its_side_is_longer_by_as_much() -> None:
    skirt = tiny_set()
    result = propagate.run(skirt, Lower(edge="front.hem", by=Amount(mm=30.0)))
    old, new = (p.sized("front", "38") for p in (skirt, result.pattern))
    assert new.edge("hem").points[:, 1] == pytest.approx(old.edge("hem").points[:, 1] - 30.0)
    back = result.pattern.sized("back", "38")
    assert back.edge("side").length == pytest.approx(new.edge("side").length, abs=0.05)
    up = propagate.run(result.pattern, Raise(edge="front.hem", by=Amount(mm=30.0)))
    assert up.pattern.sized("front", "38").edge("hem").points == pytest.approx(
        old.edge("hem").points, abs=0.05
    )


def test_up_is_the_top_of_the_garment_also_of_a_piece_that_lies_upside_down() -> None:
    skirt = demo("scoop_skirt")
    old = skirt.sized("skirt_back", "M")
    assert old.levels["natural_waist"][1] < old.levels["seat"][1]  # drawn upside down
    new = propagate.run(
        skirt, Raise(edge="skirt_back.top", by=Amount(mm=12.0), at="end", to=("start",))
    )
    centre = new.pattern.sized("skirt_back", "M").edge("cb")
    assert centre.length - old.edge("cb").length == pytest.approx(12.0, abs=1e-4)


@pytest.mark.parametrize("kind", [TakeIn, LetOut])
@pytest.mark.parametrize("piece", ["front", "back"])
def test_two_sides_that_end_on_lines_of_other_slopes_stay_as_long(piece: str, kind) -> None:
    """Both move by as much, along crossing edges of other slopes: then the follower gives."""
    gilet = demo("workshop_gilet")
    edit = kind(edge=f"upper_{piece}.waist", by=Amount(mm=6.0), both=True)
    result = propagate.run(gilet, edit, corners="left")
    seam = gilet.relations.seams[f"{piece}_waist_seam"]
    lead, follow = (
        measure.run_length(result.pattern, gilet.base, run) for run in (seam.lead, seam.follow)
    )
    assert follow == pytest.approx(lead, abs=0.02)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (TakeIn(edge="front.side", by=Amount(mm=-5.0)), "expected more than 0"),
        (TakeIn(edge="front.sides", by=Amount(mm=5.0)), "side"),
        (TakeIn(edge="frnt.side", by=Amount(mm=5.0)), "front"),
        (TakeIn(edge="front.side", by=Amount(mm=5.0), to=("hip",)), "without 'at'"),
        (TakeIn(edge="front.side", by=Amount(mm=5.0), at="waste", to=("hip",)), "waist"),
        (TakeIn(edge="front.side", by=Amount(mm=5.0), at="end", to=("9m",)), "'9m'"),
        (TakeIn(edge="front.side", by=Amount(mm=5.0), at="end", to=("900mm",)), "beyond edge"),
        (TakeIn(edge="front.side", by=Amount(mm=500.0), at="end", to=("hip",)), "ask for less"),
        (Raise(edge="front.side", by=Amount(mm=5.0)), "runs up the piece"),
        (TakeIn(edge="front.side", by=Amount(sizes=(("36", 5.0),))), "size '38' too"),
    ],
)
def test_what_cannot_be_done_is_said(edit, words: str) -> None:
    with pytest.raises(PropagateError) as error:
        propagate.run(tiny_set(), edit)
    assert words in str(error.value)


@examples(30)
@given(
    st.sampled_from(["full_front.side", "full_front.waist", "full_front.hem", "back.side"]),
    st.sampled_from([TakeIn, LetOut]),
    st.floats(0.5, 15.0),
    st.sampled_from([("", ()), ("start", ("end",)), ("end", ("200mm",)), ("start", ("150mm",))]),
    st.booleans(),
)
def test_any_edit_sews_or_is_refused_and_leaves_the_rest(key, kind, mm, places, both) -> None:
    trousers = demo("slant_trouser")
    edit = kind(edge=key, by=Amount(mm=round(mm, 2)), at=places[0], to=places[1], both=both)
    try:
        result = propagate.run(trousers, edit)
    except (EditError, Conflict):
        return
    reached = {piece.piece for piece in result.record.pieces}
    for name in trousers.pieces:
        piece = result.pattern.sized(name, "42")
        assert shapely.Polygon(piece.outline).is_valid
        if name not in reached:
            assert piece is trousers.sized(name, "42")
    told = {row.relation for row in (*result.record.seams, *result.record.bands)}
    for check in propagate.walk(result.pattern, cut_lines=False).checks:
        if check.verdict == "does not sew":
            assert check.relation in told and not result.sews


def test_a_level_that_misses_the_end_by_the_last_decimal_is_the_end() -> None:
    """A hem lies on its level but for rounding: both sides of the leg are let out there."""
    trousers = demo("slant_trouser")
    edit = LetOut(edge="full_front.side", by=Amount(mm=8.0), at="hem", to=("knee",), both=True)
    for size in ("36", "42"):
        found = propagate.apply_edits(trousers, [propagate.NamedEdit("wide", edit)], sizes=(size,))
        assert found.sews
        for name in ("front", "back"):
            old, new = (p.sized(name, size) for p in (trousers, found.pattern))
            grown = new.edge("hem").length - old.edge("hem").length
            assert grown == pytest.approx(8.0, abs=0.05)
            assert shapely.Polygon(new.outline).is_valid


def panels_against() -> PatternSet:
    """A front, and its mirror image as a back: the side of one runs up, that of the other down."""

    def panel(sign: float) -> SizedPiece:
        corners = np.array([(0.0, 0.0), (sign * 200.0, 0.0), (sign * 200.0, 600.0), (0.0, 600.0)])
        names = ("hem", "side", "top", "centre")
        lines = [(n, np.array([corners[i], corners[(i + 1) % 4]])) for i, n in enumerate(names)]
        if sign < 0.0:
            lines = [(name, line[::-1]) for name, line in lines[::-1]]
        return _piece(*lines)

    seam = Seam("side_seam", parse_run("front.side"), parse_run("back.side reversed"))
    nests = {"front": {"M": panel(1.0)}, "back": {"M": panel(-1.0)}}
    return PatternSet(
        name="panels",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, nest) for name, nest in nests.items()},
        info={name: PieceInfo(name) for name in nests},
        relations=Relations(seams={"side_seam": seam}),
    )


@pytest.mark.parametrize("key", ["front.side", "back.side"])
@pytest.mark.parametrize("hold", ["end", "300mm", "start"])
def test_both_sides_of_a_seam_change_at_the_same_end_however_they_are_drawn(
    key: str, hold: str
) -> None:
    """The back is the mirror image of the front before, so it is after the edit."""
    at = "start" if hold != "start" else "end"
    edit = TakeIn(edge=key, by=Amount(mm=8.0), at=at, to=(hold,), both=True)
    result = propagate.run(panels_against(), edit)
    front, back = (result.pattern.sized(name, "M") for name in ("front", "back"))
    assert shapely.hausdorff_distance(
        shapely.Polygon(front.outline), shapely.Polygon(back.outline * (-1.0, 1.0))
    ) == pytest.approx(0.0, abs=1e-6)
    low, high = (float(front.edge("side").points[k, 0]) for k in (0, -1))
    moved_low = (key == "front.side") == (at == "start")
    assert (low, high) == pytest.approx((192.0, 200.0) if moved_low else (200.0, 192.0))
    assert result.sews


@pytest.mark.parametrize(
    ("name", "edit", "words"),
    [
        ("scoop_skirt", Lengthen(level="foot", by=Amount(mm=10.0)), "at the end of skirt_back"),
        (
            "lined_skirt",
            TakeIn(edge="lining_back.waist", by=Amount(mm=5.0)),
            "follows 'back.waist'",
        ),
        ("lined_skirt", TakeIn(edge="back.centre", by=Amount(mm=100.0)), "the leg of a dart"),
        (
            "scoop_skirt",
            Raise(edge="skirt_front.scoop", by=Amount(mm=7.5), at="end", to=("start",)),
            "is opening 'scoop_pocket'.* with 'open'",
        ),
    ],
)
def test_what_has_no_room_is_refused(name: str, edit, words: str) -> None:
    pattern = demo(name)
    with pytest.raises(EditError, match=words):
        propagate.run(pattern, edit)


def test_a_layer_whose_mouth_is_edited_alone_does_not_sew() -> None:
    trousers = demo("slant_trouser")
    result = propagate.run(trousers, TakeIn(edge="top_bag.mouth", by=Amount(share=0.02)))
    assert not result.sews


@pytest.mark.parametrize("fold", [None, "centre"])
def test_a_neckline_lowered_at_the_fold_meets_it_as_before(fold: str | None) -> None:
    """Common practice, no source: it runs on over the fold, so it is level there, without a peak.

    Elsewhere an end that moves is free: by the fade it turns by 1.5 d / f, closed form.
    """
    pattern = sewn({"bodice": panel()}, folds={"bodice": fold} if fold else None)
    edit = Lower(edge="bodice.waist", by=Amount(mm=10.0), at="end", to=("start",))
    line = propagate.run(pattern, edit).pattern.sized("bodice", "M").edge("waist").points
    assert line[-1] == pytest.approx((0.0, 590.0))
    assert line[0] == pytest.approx((200.0, 600.0))
    slope = (line[-2, 1] - line[-1, 1]) / (line[-2, 0] - line[-1, 0])
    assert slope == pytest.approx(0.0 if fold else 1.5 * 10.0 / 200.0, abs=0.003)


def test_a_mark_may_be_said_with_its_piece() -> None:
    skirt = tiny_set()
    said = [
        propagate.run(
            skirt, TakeIn(edge="front.side", by=Amount(mm=5.0), at="end", to=(place,))
        ).pattern.sized("front", skirt.base)
        for place in ("hip_notch", "front.hip_notch")
    ]
    assert said[0] == said[1]


@pytest.mark.parametrize("place", ["", "waist"])
def test_a_place_without_an_end_of_the_taper_is_told_to_change_the_edge_all_along(
    place: str,
) -> None:
    edit = TakeIn(edge="back.side", by=Amount(8.0), at=place)
    found = propagate.run(demo("slant_trouser"), edit)
    words = "all along: no 'to' says where it comes to nothing"
    assert (words in found.record.changes[0].what) is bool(place)
