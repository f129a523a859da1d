"""Edits judged by a redraft: the generator draws the set anew with the edit built in.

Every follower lies within 0.5 mm of the redraft, or a free choice that is stated parts them.
Where each kind of edit has its judge:

- take-in: `test_quay_jeans_edits`, `test_ferry_shirt_draft`, `test_lined_skirt_draft`
- let-out, lengthen, blend by level: `test_market_bag_draft`
- raise: `test_quay_jeans_edits`
- lower: `test_concert_dress_draft`, `test_puddle_pinafore_draft`, `test_lined_skirt_draft`
- shorten, widen, spread, draw-edge, move-mark, allow, a size between: here, on the bag
- open, ease, widen-dart, narrow-dart: here, on the skirt
- swing-dart, divide-dart, move-dart, true, finish-corner: `test_lined_skirt_redrafts`
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

import propagate
from demo_sets.market_bag import draft as bag
from demo_sets.scoop_skirt import draft as skirt
from demo_sets.scoop_skirt import mains, pocket
from propagate import PatternSet, SizedPiece
from tests.edits.random_edits import edit_of
from tests.engine import measure
from tests.shared import demo

NEAR_MM = 0.5
CHORD_MM = 0.02
"""A curve stored as a path, and its polyline."""
VOLUME, BOX = "13", bag.BOXES["13"]
SIZE, NUMBER = "M", skirt.SIZES.index("M")


def edited(name: str, size: str, *words: str) -> PatternSet:
    """A demo set after edits, one a text."""
    named = [propagate.NamedEdit(text, edit_of(text.split())) for text in words]
    found = propagate.apply_edits(demo(name), named, sizes=(size,))
    assert found.sews
    return found.pattern


def apart(one: SizedPiece, other: SizedPiece, *edges: str, lay: bool = True) -> float:
    """The farthest that two pieces are apart, edge by edge, the best laid on each other."""
    put = measure.STAY
    if lay:
        ends = [
            np.array([e.points[k] for e in piece.edges for k in (0, -1)]) for piece in (one, other)
        ]
        put = measure.registration(*ends)
    return max(
        measure.farthest_apart(put(one.edge(name).points), other.edge(name).points)
        for name in edges or one.edge_names
    )


# ---------------------------------------------------------------------------------- the bag


def test_shorter_is_as_drafted_lower() -> None:
    new = edited("market_bag", VOLUME, "shorten level=upper by=30mm")
    for name, wanted in bag.draw(replace(BOX, high=BOX.high - 30.0)).items():
        assert apart(new.sized(name, VOLUME), wanted) < NEAR_MM, name


def test_widened_from_mouth_to_bottom_is_as_drafted_wider() -> None:
    new = edited("market_bag", VOLUME, "widen piece=front from=top to=bottom by=20mm")
    for name, wanted in bag.draw(replace(BOX, wide=BOX.wide + 20.0)).items():
        assert apart(new.sized(name, VOLUME), wanted) < NEAR_MM, name


def test_spread_at_the_mouth_the_facing_is_as_drafted_for_the_longer_mouth() -> None:
    """The sides turn and keep their length, so the gusset stays; how the mouth bows is free."""
    new = edited("market_bag", VOLUME, "spread piece=front from=top to=bottom by=16mm")
    front = new.sized("front", VOLUME)
    wide = shapely.LineString(front.edge("top").points).length
    assert wide == pytest.approx(BOX.wide + 16.0, abs=0.5)
    turn = 2 * np.degrees(np.arcsin(16.0 / 2 / BOX.high))
    sides = [np.subtract(*front.edge(name).points[[-1, 0]]) for name in ("right", "left")]
    lean = np.degrees(np.arccos(-sides[0] @ sides[1] / np.prod(np.hypot(*np.transpose(sides)))))
    assert lean == pytest.approx(turn, abs=0.05)
    assert apart(new.sized("gusset", VOLUME), bag.draw(BOX)["gusset"]) < NEAR_MM
    wanted = bag.draw(replace(BOX, wide=wide))["facing"]
    assert apart(new.sized("facing", VOLUME), wanted) < NEAR_MM
    assert apart(new.sized("back", VOLUME), front) < 1e-5


def test_a_side_drawn_bowed_is_the_arc_and_the_gusset_as_drafted_for_it() -> None:
    """Through three points the draft takes the circle; which smooth curve it is, is free."""
    bow = -4.0
    new = edited("market_bag", VOLUME, f"draw-edge edge=front.right through=50%:{bow}mm")
    front = new.sized("front", VOLUME)
    radius = (BOX.high**2 / 4 + bow**2) / (2 * abs(bow))
    half = np.arcsin(BOX.high / 2 / radius)
    turn = np.linspace(-half, half, 200)
    x = BOX.wide / 2 + (radius - abs(bow)) - radius * np.cos(turn)
    arc = np.column_stack([x, BOX.high / 2 + radius * np.sin(turn)])
    assert measure.farthest_apart(front.edge("right").points, arc) < NEAR_MM
    longer = 2 * half * radius - BOX.high
    names = ("front_side", "right_end", "back_side", "left_end")
    whole = 2 * BOX.high + BOX.wide + longer
    gusset = bag.strip(whole, BOX.deep, (), names).placed(bag.Frame())
    assert apart(new.sized("gusset", VOLUME), gusset) < NEAR_MM
    assert apart(new.sized("facing", VOLUME), bag.draw(BOX)["facing"]) < NEAR_MM


def test_a_handle_that_is_marked_elsewhere_is_as_drafted_there(monkeypatch: Any) -> None:
    new = edited("market_bag", VOLUME, "move-mark mark=front.handle_right by=12mm")
    monkeypatch.setattr(bag, "HANDLE_FROM_MIDDLE", bag.HANDLE_FROM_MIDDLE - 12.0 / BOX.wide)
    wanted = bag.draw(BOX)["front"].distance("top", "handle_right")
    assert new.sized("front", VOLUME).distance("top", "handle_right") == pytest.approx(wanted)
    for name, piece in bag.draw(BOX).items():
        assert apart(new.sized(name, VOLUME), piece) < 1e-9, name


def test_a_wider_allowance_is_cut_as_a_rectangle_is() -> None:
    edit = propagate.NamedEdit("wide", edit_of(["allow", "edge=front.top", "to=37mm"]))
    new = propagate.apply_edits(demo("market_bag"), [edit]).pattern
    cut = [
        np.ptp(propagate.cut_line(p.sized("front", VOLUME), p.info["front"]).points, axis=0)
        for p in (demo("market_bag"), new)
    ]
    assert cut[1] - cut[0] == pytest.approx([0.0, 37.0 - 10.0], abs=1e-6)
    assert new.pieces == demo("market_bag").pieces


@pytest.mark.parametrize("share", [0.25, 0.7])
def test_a_volume_between_two_is_as_drafted_between_them(share: float) -> None:
    size = f"13+{share}"
    new = propagate.with_between_size(demo("market_bag"), size)
    (name,) = set(new.sizes) - set(demo("market_bag").sizes)
    ends = [np.array([b.wide, b.high, b.deep, b.pocket]) for b in (BOX, bag.BOXES["16"])]
    for piece, wanted in bag.draw(bag.Box(*(ends[0] + share * (ends[1] - ends[0])))).items():
        assert apart(new.sized(piece, name), wanted) < NEAR_MM, piece


# -------------------------------------------------------------------------------- the skirt


@pytest.mark.parametrize("along", [6.0, -5.0])
def test_an_opening_moved_along_the_top_is_as_drafted_there(monkeypatch: Any, along: float) -> None:
    """The layers keep their other ends, where the draft goes on as far behind and below."""
    new = edited("scoop_skirt", SIZE, f"open opening=scoop_pocket along={along}mm")
    monkeypatch.setattr(pocket, "FROM_CORNER", pocket.FROM_CORNER + along)
    drawn = skirt._draw(NUMBER)
    front = skirt.skirt_front(drawn, NUMBER)
    assert apart(new.sized("skirt_front", SIZE), front, lay=False) < NEAR_MM
    for name, make in (("skirt_back", skirt.skirt_back), ("belt", skirt.belt)):
        assert apart(new.sized(name, SIZE), make(drawn, NUMBER)) < CHORD_MM, name
    facing, wanted = new.sized("pocket_facing", SIZE), skirt.pocket_facing(drawn, NUMBER)
    for edge, mark in (("top", "scoop_top"), ("flank", "scoop_low")):
        ends = [piece.distance(edge, mark) for piece in (facing, wanted)]
        others = [
            piece.edge(edge).length - end for piece, end in zip((facing, wanted), ends, strict=True)
        ]
        assert min(abs(ends[0] - ends[1]), abs(others[0] - others[1])) < NEAR_MM


def test_another_ease_of_the_belt_is_as_drafted_with_it(monkeypatch: Any) -> None:
    words = [f"ease seam=belt_fit.{side}_back to=6mm" for side in ("right", "left")]
    new = edited("scoop_skirt", SIZE, *words)
    monkeypatch.setattr(skirt, "BACK_EASED", 6.0)
    drawn = skirt._draw(NUMBER)
    for name, make in skirt.PIECES.items():
        assert apart(new.sized(name, SIZE), make(drawn, NUMBER)) < NEAR_MM, name


@pytest.mark.parametrize("word", ["widen-dart", "narrow-dart"])
def test_a_dart_of_another_width_is_as_drafted_with_it(monkeypatch: Any, word: str) -> None:
    """The draft draws the top anew, as one curve over the closed dart, and the flank from there.

    The edit keeps the parts of the top as they were drawn and turns them about the tip: how the
    top bows is free, by up to 2 mm here.  What is sewn to it, and what it is as long as, is not.
    """
    new = edited("scoop_skirt", SIZE, f"{word} dart=skirt_back.back_dart by=4mm")
    back = new.sized("skirt_back", SIZE)
    (dart,) = back.darts
    legs = [np.subtract(back.landmark(leg).point, dart.tip) for leg in dart.legs]
    angle = np.arccos(legs[0] @ legs[1] / np.prod(np.hypot(*np.transpose(legs))))
    darts = [float(width) for width in skirt.DART]
    darts[NUMBER] = 2 * mains.DART_LENGTH * float(np.sin(angle / 2))
    assert abs(darts[NUMBER] - skirt.DART[NUMBER]) > 3.0
    monkeypatch.setattr(skirt, "DART", tuple(darts))
    drawn = skirt._draw(NUMBER)
    wanted = skirt.skirt_back(drawn, NUMBER)
    assert apart(back, wanted, "cb", "foot", lay=False) < NEAR_MM
    assert apart(back, wanted, "top", "flank", lay=False) < 2.0
    assert apart(back, demo("scoop_skirt").sized("skirt_back", SIZE), "top", lay=False) > 3.0
    assert back.edge("flank").length == pytest.approx(wanted.edge("flank").length, abs=0.1)
    for name in ("belt", "skirt_front", "pocket_facing", "bag_front", "bag_back"):
        assert apart(new.sized(name, SIZE), skirt.PIECES[name](drawn, NUMBER)) < NEAR_MM, name
