"""A jacket's front with facing and lining, which meet along a free edge, blended by level alone.

The yardsticks are distances by hand and shapely; what is written is read again.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

import propagate
from propagate.pattern.derived import Derived, DerivedEdge
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import Dart, Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems

SIZES = ("S", "M", "L")
GRAIN = Grain((-40.0, -200.0), (-40.0, 100.0))


def side(wide: float, high: float, low: float) -> np.ndarray:
    """From the chest down, hollow at the waist: an arc of a sine."""
    y = np.linspace(high, low, 41)
    x = -wide + 15.0 * np.sin(np.pi * (high - y) / (high - low)) ** 2
    return np.column_stack([x, y])


def drawn(size: str) -> dict[str, SizedPiece]:
    """The three pieces of a size: each 20 mm wider than the one before, the dart 5 mm further."""
    step = SIZES.index(size)
    wide, top, at = 220.0 + 20.0 * step, 320.0 + 4.0 * step, -110.0 - 5.0 * step
    legs, tip = [(at + 15.0, top), (at - 15.0, top)], (at, 130.0 - step)
    marks = tuple(
        Landmark(name, "top", leg, "dart leg")
        for name, leg in zip(("in", "out"), legs, strict=True)
    )
    levels = {"chest": (-60.0, 150.0), "waist": (-60.0, 0.0)}
    dart = Dart("dart", "top", ("in", "out"), tip)
    flank = side(wide, top, -250.0)
    inner = np.array([(-60.0, top), (-60.0, -250.0)])

    def across(y: float, left: float, right: float) -> np.ndarray:
        return np.array([(left, y), (right, y)] if y < 0.0 else [(right, y), *legs, (left, y)])

    front = SizedPiece(
        (
            Edge("hem", across(-250.0, -wide, 0.0)),
            Edge("edge", np.array([(0.0, -250.0), (0.0, top)])),
            Edge("top", across(top, -wide, 0.0)),
            Edge("side", flank),
        ),
        GRAIN, marks, (dart,), levels=levels,
    )  # fmt: skip
    facing = SizedPiece(
        (
            Edge("hem", across(-250.0, -60.0, 0.0)),
            Edge("edge", np.array([(0.0, -250.0), (0.0, top)])),
            Edge("top", np.array([(0.0, top), (-60.0, top)])),
            Edge("inner", inner),
        ),
        GRAIN,
    )
    lining = SizedPiece(
        (
            Edge("hem", across(-250.0, -wide, -60.0)),
            Edge("inner", inner[::-1]),
            Edge("top", across(top, -wide, -60.0)),
            Edge("side", flank),
        ),
        GRAIN, marks, (dart,), levels=levels,
    )  # fmt: skip
    return {"front": front, "facing": facing, "lining": lining}


def jacket() -> PatternSet:
    nest = {size: drawn(size) for size in SIZES}
    lies = {
        "facing": ("hem", "edge", "top"),
        "lining": ("hem", "top", "side"),
    }
    return PatternSet(
        name="jacket",
        sizes=SIZES,
        base="M",
        lay_on="waist",
        pieces={n: Piece(n, {size: nest[size][n] for size in SIZES}) for n in nest["M"]},
        info={n: PieceInfo(n, allowance=Allowance(10.0)) for n in nest["M"]},
        relations=Relations(
            seams={
                "inside": Seam(
                    "inside",
                    parse_run("facing.inner"),
                    parse_run("lining.inner reversed"),
                    check=True,
                )
            },
            derived={
                name: Derived(name, "front", tuple(DerivedEdge(edge, edge) for edge in edges))
                for name, edges in lies.items()
            },
        ),
    )


def blended() -> propagate.Result:
    """The chest of S on the waist of L."""
    return propagate.run(jacket(), propagate.BlendLevels({"chest": "S", "waist": "L"}))


def test_the_set_is_sound() -> None:
    assert find_problems(jacket()) == ()
    assert propagate.walk(jacket(), "L").sews


def test_what_is_written_can_be_read(tmp_path: Path) -> None:
    """The facing has no level; that it is sewn to the lining does not give it a place."""
    result = blended()
    propagate.save(result, tmp_path / "result")
    again = propagate.load_result(tmp_path / "result")
    assert find_problems(again.pattern) == ()
    assert all(check.difference < 0.01 for check in propagate.walk(again.pattern).of("derived"))


def test_a_dart_of_the_lining_lies_on_that_of_its_main_piece() -> None:
    """The front is laid by its edge, the lining by its side: 20 mm apart from size to size."""
    result = blended()
    size = result.record.size
    front, lining = (result.pattern.sized(name, size) for name in ("front", "lining"))
    for piece in (front, lining):
        legs = [
            np.hypot(*np.subtract(piece.landmark(n).point, piece.darts[0].tip))
            for n in ("in", "out")
        ]
        assert abs(legs[0] - legs[1]) < 0.5
    assert np.hypot(*np.subtract(front.darts[0].tip, lining.darts[0].tip)) < 0.01


def test_a_corner_drawn_a_trifle_beside_its_place_makes_no_spur() -> None:
    """A copy whose lower corner in front lies 0.04 mm off: laid on its main piece it is off a
    little at every corner, and the line that follows runs into its own corner without a hook.
    """
    pattern = jacket()
    front = pattern.sized("front", "M")
    low = front.edge("edge").points[0]
    beside = [
        replace(
            e,
            points=np.where(
                np.hypot(*(e.points - low).T)[:, None] < 1e-9, low + np.array([0.04, 0.0]), e.points
            ),
        )
        for e in front.edges
    ]
    drawing = {**pattern.pieces["lining"].nest, "M": replace(front, edges=tuple(beside))}
    copy = Derived("lining", "front", tuple(DerivedEdge(n, n) for n in front.edge_names))
    pattern = replace(
        pattern,
        sizes=("M",),
        pieces={"front": pattern.pieces["front"], "lining": Piece("lining", drawing)},
        relations=Relations(derived={"lining": copy}),
    )
    edit = propagate.TakeIn(edge="front.side", by=propagate.Amount(10.0), at="waist", to=("start",))
    after = propagate.run(pattern, edit).pattern
    own, main = (after.sized(name, "M").edge("side") for name in ("lining", "front"))
    for line in (own, main):
        steps = np.diff(line.points, axis=0) @ np.array([1.0, 1j])
        assert np.abs(np.angle(steps[1:] / steps[:-1])).max() < np.radians(10.0)
    lines = [shapely.LineString(line.points) for line in (own, main)]
    assert shapely.hausdorff_distance(*lines) < 0.04
