"""Lines parallel to several edges one after the other; the yardstick is shapely's mitred offset."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.ops import substring

import propagate
from propagate import Amount, DrawEdge, LetOut, Lower, PatternSet, Raise, TakeIn
from propagate.engine.inside import chains
from propagate.engine.inside.parallels import Parallel, parallel_of
from propagate.engine.revise import revise
from propagate.engine.run import settle
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import InternalLine, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import PieceInfo
from tests.engine.inside.draft import SIZES, STEP, bezier, named

OFF_MM = 0.01
CHAINS = {
    "hem_stitch": (("hem_front", "hem_side"), 6.0),
    "facing": (("neck", "front"), 40.0),
    "pocket": (("side", "notch_low", "notch_top"), 12.0),
}
"""Which line runs along which edges, and how far inside."""
ENDS_ON = {"hem_stitch": {"front", "side"}, "facing": {"shoulder", "hem_front"}, "pocket": set()}


def mm(value: float) -> Amount:
    return Amount(mm=value)


def inside(piece: SizedPiece, edges: tuple[str, ...], width: float) -> shapely.LineString:
    """The parallel of a chain of edges, 40 mm longer at both ends, by shapely."""
    points = np.vstack(
        [piece.edge(edges[0]).points, *(piece.edge(e).points[1:] for e in edges[1:])]
    )
    ahead = [points[0] - points[1], points[-1] - points[-2]]
    ends = [p + 40.0 * a / np.hypot(*a) for p, a in zip(points[[0, -1]], ahead, strict=True)]
    whole = shapely.LineString(np.vstack([ends[0], points, ends[1]]))
    return whole.offset_curve(width, join_style="mitre", mitre_limit=20.0)


def front(size: str) -> SizedPiece:
    """A front: its hem is made of two edges, its side has a notch cut out, two corners turn in."""
    k = STEP[size]
    wide, tall = 240.0 + 10.0 * k, 420.0 + 5.0 * k
    hem_end = (120.0, -8.0)
    rows = {
        "hem_front": bezier((0.0, 0.0), (40.0, -6.0), (80.0, -9.0), hem_end, count=40),
        "hem_side": bezier(hem_end, (160.0, -7.0), (200.0, -2.0), (wide, 6.0), count=40),
        "side": bezier((wide, 6.0), (wide - 8.0, 60.0), (wide - 8.0, 120.0), (wide, 200.0)),
        "notch_low": np.array([(wide, 200.0), (wide - 60.0, 204.0)]),
        "notch_top": np.array([(wide - 60.0, 204.0), (wide - 55.0, tall)]),
        "shoulder": np.array([(wide - 55.0, tall), (80.0, tall + 30.0)]),
        "neck": bezier((80.0, tall + 30.0), (70.0, tall), (50.0, tall - 20.0), (0.0, tall - 25.0)),
        "front": np.array([(0.0, tall - 25.0), (0.0, 0.0)]),
    }
    edges = tuple(named(name, points) for name, points in rows.items())
    plain = SizedPiece(edges, Grain((90.0, 100.0), (90.0, 250.0)), levels={"waist": (0.0, 150.0)})
    hem = inside(plain, *CHAINS["hem_stitch"])
    facing = inside(plain, *CHAINS["facing"])
    pocket = inside(plain, *CHAINS["pocket"])
    area = shapely.Polygon(plain.outline)
    lines = {
        "hem_stitch": shapely.get_coordinates(hem.intersection(area)),
        "facing": shapely.get_coordinates(facing.intersection(area))[::-1],
        "pocket": shapely.get_coordinates(substring(pocket, 90.0, pocket.length - 95.0)),
    }
    drawn = tuple(InternalLine(n, frozen_points(points)) for n, points in lines.items())
    return replace(plain, lines=drawn)


def the_set(sizes: tuple[str, ...] = SIZES) -> PatternSet:
    return PatternSet(
        name="jacket",
        sizes=sizes,
        base="M",
        lay_on="",
        pieces={"front": Piece("front", {size: front(size) for size in sizes})},
        info={"front": PieceInfo("front", allowance=Allowance(10.0))},
        relations=Relations(),
    )


EDITS = {
    "hem at the side": Raise(edge="front.hem_side", by=mm(14.0), at="end", to=("start",)),
    "hem at the front": Lower(edge="front.hem_front", by=mm(11.0)),
    "drawn hem": DrawEdge(edge="front.hem_front", through=("40%:7mm",)),
    "side": TakeIn(edge="front.side", by=mm(9.0)),
    "notch": DrawEdge(edge="front.notch_top", through=("50%:-6mm",)),
    "neck": Lower(edge="front.neck", by=mm(15.0)),
    "front edge": LetOut(edge="front.front", by=mm(18.0)),
}


def line_of(piece: SizedPiece, name: str) -> np.ndarray:
    return next(line.points for line in piece.lines if line.name == name)


def off_chain(piece: SizedPiece, name: str) -> float:
    """How far a line lies off the parallel of its edges, corners and all, mm."""
    wanted, line = inside(piece, *CHAINS[name]), shapely.LineString(line_of(piece, name))
    ends = sorted(wanted.project(shapely.Point(p)) for p in (line.coords[0], line.coords[-1]))
    return float(shapely.hausdorff_distance(line, substring(wanted, *ends), densify=0.02))


@pytest.mark.parametrize("name", CHAINS)
@pytest.mark.parametrize("sizes", [SIZES, ("M",)], ids=["nest", "one size"])
def test_it_is_known_which_edges_a_line_runs_along(name: str, sizes: tuple[str, ...]) -> None:
    pattern, (edges, width) = the_set(sizes), CHAINS[name]
    others = [pattern.sized("front", size) for size in sizes if size != "M"]
    found = parallel_of(name, pattern.sized("front", "M"), others)
    assert found is not None and found.same and found.along
    assert found.edges == edges and found.width == pytest.approx(width, abs=OFF_MM)


@pytest.mark.parametrize("name", EDITS)
def test_it_stays_at_its_distance_from_all_of_them(name: str) -> None:
    pattern = the_set()
    was = pattern.sized("front", "M")
    result = propagate.run(pattern, EDITS[name].for_size("M", "same", "length"))
    now = result.pattern.sized("front", result.pattern.base)
    changed = {e.name for e in was.edges if not np.array_equal(e.points, now.edge(e.name).points)}
    told = " ".join(notice.text for notice in result.record.warnings)
    moved = 0
    for line, (edges, _) in CHAINS.items():
        assert off_chain(was, line) < OFF_MM and off_chain(now, line) < OFF_MM, line
        same = line_of(now, line).tobytes() == line_of(was, line).tobytes()
        assert same or not changed.isdisjoint({*edges, *ENDS_ON[line]}), line
        if not same and not changed.isdisjoint(edges):
            moved += 1
            listed = [f"'{edge}'" for edge in edges]
            said = " and ".join([", ".join(listed[:-1]), listed[-1]])
            assert f"'{line}' taken as measured from {said}, and kept parallel to them" in told
    assert moved
    ends = shapely.points(line_of(now, "hem_stitch")[[0, -1]])
    ring = shapely.LinearRing(now.outline)
    assert shapely.distance(ring, ends).max() < 1e-3
    again = settle(result.pattern).pattern
    assert again.sized("front", again.base).lines == now.lines


def test_of_a_drawing_that_shows_no_lines_they_follow_in_every_size() -> None:
    pattern = the_set()
    old = pattern.sized("front", "M")
    hem = [old.edge(name).points.copy() for name in ("hem_front", "hem_side")]
    x = np.vstack(hem)[:, 0]
    hem = [points - [0.0, 20.0] + 8.0 * np.sin(points[:, [0]] / x.max() * np.pi) for points in hem]
    rows = {e.name: e.points.copy() for e in old.edges}
    rows.update(hem_front=hem[0], hem_side=hem[1])
    rows["side"][0], rows["front"][-1] = hem[1][-1], hem[0][0]
    edges = tuple(named(name, points) for name, points in rows.items())
    drawn = Piece("front", {"M": replace(old, edges=edges, lines=())})
    after = revise(pattern, {"front": drawn}).pattern
    for size in SIZES:
        assert off_chain(after.sized("front", size), "hem_stitch") < OFF_MM


def test_a_line_that_rounds_a_corner_or_leaves_an_edge_is_no_parallel() -> None:
    """Round a corner that turns in, a stitching may be rounded off: then it is no mitre."""
    piece = front("M")
    chain = np.vstack([piece.edge("notch_low").points, piece.edge("notch_top").points[1:]])
    rounded = shapely.LineString(chain).offset_curve(12.0, join_style="round")
    away = np.array([(10.0, 6.0), (110.0, -1.9), (150.0, 40.0)])
    for points in (shapely.get_coordinates(rounded), away):
        one = replace(piece, lines=(InternalLine("line", frozen_points(points)),))
        assert parallel_of("line", one, []) is None


def test_most_lines_are_looked_at_in_a_few_places_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """A line across the piece asks for its distance from the outline once, at nine places."""
    asked: list[int] = []
    real = chains.locate_all

    def counted(line: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        asked.append(len(points))
        return real(line, points)

    monkeypatch.setattr(chains, "locate_all", counted)
    piece = front("M")
    across = InternalLine("across", frozen_points([(0.0, 300.0), (180.0, 260.0)]))
    assert parallel_of("across", replace(piece, lines=(across,)), []) is None
    beside = InternalLine("beside", frozen_points([(15.0, 60.0), (15.0, 300.0)]))
    alone = parallel_of("beside", replace(piece, lines=(beside,)), [])
    assert alone == Parallel(("front",), alone.width if alone else 0.0, True, True)
    assert asked == [9]
