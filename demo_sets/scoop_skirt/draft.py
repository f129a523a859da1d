"""Draft the scoop skirt in all its sizes.

``python demo_sets/scoop_skirt/draft.py`` rewrites the files in ``geometry/`` and
nothing else; the same draft gives the same bytes.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.drafting import Bezier, along, flatten, join, length, unit
from demo_sets.drawing import Drawing, Frame, write_pieces
from demo_sets.scoop_skirt.mains import (
    DART_LEAN,
    Measures,
    Silhouette,
    draw_back,
    draw_front,
)
from demo_sets.scoop_skirt.pocket import Pocket, draw_pocket
from propagate.pattern.model import Array, Piece, SizedPiece

__all__ = ["draft", "main"]

SIZES = ("XS", "S", "M", "L", "XL", "2XL", "3XL")
WAIST = (660, 700, 740, 780, 830, 890, 950)  # body, mm
SEAT = (900, 940, 980, 1020, 1066, 1120, 1174)
SEAT_DEPTH = (198, 201, 204, 207, 209, 211, 213)  # natural waist to seat
LONG = (560, 566, 572, 578, 584, 590, 596)  # natural waist to foot, centre front
DART = (26, 27, 28, 29, 30, 30, 30)
WAIST_EASE = 12.0
SEAT_EASE = 36.0
SHIFT = 8.0  # the flank lies this far to the back at the top and to the front at the seat

BELT_WIDTH = 40.0
BELT_RADIUS = 1250.0  # of the sewn edge; the rim is shorter, as a waist is above its seam
BELT_CHORD = 9.0  # mm at most; the sagitta on the sewn edge is then 0.008 mm
UNDERLAP = 30.0
BACK_EASED = 3.0  # mm of each back eased on to the belt
ZIP = 180.0  # mm of the centre back seam left open

# Each size lies on the page in a place of its own.
SCATTER = ((0, 0), (61, -23), (-47, 38), (86, 52), (-58, -79), (43, 71), (-94, 11))

Lines = dict[str, Array | tuple[Bezier, ...]]
"""The lines of an outline by name: points, or curves to be stored as path data."""


@dataclass(frozen=True, eq=False)
class Drawn:
    """One size in the drafting frame."""

    measures: Measures
    front: Silhouette
    back: Silhouette
    pocket: Pocket


def _draw(i: int) -> Drawn:
    top = (WAIST[i] + WAIST_EASE) / 4.0
    seat = (SEAT[i] + SEAT_EASE) / 4.0
    measures = Measures(
        top_front=top + SHIFT,
        top_back=top - SHIFT,
        seat_front=seat - SHIFT,
        seat_back=seat + SHIFT,
        seat_depth=float(SEAT_DEPTH[i]),
        long=float(LONG[i]),
        dart=float(DART[i]),
    )
    front = draw_front(measures)
    return Drawn(measures, front, draw_back(measures, front), draw_pocket(front))


def _frame(i: int, angle: float, x: float, y: float, mirror: bool = False) -> Frame:
    dx, dy = SCATTER[i]
    return Frame(angle, (x + dx, y + dy), mirror)


# --- from lines to drawings ----------------------------------------------------


def _clockwise(lines: Lines, turns: tuple[int, ...]) -> Drawing:
    """Return a drawing of lines that follow each other clockwise.

    A drawing is counter-clockwise, so every line is taken backwards; a mirrored frame
    turns it round again and the piece is stored in the order of `lines`.  `turns` are
    the corners inside the line ``top``.
    """
    drawing = Drawing()
    for name, line in reversed(lines.items()):
        if isinstance(line, tuple):
            backwards = (Bezier(curve.control[::-1]) for curve in reversed(line))
            drawing.edge_of_beziers(name, *backwards)
        else:
            corners = [len(line) - 1 - turn for turn in reversed(turns if name == "top" else ())]
            drawing.edge(name, line[::-1], corners)
    return drawing


def _main(
    lines: Lines,
    m: Measures,
    level_x: float,
    label: tuple[float, float],
    turns: tuple[int, ...] = (),
) -> Drawing:
    """Return a main's drawing with its levels (at x = `level_x`), grain and label."""
    drawing = _clockwise(lines, turns)
    heights = {"natural_waist": 0.0, "seat": -m.seat_depth, "foot": -m.long}
    drawing.levels = {name: (level_x, y) for name, y in heights.items()}
    x = 0.4 * m.top_back
    drawing.grain = ((x, -0.88 * m.long), (x, -0.35 * m.long))
    drawing.label = (label, 90.0)
    return drawing


def _layer(lines: Lines, middle: Array) -> Drawing:
    """Return a pocket layer's drawing with its grain and label about `middle`."""
    drawing = _clockwise(lines, ())
    reach = np.array([0.0, 36.0])
    drawing.grain = (middle - reach, middle + reach)
    drawing.label = (middle, 0.0)
    return drawing


def _bag_middle(p: Pocket) -> Array:
    """Return a point that both bags have, between the scoop and the bottom."""
    return np.asarray(p.scoop[-1] + (-78.0, -52.0))


# --- pieces --------------------------------------------------------------------


def skirt_front(d: Drawn, i: int) -> SizedPiece:
    """Return the front: flank at the left of the page, listed from the foot."""
    m, p = d.measures, d.pocket
    lines: Lines = {
        "foot": (d.front.foot,),
        "fold_line": d.front.centre[0].control[[0, -1]],
        "top": p.front_top,
        "scoop": p.scoop,
        "flank": p.front_flank,
    }
    drawing = _main(lines, m, 0.0, (0.65 * m.top_front, -0.6 * m.long))
    drawing.mark("seat_notch", "flank", d.front.seat)
    return drawing.placed(_frame(i, 0.0, 310.0, 95.0, mirror=True))


def skirt_back(d: Drawn, i: int) -> SizedPiece:
    """Return the back: upside down on the page, listed from the centre back."""
    m, back = d.measures, d.back
    if back.dart is None:
        raise ValueError("the back was drafted without its dart")
    lines: Lines = {
        "top": back.top,
        "flank": back.flank,
        "foot": (back.foot,),
        "cb": back.centre,
    }
    turns, tip = back.dart.turns, back.dart.tip
    drawing = _main(lines, m, 0.4 * m.top_back, (0.7 * m.top_back, -0.65 * m.long), turns)
    seam = join(*map(flatten, back.centre))[::-1]
    drawing.mark("zip_end", "cb", along(seam, ZIP))
    drawing.mark("seat_notch", "flank", back.seat)
    drawing.mark("dart_flank", "top", back.top[turns[2]], "dart leg")
    drawing.mark("dart_cb", "top", back.top[turns[0]], "dart leg")
    drawing.darts.append(("back_dart", "top", ("dart_flank", "dart_cb"), tip))
    drawing.drills.append(("dart_drill", tip + 12.0 * unit(90.0 + DART_LEAN)))
    return drawing.placed(_frame(i, 180.0, -420.0, -1380.0))


def pocket_facing(d: Drawn, i: int) -> SizedPiece:
    """Return the facing, tilted on the page, listed from its free edge."""
    p = d.pocket
    drawing = _layer(
        {"inner": (p.inner,), "top": p.facing_top, "flank": p.facing_flank},
        p.scoop[[0, -1]].mean(axis=0),
    )
    drawing.mark("scoop_top", "top", p.scoop[0])
    drawing.mark("scoop_low", "flank", p.scoop[-1])
    return drawing.placed(_frame(i, 37.0 + 3.0 * i, 760.0, 60.0, mirror=True))


def bag_front(d: Drawn, i: int) -> SizedPiece:
    """Return the top bag; its edge `scoop` is the opening line."""
    p = d.pocket
    drawing = _layer(
        {"flank": p.bag_flank, "bag_curve": p.bag, "top": p.bag_top, "scoop": p.scoop},
        _bag_middle(p),
    )
    drawing.mark("bag_notch", "bag_curve", p.notch)
    return drawing.placed(_frame(i, -64.0 - 2.0 * i, 1240.0, -515.0, mirror=True))


def bag_back(d: Drawn, i: int) -> SizedPiece:
    """Return the under bag, drawn face down, listed from its top."""
    p = d.pocket
    drawing = _layer(
        {"flank": p.under_flank, "bag_curve": p.bag, "top": p.under_top}, _bag_middle(p)
    )
    drawing.mark("scoop_top", "top", p.scoop[0])
    drawing.mark("scoop_low", "flank", p.scoop[-1])
    drawing.mark("bag_notch", "bag_curve", p.notch)
    return drawing.placed(_frame(i, 118.0 - 4.0 * i, 95.0, -2210.0))


def belt(d: Drawn, i: int) -> SizedPiece:
    """Return the belt: concentric arcs, from the underlap round to the centre back.

    The chords of each zone add up to the length of the lines that are sewn to it.
    """
    turns = d.back.dart.turns if d.back.dart else (0, 0, 0)
    top = d.back.top
    back = length(top[: turns[0] + 1]) + length(top[turns[2] :]) - BACK_EASED
    front = length(d.front.top)
    angles, marks = [0.0], []
    for zone in (UNDERLAP, back, front, front, back):
        count = math.ceil(zone / BELT_CHORD)
        step = 2.0 * math.degrees(math.asin(zone / count / 2.0 / BELT_RADIUS))
        angles += [angles[-1] + step * (k + 1) for k in range(count)]
        marks.append(len(angles) - 1)
    rays = np.array([unit(angle - 90.0 - angles[marks[2]]) for angle in angles])
    apex = np.array([0.0, BELT_RADIUS])
    join_line, rim = apex + BELT_RADIUS * rays, apex + (BELT_RADIUS - BELT_WIDTH) * rays[::-1]
    drawing = Drawing()
    drawing.edge("rim", rim)
    drawing.edge("lap_end", [rim[-1], join_line[0]])
    drawing.edge("join", join_line)
    drawing.edge("plain_end", [join_line[-1], rim[0]])
    names = ("cb_mark", "flank_mark_right", "cf_mark", "flank_mark_left")
    for name, index in zip(names, marks, strict=False):
        drawing.mark(name, "join", join_line[index])
    drawing.grain = ((-60.0, BELT_WIDTH / 2.0), (60.0, BELT_WIDTH / 2.0))
    drawing.label = ((90.0, BELT_WIDTH / 2.0 + 3.0), 0.0)
    return drawing.placed(_frame(i, 97.0, 2050.0, 380.0))


PIECES: dict[str, Callable[[Drawn, int], SizedPiece]] = {
    "skirt_front": skirt_front,
    "skirt_back": skirt_back,
    "pocket_facing": pocket_facing,
    "bag_front": bag_front,
    "bag_back": bag_back,
    "belt": belt,
}


def draft() -> dict[str, Piece]:
    """Return every piece in every size."""
    drawn = [_draw(i) for i in range(len(SIZES))]
    return {
        name: Piece(name, {size: make(drawn[i], i) for i, size in enumerate(SIZES)})
        for name, make in PIECES.items()
    }


def main() -> None:
    """Write ``geometry/PIECE.json`` beside this file."""
    write_pieces(draft(), Path(__file__).resolve().parent / "geometry")


if __name__ == "__main__":
    main()
