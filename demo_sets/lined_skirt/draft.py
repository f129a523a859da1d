"""Draft the lined skirt in all its sizes.

``python demo_sets/lined_skirt/draft.py`` rewrites the files in ``geometry/`` and
nothing else; the same draft gives the same bytes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.drafting import along, cut, flatten, length, locate
from demo_sets.drawing import Drawing, Frame, write_pieces
from demo_sets.lined_skirt.darts import (
    Divided,
    MarkedDart,
    Moved,
    Placed,
    Plan,
    Swung,
    closed_on,
    mark_anew,
    swing,
)
from demo_sets.lined_skirt.mains import Quarter, draw_back, draw_front, true_waist
from demo_sets.lined_skirt.regions import bag_curve, cut_line, region
from demo_sets.scoop_skirt.mains import Measures, turned
from propagate.pattern.model import Array, Piece, SizedPiece

__all__ = ["Chart", "Drawn", "draft", "main"]


@dataclass(frozen=True)
class Chart:
    """The body, mm, and what the draft adds to it."""

    sizes: tuple[str, ...] = ("8", "10", "12", "14", "16", "18", "20")
    waist: tuple[float, ...] = (640, 680, 720, 760, 805, 855, 910)
    hip: tuple[float, ...] = (884, 924, 964, 1004, 1048, 1096, 1148)
    depth: tuple[float, ...] = (196, 199, 202, 205, 207, 209, 211)  # waist to hip
    long: tuple[float, ...] = (590, 596, 602, 608, 614, 620, 626)  # waist to hem, at the centre
    dart: tuple[float, ...] = (26, 27, 28, 29, 30, 31, 32)  # of the back; the front's is narrower
    zip: tuple[float, ...] = (180, 180, 180, 200, 200, 200, 200)
    waist_ease: float = 16.0
    hip_ease: float = 44.0
    back_dart: Plan | None = None  # where it is put instead of the middle of the waist
    dip: float = 0.0  # degrees by which the waist dips at the side
    trued: bool = False  # the dip taken out again with a curve, half of it in each waist


SHIFT = 5.0  # the side lies this far to the back at the waist and to the front at the hip
FACING = 55.0  # mm wide
LINING_EASE = 2.0  # mm at each side
PLEAT = 15.0  # mm at the centre front; folded it takes twice as much
SHORTER = 25.0  # mm that the lining's hem is above the skirt's
POCKET_TOP, POCKET = 60.0, 150.0  # mm below the waist, and long
BAG = 150.0  # mm deep
ALLOWANCE, CLEAR = 10.0, 3.0  # of the facing; the interfacing stays clear of its cut edge
THIGH = 330.0  # mm below the waist

# Each size lies on the page in a place of its own.
SCATTER = ((0, 0), (58, -31), (-42, 44), (79, 47), (-63, -72), (38, 66), (-88, 13))


@dataclass(frozen=True, eq=False)
class Drawn:
    """One size in the drafting frame."""

    measures: Measures
    zip: float
    front: Quarter
    back: Quarter
    swung: Swung | None = None  # the back's dart


def _draw(chart: Chart, i: int) -> Drawn:
    top = (chart.waist[i] + chart.waist_ease) / 4.0
    seat = (chart.hip[i] + chart.hip_ease) / 4.0
    measures = Measures(
        top_front=top + SHIFT,
        top_back=top - SHIFT,
        seat_front=seat - SHIFT,
        seat_back=seat + SHIFT,
        seat_depth=float(chart.depth[i]),
        long=float(chart.long[i]),
        dart=float(chart.dart[i]),
    )
    front = draw_front(measures)
    plan = chart.back_dart
    back = draw_back(measures, front, plan.by if isinstance(plan, Placed) else 0.0, chart.dip)
    if chart.trued:
        front, back = (true_waist(q, chart.dip / 2.0) for q in (front, back))
    if isinstance(plan, Moved | Divided):
        back = _marked_anew(back, plan)
    swung = plan if isinstance(plan, Swung) else None
    return Drawn(measures, float(chart.zip[i]), front, back, swung)


def _marked_anew(back: Quarter, plan: Moved | Divided) -> Quarter:
    """The back with its dart put elsewhere on the outline that it has."""
    waist, darts = mark_anew(back.waist, back.darts[0], plan)
    closed, side = closed_on(waist, darts, back.side)
    return replace(back, waist=waist, darts=darts, closed=closed, closed_side=side)


def _frame(i: int, angle: float, x: float, y: float, mirror: bool = False) -> Frame:
    dx, dy = SCATTER[i]
    return Frame(angle, (x + dx, y + dy), mirror)


# --- from lines to drawings ----------------------------------------------------


def _drawing(lines: Mapping[str, Array], grain: tuple[Array, Array]) -> Drawing:
    drawing = Drawing()
    for name, line in lines.items():
        drawing.edge(name, line)
    drawing.grain = grain
    return drawing


def _upright(middle: Array, reach: float) -> tuple[Array, Array]:
    """A grain line parallel to the centre about a point."""
    up = np.array([0.0, reach])
    return middle - up, middle + up


def _main(q: Quarter, m: Measures, swung: Swung | None = None) -> Drawing:
    lines = {"hem": flatten(q.hem), "side": q.side, "waist": q.waist, "centre": q.centre}
    marks = dict(zip(("pocket_low", "pocket_top"), _mouth_ends(q), strict=True))
    marks = {"hip_notch": q.hip, **marks}
    darts = q.darts
    if swung is not None:
        lines, darts, by = _swung(lines, q, q.darts[-1].legs, swung)
        fixed = swung.at if swung.into == "side" else 0.0
        marks = {
            name: turned(place, by, q.tip) if locate(q.side, place) > fixed else place
            for name, place in marks.items()
        }
    drawing = Drawing()
    for name, line in lines.items():
        if name == "hem" and (swung is None or swung.into != "hem"):
            drawing.edge_of_beziers(name, q.hem)
        else:
            drawing.edge(name, line, _turns(darts, name))
    for name, place in marks.items():
        drawing.mark(name, "side", place)
    for dart in darts:
        _mark_dart(drawing, dart, [lines[dart.edge][leg] for leg in dart.legs])
    drawing.drills.append(("dart_tip", q.tip))
    heights = {"waist": 0.0, "hip": -m.seat_depth, "thigh": -THIGH}
    drawing.levels = {name: (0.0, y) for name, y in heights.items()}
    drawing.grain = _upright(np.array([0.45 * m.seat_back, -0.6 * m.long]), 0.22 * m.long)
    drawing.label = ((0.7 * m.top_back, -0.62 * m.long), 90.0)
    return drawing


def _turns(darts: Sequence[MarkedDart], edge: str) -> list[int]:
    return [turn for dart in darts if dart.edge == edge for turn in dart.turns]


def _mark_dart(drawing: Drawing, dart: MarkedDart, legs: Sequence[Array]) -> None:
    names = (f"{dart.name}_side", f"{dart.name}_centre")
    for name, place in zip(names, legs, strict=True):
        drawing.mark(name, dart.edge, place, "dart leg")
    drawing.darts.append((dart.name, dart.edge, names, dart.tip))


def _swung(
    lines: Mapping[str, Array], q: Quarter, legs: tuple[int, int], swung: Swung
) -> tuple[dict[str, Array], tuple[MarkedDart, ...], float]:
    """Lines with the dart swung, cut through its place on the edge of the main piece."""
    edge = q.side if swung.into == "side" else flatten(q.hem)
    found, dart, by = swing(lines, MarkedDart(legs, q.tip), swung.into, along(edge, swung.at))
    return found, (dart,), by


def _mouth_ends(q: Quarter) -> tuple[Array, Array]:
    """The low and the high end of the pocket's mouth on the side, measured from the waist."""
    down = q.side[::-1]
    return along(down, POCKET_TOP + POCKET), along(down, POCKET_TOP)


def facing_lines(q: Quarter) -> dict[str, Array]:
    """The facing: along the waist, its dart closed."""
    hem = q.centre[1]
    return region(
        [
            ("low", q.closed, -FACING),
            ("side", q.closed_side, 0.0),
            ("waist", q.closed, 0.0),
            ("centre", np.array([q.closed[-1], hem]), 0.0),
        ]
    )


def lining_lines(q: Quarter, *, pleat: bool) -> dict[str, Array]:
    """The lining: with ease at the side, a shorter hem, and a pleat at the centre or none."""
    return region(
        [
            ("hem", flatten(q.hem), -SHORTER),
            ("side", q.side, LINING_EASE),
            ("waist", q.waist, 0.0),
            ("centre", q.centre, PLEAT if pleat else 0.0),
        ]
    )


def _facing(q: Quarter) -> Drawing:
    lines = facing_lines(q)
    drawing = _drawing(
        lines, _upright(q.closed[len(q.closed) // 2] - np.array([0.0, 0.5 * FACING]), 15.0)
    )
    drawing.mark("dart_match", "waist", q.waist[q.legs[1]])
    return drawing


def _fusible(q: Quarter, *, fold: bool) -> Drawing:
    inside = ALLOWANCE - CLEAR
    rows = facing_lines(q)
    lines = region(
        [(n, line, 0.0 if fold and n == "centre" else inside) for n, line in rows.items()]
    )
    return _drawing(
        lines, _upright(q.closed[len(q.closed) // 2] - np.array([0.0, 0.5 * FACING]), 15.0)
    )


def _lining(q: Quarter, m: Measures, *, pleat: bool, swung: Swung | None = None) -> Drawing:
    lines = lining_lines(q, pleat=pleat)
    darts = tuple(
        MarkedDart(_leg_vertices(lines["waist"], q.waist[list(dart.legs)]), dart.tip, dart.name)
        for dart in q.darts
    )
    if swung is not None:
        lines, darts, _ = _swung(lines, q, darts[-1].legs, swung)
    drawing = Drawing()
    for name, line in lines.items():
        drawing.edge(name, line, _turns(darts, name))
    for dart in darts:
        legs = [lines[dart.edge][leg] for leg in dart.legs]
        if pleat:
            drawing.mark("dart_side", "waist", legs[0])
            drawing.mark("dart_centre", "waist", legs[1])
        else:
            _mark_dart(drawing, dart, legs)
    drawing.drills.append(("dart_tip", q.tip))
    drawing.grain = _upright(np.array([0.45 * m.seat_back, -0.6 * m.long]), 0.2 * m.long)
    drawing.label = ((0.6 * m.top_back, -0.6 * m.long), 90.0)
    return drawing


def _leg_vertices(line: Array, legs: Array) -> tuple[int, int]:
    """The vertices at which the legs of a dart stand."""
    low, high = (int(np.hypot(*(line - leg).T).argmin()) for leg in legs)
    return low, high


def _bag(q: Quarter) -> Drawing:
    low, high = _mouth_ends(q)
    up = q.side
    far = length(up)
    mouth = cut(up, far - POCKET_TOP - POCKET, far - POCKET_TOP)
    mouth[0], mouth[-1] = low, high
    curve = bag_curve(mouth, BAG)
    middle = 0.5 * (low + high) - np.array([0.4 * BAG, 20.0])
    drawing = _drawing({"mouth": mouth, "curve": curve}, _upright(middle, 30.0))
    drawing.mark("bag_notch", "curve", curve[len(curve) // 2])
    return drawing


# --- pieces --------------------------------------------------------------------


def front(d: Drawn, i: int) -> SizedPiece:
    """Return the front, its side at the left of the page."""
    return _main(d.front, d.measures).placed(_frame(i, 0.0, 320.0, 80.0, mirror=True))


def back(d: Drawn, i: int) -> SizedPiece:
    """Return the back, upside down on the page."""
    drawing = _main(d.back, d.measures, d.swung)
    drawing.mark("zip_end", "centre", along(d.back.centre, d.zip))
    return drawing.placed(_frame(i, 180.0, -400.0, -1300.0))


def facing_front(d: Drawn, i: int) -> SizedPiece:
    """Return the front facing, on the fold like the front."""
    return _facing(d.front).placed(_frame(i, 12.0, 900.0, 60.0, mirror=True))


def facing_back(d: Drawn, i: int) -> SizedPiece:
    """Return the back facing."""
    return _facing(d.back).placed(_frame(i, -31.0 + 2.0 * i, 1350.0, 90.0))


def fusible_front(d: Drawn, i: int) -> SizedPiece:
    """Return the interfacing of the front facing."""
    return _fusible(d.front, fold=True).placed(_frame(i, 0.0, 900.0, -320.0, mirror=True))


def fusible_back(d: Drawn, i: int) -> SizedPiece:
    """Return the interfacing of the back facing."""
    return _fusible(d.back, fold=False).placed(_frame(i, 90.0, 1400.0, -330.0))


def lining_front(d: Drawn, i: int) -> SizedPiece:
    """Return the front lining, with a pleat at the centre and one for the dart."""
    drawing = _lining(d.front, d.measures, pleat=True)
    drawing.mark("pleat", "waist", d.front.closed[-1])
    return drawing.placed(_frame(i, 4.0, 2000.0, 40.0, mirror=True))


def lining_back(d: Drawn, i: int) -> SizedPiece:
    """Return the back lining."""
    drawing = _lining(d.back, d.measures, pleat=False, swung=d.swung)
    drawing.mark("zip_end", "centre", along(d.back.centre, d.zip))
    return drawing.placed(_frame(i, -3.0, 2450.0, 20.0))


def bag_front(d: Drawn, i: int) -> SizedPiece:
    """Return the bag that is sewn to the front."""
    return _bag(d.front).placed(_frame(i, 21.0, 900.0, -820.0, mirror=True))


def bag_back(d: Drawn, i: int) -> SizedPiece:
    """Return the bag that is sewn to the back, drawn face down."""
    return _bag(d.back).placed(_frame(i, -14.0, 1450.0, -800.0, mirror=True))


def bag_cut(bag: SizedPiece, square: Sequence[str] = ()) -> Array:
    """Return the cut line of a bag; the allowances of some edges end square to them."""
    return cut_line([(edge.name, edge.points, ALLOWANCE) for edge in bag.edges], square)


PIECES: dict[str, Callable[[Drawn, int], SizedPiece]] = {
    "front": front,
    "back": back,
    "facing_front": facing_front,
    "facing_back": facing_back,
    "fusible_front": fusible_front,
    "fusible_back": fusible_back,
    "lining_front": lining_front,
    "lining_back": lining_back,
    "bag_front": bag_front,
    "bag_back": bag_back,
}


def draft(chart: Chart | None = None) -> dict[str, Piece]:
    """Return every piece in every size."""
    chart = chart or Chart()
    drawn = [_draw(chart, i) for i in range(len(chart.sizes))]
    return {
        name: Piece(name, {size: make(drawn[i], i) for i, size in enumerate(chart.sizes)})
        for name, make in PIECES.items()
    }


def main() -> None:
    """Write ``geometry/PIECE.json`` beside this file."""
    write_pieces(draft(), Path(__file__).resolve().parent / "geometry")


if __name__ == "__main__":
    main()
