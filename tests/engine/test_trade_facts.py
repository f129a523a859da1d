"""Facts of the trade, each marked as common practice: there is no source to name.

- Pieces are matched on the seam line, not on the cut line.
- Walking accepts 1/16 in; an opening may drift by 1/8 in at most (1 in = 25.4 mm).
- A dart is folded out before a seam is walked.
- The waist meets its mirrored twin at a right angle at the centre back.
- A girth grade G is G / 4 on each quarter of the body.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from propagate import Blend, EditError, blend, walk
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems
from propagate.tolerances import OPENING_DRIFT_MM, WALK_MM
from tests import builders
from tests.engine import measure
from tests.shared import blend_of, demo

INCH = 25.4
JOBS = [
    ("slant_trouser", "42", "48"),
    ("slant_trouser", "50", "40"),
    ("scoop_skirt", "S", "XL"),
    ("scoop_skirt", "3XL", "M"),
]
every_job = pytest.mark.parametrize(("name", "upper", "lower"), JOBS)


def run(name: str, upper: str, lower: str, pattern: PatternSet | None = None):
    pattern = demo(name) if pattern is None else pattern
    return blend_of(pattern, upper, lower)


# ------------------------------------------------------ the seam line and not the cut line

RADIUS, WIDTH, ALLOWANCE = 200.0, 50.0, 10.0


def _panel(inner: float, outer: float, angle: float) -> SizedPiece:
    """A part of a ring: its sides are radial, so the cut line of an arc is an arc."""
    turn = np.linspace(0.0, angle, 400)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    far, near = outer * ring, inner * ring[::-1]
    return SizedPiece(
        edges=tuple(
            Edge(name, frozen_points(points))
            for name, points in (
                ("outer", far),
                ("top", [far[-1], near[0]]),
                ("inner", near),
                ("bottom", [near[-1], far[0]]),
            )
        ),
        grain=Grain((inner + 5.0, 0.5), (outer - 5.0, 0.5)),
    )


def princess(angle: float, other_angle: float) -> PatternSet:
    """A panel that bulges, sewn to one that is hollow, both with a radius of 200 mm."""
    drawn = {
        "bulging": _panel(RADIUS - WIDTH, RADIUS, angle),
        "hollow": _panel(RADIUS, RADIUS + WIDTH, other_angle),
    }
    sewn = {"bulging": "outer", "hollow": "inner"}
    seam = Seam("princess", parse_run("bulging.outer"), parse_run("hollow.inner reversed"))
    return PatternSet(
        name="princess",
        sizes=("1",),
        base="1",
        lay_on="hip",
        pieces={name: Piece(name, {"1": sized}) for name, sized in drawn.items()},
        info={
            name: PieceInfo(name, allowance=Allowance(0.0, {sewn[name]: ALLOWANCE}))
            for name in drawn
        },
        relations=Relations(seams={"princess": seam}),
    )


def test_seam_lines_that_agree_sew_though_the_cut_lines_do_not():
    """Over one radian: 200 mm each on the seam line; 210 and 190 on the cut lines."""
    pattern = princess(1.0, 1.0)
    assert find_problems(pattern) == ()
    (check,) = walk(pattern).of("seam")
    assert check.verdict == "sews"
    assert check.difference == pytest.approx(0.0, abs=1e-6)
    assert check.cut_line_difference == pytest.approx(190.0 - 210.0, abs=0.05)


def test_cut_lines_that_agree_prove_nothing():
    """Cut lines of 210 mm each: the hollow panel's angle is 210 / 190, so its seam is 221 mm."""
    pattern = princess(1.0, 210.0 / 190.0)
    (check,) = walk(pattern).of("seam")
    assert check.cut_line_difference == pytest.approx(0.0, abs=0.05)
    assert check.difference == pytest.approx(200.0 * 210.0 / 190.0 - 200.0, abs=0.01)
    assert check.verdict == "does not sew"


@every_job
def test_the_blend_matches_on_the_seam_line_whatever_the_allowances(name, upper, lower):
    """A wider allowance on one side changes the cut lines and not a digit of the seam lines."""
    source = demo(name)
    piece, edge = {"slant_trouser": ("back", "side"), "scoop_skirt": ("skirt_back", "flank")}[name]
    said = source.info[piece].allowance
    wider = replace(said, edges={**said.edges, edge: 25.0})
    info = {**source.info, piece: replace(source.info[piece], allowance=wider)}
    wide = replace(source, info=info)
    first, second = run(name, upper, lower), run(name, upper, lower, wide)
    size = first.pattern.base
    for piece in source.pieces:
        assert first.pattern.pieces[piece].at(size) == second.pattern.pieces[piece].at(size)
    seam = source.relations.blend.seam
    cut = [
        next(c for c in walk(r.pattern).of("seam") if c.name == seam).cut_line_difference
        for r in (first, second)
    ]
    assert abs(cut[1] - cut[0]) > 0.5


# -------------------------------------------------------------------------- tolerances


@pytest.mark.parametrize(
    ("off", "verdict"),
    [(0.3, "sews"), (1.4, "look"), (1.7, "does not sew"), (-1.7, "does not sew")],
)
def test_walking_accepts_a_sixteenth_of_an_inch(off, verdict):
    assert WALK_MM <= INCH / 16
    pattern = builders.tiny_set()
    sized = pattern.pieces["back"].at("38")
    side, hem = (np.array(sized.edge(name).points) for name in ("side", "hem"))
    side[-1] -= (0.0, off)
    hem[0] -= (0.0, off)
    pattern = builders.with_edge(pattern, "back", "38", "side", side)
    pattern = builders.with_edge(pattern, "back", "38", "hem", hem)
    (check,) = walk(pattern, "38").of("seam")
    assert check.difference == pytest.approx(off, abs=1e-6)
    assert check.verdict == verdict


@pytest.mark.parametrize(("drift", "verdict"), [(2.9, "look"), (INCH / 8 + 0.1, "does not sew")])
def test_an_opening_may_drift_an_eighth_of_an_inch_at_most(drift, verdict):
    """The top bag's mouth is bowed until it is that much longer than the front's."""
    assert OPENING_DRIFT_MM <= INCH / 8 == pytest.approx(3.175)
    pattern = builders.pocket_set()
    low, high = pattern.pieces["top_bag"].at("38").edge("mouth").points[[0, -1]]
    size = float(np.linalg.norm(high - low))
    bow = math.sqrt(((size + drift) / 2) ** 2 - (size / 2) ** 2)
    along = (high - low) / size
    middle = (low + high) / 2 + bow * np.array([-along[1], along[0]])
    pattern = builders.with_edge(pattern, "top_bag", "38", "mouth", [low, middle, high])
    check = next(c for c in walk(pattern, "38").of("opening") if c.name == "front_pocket")
    assert check.difference == pytest.approx(drift, abs=1e-6)
    assert check.verdict == verdict


def test_the_engine_does_not_use_what_the_check_allows():
    """Of 1/8 in nothing is spent: the mouths are as long as they were drawn."""
    for name, upper, lower in JOBS:
        (row,) = run(name, upper, lower).record.openings
        assert abs(row.difference_mm) <= 0.01 < INCH / 8


def test_darts_are_folded_out_before_a_seam_is_walked():
    """The back's waist of the trouser: its line less the mouth of its dart."""
    pattern = demo("slant_trouser")
    back = pattern.pieces["back"].at("42")
    whole = measure.polyline_length(measure.points_of(back, "waist"))
    legs = [measure.along(back, "waist", leg) for leg in back.darts[0].legs]
    mouth = abs(legs[1] - legs[0])
    assert mouth > 10.0
    rows = [c for c in walk(pattern, "42").of("band") if "back" in c.name]
    assert len(rows) == 2
    for row in rows:
        assert row.second == pytest.approx(whole - mouth, abs=0.01)


# --------------------------------------------------------------------------- centre back


@every_job
def test_the_waist_meets_the_centre_at_the_angle_of_the_tops_size(name, upper, lower):
    """A right angle at the centre back, so that no peak or dip shows after sewing."""
    source, result = demo(name), run(name, upper, lower)
    for main in source.relations.blend.mains:
        angles = []
        for pattern, size in ((result.pattern, result.pattern.base), (source, upper)):
            taped = measure.taped(pattern, main.silhouette, size)
            angles.append(measure.corner_angle(taped.edges[main.across], taped.edges[main.centre]))
        assert abs(angles[0] - angles[1]) < 0.25, main.silhouette
        if "back" in main.silhouette:
            assert angles[0] == pytest.approx(90.0, abs=1.0)
    for seam in source.relations.seams.values():
        if seam.mirror:
            rows = [c for c in walk(result.pattern).of("corner") if c.name == seam.name]
            assert rows
            assert all(row.verdict == "sews" for row in rows)


# ---------------------------------------------------------------------------- grade split


@every_job
def test_a_girth_grade_is_a_quarter_on_each_quarter(name, upper, lower):
    """The waist changes by the chart's grade and the hip by nothing: a split by level."""
    source, result = demo(name), run(name, upper, lower)
    plan = source.relations.blend
    size = result.pattern.base
    for girth in source.relations.girths.values():
        found = measure.girth(result.pattern, girth, size) - measure.girth(source, girth, lower)
        chart = source.chart[girth.chart]
        grade = chart[upper] - chart[lower] if girth.name == plan.upper else 0.0
        assert found == pytest.approx(grade, abs=0.2), girth.name
    waist = source.relations.girths[plan.upper]
    quarters = [
        measure.run_length(result.pattern, size, r) - measure.run_length(source, lower, r)
        for r in waist.runs
    ]
    grade = source.chart[waist.chart][upper] - source.chart[waist.chart][lower]
    assert np.mean(quarters) == pytest.approx(grade / 4, abs=0.05)


@pytest.mark.parametrize(
    ("short", "tolerance", "verdict"),
    [(0.4, 3.0, "sews"), (2.5, 3.0, "look"), (2.5, 2.0, "does not sew")],
)
def test_a_layer_that_misses_the_ends_of_the_opening_is_told(short, tolerance, verdict):
    """The facing's upper landmark is drawn nearer to the lower one than the mouth is long."""
    pattern = builders.pocket_set()
    nest = {}
    for size, facing in pattern.pieces["facing"].nest.items():
        low, top = (np.array(facing.landmark(m).point) for m in ("mouth_low", "mouth_top"))
        nearer = top + (low - top) * short / math.dist(low, top)
        mark = replace(facing.landmark("mouth_top"), point=tuple(nearer.tolist()))
        marks = [mark if m.name == "mouth_top" else m for m in facing.landmarks]
        nest[size] = replace(facing, landmarks=tuple(marks))
    pattern = replace(pattern, pieces={**pattern.pieces, "facing": Piece("facing", nest)})
    opening = replace(pattern.relations.openings["front_pocket"], tolerance=tolerance)
    relations = replace(pattern.relations, openings={"front_pocket": opening})
    pattern = replace(pattern, relations=relations)
    check = next(c for c in walk(pattern, "38").of("opening") if c.name == "front_pocket facing")
    assert check.difference == pytest.approx(-short, abs=1e-6)
    assert check.verdict == verdict


def test_a_layer_that_misses_the_opening_by_more_is_not_laid():
    """A top bag drawn in inches beside a front in millimetres: nothing sensible can be cut."""
    pattern = builders.pocket_set()
    nest = {}
    for size, bag in pattern.pieces["top_bag"].nest.items():
        edges = tuple(Edge(e.name, frozen_points(e.points / INCH), e.turns) for e in bag.edges)
        nest[size] = replace(bag, edges=edges)
    pattern = replace(pattern, pieces={**pattern.pieces, "top_bag": Piece("top_bag", nest)})
    plan = pattern.relations.blend
    edit = Blend({plan.upper: "36", plan.lower: "40"})
    with pytest.raises(EditError, match=r"'top_bag'.* miss the ends of opening 'front_pocket' by"):
        blend(pattern, edit)
