"""Slash and spread: judged by the closed form of a sector, by rotation and by shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, NamedEdit, PropagateError, Spread, Widen
from propagate.engine.edits.slashed import Slash, opening_motion, spread_piece
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, SizedPiece
from tests.builders import tiny_set
from tests.examples import examples
from tests.shared import demo

OUTER, INNER = 500.0, 150.0


def sector(angle: float) -> SizedPiece:
    """Part of a ring between two radii, from the x axis round."""
    turn = np.linspace(0.0, angle, int(math.degrees(angle) * 4) + 1)

    def arc(radius: float, at: np.ndarray) -> np.ndarray:
        return radius * np.column_stack([np.cos(at), np.sin(at)])

    outer, inner = arc(OUTER, turn), arc(INNER, turn[::-1])
    quarter = (OUTER * math.cos(angle / 4), OUTER * math.sin(angle / 4))
    edges = (
        Edge("hem", outer),
        Edge("left", np.array([outer[-1], inner[0]])),
        Edge("waist", inner),
        Edge("right", np.array([inner[-1], outer[0]])),
    )
    notch = Landmark("notch", "hem", quarter, "notch")
    return SizedPiece(edges, Grain((200.0, 0.0), (400.0, 0.0)), landmarks=(notch,))


@pytest.mark.parametrize("lines", [1, 3, 6])
def test_a_sector_becomes_the_sector_of_the_sum_of_the_angles(lines: int) -> None:
    """Opened in proportion to the radii, each gap is a sector about the same centre.

    Its angle is 2 asin(a / 2 R); area and arcs are those of the ring of the whole angle.
    """
    angle, opens = math.radians(50.0), 18.0
    old = sector(angle)
    hem, waist = old.edge("hem").length, old.edge("waist").length
    places = tuple(
        (hem * k / (lines + 1), waist * (lines + 1 - k) / (lines + 1)) for k in range(1, lines + 1)
    )
    slash = Slash("hem", "waist", places, (opens, opens * INNER / OUTER), stays_last=False)
    new, crossed = spread_piece(old, slash)
    whole = angle + lines * 2.0 * math.asin(opens / 2.0 / OUTER)
    assert not crossed
    for name, radius in (("hem", OUTER), ("waist", INNER)):
        away = np.hypot(*new.edge(name).points.T)
        assert np.abs(away - radius).max() < 0.02
        assert new.edge(name).length == pytest.approx(radius * whole, abs=0.01)
    far = new.edge("left").points[0]
    assert math.atan2(far[1], far[0]) == pytest.approx(whole, abs=1e-6)
    ring = (OUTER**2 - INNER**2) / 2 * whole
    assert shapely.Polygon(new.outline).area == pytest.approx(ring, rel=2e-5)
    assert new.distance("hem", "notch") / new.edge("hem").length == pytest.approx(0.25, abs=1e-6)
    assert new.edge("right") is old.edge("right")


@examples(25)
@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0), st.floats(80.0, 900.0))
def test_a_line_opens_by_both_amounts_and_stays_as_long(a: float, b: float, size: float) -> None:
    begin, end = np.array([3.0, 5.0]), np.array([3.0, 5.0 + size])
    motion = opening_motion(begin, end, (a, b), np.array([1.0, 0.2]))
    ends = motion.apply(np.array([begin, end]))
    assert np.hypot(*(ends[0] - begin)) == pytest.approx(a, abs=1e-9)
    assert np.hypot(*(ends[1] - end)) == pytest.approx(b, abs=1e-9)
    assert abs(motion.angle) == pytest.approx(2 * abs(math.asin((a - b) / 2 / size)), abs=1e-9)
    assert (ends[:, 0] >= 3.0 - 1e-9).all()


@pytest.mark.parametrize("size", ["36", "38", "40"])
def test_a_piece_that_is_widened_upright_gains_its_height_there_times_the_amount(size: str) -> None:
    skirt = tiny_set()
    old = skirt.sized("front", size)
    waist = shapely.LineString(old.edge("waist").points)
    meets = waist.intersection(shapely.LineString([(90, -50), (90, 50)]))
    places = {"at": ("90mm",), "to_at": (f"{waist.project(meets):.9f}mm",)}
    edit = Widen(
        piece="front", first="hem", second="waist", by=Amount(mm=30.0), size=size, **places
    )
    result = propagate.run(skirt, edit)
    new = result.pattern.sized("front", size)
    assert result.sews
    assert new.edge("hem").length == pytest.approx(old.edge("hem").length + 30.0, abs=1e-4)
    more = shapely.Polygon(new.outline).area - shapely.Polygon(old.outline).area
    height = meets.y - old.edge("hem").points[0][1]
    assert more == pytest.approx(30.0 * height, abs=10.0)  # mm2: the waist is trued there
    assert new.edge("centre") == old.edge("centre")  # the fold stays
    side = shapely.LineString(np.add(old.edge("side").points, [30.0, 0.0]))
    assert side.hausdorff_distance(shapely.LineString(new.edge("side").points)) < 0.001
    assert result.pattern.sized("back", size) is skirt.sized("back", size)


def test_a_hinge_keeps_its_edge_and_the_band_need_not_follow() -> None:
    skirt = demo("scoop_skirt")
    edit = Spread(
        piece="skirt_back",
        first="foot",
        second="top",
        by=Amount(mm=60.0),
        lines=3,
        at=("60mm", "200mm"),
        to_at=("20mm", "60mm"),
    )
    result = propagate.run(skirt, edit)
    old, new = (p.sized("skirt_back", "M") for p in (skirt, result.pattern))
    assert result.sews
    assert new.edge("foot").length - old.edge("foot").length == pytest.approx(60.0, abs=0.5)
    assert new.edge("top").length == pytest.approx(old.edge("top").length, abs=0.1)
    assert new.edge("flank").length == pytest.approx(old.edge("flank").length, abs=1e-4)
    legs = [
        float(np.hypot(*np.subtract(p.landmark(leg).point, p.darts[0].tip)))
        for p in (old, new)
        for leg in p.darts[0].legs
    ]
    assert legs[:2] == pytest.approx(legs[2:], abs=0.02)
    for piece in ("skirt_front", "bag_front", "bag_back", "pocket_facing"):
        assert result.pattern.sized(piece, "M") is skirt.sized(piece, "M")


@pytest.mark.parametrize("gather", [False, True])
def test_what_is_sewn_to_it_follows_or_is_gathered_on(gather: bool) -> None:
    skirt = demo("scoop_skirt")
    edit = Spread(
        piece="skirt_back",
        first="top",
        second="foot",
        by=Amount(mm=40.0),
        at=("165mm",),
        to_at=("110mm",),
        gather=gather,
    )
    found = propagate.apply_edits(skirt, [NamedEdit("full", edit)], sizes=("S", "M"))
    assert found.sews
    zones = {zone.name: zone for zone in found.pattern.relations.bands["belt_fit"].zones}
    for size in ("S", "M"):
        belts = [p.sized("belt", size) for p in (skirt, found.pattern)]
        backs = [p.sized("skirt_back", size).edge("top").length for p in (skirt, found.pattern)]
        grown = belts[1].edge("join").length - belts[0].edge("join").length
        assert backs[1] - backs[0] == pytest.approx(40.0, abs=0.5)
        assert grown == pytest.approx(0.0 if gather else 2 * (backs[1] - backs[0]), abs=0.1)
        if gather:
            eased = dict(zones["right_back"].ease.sizes)
            assert eased[size] == pytest.approx(3.0 + backs[1] - backs[0], abs=0.01)
            assert eased["XL"] == 3.0
    for name in skirt.pieces:
        assert found.pattern.sized(name, "XL") is skirt.sized(name, "XL")


@pytest.mark.parametrize("gather", [False, True])
def test_a_follower_is_gathered_on_or_told_to_be_longer_than_its_lead(gather: bool) -> None:
    trousers = demo("slant_trouser")
    edit = Spread(
        piece="back",
        first="side",
        second="inseam",
        by=Amount(mm=10.0),
        at=("500mm",),
        to_at=("400mm",),
        gather=gather,
    )
    result = propagate.run(trousers, edit)
    assert result.sews is gather
    told = [n.typed for n in result.record.warnings if n.where == "side_seam"]
    assert ("gather = true" in told) is not gather
    assert result.pattern.sized("front", "42") is trousers.sized("front", "42")


def test_a_band_that_is_widened_itself_is_told_what_to_widen() -> None:
    skirt = demo("scoop_skirt")
    edit = Widen(
        piece="belt",
        first="join",
        second="rim",
        by=Amount(mm=20.0),
        at=("300mm",),
        to_at=("480mm",),
        gather=True,
    )
    result = propagate.run(skirt, edit)
    told = " ".join(notice.text for notice in result.record.warnings)
    assert not result.sews and "spread that, and the band follows" in told


BASE = {"piece": "skirt_back", "first": "foot", "second": "top", "by": Amount(mm=20.0)}


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"piece": "skirt_bak"}, "did you mean 'skirt_back'"),
        ({"first": "fot"}, "did you mean 'foot'"),
        ({"second": "foot"}, "to itself"),
        ({"by": Amount(mm=-20.0)}, "more than 0"),
        ({"to_by": Amount(mm=-20.0)}, "more than 0"),
        ({"by": Amount(mm=900.0), "at": ("60mm",), "to_at": ("20mm",)}, "is the unit right?"),
        ({"at": ("40mm", "80mm")}, "found 2 places on edge 'foot' for 1 lines, expected 1"),
        ({"at": ("2mm",)}, "at least 5 mm"),
        ({"lines": 90}, "at least 5 mm"),
        ({"at": ("160mm",), "to_at": ("100mm",)}, "dart 'back_dart' or through it"),
        ({"piece": "skirt_front", "first": "scoop", "second": "foot"}, "opening 'scoop_pocket'"),
        ({"piece": "skirt_front", "first": "fold_line", "second": "flank"}, "on the fold"),
    ],
)
def test_what_cannot_be_is_said(said, words: str) -> None:
    skirt = demo("scoop_skirt")
    with pytest.raises(PropagateError) as error:
        propagate.run(skirt, Spread(**{**BASE, **said}))
    assert words in str(error.value)


@examples(10)
@given(st.floats(2.0, 60.0), st.floats(0.0, 40.0), st.integers(1, 4))
def test_any_spread_sews_and_leaves_the_rest(by: float, to_by: float, lines: int) -> None:
    skirt = tiny_set()
    edit = Spread(
        piece="back",
        first="hem",
        second="waist",
        by=Amount(mm=by),
        to_by=Amount(mm=to_by) if to_by > 0.5 else None,
        lines=lines,
    )
    result = propagate.run(skirt, edit)
    assert result.sews
    assert shapely.Polygon(result.pattern.sized("back", "38").outline).is_valid
    assert result.pattern.sized("front", "38") is skirt.sized("front", "38")
    old, new = (p.sized("back", "38") for p in (skirt, result.pattern))
    for edge in ("side", "centre"):
        assert new.edge(edge).length == pytest.approx(old.edge(edge).length, abs=1e-4)
