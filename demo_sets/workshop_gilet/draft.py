"""Draft the workshop gilet in all its sizes, and write it as DXF with a rule file.

``python demo_sets/workshop_gilet/draft.py`` rewrites ``workshop_gilet.dxf`` and
``workshop_gilet.rul``, and the revised fronts in ``revised/``; the same draft gives the
same bytes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.drafting import Bezier, join, length
from demo_sets.drawing import Drawing, Frame
from demo_sets.workshop_gilet.mains import (
    BACK,
    FRONT,
    Lower,
    Measures,
    Upper,
    draw_lower,
    draw_upper,
    even,
)
from propagate.io import set_toml
from propagate.io.dxf import WriteOptions
from propagate.io.dxf.write import render_drawing
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["draft", "main", "write_revised", "write_set"]

HOME = Path(__file__).resolve().parent
NAME = "workshop_gilet"
SIZES = ("84", "90", "96", "102", "110", "118")
BASE = "96"
CHEST = (840, 900, 960, 1020, 1100, 1180)  # body
WAIST = (720, 776, 832, 892, 974, 1060)
HIP = (900, 952, 1004, 1056, 1130, 1208)
HIP_DEEP = (192, 196, 200, 203, 205, 206)  # waist to hip
HIGH = (176, 179, 182, 184, 185, 185)  # waist to underarm
DEEP = (232, 240, 248, 257, 269, 281)  # underarm to the neck end of the shoulder
NECK = (76, 78, 80, 82.5, 86, 89.5)
SHOULDER = (92, 95, 98, 101, 104, 106)
ACROSS = (163, 170, 177, 184, 193, 201)
CHEST_EASE = 130.0
WAIST_EASE = 110.0
HIP_EASE = 90.0
SHIFT = 6.0  # the side lies this far to the back

GUARD = 48.0  # widths of the strips
BINDING = 34.0
COLLAR = 46.0
POCKET = ((150, 165), (154, 170), (158, 175), (158, 175), (164, 181), (164, 181))
POCKET_FROM_CENTRE = 64.0
POCKET_BELOW_WAIST = 70.0

LET_OUT = 9.0  # mm that the revised lower front is wider at the hem
SHAPED = 7.0  # mm that its hem rises between centre and side
LOWERED = 12.0  # mm that the revised upper front's neck is lower


@dataclass(frozen=True, eq=False)
class Drawn:
    """One size in the drafting frame."""

    upper_front: Upper
    upper_back: Upper
    lower_front: Lower
    lower_back: Lower
    pocket: tuple[float, float]


def _draw(size: str) -> Drawn:
    i = SIZES.index(size)
    front = Measures(
        chest=(CHEST[i] + CHEST_EASE) / 4.0 + SHIFT,
        waist=(WAIST[i] + WAIST_EASE) / 4.0 + SHIFT,
        hip=(HIP[i] + HIP_EASE) / 4.0 + SHIFT,
        hip_deep=float(HIP_DEEP[i]),
        high=float(HIGH[i]),
        deep=float(DEEP[i]),
        neck=float(NECK[i]),
        shoulder=float(SHOULDER[i]),
        across=float(ACROSS[i]),
    )
    back = replace(
        front,
        chest=front.chest - 2.0 * SHIFT,
        waist=front.waist - 2.0 * SHIFT,
        hip=front.hip - 2.0 * SHIFT,
    )
    wide, high = POCKET[i]
    return Drawn(
        draw_upper(front, FRONT),
        draw_upper(back, BACK),
        draw_lower(front, FRONT),
        draw_lower(back, BACK),
        (wide, high),
    )


# --- pieces --------------------------------------------------------------------


def _upper(part: Upper) -> Drawing:
    drawing = Drawing()
    for name in ("waist", "side", "armhole", "shoulder", "neck", "centre"):
        drawing.edge(name, getattr(part, name))
    drawing.mark("armhole_notch", "armhole", part.notch)
    drawing.grain = ((90.0, 20.0), (90.0, 220.0))
    drawing.label = ((100.0, 120.0), 0.0)
    return drawing


def _lower(part: Lower) -> Drawing:
    drawing = Drawing()
    for name in ("hem", "side", "waist", "centre"):
        drawing.edge(name, getattr(part, name))
    drawing.mark("hip_notch", "side", part.hip)
    drawing.grain = ((40.0, -260.0), (40.0, -30.0))
    drawing.label = ((130.0, -40.0), 0.0)
    return drawing


def upper_front(d: Drawn) -> Drawing:
    """Return the upper front, half."""
    return _upper(d.upper_front)


def upper_back(d: Drawn) -> Drawing:
    """Return the upper back, half; its centre lies on the fold."""
    return _upper(d.upper_back)


def lower_front(d: Drawn) -> Drawing:
    """Return the lower front, half, with the place of the pocket."""
    drawing = _lower(d.lower_front)
    wide, high = d.pocket
    left, top = POCKET_FROM_CENTRE, -POCKET_BELOW_WAIST
    right, low = left + wide, top - high
    box = [(left, top), (left, low), (right, low), (right, top)]
    drawing.lines.append(("pocket_place", np.array(box)))
    drawing.drills.append(("pocket_corner", np.array([left + 5.0, top - 5.0])))
    return drawing


def lower_back(d: Drawn) -> Drawing:
    """Return the lower back, half; its centre lies on the fold."""
    return _lower(d.lower_back)


def _strip(parts: Mapping[str, float], width: float) -> Drawing:
    """Return a strip sewn along its lower edge, with a mark between its parts."""
    ends = np.cumsum([0.0, *parts.values()])
    total = float(ends[-1])
    drawing = Drawing()
    drawing.edge("sewn", [(x, 0.0) for x in ends])
    drawing.edge("last_end", [(total, 0.0), (total, width)])
    drawing.edge("rim", [(x, width) for x in ends[::-1]])
    drawing.edge("first_end", [(0.0, width), (0.0, 0.0)])
    for name, x in zip(list(parts)[:-1], ends[1:-1], strict=True):
        drawing.mark(f"{name}_end", "sewn", (x, 0.0))
    drawing.grain = ((0.1 * total, width / 2.0), (0.45 * total, width / 2.0))
    drawing.label = ((0.6 * total, 0.5 * width), 0.0)
    return drawing


def armhole_binding(d: Drawn) -> Drawing:
    """Return the binding of one armhole, from the underarm over the back to the front."""
    parts = {"back": length(d.upper_back.armhole), "front": length(d.upper_front.armhole)}
    return _strip(parts, BINDING)


def collar(d: Drawn) -> Drawing:
    """Return half the stand collar, from the fold at the centre back to the zip."""
    parts = {"back": length(d.upper_back.neck), "front": length(d.upper_front.neck)}
    return _strip(parts, COLLAR)


def zip_guard(d: Drawn) -> Drawing:
    """Return the strip behind the zip, from the hem to the neck."""
    parts = {"lower": length(d.lower_front.centre), "upper": length(d.upper_front.centre)}
    return _strip(parts, GUARD)


def pocket(d: Drawn) -> Drawing:
    """Return the patch pocket with its cut corner."""
    wide, high = d.pocket
    corner = 30.0
    drawing = Drawing()
    drawing.edge("lower", [(corner, 0.0), (wide, 0.0)])
    drawing.edge("outer", [(wide, 0.0), (wide, high)])
    drawing.edge("upper", [(wide, high), (0.0, high)])
    drawing.edge("inner", [(0.0, high), (0.0, corner)])
    drawing.edge("corner", [(0.0, corner), (corner, 0.0)])
    drawing.grain = ((wide / 2.0, 30.0), (wide / 2.0, high - 30.0))
    drawing.label = ((wide / 2.0, 0.75 * high), 0.0)
    return drawing


PIECES: Mapping[str, tuple[Callable[[Drawn], Drawing], Frame]] = {
    "upper_front": (upper_front, Frame(0.0, (420.0, 460.0), mirror=True)),
    "lower_front": (lower_front, Frame(0.0, (420.0, 330.0), mirror=True)),
    "upper_back": (upper_back, Frame(180.0, (860.0, 960.0))),
    "lower_back": (lower_back, Frame(180.0, (860.0, 30.0))),
    "armhole_binding": (armhole_binding, Frame(0.0, (0.0, 1010.0))),
    "collar": (collar, Frame(90.0, (-60.0, 40.0))),
    "zip_guard": (zip_guard, Frame(90.0, (1000.0, 0.0))),
    "pocket": (pocket, Frame(0.0, (1080.0, 250.0))),
}
"""Piece to what draws it and to its place on the page, the same in every size."""


def draft() -> dict[str, Piece]:
    """Return every piece in every size."""
    drawn = {size: _draw(size) for size in SIZES}
    return {
        name: Piece(name, {size: make(d).placed(frame) for size, d in drawn.items()})
        for name, (make, frame) in PIECES.items()
    }


# --- revised fronts, as a colleague sends them back --------------------------------


def _let_out(d: Drawn) -> Drawn:
    """Wider below the hip by up to `LET_OUT`, the hem raised between centre and side."""
    old = d.lower_front
    down = (old.side[0] - old.side[1]) / float(np.hypot(*(old.side[0] - old.side[1])))
    corner = old.side[0] + (LET_OUT, 0.0)
    up = (old.side[1] - corner) / float(np.hypot(*(old.side[1] - corner)))
    below = even(Bezier.hermite(corner, up, old.side[1], -down, (30.0, 30.0)), 12)
    share = np.linspace(0.0, 1.0, len(old.hem))[:, None]
    hem = old.hem + share * (LET_OUT, 0.0) + np.sin(np.pi * share) ** 2 * (0.0, SHAPED)
    return replace(d, lower_front=replace(old, side=join(below, old.side[1:]), hem=hem))


def _lowered(d: Drawn) -> Drawn:
    """The neck lower by `LOWERED` at the centre and as it was at the shoulder."""
    old = d.upper_front
    share = np.linspace(0.0, 1.0, len(old.neck))[:, None]
    neck = old.neck - (3 * share**2 - 2 * share**3) * (0.0, LOWERED)
    centre = np.vstack([neck[-1], old.centre[-1]])
    return replace(d, upper_front=replace(old, neck=neck, centre=centre))


# --- files -----------------------------------------------------------------------


def _as_set(nests: Mapping[str, Mapping[str, SizedPiece]]) -> PatternSet:
    """The pieces with what ``set.toml`` says of them."""
    head = set_toml.parse_set((HOME / "set.toml").read_text(encoding="utf-8"), "set.toml")
    sizes = tuple(next(iter(nests.values())))
    pieces = {name: Piece(name, nest) for name, nest in nests.items()}
    return PatternSet(
        head.name, sizes, BASE, head.lay_on, pieces, {name: head.info[name] for name in nests}
    )


def _write(pattern: PatternSet, path: Path, options: WriteOptions) -> None:
    """Write a drawing over the one of the last draft, which the project keeps the history of."""
    for end, data in render_drawing(pattern, options)[0].items():
        path.with_suffix(end).write_bytes(data)


def write_set(folder: Path) -> None:
    """Write ``workshop_gilet.dxf`` and its rule file."""
    options = WriteOptions(kind="rules")
    nests = {name: piece.nest for name, piece in draft().items()}
    _write(_as_set(nests), folder / f"{NAME}.dxf", options)


def write_revised(folder: Path) -> None:
    """Write the lower front in the base size, and the upper front in all sizes.

    Each in a frame of its own: the first turned, the second mirrored and turned.  The first
    names nothing, as a file from another program.
    """
    folder.mkdir(exist_ok=True)
    nest = {BASE: lower_front(_let_out(_draw(BASE))).placed(Frame(23.0, (-350.0, 90.0)))}
    options = WriteOptions(kind="nested", names=False)
    _write(_as_set({"lower_front": nest}), folder / "front_base_size.dxf", options)
    frame = Frame(90.0, (75.0, -40.0))
    nest = {size: upper_front(_lowered(_draw(size))).placed(frame) for size in SIZES}
    options = WriteOptions(kind="rules")
    _write(_as_set({"upper_front": nest}), folder / "front_all_sizes.dxf", options)


def main() -> None:
    """Write every file beside this one."""
    write_set(HOME)
    write_revised(HOME / "revised")


if __name__ == "__main__":
    main()
