"""One trouser top of straight lines, worked by hand from start to finish.

Every expected number is written out; none is computed by the project.  All lie in the
rational numbers (the side is the triangle 7, 24, 25; the mouth lands on whole
millimetres), so they are kept as fractions.  The drawing is in `straight_trouser`.

The blend: waist of the small size on the hip of the large one, the waist traced.  Laid
with crotch on crotch and centre on centre, the small size's corner is (211, 248).
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from propagate import Blend, blend
from propagate.pattern.validate import find_problems
from tests import builders
from tests.engine import measure
from tests.engine.straight_trouser import FRAMES, LARGE, SMALL, straight_trouser

NEAR = 1e-5  # coordinates are rounded to a nanometre

# The large size's side is the line through (260, 80) and (204, 272):
#   24 x + 7 y = 24 * 260 + 7 * 80 = 6800.
# At y = 248 it has x = (6800 - 1736) / 24 = 211: the small size's corner lies on it.
CORNER = (Fraction(211), Fraction(248))

# The opening.  Its top lies 37.5 from the side corner along the waist: (173.5, 248).
# Its line goes 37.5 out and 110 down; its square is 37.5^2 + 110^2 = 13506.25.
PIN = (Fraction(347, 2), Fraction(248))
OLD_MOUTH = (Fraction(75, 2), Fraction(-110))
# A point s mm down the new side from the corner is (211 + 7 s / 25, 248 - 24 s / 25).
# It is as far from the pin as the mouth is long when
#   (37.5 + 7 s / 25)^2 + (24 s / 25)^2 = 13506.25,
#   s^2 + 21 s - 12100 = 0,   s = (-21 + sqrt(441 + 48400)) / 2 = (-21 + 221) / 2 = 100.
LANDING = (Fraction(239), Fraction(152))
NEW_MOUTH = (Fraction(131, 2), Fraction(-96))
# The swing is the angle between the two, anticlockwise:
#   cos = (37.5 * 65.5 + 110 * 96) / 13506.25 = 10413 / 10805,
#   sin = (37.5 * -96 + 110 * 65.5) / 13506.25 = 2884 / 10805;  15.48 degrees.
COS, SIN = Fraction(10413, 10805), Fraction(2884, 10805)
# Its far end moves from (211, 138) to (239, 152): sqrt(28^2 + 14^2) = sqrt(980).
FAR_END_MOVED = math.sqrt(980)


def back_to_layer(point):
    """A point of the result in the frame in which the small size's layers are drawn.

    The swing about the pin undone: the layers keep their own frames.
    """
    x, y = point[0] - PIN[0], point[1] - PIN[1]
    return PIN[0] + COS * x + SIN * y, PIN[1] - SIN * x + COS * y


def meet(point, along, other, other_along):
    """How far `point` must go along `along` (in its own lengths) to the other line."""
    dx, dy = other[0] - point[0], other[1] - point[1]
    cross = along[0] * other_along[1] - along[1] * other_along[0]
    return (dx * other_along[1] - dy * other_along[0]) / cross


# In a layer's frame the new side runs from the corner in the direction (7, -24) / 25,
# turned back by the swing.
LAYER_CORNER = back_to_layer(CORNER)
LAYER_SIDE = tuple(
    b - a for a, b in zip(LAYER_CORNER, back_to_layer((CORNER[0] + 7, CORNER[1] - 24)), strict=True)
)
LAYER_WAIST = (COS, -SIN)


@pytest.fixture(scope="module")
def pattern():
    found = straight_trouser()
    assert find_problems(found) == ()
    return found


@pytest.fixture(scope="module")
def traced(pattern):
    return blend(pattern, Blend({"waist": SMALL, "hip": LARGE}, top="traced"))


def points(result, piece, edge, size=None):
    """Points of an edge, with the frame of the piece taken out."""
    found = result.pattern.pieces[piece].at(result.pattern.base)
    shift = FRAMES.get(piece, {}).get(size, (0.0, 0.0))
    return measure.points_of(found, edge) - np.array(shift)


def assert_near(found, expected, tolerance=NEAR):
    assert np.abs(np.subtract(found, np.array(expected, float))).max() <= tolerance, (
        np.array(found).tolist(),
        np.array(expected, float).tolist(),
    )


def test_the_side_is_the_large_sizes_own_line(traced):
    full = measure.taped(traced.pattern, "full_front", traced.pattern.base)
    x, y = full.edges["side"].T
    assert_near((24 * x + 7 * y) / 25, np.full(len(x), 6800 / 25))
    # The back is the mirror image, 10 wider.
    x, y = points(traced, "back", "side", LARGE).T
    assert_near((24 * (-x - 10) + 7 * y) / 25, np.full(len(x), 6800 / 25))


def test_the_waist_and_its_corner(traced):
    """Traced: level at 248, 211 wide in the front and 221 in the back."""
    assert_near(points(traced, "front", "waist")[:, 1], 248.0)
    assert_near(points(traced, "front", "waist")[-1], (0.0, 248.0))
    assert_near(points(traced, "back", "waist", LARGE)[[0, -1]], [(0.0, 248.0), (-221.0, 248.0)])
    full = measure.taped(traced.pattern, "full_front", traced.pattern.base)
    assert_near(full.edges["waist"][0], CORNER)


def test_the_waist_gains_seven_millimetres_and_sinks_by_twenty_four(traced, pattern):
    """211 - 204 = 7 on each side; a strip of 24 * (211 + 204) / 2 = 4980 mm2 falls away."""
    new = measure.taped(traced.pattern, "full_front", traced.pattern.base)
    old = measure.taped(pattern, "full_front", LARGE)
    lengths = [measure.polyline_length(silhouette.edges["waist"]) for silhouette in (new, old)]
    assert lengths[0] - lengths[1] == pytest.approx(7.0, abs=NEAR)
    assert old.polygon.difference(new.polygon).area == pytest.approx(4980.0, abs=0.01)
    assert new.polygon.difference(old.polygon).area == pytest.approx(0.0, abs=0.01)


def test_the_paper_that_is_cut_off_the_front(traced):
    """By trapezia, from the hem at -64 up.

    Large: 240 * (302 + 232) / 2 + 96 * (232 + 174) / 2 = 64080 + 19488 = 83568;
    new: 216 * (302 + 239) / 2 + 96 * (239 + 173.5) / 2 = 58428 + 19800 = 78228.
    """
    (change,) = [piece for piece in traced.record.pieces if piece.piece == "front"]
    assert change.trimmed_mm2 == pytest.approx(83568 - 78228, abs=0.01)
    assert change.added_mm2 == pytest.approx(0.0, abs=0.01)


def test_seam_lengths(traced):
    """Above the hip 168 * 25 / 24 = 175, below it 144 * 25 / 24 = 150."""
    relations = traced.pattern.relations.seams["side_seam"]
    for run in (relations.lead, relations.follow):
        size = measure.run_length(traced.pattern, traced.pattern.base, run)
        assert size == pytest.approx(325.0, abs=NEAR)
    # The front keeps 216 * 25 / 24 of it, the facing has the 100 above the landing.
    front, facing = relations.lead
    for span, expected in ((front, 225.0), (facing, 100.0)):
        sized = traced.pattern.pieces[span.piece].at(traced.pattern.base)
        assert measure.span_length(sized, span) == pytest.approx(expected, abs=NEAR)
    (row,) = [row for row in traced.record.seams if row.name == "side_seam" and row.kind == "seam"]
    assert (row.first, row.second) == pytest.approx((325.0, 325.0), abs=NEAR)


def test_the_opening_lands_where_circle_and_line_cross(traced):
    assert OLD_MOUTH[0] ** 2 + OLD_MOUTH[1] ** 2 == NEW_MOUTH[0] ** 2 + NEW_MOUTH[1] ** 2
    assert_near(points(traced, "front", "mouth"), [LANDING, PIN])
    (row,) = traced.record.openings
    assert row.after_mm == pytest.approx(math.sqrt(13506.25), abs=NEAR)
    assert row.before_mm == pytest.approx(math.sqrt(13506.25), abs=NEAR)


def test_the_swing(traced):
    old, new = (math.atan2(float(y), float(x)) for x, y in (OLD_MOUTH, NEW_MOUTH))
    assert math.cos(new - old) == pytest.approx(float(COS), abs=1e-12)
    assert math.sin(new - old) == pytest.approx(float(SIN), abs=1e-12)
    (row,) = traced.record.openings
    assert row.swing_deg == pytest.approx(math.degrees(new - old), abs=NEAR)
    assert row.moved_mm == pytest.approx(FAR_END_MOVED, abs=NEAR)
    assert row.slid_mm == 0.0
    assert any(
        "15.5° anticlockwise" in n.text for n in traced.record.warnings if n.where == "pocket"
    )


def test_the_facing(traced):
    """Its corner is the assembly's; its inner edge is run on along its own line, both ways.

    The inner edge goes 1 out for 2 down.  At the waist it lacks 37.5 sin, at the side
    what the two side lines, 0.78 degrees apart, leave open after 40 mm.
    """
    side = points(traced, "facing", "side", SMALL)
    assert_near(side[-1], LAYER_CORNER)
    # 173.5 + 37.5 cos, 248 - 37.5 sin
    assert_near(LAYER_CORNER, (173.5 + 37.5 * COS, 248 - 37.5 * SIN), 0.0)
    up = meet((136, 248), (-1, 2), LAYER_CORNER, LAYER_WAIST)
    assert up * (2 * COS - SIN) == Fraction(75, 2) * SIN
    down = meet((211, 98), (1, -2), LAYER_CORNER, LAYER_SIDE)
    inner = points(traced, "facing", "inner", SMALL)
    assert_near(inner[0], (136 - up, 248 + 2 * up))
    assert_near(inner[-1], (211 + down, 98 - 2 * down))
    assert measure.nearest(inner, [(0, 520), (311, -102)]).max() < NEAR  # y = 520 - 2 x
    rides = _rides(traced, "facing")
    assert rides["waist"].added_mm == pytest.approx(float(up) * math.sqrt(5), abs=1e-4)
    assert rides["side"].added_mm == pytest.approx(float(down) * math.sqrt(5), abs=1e-4)
    # The old corner stood 37.5 sin above the new waist.
    assert rides["waist"].trimmed_mm == pytest.approx(37.5 * float(SIN), abs=1e-4)


def test_the_bags(traced):
    """Upright edges run on by 62.5 tan(swing); the bottom runs on to the side.

    62.5 * 2884 / 10413 = 17.310 mm at the waist.
    """
    up = Fraction(125, 2) * SIN / COS
    out = meet((211, 60), (1, 0), LAYER_CORNER, LAYER_SIDE)
    under = points(traced, "under_bag", "bag", SMALL)
    assert_near(under[[0, -1]], [(111, 248 + up), (211 + out, 60)])
    assert measure.nearest((111, 60), under)[0] < NEAR
    top = points(traced, "top_bag", "bag", SMALL) * (-1.0, 1.0)  # drawn face down
    assert_near(top[[0, -1]], [(211 + out, 60), (111, 248 + up)])
    for line in (under, top):
        assert measure.polyline_length(line) == pytest.approx(float(288 + up + out), abs=NEAR)
    rides = _rides(traced, "under_bag")
    assert rides["waist"].added_mm == pytest.approx(float(up), abs=1e-4)
    assert rides["side"].added_mm == pytest.approx(float(out), abs=1e-4)
    assert rides["waist"].trimmed_mm == pytest.approx(37.5 * float(SIN), abs=1e-4)
    # The top bag ends at the mouth, so nothing of it stands over the waist or the side.
    rides = _rides(traced, "top_bag")
    assert rides["waist"].trimmed_mm == pytest.approx(0.0, abs=1e-4)
    assert rides["side"].trimmed_mm == pytest.approx(0.0, abs=1e-4)
    assert_near(points(traced, "top_bag", "mouth", SMALL), [(-173.5, 248), (-211, 138)], 0.0)


def _rides(result, piece):
    (row,) = [row for row in result.record.stacks if row.piece == piece]
    return {ride.edge: ride for ride in row.rides}


def test_the_facings_grain_is_redrawn_upright_to_the_front(traced):
    """In its own frame the front's upright leans by the swing: (sin, cos)."""
    grain = traced.pattern.pieces["facing"].at(traced.pattern.base).grain
    assert_near(grain.direction, (SIN, COS))
    assert_near(np.subtract(grain.end, grain.start), (40 * SIN, 40 * COS))


def test_the_band_keeps_every_digit(traced, pattern):
    """Zones of 30, 211 - 37.5, 37.5 and 221 - 2: what the small size has already."""
    assert traced.pattern.pieces["waistband"].at(traced.pattern.base) == pattern.pieces[
        "waistband"
    ].at(SMALL)
    rows = {row.name: row for row in traced.record.bands}
    for zone, band, run in (("front", 173.5, 173.5), ("facing", 37.5, 37.5), ("back", 219, 221)):
        row = rows[f"band_fit {zone}"]
        assert (row.first, row.second) == pytest.approx((band, run), abs=NEAR)
        assert row.difference == pytest.approx(0.0, abs=NEAR)


def test_girths(traced):
    """Waist 2 * (211 + 221), hip 2 * (260 + 270)."""
    rows = {row.girth: row.found_mm for row in traced.record.girths}
    assert rows == pytest.approx({"waist": 864.0, "hip": 1060.0}, abs=NEAR)


def test_the_corners_of_a_traced_waist(traced):
    """Each is 90 + atan(7 / 24); together 32.52 degrees more than the small size's 180."""
    (row,) = [row for row in traced.record.corners if row.kind == "top corners"]
    wanted = 180 + 2 * math.degrees(math.atan2(7, 24))
    assert row.found_sum == pytest.approx(wanted, abs=1e-4)
    assert row.wanted_sum == pytest.approx(180.0, abs=1e-4)
    assert any("+32.5°" in n.text for n in traced.record.warnings if n.where == "side_seam")


def test_with_the_pocket_of_the_large_size(pattern):
    """Its mouth lies 30 in and 100 down the same line: all moves by (7, -24), nothing swings.

    So the layers keep every digit, and the zones of the band become
    211 - 30 = 181 and 30: 7.5 go from the facing's zone to the front's.
    """
    result = blend(pattern, Blend({"waist": SMALL, "hip": LARGE}, top="traced", pocket="lower"))
    assert_near(points(result, "front", "mouth"), [(239, 152), (181, 248)])
    (row,) = result.record.openings
    assert row.swing_deg == pytest.approx(0.0, abs=NEAR)
    assert row.after_mm == pytest.approx(math.hypot(58, 96), abs=NEAR)
    for layer in ("facing", "under_bag", "top_bag"):
        assert result.pattern.pieces[layer].at(result.pattern.base) == pattern.pieces[layer].at(
            LARGE
        )
    band = result.pattern.pieces["waistband"].at(result.pattern.base)
    marks = [measure.landmark(band, name)[0] for name in ("centre_front", "pocket", "side")]
    assert_near(marks, (30, 211, 241))
    assert_near(points(result, "waistband", "lower")[[0, -1]], [(0, 0), (460, 0)])
    assert_near(points(result, "waistband", "upper")[[0, -1]], [(460, 40), (0, 40)])


# --------------------------------------------------------------- a trued top, by symmetry


@pytest.mark.parametrize(("upper", "lower"), [("36", "40"), ("40", "36"), ("38", "40")])
def test_front_and_back_that_mirror_each_other_are_trued_alike(upper, lower):
    """What belongs to both corners is shared evenly, so each condition holds on each piece.

    Front and back of the tiny skirt are mirror images, and each of its waist corners is
    square.  So in the blend each corner is square again, the sides are mirror images,
    and each waist is as long as its parabola y = r (x / w)^2:
        sqrt(w^2 + 4 r^2) / 2 + w^2 / (4 r) asinh(2 r / w).
    """
    pattern = builders.tiny_set()
    result = blend(pattern, Blend({"waist": upper, "hip": lower}))
    front, back = (result.pattern.pieces[n].at(result.pattern.base) for n in ("front", "back"))
    for name in ("hem", "side", "waist", "centre"):
        mirrored = measure.points_of(back, name)[::-1] * (-1.0, 1.0)
        assert_near(measure.points_of(front, name), mirrored)
    w, r = builders.WAIST[upper], builders.rise(upper)
    parabola = math.sqrt(w * w + 4 * r * r) / 2 + w * w / (4 * r) * math.asinh(2 * r / w)
    waist, side = measure.points_of(front, "waist"), measure.points_of(front, "side")
    assert measure.polyline_length(waist) == pytest.approx(parabola, abs=0.005)
    assert measure.corner_angle(waist, side) == pytest.approx(90.0, abs=0.3)
    # The half next to the centre is the parabola itself, where it was drawn.
    held = waist[waist[:, 0] < w / 2 - 4]
    assert_near(held[:, 1] - held[-1, 1], [r * (x / w) ** 2 for x in held[:, 0]], 0.01)
    # The side leaves the hold upright, as the lower size arrives there.
    above = side[side[:, 1] >= builders.HIP_Y]
    assert_near(above[0], (builders.HIP[lower], builders.HIP_Y))
    tangent = math.degrees(measure.end_tangent(above, "start"))
    assert tangent == pytest.approx(90.0, abs=0.05)
