"""A trouser top of straight lines, small enough to be worked by hand.

The front in the larger size (hip 260, all in mm; crotch level y = 0, centre x = 0)::

      272  ____________________ 204
          |                  . \\            the mouth cuts off the corner;
      248 |. . . . . . . . . . .\\ 211       its own size of facing and bags
          |              mouth   \\
       80 |-----------------------\\ 260     hip level: the hold
          |                        \\
      -64 |_________________________\\ 302

The side falls outwards by 7 for every 24 down, so every stretch of it is a multiple of
the triangle 7, 24, 25.  The smaller size is a rectangle 211 wide whose waist lies 248
above the crotch level: laid on the larger size, its corner lies *on the larger size's
side*, so the blended side is that very line.  Its own side is upright, so its mouth must
swing.

The back is the mirror image, 10 wider.  Every piece has a frame of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece, frozen_points
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
    Seam,
    Stack,
    StackLayer,
    Zone,
    parse_run,
)

SMALL, LARGE = "small", "large"
SIZES = (SMALL, LARGE)
WAIST_Y = {SMALL: 248.0, LARGE: 272.0}
WAIST = {SMALL: 211.0, LARGE: 204.0}  # width of the front at its waist
HIP_Y = {SMALL: 70.0, LARGE: 80.0}
HEM_Y, CROTCH_Y = {SMALL: -50.0, LARGE: -64.0}, 0.0
HIP = {SMALL: 211.0, LARGE: 260.0}
BACK_WIDER = 10.0
INSET = {SMALL: 37.5, LARGE: 30.0}  # of the mouth's top from the side corner
DOWN = {SMALL: 110.0, LARGE: 100.0}  # of the mouth's low end from the corner, along the side
FACING_IN, BAG_IN = 75.0, 100.0  # from the side corner along the waist
FACING_DOWN = 150.0  # from the side corner down the side
BAG_LOW = {SMALL: 188.0, LARGE: 188.0}  # depth of the bag below the waist
EXTENSION, BAND_EASE, BAND_WIDTH = 30.0, 2.0, 40.0

FRAMES = {
    "front": {SMALL: (1000.0, -500.0), LARGE: (0.0, 0.0)},
    "back": {SMALL: (-2000.0, 40.0), LARGE: (-700.0, 0.0)},
    "facing": {SMALL: (300.0, 77.0), LARGE: (310.0, -77.0)},
    "under_bag": {SMALL: (-50.0, -900.0), LARGE: (0.0, -900.0)},
    "top_bag": {SMALL: (0.0, 1200.0), LARGE: (5.0, 1200.0)},
}
"""Where the crotch and centre of the front lies in the frame of each piece."""

Point = tuple[float, float]


def side_point(size: str, down: float) -> Point:
    """Point on the side of the front, `down` mm along it from the corner."""
    if size == SMALL:
        return WAIST[size], WAIST_Y[size] - down
    return WAIST[size] + down * 7 / 25, WAIST_Y[size] - down * 24 / 25


def side_at(size: str, y: float) -> Point:
    """Point on the side of the front at height y."""
    return (WAIST[size], y) if size == SMALL else (260.0 - (y - 80.0) * 7 / 24, y)


def mouth(size: str) -> tuple[Point, Point]:
    """Top and low end of the mouth."""
    return (WAIST[size] - INSET[size], WAIST_Y[size]), side_point(size, DOWN[size])


def _edge(name: str, points: Sequence[Point], shift: Point, turns: tuple[int, ...] = ()) -> Edge:
    return Edge(name, frozen_points(np.array(points) + np.array(shift)), turns)


def _point(point: Point, shift: Point) -> Point:
    return point[0] + shift[0], point[1] + shift[1]


def _levels(size: str, shift: Point) -> dict[str, Point]:
    heights = {"waist": WAIST_Y[size], "hip": HIP_Y[size], "crotch": CROTCH_Y}
    return {name: _point((50.0, y), shift) for name, y in heights.items()}


def front(size: str) -> SizedPiece:
    """The front without the corner that the mouth cuts off."""
    shift = FRAMES["front"][size]
    high, low = mouth(size)
    hem = side_at(size, HEM_Y[size])
    y = WAIST_Y[size]
    return SizedPiece(
        edges=(
            _edge("hem", [(0.0, hem[1]), hem], shift),
            _edge("side", [hem, low], shift),
            _edge("mouth", [low, high], shift),
            _edge("waist", [high, (0.0, y)], shift),
            _edge("centre", [(0.0, y), (0.0, hem[1])], shift),
        ),
        grain=Grain(_point((60.0, -20.0), shift), _point((60.0, 180.0), shift)),
        landmarks=(
            Landmark("hip_notch", "side", _point(side_at(size, HIP_Y[size]), shift), "notch"),
        ),
        levels=_levels(size, shift),
    )


def back(size: str) -> SizedPiece:
    """The mirror image of the full front, wider at the side."""
    shift = FRAMES["back"][size]

    def at(point: Point) -> Point:
        return -point[0] - BACK_WIDER, point[1]

    hem, corner = at(side_at(size, HEM_Y[size])), at((WAIST[size], WAIST_Y[size]))
    return SizedPiece(
        edges=(
            _edge("side", [corner, hem], shift),
            _edge("hem", [hem, (0.0, hem[1])], shift),
            _edge("centre", [(0.0, hem[1]), (0.0, corner[1])], shift),
            _edge("waist", [(0.0, corner[1]), corner], shift),
        ),
        grain=Grain(_point((-60.0, -20.0), shift), _point((-60.0, 180.0), shift)),
        landmarks=(
            Landmark("hip_notch", "side", _point(at(side_at(size, HIP_Y[size])), shift), "notch"),
        ),
        levels=_levels(size, shift),
    )


def facing(size: str) -> SizedPiece:
    shift = FRAMES["facing"][size]
    high, low = mouth(size)
    corner, y = (WAIST[size], WAIST_Y[size]), WAIST_Y[size]
    bottom, inner = side_point(size, FACING_DOWN), (WAIST[size] - FACING_IN, y)
    return SizedPiece(
        edges=(
            _edge("side", [bottom, corner], shift),
            _edge("waist", [corner, inner], shift),
            _edge("inner", [inner, bottom], shift),
        ),
        grain=Grain(
            _point((corner[0] - 22.0, y - 80.0), shift), _point((corner[0] - 22.0, y - 40.0), shift)
        ),
        landmarks=(
            Landmark("mouth_top", "waist", _point(high, shift)),
            Landmark("mouth_low", "side", _point(low, shift)),
        ),
    )


def _bag(size: str) -> tuple[Point, Point, Point]:
    """Top, corner and low end of the bag's edge, from the waist round to the side."""
    x, y = WAIST[size] - BAG_IN, WAIST_Y[size] - BAG_LOW[size]
    return (x, WAIST_Y[size]), (x, y), side_at(size, y)


def under_bag(size: str) -> SizedPiece:
    shift = FRAMES["under_bag"][size]
    high, low = mouth(size)
    corner = (WAIST[size], WAIST_Y[size])
    top, turn, bottom = _bag(size)
    return SizedPiece(
        edges=(
            _edge("bag", [top, turn, bottom], shift, (1,)),
            _edge("side", [bottom, corner], shift),
            _edge("waist", [corner, top], shift),
        ),
        grain=Grain(
            _point((top[0] + 30.0, top[1] - 90.0), shift),
            _point((top[0] + 30.0, top[1] - 30.0), shift),
        ),
        landmarks=(
            Landmark("mouth_top", "waist", _point(high, shift)),
            Landmark("mouth_low", "side", _point(low, shift)),
        ),
    )


def top_bag(size: str) -> SizedPiece:
    """Drawn face down: x runs the other way."""
    shift = FRAMES["top_bag"][size]
    high, low = mouth(size)
    top, turn, bottom = _bag(size)

    def over(*points: Point) -> list[Point]:
        return [(-x, y) for x, y in points]

    return SizedPiece(
        edges=(
            _edge("waist", over(top, high), shift),
            _edge("mouth", over(high, low), shift),
            _edge("side", over(low, bottom), shift),
            _edge("bag", over(bottom, turn, top), shift, (1,)),
        ),
        grain=Grain(
            _point((-top[0] - 30.0, top[1] - 90.0), shift),
            _point((-top[0] - 30.0, top[1] - 30.0), shift),
        ),
    )


def waistband(size: str) -> SizedPiece:
    """A straight strip for one half: extension, front, facing, back."""
    zones = [EXTENSION, WAIST[size] - INSET[size], INSET[size]]
    zones.append(WAIST[size] + BACK_WIDER - BAND_EASE)
    ends = np.cumsum(zones).tolist()
    return SizedPiece(
        edges=(
            _edge("lower", [(0.0, 0.0), (ends[-1], 0.0)], (0.0, 0.0)),
            _edge("back_end", [(ends[-1], 0.0), (ends[-1], BAND_WIDTH)], (0.0, 0.0)),
            _edge("upper", [(ends[-1], BAND_WIDTH), (0.0, BAND_WIDTH)], (0.0, 0.0)),
            _edge("front_end", [(0.0, BAND_WIDTH), (0.0, 0.0)], (0.0, 0.0)),
        ),
        grain=Grain((10.0, 20.0), (110.0, 20.0)),
        landmarks=tuple(
            Landmark(name, "lower", (end, 0.0), "notch")
            for name, end in zip(("centre_front", "pocket", "side"), ends[:3], strict=True)
        ),
    )


PUT = (("mouth_top", "mouth.end"), ("mouth_low", "mouth.start"))
RIDE = {"waist": "waist", "side": "side"}


def _relations() -> Relations:
    side = parse_run(["front.side", "facing.side from mouth_low to end"])
    waist = ["facing.waist from start to mouth_top", "front.waist"]
    zones = (
        Zone("extension", "start", "centre_front"),
        Zone("front", "centre_front", "pocket", parse_run("front.waist reversed")),
        Zone("facing", "pocket", "side", parse_run("facing.waist from mouth_top to start")),
        Zone("back", "side", "end", parse_run("back.waist reversed"), BAND_EASE),
    )
    return Relations(
        assemblies={
            "full_front": Assembly(
                "full_front",
                "front",
                (AssemblyPart("facing", PUT),),
                {
                    "hem": parse_run("front.hem"),
                    "side": side,
                    "waist": parse_run(waist),
                    "centre": parse_run("front.centre"),
                },
            )
        },
        seams={
            "side_seam": Seam(
                "side_seam",
                side,
                parse_run("back.side reversed"),
                notches=(("front.hip_notch", "back.hip_notch"),),
                crossing={
                    "start": ("front.hem", "back.hem"),
                    "end": ("facing.waist", "back.waist"),
                },
                hold="hip",
            ),
            "bag_seam": Seam(
                "bag_seam",
                parse_run("under_bag.bag"),
                parse_run("top_bag.bag reversed"),
                check=True,
            ),
        },
        openings={
            "pocket": Opening(
                "pocket", "full_front", "front", "mouth", "end", "start", "waist", "side", 10.0
            )
        },
        stacks={
            "pocket_layers": Stack(
                "pocket_layers",
                "pocket",
                (
                    StackLayer("facing", PUT, RIDE, shows=True),
                    StackLayer("under_bag", PUT, RIDE, bag=True),
                    StackLayer(
                        "top_bag",
                        (("mouth.start", "mouth.end"), ("mouth.end", "mouth.start")),
                        RIDE,
                        mouth="mouth",
                        face_down=True,
                        bag=True,
                    ),
                ),
                ("centre",),
            )
        },
        bands={"band_fit": Band("band_fit", "waistband", "lower", "upper", zones)},
        girths={
            "waist": Girth("waist", (parse_run(waist), parse_run("back.waist"))),
            "hip": Girth("hip", level="hip", silhouettes=("full_front", "back")),
        },
        blend=BlendPlan(
            upper="waist",
            lower="hip",
            seam="side_seam",
            mains=tuple(
                BlendMain(name, "waist", "centre", "side", "hip", "hip")
                for name in ("full_front", "back")
            ),
        ),
    )


def straight_trouser() -> PatternSet:
    """The set in two sizes."""
    drawn = {
        "front": front,
        "back": back,
        "facing": facing,
        "under_bag": under_bag,
        "top_bag": top_bag,
        "waistband": waistband,
    }
    return PatternSet(
        name="straight trouser",
        sizes=SIZES,
        base=LARGE,
        lay_on="crotch",
        pieces={name: Piece(name, {s: draw(s) for s in SIZES}) for name, draw in drawn.items()},
        info={name: PieceInfo(name, cut=2, pair=True, allowance=Allowance(10.0)) for name in drawn},
        relations=_relations(),
    )
