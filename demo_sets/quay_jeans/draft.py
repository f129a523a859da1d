"""Draft the quay jeans in all their sizes.

``python demo_sets/quay_jeans/draft.py [FOLDER]`` reads the chart in ``set.toml`` and rewrites
the files in ``geometry/`` (or in FOLDER); the same chart gives the same bytes.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path.append(str(HERE.parents[1]))

from demo_sets.drafting import along, crossing, cut, flatten, length  # noqa: E402
from demo_sets.drawing import Drawing, Frame, write_pieces  # noqa: E402
from demo_sets.quay_jeans import pocket as pockets  # noqa: E402
from demo_sets.quay_jeans import small_parts as parts  # noqa: E402
from demo_sets.quay_jeans.mains import Back, Leg, draw_back, draw_front  # noqa: E402
from demo_sets.slant_trouser.lines import Body  # noqa: E402
from demo_sets.slant_trouser.small_parts import (  # noqa: E402
    draw_belt_loop,
    draw_fly_extension,
    draw_fly_shield,
)
from propagate.pattern.model import Array, Piece, SizedPiece  # noqa: E402

THIGH_BELOW = 50.0  # thigh level below the crotch
FLY_PART = 0.56  # fly length as a part of the rise
BAND_EXTENSION = 40.0
POCKET_BELOW = 32.0  # the back pocket below the yoke, in the middle of the seam
POCKET_TURN = 5.0  # degrees that it leans with the yoke's seam


def bodies(set_file: Path) -> dict[str, Body]:
    """Read the chart of the set: one body for each size."""
    table = tomllib.loads(set_file.read_text(encoding="utf-8"))
    columns = ("waist", "hip", "rise", "waist_to_hip", "inside_leg")
    rows = zip(*(table["chart"][name] for name in columns), strict=True)
    sizes = [str(size) for size in table["sizes"]]
    return {size: Body(*map(float, row)) for size, row in zip(sizes, rows, strict=True)}


def at_level(edge: Array, height: float) -> Array:
    """Point where an edge meets a level of the draft."""
    x = edge[:, 0]
    line = np.array([(x.min() - 1.0, height), (x.max() + 1.0, height)])
    return along(edge, crossing(edge, line)[0])


def _main_marks(drawing: Drawing, leg: Leg, body: Body) -> None:
    """Levels, grain, label and the notches at hip and knee."""
    heights = {
        "waist": body.waist_level,
        "hip": body.hip_level,
        "crotch": 0.0,
        "thigh": -THIGH_BELOW,
        "knee": body.knee_level,
        "hem": body.hem_level,
    }
    drawing.levels = {name: (leg.crease, height) for name, height in heights.items()}
    drawing.grain = ((leg.crease, 0.6 * body.hem_level), (leg.crease, 0.4 * body.hip_level))
    drawing.label = ((leg.crease - 40.0, 0.35 * body.hem_level), 90.0)
    drawing.mark("hip_notch", "side", (0.0, body.hip_level))
    drawing.mark("knee_notch_side", "side", at_level(leg.side, body.knee_level))
    drawing.mark("knee_notch_inseam", "inseam", at_level(leg.inseam, body.knee_level))


def front_piece(pocket: pockets.Pocket, body: Body, fly: float) -> Drawing:
    """The front: the silhouette without the corner outside the mouth."""
    drawing, leg = Drawing(), pocket.front.leg
    drawing.edge("waist", cut(pocket.front.waist, 0.0, pocket.top))
    drawing.edge("mouth", pocket.mouth)
    drawing.edge("side", cut(leg.side, pocket.low))
    drawing.edge("hem", flatten(leg.hem))
    drawing.edge("inseam", leg.inseam)
    drawing.edge("centre", leg.centre)
    _main_marks(drawing, leg, body)
    drawing.mark("fly_notch", "centre", along(leg.centre, length(leg.centre) - fly))
    return drawing


def back_piece(back: Back, body: Body, width: float) -> Drawing:
    """The back below the yoke, with the place of its patch pocket."""
    drawing, leg = Drawing(), back.leg
    drawing.edge("top", back.top)
    drawing.edge("side", leg.side)
    drawing.edge_of_beziers("hem", leg.hem)
    drawing.edge("inseam", leg.inseam)
    drawing.edge("centre", leg.centre)
    _main_marks(drawing, leg, body)
    drawing.mark("yoke_notch", "top", along(back.top, 0.5 * length(back.top)))
    chord = back.top[0] - back.top[-1]
    axis = chord / np.hypot(*chord)
    up = np.array([-axis[1], axis[0]])
    middle = along(back.top, 0.5 * length(back.top)) - POCKET_BELOW * up
    shape = parts.pocket_shape(width) - [width / 2, 0.0]
    place = middle + shape @ np.array([axis, up])
    drawing.lines.append(("pocket_place", place))
    inside = [(1.0, -1.0), (-1.0, -1.0)]
    for name, corner, way in zip(
        ("pocket_side", "pocket_centre"), (place[0], place[-1]), inside, strict=True
    ):
        drawing.drills.append((name, corner + 4.0 * (way[0] * axis + way[1] * up)))
    return drawing


def yoke_piece(back: Back) -> Drawing:
    """The yoke, its dart closed."""
    drawing, yoke = Drawing(), back.yoke
    for name in ("waist", "side", "lower", "centre"):
        drawing.edge(name, getattr(yoke, name))
    middle = along(yoke.lower, 0.5 * length(yoke.lower))
    drawing.mark("yoke_notch", "lower", middle)
    drawing.grain = (middle + np.array([30.0, 8.0]), middle + np.array([30.0, 42.0]))
    drawing.label = (middle + np.array([-30.0, 22.0]), 0.0)
    return drawing


def _parallel_grain(drawing: Drawing, x: float, y: float, half: float) -> None:
    """Grain parallel to the front's, through a point of a layer of the pocket."""
    around = np.array([x, y])
    up, aside = np.array([0.0, half]), np.array([12.0, 0.0])
    drawing.grain = (around - up, around + up)
    drawing.label = (around + aside, 90.0)


def size_pieces(number: int, body: Body) -> dict[str, SizedPiece]:
    """Every piece in one size; each lies in a frame of its own, which moves with the size."""
    n = float(number)
    front = draw_front(body)
    back = draw_back(body, front)
    pocket = pockets.draw_pocket(front, 90.0 + 0.8 * n)
    front = pocket.front
    fly = round(FLY_PART * body.rise)
    facing, under_bag, top_bag = (
        pockets.draw_facing(pocket),
        pockets.draw_under_bag(pocket),
        pockets.draw_top_bag(pocket),
    )
    x, y = pocket.mouth[len(pocket.mouth) // 2]
    _parallel_grain(facing, x + 12.0, y + 6.0, 24.0)
    _parallel_grain(under_bag, x + 20.0, y - 50.0, 60.0)
    _parallel_grain(top_bag, x + 35.0, y - 70.0, 60.0)
    width = 138.0 + 2.0 * n
    waist = {
        "front": length(cut(front.waist, 0.0, pocket.top)),
        "facing": length(cut(front.waist, pocket.top)),
        "back": length(back.yoke.waist),
    }
    right = {
        "centre_front": BAND_EXTENSION,
        "pocket": waist["front"],
        "side": waist["facing"],
        "centre_back": waist["back"],
    }
    left = {"side": waist["back"], "pocket": waist["facing"], "centre_front": waist["front"]}
    drawings = {
        "front": (front_piece(pocket, body, fly), Frame(0.0, (-380.0 + 47.0 * n, 21.5 * n))),
        "back": (
            back_piece(back, body, width),
            Frame(-5.0, (870.0 - 39.0 * n, -180.0 + 14.0 * n), True),
        ),
        "yoke": (yoke_piece(back), Frame(11.0, (700.0, 300.0 - 31.0 * n), True)),
        "facing": (facing, Frame(-22.0, (-80.0 - 21.0 * n, -260.0 + 9.5 * n))),
        "under_bag": (under_bag, Frame(31.0, (240.0 + 26.0 * n, -110.0))),
        "top_bag": (top_bag, Frame(-14.0, (-170.0, -420.0 - 18.0 * n), True)),
        "coin_pocket": (pockets.draw_coin_pocket(), Frame(0.0, (30.0 * n, 0.0))),
        "back_pocket": (parts.draw_back_pocket(width), Frame(90.0, (0.0, 26.0 * n))),
        "band_right": (parts.draw_band(right, ("extension", "cb")), Frame(0.0, (0.0, -70.0 * n))),
        "band_left": (parts.draw_band(left, ("cb", "end_left")), Frame(180.0, (0.0, 70.0 * n))),
        "fly_extension": (
            draw_fly_extension(front.waist, front.leg.centre, fly),
            Frame(-4.0, (-280.0 + 9.0 * n, 40.0)),
        ),
        "fly_shield": (
            draw_fly_shield(front.leg.centre, fly),
            Frame(-4.0, (-160.0, -190.0 - 11.0 * n)),
        ),
        "belt_loop": (draw_belt_loop(), Frame()),
    }
    return {name: drawing.placed(frame) for name, (drawing, frame) in drawings.items()}


def build(set_file: Path = HERE / "set.toml") -> Mapping[str, Piece]:
    """Draft every piece in every size of the chart."""
    nest: dict[str, dict[str, SizedPiece]] = {}
    for number, (size, body) in enumerate(bodies(set_file).items()):
        for name, sized in size_pieces(number, body).items():
            nest.setdefault(name, {})[size] = sized
    return {name: Piece(name, sizes) for name, sizes in nest.items()}


if __name__ == "__main__":
    write_pieces(build(), Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "geometry")
