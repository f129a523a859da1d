"""Draft the market bag in all its volumes.

``python demo_sets/market_bag/draft.py`` rewrites the files in ``geometry/`` and nothing else;
the same draft gives the same bytes.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.drawing import Drawing, Frame, write_pieces
from propagate.pattern.model import Piece, SizedPiece

__all__ = ["BOXES", "Box", "build", "draw", "main"]

UPPER = 0.78  # of the height of the panel, above the pocket: where it is lengthened
FACING = 45.0  # width of the facing inside the mouth
INSIDE = 2.0  # mm by which the lining is smaller at each seam
HANDLE = (28.0, 560.0)
HANDLE_FROM_MIDDLE = 0.24  # of the width of the panel


@dataclass(frozen=True)
class Box:
    """The finished bag, mm."""

    wide: float
    high: float
    deep: float
    pocket: float


BOXES: Mapping[str, Box] = {
    "6": Box(230.0, 240.0, 110.0, 96.0),
    "8": Box(250.0, 270.0, 120.0, 108.0),
    "10": Box(270.0, 290.0, 128.0, 116.0),
    "13": Box(300.0, 310.0, 140.0, 124.0),
    "16": Box(320.0, 333.0, 150.0, 133.0),
    "20": Box(345.0, 362.0, 160.0, 145.0),
    "25": Box(370.0, 398.0, 170.0, 159.0),
}
"""By the litres that it holds."""


def rectangle(names: Sequence[str], wide: float, high: float, low: float = 0.0) -> Drawing:
    """A rectangle about x = 0 from `low` up; the names begin with the lower edge."""
    x = wide / 2.0
    corners = [(-x, low), (x, low), (x, low + high), (-x, low + high)]
    drawing = Drawing()
    for name, start, end in zip(names, corners, corners[1:] + corners[:1], strict=True):
        drawing.edge(name, [start, end])
    drawing.grain = ((0.0, low + 0.2 * high), (0.0, low + 0.8 * high))
    drawing.label = ((0.15 * wide, low + 0.5 * high), 0.0)
    return drawing


PANEL = ("bottom", "right", "top", "left")


def panel(box: Box) -> Drawing:
    """Front and back: copies of each other."""
    drawing = rectangle(PANEL, box.wide, box.high)
    for name, side in (("handle_right", 1.0), ("handle_left", -1.0)):
        drawing.mark(name, "top", (side * HANDLE_FROM_MIDDLE * box.wide, box.high))
    heights = {"foot": 0.0, "upper": UPPER * box.high, "mouth": box.high}
    drawing.levels = {name: (0.0, y) for name, y in heights.items()}
    return drawing


def strip(
    whole: float, wide: float, marks: Sequence[tuple[str, float]], names: Sequence[str]
) -> Drawing:
    """A strip with notches on its lower long side, so far from its start."""
    drawing = rectangle(names, whole, wide)
    for name, at in marks:
        drawing.mark(name, names[0], (at - whole / 2.0, 0.0))
    drawing.grain = ((-0.4 * whole, wide / 2), (0.4 * whole, wide / 2))
    return drawing


def draw(box: Box) -> dict[str, SizedPiece]:
    """Return all pieces of one volume, laid out on the page."""
    round_three = 2 * box.high + box.wide
    gusset = ("front_side", "right_end", "back_side", "left_end")
    drawn = {"front": panel(box), "back": panel(box)}
    for name, edge, side in (("pocket_right", "right", 0.5), ("pocket_left", "left", -0.5)):
        drawn["front"].mark(name, edge, (side * box.wide, box.pocket))
    corners = [("left_corner", box.high), ("right_corner", box.high + box.wide)]
    drawn["gusset"] = strip(round_three, box.deep, corners, gusset)
    for name, at in corners:
        drawn["gusset"].mark(f"{name}_back", "back_side", (at - round_three / 2, box.deep))
    drawn["pocket"] = rectangle(PANEL, box.wide, box.pocket)
    ring = [box.wide, box.deep, box.wide, box.deep]
    begins = np.cumsum(ring).tolist()
    names = ("front_end", "right_end", "back_end")
    marks = list(zip(names, begins[:3], strict=True))
    drawn["facing"] = strip(sum(ring), FACING, marks, ("sewn", "end", "free", "start"))
    low = box.high - FACING - INSIDE
    drawn["lining"] = rectangle(PANEL, box.wide - 2 * INSIDE, low, INSIDE)
    lining = round_three - 2 * (FACING + 2 * INSIDE)
    drawn["lining_gusset"] = strip(lining, box.deep - 2 * INSIDE, (), gusset)
    drawn["handle"] = rectangle(PANEL, *HANDLE)
    frames = {
        "front": Frame(),
        "back": Frame(origin=(460.0, 0.0)),
        "pocket": Frame(origin=(920.0, 0.0)),
        "lining": Frame(origin=(1380.0, 0.0)),
        "handle": Frame(origin=(-300.0, 0.0)),
        "gusset": Frame(origin=(500.0, -260.0)),
        "lining_gusset": Frame(origin=(500.0, -500.0)),
        "facing": Frame(origin=(500.0, -640.0)),
    }
    return {name: drawn[name].placed(frame) for name, frame in frames.items()}


def build() -> dict[str, Piece]:
    """Return every piece in every volume."""
    sizes = {size: draw(box) for size, box in BOXES.items()}
    names = next(iter(sizes.values()))
    return {name: Piece(name, {size: made[name] for size, made in sizes.items()}) for name in names}


def main() -> None:
    """Write ``geometry/PIECE.json`` beside this file."""
    write_pieces(build(), Path(__file__).resolve().parent / "geometry")


if __name__ == "__main__":
    main()
