"""A rectangular piece with a welt opening, whose answers have closed forms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import Dart, InternalLine, Landmark, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo
from propagate.pattern.welts import WeltOpening, WeltPart
from tests.engine.test_corners_that_follow import _piece
from tests.welts.skirt import strip

NAMES = ("hem", "side", "waist", "centre")
CORNERS = np.array([(0.0, 0.0), (300.0, 0.0), (300.0, 500.0), (0.0, 500.0), (0.0, 0.0)])
LINE = np.array([(230.0, 420.0), (110.0, 410.0)])
"""From the end near the side to that near the centre."""
LONG = float(np.hypot(*(LINE[1] - LINE[0])))
TIP, LEGS = (170.0, 440.0), ((178.0, 500.0), (162.0, 500.0))
PARTS = (
    WeltPart("welt", "long"),
    WeltPart("bag", "long", beyond=10.0, bag=True),
)


def turned(points: np.ndarray, degrees: float, *, mirrored: bool = False) -> np.ndarray:
    """Points in another frame."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    flat = np.asarray(points, dtype=float) * ([-1.0, 1.0] if mirrored else [1.0, 1.0])
    return flat @ np.array([[c, s], [-s, c]]) + [40.0, -25.0]


def front(
    degrees: float = 0.0, *, mirrored: bool = False, back: bool = False, dart: bool = False
) -> SizedPiece:
    """The piece in a frame; `back`: its line is drawn from its other end."""

    def put(points: np.ndarray) -> np.ndarray:
        return turned(points, degrees, mirrored=mirrored)

    sides = [(name, put(CORNERS[i : i + 2])) for i, name in enumerate(NAMES)]
    if mirrored:
        sides = [(name, points[::-1]) for name, points in sides[::-1]]
    piece = _piece(*sides)
    grain = put(np.array([(150.0, 50.0), (150.0, 250.0)]))
    legs = put(np.array(LEGS))
    names = ("dart_in", "dart_out") if not mirrored else ("dart_out", "dart_in")
    line = put(LINE[::-1] if back else LINE)
    drill = put(np.array([LINE[0] + [3.0, 2.0]]))[0]
    tip, hip = put(np.array([TIP, (0.0, 250.0)]))
    piece = replace(
        piece,
        grain=Grain(tuple(grain[0]), tuple(grain[1])),
        levels={"hip": (float(hip[0]), float(hip[1]))},
        lines=(InternalLine("welt", line),),
        drills=(Mark("end", (float(drill[0]), float(drill[1]))),),
    )
    if not dart:
        return piece
    return replace(
        piece,
        landmarks=tuple(
            Landmark(name, "waist", (float(x), float(y)), "dart leg")
            for name, (x, y) in zip(("dart_in", "dart_out"), legs, strict=True)
        ),
        darts=(Dart("dart", "waist", names, (float(tip[0]), float(tip[1]))),),
    )


def plain_set(
    anchors: Sequence[str] = ("waist", "side"),
    piece: SizedPiece | None = None,
    **said: object,
) -> PatternSet:
    """One size of it, with a welt and a bag."""
    main = front() if piece is None else piece
    opening = WeltOpening(
        "pocket",
        "front",
        "welt",
        anchors=tuple(anchors),
        **{"marks": ("end",), "parts": PARTS, **said},  # type: ignore[arg-type]
    )
    pieces = {"front": main, "welt": strip(LONG, 24.0), "bag": strip(LONG + 20.0, 150.0)}
    return PatternSet(
        name="plain",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": one}) for name, one in pieces.items()},
        info={name: PieceInfo(name, allowance=Allowance(10.0)) for name in pieces},
        relations=Relations(welt_openings={"pocket": opening}),
    )


def line_of(pattern: PatternSet, piece: str = "front", name: str = "welt") -> np.ndarray:
    """(2, 2) ends of the opening."""
    lines = {line.name: line.points for line in pattern.sized(piece, pattern.base).lines}
    return np.asarray(lines[name][[0, -1]])


def angle(ends: np.ndarray) -> float:
    """Degrees."""
    return float(np.degrees(np.arctan2(*(ends[1] - ends[0])[::-1])))


def long(ends: np.ndarray) -> float:
    """From end to end, mm."""
    return float(np.hypot(*(ends[1] - ends[0])))


def away(pattern: PatternSet, edge: str, point: np.ndarray, piece: str = "front") -> float:
    """Distance of a point from an edge, by shapely, mm."""
    line = pattern.sized(piece, pattern.base).edge(edge).points
    return float(shapely.LineString(line).distance(shapely.Point(point)))
