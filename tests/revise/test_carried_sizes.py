"""A change drawn in the base size lies in every other size where a draft of it would lie.

The pieces are drafted twice from the same rule, before and after; the truth is the second
draft of each size, compared by shapely.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import shapely

from propagate.engine.relations.ends import with_corners
from propagate.engine.revise import revise
from propagate.errors import EditError
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo
from tests import shared

Array = npt.NDArray[np.float64]
SIZES = ("46", "52", "60")
PROMISE_MM = 0.1


def bezier(a: object, b: object, c: object, d: object, count: int) -> Array:
    p, q, r, s = (np.asarray(x, dtype=float) for x in (a, b, c, d))
    t = np.linspace(0.0, 1.0, count + 1)[:, None]
    return np.asarray(
        (1 - t) ** 3 * p + 3 * (1 - t) ** 2 * t * q + 3 * (1 - t) * t * t * r + t**3 * s
    )


def line(*points: tuple[float, float]) -> Array:
    return np.array(points, dtype=float)


def draft(
    size: str,
    count: int,
    *,
    hem: float = 0.0,
    lapel: float = 0.0,
    out: float = 0.0,
    pocket: float = 0.0,
) -> SizedPiece:
    """A jacket front: lapel and front edge are long chords beside the curve of the hem."""
    i = SIZES.index(size)
    low, wide = -200.0 - hem, 290.0 + 12 * i
    corner, under = (wide + 6, low), (wide, 250.0 + 3 * i)
    shoulder, neck = (190.0 + 5 * i, 470.0 + 6 * i), (85.0 + 2 * i, 505.0 + 6 * i)
    point = (-75.0 - lapel, 425.0 + 5 * i)
    side = bezier(corner, (wide + 2, -120), (wide - 25, 120), under, count)
    side[:, 0] += out * np.sin(np.pi * np.linspace(0, 1, len(side))) ** 2
    front = np.vstack(
        [
            line(point, (-25, 130), (-25, -150)),
            bezier((-25, -150), (-25, -185), (0, low), (40, low), count)[1:],
        ]
    )
    arm = bezier(under, (wide - 60, 255), (155 + 5 * i, 340), shoulder, count)
    lines = {
        "hem": line((40, low), corner),
        "side": side,
        "arm": arm,
        "shoulder": line(shoulder, neck),
        "gorge": line(neck, point),
        "front": front,
    }
    edges = tuple(Edge(name, points) for name, points in lines.items())
    total = edges[1].length
    placed = {
        "break": ("front", float(np.hypot(*(front[1] - front[0])))),
        "mouth_low": ("side", total - 200.0 - pocket),
        "mouth_high": ("side", total - 50.0),
        "pitch": ("arm", 80.0),
    }
    marks = []
    for name, (edge, along) in placed.items():
        at = shapely.LineString(lines[edge]).interpolate(along)
        marks.append(Landmark(name, edge, (at.x, at.y), "notch"))
    return SizedPiece(edges, Grain((100.0, 0.0), (100.0, 200.0)), tuple(marks))


def nest(counts: dict[str, int]) -> PatternSet:
    piece = Piece("front", {size: draft(size, count) for size, count in counts.items()})
    info = {"front": PieceInfo("Front", cut=2, pair=True, fabric="cloth")}
    return PatternSet("jacket", SIZES, "52", "hip", {"front": piece}, info, Relations())


def send(pattern: PatternSet, piece: SizedPiece) -> PatternSet:
    return revise(pattern, {"front": Piece("front", {"52": piece})}).pattern


def off(found: SizedPiece, truth: SizedPiece) -> float:
    a, b = (shapely.LinearRing(p.outline) for p in (found, truth))
    return float(shapely.hausdorff_distance(a, b, densify=0.05))


def marks_off(found: SizedPiece, truth: SizedPiece) -> float:
    return max(
        float(np.hypot(*np.subtract(found.landmark(m.name).point, m.point)))
        for m in truth.landmarks
    )


CHANGES = [{"lapel": 8.0}, {"hem": 30.0}, {"hem": -30.0}, {"out": 6.0}, {"lapel": 5.0, "hem": 20.0}]


@pytest.mark.parametrize("change", CHANGES, ids=str)
@pytest.mark.parametrize("count", [9, 40, 150])
def test_carried_as_drafted(change: dict[str, float], count: int) -> None:
    """Coarse and dense curves, with as many vertices in every size."""
    pattern = nest(dict.fromkeys(SIZES, count))
    revised = send(pattern, draft("52", count, **change))
    for size in SIZES:
        found, truth = revised.sized("front", size), draft(size, count, **change)
        assert off(found, truth) <= PROMISE_MM, size
        assert marks_off(found, truth) <= PROMISE_MM, size
        for old, new in zip(pattern.sized("front", size).edges, found.edges, strict=True):
            assert len(old.points) == len(new.points)


@pytest.mark.parametrize("change", CHANGES, ids=str)
def test_carried_between_curves_with_other_vertices(change: dict[str, float]) -> None:
    """Each size was made into chords by itself, and the drawing by another program."""
    counts = {"46": 130, "52": 150, "60": 160}
    revised = send(nest(counts), draft("52", 170, **change))
    for size in ("46", "60"):
        truth = draft(size, 400, **change)
        assert off(revised.sized("front", size), truth) <= 4 * PROMISE_MM, size
        # What was straight is straight: the lapel and the front edge keep their two chords.
        front = revised.sized("front", size).edge("front").points
        chords = np.hypot(*np.diff(front, axis=0).T)
        assert (chords > 250).sum() == 2, size


@pytest.mark.parametrize("count", [9, 150])
def test_what_the_base_did_not_change_keeps_every_digit(count: int) -> None:
    pattern = nest(dict.fromkeys(SIZES, count))
    revised = send(pattern, draft("52", count, lapel=8.0))
    for size in ("46", "60"):
        old, new = (p.sized("front", size) for p in (pattern, revised))
        assert old.edge("front").points[1:].tobytes() == new.edge("front").points[1:].tobytes()
        assert all(old.edge(name) == new.edge(name) for name in ("hem", "side", "arm", "shoulder"))
        assert old.landmarks == new.landmarks


@pytest.mark.parametrize("digits", [2, 3])
def test_the_digits_of_a_drawing_are_no_change(digits: int) -> None:
    """Coordinates rounded to hundredths of a millimetre move nothing in another size."""
    pattern = nest(dict.fromkeys(SIZES, 40))
    sent = draft("52", 40, lapel=8.0)
    coarse = tuple(Edge(e.name, np.round(e.points, digits)) for e in sent.edges)
    marks = tuple(
        replace(m, point=(round(m.point[0], digits), round(m.point[1], digits)))
        for m in sent.landmarks
    )
    revised = send(pattern, replace(sent, edges=coarse, landmarks=marks))
    for size in ("46", "60"):
        old, new = (p.sized("front", size) for p in (pattern, revised))
        assert old.edge("front").points[1:].tobytes() == new.edge("front").points[1:].tobytes()
        assert old.landmarks == new.landmarks


def test_a_notch_that_moved_moves_as_far_and_its_mate_stays() -> None:
    pattern = nest(dict.fromkeys(SIZES, 40))
    revised = send(pattern, draft("52", 40, hem=30.0, pocket=12.0))
    for size in SIZES:
        found, truth = revised.sized("front", size), draft(size, 40, hem=30.0, pocket=12.0)
        assert marks_off(found, truth) <= PROMISE_MM
        side = shapely.LineString(found.edge("side").points)
        mouth = [found.landmark(name).point for name in ("mouth_low", "mouth_high")]
        low, high = (side.project(shapely.Point(point)) for point in mouth)
        assert high - low == pytest.approx(162.0, abs=PROMISE_MM)


def ends_lowered(piece: SizedPiece, by: float) -> SizedPiece:
    """Both neighbours of the hem grow longer by the same, one after the other."""
    new = piece
    for name, vertex in (("side", 0), ("front", -1)):
        points = new.edge(name).points.copy()
        points[vertex] -= (0.0, by)
        new = with_corners(new, new.edge(name), Edge(name, points), piece)
    return new


@pytest.mark.parametrize("curved", [False, True])
def test_a_hem_whose_two_ends_sank_sinks_as_a_whole(curved: bool) -> None:
    """Parallel to the old one, as it is drawn by hand (common practice, no source)."""
    piece = draft("52", 40)
    hem = piece.edge("hem").points
    if curved:
        hem = bezier(hem[0], hem[0] + (80, -15), hem[-1] + (-80, -15), hem[-1], 30)
        piece = replace(piece, edges=(Edge("hem", hem), *piece.edges[1:]))
    found = ends_lowered(piece, 25.0).edge("hem").points
    assert found.shape == hem.shape
    assert np.abs(found - (hem - (0.0, 25.0))).max() <= 1e-6


def test_a_straight_edge_with_one_end_moved_stays_straight() -> None:
    piece = draft("52", 40)
    points = piece.edge("side").points.copy()
    points[0] -= (0.0, 25.0)
    found = with_corners(piece, piece.edge("side"), Edge("side", points), piece).edge("hem")
    assert len(found.points) == 2
    assert (found.points[0] == piece.edge("hem").points[0]).all()


def test_a_notch_that_is_not_drawn_stays_where_its_line_stayed() -> None:
    """A drawing in hundredths of a millimetre, without notches, of a longer front."""
    pattern = nest(dict.fromkeys(SIZES, 40))
    sent = draft("52", 40, lapel=8.0)
    edges = tuple(Edge(e.name, np.round(e.points, 2)) for e in sent.edges)
    marked = {m.name: m for m in sent.landmarks}
    revised = send(pattern, replace(sent, edges=edges, landmarks=(marked["pitch"],)))
    for size in SIZES:
        old, new = (p.sized("front", size).landmark("break").point for p in (pattern, revised))
        assert np.hypot(*np.subtract(new, old)) <= 0.02


def strips(narrow: SizedPiece, wide: SizedPiece) -> PatternSet:
    piece = Piece("strip", {"1": narrow, "2": wide})
    info = {"strip": PieceInfo("strip")}
    return PatternSet("strips", ("1", "2"), "2", "hip", {"strip": piece}, info, Relations())


def strip(wide: float, moved: float = 0.0, high: float = 100.0, bulge: float = 0.0) -> SizedPiece:
    """A rectangle; its upper right corner goes to the left, the middle of its hem rises."""
    at = np.array([[0.0, 0.0], [wide, 0.0], [wide - moved, high], [0.0, high]])
    names = ("hem", "right", "top", "left")
    lines = {n: np.array([at[i], at[(i + 1) % 4]]) for i, n in enumerate(names)}
    lines["hem"] = np.array([[0.0, 0.0], [wide / 2, bulge], [wide, 0.0]])
    edges = tuple(Edge(name, points) for name, points in lines.items())
    assert shapely.Polygon(np.vstack([points[:-1] for points in lines.values()])).is_valid
    return SizedPiece(edges, Grain((5.0, 10.0), (5.0, 90.0)))


@pytest.mark.parametrize(
    ("sizes", "sent", "words"),
    [
        # The corner goes 50 mm to the left: there is room in the wide size, none in the narrow.
        ((strip(20.0), strip(100.0)), strip(100.0, 50.0), "edge 'top', 20.0 mm long there, would"),
        # The hem rises by 60 mm in its middle, through the top of the low size.
        ((strip(80.0, high=40.0), strip(100.0)), strip(100.0, bulge=60.0), "crosses itself"),
    ],
    ids=["back", "across"],
)
def test_what_a_size_has_no_room_for_does_not_blame_the_drawing(
    sizes: tuple[SizedPiece, SizedPiece], sent: SizedPiece, words: str
) -> None:
    with pytest.raises(EditError) as refused:
        revise(strips(*sizes), {"strip": Piece("strip", {"2": sent})})
    said = str(refused.value)
    for word in ("piece 'strip'", "carried to size '1'", words, "send size '1' too"):
        assert word in said
    assert "the drawing itself is in order" in said
    assert "correct the drawing" not in said
    # Both sizes sent, as the message asks.
    every = {"1": sizes[0], "2": sent}
    assert revise(strips(*sizes), {"strip": Piece("strip", every)}).changed


def waisted(places: Array, length: float, sunk: float = 0.0) -> SizedPiece:
    """A piece whose waist is a parabola, with vertices at shares of its width, from the right.

    `sunk` is how far its left corner comes in, fading evenly over the whole waist.
    """
    x = length * (1.0 - places) + sunk * places
    waist = np.column_stack([x, 100.0 + 6.0 * (1.0 - places) ** 2])
    corner = waist[-1]
    lines = {
        "hem": line((0.0, 0.0), (length, 0.0)),
        "right": np.vstack([[length, 0.0], waist[:1]]),
        "waist": waist,
        "left": np.vstack([corner, [[0.0, 0.0]]]),
    }
    edges = tuple(Edge(name, points) for name, points in lines.items())
    return SizedPiece(edges, Grain((5.0, 10.0), (5.0, 90.0)))


def runs_on(points: Array) -> bool:
    """Whether a line that goes to the left nowhere goes back to the right."""
    return bool((np.diff(points[:, 0]) < 0.0).all())


@pytest.mark.parametrize("share", [0.5, 0.65, 0.8])
@pytest.mark.parametrize("shift", [0.2, 0.3])
@pytest.mark.parametrize("flip", [False, True])
def test_a_waist_cut_short_does_not_fold_back_where_its_vertices_lie_otherwise(
    share: float, shift: float, flip: bool
) -> None:
    """As many vertices in both sizes, finer at one end in the one, at the other in the other.

    Vertex by vertex the change would be drawn together on part of the waist to more than that
    part is long.  The truth is the second draft.
    """
    even = np.linspace(0.0, 1.0, 13)
    places = even ** (1.0 + shift), 1.0 - (1.0 - even) ** (1.0 + shift)
    if flip:
        places = places[::-1]
    cut = share * 60.0
    pattern = strips(waisted(places[0], 60.0), waisted(places[1], 60.0))
    sent = waisted(places[1], 60.0, cut)
    found = revise(pattern, {"strip": Piece("strip", {"2": sent})}).pattern.sized("strip", "1")
    assert shapely.LinearRing(found.outline).is_simple
    assert runs_on(found.edge("waist").points)
    truth = waisted(np.linspace(0.0, 1.0, 400), 60.0, cut)
    apart = shapely.hausdorff_distance(
        *(shapely.LineString(p.edge("waist").points) for p in (found, truth)), densify=0.05
    )
    assert apart < 1.0


def hemmed(x: Array) -> SizedPiece:
    """A rectangle 100 mm high whose hem has vertices at some x, up to its own end."""
    hem = np.column_stack([x, np.zeros(len(x))])
    end = float(x[-1])
    lines = {
        "hem": hem,
        "right": line((end, 0.0), (end, 100.0)),
        "top": line((end, 100.0), (0.0, 100.0)),
        "left": line((0.0, 100.0), (0.0, 0.0)),
    }
    edges = tuple(Edge(name, points) for name, points in lines.items())
    return SizedPiece(edges, Grain((5.0, 10.0), (5.0, 90.0)))


def test_what_was_cut_from_an_end_is_cut_from_it_in_a_shorter_size() -> None:
    """The last 50 mm of 100 are drawn together to 10; the other size is 60 mm long.

    By shares of the way its last 30 mm would lose 40.
    """
    x = np.linspace(0.0, 100.0, 11)
    cut = np.where(x > 50.0, 50.0 + (x - 50.0) / 5.0, x)
    short = np.linspace(0.0, 60.0, 16)
    pattern = strips(hemmed(short), hemmed(x))
    found = revise(pattern, {"strip": Piece("strip", {"2": hemmed(cut)})}).pattern
    hem = found.sized("strip", "1").edge("hem").points
    assert (np.diff(hem[:, 0]) > 0.0).all()
    assert hem[-1] == pytest.approx([20.0, 0.0])
    # By hand: what lies more than 50 mm from the end stays, the rest keeps a fifth.
    wanted = np.where(short > 10.0, 10.0 + (short - 10.0) / 5.0, short)
    assert hem[:, 0] == pytest.approx(np.union1d(wanted, [10.0]), abs=1e-6)


@pytest.mark.parametrize("by", [10.0, 25.0])
@pytest.mark.parametrize("end", [0, -1])
def test_a_dart_that_is_one_vertex_farther_draws_nothing_together(end: int, by: float) -> None:
    """The waist of the demo skirt's back: the dart's mouth is vertex 38 here and 39 there.

    Vertex by vertex the change of a whole chord fell on a tenth of it, and the waist got a
    zigzag of up to 85 degrees beside the dart.
    """
    skirt = shared.demo("scoop_skirt")
    back = skirt.sized("skirt_back", skirt.base)
    top = back.edge("top")
    points = top.points[::-1] if end == 0 else top.points
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    along = (points[-1] - points[-2]) / np.hypot(*(points[-1] - points[-2]))
    moved = points - np.outer(by * (arc / arc[-1]) ** 2, along)
    moved = moved[::-1] if end == 0 else moved
    sent = with_corners(back, top, Edge("top", moved))
    marks = []
    for mark in sent.landmarks:
        ring = shapely.LineString(sent.edge(mark.edge).points)
        at = ring.interpolate(ring.project(shapely.Point(mark.point)))
        marks.append(replace(mark, point=(at.x, at.y)))
    sent = replace(sent, landmarks=tuple(marks))
    alone = replace(
        skirt,
        pieces={"skirt_back": skirt.pieces["skirt_back"]},
        info={"skirt_back": skirt.info["skirt_back"]},
        relations=Relations(),
    )
    found = revise(alone, {"skirt_back": Piece("skirt_back", {skirt.base: sent})}).pattern
    worst = turn_of(sent.edge("top").points)
    for grade in skirt.sizes:
        was = skirt.sized("skirt_back", grade).edge("top").points
        now = found.sized("skirt_back", grade).edge("top").points
        assert turn_of(now) < max(turn_of(was), worst) + 15.0, grade


def turn_of(points: Array) -> float:
    """Largest turn at a vertex, degrees, between chords of more than a tenth of a millimetre."""
    chords = np.diff(points, axis=0)
    chords = chords[np.hypot(*chords.T) > 0.1]
    angles = np.unwrap(np.arctan2(chords[:, 1], chords[:, 0]))
    return float(np.degrees(np.abs(np.diff(angles)).max()))
