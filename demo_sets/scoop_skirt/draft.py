"""Draft the scoop skirt in all its sizes.

``python demo_sets/scoop_skirt/draft.py`` rewrites the files in ``geometry/`` and
nothing else; the same draft gives the same bytes.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.scoop_skirt.curves import (
    Frame,
    Line,
    at_distance,
    direction,
    edges_of,
    length,
)
from demo_sets.scoop_skirt.mains import (
    DART_LEAN,
    Measures,
    Silhouette,
    draw_back,
    draw_front,
)
from demo_sets.scoop_skirt.pocket import Pocket, draw_pocket
from propagate.io.geometry_json import dumps
from propagate.pattern.model import (
    Array,
    Dart,
    Grain,
    Label,
    Landmark,
    LandmarkKind,
    Mark,
    Piece,
    SizedPiece,
)

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
BELT_RADIUS = 1250.0  # of the sewn edge; a belt of this sort is narrower at its rim
UNDERLAP = 30.0
BACK_EASED = 3.0  # mm of each back eased on to the belt
ZIP = 180.0  # mm of the centre back seam left open


@dataclass(frozen=True)
class Drawn:
    """One size in the drafting frame."""

    measures: Measures
    front: Silhouette
    back: Silhouette
    pocket: Pocket


def _measures(i: int) -> Measures:
    top = (WAIST[i] + WAIST_EASE) / 4.0
    seat = (SEAT[i] + SEAT_EASE) / 4.0
    return Measures(
        top_front=top + SHIFT,
        top_back=top - SHIFT,
        seat_front=seat - SHIFT,
        seat_back=seat + SHIFT,
        seat_depth=float(SEAT_DEPTH[i]),
        long=float(LONG[i]),
        dart=float(DART[i]),
    )


def _draw(i: int) -> Drawn:
    measures = _measures(i)
    front = draw_front(measures)
    return Drawn(measures, front, draw_back(measures, front), draw_pocket(front))


def _mark(
    frame: Frame, name: str, edge: str, point: Array, kind: LandmarkKind = "notch"
) -> Landmark:
    return Landmark(name, edge, frame.pair(point), kind)


def _grain(frame: Frame, foot: Array, top: Array) -> Grain:
    return Grain(frame.pair(foot), frame.pair(top))


def _levels(frame: Frame, m: Measures, x: float) -> dict[str, tuple[float, float]]:
    heights = {"natural_waist": 0.0, "seat": -m.seat_depth, "foot": -m.long}
    return {name: frame.pair(np.array([x, y])) for name, y in heights.items()}


def skirt_front(d: Drawn, i: int) -> SizedPiece:
    """Return the front: flank at the left of the page, listed from the foot."""
    frame = Frame(0.0, (310.0 + 12.0 * i, 95.0 - 7.0 * i), mirrored=True)
    m, p = d.measures, d.pocket
    lines = [
        ("top", p.front_top),
        ("scoop", p.scoop),
        ("flank", p.front_flank),
        ("foot", d.front.foot),
        ("fold_line", d.front.centre),
    ]
    x = 0.45 * m.top_front
    return SizedPiece(
        edges=edges_of(lines, frame, "foot"),
        grain=_grain(frame, np.array([x, -0.85 * m.long]), np.array([x, -0.3 * m.long])),
        landmarks=(_mark(frame, "seat_notch", "flank", d.front.curve[-1]),),
        levels=_levels(frame, m, 0.0),
        label=Label(frame.pair(np.array([0.65 * m.top_front, -0.6 * m.long])), 90.0),
    )


def skirt_back(d: Drawn, i: int) -> SizedPiece:
    """Return the back: upside down on the page, listed from the centre back."""
    frame = Frame(180.0, (-420.0 - 9.0 * i, -1380.0 + 5.0 * i))
    m, back = d.measures, d.back
    assert back.legs is not None and back.tip is not None
    lines = [("top", back.top), ("flank", back.flank), ("foot", back.foot), ("cb", back.centre)]
    inner, outer = back.legs
    x = 0.45 * m.top_back
    zip_end = at_distance(back.centre.points[::-1], ZIP)
    return SizedPiece(
        edges=edges_of(lines, frame, "cb"),
        grain=_grain(frame, np.array([x, -0.9 * m.long]), np.array([x, -0.35 * m.long])),
        landmarks=(
            _mark(frame, "zip_end", "cb", zip_end),
            _mark(frame, "seat_notch", "flank", back.curve[-1]),
            _mark(frame, "dart_flank", "top", outer, "dart leg"),
            _mark(frame, "dart_cb", "top", inner, "dart leg"),
        ),
        darts=(Dart("back_dart", "top", ("dart_flank", "dart_cb"), frame.pair(back.tip)),),
        drills=(Mark("dart_drill", frame.pair(back.tip + 12.0 * direction(90.0 + DART_LEAN))),),
        levels=_levels(frame, m, x),
        label=Label(frame.pair(np.array([0.7 * m.top_back, -0.65 * m.long])), -90.0),
    )


def pocket_facing(d: Drawn, i: int) -> SizedPiece:
    """Return the facing, turned on the page, listed from its free edge."""
    frame = Frame(37.0 + 3.0 * i, (760.0, 60.0 + 11.0 * i), mirrored=True)
    p = d.pocket
    lines = [("top", p.facing_top), ("flank", p.facing_flank), ("inner", p.inner)]
    return _layer(
        frame,
        lines,
        "inner",
        p,
        (
            _mark(frame, "scoop_top", "top", p.upper),
            _mark(frame, "scoop_low", "flank", p.lower),
        ),
    )


def bag_front(d: Drawn, i: int) -> SizedPiece:
    """Return the top bag; its edge `scoop` is the opening line."""
    frame = Frame(-64.0 - 2.0 * i, (1240.0 + 6.0 * i, -515.0), mirrored=True)
    p = d.pocket
    lines = [
        ("top", p.bag_top),
        ("scoop", p.scoop),
        ("flank", p.bag_flank),
        ("bag_curve", p.bag),
    ]
    return _layer(frame, lines, "flank", p, (_mark(frame, "bag_notch", "bag_curve", p.notch),))


def bag_back(d: Drawn, i: int) -> SizedPiece:
    """Return the under bag, drawn face down."""
    frame = Frame(118.0 - 4.0 * i, (95.0, -2210.0 - 8.0 * i))
    p = d.pocket
    lines = [("top", p.under_top), ("flank", p.under_flank), ("bag_curve", p.bag)]
    return _layer(
        frame,
        lines,
        "top",
        p,
        (
            _mark(frame, "scoop_top", "top", p.upper),
            _mark(frame, "scoop_low", "flank", p.lower),
            _mark(frame, "bag_notch", "bag_curve", p.notch),
        ),
    )


def _layer(
    frame: Frame,
    lines: Sequence[tuple[str, Line]],
    start: str,
    pocket: Pocket,
    landmarks: tuple[Landmark, ...],
) -> SizedPiece:
    middle = np.mean([line.points.mean(axis=0) for _, line in lines], axis=0)
    long = 0.3 * length(pocket.scoop.points)
    reach = np.array([0.0, long])
    return SizedPiece(
        edges=edges_of(lines, frame, start),
        grain=_grain(frame, middle - reach, middle + reach),
        landmarks=landmarks,
        label=Label(frame.pair(middle), frame.degrees),
    )


def belt(d: Drawn, i: int) -> SizedPiece:
    """Return the belt: concentric arcs, from the underlap round to the centre back.

    The chords of each zone add up to its length exactly, so that the polyline has
    the length of what is sewn to it.
    """
    frame = Frame(97.0, (2050.0 + 14.0 * i, 380.0))
    m = d.measures
    back, front = m.top_back - BACK_EASED, m.top_front
    turns = [0.0]
    marks = []
    for zone in (UNDERLAP, back, front, front, back):
        count = math.ceil(zone / 12.0)
        turn = 2.0 * math.degrees(math.asin(zone / count / 2.0 / BELT_RADIUS))
        turns += [turns[-1] + turn * (k + 1) for k in range(count)]
        marks.append(len(turns) - 1)
    rays = np.array([direction(turn - 90.0 - turns[marks[2]]) for turn in turns])
    apex = np.array([0.0, BELT_RADIUS])
    join, rim = apex + BELT_RADIUS * rays, apex + (BELT_RADIUS - BELT_WIDTH) * rays
    # Drawn clockwise, as the other pieces: the frame takes the lines backwards.
    lines = [
        ("join", Line.through(join[::-1])),
        ("lap_end", Line.through(np.array([join[0], rim[0]]))),
        ("rim", Line.through(rim)),
        ("plain_end", Line.through(np.array([rim[-1], join[-1]]))),
    ]
    names = ("cb_mark", "flank_mark_right", "cf_mark", "flank_mark_left")
    along = np.array([0.25 * front, 0.0])
    middle = np.array([0.0, BELT_WIDTH / 2.0])
    return SizedPiece(
        edges=edges_of(lines, frame, "rim"),
        grain=_grain(frame, middle - along, middle + along),
        landmarks=tuple(
            _mark(frame, name, "join", join[mark]) for name, mark in zip(names, marks, strict=False)
        ),
        label=Label(frame.pair(middle + 1.5 * along), frame.degrees),
    )


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
    folder = Path(__file__).resolve().parent / "geometry"
    folder.mkdir(exist_ok=True)
    for name, piece in draft().items():
        (folder / f"{name}.json").write_text(dumps(piece), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
