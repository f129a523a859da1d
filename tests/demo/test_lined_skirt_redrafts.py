"""Darts put elsewhere, a line trued, a corner finished: judged by redrafts of the lined skirt.

The draft turns lines about the tip of a dart, mirrors them in its fold, leads a waist over by a
cubic, and rules cut lines.  All that follows is drawn from there: facing and interfacing with the
darts closed, the lining with darts of its own, the bags.

What is free, and parts the two:

- a dart that is moved or divided leaves the outline, in the edit and in the draft that marks it
  anew.  A draft can draw the waist as one curve over the folded dart too; then the line bows
  otherwise, and its length is the same (`test_a_waist_drawn_anew_...`);
- which smooth curve a line is trued along.  Of a slope s over a length f the cubic
  s f u (1 - u)^2 stands off by 0.148 s f at most, one with the least curvature by 0.207 s f.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

import propagate
from demo_sets.lined_skirt import draft as drafting
from demo_sets.lined_skirt.darts import Divided, Moved, Placed, Plan, Swung
from propagate import FinishCorner, PatternSet, Piece, SizedPiece, TrueEdge
from propagate.engine.edits.sized import SizedEdit
from propagate.pattern.model import Edge
from tests.demo.test_redrafts import NEAR_MM, apart
from tests.edits.random_edits import edit_of
from tests.shared import demo, demo_in_few

AS_DRAWN_MM = 0.1
CHART = drafting.Chart()
PLANS: dict[str, Plan] = {
    "move-dart dart=back.dart by=15mm towards=end": Moved(15.0),
    "divide-dart dart=back.dart apart=50mm": Divided(50.0),
    "swing-dart dart=back.dart into=side at=330mm": Swung("side", 330.0),
    "swing-dart dart=back.dart into=hem at=150mm": Swung("hem", 150.0),
}
MARKS = (
    ("facing_back", "waist", "dart_match"),
    ("back", "side", "hip_notch"),
    ("back", "side", "pocket_low"),
    ("back", "centre", "zip_end"),
)


@cache
def edited(words: str) -> PatternSet:
    return after(demo_in_few("lined_skirt"), edit_of(words.split()))


def after(source: PatternSet, edit: SizedEdit) -> PatternSet:
    """A set in all its sizes after an edit."""
    result = propagate.apply_edits(source, [propagate.NamedEdit("one", edit)])
    assert result.sews
    return result.pattern


def drafted(size: str, **options: object) -> dict[str, SizedPiece]:
    """Every piece of a size as it is drafted with some options."""
    i = CHART.sizes.index(size)
    drawn = drafting._draw(replace(CHART, **options), i)  # type: ignore[arg-type]
    return {name: make(drawn, i) for name, make in drafting.PIECES.items()}


def darts_apart(one: SizedPiece, other: SizedPiece) -> float:
    """By how much darts differ: legs along their edge, tips from every corner, mm."""
    figures = []
    for piece in (one, other):
        corners = np.array([edge.points[0] for edge in piece.edges])
        rows = [
            (
                *sorted(piece.distance(dart.edge, leg) for leg in dart.legs),
                *np.hypot(*(corners - dart.tip).T),
            )
            for dart in piece.darts
        ]
        figures.append(np.array(sorted(rows)))
    assert sorted(dart.edge for dart in one.darts) == sorted(dart.edge for dart in other.darts)
    return float(np.abs(figures[0] - figures[1]).max(initial=0.0))


@pytest.mark.parametrize("words", PLANS)
def test_every_piece_is_as_drafted_with_the_dart_there(words: str) -> None:
    new = edited(words)
    for size in new.sizes:
        wanted = drafted(size, back_dart=PLANS[words])
        for name, piece in wanted.items():
            assert apart(new.sized(name, size), piece) < AS_DRAWN_MM, (name, size)
            assert darts_apart(new.sized(name, size), piece) < AS_DRAWN_MM, (name, size)
        for name, edge, mark in MARKS:
            places = [p.distance(edge, mark) for p in (new.sized(name, size), wanted[name])]
            assert places[0] == pytest.approx(places[1], abs=AS_DRAWN_MM), (name, mark, size)
        for name in ("back", "lining_back"):
            assert apart(demo("lined_skirt").sized(name, size), new.sized(name, size)) > 1.0


def test_a_waist_drawn_anew_over_the_moved_dart_bows_otherwise_and_is_as_long() -> None:
    new = edited("move-dart dart=back.dart by=15mm towards=end")
    for size in new.sizes:
        for name, wanted in drafted(size, back_dart=Placed(15.0)).items():
            piece = new.sized(name, size)
            free = [edge for edge in ("waist", "low") if edge in piece.edge_names]
            kept = [edge for edge in piece.edge_names if edge not in free]
            bowed = name in ("back", "facing_back", "fusible_back", "lining_back")
            assert apart(piece, wanted, *kept) < NEAR_MM, (name, size)
            if free:
                assert apart(piece, wanted, *free) < (3.0 if bowed else AS_DRAWN_MM), (name, size)
            if name == "facing_back":
                lengths = [p.edge("waist").length for p in (piece, wanted)]
                assert lengths[0] == pytest.approx(lengths[1], abs=0.01)


def test_a_waist_that_dips_is_trued_as_a_draft_leads_it_over() -> None:
    """6 degrees at the side: each waist is led over by half, and what is derived goes with it."""
    dip = 6.0
    shipped = demo_in_few("lined_skirt")
    dipped = {size: drafted(size, dip=dip) for size in shipped.sizes}
    pieces = {
        name: Piece(name, {size: dipped[size][name] for size in shipped.sizes})
        for name in shipped.pieces
    }
    old = replace(shipped, pieces=pieces)
    new = after(old, TrueEdge(edge="front.waist"))
    for size in new.sizes:
        for name, wanted in drafted(size, dip=dip, trued=True).items():
            piece = new.sized(name, size)
            assert apart(piece, wanted) < NEAR_MM, (name, size)
            if "waist" in piece.edge_names:
                assert apart(piece, old.sized(name, size), "waist") > 0.8, (name, size)


@pytest.mark.parametrize("finish", ["square", "square second"])
@pytest.mark.parametrize("corner", ["mouth/curve", "curve/mouth"])
def test_a_corner_is_cut_as_ruled(corner: str, finish: str) -> None:
    """How the end of a curve is run on is free: along its last chord, or as its circle goes there.

    With the second edge's allowance square it is the mirrored piece with the first one's.
    """
    new = after(
        demo_in_few("lined_skirt"), FinishCorner(corner=f"bag_front.{corner}", finish=finish)
    )
    assert new.pieces == demo_in_few("lined_skirt").pieces
    first, second = corner.split("/")
    for size in new.sizes:
        bag = drafted(size)["bag_front"]
        if finish == "square":
            wanted = drafting.bag_cut(bag, (first,))
        else:
            wanted = mirrored(drafting.bag_cut(turned_over(bag), (second,)))
        cut = propagate.cut_line(new.sized("bag_front", size), new.info["bag_front"]).points
        assert rings_apart(cut, wanted) < NEAR_MM, size
        if corner == "mouth/curve":
            assert rings_apart(drafting.bag_cut(bag), wanted) > 3.0, size


def rings_apart(one: np.ndarray, other: np.ndarray) -> float:
    return float(shapely.hausdorff_distance(shapely.LinearRing(one), shapely.LinearRing(other)))


def mirrored(points: np.ndarray) -> np.ndarray:
    return points[::-1] * (-1.0, 1.0)


def turned_over(piece: SizedPiece) -> SizedPiece:
    """A piece without darts, face down: its edges the other way round."""
    edges = tuple(Edge(edge.name, mirrored(edge.points)) for edge in piece.edges[::-1])
    return SizedPiece(edges=edges, grain=piece.grain)
