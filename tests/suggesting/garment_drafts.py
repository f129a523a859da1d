"""Two garments drafted by formula, with the relations that they were drafted by.

They were drawn before anything was written that recognises garments, and share no draft with the
demo sets: a trouser with pockets in the side seams and a straight waistband, and a shirt without
a yoke, with a collar in one piece, a cuff, and no notch anywhere.  Their measures and how
they are joined are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Band, PieceInfo, Seam, Zone, parse_run

Array = npt.NDArray[np.float64]
Point = tuple[float, float]
SIZES = ("1", "2", "3", "4", "5")
BASE = "3"


def line(a: Point, b: Point) -> Array:
    return np.array([a, b], dtype=float)


def curve(a: Point, out: Point, back: Point, b: Point, count: int = 24) -> Array:
    """A cubic between two points, with its two inner control points."""
    t = np.linspace(0.0, 1.0, count)[:, None]
    p = [np.array(one, dtype=float) for one in (a, out, back, b)]
    drawn: Array = (
        (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    )
    drawn[0], drawn[-1] = p[0], p[3]
    return drawn


def length(points: Array) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def solved(measure: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """The value at which a rising measure is as wanted, by halving."""
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if measure(middle) < wanted else (low, middle)
    return (low + high) / 2


def outline(edges: Mapping[str, Array], grain: Point = (0.0, 1.0)) -> SizedPiece:
    """A piece of edges in outline order, counter-clockwise."""
    middle = np.concatenate(list(edges.values())).mean(axis=0)
    end = middle + 100.0 * np.array(grain)
    return SizedPiece(
        tuple(Edge(name, points) for name, points in edges.items()),
        Grain((float(middle[0]), float(middle[1])), (float(end[0]), float(end[1]))),
    )


def mirror_edges(edges: Mapping[str, Array]) -> dict[str, Array]:
    """A piece turned over about the line x = 0, its edges counter-clockwise again."""
    return {name: points[::-1] * [-1.0, 1.0] for name, points in reversed(edges.items())}


def marked(piece: SizedPiece, marks: Sequence[tuple[str, str, Point]]) -> SizedPiece:
    found = tuple(Landmark(name, edge, at, "notch") for name, edge, at in marks)
    return SizedPiece(piece.edges, piece.grain, found)


def strip(long: float, wide: float) -> SizedPiece:
    """A straight strip, its grain along it."""
    a, b, c, d = (0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)
    return outline(
        {"sewn": line(a, b), "end": line(b, c), "far": line(c, d), "begin": line(d, a)}, (1.0, 0.0)
    )


def seam(name: str, lead: list[str], follow: list[str]) -> Seam:
    return Seam(name, parse_run(lead), parse_run(follow))


def leg_seams() -> list[Seam]:
    """The seams of trousers without a seam down the front or back of a leg."""
    return [
        seam("side", ["front.side"], ["back.side reversed"]),
        seam("inseam", ["front.inseam"], ["back.inseam reversed"]),
        Seam("crotch_front", parse_run(["front.crotch"]), (), mirror=True),
        Seam("crotch_back", parse_run(["back.crotch"]), (), mirror=True),
    ]


def casing_seams() -> list[Seam]:
    """A casing that is cut whole, around both legs, and its ends."""
    whole = ["front.waist", "back.waist", "back.waist reversed", "front.waist reversed"]
    return [
        seam("casing", whole, ["casing.sewn"]),
        seam("casing_ends", ["casing.begin"], ["casing.end reversed"]),
    ]


def set_of(name: str, drawn: list[dict[str, SizedPiece]], seams: list[Seam]) -> PatternSet:
    pieces = {
        piece: Piece(piece, {size: nest[piece] for size, nest in zip(SIZES, drawn, strict=True)})
        for piece in drawn[0]
    }
    info = {piece: PieceInfo(piece) for piece in pieces}
    relations = Relations(seams={seam.name: seam for seam in seams})
    return PatternSet(name, SIZES, BASE, "none", pieces, info, relations)


# ------------------------------------------------------------------------------- a trouser


def draft_walking_trouser(k: int) -> dict[str, SizedPiece]:
    hip, waist, rise = 480.0 + 21 * k + k * k, 376.0 + 23 * k + k * k, 262.0 + 4 * k
    leg, knee, hem = 771.0 + 2 * k, 245.0 + 6 * k, 203.0 + 4 * k
    front_hip, back_hip = hip / 2 - 9, hip / 2 + 9
    fork, tail = hip / 11 - 6, hip / 5.2
    top, half = leg + rise, leg * 0.52
    # Front: its side to the left (x = 0), the crotch to the right.
    crease = (front_hip + fork) / 2
    knee_in, knee_out = crease + knee / 2 - 8, crease - knee / 2 + 8
    hem_in, hem_out = crease + hem / 2 - 8, crease - hem / 2 + 8
    waist_left = front_hip - waist / 2 + 4
    front_side = np.concatenate(
        [
            curve(
                (waist_left, top - 4), (waist_left - 16, top - 70), (0, top - 120), (0, leg + 60)
            ),
            curve((0, leg + 60), (0, leg - 130), (knee_out, half + 160), (knee_out, half))[1:],
            line((knee_out, half), (hem_out, 0.0))[1:],
        ]
    )
    front_in = np.concatenate(
        [
            line((hem_in, 0.0), (knee_in, half)),
            curve(
                (knee_in, half),
                (knee_in + 2, half + 150),
                (front_hip + fork - 26, leg - 110),
                (front_hip + fork, leg),
            )[1:],
        ]
    )
    front_crotch = np.concatenate(
        [
            curve(
                (front_hip + fork, leg),
                (front_hip + fork * 0.4, leg + 4),
                (front_hip - 3, leg + 22),
                (front_hip - 3, leg + rise * 0.34),
            ),
            line((front_hip - 3, leg + rise * 0.34), (front_hip - 12, top))[1:],
        ]
    )
    front = {
        "side": front_side,
        "hem": line((hem_out, 0.0), (hem_in, 0.0)),
        "inseam": front_in,
        "crotch": front_crotch,
        "waist": line((front_hip - 12, top), (waist_left, top - 4)),
    }
    side_mm, in_mm = length(front_side), length(front_in)
    # Back: its side to the right, the crotch to the left, so that both sides run with the grain.
    crease_b = back_hip * 0.47
    b_knee_in, b_knee_out = crease_b - knee / 2 - 8, crease_b + knee / 2 + 8
    b_hem_in, b_hem_out = crease_b - hem / 2 - 8, crease_b + hem / 2 + 8

    def back_in(high: float) -> Array:
        """From the end of the crotch, which lies so high that it is as long as the front's."""
        a, b = (-tail, high), (b_knee_in, half)
        return np.concatenate(
            [
                curve(a, (-tail + 22, high - 100), (b_knee_in - 30, half + 170), b),
                line(b, (b_hem_in, 0.0))[1:],
            ]
        )

    def back_side(up: float) -> Array:
        return np.concatenate(
            [
                line((b_hem_out, 0.0), (b_knee_out, half)),
                curve(
                    (b_knee_out, half),
                    (b_knee_out + 2, half + 150),
                    (back_hip, leg - 120),
                    (back_hip, leg + 70),
                )[1:],
                curve(
                    (back_hip, leg + 70),
                    (back_hip, leg + 150),
                    (back_hip - 15, leg + rise - 40 + up),
                    (back_hip - 25, leg + rise + up),
                )[1:],
            ]
        )

    fork_y = solved(lambda y: length(back_in(y)), in_mm, leg - 80.0, leg + 10.0)
    up = solved(lambda d: length(back_side(d)), side_mm, -80.0, 80.0)
    side_top = (back_hip - 25, leg + rise + up)
    centre_top = (side_top[0] - waist / 2 - 14, top + 34.0)
    back_crotch = np.concatenate(
        [
            line(centre_top, (18.0, leg + rise * 0.36)),
            curve(
                (18.0, leg + rise * 0.36), (4, leg + 30), (-tail * 0.3, fork_y + 3), (-tail, fork_y)
            )[1:],
        ]
    )
    back = {
        "waist": curve(
            side_top,
            (side_top[0] - 40, side_top[1] - 2),
            (centre_top[0] + 40, centre_top[1] - 9),
            centre_top,
        ),
        "crotch": back_crotch,
        "inseam": back_in(fork_y),
        "hem": line((b_hem_in, 0.0), (b_hem_out, 0.0)),
        "side": back_side(up),
    }
    half_waist = length(front["waist"]) + length(back["waist"])
    band = strip(2 * half_waist + 40.0, 45.0)
    f, w = length(front["waist"]), length(back["waist"])
    places = np.cumsum([f, w, w, f])
    marks = [(f"n{i + 1}", "sewn", (float(at), 0.0)) for i, at in enumerate(places)]
    deep, wide = 285.0, 168.0
    bag = outline(
        {
            "opening": line((0.0, 0.0), (0.0, -175.0)),
            "bag": np.concatenate(
                [
                    curve(
                        (0.0, -175.0), (0.0, -deep), (wide * 0.3, -deep - 40), (wide * 0.7, -deep)
                    ),
                    curve((wide * 0.7, -deep), (wide, -deep + 40), (wide, -150), (wide * 0.8, 0.0))[
                        1:
                    ],
                ]
            ),
            "top": line((wide * 0.8, 0.0), (0.0, 0.0)),
        }
    )
    return {
        "front": outline(front),
        "back": outline(back),
        "waistband": marked(band, marks),
        "bag": bag,
    }


def walking_trouser() -> PatternSet:
    """A trouser: sides, inseams, crotch seams to their twins, a straight band."""
    drawn = [draft_walking_trouser(k) for k in range(len(SIZES))]
    runs = ("front.waist", "back.waist", "back.waist reversed", "front.waist reversed", None)
    zones = tuple(
        Zone(f"zone_{i}", a, b, parse_run([run]) if run else ())
        for i, (a, b, run) in enumerate(
            zip(
                ("start", "n1", "n2", "n3", "n4"),
                ("n1", "n2", "n3", "n4", "end"),
                runs,
                strict=True,
            )
        )
    )
    made = set_of("walking trouser", drawn, leg_seams())
    band = Band("band", "waistband", "sewn", "far", zones)
    return replace(made, relations=replace(made.relations, bands={"band": band}))


# --------------------------------------------------------------------------------- a shirt


def _harbour_shirt(k: int) -> dict[str, SizedPiece]:
    chest, neck, back_long = 530.0 + 22 * k + k * k, 62.0 + 2.2 * k, 700.0 + 9 * k
    deep, slope = 238.0 + 6.5 * k + 0.4 * k * k, 46.0 + 1.1 * k
    across = chest / 2 - 58.0
    overlap = 18.0
    shoulder_end = (across + 7, back_long - slope)
    # Back on the fold at x = 0; the side to the right.
    back = {
        "hem": line((0.0, 0.0), (chest / 2, 0.0)),
        "side": line((chest / 2, 0.0), (chest / 2 + 4, back_long - deep)),
        "armhole": curve(
            (chest / 2 + 4, back_long - deep),
            (across + 12, back_long - deep + 2),
            (across - 8, back_long - deep * 0.72),
            shoulder_end,
        ),
        "shoulder": line(shoulder_end, (neck, back_long + 22)),
        "neck": curve(
            (neck, back_long + 22), (neck - 14, back_long + 2), (30, back_long), (0, back_long)
        ),
        "centre": line((0.0, back_long), (0.0, 0.0)),
    }
    shoulder_mm = length(back["shoulder"])
    # Front: the side to the left, the edge of the overlap to the right.
    half = chest / 2 - 6
    edge_x = half + overlap
    neck_front = (half - neck - 3, back_long + 6)
    tip = (neck_front[0] - np.sqrt(shoulder_mm**2 - (slope + 14) ** 2), neck_front[1] - slope - 14)
    front = {
        "side": line((-3.0, back_long - deep), (1.0, 0.0)),
        "hem": line((1.0, 0.0), (edge_x, 0.0)),
        "edge": line((edge_x, 0.0), (edge_x, back_long - neck - 34)),
        "step": line((edge_x, back_long - neck - 34), (half, back_long - neck - 31)),
        "neck": curve(
            (half, back_long - neck - 31),
            (half - 30, back_long - neck - 29),
            (neck_front[0] + 4, back_long - neck),
            neck_front,
        ),
        "shoulder": line(neck_front, tip),
        "armhole": curve(
            tip,
            (tip[0] + 26, tip[1] - deep * 0.45),
            (tip[0] + 30, back_long - deep + 4),
            (-3.0, back_long - deep),
        ),
    }
    side_mm = length(back["side"])
    front["side"] = line(
        (-3.0, back_long - deep), (1.0, back_long - deep - np.sqrt(side_mm**2 - 16))
    )
    front["hem"] = line((1.0, float(front["side"][1][1])), (edge_x, 0.0))
    hole = length(front["armhole"]) + length(back["armhole"])
    # The sleeve: its width is sought at which the cap is 16 mm longer than the armhole.
    high, long, wrist = 132.0 + 2.5 * k, 466.0 + 5 * k, 118.0 + 3 * k

    def cap(wide: float) -> Array:
        a = curve((wide, 0.0), (wide * 0.62, 8.0), (wide * 0.55, high), (6.0, high))
        b = curve((6.0, high), (-wide * 0.5, high), (-wide * 0.64, 2.0), (-wide, 0.0))
        return np.concatenate([a, b[1:]])

    wide = solved(lambda w: length(cap(w)), hole + 16.0, 100.0, 320.0)
    sleeve = {
        "cap": cap(wide),
        "under_back": line((-wide, 0.0), (-wrist, -long)),
        "wrist": line((-wrist, -long), (wrist, -long)),
        "under_front": line((wrist, -long), (wide, 0.0)),
    }
    cuff = strip(2 * wrist - 36.0, 62.0)
    # The collar on the fold: its lower edge is half the neck.
    neck_mm = length(front["neck"]) + length(back["neck"])
    collar_edge = solved(
        lambda x: length(curve((0.0, 0.0), (x * 0.5, 0.0), (x * 0.8, 4.0), (x, 13.0))),
        neck_mm,
        60.0,
        400.0,
    )
    c = collar_edge
    collar = {
        "sewn": curve((0.0, 0.0), (c * 0.5, 0.0), (c * 0.8, 4.0), (c, 13.0)),
        "point": line((c, 13.0), (c + 17, 86.0)),
        "outer": curve((c + 17, 86.0), (c * 0.8, 74.0), (c * 0.4, 72.0), (0.0, 72.0)),
        "centre": line((0.0, 72.0), (0.0, 0.0)),
    }
    return {
        "front": outline(front),
        "back": outline(back),
        "sleeve": outline(sleeve),
        "cuff": cuff,
        "collar": outline(collar, (1.0, 0.0)),
    }


def harbour_shirt() -> PatternSet:
    """A shirt with a sleeve in one piece, a pleated cuff, and a collar sewn to the neck."""
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        seam("shoulder", ["front.shoulder"], ["back.shoulder reversed"]),
        seam("armhole", ["front.armhole reversed", "back.armhole reversed"], ["sleeve.cap"]),
        seam("underarm", ["sleeve.under_front"], ["sleeve.under_back reversed"]),
        seam("cuff", ["sleeve.wrist"], ["cuff.sewn"]),
        seam("neck", ["back.neck reversed", "front.neck reversed"], ["collar.sewn"]),
    ]
    drawn = [_harbour_shirt(k) for k in range(len(SIZES))]
    return set_of("harbour shirt", drawn, seams)
