"""Landmarks and notches of a revised drawing: by place, by name, by kind and order; new ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.pattern.grain import Grain
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.revise.test_revise import let_out
from tests.shared import demo


@pytest.fixture(scope="module")
def trousers() -> PatternSet:
    return demo("slant_trouser")


def along(piece: SizedPiece, edge: str, mm: float) -> tuple[float, float]:
    at = shapely.LineString(piece.edge(edge).points).interpolate(mm)
    return (at.x, at.y)


def moved(piece: SizedPiece, name: str, by: float, called: str | None = None) -> SizedPiece:
    """A landmark moved along its edge, perhaps under another name."""
    marks = tuple(
        replace(
            m,
            name=called or name,
            point=along(piece, m.edge, piece.distance(m.edge, name) + by),
        )
        if m.name == name
        else m
        for m in piece.landmarks
    )
    return replace(piece, landmarks=marks)


def foreign(piece: SizedPiece) -> SizedPiece:
    """Notches without names of the set, as other programs write them; no plain marks."""
    marks = [m for m in piece.landmarks if m.kind != "mark"]
    return replace(
        piece,
        landmarks=tuple(
            replace(m, name=f"notch_{i}", kind="notch") for i, m in enumerate(marks, 1)
        ),
        darts=(),
    )


def with_notch(piece: SizedPiece, name: str, edge: str, mm: float) -> SizedPiece:
    mark = Landmark(name, edge, along(piece, edge, mm), "notch")
    return replace(piece, landmarks=(*piece.landmarks, mark))


def at(found: Revised, piece: str, size: str, edge: str, name: str) -> float:
    return found.pattern.sized(piece, size).distance(edge, name)


def send(pattern: PatternSet, name: str, piece: SizedPiece) -> Revised:
    return revise(pattern, {name: Piece(name, {pattern.base: piece})})


@pytest.mark.parametrize("called", [None, "notch_7"])
def test_a_moved_notch_is_carried_and_its_mate_follows(
    trousers: PatternSet, called: str | None
) -> None:
    """By its name, or by kind and order where the name differs; walked with the same result."""
    front = trousers.sized("front", "42")
    sent = moved(front, "knee_notch_inseam", 12.0, called)
    found = send(trousers, "front", sent)
    assert found.changed and found.sews
    assert all(e.status == "same" for e in found.edges)
    for size in trousers.sizes:
        old = trousers.sized("front", size).distance("inseam", "knee_notch_inseam")
        assert at(found, "front", size, "inseam", "knee_notch_inseam") == pytest.approx(
            old + 12.0, abs=0.05
        )
        before, after = (
            next(
                c.difference
                for c in propagate.walk(p, size, cut_lines=False).of("notches")
                if c.name == "inseam"
            )
            for p in (trousers, found.pattern)
        )
        assert after == pytest.approx(before, abs=0.05)
        assert found.pattern.sized("back", size).edges == trousers.sized("back", size).edges
    (mark,) = {m.mark for m in found.marks if m.size == "42"}
    assert mark.drawn_as == (called or "knee_notch_inseam")
    assert mark.moved_mm == pytest.approx(12.0, abs=0.01)


def test_notches_without_our_names_change_nothing(trousers: PatternSet) -> None:
    for name in ("front", "back"):
        found = send(trousers, name, foreign(trousers.sized(name, "42")))
        assert not found.changed and not found.notices, name


def test_notches_stay_on_a_reshaped_edge_and_are_found_there(trousers: PatternSet) -> None:
    front = let_out(trousers.sized("front", "42"), "side", 5.0)
    sent = moved(front, "hip_notch", 8.0)
    found = send(trousers, "front", foreign(sent))
    new = found.pattern.sized("front", "42")
    wanted = sent.landmark("hip_notch").point
    assert np.hypot(*np.subtract(new.landmark("hip_notch").point, wanted)) <= 0.02


def test_a_new_notch_is_taken_over_in_every_size(trousers: PatternSet) -> None:
    front = trousers.sized("front", "42")
    found = send(trousers, "front", with_notch(front, "balance", "inseam", 100.0))
    for size in trousers.sizes:
        assert at(found, "front", size, "inseam", "balance") == pytest.approx(100.0, abs=0.02)
    assert any("'balance' on 'inseam' is new" in n.text for n in found.notices["42"])
    # From the far end it keeps its distance from there; in proportion its share.
    length = front.edge("inseam").length
    sent = {"front": Piece("front", {"42": with_notch(front, "low", "inseam", length - 50.0)})}
    for carry, wanted in (("millimetres", None), ("proportion", (length - 50.0) / length)):
        found = revise(trousers, sent, carry=carry)  # type: ignore[arg-type]
        for size in ("36", "52"):
            own = found.pattern.sized("front", size).edge("inseam").length
            share = own - 50.0 if wanted is None else own * wanted
            assert at(found, "front", size, "inseam", "low") == pytest.approx(share, abs=0.02)


def test_a_new_notch_whose_name_is_taken_gets_another(trousers: PatternSet) -> None:
    front = trousers.sized("front", "42")
    marks = tuple(m for m in front.landmarks if m.name != "hip_notch")
    notch = Landmark("fly_notch", "inseam", along(front, "inseam", 90.0), "notch")
    found = send(trousers, "front", replace(front, landmarks=(*marks, notch)))
    assert at(found, "front", "42", "inseam", "fly_notch_2") == pytest.approx(90.0, abs=0.02)
    texts = [n.text for n in found.notices["42"]]
    assert any("'fly_notch' was taken" in text for text in texts)
    assert any("'hip_notch' on 'side' is not in the drawing" in text for text in texts)
    kept = found.pattern.sized("front", "42").landmark("hip_notch")
    assert kept == front.landmark("hip_notch")


def test_a_renumbered_drawing_is_read_by_place(trousers: PatternSet) -> None:
    """A notch put in before the others shifts their numbers; the old ones stay where they are."""
    front = foreign(trousers.sized("front", "42"))
    numbered = replace(
        trousers,
        pieces={**trousers.pieces, "solo": Piece("solo", {"42": front})},
    )
    more = with_notch(front, "notch_0", "side", 60.0)
    order = sorted(
        more.landmarks, key=lambda m: (more.edge_names.index(m.edge), more.distance(m.edge, m.name))
    )
    sent = replace(
        more, landmarks=tuple(replace(m, name=f"notch_{i}") for i, m in enumerate(order, 1))
    )
    from propagate.engine.revising.register import register

    found = register(numbered.pieces["solo"].at("42"), sent)
    assert [m.what for m in found.marks] == ["added"]
    assert found.piece.landmarks[: len(front.landmarks)] == front.landmarks


def test_what_lies_inside_is_carried(trousers: PatternSet) -> None:
    """A dart made 10 mm longer in the base size: so in every size, turned with its grain."""
    back = trousers.sized("back", "42")
    (dart,) = back.darts
    tip = (dart.tip[0], dart.tip[1] - 10.0)
    found = send(trousers, "back", replace(back, darts=(replace(dart, tip=tip),)))
    assert found.changed
    for size in trousers.sizes:
        old, new = (p.sized("back", size).darts[0].tip for p in (trousers, found.pattern))
        assert np.hypot(*np.subtract(new, old)) == pytest.approx(10.0, abs=1e-4)


def test_a_band_that_was_turned_round_is_told_by_its_marks(trousers: PatternSet) -> None:
    """A straight band lies on itself either way; its notches tell which way is meant."""
    band = trousers.sized("waistband", "42")
    for turn in (1.0, -1.0):
        edges = tuple(replace(e, points=turn * e.points, path=None) for e in band.edges)
        marks = tuple(
            replace(m, point=(turn * m.point[0], turn * m.point[1])) for m in band.landmarks
        )
        ends = [(turn * x, turn * y) for x, y in (band.grain.start, band.grain.end)]
        sent = replace(
            band,
            edges=edges,
            landmarks=marks,
            grain=replace(band.grain, start=ends[0], end=ends[1]),
        )
        assert not send(trousers, "waistband", sent).changed


def test_numbers_of_notches_are_not_taken_for_names() -> None:
    """A drawing that runs the other way numbers its notches the other way round."""
    skirt = demo("slant_trouser")
    front = skirt.sized("front", "42")
    own = sorted(
        (m for m in front.landmarks_on("side") if m.kind == "notch"),
        key=lambda m: front.distance("side", m.name),
    )
    assert len(own) == 2

    def numbered(piece: SizedPiece, names: list[str]) -> SizedPiece:
        new = {m.name: name for m, name in zip(own, names, strict=True)}
        return replace(
            piece,
            landmarks=tuple(replace(m, name=new.get(m.name, m.name)) for m in piece.landmarks),
        )

    nest = {"42": numbered(front, ["notch_1", "notch_2"])}
    relations = replace(skirt.relations, seams={}, openings={}, stacks={}, bands={}, blend=None)
    alone = replace(
        skirt, sizes=("42",), base="42", chart={}, relations=replace(relations, assemblies={},
        girths={}, places={}, welt_openings={}), pieces={"front": Piece("front", nest)},
        info={"front": skirt.info["front"]},
    )  # fmt: skip
    edge = front.edge("side")
    moved = []
    for mark in own:  # both 4 mm farther along
        at = front.distance("side", mark.name) + 4.0
        x, y = (float(np.interp(at, edge.arc, edge.points[:, k])) for k in (0, 1))
        moved.append(replace(mark, point=(x, y)))
    drawn = replace(
        front,
        landmarks=tuple(
            {m.name: new for m, new in zip(own, moved, strict=True)}.get(m.name, m)
            for m in front.landmarks
        ),
    )
    sent = Piece("front", {"42": numbered(drawn, ["notch_2", "notch_1"])})
    found = revise(alone, {"front": sent})
    assert [(m.mark.name, round(m.mark.moved_mm, 3)) for m in found.marks] == [
        ("notch_1", 4.0),
        ("notch_2", 4.0),
    ]


@pytest.mark.parametrize("angle", [0.0, 0.1, 3.0, 45.0, 90.0, 180.0, 183.0])
def test_another_grain_is_said_and_not_taken(trousers: PatternSet, angle: float) -> None:
    front = trousers.sized("front", "42")
    (x0, y0), (x1, y1) = front.grain.start, front.grain.end
    turn = complex(np.cos(np.radians(angle)), np.sin(np.radians(angle)))
    tip = complex(x0, y0) + turn * complex(x1 - x0, y1 - y0)
    sent = replace(front, grain=Grain((x0, y0), (tip.real, tip.imag)))
    found = revise(trousers, {"front": Piece("front", {"42": sent})})
    told = [n.text for notices in found.notices.values() for n in notices if "grain" in n.text]
    off = min(angle % 180, -angle % 180)
    assert [f"at {off:.1f}° to the set's" in text for text in told] == [True] * (off > 1)
    now = found.pattern.sized("front", "42").grain.direction
    assert now @ front.grain.direction > np.cos(np.radians(0.11))
