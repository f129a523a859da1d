"""A bodice and a skirt drafted in three sizes, with what is usually drawn inside such pieces."""

from __future__ import annotations

import numpy as np

from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import (
    Edge,
    InternalLine,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run

SIZES = ("S", "M", "L")
STEP = {"S": -1.0, "M": 0.0, "L": 1.0}


def turned(points: np.ndarray, degrees: float) -> np.ndarray:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray(points, dtype=float) @ np.array([[c, s], [-s, c]]) + (
        [0.0, 0.0] if degrees == 0.0 else [140.0, -75.0]
    )


def bezier(*control: tuple[float, float], count: int = 60) -> np.ndarray:
    """Cubic through four control points; `count` chords."""
    t = np.linspace(0.0, 1.0, count + 1)[:, None]
    a, b, c, d = (np.array(point) for point in control)
    u = 1.0 - t
    return u**3 * a + 3 * u**2 * t * b + 3 * u * t**2 * c + t**3 * d


def parallel(points: np.ndarray, width: float) -> np.ndarray:
    """Points to the left of a smooth line, square to it: by central differences."""
    way = np.gradient(points, axis=0)
    way /= np.hypot(*way.T)[:, None]
    return points + width * np.column_stack([-way[:, 1], way[:, 0]])


def named(name: str, points: np.ndarray) -> Edge:
    return Edge(name, frozen_points(points))


def _made(edges, marks, lines, drills, degrees, levels) -> SizedPiece:
    def put(point) -> tuple[float, float]:
        x, y = turned(np.array([point]), degrees)[0]
        return float(x), float(y)

    return SizedPiece(
        edges=tuple(named(name, turned(points, degrees)) for name, points in edges.items()),
        landmarks=tuple(Landmark(n, edge, put(at), "notch") for n, (edge, at) in marks.items()),
        lines=tuple(
            InternalLine(n, frozen_points(turned(points, degrees))) for n, points in lines.items()
        ),
        drills=tuple(Mark(n, put(at)) for n, at in drills.items()),
        grain=Grain(put((80.0, 60.0)), put((80.0, 260.0))),
        levels={name: put(at) for name, at in levels.items()},
    )


def bodice(size: str, degrees: float = 0.0, *, mirrored: bool = False) -> SizedPiece:
    """Half a front: hem, side, armhole, shoulder, neck, centre; the centre on the left.

    Inside: a style line from armhole to hem, a yoke line from the centre to a notch of the
    armhole, a topstitch line 25 mm above the hem, a neck facing line 50 mm inside of the neck, a
    vent of 90 mm up from the hem with a drill mark at its end, and a pocket's two drill marks.
    """
    k = STEP[size]
    wide, chest, tall = 230.0 + 10.0 * k, 245.0 + 10.0 * k, 410.0 + 4.0 * k
    hem = bezier((0.0, 0.0), (80.0, -6.0), (150.0, -4.0), (wide, 4.0))
    side = bezier((wide, 4.0), (wide - 12.0, 70.0), (wide - 10.0, 150.0), (chest, 215.0))
    tip = (150.0 + 4.0 * k, tall)
    armhole = bezier((chest, 215.0), (chest - 62.0, 222.0), (tip[0] + 14.0, 300.0), tip)
    shoulder = np.array([tip, (72.0 + 2.0 * k, tall + 40.0)])
    neck_end = (0.0, tall - 40.0)
    neck = bezier(
        (72.0 + 2.0 * k, tall + 40.0), (60.0 + 2.0 * k, tall - 20.0), (35.0, tall - 40.0), neck_end
    )
    centre = np.array([neck_end, (0.0, 0.0)])
    edges = {
        "hem": hem,
        "side": side,
        "armhole": armhole,
        "shoulder": shoulder,
        "neck": neck,
        "centre": centre,
    }
    start = armhole[34]
    style = bezier(
        tuple(start),
        (start[0] - 40.0, 290.0),
        (108.0 + 4.0 * k, 170.0),
        tuple(hem[28]),
        count=40,
    )
    facing = parallel(neck, 50.0)
    topstitch = parallel(hem, 25.0)
    lines = {
        "style": style,
        "yoke": np.array([(0.0, 300.0 + 3.0 * k), armhole[44]]),
        "topstitch": topstitch[4:-4],
        "facing": facing[6:-6],
        "vent": np.array([hem[16], hem[16] + [0.0, 90.0]]),
    }
    marks = {
        "yoke_notch": ("armhole", tuple(armhole[44])),
        "side_notch": ("side", tuple(side[30])),
    }
    aside = hem[45]
    drills = {
        "vent_end": tuple(hem[16] + [0.0, 90.0]),
        "pocket": (aside[0], aside[1] + 70.0),
        "apex": (92.0 + 3.0 * k, 190.0 + 5.0 * k),
    }
    piece = _made(edges, marks, lines, drills, degrees, {"waist": (0.0, 120.0)})
    return _mirror(piece) if mirrored else piece


def _mirror(piece: SizedPiece) -> SizedPiece:
    flip = np.array([-1.0, 1.0])

    def put(at):
        return (-at[0], at[1])

    return SizedPiece(
        edges=tuple(named(e.name, e.points[::-1] * flip) for e in reversed(piece.edges)),
        landmarks=tuple(Landmark(m.name, m.edge, put(m.point), m.kind) for m in piece.landmarks),
        lines=tuple(InternalLine(x.name, frozen_points(x.points * flip)) for x in piece.lines),
        drills=tuple(Mark(m.name, put(m.point)) for m in piece.drills),
        grain=Grain(put(piece.grain.start), put(piece.grain.end)),
        levels={name: put(at) for name, at in piece.levels.items()},
    )


def skirt(size: str, degrees: float = 0.0) -> SizedPiece:
    """Half a skirt: hem, side, waist, centre.

    Inside: a pleat line from the waist to the hem along the grain, a hip line from the centre to
    the side, a pleat's end that rests on the hip line, a pocket's place 75 mm below the waist and
    60 mm inside of the side.
    """
    k = STEP[size]
    waist_x, hip_x, hem_x = 180.0 + 10.0 * k, 240.0 + 10.0 * k, 262.0 + 10.0 * k
    hem = bezier((0.0, 0.0), (90.0, 0.0), (190.0, 2.0), (hem_x, 9.0))
    side = np.vstack(
        [
            np.array([(hem_x, 9.0)]),
            bezier((hip_x, 400.0), (hip_x, 470.0), (waist_x + 26.0, 530.0), (waist_x, 612.0)),
        ]
    )
    waist = bezier((waist_x, 612.0), (waist_x - 60.0, 602.0), (60.0, 600.0), (0.0, 600.0))
    centre = np.array([(0.0, 600.0), (0.0, 0.0)])
    edges = {"hem": hem, "side": side, "waist": waist, "centre": centre}
    x = 70.0 + 3.0 * k
    ends = [(x, float(np.interp(x, *line.T))) for line in (waist[::-1], hem)]
    at_side = (hip_x, 400.0)
    along = parallel(waist, 75.0)[20]
    lines = {
        "pleat": np.array(ends),
        "hip": np.array([(0.0, 392.0), at_side]),
        "dart_line": np.array([(110.0, 520.0), (118.0, 392.0 + 8.0 * 118.0 / hip_x)]),
    }
    drills = {"pocket_top": tuple(along)}
    marks = {"hip_notch": ("side", at_side)}
    return _made(edges, marks, lines, drills, degrees, {"hip": (0.0, 400.0), "waist": (0.0, 600.0)})


def the_set(degrees: float = 0.0) -> PatternSet:
    """Both pieces in three sizes, and the bodice's back, which follows the front's side."""
    pieces = {
        "front": {size: bodice(size, degrees) for size in SIZES},
        "back": {size: bodice(size, mirrored=True) for size in SIZES},
        "skirt": {size: skirt(size, degrees) for size in SIZES},
    }
    seam = Seam("side", parse_run("front.side"), parse_run("back.side reversed"))
    return PatternSet(
        name="dress",
        sizes=SIZES,
        base="M",
        lay_on="",
        pieces={name: Piece(name, nest) for name, nest in pieces.items()},
        info={name: PieceInfo(name, allowance=Allowance(10.0)) for name in pieces},
        relations=Relations(seams={"side": seam}),
    )
