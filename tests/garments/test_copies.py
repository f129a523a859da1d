"""Pieces that are cut alike stay alike, whichever of them is edited; a strip round three edges."""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate import Conflict, Lower, MoveMark, PatternSet, Raise, TakeIn, Widen
from propagate.engine.edits.replace import Replace
from propagate.engine.job import Given
from propagate.engine.run import run
from propagate.engine.walk import walk
from propagate.pattern.alike import Alike
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.validate import find_problems
from tests.garments.inserts import bag
from tests.garments.measures import area_apart, edited, gains, long, misses, mm, up_to

BAG = bag(turned=0.3)


def apart(pattern: PatternSet, size: str = "M") -> float:
    front, back = pattern.sized("front", size), pattern.sized("back", size)
    return area_apart(front, back, "top", face_down=True)


def test_the_draft_is_alike() -> None:
    assert apart(BAG) < 1e-6 and find_problems(BAG) == ()
    assert [check.verdict for check in walk(BAG).of("alike")] == ["sews"]


@pytest.mark.parametrize("panel", ["front", "back"])
@pytest.mark.parametrize(
    ("edit", "whole"),
    [
        (lambda panel: Lower(edge=f"{panel}.bottom", by=mm(20.0)), 42.385),
        (lambda panel: Raise(edge=f"{panel}.top", by=mm(10.0)), 20.0),
        (lambda panel: TakeIn(edge=f"{panel}.right", by=mm(10.0)), -9.058),
    ],
)
def test_an_edit_of_either_panel_is_one_of_both(edit, whole: float, panel: str) -> None:
    """The strip round left, bottom and right is as long as the three edges of each panel."""
    found = edited(BAG, edit(panel))
    assert found.sews and apart(found.pattern) < 0.01
    assert max(misses(found.pattern).values()) < 0.02
    told = gains(BAG, found.pattern)
    assert told["gusset.front_side"] == told["gusset.back_side"] == pytest.approx(whole, abs=0.01)
    for edge in ("right", "bottom", "left"):
        assert told.get(f"front.{edge}") == pytest.approx(told.get(f"back.{edge}"), abs=1e-3)


def test_what_stayed_on_the_one_keeps_its_digits_on_the_other() -> None:
    found = edited(BAG, Raise(edge="back.top", by=mm(10.0)))
    old, new = (p.sized("front", "M") for p in (BAG, found.pattern))
    assert new.edge("bottom") is old.edge("bottom") or new.edge("bottom") == old.edge("bottom")
    assert new.grain == old.grain and new.levels == old.levels


def test_marks_go_along_and_a_spread_too() -> None:
    moved = edited(BAG, MoveMark(mark="back.handle", by=mm(12.0)))
    step = [
        up_to(moved.pattern, f"{panel}.top", "handle") - up_to(BAG, f"{panel}.top", "handle")
        for panel in ("back", "front")
    ]
    assert step == pytest.approx([12.0, -12.0], abs=1e-3)  # the two are drawn the other way round
    wide = edited(BAG, Widen(piece="back", first="bottom", second="top", by=mm(24.0)))
    assert wide.sews and apart(wide.pattern) < 0.01
    assert long(wide.pattern, "front.top") - long(BAG, "front.top") == pytest.approx(24.0, abs=0.2)


def _lower(piece: SizedPiece, by: float) -> SizedPiece:
    """A panel whose bottom is bowed out by so much more, its corners in place."""
    bottom = piece.edge("bottom")
    share = bottom.arc / bottom.length
    way = bottom.points[-1] - bottom.points[0]
    out = (way[1], -way[0]) / (way @ way) ** 0.5
    points = bottom.points + (4 * by * share * (1 - share))[:, None] * out
    edges = tuple(Edge("bottom", points) if e is bottom else e for e in piece.edges)
    return replace(piece, edges=edges)


def test_a_panel_that_was_sent_is_copied_and_two_that_differ_are_refused() -> None:
    front, back = (BAG.sized(name, "M") for name in ("front", "back"))
    sent = run(BAG, Replace("M", Given({"back": _lower(back, 9.0)})))
    assert sent.sews and apart(sent.pattern) < 0.01
    both = {"front": _lower(front, 9.0), "back": _lower(back, 9.0)}
    assert run(BAG, Replace("M", Given(both))).sews
    with pytest.raises(Conflict, match="alike 'panels': 'front' and 'back' were both changed"):
        run(BAG, Replace("M", Given({**both, "back": _lower(back, 4.0)})))


def test_a_copy_that_is_off_does_not_pass_the_walk() -> None:
    nest = {**BAG.piece("back").nest, "M": _lower(BAG.sized("back", "M"), 3.0)}
    off = replace(BAG, pieces={**BAG.pieces, "back": Piece("back", nest)})
    (check,) = walk(off).of("alike")
    assert check.verdict == "does not sew" and 1.0 < check.difference < 3.5


@pytest.mark.parametrize(
    ("pieces", "said"),
    [
        (("front",), "expected two or more that differ"),
        (("front", "front"), "expected two or more that differ"),
        (("front", "gusset"), "expected the same names on both"),
        (("front", "bakc"), "'back'"),
    ],
)
def test_what_cannot_be_copies_is_named(pieces: tuple[str, ...], said: str) -> None:
    alike = {"panels": Alike("panels", pieces)}
    found = find_problems(replace(BAG, relations=replace(BAG.relations, alike=alike)))
    assert any("alike 'panels'" in line and said in line for line in found)
