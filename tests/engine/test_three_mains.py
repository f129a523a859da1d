"""One back between a left and a right front that differ: in one piece, or a half for both.

Judged with shapely, by hand, and by the plain skirt of front and back: where the two fronts
are alike, a back in one piece is that skirt's back and its mirror image.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import shapely

import propagate
from propagate.errors import Conflict
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import BlendMain, BlendPlan, PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems
from propagate.report.worksheet.derive import work_sheet
from tests import builders
from tests.engine.measure import corner_angle
from tests.examples import part_of

LEFT, RIGHT = "left_front", "right_front"
PAIRS = [("36", "40"), ("40", "36"), ("38", "40")]
ORDERS = [(0, 1, 2), (0, 2, 1), (2, 1, 0), (1, 0, 2)]
SAME, WIDER, STRAIGHTER = (0.0, 0.0), (8.0, 8.0), (0.0, 6.0)
"""By how much the right front is wider than the left, at waist and hip, mm."""


def turned_over(piece: SizedPiece) -> SizedPiece:
    edges = (Edge(e.name, e.points[::-1] * (-1.0, 1.0)) for e in reversed(piece.edges))
    ends = [(-x, y) for x, y in (piece.grain.start, piece.grain.end)]
    marks = (replace(m, point=(-m.point[0], m.point[1])) for m in piece.landmarks)
    return replace(piece, edges=tuple(edges), landmarks=tuple(marks), grain=Grain(*ends))


def whole_back(size: str) -> SizedPiece:
    """The front of the small skirt and its mirror image, in one piece."""
    half = builders.front_sized(size)
    side, waist = half.edge("side").points, half.edge("waist").points
    mirror = np.array([-1.0, 1.0])
    low = builders.HIP[size]
    return SizedPiece(
        edges=(
            builders.edge("hem", (-low, builders.HEM_Y), (low, builders.HEM_Y)),
            Edge("right", side),
            Edge("waist", np.vstack([waist, (waist[::-1] * mirror)[1:]])),
            Edge("left", side[::-1] * mirror),
        ),
        grain=Grain((0.0, -500.0), (0.0, -100.0)),
        levels=half.levels,
    )


@pytest.fixture
def wider(monkeypatch: pytest.MonkeyPatch) -> object:
    """Draws a front that is wider at waist and hip."""

    def draw(size: str, by: tuple[float, float]) -> SizedPiece:
        with monkeypatch.context() as changed:
            for name, more in zip(("WAIST", "HIP"), by, strict=True):
                table = {key: mm + more for key, mm in getattr(builders, name).items()}
                changed.setattr(builders, name, table)
            return builders.front_sized(size)

    return draw


def garment(
    draw: object,
    by: tuple[float, float],
    *,
    whole: bool,
    order: Sequence[int] = (0, 1, 2),
    seam: str = "left_side",
) -> PatternSet:
    plain = builders.tiny_set()
    back = whole_back if whole else builders.back_sized
    pieces = {
        LEFT: Piece(LEFT, {s: turned_over(builders.front_sized(s)) for s in builders.SIZES}),
        "back": Piece("back", {s: back(s) for s in builders.SIZES}),
        RIGHT: Piece(RIGHT, {s: draw(s, by) for s in builders.SIZES}),  # type: ignore[operator]
    }
    ends = ("left", "right") if whole else ("side", "centre")
    mains = [
        BlendMain(LEFT, "waist", "centre", "side", "hip", "hip"),
        BlendMain("back", "waist", ends[1], ends[0], "hip", "hip"),
        BlendMain(RIGHT, "waist", "centre", "side", "hip", "hip"),
    ]
    mates = ("back.left", "back.right") if whole else ("back.side", "back.side")
    seams = {
        "left_side": _from_the_hem("left_side", pieces, f"{LEFT}.side", mates[0]),
        "right_side": _from_the_hem("right_side", pieces, f"{RIGHT}.side", mates[1]),
    }
    plan = BlendPlan("waist", "hip", tuple(mains[i] for i in order), seam)
    found = replace(
        plain,
        pieces=pieces,
        info={name: PieceInfo(name, cut=1) for name in pieces},
        relations=Relations(seams=seams, blend=plan),
        chart={},
    )
    assert not find_problems(found)
    return found


def _from_the_hem(name: str, pieces: dict[str, Piece], lead: str, follow: str) -> Seam:
    runs = []
    for key in (lead, follow):
        piece, _, edge = key.partition(".")
        points = pieces[piece].at("38").edge(edge).points
        runs.append(key if points[0][1] < points[-1][1] else f"{key} reversed")
    return Seam(name, parse_run(runs[0]), parse_run(runs[1]), hold="hip")


def blended(pattern: PatternSet, upper: str, lower: str, **options: object) -> propagate.Result:
    edit = propagate.Blend({"waist": upper, "hip": lower}, **options)  # type: ignore[arg-type]
    return propagate.blend(pattern, edit)


def new(result: propagate.Result, name: str) -> SizedPiece:
    return result.pattern.sized(name, result.record.size)


def ruled(piece: SizedPiece, edge: str) -> float:
    return float(shapely.LineString(piece.edge(edge).points).length)


def top_angle(piece: SizedPiece, side: str) -> float:
    """Inner angle between a side and the waist, degrees."""
    return float(corner_angle(piece.edge(side).points, piece.edge("waist").points))


@pytest.mark.parametrize(
    ("options", "by", "pair"),
    part_of(  # every option, garment and pair of sizes is in some of them
        product(
            [{}, {"follow": "length"}, {"rise": 240.0}, {"hold": 30.0}],
            [SAME, WIDER, STRAIGHTER],
            PAIRS,
        ),
        5,
    ),
)
@pytest.mark.parametrize("whole", [True, False])
def test_each_side_of_the_back_follows_its_own_front(
    wider: object,
    whole: bool,
    pair: tuple[str, str],
    by: tuple[float, float],
    options: dict[str, object],
) -> None:
    upper, lower = pair
    pattern = garment(wider, by, whole=whole)
    result = blended(pattern, upper, lower, **options)
    sides = ("left", "right") if whole else ("side", "side")
    for front, side in zip((LEFT, RIGHT), sides, strict=True):
        mate = new(result, "back")
        assert ruled(mate, side) == pytest.approx(ruled(new(result, front), "side"), abs=0.05)
        corner = top_angle(mate, side) + top_angle(new(result, front), "side")
        drawn = top_angle(pattern.sized("back", upper), side) + top_angle(
            pattern.sized(front, upper), "side"
        )
        assert corner == pytest.approx(drawn, abs=1.0)
    assert result.sews
    for name in pattern.pieces:
        assert ruled(new(result, name), "waist") == pytest.approx(
            ruled(pattern.sized(name, upper), "waist"), abs=0.1
        )
        assert new(result, name).edge("hem") == pattern.sized(name, lower).edge("hem")


@pytest.mark.parametrize(("upper", "lower"), PAIRS)
def test_between_fronts_that_are_alike_it_is_the_plain_back_twice(
    wider: object, upper: str, lower: str
) -> None:
    back = new(blended(garment(wider, SAME, whole=True), upper, lower), "back")
    plain = new(blended(builders.tiny_set(), upper, lower), "back")
    for side, flip in (("left", 1.0), ("right", -1.0)):
        drawn = shapely.LineString(plain.edge("side").points * (flip, 1.0))
        found = shapely.LineString(back.edge(side).points)
        assert shapely.hausdorff_distance(drawn, found) < 0.05
    mirrored = shapely.Polygon(back.outline * (-1.0, 1.0))
    assert shapely.Polygon(back.outline).symmetric_difference(mirrored).area < 0.01


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize(("upper", "lower"), PAIRS[:2])
def test_order_of_mains_and_the_seam_that_the_plan_names_do_not_matter(
    wider: object, upper: str, lower: str, whole: bool
) -> None:
    wanted = blended(garment(wider, STRAIGHTER, whole=whole), upper, lower)
    for order in ORDERS:
        for seam in ("left_side", "right_side"):
            pattern = garment(wider, STRAIGHTER, whole=whole, order=order, seam=seam)
            found = blended(pattern, upper, lower)
            for name in pattern.pieces:
                for edge in new(wanted, name).edges:
                    points = new(found, name).edge(edge.name).points
                    assert points == pytest.approx(edge.points, abs=1e-6)


def test_which_end_the_plan_calls_the_centre_does_not_matter(wider: object) -> None:
    pattern = garment(wider, STRAIGHTER, whole=True)
    plan = pattern.relations.blend
    assert plan is not None
    mains = tuple(
        replace(m, side="right", centre="left") if m.silhouette == "back" else m for m in plan.mains
    )
    other = replace(pattern, relations=replace(pattern.relations, blend=replace(plan, mains=mains)))
    one, two = (new(blended(p, "36", "40"), "back") for p in (pattern, other))
    for edge in one.edges:
        assert two.edge(edge.name).points == pytest.approx(edge.points, abs=1e-6)


def test_below_the_hold_a_back_in_one_piece_is_the_lower_size_digit_for_digit(
    wider: object,
) -> None:
    pattern = garment(wider, WIDER, whole=True)
    back, old = new(blended(pattern, "36", "40"), "back"), pattern.sized("back", "40")
    for edge in ("left", "right"):
        kept = {tuple(p) for p in old.edge(edge).points.tolist() if p[1] <= builders.HIP_Y}
        assert kept <= {tuple(p) for p in back.edge(edge).points.tolist()}


def test_what_cannot_be_is_a_conflict_that_names_both_seams(wider: object) -> None:
    """Traced tops give the two fronts sides of two lengths, and one half back cannot have both."""
    pattern = garment(wider, STRAIGHTER, whole=False)
    with pytest.raises(Conflict) as refused:
        blended(pattern, "36", "40", top="traced")
    for seam in ("left_side", "right_side"):
        assert any(f"'{seam}'" in cause for cause in refused.value.causes)
    assert refused.value.distance_mm > 1.0


def test_the_work_sheet_lays_a_back_in_one_piece_by_its_middle(wider: object) -> None:
    result = blended(garment(wider, WIDER, whole=True), "36", "40")
    laid = next(s for s in work_sheet(result).steps if s.title == "Lay the other size over")
    said = {
        name: text
        for text in (s.text for s in laid.sentences)
        for name in (LEFT, "back")
        if text.lower().startswith(f"lay {name.replace('_', ' ')} ")
    }
    assert "the middle between its sides on the middle" in said["back"]
    assert "centre on centre" in said[LEFT]


def test_a_back_with_two_sides_is_no_likely_mistake(wider: object) -> None:
    for seam in ("left_side", "right_side"):
        pattern = garment(wider, WIDER, whole=True, seam=seam)
        kinds = {finding.rule for finding in propagate.review(pattern)}
        assert "side of a main" not in kinds
