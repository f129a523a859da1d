"""A facing and a lining are cut like what they are sewn to, and are traced from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
import shapely

import propagate
from propagate.engine.revise import revise
from propagate.engine.run import settle
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from propagate.pattern.spans import run_length
from propagate.pattern.validate import find_problems
from tests.shared import demo

Array = npt.NDArray[np.float64]


def laid(points: npt.ArrayLike, angle: float, mirror: bool) -> Array:
    """In the frame of a facing: turned, shifted, and face down where it is."""
    rows = np.asarray(points, dtype=float).reshape(-1, 2) * ([-1.0, 1.0] if mirror else [1.0, 1.0])
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return rows @ turn.T + [310.0, -45.0]


def facing_of(front: SizedPiece, angle: float, mirror: bool) -> SizedPiece:
    """A facing for neck and centre: the neck, and the upper part of the centre.

    The centre goes up to the neck and the neck to the shoulder; the inner edge runs
    40 mm along the shoulder and straight down to the facing's end on the centre.
    """
    centre, neck = front.edge("centre"), front.edge("neck")
    low = front.landmark("facing_end").point
    along = front.distance("centre", "facing_end")
    part = np.vstack([low, centre.points[centre.arc > along + 1e-6]])
    shoulder = front.edge("shoulder").points
    out = neck.points[-1] + 40.0 * (shoulder[-1] - shoulder[0]) / np.hypot(
        *(shoulder[-1] - shoulder[0])
    )
    lines = [part, neck.points, np.array([neck.points[-1], out, low])]
    names = ["centre", "neck", "inner"]
    moved = [laid(line, angle, mirror) for line in lines]
    if mirror:  # counter-clockwise again
        names, moved = names[::-1], [line[::-1] for line in reversed(moved)]
    ends = laid([front.grain.start, front.grain.end], angle, mirror)
    edges = tuple(Edge(name, line) for name, line in zip(names, moved, strict=True))
    closed = [
        Edge(e.name, np.vstack([edges[i - 1].points[-1], e.points[1:]]))
        for i, e in enumerate(edges)
    ]
    return SizedPiece(edges=tuple(closed), grain=Grain(tuple(ends[0]), tuple(ends[1])))


def with_facing(angle: float, mirror: bool) -> PatternSet:
    """The gilet with a shaped facing behind neck and centre of its upper front."""
    gilet = demo("workshop_gilet")
    fronts, facings = {}, {}
    for size, front in gilet.pieces["upper_front"].nest.items():
        centre = front.edge("centre")
        at = centre.length - 120.0
        x, y = (float(np.interp(at, centre.arc, centre.points[:, k])) for k in (0, 1))
        marked = replace(
            front, landmarks=(*front.landmarks, Landmark("facing_end", "centre", (x, y), "notch"))
        )
        fronts[size], facings[size] = marked, facing_of(marked, angle, mirror)
    back = " reversed" if mirror else ""
    seams = {
        name: Seam(name, parse_run(lead), parse_run(follow))
        for name, lead, follow in (
            ("facing_neck", "upper_front.neck", f"facing.neck{back}"),
            ("facing_centre", "upper_front.centre from facing_end to end", f"facing.centre{back}"),
        )
    }
    made = replace(
        gilet,
        pieces={
            **gilet.pieces,
            "upper_front": Piece("upper_front", fronts),
            "facing": Piece("facing", facings),
        },
        info={**gilet.info, "facing": PieceInfo("Front facing", cut=2, pair=True)},
        relations=replace(gilet.relations, seams={**gilet.relations.seams, **seams}),
    )
    assert find_problems(made) == ()
    return made


def lowered(front: SizedPiece, by: float) -> SizedPiece:
    """The neck lower at the centre by `by` mm, fading to nothing at the shoulder."""
    centre, neck = front.edge("centre"), front.edge("neck")
    down = centre.points[-2] - centre.points[-1]
    down = by * down / np.hypot(*down)
    points = neck.points + np.outer(np.cos(np.pi / 2 * neck.arc / neck.length) ** 2, down)
    points[-1] = neck.points[-1]
    up = centre.points.copy()
    up[-1] = points[0]
    new = {"neck": Edge("neck", points), "centre": Edge("centre", up)}
    return replace(front, edges=tuple(new.get(edge.name, edge) for edge in front.edges))


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("angle", [0.0, 2.1])
def test_a_lowered_neck_is_traced_on_the_facing(angle: float, mirror: bool) -> None:
    gilet = with_facing(angle, mirror)
    sent = {size: lowered(front, 12.0) for size, front in gilet.pieces["upper_front"].nest.items()}
    found = revise(gilet, {"upper_front": Piece("upper_front", sent)})
    for size in gilet.sizes:
        front, facing = (found.pattern.sized(n, size) for n in ("upper_front", "facing"))
        for edge, line in (
            ("neck", front.edge("neck").points),
            ("centre", front.edge("centre").points),
        ):
            on_front = shapely.LineString(laid(line, angle, mirror))
            own = shapely.LineString(facing.edge(edge).points)
            assert (
                shapely.hausdorff_distance(shapely.intersection(on_front, own.buffer(0.02)), own)
                <= 0.02
            ), (size, edge)
        for name in ("facing_neck", "facing_centre"):
            seam = found.pattern.relations.seams[name]

            def lookup(piece: str, size: str = size) -> SizedPiece:
                return found.pattern.sized(piece, size)

            assert run_length(lookup, seam.lead) == pytest.approx(
                run_length(lookup, seam.follow), abs=0.01
            )
        assert shapely.Polygon(facing.outline).is_valid
        assert found.records[size].warnings == () or all(
            "facing" not in notice.where for notice in found.records[size].warnings
        )
    why = found.records["96"].chain("facing.neck")
    assert why[0].what == (
        "traced from 'upper_front', which it is cut like, across seam 'facing_neck'"
    )
    assert why[-1].id == "edit"


def test_the_ends_that_did_not_move_keep_every_digit() -> None:
    gilet = with_facing(0.7, False)
    sent = {"96": lowered(gilet.sized("upper_front", "96"), 8.0)}
    found = revise(gilet, {"upper_front": Piece("upper_front", sent)})
    old, new = (p.sized("facing", "96") for p in (gilet, found.pattern))
    assert (new.edge("centre").points[0] == old.edge("centre").points[0]).all()
    assert (new.edge("neck").points[-1] == old.edge("neck").points[-1]).all()


def test_a_facing_that_was_drawn_otherwise_meets_both_its_seams() -> None:
    """A facing whose neck is 2 mm off is no copy: its corner is asked two things, and does both."""
    gilet = with_facing(0.0, False)
    smaller = {
        size: replace(
            p,
            edges=tuple(
                Edge(e.name, e.points + np.outer(np.sin(np.pi * e.arc / e.length), [2.0, 0.0]))
                if e.name == "neck"
                else e
                for e in p.edges
            ),
        )
        for size, p in gilet.pieces["facing"].nest.items()
    }
    other = replace(gilet, pieces={**gilet.pieces, "facing": Piece("facing", smaller)})
    sent = {size: lowered(front, 12.0) for size, front in gilet.pieces["upper_front"].nest.items()}
    found = revise(other, {"upper_front": Piece("upper_front", sent)})
    assert found.sews
    for size, front in sent.items():
        facing = found.pattern.sized("facing", size)
        for edge in ("neck", "centre"):
            lead, follow = (shapely.LineString(p.edge(edge).points) for p in (front, facing))
            assert abs(follow.length - lead.length) < 0.05 or edge == "centre"


def with_lining(angle: float) -> PatternSet:
    """The lower part of the gilet with a lining cut like it, its own side seam included."""
    gilet = demo("workshop_gilet")
    pieces, info, seams = dict(gilet.pieces), dict(gilet.info), dict(gilet.relations.seams)
    for main, lining in (("lower_front", "lining_front"), ("lower_back", "lining_back")):
        nest = {}
        for size, piece in gilet.pieces[main].nest.items():
            ends = laid([piece.grain.start, piece.grain.end], angle, False)
            edges = [Edge(e.name, laid(e.points, angle, False), e.turns) for e in piece.edges]
            nest[size] = SizedPiece(tuple(edges), Grain(tuple(ends[0]), tuple(ends[1])))
        pieces[lining] = Piece(lining, nest)
        info[lining] = PieceInfo(lining, cut=2, pair=True)
        for edge in ("waist", "side", "centre"):
            name = f"{lining}_{edge}"
            seams[name] = Seam(name, parse_run(f"{main}.{edge}"), parse_run(f"{lining}.{edge}"))
    side = gilet.relations.seams["side_seam"]
    own = [tuple(str(s) for s in run) for run in (side.lead, side.follow)]
    lead, follow = ([t.replace("lower", "lining") for t in run] for run in own)
    seams["lining_side"] = Seam("lining_side", parse_run(lead), parse_run(follow))
    relations = replace(gilet.relations, seams=seams)
    made = replace(gilet, pieces=pieces, info=info, relations=relations)
    assert find_problems(made) == ()
    return made


@pytest.mark.parametrize(("upper", "lower"), [("90", "102"), ("110", "96")])
def test_a_lining_is_traced_from_a_blend(upper: str, lower: str) -> None:
    gilet = with_lining(1.2)
    result = propagate.blend(gilet, propagate.Blend({"waist": upper, "hip": lower}))
    assert result.sews
    size = result.record.size
    for main, lining in (("lower_front", "lining_front"), ("lower_back", "lining_back")):
        outer, inner = (result.pattern.sized(name, size) for name in (main, lining))
        old = gilet.sized(lining, lower)
        for edge in ("waist", "side", "centre"):
            far = shapely.hausdorff_distance(
                shapely.LineString(laid(outer.edge(edge).points, 1.2, False)),
                shapely.LineString(inner.edge(edge).points),
            )
            assert far <= 0.001
        assert inner.edge("hem") == old.edge("hem")
        # What the blend left of the side is the lining's own, digit for digit.
        kept = {tuple(p) for p in old.edge("side").points.tolist()}
        same = [tuple(p) in kept for p in inner.edge("side").points.tolist()]
        main_kept = {tuple(p) for p in gilet.sized(main, lower).edge("side").points.tolist()}
        count = sum(tuple(p) in main_kept for p in outer.edge("side").points.tolist())
        assert sum(same) >= count - 1 >= 1
    again = settle(result.pattern)
    assert all(
        again.pattern.sized(name, size) == result.pattern.sized(name, size)
        for name in result.pattern.pieces
    )


def test_the_dart_of_a_lining_is_traced_too() -> None:
    """A lining of the trousers' back: its dart is the back's, and so it sews to a copy."""
    trousers = demo("slant_trouser")
    nest = {}
    for size, back in trousers.pieces["back"].nest.items():

        def at(point: tuple[float, float]) -> tuple[float, float]:
            x, y = laid(point, 0.4, False)[0]
            return float(x), float(y)

        nest[size] = replace(
            back,
            edges=tuple(Edge(e.name, laid(e.points, 0.4, False), e.turns) for e in back.edges),
            grain=Grain(at(back.grain.start), at(back.grain.end)),
            landmarks=tuple(replace(m, point=at(m.point)) for m in back.landmarks),
            darts=tuple(replace(d, tip=at(d.tip)) for d in back.darts),
            drills=(),
            lines=(),
            levels={name: at(point) for name, point in back.levels.items()},
            label=None,
        )
    seams = {
        f"lining_{edge}": Seam(
            f"lining_{edge}", parse_run(f"back.{edge}"), parse_run(f"lining.{edge}")
        )
        for edge in ("waist", "side", "centre")
    }
    made = replace(
        trousers,
        pieces={**trousers.pieces, "lining": Piece("lining", nest)},
        info={**trousers.info, "lining": PieceInfo("Lining", cut=2, pair=True)},
        relations=replace(trousers.relations, seams={**trousers.relations.seams, **seams}),
    )
    assert find_problems(made) == ()
    result = propagate.blend(made, propagate.Blend({"waist": "50", "hip": "40"}))
    assert result.sews
    size = result.record.size
    back, lining = result.pattern.sized("back", size), result.pattern.sized("lining", size)
    own = {mark.name: mark.point for mark in lining.landmarks}
    for dart in back.darts:
        for leg in dart.legs:
            wanted = laid(back.landmark(leg).point, 0.4, False)[0]
            assert own[leg] == pytest.approx(wanted, abs=0.001)
        tip = next(d.tip for d in lining.darts if d.name == dart.name)
        assert tip == pytest.approx(laid(dart.tip, 0.4, False)[0], abs=0.001)
    assert find_problems(result.pattern) == ()


def on_the_fold(angle: float, mirror: bool) -> PatternSet:
    """The same facing on the fold of the front, sewn to it along the neck alone."""
    made = with_facing(angle, mirror)
    seams = {n: s for n, s in made.relations.seams.items() if n != "facing_centre"}
    info = {**made.info, "facing": PieceInfo("Front facing", fold="centre")}
    return replace(made, info=info, relations=replace(made.relations, seams=seams))


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("angle", [0.0, 2.1])
def test_a_facing_that_is_sewn_along_one_edge_is_traced_too(angle: float, mirror: bool) -> None:
    gilet = on_the_fold(angle, mirror)
    sent = {size: lowered(front, 12.0) for size, front in gilet.pieces["upper_front"].nest.items()}
    found = revise(gilet, {"upper_front": Piece("upper_front", sent)})
    for size, front in sent.items():
        facing = found.pattern.sized("facing", size)
        neck = laid(front.edge("neck").points, angle, mirror)
        line = shapely.LineString(facing.edge("neck").points)
        assert line.hausdorff_distance(shapely.LineString(neck)) < 0.02
        # The fold stays the straight line that it was, only shorter.
        fold = facing.edge("centre").points
        before = shapely.LineString(gilet.sized("facing", size).edge("centre").points)
        assert max(before.distance(shapely.Point(p)) for p in fold) < 0.02
        assert before.length - shapely.LineString(fold).length == pytest.approx(12.0, abs=0.02)


def in_thousandths_of_an_inch(piece: Piece) -> Piece:
    """As a file in inches with three decimals holds it."""

    def near(points: Array) -> Array:
        return np.asarray(np.round(points / 25.4, 3) * 25.4)

    return Piece(
        piece.name,
        {
            size: replace(
                sized,
                edges=tuple(replace(e, points=near(e.points)) for e in sized.edges),
                landmarks=(),
            )
            for size, sized in piece.nest.items()
        },
    )


def test_a_file_in_whole_thousandths_of_an_inch_is_traced_in_every_size() -> None:
    gilet = on_the_fold(2.1, True)
    rounded = {n: in_thousandths_of_an_inch(gilet.pieces[n]) for n in ("upper_front", "facing")}
    seams = {"facing_neck": gilet.relations.seams["facing_neck"]}
    relations = Relations(seams=seams)
    gilet = replace(gilet, pieces={**gilet.pieces, **rounded}, relations=relations)
    sent = {size: lowered(front, 12.0) for size, front in gilet.pieces["upper_front"].nest.items()}
    found = revise(gilet, {"upper_front": Piece("upper_front", sent)})
    for size, front in sent.items():
        neck = shapely.LineString(laid(front.edge("neck").points, 2.1, True))
        traced = shapely.LineString(found.pattern.sized("facing", size).edge("neck").points)
        assert traced.hausdorff_distance(neck) < 0.06, size


@pytest.mark.parametrize("turned", [False, True])
def test_a_follower_is_not_lengthened_over_its_fold(turned: bool) -> None:
    """A facing cut a little otherwise than its front keeps its fold on its line."""
    gilet = on_the_fold(0.0, False)
    nest = {}
    for size, facing in gilet.pieces["facing"].nest.items():
        neck = facing.edge("neck")
        bow = np.outer(np.sin(np.pi * neck.arc / neck.length), [1.5, 1.5])
        edges = tuple(Edge("neck", e.points + bow) if e is neck else e for e in facing.edges)
        nest[size] = replace(facing, edges=edges)
    pieces = {**gilet.pieces, "facing": Piece("facing", nest)}
    lead, follow = ("upper_front.neck", "facing.neck")
    back = " reversed" if turned else ""
    seam = Seam("facing_neck", parse_run(lead + back), parse_run(follow + back))
    seams = {**gilet.relations.seams, "facing_neck": seam}
    gilet = replace(gilet, pieces=pieces, relations=replace(gilet.relations, seams=seams))
    sent = {size: lowered(front, 12.0) for size, front in gilet.pieces["upper_front"].nest.items()}
    found = revise(gilet, {"upper_front": Piece("upper_front", sent)})
    for size, front in sent.items():
        facing = found.pattern.sized("facing", size)
        # The fold stays on its line; its corner slides down it, as the front's centre did.
        fold = gilet.sized("facing", size).edge("centre").points
        line = shapely.LineString(fold)
        assert all(line.distance(shapely.Point(p)) < 1e-6 for p in facing.edge("centre").points)
        assert (facing.edge("centre").points[0] == fold[0]).all()
        assert abs(facing.edge("neck").length - front.edge("neck").length) < 0.02
