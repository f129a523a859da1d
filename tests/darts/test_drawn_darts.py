"""Darts of a revised drawing: come, gone, swung, wider, moved; and who takes them over."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.errors import EditError
from propagate.pattern.model import Dart, Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems
from propagate.report.revise_text import revised_lines, revised_plain
from tests.darts.bodice import MOUTH, SIZES, bodice, front_sized, laid, seam
from tests.darts.drawn import angle_of, cloth, leg_lengths, sewn, swung_to_side, with_legs
from tests.darts.edits import swing
from tests.io.test_schema import validator


@pytest.fixture(scope="module")
def plain() -> PatternSet:
    return bodice()


def send(pattern: PatternSet, front: SizedPiece, **options: object) -> Revised:
    return revise(pattern, {"front": Piece("front", {"38": front})}, **options)  # type: ignore[arg-type]


def in_all(pattern: PatternSet, drawn: Callable[[SizedPiece], SizedPiece]) -> Revised:
    fronts = {size: drawn(pattern.sized("front", size)) for size in SIZES}
    return revise(pattern, {"front": Piece("front", fronts)})


def with_seams(pattern: PatternSet, *seams: Seam) -> PatternSet:
    known = {**pattern.relations.seams, **{one.name: one for one in seams}}
    return replace(pattern, relations=replace(pattern.relations, seams=known))


def all_sew(found: Revised) -> None:
    assert find_problems(found.pattern) == ()
    for size in SIZES:
        for check in propagate.walk(found.pattern, size, cut_lines=False).checks:
            assert abs(check.difference) <= 0.05, (size, check.name, check.difference)


# ------------------------------------------------------------------------------- swung


def test_a_swung_dart_is_one_and_no_mate_grows(plain: PatternSet) -> None:
    """A rotation keeps lengths and areas: what the front is sewn to has nothing to follow."""
    found = in_all(plain, swung_to_side)
    all_sew(found)
    for size in SIZES:
        old, new = plain.sized("front", size), found.pattern.sized("front", size)
        (dart,) = new.darts
        assert (dart.name, dart.edge, dart.tip) == ("side_dart", "side", old.darts[0].tip)
        assert not {"dart_in", "dart_out"} & {mark.name for mark in new.landmarks}
        assert [new.landmark(leg).kind for leg in dart.legs] == ["dart leg"] * 2
        for edge in ("waist", "side"):
            assert sewn(new, edge) == pytest.approx(sewn(old, edge), abs=1e-6)
        assert cloth(new) == pytest.approx(cloth(old), abs=1e-3)
        assert leg_lengths(new, "side_dart")[0] == pytest.approx(
            leg_lengths(new, "side_dart")[1], abs=1e-6
        )
        for mate in ("back", "skirt"):
            assert found.pattern.sized(mate, size) is plain.sized(mate, size)
    (came,) = {d.dart.name for d in found.darts if d.dart.what == "came"}
    (went,) = {d.dart.name for d in found.darts if d.dart.what == "went"}
    assert (came, went) == ("side_dart", "waist_dart")


@pytest.mark.parametrize("sent", ["38", "all"])
def test_a_lining_drawn_alike_takes_a_swung_dart_over(plain: PatternSet, sent: str) -> None:
    """Its redraft is the new front in the lining's frame."""
    one = swung_to_side(plain.sized("front", "38"))
    found = in_all(plain, swung_to_side) if sent == "all" else send(plain, one)
    assert found.sews
    for size in SIZES:
        front, lining = (found.pattern.sized(name, size) for name in ("front", "lining"))
        redraft = laid(front, 31.0, (700.0, -80.0))
        for edge in redraft.edges:
            lines = [shapely.LineString(e.points) for e in (edge, lining.edge(edge.name))]
            assert shapely.hausdorff_distance(*lines) <= 0.01, (size, edge.name)
        (mine,), (theirs,) = lining.darts, redraft.darts
        assert np.hypot(*np.subtract(mine.tip, theirs.tip)) <= 0.01
        for a, b in zip(mine.legs, theirs.legs, strict=True):
            gap = np.subtract(lining.landmark(a).point, redraft.landmark(b).point)
            assert np.hypot(*gap) <= 0.01
        marks = [piece.landmark("balance").point for piece in (lining, redraft)]
        assert np.hypot(*np.subtract(*marks)) <= 0.01
    said = [n.where for record in found.records.values() for n in record.warnings]
    assert "lining" not in said


@pytest.mark.parametrize("carry", ["millimetres", "proportion"])
@pytest.mark.parametrize("share", [0.6, 0.3])
def test_a_swung_dart_of_the_base_size_is_swung_in_every_size(
    plain: PatternSet, carry: str, share: float
) -> None:
    """Each about its own tip, by its own angle: no length changes and no mate follows."""
    found = send(plain, swung_to_side(plain.sized("front", "38"), share), carry=carry)
    all_sew(found)
    for size in SIZES:
        old, new = plain.sized("front", size), found.pattern.sized("front", size)
        (dart,) = new.darts
        assert dart.edge == "side" and dart.tip == old.darts[0].tip
        first, second = leg_lengths(new, "side_dart")
        assert first == pytest.approx(second, abs=1e-5)
        assert angle_of(new, "side_dart") == pytest.approx(angle_of(old, "waist_dart"), abs=1e-5)
        assert cloth(new) == pytest.approx(cloth(old), abs=1e-2)
        for edge in old.edge_names:
            assert sewn(new, edge) == pytest.approx(sewn(old, edge), abs=1e-5), (size, edge)
        for mate in ("back", "skirt"):
            assert found.pattern.sized(mate, size) is plain.sized(mate, size)
        whole = old.edge("side").length
        base = plain.sized("front", "38").edge("side").length
        at = new.distance("side", "leg_low")
        near = share * base if share < 0.5 else whole - (1 - share) * base
        assert at == pytest.approx(near if carry == "millimetres" else share * whole, abs=1e-5)


def test_what_the_drawing_changed_besides_is_carried_too(plain: PatternSet) -> None:
    """A swung dart and a neck 8 mm lower at the centre: the same 8 mm in every size."""
    sent = swung_to_side(plain.sized("front", "38"))
    neck, centre = sent.edge("neck"), sent.edge("centre")
    down = np.outer((neck.arc / neck.length) ** 2, [0.0, -8.0])
    lower = {
        "neck": Edge("neck", neck.points + down),
        "centre": Edge("centre", centre.points + np.array([[0.0, -8.0], [0.0, 0.0]])),
    }
    sent = replace(sent, edges=tuple(lower.get(e.name, e) for e in sent.edges))
    found = send(plain, sent)
    for size in SIZES:
        old, new = plain.sized("front", size), found.pattern.sized("front", size)
        gone = np.subtract(new.edge("neck").points[-1], old.edge("neck").points[-1])
        assert gone == pytest.approx([0.0, -8.0], abs=1e-5)
        for edge in ("waist", "side"):
            assert sewn(new, edge) == pytest.approx(sewn(old, edge), abs=1e-4), (size, edge)


def test_a_dart_closed_in_part_by_a_drawing_is_so_in_every_size(plain: PatternSet) -> None:
    """The drawing of our own edit, sent in the base size alone."""
    edit = swing("front", "waist_dart", "side", 80.0, share=0.5)
    drawn = propagate.run(plain, edit).pattern.sized("front", "38")
    found = send(plain, drawn)
    all_sew(found)
    for size in SIZES:
        old, new = plain.sized("front", size), found.pattern.sized("front", size)
        assert [d.edge for d in new.darts] == ["waist", "side"]
        angles = [angle_of(new, d.name) for d in new.darts]
        assert angles == pytest.approx([angle_of(old, "waist_dart") / 2] * 2, abs=1e-4)
        for edge in ("waist", "side"):
            assert sewn(new, edge) == pytest.approx(sewn(old, edge), abs=1e-4), (size, edge)
        for mate in ("back", "skirt"):
            assert found.pattern.sized(mate, size).edges == plain.sized(mate, size).edges


@pytest.mark.parametrize("into", ["side", "shoulder"])
def test_mates_keep_their_shapes_when_they_are_to_take_that_of_the_lead(
    plain: PatternSet, into: str
) -> None:
    """What turned with the dart has the shape that it had."""
    drawn = propagate.run(plain, swing("front", "waist_dart", into, 60.0)).pattern
    found = send(plain, drawn.sized("front", "38"), follow="shape")
    all_sew(found)
    for size in SIZES:
        for mate in ("back", "skirt"):
            assert found.pattern.sized(mate, size).edges == plain.sized(mate, size).edges


def test_the_same_drawing_again_changes_nothing(plain: PatternSet) -> None:
    first = in_all(plain, swung_to_side)
    again = revise(first.pattern, {"front": first.pattern.pieces["front"]})
    assert not again.changed and not again.darts


def test_a_dart_swung_there_and_back_is_as_it_was(plain: PatternSet) -> None:
    there = in_all(plain, swung_to_side)
    back = revise(there.pattern, {"front": plain.pieces["front"]})
    all_sew(back)
    for name in ("front", "lining"):
        old, new = plain.sized(name, "40"), back.pattern.sized(name, "40")
        assert [d.name for d in new.darts] == ["waist_dart"]
        for edge in old.edges:
            lines = [shapely.LineString(e.points) for e in (edge, new.edge(edge.name))]
            assert shapely.hausdorff_distance(*lines) <= 0.02, (name, edge.name)


def numbered(front: SizedPiece) -> SizedPiece:
    """As readers give it that know no names."""
    names = {m.name: f"notch_{i}" for i, m in enumerate(front.landmarks, 1)}
    return replace(
        front,
        landmarks=tuple(replace(m, name=names[m.name]) for m in front.landmarks),
        darts=tuple(
            replace(d, name="dart", legs=(names[d.legs[0]], names[d.legs[1]])) for d in front.darts
        ),
    )


def mirrored(front: SizedPiece) -> SizedPiece:
    """Face down, counter-clockwise again."""
    flip = np.array([-1.0, 1.0])

    def put(point: tuple[float, float]) -> tuple[float, float]:
        return (-point[0], point[1])

    return replace(
        front,
        edges=tuple(Edge(e.name, e.points[::-1] * flip) for e in reversed(front.edges)),
        landmarks=tuple(replace(m, point=put(m.point)) for m in front.landmarks),
        darts=tuple(replace(d, tip=put(d.tip)) for d in front.darts),
        grain=replace(front.grain, start=put(front.grain.start), end=put(front.grain.end)),
        levels={},
    )


@pytest.mark.parametrize("drawn", [numbered, mirrored, lambda f: laid(f, -77.0, (9.0, 1500.0))])
def test_names_and_frames_of_the_drawing_do_not_matter(
    plain: PatternSet, drawn: Callable[[SizedPiece], SizedPiece]
) -> None:
    found = send(plain, drawn(swung_to_side(plain.sized("front", "38"))))
    expected = swung_to_side(plain.sized("front", "38"))
    (dart,) = found.pattern.sized("front", "38").darts
    new = found.pattern.sized("front", "38")
    assert np.hypot(*np.subtract(dart.tip, expected.darts[0].tip)) <= 1e-6
    wanted = {(round(x, 4), round(y, 4)) for x, y in
              (expected.landmark(leg).point for leg in ("leg_low", "leg_high"))}  # fmt: skip
    assert {(round(x, 4), round(y, 4)) for x, y in
            (new.landmark(leg).point for leg in dart.legs)} == wanted  # fmt: skip
    if drawn is numbered:  # a reader's number is no name: it keeps the one it had
        assert (dart.name, set(dart.legs)) == ("waist_dart", {"dart_in", "dart_out"})
        assert {d.dart.what for d in found.darts} == {"swung"}
    checks = propagate.walk(found.pattern, "38", cut_lines=False).checks
    assert all(abs(check.difference) <= 0.05 for check in checks)


def test_legs_that_a_relation_names_stay_as_marks_where_the_dart_was_closed() -> None:
    spans = parse_run(["front.waist from start to dart_in", "front.waist from dart_out to end"])
    plain = with_seams(bodice(), Seam("waist_seam", spans, parse_run("skirt.waist reversed")))
    found = in_all(plain, swung_to_side)
    all_sew(found)
    for size in SIZES:
        new = found.pattern.sized("front", size)
        for name in ("dart_in", "dart_out"):
            mark = new.landmark(name)
            assert mark.kind == "mark"
            wanted = plain.sized("front", size).landmark("dart_in").point
            assert np.hypot(*np.subtract(mark.point, wanted)) <= 0.01
        assert found.pattern.sized("skirt", size) is plain.sized("skirt", size)
    texts = [n.text for n in found.notices["38"]]
    assert any("'dart_in' and 'dart_out' stayed as a mark" in text for text in texts)


# ------------------------------------------------------------------------ taken out, put on


def closed_flat(front: SizedPiece) -> SizedPiece:
    """The dart given away at the side: the waist is shorter by its mouth, there is no dart."""
    width = float(front.edge("waist").points[-1, 0]) - MOUTH
    side = front.edge("side").points.copy()
    side[0] = (width, 0.0)
    new = {"waist": Edge("waist", np.array([(0.0, 0.0), (width, 0.0)])), "side": Edge("side", side)}
    return replace(
        front,
        edges=tuple(new.get(e.name, e) for e in front.edges),
        landmarks=(),
        darts=(),
    )


def test_a_drawing_without_marks_tells_by_its_length_that_a_dart_went(plain: PatternSet) -> None:
    found = send(plain, closed_flat(plain.sized("front", "38")))
    for size in SIZES:
        assert found.pattern.sized("front", size).darts == ()
        skirt = [p.sized("skirt", size).edge("waist").length for p in (plain, found.pattern)]
        assert skirt[0] == pytest.approx(skirt[1], abs=0.01)
    assert any("waist_dart" in n.text and "taken out" in n.text for n in found.notices["38"])
    # A line that is as it was has its dart still, also when nothing is drawn on it.
    bare = replace(plain.sized("front", "38"), landmarks=(), darts=())
    assert not send(plain, bare).changed


def test_a_new_dart_does_not_lengthen_what_its_edge_is_sewn_to(plain: PatternSet) -> None:
    """The side 20 mm longer for a dart of 20 mm: the back's side stays."""
    front = plain.sized("front", "38")
    side = front.edge("side")
    way = (side.points[1] - side.points[0]) / side.length
    longer = np.vstack([side.points, side.points[-1] + 20.0 * way])
    move = 20.0 * way
    fresh = {"side": Edge("side", longer[[0, 2]])}
    for name in ("armhole", "shoulder", "neck"):
        fresh[name] = Edge(name, front.edge(name).points + move)
    fresh["centre"] = Edge("centre", np.vstack([fresh["neck"].points[-1], [(0.0, 0.0)]]))
    legs = [tuple(side.points[0] + at * way) for at in (120.0, 140.0)]
    sent = replace(
        front,
        edges=tuple(fresh.get(e.name, e) for e in front.edges),
        landmarks=(
            *front.landmarks,
            Landmark("bust_low", "side", legs[0], "dart leg"),
            Landmark("bust_high", "side", legs[1], "dart leg"),
        ),
        darts=(*front.darts, Dart("bust_dart", "side", ("bust_low", "bust_high"), (140.0, 140.0))),
    )
    found = send(plain, sent)
    for size in SIZES:
        new = found.pattern.sized("front", size)
        assert [d.name for d in new.darts] == ["waist_dart", "bust_dart"]
        back = found.pattern.sized("back", size)
        own = plain.sized("back", size).edge("side").length
        # The same 20 mm along the base's side, which slopes a little otherwise than this one.
        assert sewn(new, "side") == pytest.approx(own, abs=0.05), size
        assert back.edge("side").length == pytest.approx(sewn(new, "side"), abs=0.05)
        # The lining has the waist dart, so it is drawn alike and gets the new one too.
        assert [d.name for d in found.pattern.sized("lining", size).darts] == [
            "waist_dart",
            "bust_dart",
        ]
    assert any("'bust_dart' on 'side' is new, 20.0 mm wide" in n.text for n in found.notices["38"])


# ----------------------------------------------------------------------- wider, moved


def wider(front: SizedPiece, by: float = 6.0) -> SizedPiece:
    a, b = (front.landmark(leg).point for leg in front.darts[0].legs)
    legs = (a[0] - by / 2, 0.0), (b[0] + by / 2, 0.0)
    return with_legs(front, legs, front.darts[0].tip)


def test_a_wider_dart_is_wider_on_the_lining_and_its_side_stays(plain: PatternSet) -> None:
    found = send(plain, wider(plain.sized("front", "38")))
    all_sew(found)
    for size in SIZES:
        old, new = plain.sized("lining", size), found.pattern.sized("lining", size)
        assert new.edges == old.edges
        a, b = (np.array(new.landmark(leg).point) for leg in new.darts[0].legs)
        assert np.hypot(*(b - a)) == pytest.approx(MOUTH + 6.0, abs=1e-5)
        skirt = [p.sized("skirt", size).edge("waist").length for p in (plain, found.pattern)]
        assert skirt[1] - skirt[0] == pytest.approx(-6.0, abs=0.01)
    (row,) = {(d.dart.name, d.dart.what, round(d.dart.after_mm - d.dart.before_mm, 6))
              for d in found.darts}  # fmt: skip
    assert row == ("waist_dart", "changed", 6.0)
    assert found.marks == ()
    told = {c.id: c.what for c in found.records["38"].changes}
    assert "is 6.0 mm wider (30.0 mm)" in told["lining.waist"]
    assert "is 6.0 mm wider (30.0 mm)" in told["front.waist"]
    text = " ".join(" ".join(revised_lines(found)).split())
    assert "before 24.00 wide, now 30.00" in text
    assert "lining (its notches or darts alone), in every size" in text
    validator("revised").validate({"format": 1, **revised_plain(found)})


def test_a_dart_moved_by_its_own_width_keeps_its_legs_names(plain: PatternSet) -> None:
    front = plain.sized("front", "38")
    a, b = (front.landmark(leg).point for leg in front.darts[0].legs)
    tip = front.darts[0].tip[0] + MOUTH, front.darts[0].tip[1]
    sent = with_legs(front, ((a[0] + MOUTH, 0.0), (b[0] + MOUTH, 0.0)), tip)
    # A drawing that knows the dart, and one that knows two notches.
    for drawn in (sent, numbered(sent), replace(numbered(sent), darts=())):
        found = send(plain, drawn)
        all_sew(found)
        for size in SIZES:
            for name in ("front", "lining"):
                old, new = plain.sized(name, size), found.pattern.sized(name, size)
                assert new.edges == old.edges
                for leg in ("dart_in", "dart_out"):
                    gone = new.distance("waist", leg) - old.distance("waist", leg)
                    assert gone == pytest.approx(MOUTH, abs=1e-5), (size, name, leg)
        (row,) = {round(d.dart.moved_mm, 6) for d in found.darts}
        assert row == MOUTH


def test_a_lining_sewn_at_the_waist_alone_takes_the_dart_over() -> None:
    plain = bodice()
    seams = {n: s for n, s in plain.relations.seams.items() if n not in
             ("lining_side", "lining_armhole")}  # fmt: skip
    plain = replace(plain, relations=replace(plain.relations, seams=seams))
    found = send(plain, wider(plain.sized("front", "38")))
    all_sew(found)
    new = found.pattern.sized("lining", "38")
    assert new.edges == plain.sized("lining", "38").edges
    swung = in_all(plain, swung_to_side)
    all_sew(swung)
    assert [d.edge for d in swung.pattern.sized("lining", "38").darts] == ["side"]


def test_a_lining_cut_face_down_takes_the_dart_over() -> None:
    plain = bodice()
    nest = {size: laid(mirrored(front_sized(size)), 12.0, (900.0, 40.0)) for size in SIZES}
    nest = {s: replace(p, levels=plain.sized("lining", s).levels) for s, p in nest.items()}
    seams = [seam(f"lining_{e}", f"front.{e}", f"lining.{e} reversed") for e in ("waist", "side")]
    known = {n: s for n, s in plain.relations.seams.items() if n != "lining_armhole"}
    plain = replace(
        plain,
        pieces={**plain.pieces, "lining": Piece("lining", nest)},
        relations=replace(plain.relations, seams=known),
    )
    plain = with_seams(plain, *seams)
    assert find_problems(plain) == ()
    for drawn in (wider, swung_to_side):
        found = in_all(plain, drawn)
        all_sew(found)
        front, lining = (found.pattern.sized(n, "38") for n in ("front", "lining"))
        assert cloth(lining) == pytest.approx(cloth(front), abs=0.1)
        assert [d.edge for d in lining.darts] == [d.edge for d in front.darts]


def test_a_lining_with_a_dart_of_its_own_keeps_it_and_that_is_told() -> None:
    """Its dart lies elsewhere: which of the two is meant to change is not for us to guess."""
    plain = bodice()
    nest = {}
    for size in SIZES:
        front = front_sized(size)
        own = with_legs(front, ((60.0, 0.0), (60.0 + MOUTH, 0.0)), (72.0, 120.0))
        nest[size] = laid(own, 31.0, (700.0, -80.0))
    plain = replace(plain, pieces={**plain.pieces, "lining": Piece("lining", nest)})
    found = send(plain, wider(plain.sized("front", "38")))
    assert found.sews
    new = found.pattern.sized("lining", "38")
    a, b = (np.array(new.landmark(leg).point) for leg in new.darts[0].legs)
    assert np.hypot(*(b - a)) == pytest.approx(MOUTH, abs=1e-6)
    said = [n for n in found.records["38"].warnings if n.where == "lining"]
    assert any("kept its own ('waist_dart')" in n.text for n in said)
    # And a dart swung away from where it is sewn to is told as well.
    swung = in_all(plain, swung_to_side)
    assert swung.sews and [d.edge for d in swung.pattern.sized("lining", "38").darts] == ["waist"]
    said = [n for n in swung.records["38"].warnings if n.where == "lining"]
    assert any("kept its own ('waist_dart')" in n.text for n in said)


def test_sizes_whose_darts_would_differ_are_refused(plain: PatternSet) -> None:
    fronts = {size: plain.sized("front", size) for size in SIZES}
    fronts["40"] = swung_to_side(fronts["40"])
    with pytest.raises(EditError, match=r"piece 'front': found darts that differ from size to si"):
        revise(plain, {"front": Piece("front", fronts)})


def test_a_piece_info_is_no_place_for_a_leg_that_went(plain: PatternSet) -> None:
    """An anchor that is told for a leg names it too."""
    info = {**plain.info, "front": PieceInfo("front", cut=2, anchors={"dart_in": "waist.start"})}
    found = in_all(replace(plain, info=info), swung_to_side)
    assert find_problems(found.pattern) == ()
    marks = {m.name: m.kind for m in found.pattern.sized("front", "38").landmarks}
    assert marks.get("dart_in") == "mark" and "dart_out" not in marks
