"""A stand and a collar, sewn on by seams, grow with the neck and keep their width.

Half a shirt of two sizes; back and front necks are quarters of ellipses, so that only their
lengths matter to the stand.  The stand is a sector of a ring, cut off square at the centre back,
with an overlap beyond the centre front and a rounded end; the collar is a rectangle with a
slanted point.  What comes out is worked out by hand: an arc that is made longer by a gain, its
direction kept, has the radius (length + gain) / angle, and everything across from it goes along.

            top                                   out
        ___________                     _____________________
       /           \\                   |                      \\   point
   cb |  __________  \\  overlap      cb |_______________________\\
      |_/   neck   \\_ |                            low
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.ops import substring

import propagate
from propagate.engine.revise import revise
from propagate.engine.strips_found import strip_of
from propagate.errors import Conflict
from propagate.geometry.motion import Motion
from propagate.pattern.ease import Ease
from propagate.pattern.model import Edge, Landmark, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Place, Seam, parse_run
from propagate.pattern.strips import sides_of_strip
from propagate.pattern.validate import find_problems
from tests.engine.following.test_independence import laid
from tests.engine.test_corners_that_follow import _piece, length
from tests.examples import examples

SIZES = {"S": 0.0, "M": 8.0}
WIDE = 30.0
"""Width of the stand, mm."""
RADIUS = 420.0
OVERLAP = 18.0
ROUND = 12.0
EASE = 3.0
AGREES_MM = 0.05
STAND, COLLAR = ("neck", "top"), ("low", "out")


def arc(radius: float, first: float, last: float, count: int = 121) -> np.ndarray:
    angle = np.linspace(first, last, count)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def body(width: float, depth: float) -> SizedPiece:
    """A panel whose neck is a quarter of an ellipse, from the shoulder to the centre."""
    angle = np.linspace(0.0, np.pi / 2, 91)
    neck = np.column_stack([width * np.cos(angle), 400.0 - depth * np.sin(angle)])
    return _piece(
        ("hem", np.array([(0.0, 0.0), (240.0, 0.0)])),
        ("side", np.array([(240.0, 0.0), (240.0, 360.0)])),
        ("shoulder", np.array([(240.0, 360.0), (width, 400.0)])),
        ("neck", neck),
        ("centre", np.array([(0.0, 400.0 - depth), (0.0, 0.0)])),
    )


def front(grow: float, wider: float = 0.0, deeper: float = 0.0) -> SizedPiece:
    return body(70.0 + grow + wider, 85.0 + grow + deeper)


def back(grow: float, wider: float = 0.0, deeper: float = 0.0) -> SizedPiece:
    return body(70.0 + grow + wider, 22.0 + deeper)


def along(line: np.ndarray, at: float) -> tuple[float, float]:
    point = shapely.LineString(line).interpolate(at)
    return (point.x, point.y)


def stand(back_mm: float, front_mm: float) -> SizedPiece:
    """Below: the neck, from the centre back to the end of the overlap."""
    angle = (back_mm + front_mm + OVERLAP) / RADIUS
    begin = -np.pi / 2
    neck = arc(RADIUS, begin, begin + angle)
    top = arc(RADIUS - WIDE, begin + angle - ROUND / (RADIUS - WIDE), begin)
    # The end goes up square, then round to the top.
    way = -neck[-1] / RADIUS
    up = neck[-1] + way * (WIDE - ROUND)
    t = np.linspace(0.0, 1.0, 25)[:, None]
    rounded = (1 - t) ** 2 * up + 2 * t * (1 - t) * (neck[-1] + way * WIDE) + t**2 * top[0]
    piece = _piece(
        ("neck", neck),
        ("end", np.array([neck[-1], up])),
        ("round", rounded),
        ("top", top),
        ("cb", np.array([top[-1], neck[0]])),
    )
    at = {"shoulder": back_mm, "cf": back_mm + front_mm}
    marks = tuple(Landmark(n, "neck", along(neck, d), "notch") for n, d in at.items())
    # The collar begins at the centre front, across from it.
    over = (back_mm + front_mm) / RADIUS
    on_top = arc(RADIUS - WIDE, begin + over, begin + over + 0.1, 2)[0]
    marks += (Landmark("collar_end", "top", tuple(on_top.tolist()), "notch"),)
    hole = tuple((neck[-1] + way * WIDE / 2 + (-4.0, 0.0)).tolist())
    return replace(piece, landmarks=marks, drills=(Mark("buttonhole", hole),))


def collar(size: float) -> SizedPiece:
    return _piece(
        ("low", np.array([(0.0, 0.0), (size, 0.0)])),
        ("point", np.array([(size, 0.0), (size + 14.0, 48.0)])),
        ("out", np.array([(size + 14.0, 48.0), (0.0, 42.0)])),
        ("cb", np.array([(0.0, 42.0), (0.0, 0.0)])),
    )


def top_mm(piece: SizedPiece) -> float:
    """The stand's top from the centre back to the centre front."""
    line = shapely.LineString(piece.edge("top").points)
    return line.length - line.project(shapely.Point(piece.landmark("collar_end").point))


def shirt(flipped: bool = False, said: bool = True, **info: PieceInfo) -> PatternSet:
    """The set; `flipped` writes every run from its other end, `said`: strips are called so."""
    nest: dict[str, dict[str, SizedPiece]] = {n: {} for n in ("front", "back", "stand", "collar")}
    for size, grow in SIZES.items():
        nest["front"][size], nest["back"][size] = front(grow), back(grow)
        on_back, on_front = (length(nest[n][size], "neck") for n in ("back", "front"))
        nest["stand"][size] = stand(on_back + EASE / 3, on_front + EASE * 2 / 3)
        nest["collar"][size] = collar(top_mm(nest["stand"][size]))
    lead, follow = parse_run(["back.neck reversed", "front.neck"]), parse_run("stand.neck to cf")
    notches = (("front.neck.start", "stand.shoulder"),)
    zones = (("front.neck.start", EASE / 3), ("end", EASE * 2 / 3))
    if flipped:
        zones = (("front.neck.start", EASE * 2 / 3), ("end", EASE / 3))
    sewn = {
        "neck": Seam("neck", lead, follow, ease=Ease(zones=zones), notches=notches),
        "collar": Seam(
            "collar", parse_run("stand.top from collar_end"), parse_run("collar.low reversed")
        ),
    }
    if flipped:
        sewn = {
            name: replace(
                seam,
                lead=tuple(replace(s, begin=s.end, end=s.begin) for s in reversed(seam.lead)),
                follow=tuple(replace(s, begin=s.end, end=s.begin) for s in reversed(seam.follow)),
            )
            for name, seam in sewn.items()
        }
    strips = {"stand": STAND, "collar": COLLAR} if said else {}
    every = {name: PieceInfo(name, strip=strips.get(name)) for name in nest}
    return PatternSet(
        name="shirt",
        sizes=tuple(SIZES),
        base="S",
        lay_on="hip",
        pieces={name: Piece(name, sized) for name, sized in nest.items()},
        info={**every, **info},
        relations=Relations(seams=sewn),
    )


def drawn(name: str, wider: float, deeper: float, sizes: Mapping[str, float] = SIZES) -> Piece:
    made = front if name == "front" else back
    return Piece(name, {size: made(grow, wider, deeper) for size, grow in sizes.items()})


def widths(piece: SizedPiece, near: str, far: str) -> np.ndarray:
    """Distance of each vertex of the far side from the near one."""
    line = shapely.LineString(piece.edge(near).points)
    return np.array([line.distance(shapely.Point(p)) for p in piece.edge(far).points])


def neck_parts(piece: SizedPiece) -> tuple[float, float, float]:
    """The stand's neck up to the shoulder, to the centre front, and beyond."""
    line = shapely.LineString(piece.edge("neck").points)
    at = [line.project(shapely.Point(piece.landmark(n).point)) for n in ("shoulder", "cf")]
    return at[0], at[1] - at[0], line.length - at[1]


def radius_of(line: np.ndarray) -> float:
    """Of the circle through the ends and the middle of a line."""
    a, b, c = line[0], line[len(line) // 2], line[-1]
    sides = [float(np.hypot(*(q - p))) for p, q in ((a, b), (b, c), (c, a))]
    area = abs(np.cross(np.append(b - a, 0.0), np.append(c - a, 0.0))[2]) / 2
    return float(np.prod(sides) / (4.0 * area))


def assert_rigid(before: np.ndarray, after: np.ndarray) -> None:
    """Moved, and not turned."""
    assert np.ptp(after - before, axis=0) == pytest.approx([0.0, 0.0], abs=1e-5)


def assert_is_well(pattern: PatternSet, new: PatternSet, size: str) -> None:
    """Everything that this file is about."""
    was, now = pattern.sized("stand", size), new.sized("stand", size)
    leads = [length(new.sized(name, size), "neck") for name in ("back", "front")]
    parts = neck_parts(now)
    assert parts[0] == pytest.approx(leads[0] + EASE / 3, abs=AGREES_MM)
    assert parts[1] == pytest.approx(leads[1] + EASE * 2 / 3, abs=AGREES_MM)
    assert parts[2] == pytest.approx(neck_parts(was)[2], abs=1e-5)
    assert widths(now, *STAND)[1:] == pytest.approx(widths(was, *STAND)[1:], abs=1e-3)
    for edge in ("end", "round", "cb"):
        assert_rigid(was.edge(edge).points, now.edge(edge).points)
    hole = now.drills[0].point, was.drills[0].point
    assert_rigid(
        np.vstack([was.edge("end").points, hole[1]]), np.vstack([now.edge("end").points, hole[0]])
    )
    whole = length(now, "neck") - length(was, "neck")
    assert length(now, "top") - length(was, "top") == pytest.approx(whole, abs=2e-3)
    old_collar, collar_now = pattern.sized("collar", size), new.sized("collar", size)
    assert length(collar_now, "low") == pytest.approx(top_mm(now), abs=AGREES_MM)
    for edge in ("point", "cb"):
        assert_rigid(old_collar.edge(edge).points, collar_now.edge(edge).points)
    assert propagate.walk(new, size, cut_lines=False).sews


amounts = st.floats(-9.0, 12.0)


@examples(8)
@given(wide=amounts, deep=amounts, back_deep=st.floats(-4.0, 5.0), flipped=st.booleans())
def test_stand_and_collar_grow_zone_by_zone_and_keep_their_width(
    wide, deep, back_deep, flipped
) -> None:
    pattern = shirt(flipped)
    sent = {"front": drawn("front", wide, deep), "back": drawn("back", wide, back_deep)}
    new = revise(pattern, sent).pattern
    for size in SIZES:
        assert_is_well(pattern, new, size)
    again = revise(new, sent).pattern
    assert all(again.pieces[n].nest == new.pieces[n].nest for n in new.pieces)


@pytest.mark.parametrize("size", SIZES)
def test_an_arc_keeps_its_angle_and_gets_the_radius_of_its_length(size: str) -> None:
    """R' = (length + gain) / angle; the top is an arc about the same centre, 30 mm nearer."""
    pattern = shirt()
    new = revise(pattern, {"front": drawn("front", 6.0, 9.0)}).pattern
    was, now = pattern.sized("stand", size), new.sized("stand", size)
    before, after = neck_parts(was), neck_parts(now)
    assert after[0] == pytest.approx(before[0], abs=1e-6)
    angle = before[1] / RADIUS
    neck = shapely.LineString(now.edge("neck").points)
    part = np.array(substring(neck, after[0] + 1.0, after[0] + after[1] - 1.0).coords)
    assert radius_of(part) == pytest.approx(after[1] / angle, rel=2e-3)
    top = shapely.LineString(now.edge("top").points)
    # From the centre back: what lies across from the back's part, then the front's.
    end = top.length - before[0] * (RADIUS - WIDE) / RADIUS
    line = np.array(substring(top, end - 0.8 * after[1], end - 1.0).coords)
    assert radius_of(line) == pytest.approx(after[1] / angle - WIDE, rel=4e-3)


def test_the_two_zones_can_go_opposite_ways() -> None:
    pattern = shirt()
    sent = {"front": drawn("front", 0.0, 8.0), "back": drawn("back", 0.0, -5.0)}
    new = revise(pattern, sent).pattern
    for size in SIZES:
        assert_is_well(pattern, new, size)


@pytest.mark.parametrize("fold", ["cb", None])
def test_the_fold_stays_and_without_one_the_middle_does(fold: str | None) -> None:
    info = {"collar": PieceInfo("collar", fold=fold, strip=COLLAR)}
    pattern = shirt(**info)
    new = revise(pattern, {"front": drawn("front", 5.0, 5.0)}).pattern
    was, now = (one.sized("collar", "S") for one in (pattern, new))
    gain = length(now, "low") - length(was, "low")
    assert gain > 5.0
    left, right = now.edge("low").points[:, 0] - was.edge("low").points[:, 0]
    assert (left, right) == pytest.approx((0.0, gain) if fold else (-gain / 2, gain / 2), abs=1e-5)
    if fold:
        assert now.edge("cb") == was.edge("cb")


TURN = Motion(complex(np.cos(0.7), np.sin(0.7)), complex(310.0, -55.0))
MIRROR = Motion(complex(np.cos(-1.1), np.sin(-1.1)), complex(-20.0, 400.0), face_down=True)


@pytest.mark.parametrize("motion", [TURN, MIRROR], ids=["turned", "mirrored"])
@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("said", [False, True])
def test_the_answer_is_the_same_however_the_set_is_written(
    said: bool, flipped: bool, motion: Motion
) -> None:
    pattern = shirt(said=said)
    if not said:
        pattern = squared(pattern)
    sent = {"front": drawn("front", 7.0, -3.0), "back": drawn("back", 1.0, 2.0)}
    plain = revise(pattern, sent).pattern
    other = shirt(flipped, said) if said else squared(shirt(flipped, said))
    pieces = dict(reversed(other.pieces.items()))
    for name in ("stand", "collar"):
        nest = pieces[name].nest
        pieces[name] = Piece(name, {s: laid(p, motion, 2) for s, p in nest.items()})
    seams = dict(reversed(other.relations.seams.items()))
    if motion.face_down:
        swap = {"start": "end", "end": "start"}
        seams = {
            name: replace(
                seam,
                lead=tuple(_turned(s, swap) for s in seam.lead),
                follow=tuple(_turned(s, swap) for s in seam.follow),
            )
            for name, seam in seams.items()
        }
    info = {
        name: replace(one, strip=one.strip and tuple(reversed(one.strip)))
        for name, one in reversed(other.info.items())
    }
    written = replace(other, pieces=pieces, info=info, relations=Relations(seams=seams))
    again = revise(written, sent).pattern
    for name in ("stand", "collar"):
        for size in SIZES:
            own, its = plain.sized(name, size), again.sized(name, size)
            for edge in own.edges:
                line = shapely.LineString(motion.apply(edge.points))
                assert (
                    line.hausdorff_distance(shapely.LineString(its.edge(edge.name).points)) < 2e-5
                )


def _turned(span, swap: Mapping[str, str]):
    if span.piece not in ("stand", "collar"):
        return span
    return replace(span, begin=swap.get(span.begin, span.begin), end=swap.get(span.end, span.end))


def squared(pattern: PatternSet) -> PatternSet:
    """The set with a collar of one even width."""
    nest = {}
    for size, piece in pattern.pieces["collar"].nest.items():
        size_mm = length(piece, "low")
        nest[size] = _piece(
            ("low", np.array([(0.0, 0.0), (size_mm, 0.0)])),
            ("point", np.array([(size_mm, 0.0), (size_mm + 14.0, 42.0)])),
            ("out", np.array([(size_mm + 14.0, 42.0), (0.0, 42.0)])),
            ("cb", np.array([(0.0, 42.0), (0.0, 0.0)])),
        )
    return replace(pattern, pieces={**pattern.pieces, "collar": Piece("collar", nest)})


def test_an_even_follower_is_taken_for_a_strip_and_that_is_told() -> None:
    pattern = squared(shirt(said=False))
    result = revise(pattern, {"front": drawn("front", 6.0, 9.0)})
    for size in SIZES:
        assert_is_well(pattern, result.pattern, size)
        told = [n for n in result.records[size].warnings if "taken for a strip" in n.text]
        assert sorted(n.where for n in told) == ["collar", "stand"]
        assert "30.0 mm wide" in next(n.text for n in told if n.where == "stand")
        assert not any("nobody edited" in n.text and "width" in n.text for n in told)


def test_a_collar_that_widens_towards_its_point_is_taken_for_a_strip_too() -> None:
    """42 mm at the centre back and 48 at the point; nothing is sewn to its ends."""
    pattern = shirt(said=False)
    result = revise(pattern, {"front": drawn("front", 6.0, 9.0)})
    for size in SIZES:
        assert_is_well(pattern, result.pattern, size)
        told = [n.text for n in result.records[size].warnings if n.where == "collar"]
        assert len(told) == 1 and "taken for a strip 42." in told[0] and " to 4" in told[0]


def narrow(top: float = 42.0, far_top: float = 42.0, size: float = 190.0) -> SizedPiece:
    return _piece(
        ("low", np.array([(0.0, 0.0), (size, 0.0)])),
        ("point", np.array([(size, 0.0), (size, far_top)])),
        ("out", np.array([(size, far_top), (0.0, top)])),
        ("cb", np.array([(0.0, top), (0.0, 0.0)])),
    )


@pytest.mark.parametrize(
    ("piece", "is_strip"),
    [
        (narrow(), True),
        (narrow(42.0, 60.0), True),
        (narrow(20.0, 60.0), False),  # a wedge
        (narrow(98.0, 104.0, 400.0), False),  # a panel that widens
        (narrow(140.0, 140.0, 400.0), True),
        (narrow(160.0, 160.0, 400.0), False),
        (narrow(42.0, 42.0, 80.0), False),  # a flap
    ],
    ids=["even", "widens", "wedge", "panel", "wide", "too wide", "short"],
)
def test_which_followers_are_taken_for_strips(piece: SizedPiece, is_strip: bool) -> None:
    pattern = shirt(said=False)
    nest = dict.fromkeys(SIZES, piece)
    assert (strip_of(with_collar(pattern, nest), "collar") is not None) == is_strip


def with_collar(pattern: PatternSet, nest: Mapping[str, SizedPiece], *seams: Seam) -> PatternSet:
    more = {seam.name: seam for seam in seams}
    return replace(
        pattern,
        pieces={**pattern.pieces, "collar": Piece("collar", nest)},
        relations=Relations(seams={**pattern.relations.seams, **more}),
    )


def test_a_piece_of_uneven_width_whose_end_is_sewn_is_no_strip_unless_it_is_said() -> None:
    end = Seam("end", parse_run("collar.point"), parse_run("stand.end"))
    nest = dict.fromkeys(SIZES, narrow(42.0, 60.0))
    assert strip_of(with_collar(shirt(said=False), nest, end), "collar") is None
    assert strip_of(with_collar(shirt(), nest, end), "collar") is not None
    even = dict.fromkeys(SIZES, narrow())
    assert strip_of(with_collar(shirt(said=False), even, end), "collar") is not None


def test_what_the_set_says_is_not_told_and_an_empty_word_says_that_it_is_none() -> None:
    pattern = shirt()
    result = revise(pattern, {"front": drawn("front", 6.0, 9.0)})
    assert not any("strip" in n.text for n in result.records["S"].warnings)
    none = shirt(said=False, stand=PieceInfo("stand", strip=()), collar=PieceInfo("c", strip=()))
    assert strip_of(none, "stand") is None and strip_of(none, "collar") is None
    new = revise(squared(none), {"front": drawn("front", 6.0, 9.0)}).pattern
    was = squared(none).sized("collar", "S").edge("out").points
    now = new.sized("collar", "S").edge("out").points
    assert np.hypot(*(now - was).T).max() < 1e-9  # the neck edge alone gave


@pytest.mark.parametrize("seed", range(4))
def test_a_hundredth_of_a_millimetre_of_noise_makes_a_hundredth_of_difference(seed: int) -> None:
    """Whether a piece is a strip is asked of the set as it was, in its base size."""
    rng = np.random.default_rng(seed)
    pattern = squared(shirt(said=False))
    pieces = dict(pattern.pieces)
    for name in ("stand", "collar"):
        nest = {}
        for size, piece in pieces[name].nest.items():
            lines = [e.points + rng.uniform(-0.01, 0.01, e.points.shape) for e in piece.edges]
            for k, line in enumerate(lines):
                line[0] = lines[k - 1][-1]
            edges = tuple(Edge(e.name, p) for e, p in zip(piece.edges, lines, strict=True))
            nest[size] = replace(piece, edges=edges)
        pieces[name] = Piece(name, nest)
    sent = {"front": drawn("front", 6.0, 9.0)}
    noisy = replace(pattern, pieces=pieces)
    plain, other = (revise(one, sent).pattern for one in (pattern, noisy))
    for name in ("stand", "collar"):
        for size in SIZES:
            for edge in plain.sized(name, size).edges:
                line = shapely.LineString(edge.points)
                own = shapely.LineString(other.sized(name, size).edge(edge.name).points)
                # The lengths that are asked are those of the noisy stand.
                assert line.hausdorff_distance(own) < 0.3, (name, edge.name)


def test_two_leads_on_the_two_sides_of_a_strip_are_a_conflict_that_names_both() -> None:
    pattern = shirt()
    seams = dict(pattern.relations.seams)
    turned = seams["collar"]
    seams["collar"] = replace(turned, lead=turned.follow, follow=turned.lead)
    pattern = replace(pattern, relations=Relations(seams=seams))
    with pytest.raises(Conflict) as found:
        revise(pattern, {"front": drawn("front", 6.0, 9.0)})
    grown = length(front(0.0, 6.0, 9.0), "neck") - length(front(0.0), "neck")
    assert found.value.distance_mm == pytest.approx(grown, abs=0.05)
    text = str(found.value)
    assert "'neck'" in text and "'collar'" in text and "'stand'" in text


def test_within_what_the_seams_allow_two_leads_share_and_the_figures_are_told() -> None:
    pattern = shirt()
    seams = dict(pattern.relations.seams)
    turned = seams["collar"]
    seams["collar"] = replace(turned, lead=turned.follow, follow=turned.lead)
    pattern = replace(pattern, relations=Relations(seams=seams))
    result = revise(pattern, {"front": drawn("front", 0.0, 1.5)})
    asked = length(front(0.0, 0.0, 1.5), "neck") - length(front(0.0), "neck")
    assert 0.5 < asked < 1.5
    told = {n.where: n.text for n in result.records["S"].warnings}
    assert f"{-asked / 2:+.2f} mm" in told["neck"] and f"{asked / 2:+.2f} mm" in told["collar"]


def test_the_sides_of_a_strip_are_told_apart() -> None:
    edges = ["neck_back", "neck_front", "end", "round", "top", "cb"]
    assert sides_of_strip(edges, ["neck_front", "top", "neck_back"]) == (
        ("neck_back", "neck_front"),
        ("top",),
    )
    assert sides_of_strip([*edges[1:], edges[0]], ["neck_front", "top", "neck_back"]) == (
        ("neck_back", "neck_front"),
        ("top",),
    )
    assert sides_of_strip(edges, ["neck_front", "end", "round", "top"]) is None
    assert sides_of_strip(edges, ["top"]) is None
    assert sides_of_strip(edges, ["top", "no_such"]) is None


@pytest.mark.parametrize(
    ("strip", "says"),
    [
        (("neck", "topp"), "'top'"),
        (("neck", "end", "round", "top"), "two long sides"),
        (("neck",), "two long sides"),
        (("neck", "neck"), "two long sides"),
    ],
)
def test_a_strip_without_two_sides_is_refused(strip: tuple[str, ...], says: str) -> None:
    found = find_problems(shirt(stand=PieceInfo("stand", strip=strip)))
    assert len(found) == 1 and "piece 'stand', strip" in found[0] and says in found[0]


def test_a_strip_follows_no_seam_with_a_hold() -> None:
    pattern = shirt()
    level = {"chest": (0.0, 300.0)}
    pieces = {
        name: Piece(name, {s: replace(p, levels=level) for s, p in piece.nest.items()})
        for name, piece in pattern.pieces.items()
    }
    seams = {n: replace(s, hold="chest") for n, s in pattern.relations.seams.items()}
    found = find_problems(replace(pattern, pieces=pieces, relations=Relations(seams=seams)))
    assert any(
        "piece 'stand'" in text and "hold = 'chest' on seam 'neck'" in text for text in found
    )


def in_two_edges(piece: SizedPiece) -> SizedPiece:
    """The stand whose neck is two edges that meet at the shoulder."""
    line = shapely.LineString(piece.edge("neck").points)
    at = piece.distance("neck", "shoulder")
    parts = [
        Edge(name, np.array(substring(line, a, b).coords))
        for name, a, b in (("neck_back", 0.0, at), ("neck_front", at, line.length))
    ]
    marks = [mark for mark in piece.landmarks if mark.name != "shoulder"]
    return replace(
        piece,
        edges=(*parts, *piece.edges[1:]),
        landmarks=tuple(replace(m, edge="neck_front") if m.edge == "neck" else m for m in marks),
    )


def test_a_long_side_may_be_several_edges() -> None:
    """The same line as in one edge, in each of the two."""
    pattern = shirt()
    nest = {size: in_two_edges(p) for size, p in pattern.pieces["stand"].nest.items()}
    follow = parse_run(["stand.neck_back", "stand.neck_front to cf"])
    seam = replace(pattern.relations.seams["neck"], follow=follow)
    seam = replace(seam, notches=(("front.neck.start", "stand.neck_back.end"),))
    cut = replace(
        pattern,
        pieces={**pattern.pieces, "stand": Piece("stand", nest)},
        info={**pattern.info, "stand": PieceInfo("s", strip=("top", "neck_front", "neck_back"))},
        relations=Relations(seams={**pattern.relations.seams, "neck": seam}),
    )
    assert not find_problems(cut)
    sent = {"front": drawn("front", 6.0, 9.0), "back": drawn("back", 6.0, -2.0)}
    plain, new = revise(pattern, sent).pattern, revise(cut, sent).pattern
    for size in SIZES:
        whole, parts = (one.sized("stand", size) for one in (plain, new))
        joined = np.vstack([parts.edge(name).points for name in ("neck_back", "neck_front")])
        line = shapely.LineString(whole.edge("neck").points)
        assert line.hausdorff_distance(shapely.LineString(joined)) < 1e-4
        assert length(parts, "neck_back") == pytest.approx(neck_parts(whole)[0], abs=1e-4)
        top = shapely.LineString(whole.edge("top").points)
        assert top.hausdorff_distance(shapely.LineString(parts.edge("top").points)) < 1e-4


def test_two_strips_in_one_run_share_what_it_asks_for() -> None:
    """A cuff in two pieces on one sleeve: the hem becomes 12 mm longer, each piece by its half."""

    def sleeve(hem: float) -> SizedPiece:
        return _piece(
            ("hem", np.array([(0.0, 0.0), (hem, 0.0)])),
            ("right", np.array([(hem, 0.0), (260.0, 300.0)])),
            ("cap", np.array([(260.0, 300.0), (0.0, 300.0)])),
            ("left", np.array([(0.0, 300.0), (0.0, 0.0)])),
        )

    def cuff(size: float) -> SizedPiece:
        return _piece(
            ("low", np.array([(0.0, 0.0), (size, 0.0)])),
            ("right", np.array([(size, 0.0), (size, 50.0)])),
            ("top", np.array([(size, 50.0), (0.0, 50.0)])),
            ("left", np.array([(0.0, 50.0), (0.0, 0.0)])),
        )

    nest = {"sleeve": sleeve(240.0), "inner": cuff(120.0), "outer": cuff(120.0)}
    seam = Seam("cuff", parse_run("sleeve.hem"), parse_run(["inner.top reversed", "outer.top"]))
    pattern = PatternSet(
        name="sleeve",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": piece}) for name, piece in nest.items()},
        info={name: PieceInfo(name) for name in nest},
        relations=Relations(seams={"cuff": seam}),
    )
    new = revise(pattern, {"sleeve": Piece("sleeve", {"M": sleeve(252.0)})}).pattern
    for name in ("inner", "outer"):
        piece = new.sized(name, "M")
        assert length(piece, "top") == pytest.approx(126.0, abs=1e-4)
        assert length(piece, "low") == pytest.approx(126.0, abs=1e-4)
        assert length(piece, "left") == pytest.approx(50.0, abs=1e-6)


@pytest.mark.parametrize(("bust", "waist"), [("M", "S"), ("S", "M")])
def test_where_all_that_a_stand_is_sewn_to_has_its_size_it_stays_as_drawn(
    bust: str, waist: str
) -> None:
    """The front is drawn in the waist's size and has the neck of the other: the shoulder's notch
    stays, since the neck was never sewn so before and nothing of it is left to spread."""
    pattern = shirt()
    levels = {"bust": (0.0, 250.0), "waist": (0.0, 50.0)}
    fronts = {size: replace(front(grow), levels=levels) for size, grow in SIZES.items()}
    pattern = replace(
        pattern,
        lay_on="waist",
        pieces={**pattern.pieces, "front": Piece("front", fronts)},
        relations=replace(
            pattern.relations,
            places={name: Place(name, "bust") for name in ("back", "stand", "collar")},
        ),
    )
    result = propagate.run(pattern, propagate.BlendLevels({"bust": bust, "waist": waist}))
    assert result.sews
    made, was = result.pattern.sized("stand", result.pattern.base), pattern.sized("stand", bust)
    assert made.distance("neck", "shoulder") == pytest.approx(
        was.distance("neck", "shoulder"), abs=AGREES_MM / 10
    )
    assert np.abs(made.outline - was.outline).max() < AGREES_MM
