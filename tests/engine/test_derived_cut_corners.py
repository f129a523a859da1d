"""What is counted from a cut line whose corners are no mitres: square, mirrored, stepped, blunt.

The yardstick is shapely's own offset of the cut line inwards, its corners mitred.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.engine.finish import cut_line, odd_corners
from propagate.engine.walk import walk
from propagate.errors import EditError
from propagate.pattern.derived import Derived, DerivedEdge
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.engine.test_derived import as_laid, back, changed, curve, the_set

OFF_MM = 0.01
NAMES = ("foot", "side", "waist", "centre")
FINISHES = {
    "square": Allowance(10.0, corners={"foot/side": "square"}),
    "square on both ways": Allowance(
        10.0, corners={"side/waist": "square second", "waist/centre": "square"}
    ),
    "mirrored": Allowance(10.0, {"foot": 40.0}, frozenset({"foot"})),
    "mirrored and square": Allowance(
        10.0, {"foot": 25.0, "side": 15.0}, frozenset({"foot"}), {"side/waist": "square"}
    ),
    "stepped": Allowance(10.0, {"foot": 30.0, "side": 4.0}, corners={"foot/side": "square"}),
    "narrower than the amount": Allowance(2.0, {"side": 15.0}, corners={"side/waist": "square"}),
    "none on one edge": Allowance(10.0, {"centre": 0.0}, corners={"centre/foot": "square second"}),
}


def main(wide: float = 180.0, bow: float = 0.0, top: float = 90.0) -> SizedPiece:
    """A piece with a bowed hem and a hollow side; the corners are far from square."""
    rows = {
        "foot": curve((0.0, 0.0), (100.0, -bow), (200.0, 0.0), count=12),
        "side": curve((200.0, 0.0), (wide - 2.0, 40.0), (wide, top), count=16),
        "waist": np.array([(wide, top), (0.0, 80.0)]),
        "centre": np.array([(0.0, 80.0), (0.0, 0.0)]),
    }
    edges = tuple(Edge(name, points) for name, points in rows.items())
    grain = Grain((50.0, 20.0), (50.0, 60.0))
    levels = {"hip": (0.0, 40.0)}
    return replace(
        back(), edges=edges, landmarks=(), darts=(), drills=(), grain=grain, levels=levels
    )


def straight(piece: SizedPiece) -> SizedPiece:
    return replace(piece, edges=tuple(Edge(e.name, e.points[[0, -1]]) for e in piece.edges))


def inset(piece: SizedPiece, allowance: Allowance, amount: float) -> shapely.Polygon:
    """The cut line, so much smaller all round, by shapely."""
    info = replace(the_set(piece, FUSIBLE, piece).info["back"], allowance=allowance)
    whole = shapely.Polygon(cut_line(piece, info).points)
    return whole.buffer(-amount, join_style="mitre", mitre_limit=20.0)


def drawn(piece: SizedPiece, allowance: Allowance, amount: float) -> SizedPiece:
    """The inset as a piece; each edge starts where its stretch of the cut line does."""
    ring = shapely.get_coordinates(inset(piece, allowance, amount).exterior)[:-1]
    ring = ring if shapely.LinearRing(ring).is_ccw else ring[::-1]
    info = replace(the_set(piece, FUSIBLE, piece).info["back"], allowance=allowance)
    starts = [cut_line(piece, info).stretches[name][0][0] for name in NAMES]
    for start in starts:  # a mirrored hem's fold need be no corner of the ring
        if np.hypot(*(ring - start).T).min() > 6.0:
            line = shapely.LinearRing(ring)
            at = line.project(shapely.Point(start))
            k = int(np.searchsorted([line.project(shapely.Point(p)) for p in ring], at))
            ring = np.insert(ring, k, shapely.get_coordinates(line.interpolate(at))[0], axis=0)
    at = [int(np.hypot(*(ring - start).T).argmin()) for start in starts]
    ring, at = np.roll(ring, -at[0], axis=0), [(k - at[0]) % len(ring) for k in at]
    ends = [*at[1:], len(ring)]
    whole = np.vstack([ring, ring[:1]])
    edges = [
        Edge(n, whole[a : b + 1], tuple(range(1, b - a)))
        for n, a, b in zip(NAMES, at, ends, strict=True)
    ]
    return replace(piece, edges=tuple(edges), levels={})


FUSIBLE = Derived(
    "fusible", "back", tuple(DerivedEdge(n, n, inside=3.0, from_cut=True) for n in NAMES)
)


def finished(piece: SizedPiece, allowance: Allowance, derived: Derived = FUSIBLE) -> PatternSet:
    pattern = the_set(piece, derived, main())
    info = replace(pattern.info["back"], allowance=allowance)
    return replace(pattern, info={**pattern.info, "back": info})


@pytest.mark.parametrize("finish", FINISHES)
def test_it_lies_inside_of_the_cut_line_whatever_its_corners(finish: str) -> None:
    allowance = FINISHES[finish]
    pattern = finished(drawn(main(), allowance, 3.0), allowance)
    assert odd_corners(main(), pattern.info["back"])
    assert walk(pattern, cut_lines=False).of("derived")[0].difference < OFF_MM
    new = main(171.0, bow=14.0, top=97.0)
    after = changed(pattern, new)
    moved = as_laid(after, main()).inverse()
    found = shapely.Polygon(moved.apply(after.sized("fusible", "M").outline))
    wanted = inset(new, allowance, 3.0)
    assert found.is_valid
    assert shapely.hausdorff_distance(found.exterior, wanted.exterior, densify=0.05) < OFF_MM
    assert walk(after, cut_lines=False).of("derived")[0].difference < OFF_MM
    assert changed(pattern, new).sized("fusible", "M") == after.sized("fusible", "M")


def test_a_sharp_corner_is_cut_off_as_the_cut_line_is() -> None:
    """Sharper than 29 degrees the tip of a mitre is cut off: the parallel of that follows."""
    spike = replace(
        main(),
        edges=tuple(
            Edge(n, np.array(p, dtype=float))
            for n, p in (
                ("foot", [(0, 0), (300, 0)]),
                ("side", [(300, 0), (60, 100)]),
                ("waist", [(60, 100), (0, 80)]),
                ("centre", [(0, 80), (0, 0)]),
            )
        ),
    )
    plain = Allowance(10.0)
    pattern = replace(
        finished(drawn(spike, plain, 3.0), plain),
        pieces=the_set(drawn(spike, plain, 3.0), FUSIBLE, spike).pieces,
    )
    assert odd_corners(spike, pattern.info["back"]) == {("foot", "side")}
    assert walk(pattern, cut_lines=False).of("derived")[0].difference < OFF_MM


def test_plain_corners_ask_for_no_cut_line() -> None:
    assert odd_corners(main(), finished(main(), Allowance(10.0)).info["back"]) == frozenset()


def test_an_edge_on_the_fold_has_no_allowance() -> None:
    """Nothing is said of the fold's allowance: its cut line is the fold (common practice)."""
    pattern = finished(straight(main()), Allowance(10.0))
    info = replace(pattern.info["back"], fold="centre")
    pattern = replace(pattern, info={**pattern.info, "back": info})
    pattern = replace(pattern, pieces=the_set(straight(main()), FUSIBLE, straight(main())).pieces)
    after = changed(pattern, straight(main(174.0)))
    wide = shapely.Polygon(after.sized("fusible", "M").outline).area
    whole = shapely.Polygon(cut_line(after.sized("back", "M"), info).points)
    assert abs(wide - whole.buffer(-3.0, join_style="mitre", mitre_limit=20.0).area) < 0.01


def test_an_edge_that_its_neighbours_swallow_is_refused_by_name() -> None:
    """A side of 6 mm beside an allowance of 40 that lies over its own: hand arithmetic."""
    short = replace(
        main(),
        edges=tuple(
            Edge(n, np.array(p, dtype=float))
            for n, p in (
                ("foot", [(0, 0), (100, 0)]),
                ("side", [(100, 0), (100, 6)]),
                ("waist", [(100, 6), (200, 6), (200, 80), (0, 80)]),
                ("centre", [(0, 80), (0, 0)]),
            )
        ),
    )
    allowance = Allowance(10.0, {"foot": 30.0, "waist": 40.0}, corners={"foot/side": "square"})
    pattern = replace(finished(short, allowance), pieces=the_set(short, FUSIBLE, short).pieces)
    with pytest.raises(EditError, match="0 stretches of the cut line are those of 'side'"):
        walk(pattern, cut_lines=False)


def test_darts_closed_beside_a_corner_that_is_no_mitre_are_refused_by_name() -> None:
    edges = (
        DerivedEdge("waist", "waist", inside=3.0, from_cut=True),
        DerivedEdge("side", "side"),
        DerivedEdge("centre", "centre"),
    )
    whole = back()
    derived = Derived("fusible", "back", edges, closed="waist")
    pattern = the_set(whole, derived, whole)
    square = Allowance(10.0, corners={"side/waist": "square"})
    info = replace(pattern.info["back"], allowance=square)
    pattern = replace(pattern, info={**pattern.info, "back": info})
    with pytest.raises(EditError, match="derive a piece with the darts closed"):
        walk(pattern, cut_lines=False)
