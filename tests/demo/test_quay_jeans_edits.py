"""The jeans under edits: the file that comes with them, and redrafts with the edit built in.

A redraft moves the lines of the draft by the closed form of the edit and lets the generator draw
everything that depends on them: the pocket and its layers, the yoke's seam, the waistband.  What
follows in the program lies within 0.5 mm of it, but for what is free.  The inner edge of a bag
goes with the opening, as it was drawn, where the draft bends it anew between its ends.  A band that
becomes shorter keeps its turn, as one that is lapped, where the draft keeps its radius: 12 mm less
on 475 mm put its ends 1.3 mm apart.  Corners are left: the draft trues none.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.interpolate import CubicSpline

import propagate
from demo_sets.drafting import Curve, curve_length, cut, length, locate, rotated
from demo_sets.drawing import Drawing
from demo_sets.quay_jeans import draft, mains, pocket, small_parts
from propagate import Amount, NamedEdit, Raise, TakeIn
from propagate.io.edits_toml import read_edits
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.engine.measure import Rigid, registration
from tests.examples import part_of
from tests.shared import blended, demo

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "quay_jeans"
NEAR_MM = 0.5
BY = 6.0
SIZE, NUMBER = "32", 3


def jeans() -> PatternSet:
    return demo("quay_jeans")


def test_the_edits_that_come_with_it_run_on_the_whole_nest_and_sew() -> None:
    file = read_edits(HOME / "edits.toml")
    found = propagate.apply_edits(jeans(), file.edits)
    assert found.sews
    assert set(found.records) == set(jeans().sizes)
    assert propagate.review(found.pattern) == ()
    for size in jeans().sizes:
        walked = propagate.walk(found.pattern, size=size, cut_lines=False)
        for check in walked.checks:
            if check.kind in ("seam", "notch", "zone"):
                assert abs(check.difference) <= 0.05, (size, check.name)
        for main in ("back", "front"):
            was, now = (p.sized(main, size).edge("inseam").length for p in (jeans(), found.pattern))
            assert now - was == pytest.approx(25.0, abs=0.2)
    for name in ("coin_pocket", "back_pocket", "belt_loop"):
        assert found.pattern.pieces[name] == jeans().pieces[name]


# --- the redraft --------------------------------------------------------------------------


def body() -> draft.Body:
    return draft.bodies(HOME / "set.toml")[SIZE]


def fade(x: np.ndarray) -> np.ndarray:
    """From 1 at a free end to nothing at a hold: the least bent line, a cubic."""
    x = np.clip(x, 0.0, 1.0)
    faded: np.ndarray = (1 - x) ** 2 * (1 + x / 2)
    return faded


def fine(points: np.ndarray, step: float = 0.5) -> tuple[np.ndarray, np.ndarray]:
    """A line with vertices every so often besides its own, and their distances along it."""
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    at = np.union1d(arc, np.arange(0.0, arc[-1], step))
    return np.column_stack([np.interp(at, arc, points[:, k]) for k in (0, 1)]), at


def curve_of(points: np.ndarray) -> Curve:
    """A line as a function of its share."""
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])

    def along(t: np.ndarray) -> np.ndarray:
        at = np.asarray(t, dtype=float) * arc[-1]
        return np.column_stack([np.interp(at, arc, points[:, k]) for k in (0, 1)])

    return along


def closer_front() -> mains.Front:
    """The front, its side taken in at the waist to nothing at the hip."""
    front, at_hip = mains.draw_front(body()), [0.0, body().hip_level]
    waist = cut(front.waist, 0.0, length(front.waist) - BY)
    side, arc = fine(front.leg.side)
    hip = locate(side, at_hip)
    side = side + fade(arc / hip)[:, None] * (waist[-1] - front.waist[-1])
    above = cut(side, 0.0, locate(side, at_hip))
    leg = front.leg
    moved = mains.Leg(side, leg.hem, leg.inseam, leg.centre, leg.crease)
    return mains.Front(moved, waist, (curve_of(waist), curve_of(above)))


def edges_of(drawing: Drawing) -> Mapping[str, np.ndarray]:
    return {stroke.name: stroke.points for stroke in drawing.strokes}


def apart(piece: SizedPiece, put: Rigid, edge: str, line: np.ndarray) -> float:
    own = shapely.LineString(put(piece.edge(edge).points))
    return float(shapely.hausdorff_distance(own, shapely.LineString(line), densify=0.05))


@pytest.fixture(scope="module")
def closer() -> PatternSet:
    edit = TakeIn(edge="full_front.side", by=Amount(mm=BY), at="waist", to=("hip",), both=True)
    found = propagate.apply_edits(
        jeans(), [NamedEdit("closer", edit)], sizes=(SIZE,), corners="left"
    )
    assert found.sews
    return found.pattern


def test_the_pocket_and_its_layers_are_those_of_the_redraft(closer: PatternSet) -> None:
    laid = pocket.draw_pocket(closer_front(), 90.0 + 0.8 * NUMBER)
    front = closer.sized("front", SIZE)
    home = draft.build()["front"].nest[SIZE]
    # The front lies in the draft's frame, but moved: its hem did not change.
    shift = home.edge("hem").points[0] - mains.draw_front(body()).leg.hem.control[0]
    put = Rigid(np.eye(2), shift, np.zeros(2))
    assert apart(front, put, "mouth", laid.mouth) < NEAR_MM
    assert apart(front, put, "side", cut(laid.front.leg.side, laid.low)) < NEAR_MM
    facing = edges_of(pocket.draw_facing(laid))
    outline = {"waist": laid.front.waist, "side": laid.front.leg.side}
    for name in ("facing", "under_bag", "top_bag"):
        piece = closer.sized(name, SIZE)
        marks = ("mouth_top", "mouth_low") if name != "top_bag" else ("mouth.end", "mouth.start")
        places = [piece.landmark(mark).point for mark in marks]
        put = registration(places, laid.mouth[[0, -1]], mirrored=name == "top_bag")
        for edge, line in outline.items():
            points = shapely.points(put(piece.edge(edge).points))
            assert shapely.distance(shapely.LineString(line), points).max() < NEAR_MM, (name, edge)
        for edge, line in facing.items() if name == "facing" else ():
            assert apart(piece, put, edge, line) < NEAR_MM, (name, edge)
        if name != "facing":
            was = jeans().sized(name, SIZE)
            assert piece.edge("bag").length == pytest.approx(was.edge("bag").length, abs=5.0)


def test_the_yoke_and_its_seam_are_those_of_the_redraft(closer: PatternSet) -> None:
    back = mains.draw_back(body(), mains.draw_front(body()))
    waist = cut(back.yoke.waist, 0.0, length(back.yoke.waist) - BY)
    move = waist[-1] - back.yoke.waist[-1]
    above = mains.YOKE_SIDE
    hip = above + locate(back.leg.side, [0.0, body().hip_level])
    upper, arc = fine(back.yoke.side)
    upper = upper + fade(arc / hip)[:, None] * move
    rest, arc = fine(back.leg.side)
    # On the back the side part lies as it did before the dart was closed.
    rest = rest + fade((above + arc) / hip)[:, None] * rotated(move, mains.YOKE_DART)
    yoke, piece = closer.sized("yoke", SIZE), closer.sized("back", SIZE)
    centre = yoke.edge("centre").points
    put = registration(centre[[0, -1]], back.yoke.centre[[-1, 0]], mirrored=True)
    for edge, line in (("waist", waist), ("side", upper)):
        assert apart(yoke, put, edge, line) < NEAR_MM, edge
    inseam = piece.edge("inseam").points
    put = registration(inseam[[0, -1]], back.leg.inseam[[-1, 0]], mirrored=True)
    assert apart(piece, put, "side", rest) < NEAR_MM
    assert np.hypot(*(put(piece.landmark("top.start").point) - rest[0])) < NEAR_MM
    assert yoke.edge("lower").length == pytest.approx(piece.edge("top").length, abs=1e-3)


def bands(front: float, facing: float, back: float) -> dict[str, Drawing]:
    right = {"centre_front": 40.0, "pocket": front, "side": facing, "centre_back": back}
    left = {"side": back, "pocket": facing, "centre_front": front}
    return {
        "band_right": small_parts.draw_band(right, ("extension", "cb")),
        "band_left": small_parts.draw_band(left, ("cb", "end_left")),
    }


def check_bands(pattern: PatternSet, drawn: Mapping[str, Drawing]) -> None:
    for name, drawing in drawn.items():
        piece, lines = pattern.sized(name, SIZE), edges_of(drawing)
        ends = [lines["lower"][0], *(point for _, _, point, _ in drawing.landmarks)]
        marks = ["lower.start", *(mark for mark, _, _, _ in drawing.landmarks)]
        put = registration([piece.landmark(mark).point for mark in marks], ends)
        for edge, line in lines.items():
            assert apart(piece, put, edge, line) < NEAR_MM, (name, edge)


def lapped(name: str, wanted: Mapping[str, float]) -> np.ndarray:
    """The band's sewn edge as it was drawn, each zone's chords longer or shorter, none turned."""
    band = next(b for b in jeans().relations.bands.values() if b.piece == name)
    piece = jeans().sized(name, SIZE)
    points = piece.edge("lower").points
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ends = [piece.distance("lower", zone.end) for zone in band.zones[:-1]]
    zone = np.searchsorted(np.array(ends) + 1e-6, at[1:])
    had = np.diff([0.0, *ends, at[-1]])
    ratio = np.array([wanted[one.name] for one in band.zones]) / had
    steps = np.diff(points, axis=0) * ratio[zone][:, None]
    return np.vstack([points[:1], points[0] + np.cumsum(steps, axis=0)])


def test_the_waistband_is_that_of_the_redraft(closer: PatternSet) -> None:
    laid = pocket.draw_pocket(closer_front(), 90.0 + 0.8 * NUMBER)
    back = mains.draw_back(body(), mains.draw_front(body()))
    wanted = {
        "extension": 40.0,
        "front": laid.top,
        "facing": length(laid.front.waist) - laid.top,
        "yoke": length(back.yoke.waist) - BY,
    }
    for name in ("band_right", "band_left"):
        line, piece = lapped(name, wanted), closer.sized(name, SIZE)
        own = piece.edge("lower").points
        put = registration(own[[0, -1]], line[[0, -1]])
        assert apart(piece, put, "lower", line) < NEAR_MM
        upper = shapely.LineString(piece.edge("upper").points)
        assert np.abs(shapely.distance(upper, shapely.points(own)) - 38.0).max() < 0.05


def test_a_back_that_is_raised_makes_the_band_that_of_the_redraft() -> None:
    edit = Raise(edge="full_back.waist", by=Amount(mm=10.0), at="150mm", to=("start",))
    found = propagate.apply_edits(
        jeans(), [NamedEdit("higher", edit)], sizes=(SIZE,), corners="left"
    )
    assert found.sews
    front = mains.draw_front(body())
    laid = pocket.draw_pocket(front, 90.0 + 0.8 * NUMBER)
    yoke = mains.draw_back(body(), front).yoke
    # From the side: held there, raised by 10 mm square to the waist at 150 mm and along the
    # centre at its end; a cubic spline, natural at the centre.
    points, at = fine(yoke.waist[::-1])
    k = int(np.argmin(np.abs(at - 150.0)))
    along = points[k + 1] - points[k - 1]
    square = np.array([-along[1], along[0]]) / np.hypot(*along)
    up = yoke.centre[-1] - yoke.centre[0]
    moves = np.array([[0.0, 0.0], 10.0 * square, 10.0 * up / np.hypot(*up)])
    spline = CubicSpline([0.0, 150.0, at[-1]], moves, bc_type=((1, np.zeros(2)), (2, np.zeros(2))))
    raised = points + spline(at)
    piece = found.pattern.sized("yoke", SIZE)
    put = registration(piece.edge("side").points[[0, -1]], yoke.side[[-1, 0]], mirrored=True)
    assert apart(piece, put, "waist", raised) < 0.05
    whole = length(laid.front.waist)
    check_bands(found.pattern, bands(laid.top, whole - laid.top, length(raised)))
    for name in ("back", "front", "facing", "under_bag", "top_bag"):
        assert found.pattern.sized(name, SIZE) == jeans().sized(name, SIZE)


def test_the_draft_measures_as_it_draws() -> None:
    """The mouth is laid by lengths of curves; those of a line are its own."""
    line = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0]])
    assert curve_length(curve_of(line), count=44) == pytest.approx(11.0)


@pytest.mark.parametrize("upper", jeans().sizes)
def test_every_pair_of_sizes_blends_and_sews(upper: str) -> None:
    source = jeans()
    others = [size for size in source.sizes if size != upper]
    # Every pair blends; of each upper size some are looked at more closely, ends and middle.
    closely = part_of(others, 3)
    for lower in others:
        found = blended("quay_jeans", upper, lower)
        assert found.sews, (upper, lower)
        if lower not in closely:
            continue
        size = found.pattern.base
        for check in propagate.walk(found.pattern, cut_lines=False).checks:
            if check.kind in ("seam", "notch", "zone"):
                assert abs(check.difference) <= 0.05, (upper, lower, check.name)
        for name, piece in found.pattern.pieces.items():
            sized = piece.at(size)
            assert shapely.LinearRing(sized.outline).is_simple, (upper, lower, name)
            for edge in sized.edges:
                chords = np.hypot(*np.diff(edge.points, axis=0).T)
                assert chords.min() > 0.015, (upper, lower, name, edge.name)
        yoke, back = (found.pattern.sized(name, size) for name in ("yoke", "back"))
        assert yoke.edge("side").length == pytest.approx(mains.YOKE_SIDE, abs=0.01)
        assert yoke.edge("lower").length == pytest.approx(back.edge("top").length, abs=1e-3)
        waist = source.sized("yoke", upper).edge("waist").length
        assert yoke.edge("waist").length == pytest.approx(waist, abs=0.02)
