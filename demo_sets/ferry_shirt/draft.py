"""Draft the ferry shirt in all its sizes.

``python demo_sets/ferry_shirt/draft.py`` reads the chart in ``set.toml`` and rewrites
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

from demo_sets.drafting import along, crossing, length, locate  # noqa: E402
from demo_sets.drawing import Drawing, Frame, write_pieces  # noqa: E402
from demo_sets.ferry_shirt import sleeve as sleeves  # noqa: E402
from demo_sets.ferry_shirt import small_parts as parts  # noqa: E402
from demo_sets.ferry_shirt.body import WRAP, Body, Half, Shirt, draw_body  # noqa: E402
from propagate.pattern.model import Array, Piece, SizedPiece  # noqa: E402

BUST_BELOW = 25.0  # mm from the underarm down to the bust level
FRONT_NOTCH, BACK_NOTCH = 95.0, 100.0  # mm from the underarm along the armhole
CAP_EASE = (5.0, 7.0)  # mm from the front notch to the shoulder, and on to the back notch
CAP_HEIGHT = 0.27  # of the armhole's length


def bodies(set_file: Path, edits: Mapping[str, float] | None = None) -> dict[str, Body]:
    """Read the chart of the set: one body for each size."""
    table = tomllib.loads(set_file.read_text(encoding="utf-8"))
    columns = ("neck", "bust", "waist", "hip", "back_length", "shoulder", "arm", "wrist")
    rows = zip(*(table["chart"][name] for name in columns), strict=True)
    sizes = [str(size) for size in table["sizes"]]
    return {
        size: Body(*map(float, row), edits=edits or {})
        for size, row in zip(sizes, rows, strict=True)
    }


def _at_level(edge: Array, height: float) -> Array:
    line = np.array([(-1000.0, height), (1000.0, height)])
    return along(edge, crossing(edge, line)[0])


def _half_piece(half: Half, body: Body, names: tuple[str, str], inner: float) -> Drawing:
    """Front or back below the yoke; `names` are those of the centre and of the armhole notch."""
    centre, notch = names
    drawing = Drawing()
    drawing.edge("hem", half.hem)
    drawing.edge("side", half.side)
    drawing.edge("armhole", half.armhole)
    drawing.edge("yoke", half.yoke)
    if half.neck is not None:
        drawing.edge("neck", half.neck)
    drawing.edge(centre, half.centre)
    away = FRONT_NOTCH if half.neck is not None else BACK_NOTCH
    drawing.mark(notch, "armhole", along(half.armhole, away))
    drawing.mark("waist_notch", "side", _at_level(half.side, 0.0))
    x = inner + 80.0
    drawing.levels = {
        "bust": (x, body.bust_level - BUST_BELOW),
        "waist": (x, 0.0),
        "hip": (x, body.hip_level),
    }
    drawing.grain = ((x, body.hip_level), (x, 0.8 * body.bust_level))
    drawing.label = ((x + 30.0, 0.5 * body.hip_level), 90.0)
    return drawing


def _yoke_piece(shirt: Shirt) -> Drawing:
    drawing = Drawing()
    for name, line in shirt.yoke.items():
        drawing.edge(name, line)
    drawing.mark("arm_notch", "armhole", shirt.tip)
    drawing.mark("neck_notch", "neck", shirt.point)
    x, y = shirt.yoke["back"][0]
    drawing.grain = ((x + 35.0, y + 12.0), (x + 35.0, y + 70.0))
    drawing.label = ((x + 80.0, y + 35.0), 0.0)
    return drawing


def cap_asks(shirt: Shirt) -> sleeves.CapAsks:
    """What the armhole asks of the cap: its stretches, each with its ease."""
    over = shirt.yoke["armhole"]
    split = locate(over, shirt.tip)
    front = length(shirt.front.armhole) + length(over) - split
    back = split + length(shirt.back.armhole)
    return sleeves.CapAsks(
        front + CAP_EASE[0],
        back + CAP_EASE[1],
        FRONT_NOTCH,
        BACK_NOTCH,
        CAP_HEIGHT * (front + back),
    )


def size_pieces(number: int, body: Body) -> dict[str, SizedPiece]:
    """Every piece in one size; each lies in a frame of its own, which moves with the size."""
    shirt = draw_body(body)
    front = shirt.front
    assert front.neck is not None
    over = shirt.yoke["neck"]
    split = locate(over, shirt.point)
    back_neck = length(over) - split
    front_neck = split + length(front.neck)
    stand = parts.draw_stand(back_neck, front_neck, 2.0 * WRAP)
    top = next(stroke.points for stroke in stand.strokes if stroke.name == "top")
    marks = {name: place for name, _, place, _ in stand.landmarks}
    collar_back = length(top) - locate(top, marks["shoulder_top"])
    collar_long = length(top) - locate(top, marks["centre_front_top"])
    place = (float(front.neck[-1][0]), float(front.neck[-1][1]))
    hem = float(front.hem[0][1])
    n = float(number)
    drawings = {
        "front": (
            _half_piece(front, body, ("edge", "front_notch"), WRAP),
            Frame(0.0, (-300.0 + 40.0 * n, 20.0 * n)),
        ),
        "back": (
            _half_piece(shirt.back, body, ("centre", "back_notch"), 0.0),
            Frame(4.0, (700.0 - 30.0 * n, -90.0 + 8.0 * n), True),
        ),
        "yoke": (_yoke_piece(shirt), Frame(90.0, (60.0 * n, 400.0))),
        "sleeve": (
            sleeves.draw_sleeve(cap_asks(shirt), body.arm, body.wrist),
            Frame(-6.0, (200.0, -300.0 + 25.0 * n)),
        ),
        "cuff": (sleeves.draw_cuff(body.wrist), Frame(0.0, (0.0, -80.0 * n))),
        "sleeve_placket": (sleeves.draw_placket(), Frame()),
        "buttonhole_band": (
            parts.draw_band(place, hem, True),
            Frame(0.0, (-400.0 + 40.0 * n, 20.0 * n)),
        ),
        "button_band": (
            parts.draw_band(place, hem, False),
            Frame(180.0, (50.0, 300.0 - 15.0 * n)),
        ),
        "stand": (stand, Frame(0.0, (30.0 * n, 45.0 * n))),
        "collar": (
            parts.draw_collar(collar_back, collar_long - collar_back),
            Frame(90.0, (100.0 * n, 10.0)),
        ),
    }
    return {name: drawing.placed(frame) for name, (drawing, frame) in drawings.items()}


def build(
    set_file: Path = HERE / "set.toml", edits: Mapping[str, float] | None = None
) -> Mapping[str, Piece]:
    """Draft every piece in every size of the chart, with edits built in when some are given."""
    nest: dict[str, dict[str, SizedPiece]] = {}
    for number, (size, body) in enumerate(bodies(set_file, edits).items()):
        for name, sized in size_pieces(number, body).items():
            nest.setdefault(name, {})[size] = sized
    return {name: Piece(name, sizes) for name, sizes in nest.items()}


if __name__ == "__main__":
    write_pieces(build(), Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "geometry")
