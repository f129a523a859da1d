"""Draft the slant trouser in all its sizes.

``python demo_sets/slant_trouser/draft.py`` reads the chart in ``set.toml`` and rewrites
the files in ``geometry/`` and nothing else; the same chart gives the same bytes.
Another folder may be named as an argument.
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
from demo_sets.slant_trouser import pocket as pockets  # noqa: E402
from demo_sets.slant_trouser import small_parts as parts  # noqa: E402
from demo_sets.slant_trouser.lines import Body  # noqa: E402
from demo_sets.slant_trouser.mains import Main, draw_back, draw_front  # noqa: E402
from propagate.pattern.model import Array, Piece, SizedPiece  # noqa: E402

THIGH_BELOW = 50.0  # thigh level below the crotch
FLY_PART = 0.60  # fly length as a part of the rise


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


def _levels(drawing: Drawing, main: Main, body: Body) -> None:
    heights = {
        "waist": body.waist_level,
        "hip": body.hip_level,
        "crotch": 0.0,
        "thigh": -THIGH_BELOW,
        "knee": body.knee_level,
        "hem": body.hem_level,
    }
    drawing.levels = {name: (main.crease, height) for name, height in heights.items()}
    drawing.grain = ((main.crease, 0.6 * body.hem_level), (main.crease, 0.6 * body.hip_level))
    drawing.label = ((main.crease - 40.0, 0.35 * body.hem_level), 90.0)


def _leg_notches(drawing: Drawing, main: Main, body: Body) -> None:
    drawing.mark("hip_notch", "side", (0.0, body.hip_level))
    drawing.mark("knee_notch_side", "side", at_level(main.side, body.knee_level))
    drawing.mark("knee_notch_inseam", "inseam", at_level(main.inseam, body.knee_level))


def front_piece(main: Main, pocket: pockets.Pocket, body: Body, fly: float) -> Drawing:
    """The front: the silhouette without the corner outside the mouth."""
    drawing = Drawing()
    drawing.edge("waist", cut(main.waist, 0.0, pocket.top))
    drawing.edge("mouth", pocket.mouth)
    drawing.edge("side", cut(main.side, pocket.low))
    drawing.edge("hem", flatten(main.hem))
    drawing.edge("inseam", main.inseam)
    drawing.edge("centre", main.centre)
    _leg_notches(drawing, main, body)
    drawing.mark("fly_notch", "centre", along(main.centre, length(main.centre) - fly))
    _levels(drawing, main, body)
    return drawing


def back_piece(main: Main, body: Body) -> Drawing:
    """The back with its dart and the line of the welt, which crosses the dart's tip."""
    assert main.legs is not None and main.tip is not None
    drawing = Drawing()
    drawing.edge("waist", main.waist, main.legs)
    drawing.edge("side", main.side)
    drawing.edge_of_beziers("hem", main.hem)
    drawing.edge("inseam", main.inseam)
    drawing.edge("centre", main.centre)
    _leg_notches(drawing, main, body)
    inner, outer = main.waist[main.legs[0]], main.waist[main.legs[1]]
    drawing.mark("dart_in", "waist", inner, "dart leg")
    drawing.mark("dart_out", "waist", outer, "dart leg")
    drawing.darts.append(("dart", "waist", ("dart_in", "dart_out"), main.tip))
    across = (inner - outer) / np.hypot(*(inner - outer))
    ends = main.tip + np.array([-0.5, 0.5])[:, None] * parts.WELT_LENGTH * across
    drawing.lines.append(("welt", ends))
    drawing.drills += [("welt_side", ends[0]), ("welt_centre", ends[1])]
    _levels(drawing, main, body)
    return drawing


def _parallel_grain(drawing: Drawing, x: float, y: float, half: float) -> None:
    """Grain parallel to the front's, through a point of a layer of the pocket."""
    around = np.array([x, y])
    up, aside = np.array([0.0, half]), np.array([12.0, 0.0])
    drawing.grain = (around - up, around + up)
    drawing.label = (around + aside, 90.0)


def size_pieces(number: int, body: Body) -> dict[str, SizedPiece]:
    """Every piece in one size; each lies in a frame of its own, which moves with the size."""
    front = draw_front(body)
    back = draw_back(body, front)
    pocket = pockets.draw_pocket(front, 36.0 + 0.5 * number)
    front = pocket.front
    fly = round(FLY_PART * body.rise)
    facing, under_bag, top_bag = (
        pockets.draw_facing(pocket),
        pockets.draw_under_bag(pocket),
        pockets.draw_top_bag(pocket),
    )
    x, y = pocket.mouth[len(pocket.mouth) // 2]
    _parallel_grain(facing, x + 2.0, y - 8.0, 40.0)
    _parallel_grain(under_bag, x + 20.0, y - 50.0, 70.0)
    _parallel_grain(top_bag, x + 35.0, y - 70.0, 70.0)
    front_waist = cut(front.waist, 0.0, pocket.top)
    dart = float(np.hypot(*np.diff(back.waist[list(back.legs or ())], axis=0)[0]))
    band = parts.draw_waistband(
        length(front_waist),
        length(front.waist) - length(front_waist),
        length(back.waist) - dart,
    )
    n = float(number)
    drawings = {
        "front": (front_piece(front, pocket, body, fly), Frame(0.0, (-420.0 + 61.0 * n, 37.5 * n))),
        "back": (back_piece(back, body), Frame(7.0, (900.0 - 43.0 * n, -250.0 + 12.0 * n), True)),
        "facing": (facing, Frame(18.0, (-60.0 - 25.0 * n, -310.0 + 7.5 * n))),
        "under_bag": (under_bag, Frame(-25.0, (210.0 + 30.0 * n, -95.0))),
        "top_bag": (top_bag, Frame(12.0, (-150.0, -480.0 - 20.0 * n), True)),
        "waistband": (band, Frame(0.0, (-200.0, -60.0 * n))),
        "fly_extension": (
            parts.draw_fly_extension(front.waist, front.centre, fly),
            Frame(-4.0, (-300.0 + 9.0 * n, 40.0)),
        ),
        "fly_shield": (
            parts.draw_fly_shield(front.centre, fly),
            Frame(-4.0, (-180.0, -200.0 - 11.0 * n)),
        ),
        "welt": (parts.draw_welt(), Frame(0.0, (0.0, 40.0 * n))),
        "welt_bag": (parts.draw_welt_bag(150.0 + 2.0 * n), Frame(90.0, (180.0 * n, -75.0))),
        "belt_loop": (parts.draw_belt_loop(), Frame()),
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
