"""Small sets for tests, built in code with closed-form curves.

    tiny_set()                      pocket_set(): the front loses its corner

      centre  waist                   centre  waist   . . corner, on the facing
        |~~~~~~~~\\                      |~~~~~~~. '  .
        |         \\  side               |        \\    .        facing, top_bag: pieces
        |  front   |                    | mouth ->\\   .         of their own, drawn in
        |          |                    |          \\  |         other frames
        |__________|                    |___________\\_|

Half a skirt: front with its centre on the left, back mirrored.  The side is a parabola
above the hip level (y = -200) with an upright tangent there; the waist is a parabola
with a level tangent at the centre.  The two meet at the side at 90 degrees exactly, so
that front and back add up to 180 degrees.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, replace
from pathlib import Path

import numpy as np

from propagate.io.geometry_json import dump_piece
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Array,
    Edge,
    InternalLine,
    Label,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import (
    Allowance,
    Assembly,
    AssemblyPart,
    Band,
    BlendMain,
    BlendPlan,
    Girth,
    Opening,
    PieceInfo,
    Place,
    Seam,
    Stack,
    StackLayer,
    Zone,
    parse_run,
)

SIZES = ("36", "38", "40")
WAIST = {"36": 170.0, "38": 180.0, "40": 190.0}  # quarter of the waist, mm
HIP = {"36": 195.0, "38": 206.0, "40": 217.0}  # quarter of the hip, mm
HIP_Y, HEM_Y = -200.0, -600.0
MOUTH_LOW_Y, FACING_LOW_Y, BAG_LOW_Y = -130.0, -160.0, -185.0
MOUTH_IN, FACING_IN, BAG_IN = 40.0, 70.0, 100.0  # x distances from the side corner, mm
STEP = 4.0  # mm between curve points: a chord error of at most 0.005 mm here

TINY_TOML = """\
format = 1
name = "tiny skirt"
sizes = ["36", 38, "40"]
base = "38"
lay_on = "hip"

[chart]
waist = [680, "72cm", 760]
hip = [780, 824, 868]

[pieces.front]
title = "Front"
cut = 1
fabric = "main fabric"
fold = "centre"
[pieces.front.allowance]
default = "1cm"
edges = { hem = 40, centre = 0 }
turned = ["hem"]
corners = { "side/waist" = "square" }
[pieces.front.anchors]
hip_notch = "side.start"

[pieces.back]
title = "Back"
cut = 2
pair = true
fabric = "main fabric"
[pieces.back.allowance]
default = 10
edges = { hem = 40 }
turned = ["hem"]

[[seam]]
name = "side_seam"
lead = "front.side"
follow = ["back.side reversed"]
hold = "hip"
notches = [["front.hip_notch", "back.hip_notch"]]
[seam.crossing]
start = ["front.hem", "back.hem"]
end = ["front.waist", "back.waist"]

[[girth]]
name = "waist"
runs = [["front.waist"], ["back.waist"]]
times = 2
chart = "waist"

[[girth]]
name = "hip"
level = "hip"
silhouettes = ["front", "back"]
chart = "hip"

[blend]
upper = "waist"
lower = "hip"
seam = "side_seam"
mains = [
  { silhouette = "front", across = "waist", centre = "centre", side = "side", centre_hold = "hip", side_hold = "hip" },
  { silhouette = "back", across = "waist", centre = "centre", side = "side", centre_hold = "hip", side_hold = "hip" },
]
"""  # noqa: E501


# ------------------------------------------------------------------ the full silhouette


def rise(size: str) -> float:
    """Height of the side corner above the centre of the waist, mm.

    Side x = hip - d s^2 with s = (y - HIP_Y) / L has the slope -2 d / L at the corner,
    waist y = r (x / w)^2 the slope 2 r / w; square to each other when r L = w d, and
    L = r - HIP_Y.
    """
    half = -HIP_Y / 2
    return math.sqrt(half**2 + WAIST[size] * (HIP[size] - WAIST[size])) - half


def side_x(size: str, y: float) -> float:
    """x of the front's full side at height y, mm."""
    s = max(0.0, (y - HIP_Y) / (rise(size) - HIP_Y))
    return HIP[size] - (HIP[size] - WAIST[size]) * s * s


def waist_y(size: str, x: float) -> float:
    """y of the front's full waist at x, mm."""
    return rise(size) * (x / WAIST[size]) ** 2


def _steps(start: float, end: float) -> Array:
    return np.linspace(start, end, max(2, math.ceil(abs(end - start) / STEP) + 1))


def side_points(size: str, low: float, high: float) -> Array:
    """Points of the side from y = low up to y = high."""
    heights = [low] if low < HIP_Y < high else []
    heights += list(_steps(max(low, HIP_Y) if high > HIP_Y else low, high))
    return np.array([(side_x(size, y), y) for y in heights])


def waist_points(size: str, start: float, end: float) -> Array:
    """Points of the waist from x = start to x = end."""
    return np.array([(x, waist_y(size, x)) for x in _steps(start, end)])


def edge(name: str, *points: tuple[float, float]) -> Edge:
    """Return a straight-sided edge."""
    return Edge(name, frozen_points(points))


def _curve(name: str, points: Array) -> Edge:
    return Edge(name, frozen_points(points))


def _last(points: Array) -> tuple[float, float]:
    return float(points[-1][0]), float(points[-1][1])


def _levels() -> Mapping[str, tuple[float, float]]:
    return {"waist": (0.0, 0.0), "hip": (0.0, HIP_Y)}


# ------------------------------------------------------------------------------- pieces


def front_sized(size: str) -> SizedPiece:
    """Return the plain front."""
    side, waist = side_points(size, HEM_Y, rise(size)), waist_points(size, WAIST[size], 0.0)
    hem_corner = (HIP[size], HEM_Y)
    return SizedPiece(
        edges=(
            edge("hem", (0.0, HEM_Y), hem_corner),
            _curve("side", side),
            _curve("waist", waist),
            edge("centre", _last(waist), (0.0, HEM_Y)),
        ),
        landmarks=(Landmark("hip_notch", "side", (HIP[size], HIP_Y), "notch"),),
        grain=Grain((60.0, -500.0), (60.0, -100.0)),
        levels=_levels(),
        label=Label((90.0, -300.0), 90.0),
    )


def _mirrored(points: Array) -> Array:
    return points[::-1] * (-1.0, 1.0)


def back_sized(size: str) -> SizedPiece:
    """Return the back, the mirror image of the plain front."""
    front = front_sized(size)
    names = ("hem", "centre", "waist", "side")
    return SizedPiece(
        edges=tuple(_curve(name, _mirrored(front.edge(name).points)) for name in names),
        landmarks=(Landmark("hip_notch", "side", (-HIP[size], HIP_Y), "notch"),),
        grain=Grain((-60.0, -500.0), (-60.0, -100.0)),
        levels=_levels(),
        drills=(Mark("hook", (-20.0, -30.0)),),
        lines=(InternalLine("vent", frozen_points([(-20.0, -500.0), (0.0, -480.0)])),),
    )


def _mouth(size: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the low end on the side and the high end on the waist."""
    x = WAIST[size] - MOUTH_IN
    return (side_x(size, MOUTH_LOW_Y), MOUTH_LOW_Y), (x, waist_y(size, x))


def cut_front_sized(size: str) -> SizedPiece:
    """Return the front without the corner that the pocket opening cuts off."""
    plain, (low, high) = front_sized(size), _mouth(size)
    return replace(
        plain,
        edges=(
            plain.edge("hem"),
            _curve("side", side_points(size, HEM_Y, MOUTH_LOW_Y)),
            edge("mouth", low, high),
            _curve("waist", waist_points(size, high[0], 0.0)),
            plain.edge("centre"),
        ),
    )


def facing_sized(size: str) -> SizedPiece:
    """Return the facing, drawn 300 mm to the right of the front."""
    low, high = _mouth(size)
    shift = np.array([300.0, 0.0])
    side = np.concatenate(
        [
            side_points(size, FACING_LOW_Y, MOUTH_LOW_Y),
            side_points(size, MOUTH_LOW_Y, rise(size))[1:],
        ]
    )
    inner_x = WAIST[size] - FACING_IN
    waist = np.concatenate(
        [
            waist_points(size, WAIST[size], high[0]),
            waist_points(size, high[0], inner_x)[1:],
        ]
    )
    return SizedPiece(
        edges=(
            _curve("side", side + shift),
            _curve("waist", waist + shift),
            _curve("inner", np.array([waist[-1], side[0]]) + shift),
        ),
        landmarks=(
            Landmark("mouth_low", "side", (low[0] + 300.0, low[1]), "mark"),
            Landmark("mouth_top", "waist", (high[0] + 300.0, high[1]), "mark"),
        ),
        grain=Grain((WAIST[size] + 270.0, -80.0), (WAIST[size] + 270.0, -20.0)),
        levels={"waist": (300.0, 0.0)},
    )


def bag_sized(size: str) -> SizedPiece:
    """Return the top bag, drawn 700 mm below the front."""
    low, high = _mouth(size)
    shift = np.array([0.0, -700.0])
    side = side_points(size, BAG_LOW_Y, MOUTH_LOW_Y)
    waist = waist_points(size, high[0], WAIST[size] - BAG_IN)
    return SizedPiece(
        edges=(
            _curve("side", side + shift),
            _curve("mouth", np.array([low, high]) + shift),
            _curve("waist", waist + shift),
            _curve("inner", np.array([waist[-1], side[0]]) + shift),
        ),
        grain=Grain((WAIST[size] - 60.0, -760.0), (WAIST[size] - 60.0, -720.0)),
    )


def band_sized(size: str) -> SizedPiece:
    """Return a straight waistband for half of the body, 40 mm wide, 30 mm extension."""
    half = float(_curve("waist", waist_points(size, WAIST[size], 0.0)).length)
    end = 30.0 + 2 * half
    return SizedPiece(
        edges=(
            edge("lower", (0.0, 0.0), (end, 0.0)),
            edge("back_end", (end, 0.0), (end, 40.0)),
            edge("upper", (end, 40.0), (0.0, 40.0)),
            edge("front_end", (0.0, 40.0), (0.0, 0.0)),
        ),
        landmarks=(
            Landmark("cf", "lower", (30.0, 0.0), "notch"),
            Landmark("side", "lower", (30.0 + half, 0.0), "notch"),
        ),
        grain=Grain((0.0, 20.0), (end, 20.0)),
    )


def loop_sized(size: str) -> SizedPiece:
    """Return a belt loop: the same in every size."""
    return SizedPiece(
        edges=(
            edge("low", (0.0, 0.0), (25.0, 0.0)),
            edge("right", (25.0, 0.0), (25.0, 80.0)),
            edge("top", (25.0, 80.0), (0.0, 80.0)),
            edge("left", (0.0, 80.0), (0.0, 0.0)),
        ),
        grain=Grain((12.0, 10.0), (12.0, 70.0)),
        levels={"waist": (0.0, 80.0)},
    )


# --------------------------------------------------------------------------------- sets


def _side_seam(lead: list[str], crossing_end: str) -> Seam:
    return Seam(
        "side_seam",
        lead=parse_run(lead),
        follow=parse_run("back.side reversed"),
        notches=(("front.hip_notch", "back.hip_notch"),),
        crossing={"start": ("front.hem", "back.hem"), "end": (crossing_end, "back.waist")},
        hold="hip",
    )


def _girths(front: str, front_runs: list[str]) -> dict[str, Girth]:
    return {
        "waist": Girth(
            "waist", runs=(parse_run(front_runs), parse_run("back.waist")), times=2, chart="waist"
        ),
        "hip": Girth("hip", level="hip", silhouettes=(front, "back"), times=2, chart="hip"),
    }


def _blend(front: str) -> BlendPlan:
    return BlendPlan(
        upper="waist",
        lower="hip",
        seam="side_seam",
        mains=tuple(
            BlendMain(name, "waist", "centre", "side", "hip", "hip") for name in (front, "back")
        ),
    )


def tiny_set() -> PatternSet:
    """Return front and back, joined by the side seam; the same as TINY_TOML."""
    return PatternSet(
        name="tiny skirt",
        sizes=SIZES,
        base="38",
        lay_on="hip",
        pieces={
            "front": Piece("front", {s: front_sized(s) for s in SIZES}),
            "back": Piece("back", {s: back_sized(s) for s in SIZES}),
        },
        info={
            "front": PieceInfo(
                "Front",
                cut=1,
                fabric="main fabric",
                allowance=Allowance(
                    10.0,
                    {"hem": 40.0, "centre": 0.0},
                    frozenset({"hem"}),
                    {"side/waist": "square"},
                ),
                fold="centre",
                anchors={"hip_notch": "side.start"},
            ),
            "back": PieceInfo(
                "Back",
                cut=2,
                pair=True,
                fabric="main fabric",
                allowance=Allowance(10.0, {"hem": 40.0}, frozenset({"hem"})),
            ),
        },
        relations=Relations(
            seams={"side_seam": _side_seam(["front.side"], "front.waist")},
            girths=_girths("front", ["front.waist"]),
            blend=_blend("front"),
        ),
        chart={
            "waist": {"36": 680.0, "38": 720.0, "40": 760.0},
            "hip": {"36": 780.0, "38": 824.0, "40": 868.0},
        },
    )


def _pocket_relations() -> Relations:
    facing_put = (("mouth_top", "mouth.end"), ("mouth_low", "mouth.start"))
    rides = {"waist": "waist", "side": "side"}
    side = ["front.side", "facing.side from mouth_low to end"]
    waist = ["facing.waist from start to mouth_top", "front.waist"]
    return Relations(
        assemblies={
            "full_front": Assembly(
                "full_front",
                lead="front",
                parts=(AssemblyPart("facing", facing_put),),
                edges={
                    "hem": parse_run("front.hem"),
                    "side": parse_run(side),
                    "waist": parse_run(waist),
                    "centre": parse_run("front.centre"),
                },
            )
        },
        seams={"side_seam": _side_seam(side, "facing.waist")},
        openings={
            "front_pocket": Opening(
                "front_pocket",
                silhouette="full_front",
                piece="front",
                edge="mouth",
                across_end="end",
                side_end="start",
                across="waist",
                side="side",
                slide=10.0,
            )
        },
        stacks={
            "front_pocket_layers": Stack(
                "front_pocket_layers",
                opening="front_pocket",
                layers=(
                    StackLayer(
                        "facing", facing_put, {"waist": "waist", "side": "side"}, shows=True
                    ),
                    StackLayer(
                        "top_bag",
                        (("mouth.end", "mouth.end"), ("mouth.start", "mouth.start")),
                        rides,
                        mouth="mouth",
                        bag=True,
                    ),
                ),
                clear_of=("centre",),
            )
        },
        bands={
            "waistband_fit": Band(
                "waistband_fit",
                piece="waistband",
                sewn="lower",
                far="upper",
                zones=(
                    Zone("extension", "start", "cf"),
                    Zone(
                        "front",
                        "cf",
                        "side",
                        parse_run(["front.waist reversed", "facing.waist from mouth_top to start"]),
                    ),
                    Zone("back", "side", "end", parse_run("back.waist reversed")),
                ),
            )
        },
        places={"loop": Place("loop", "waist")},
        girths=_girths("full_front", waist),
        blend=_blend("full_front"),
    )


def pocket_set() -> PatternSet:
    """Return the skirt with a slant pocket, a waistband and a belt loop."""
    plain = tiny_set()
    drawn = {
        "front": cut_front_sized,
        "back": back_sized,
        "facing": facing_sized,
        "top_bag": bag_sized,
        "waistband": band_sized,
        "loop": loop_sized,
    }
    info = {name: PieceInfo(name, cut=2, allowance=Allowance(10.0)) for name in drawn}
    info["loop"] = PieceInfo("loop", cut=5)
    return replace(
        plain,
        name="pocket skirt",
        pieces={n: Piece(n, {s: draw(s) for s in SIZES}) for n, draw in drawn.items()},
        info=info,
        relations=_pocket_relations(),
    )


# ------------------------------------------------------------------------ small changes


def with_sized(pattern: PatternSet, piece: str, size: str, sized: SizedPiece) -> PatternSet:
    """Return the set with one piece in one size replaced."""
    nest = {**pattern.piece(piece).nest, size: sized}
    return replace(pattern, pieces={**pattern.pieces, piece: Piece(piece, nest)})


def with_edge(pattern: PatternSet, piece: str, size: str, name: str, points: object) -> PatternSet:
    """Return the set with the points of one edge in one size replaced."""
    sized = pattern.sized(piece, size)
    edges = tuple(
        Edge(name, frozen_points(points)) if e.name == name else e  # type: ignore[arg-type]
        for e in sized.edges
    )
    return with_sized(pattern, piece, size, replace(sized, edges=edges))


def write_tiny(folder: Path) -> Path:
    """Write TINY_TOML and its geometry into `folder` and return it."""
    geometry = folder / "geometry"
    geometry.mkdir(parents=True)
    (folder / "set.toml").write_text(TINY_TOML, encoding="utf-8")
    for name, piece in tiny_set().pieces.items():
        (geometry / f"{name}.json").write_text(dump_piece(piece), encoding="utf-8")
    return folder


def contents(pattern: PatternSet) -> dict[str, object]:
    """Return what a set holds, to compare two sets: a set itself is equal to itself only."""
    return {field.name: getattr(pattern, field.name) for field in fields(pattern) if field.compare}
