"""Cut lines taken back, against shapely's own parallels and against drafts that are known."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError
from propagate.geometry.inward import inward_line
from propagate.geometry.joints import Corner
from propagate.geometry.offset import offset_chain
from propagate.io.path_data import flatten_path
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, SizedPiece, frozen_points
from propagate.recognise.seam_lines import seam_lines
from tests.examples import examples

Array = npt.NDArray[np.float64]
NAMES = ("hem", "side", "waist", "centre")
KINDS = {
    "square": Corner.SQUARE_TO_FIRST,
    "square second": Corner.SQUARE_TO_SECOND,
    "turned": Corner.MIRROR_IN_FIRST,
    "turned second": Corner.MIRROR_IN_SECOND,
}


def skirt(lean: float, bulge: float, dip: float) -> list[Array]:
    """A half skirt, about 240 x 600 mm: the hem straight, side and waist curved."""
    side = flatten_path(f"M 240 0 C {240 + bulge} 150 {250 + bulge} 300 {200 + lean} 600")[0]
    waist = flatten_path(f"M {200 + lean} 600 C 140 {600 - dip} 70 {600 - dip} 0 {590 - dip}")[0]
    top = float(waist[-1][1])
    return [
        np.array([[0.0, 0.0], [240.0, 0.0]]), side, waist, np.array([[0.0, top], [0.0, 0.0]])
    ]  # fmt: skip


def moved(points: Array, angle: float, by: tuple[float, float]) -> Array:
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return points @ turn + np.array(by)


def piece_of(edges: list[Array], names: tuple[str, ...] = NAMES) -> SizedPiece:
    found = tuple(Edge(n, frozen_points(np.round(e, 6))) for n, e in zip(names, edges, strict=True))
    return SizedPiece(found, Grain((10.0, 10.0), (10.0, 500.0)))


def off(a: Array, b: Array) -> float:
    """How far two closed lines are from each other, by shapely at every millimetre."""
    one, two = (shapely.LinearRing(points) for points in (a, b))
    return max(far_from(one, two), far_from(two, one))


def far_from(line: shapely.Geometry, other: shapely.Geometry) -> float:
    shapely.prepare(other)
    places = shapely.points(shapely.get_coordinates(shapely.segmentize(line, 1.0)))
    return float(shapely.distance(places, other).max())


lean = st.floats(-30.0, 20.0)
bulge = st.floats(-5.0, 40.0)
dip = st.floats(-10.0, 30.0)
width = st.floats(5.0, 25.0)
fold = st.sampled_from([0.0, 10.0])
frame = st.tuples(st.floats(-3.1, 3.1), st.floats(-900.0, 900.0), st.floats(-900.0, 900.0))


@examples(25)
@given(lean=lean, bulge=bulge, dip=dip, widths=st.tuples(width, width, width, fold), at=frame)
def test_a_mitred_cut_line_comes_back(
    lean: float,
    bulge: float,
    dip: float,
    widths: tuple[float, float, float, float],
    at: tuple[float, float, float],
) -> None:
    """Whatever the widths, the frame and the side that lies up, the draft is found again."""
    draft = [moved(edge, at[0], at[1:]) for edge in skirt(lean, bulge, dip)]
    cut = offset_chain(draft, widths, [Corner.MITRE] * 4)
    parts = [cut.stretches(i) for i in range(4)]
    assert [len(part) for part in parts] == [1] * 4
    found = seam_lines(
        "skirt",
        {"38": piece_of([part[0] for part in parts])},
        dict(zip(NAMES, widths, strict=True)),
    )
    assert not found.finishes.kinds
    for edge, own in zip(found.edges["38"], draft, strict=True):
        assert np.hypot(*(edge.points[[0, -1]] - own[[0, -1]]).T).max() <= 0.02
    ring = np.concatenate([edge.points[:-1] for edge in found.edges["38"]])
    # A fold without an allowance trims what runs up to it aslant; that is drawn on as it bends.
    most = 0.01 if widths[3] else 0.02
    assert off(ring, np.concatenate([edge[:-1] for edge in draft])) <= most


@examples(25)
@given(
    lean=st.floats(-30.0, -5.0),
    bulge=st.floats(10.0, 40.0),
    kind=st.sampled_from(["square", "square second", "turned"]),
    hem=st.floats(15.0, 45.0),
    others=st.floats(5.0, 15.0),
    whole=st.booleans(),
    flip=st.booleans(),
)
def test_a_finish_is_told_and_taken_back(
    lean: float, bulge: float, kind: str, hem: float, others: float, whole: bool, flip: bool
) -> None:
    """The corner between hem and side, its added stretch an edge of its own or a part of one."""
    draft = skirt(lean, bulge, 10.0)
    widths = {"hem": hem, "side": others, "waist": others, "centre": others, "jog": others}
    treatment = [KINDS[kind], Corner.MITRE, Corner.MITRE, Corner.MITRE]
    cut = offset_chain(draft, [widths[name] for name in NAMES], treatment)
    parts, names = apart([cut.stretches(i)[0] for i in range(4)], kind, whole=whole)
    drawn = np.concatenate([part[:-1] for part in parts])
    if flip:
        parts = [part[::-1] * [-1.0, 1.0] for part in parts[::-1]]
        draft = [edge[::-1] * [-1.0, 1.0] for edge in draft[::-1]]
        names, drawn = names[::-1], drawn[::-1] * [-1.0, 1.0]
    found = seam_lines("skirt", {"38": piece_of(parts, tuple(names))}, widths)
    edges = {edge.name: edge.points for edge in found.edges["38"]}
    assert list(edges) == [name for name in names if name != "jog"]
    assert len(found.finishes.kinds) == 1
    ring = np.concatenate([edge[:-1] for edge in edges.values()])
    assert off(ring, np.concatenate([edge[:-1] for edge in draft])) <= 0.02
    # The program's own cut line with what was told is the drawn one.
    told = {f"{names[a]}/{names[b]}": KINDS[k] for (a, b), k in found.finishes.kinds.items()}
    order = list(edges)
    corners = [
        told.get(f"{a}/{b}", Corner.MITRE)
        for a, b in zip(order, (*order[1:], order[0]), strict=True)
    ]
    again = offset_chain(list(edges.values()), [widths[name] for name in order], corners)
    assert off(again.points, drawn) <= 0.02


def apart(parts: list[Array], kind: str, *, whole: bool) -> tuple[list[Array], list[str]]:
    """The cut line as a reader parts it: at the sharpest corner, or there and at the other."""
    hem, side = parts[:2]
    own = side if kind == "square second" else hem
    chords = np.diff(own, axis=0)
    angles = np.unwrap(np.arctan2(chords[:, 1], chords[:, 0]))
    k = int(np.abs(np.diff(angles)).argmax()) + 1
    if own is side:
        jog, lines = side[: k + 1], (np.vstack([hem, side[1 : k + 1]]), side[k:])
        alone = (hem, jog, side[k:])
    else:
        jog, lines = hem[k:], (hem[: k + 1], np.vstack([hem[k:], side[1:]]))
        alone = (hem[: k + 1], jog, side)
    if whole:
        return [*alone, *parts[2:]], ["hem", "jog", *NAMES[1:]]
    return [*lines, *parts[2:]], list(NAMES)


@examples(20)
@given(lean=lean, bulge=bulge, dip=dip, width=st.floats(2.0, 40.0))
def test_the_parallel_of_a_curve_is_the_one_that_shapely_finds(
    lean: float, bulge: float, dip: float, width: float
) -> None:
    """Cubic curves, measured against shapely's parallel of chords much finer."""
    start, end = np.array([240.0, 0.0]), np.array([200.0 + lean, 600.0])
    first, second = np.array([240 + bulge, 150.0]), np.array([250 + bulge, 300.0])
    t = np.linspace(0.0, 1.0, 1001)[:, None]
    fine = (
        (1 - t) ** 3 * start
        + 3 * (1 - t) ** 2 * t * first
        + 3 * (1 - t) * t**2 * second
        + t**3 * end
    )
    drawn = flatten_path(f"M 240 0 C {240 + bulge!r} 150 {250 + bulge!r} 300 {200 + lean!r} 600")[0]
    mine = shapely.LineString(inward_line(drawn, width).points)
    wanted = shapely.LineString(fine).offset_curve(width, join_style="mitre")
    own = shapely.line_interpolate_point(mine, np.linspace(2.0, mine.length - 2.0, 300))
    assert shapely.distance(own, wanted).max() <= 0.01  # but for ends square to a chord


def test_an_allowance_that_leaves_nothing_is_refused() -> None:
    square = [np.array(p, dtype=float) * 100 for p in (
        [[0, 0], [1, 0]], [[1, 0], [1, 1]], [[1, 1], [0, 1]], [[0, 1], [0, 0]],
    )]  # fmt: skip
    for wide in (49.0, 50.0, 51.0, 400.0):
        widths = dict.fromkeys(NAMES, wide)
        if wide < 50.0:
            found = seam_lines("skirt", {"38": piece_of(square)}, widths).edges["38"]
            assert [edge.length for edge in found] == pytest.approx([2.0] * 4)
        else:
            with pytest.raises(FormatError, match=r"piece 'skirt', size '38', .* allowance"):
                seam_lines("skirt", {"38": piece_of(square)}, widths)


def test_a_step_between_two_widths_is_no_edge() -> None:
    """One straight side with 10 and 25 mm: the step is square to both."""
    draft = [
        np.array([[0.0, 0.0], [100.0, 0.0]]), np.array([[100.0, 0.0], [200.0, 0.0]]),
        np.array([[200.0, 0.0], [200.0, 80.0], [0.0, 80.0]]), np.array([[0.0, 80.0], [0.0, 0.0]]),
    ]  # fmt: skip
    cut = shapely.union_all([
        shapely.box(-10, -10, 100, 90), shapely.box(100, -25, 210, 90), shapely.box(-10, 0, 210, 90)
    ])  # fmt: skip
    ring = shapely.get_coordinates(shapely.orient_polygons(cut).exterior)[:-1]
    at = {tuple(point): k for k, point in enumerate(ring.tolist())}
    order = [(-10, -10), (100, -10), (100, -25), (210, -25), (210, 90), (-10, 90)]
    assert set(order) <= set(at)
    corners = np.array([*order, order[0]], dtype=float)
    parts = [corners[k : k + 2] for k in range(6)]
    names = ("a", "step", "b", "right", "top", "left")
    widths = {"a": 10.0, "step": 10.0, "b": 25.0, "right": 10.0, "top": 10.0, "left": 10.0}
    found = seam_lines("bag", {"M": piece_of(parts, names)}, widths)
    assert [edge.name for edge in found.edges["M"]] == ["a", "b", "right", "top", "left"]
    ring = np.concatenate([edge.points[:-1] for edge in found.edges["M"]])
    assert off(ring, np.concatenate([edge[:-1] for edge in draft])) <= 1e-6


def test_a_chord_shorter_than_the_allowance_does_not_run_backwards() -> None:
    """7 mm chords beside a right angle, 10 mm inside: the first of them is swallowed."""
    parts = [
        np.array([[0.0, 0.0], [100.0, 0.0]]), np.array([[100.0, 0.0], [100.0, 100.0]]),
        np.array([[100.0, 100.0], [93.0, 100.0], [86.0, 100.0], [0.0, 100.0]]),
        np.array([[0.0, 100.0], [0.0, 0.0]]),
    ]  # fmt: skip
    found = seam_lines("flap", {"M": piece_of(parts)}, dict.fromkeys(NAMES, 10.0)).edges["M"]
    assert found[2].points[0].tolist() == pytest.approx([90.0, 90.0])
    ring = np.concatenate([edge.points[:-1] for edge in found])
    assert shapely.Polygon(ring).area == pytest.approx(80.0 * 80.0)
