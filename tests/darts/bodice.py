"""A bodice with a waist dart, drafted in closed form, and darts moved on it by rotation.

          shoulder
        ___________
   neck (          \\
        |           ) armhole
 centre |          /
        |   /\\     | side
        |  /  \\    |
        |_/    \\___|      the dart's mouth lies on the waist
          waist

The front leads its back across the side and the shoulder, its skirt across the waist, and a
lining that is drawn alike, in another frame, along waist, side and armhole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.pattern.grain import Grain
from propagate.pattern.model import Dart, Edge, Landmark, Piece, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems

Array = npt.NDArray[np.float64]

SIZES = ("36", "38", "40")
MOUTH = 24.0
"""Width of the waist dart, mm, in every size."""


def turned(points: npt.ArrayLike, degrees: float, about: npt.ArrayLike = (0.0, 0.0)) -> Array:
    """Points turned about a point, counter-clockwise."""
    z = np.asarray(points, dtype=float).reshape(-1, 2) @ np.array([1.0, 1j])
    pin = complex(*np.asarray(about, dtype=float))
    z = (z - pin) * np.exp(1j * np.radians(degrees)) + pin
    return np.column_stack([z.real, z.imag])


def curve(start: Sequence[float], middle: Sequence[float], end: Sequence[float]) -> Array:
    """A quadratic Bézier curve."""
    t = np.linspace(0.0, 1.0, 41)[:, None]
    a, b, c = (np.asarray(p, dtype=float) for p in (start, middle, end))
    return np.asarray((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t**2 * c)


def front_sized(size: str) -> SizedPiece:
    """The front, with the centre on the left."""
    k = float(SIZES.index(size))
    width, chest, height = 230.0 + 10.0 * k, 245.0 + 10.0 * k, 180.0 + 4.0 * k
    legs = (100.0 + 3.0 * k, 0.0), (100.0 + 3.0 * k + MOUTH, 0.0)
    tip = (legs[0][0] + MOUTH / 2, 130.0 + 4.0 * k)
    under = (chest, height)
    armhole = curve(under, (chest - 60.0, height + 20.0), (chest - 55.0, height + 165.0))
    shoulder = np.array([armhole[-1], (70.0 + k, height + 210.0)])
    neck = curve(shoulder[-1], (65.0 + k, height + 120.0), (0.0, height + 120.0))
    waist = [(0.0, 0.0), *legs, (width, 0.0)]
    edges = (
        Edge("waist", frozen_points(waist)),
        Edge("side", frozen_points([(width, 0.0), under])),
        Edge("armhole", frozen_points(armhole)),
        Edge("shoulder", frozen_points(shoulder)),
        Edge("neck", frozen_points(neck)),
        Edge("centre", frozen_points([neck[-1], (0.0, 0.0)])),
    )
    share = 100.0 / edges[1].length
    at = (1 - share) * np.array([width, 0.0]) + share * np.array(under)
    return SizedPiece(
        edges=edges,
        grain=Grain((40.0, 40.0), (40.0, 200.0)),
        landmarks=(
            Landmark("dart_in", "waist", legs[0], "dart leg"),
            Landmark("dart_out", "waist", legs[1], "dart leg"),
            Landmark("balance", "side", (float(at[0]), float(at[1])), "notch"),
        ),
        darts=(Dart("waist_dart", "waist", ("dart_in", "dart_out"), tip),),
        levels={"waist": (0.0, 0.0), "bust": (0.0, height)},
    )


def back_sized(size: str) -> SizedPiece:
    """The back: no dart, the side and the shoulder as long as the front's, mirrored."""
    front = front_sized(size)
    side = front.edge("side").points * (-1.0, 1.0)
    height = float(side[1, 1])
    # Steeper and higher than the front's, as backs are: it is no mirror image of the front.
    shoulder = turned(front.edge("shoulder").points * (-1.0, 1.0), -3.0) + np.array([6.0, 14.0])
    armhole = curve(shoulder[0], (side[1, 0] + 45.0, height + 30.0), side[1])
    neck = curve((0.0, height + 195.0), (-60.0, height + 195.0), shoulder[1])
    edges = (
        Edge("waist", frozen_points([side[0], (0.0, 0.0)])),
        Edge("centre", frozen_points([(0.0, 0.0), neck[0]])),
        Edge("neck", frozen_points(neck)),
        Edge("shoulder", frozen_points(shoulder[::-1])),
        Edge("armhole", frozen_points(armhole)),
        Edge("side", frozen_points(side[::-1])),
    )
    x, y = front.landmark("balance").point
    return SizedPiece(
        edges=edges,
        grain=Grain((-40.0, 40.0), (-40.0, 200.0)),
        landmarks=(Landmark("balance", "side", (-x, y), "notch"),),
        levels={"waist": (0.0, 0.0), "bust": (0.0, height)},
    )


def skirt_sized(size: str) -> SizedPiece:
    """The skirt's front, as wide as the bodice's waist with its dart closed."""
    wide = front_sized(size).edge("waist").length - MOUTH
    corners = [(0.0, -500.0), (wide + 40.0, -500.0), (wide, 0.0), (0.0, 0.0)]
    names = ("hem", "side", "waist", "centre")
    return SizedPiece(
        edges=tuple(
            Edge(name, frozen_points([corners[i], corners[(i + 1) % 4]]))
            for i, name in enumerate(names)
        ),
        grain=Grain((60.0, -400.0), (60.0, -100.0)),
        levels={"waist": (0.0, 0.0)},
    )


def laid(piece: SizedPiece, degrees: float, shift: tuple[float, float]) -> SizedPiece:
    """The same drawing in another frame."""

    def put(points: npt.ArrayLike) -> Array:
        return turned(points, degrees) + shift

    def one(point: npt.ArrayLike) -> tuple[float, float]:
        x, y = put(point)[0]
        return float(x), float(y)

    return replace(
        piece,
        edges=tuple(Edge(e.name, put(e.points), e.turns) for e in piece.edges),
        grain=Grain(one(piece.grain.start), one(piece.grain.end)),
        landmarks=tuple(replace(m, point=one(m.point)) for m in piece.landmarks),
        darts=tuple(replace(d, tip=one(d.tip)) for d in piece.darts),
        levels={name: one(point) for name, point in piece.levels.items()},
    )


def seam(name: str, lead: str, follow: str, notches: tuple[tuple[str, str], ...] = ()) -> Seam:
    """A seam of one span with one span."""
    return Seam(name, parse_run(lead), parse_run(follow), notches=notches)


def bodice(lining: bool = True) -> PatternSet:
    """Front, back, skirt and lining in three sizes."""
    drawn = {
        "front": front_sized,
        "back": back_sized,
        "skirt": skirt_sized,
        "lining": lambda size: laid(front_sized(size), 31.0, (700.0, -80.0)),
    }
    seams = [
        seam(
            "side_seam",
            "front.side",
            "back.side reversed",
            (("front.balance", "back.balance"),),
        ),
        seam("shoulder_seam", "front.shoulder", "back.shoulder reversed"),
        seam("waist_seam", "front.waist", "skirt.waist reversed"),
    ]
    if lining:
        seams += [
            seam(f"lining_{edge}", f"front.{edge}", f"lining.{edge}")
            for edge in ("waist", "side", "armhole")
        ]
    else:
        del drawn["lining"]
    made = PatternSet(
        name="plain bodice",
        sizes=SIZES,
        base="38",
        lay_on="waist",
        pieces={n: Piece(n, {s: draw(s) for s in SIZES}) for n, draw in drawn.items()},
        info={n: PieceInfo(n, cut=2, allowance=Allowance(10.0)) for n in drawn},
        relations=Relations(seams={one.name: one for one in seams}),
    )
    assert find_problems(made) == ()
    return made
