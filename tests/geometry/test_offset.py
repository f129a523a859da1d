"""Cut lines against Steiner's formula, closed forms and shapely."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.geometry.joints import MITRE_LIMIT, Corner
from propagate.geometry.offset import OffsetOutline, offset_chain
from propagate.geometry.parallel import offset_line
from propagate.geometry.polyline import length
from tests.geometry.catalogue import FAR, Array, arc, cubic, quick, shift

MITRE = Corner.MITRE


def chain(corners: Sequence[tuple[float, float]] | Array) -> list[Array]:
    points = np.array([*corners, corners[0]], dtype=float)
    return [points[i : i + 2] for i in range(len(points) - 1)]


def mitred(edges: list[Array], width: float) -> OffsetOutline:
    return offset_chain(edges, [width] * len(edges), [MITRE] * len(edges))


def outline(edges: list[Array]) -> shapely.Polygon:
    return shapely.Polygon(np.concatenate([edge[:-1] for edge in edges]))


def polygon(found: OffsetOutline) -> shapely.Polygon:
    result = shapely.Polygon(found.points)
    assert result.is_valid, shapely.is_valid_reason(result)
    assert found.area == pytest.approx(result.area, rel=1e-9)
    return result


def perimeter(found: OffsetOutline) -> float:
    return float(shapely.Polygon(found.points).length)


def regular(count: int, side: float) -> list[Array]:
    return chain(arc(side / (2 * math.sin(math.pi / count)), 10, 370, count)[:-1])


SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
NOTCHED = [(0, 0), (100, 0), (100, 80), (60, 80), (60, 30), (40, 30), (40, 80), (0, 80)]


@pytest.mark.parametrize(("count", "side"), [(3, 30.0), (4, 10.0), (6, 10.0), (40, 9.0)])
@pytest.mark.parametrize("width", [1.0, 10.0])
def test_steiner_for_mitred_polygons(count: int, side: float, width: float) -> None:
    # Steiner's formula, mitred: L + 2 r sum tan(e/2), A + L r + r^2 sum tan(e/2).
    edges = regular(count, side)
    found = mitred(edges, width)
    tangents = count * math.tan(math.pi / count)
    base = outline(edges)
    expected = base.area + base.length * width + width**2 * tangents
    assert found.area == pytest.approx(expected, rel=1e-10)
    assert perimeter(found) == pytest.approx(base.length + 2 * width * tangents, rel=1e-10)
    assert len(found.points) == count
    polygon(found)


def test_steiner_values() -> None:
    # Hexagon of side 10, r 1: 66.928203 and 323.271723; square: 48 and 144.
    hexagon, square = mitred(regular(6, 10.0), 1.0), mitred(chain(SQUARE), 1.0)
    assert perimeter(hexagon) == pytest.approx(66.928203, abs=1e-6)
    assert hexagon.area == pytest.approx(323.271723, abs=1e-6)
    assert (perimeter(square), square.area) == pytest.approx((48, 144))


def test_steiner_for_a_circle() -> None:
    # Round: L + 2 pi r and A + L r + pi r^2; a circle's mitred polygon tends to it.
    found = mitred([arc(100, 0, 360, 720)], 10.0)
    assert perimeter(found) == pytest.approx(2 * math.pi * 110, rel=1e-4)
    assert found.area == pytest.approx(math.pi * 110**2, rel=1e-4)
    assert len(found.points) == pytest.approx(720, abs=2)
    assert set(found.owners.tolist()) == {0}
    (stretch,) = found.stretches(0)
    assert stretch[0].tolist() == stretch[-1].tolist()


@pytest.mark.parametrize(("sweep", "side"), [((0, 90), 1), ((90, 0), -1)])
def test_offset_of_an_open_arc(sweep: tuple[float, float], side: int) -> None:
    # L + r x total turning: r 100, 90 degrees, 10 outside 172.787596, inside 141.371669.
    # A polyline turns at its inner vertices only: one chord's turning less.
    line = offset_line(arc(100, *sweep, 900), 10.0)
    turning = math.pi / 2 * 899 / 900
    assert length(line) == pytest.approx(50 * math.pi + 10 * side * turning, abs=1e-4)
    radii = np.hypot(*line.T)
    assert radii == pytest.approx(np.full(len(line), 100 + 10.0 * side), abs=1e-3)


@pytest.mark.parametrize(
    ("theta", "reach"),
    [(90, 1.4142), (60, 2.0), (45, 2.6131), (30, 3.8637)],
)
def test_corner_reach(theta: float, reach: float) -> None:
    # w / sin(theta / 2).
    edges = chain(
        [
            (0, 0),
            (200, 0),
            (200 * math.cos(math.radians(theta)), 200 * math.sin(math.radians(theta))),
        ]
    )
    found = mitred(edges, 10.0)
    away = np.hypot(*found.points.T).min()
    assert reach == pytest.approx(1 / math.sin(math.radians(theta / 2)), abs=1e-4)
    assert away == pytest.approx(10 * reach, abs=1e-3)


@pytest.mark.parametrize("theta", [20.0, 10.0, 2.0])
def test_sharp_corners_are_cut_off_at_the_limit(theta: float) -> None:
    # Below 2 asin(1/4) = 28.955 degrees the tip would reach further than 4 widths.
    assert theta < math.degrees(2 * math.asin(1 / MITRE_LIMIT))
    half = math.radians(theta / 2)
    wedge = [
        (0, 0),
        (200 * math.cos(half), -200 * math.sin(half)),
        (200 * math.cos(half), 200 * math.sin(half)),
    ]
    found = mitred(chain(wedge), 10.0)
    left = found.points[found.points[:, 0] < -10]
    assert left[:, 0] == pytest.approx([-40, -40])
    assert outline(chain(wedge)).exterior.distance(polygon(found).exterior) == pytest.approx(10)


@pytest.mark.parametrize("width", [3.0, 9.0, 10.5, 15.0, 40.0])
def test_a_slot_closes_when_the_allowance_fills_it(width: float) -> None:
    # A slot 20 wide and 50 deep: open below 10, filled above.  Shapely's own mitred
    # buffer is exact on right angles.
    found = mitred(chain(NOTCHED), width)
    expected = outline(chain(NOTCHED)).buffer(width, join_style="mitre", mitre_limit=10)
    assert polygon(found).symmetric_difference(shapely.Polygon(expected.exterior)).area < 1e-6
    if width < 10:
        by_hand = (100 + 2 * width) * (80 + 2 * width) - (20 - 2 * width) * 50
        assert found.area == pytest.approx(by_hand)
    else:
        assert found.area == pytest.approx((100 + 2 * width) * (80 + 2 * width))
        assert len(found.stretches(4)) == 0


def hollow(radius: float) -> list[Array]:
    top = np.vstack([(100, 100), shift(arc(radius, 360, 180, 60), 50, 100), (0, 100)])
    top[1], top[-2] = (50 + radius, 100), (50 - radius, 100)
    return [
        np.array([(0.0, 0), (100, 0)]),
        np.array([(100.0, 0), (100, 100)]),
        top,
        np.array([(0.0, 100), (0, 0)]),
    ]


@pytest.mark.parametrize("radius", [6.0, 30.0])
@pytest.mark.parametrize("width", [3.0, 5.9, 6.1, 10.0, 25.0])
def test_a_tight_hollow_is_trimmed(radius: float, width: float) -> None:
    edges = hollow(radius)
    found = mitred(edges, width)
    # Nowhere nearer than the allowance; inside it every place within the allowance.
    assert outline(edges).exterior.distance(polygon(found).exterior) == pytest.approx(width)
    centre = shapely.Point(50, 100)
    if width < radius - 0.2:
        # The parallel of an inner arc has its radius less the width (Farouki & Neff).
        assert polygon(found).exterior.distance(centre) == pytest.approx(radius - width, abs=0.03)
    elif width > radius:
        assert polygon(found).contains(centre)


def test_collapsed_edge_of_its_own_is_swallowed() -> None:
    bottom, right, top, left = hollow(6.0)
    edges = [bottom, right, top[:2], top[1:-1], top[-2:], left]
    found = mitred(edges, 10.0)
    assert found.area == pytest.approx(120 * 120)
    assert found.stretches(3) == ()


@pytest.mark.parametrize("width", [0.0, 7.0])
@pytest.mark.parametrize("place", [(0.0, 0.0), tuple(FAR)])
def test_points_and_owners(width: float, place: tuple[float, float]) -> None:
    curve = cubic([(100, 80), (70, 60), (40, 95), (0, 80)], 40)
    straight = chain([(0, 0), (100, 0), (100, 80), (0, 80)])
    edges = [shift(edge, *place) for edge in (*straight[:2], curve)]
    edges.append(np.array([edges[-1][-1], edges[0][0]]))
    found = offset_chain(edges, [width, 10.0, width, 10.0], [MITRE] * 4)
    assert not found.points.flags.writeable and not found.owners.flags.writeable
    assert len(found.points) <= sum(len(edge) for edge in edges)
    middles = (found.points + np.roll(found.points, -1, axis=0)) / 2
    for middle, owner in zip(middles, found.owners.tolist(), strict=True):
        far = shapely.LineString(edges[owner]).distance(shapely.Point(middle))
        allowance = (width, 10.0, width, 10.0)[owner]
        assert far >= allowance - 1e-6
    stretches = [found.stretches(i) for i in range(4)]
    assert [len(parts) for parts in stretches] == [1, 1, 1, 1]
    around = np.vstack([parts[0][:-1] for parts in stretches])
    assert around.tolist() == found.points.tolist()
    if width == 0.0:
        kept = [row for row in edges[2].tolist() if row in found.points.tolist()]
        assert kept == edges[2].tolist()[1:-1]


def test_edge_without_allowance_is_run_on_to_the_cut_line() -> None:
    # An edge on the fold at 80 degrees to the hem: its line runs on to the hem's cut line.
    top = 100 / math.tan(math.radians(80))
    edges = chain([(0, 0), (100, 0), (100, 100), (top, 100)])
    found = offset_chain(edges, [20, 10, 10, 0], [MITRE] * 4)
    assert found.points.tolist()[0] == pytest.approx([-20 / math.tan(math.radians(80)), -20])
    assert found.area == pytest.approx(polygon(found).area)
    assert found.stretches(3)[0][-1] == pytest.approx(found.points[0])


def test_width_steps_along_a_straight_line() -> None:
    edges = chain([(0, 0), (50, 0), (100, 0), (100, 60), (0, 60)])
    found = offset_chain(edges, [10, 25, 10, 10, 10], [MITRE] * 5)
    assert found.points.tolist() == [
        [-10, -10], [50, -10], [50, -25], [110, -25], [110, 70], [-10, 70],
    ]  # fmt: skip
    assert found.area == pytest.approx(120 * 80 + 60 * 15)


@pytest.mark.parametrize("bend", [-4.0, 4.0])
def test_width_steps_at_a_blunt_corner(bend: float) -> None:
    edges = chain([(0, bend), (50, 0), (100, bend), (100, 60), (0, 60)])
    found = polygon(offset_chain(edges, [10, 25, 10, 10, 10], [MITRE] * 5))
    # On either side of the corner the full width is there at once.
    assert found.exterior.distance(shapely.LineString(edges[1])) == pytest.approx(10, abs=0.7)
    for x, wide in ((40.0, 10.0), (60.0, 25.0), (53.0, 25.0)):
        below = found.intersection(shapely.LineString([(x, -60), (x, 30)])).bounds[1]
        seam = outline(edges).intersection(shapely.LineString([(x, -60), (x, 30)])).bounds[1]
        tilt = math.hypot(50, bend) / 50
        assert seam - below == pytest.approx(wide * tilt, abs=1e-6)


@pytest.mark.parametrize("theta", [60.0, 90.0, 115.0])
@pytest.mark.parametrize("corner", [Corner.SQUARE_TO_FIRST, Corner.SQUARE_TO_SECOND])
def test_square_corner(theta: float, corner: Corner) -> None:
    # A seam (allowance 15) and a waist (10) that meet at theta.  The seam line run on
    # meets the waist's cut line at 10 / sin(theta); there the allowance ends square.
    away = math.radians(180 - theta)
    tip = (100 + 80 * math.cos(away), 80 * math.sin(away))
    edges = chain([(0, 0), (100, 0), tip, (0, 90)])
    widths = [15.0, 10, 5, 5] if corner is Corner.SQUARE_TO_FIRST else [10.0, 15, 5, 5]
    found = offset_chain(edges, widths, [corner, MITRE, MITRE, MITRE])
    far = 10 / math.sin(math.radians(theta))
    if corner is Corner.SQUARE_TO_FIRST:
        wanted = [(100 + far, -15.0), (100 + far, 0.0)]
    else:
        along = np.array([math.cos(away), math.sin(away)])
        out = np.array([along[1], -along[0]])
        foot = np.array([100.0, 0]) - far * along
        wanted = [tuple(foot), tuple(foot + 15 * out)]
    for point in wanted:
        assert np.hypot(*(found.points - point).T).min() < 1e-9
    polygon(found)


@pytest.mark.parametrize("flare", [-30.0, 0.0, 45.0])
def test_a_turned_hem_mirrors_the_leg(flare: float) -> None:
    # Folded up along the hem, the allowance lies exactly on the leg with its own seam
    # allowances (common practice, no source).
    edges = chain([(0, 0), (200, 0), (200 + flare, 500), (-flare, 500)])
    corners = [Corner.MIRROR_IN_FIRST, MITRE, MITRE, Corner.MIRROR_IN_SECOND]
    whole = polygon(offset_chain(edges, [40, 12, 10, 12], corners))
    below = whole.intersection(shapely.box(-500, -500, 700, 0))
    above = whole.intersection(shapely.box(-500, 0, 700, 40))
    folded = shapely.affinity.scale(below, 1, -1, origin=(0, 0))
    assert folded.symmetric_difference(above).area < 1e-6
    assert below.bounds[1] == pytest.approx(-40)


def test_a_curved_turned_hem() -> None:
    # Sides that lean out by 6 degrees each, hem an arc square to them (a flared skirt).
    hem = shift(arc(1000, 264, 276, 60), 0, 1000)
    top = shift(arc(400, 276, 264, 30), 0, 1000)
    edges = [hem, np.array([hem[-1], top[0]]), top, np.array([top[-1], hem[0]])]
    corners = [Corner.MIRROR_IN_FIRST, MITRE, MITRE, Corner.MIRROR_IN_SECOND]
    found = offset_chain(edges, [30, 12, 10, 12], corners)
    polygon(found)
    # By symmetry about the fold's tangent the side is square to the hem, so the mirror
    # image runs straight on: the hem's cut line ends 12 mm beside the side's seam line.
    (stretch,) = found.stretches(0)
    side = shapely.LineString([hem[-1], hem[-1] + (hem[-1] - top[0])])
    tip = stretch[np.argmax(stretch[:, 0])]
    assert side.distance(shapely.Point(tip)) == pytest.approx(12, abs=0.05)
    radii = np.hypot(*(stretch[4:-4] - (0, 1000)).T)
    assert radii == pytest.approx(np.full(len(radii), 1030), abs=0.05)


@st.composite
def blobs(draw: st.DrawFn) -> list[Array]:
    """A piece with curved and straight edges and corners that are not too sharp."""
    count = draw(st.integers(3, 7))
    angles = (np.arange(count) + draw(st.floats(0, 0.4))) / count * 2 * math.pi
    radii = np.array(draw(st.lists(st.floats(60, 200), min_size=count, max_size=count)))
    corners = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    edges = []
    for i in range(count):
        a, b = corners[i], corners[(i + 1) % count]
        bow = draw(st.sampled_from([0.0, -0.15, 0.1, 0.25]))
        normal = np.array([b[1] - a[1], a[0] - b[0]])
        middle = (a + b) / 2 + bow * normal
        edge = cubic([a, (a + 2 * middle) / 3, (b + 2 * middle) / 3, b], 24 if bow else 1)
        edge[0], edge[-1] = a, b
        edges.append(edge)
    return edges


@quick
@given(blobs(), st.sampled_from([3.0, 10.0, 40.0]))
def test_equal_allowance_all_round(edges: list[Array], width: float) -> None:
    if not outline(edges).is_valid:
        return
    found = polygon(mitred(edges, width))
    seam = outline(edges)
    assert found.contains(seam)
    # Everything within the allowance belongs to the piece and the cut line keeps it.
    assert seam.exterior.distance(found.exterior) == pytest.approx(width, abs=2e-6)
    box = np.array(found.bounds)
    places = shapely.points(
        *(
            v.ravel()
            for v in np.meshgrid(np.linspace(box[0], box[2], 40), np.linspace(box[1], box[3], 40))
        )
    )
    near = shapely.distance(places, seam) < width - 1e-6
    assert shapely.contains(found, places[near]).all()
    # And nothing reaches further than the tip of a mitre, or the ends of one cut off.
    tips = shapely.points(shapely.get_coordinates(found))
    assert shapely.distance(tips, seam).max() <= math.hypot(MITRE_LIMIT, 1.0) * width + 1e-6


@quick
@given(
    blobs(),
    st.lists(st.sampled_from([0.0, 6.0, 10.0, 40.0]), min_size=7, max_size=7),
    st.lists(st.sampled_from(list(Corner)), min_size=7, max_size=7),
)
def test_any_mixture_gives_a_sound_cut_line(
    edges: list[Array], widths: list[float], corners: list[Corner]
) -> None:
    if not outline(edges).is_valid:
        return
    count = len(edges)
    found = offset_chain(edges, widths[:count], corners[:count])
    assert polygon(found).buffer(1e-6).covers(outline(edges))
    steps = np.hypot(*(found.points - np.roll(found.points, 1, axis=0)).T)
    assert steps.min() > 1e-6
    assert found.area >= outline(edges).area - 1e-6
    again = offset_chain(edges, widths[:count], corners[:count])
    assert again.points.tobytes() == found.points.tobytes()


@pytest.mark.parametrize(
    ("edges", "widths", "message"),
    [
        (chain(SQUARE), [1.0, -2.0, 1.0, 1.0], "allowance of -2.0 mm"),
        (chain(SQUARE), [1.0, math.nan, 1.0, 1.0], "allowance of nan mm"),
        (chain(SQUARE[::-1]), [1.0] * 4, "counter-clockwise"),
        (chain(SQUARE), [1.0] * 3, "4 edges, 3 widths"),
        (chain([(0, 0), (9, 0), (9, 9), (3, -4), (0, 9)]), [1.0] * 5, "crosses itself"),
    ],
)
def test_refusals(edges: list[Array], widths: list[float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        offset_chain(edges, widths, [MITRE] * len(edges))


def test_doubled_points_do_no_harm() -> None:
    edges = chain(SQUARE)
    edges[0] = np.array([(0.0, 0), (4, 0), (4, 0), (10, 0), (10, 0)])
    assert mitred(edges, 1.0).area == pytest.approx(144)
