"""Draft the child's pinafore in all its sizes.

``python demo_sets/puddle_pinafore/draft.py`` rewrites the files in ``geometry/`` and nothing
else; the same draft gives the same bytes.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.drafting import Bezier, length, unit
from demo_sets.drawing import Drawing, Frame, write_pieces
from propagate.pattern.model import Array, Piece, SizedPiece

__all__ = ["Measures", "build", "draw", "main", "measures"]

HOME = Path(__file__).resolve().parent
CHEST_EASE = 140.0
FLARE = 8.0  # degrees of the side
SLOPE = 20.0  # degrees of the shoulder
CHEST_BELOW = 15.0  # mm from the underarm down to the chest level
LOWER = 0.72  # of the way from underarm to hem: where it is lengthened
BINDING = 26.0
NECK_SHARE, ARMHOLE_SHARE = -0.04, -0.03  # by which the bindings are cut shorter


@dataclass(frozen=True)
class Measures:
    """What the draft needs of one size, mm; the width is of one quarter, ease included."""

    chest: float
    high: float  # underarm to the neck end of the shoulder
    neck: float  # half the width of the neck
    front_deep: float
    back_deep: float
    shoulder: float
    long: float  # underarm to hem at the centre
    pocket: float  # width of the pocket; it is 10 mm deeper


def measures() -> dict[str, Measures]:
    """What every size measures: the chest from the chart of the set, the rest by its number."""
    table = tomllib.loads((HOME / "set.toml").read_text(encoding="utf-8"))
    return {
        size: Measures(
            chest=(table["chart"]["chest"][i] + CHEST_EASE) / 4.0,
            high=142.0 + 5.0 * i,
            neck=92.0 + 1.5 * i,
            front_deep=98.0 + 2.0 * i,
            back_deep=56.0 + 1.5 * i,
            shoulder=34.0 + 2.0 * i,
            long=340.0 + 26.0 * i,
            pocket=96.0 + 3.0 * i,
        )
        for i, size in enumerate(table["sizes"])
    }


def even(curve: Bezier, count: int = 64) -> Array:
    """Return a curve at even parameters: its length is a smooth function of its points."""
    return curve(np.linspace(0.0, 1.0, count + 1))


def body(m: Measures, deep: float) -> dict[str, Array]:
    """Front or back, half on the fold: lines in the order of the outline, `hem` first.

    Neck and armhole are square to the shoulder, the neck to the fold, the armhole and the hem to
    the side: so they run on over every seam.
    """
    # Underarm at y = 0; a chest line at another height gives the quarter its width.
    under = np.array([m.chest - CHEST_BELOW * np.tan(np.radians(FLARE)), 0.0])
    down = unit(-90.0 + FLARE)
    foot = under + m.long / -down[1] * down
    start = np.array([0.0, -m.long])
    pull = 0.35 * foot[0]
    hem = even(Bezier.hermite(start, (1.0, 0.0), foot, unit(FLARE), (pull, pull)), 24)
    neck_end = np.array([m.neck, m.high])
    tip = neck_end + m.shoulder * unit(-SLOPE)
    reach = (0.75 * (under[0] - tip[0]), 0.5 * (tip[1] - under[1]))
    armhole = Bezier.hermite(under, unit(180.0 + FLARE), tip, unit(90.0 - SLOPE), reach)
    low = np.array([0.0, m.high - deep])
    pulls = (0.5 * deep, 0.6 * m.neck)
    neck = Bezier.hermite(neck_end, unit(-90.0 - SLOPE), low, (-1.0, 0.0), pulls)
    return {
        "hem": hem,
        "side": np.vstack([foot, under]),
        "armhole": even(armhole),
        "shoulder": np.vstack([tip, neck_end]),
        "neck": even(neck),
        "centre": np.vstack([low, start]),
    }


def _body(lines: Mapping[str, Array], m: Measures) -> Drawing:
    drawing = Drawing()
    for name, line in lines.items():
        drawing.edge(name, line)
    heights = {"chest": -CHEST_BELOW, "lower": -LOWER * m.long, "hem": -m.long}
    drawing.levels = {name: (0.0, y) for name, y in heights.items()}
    drawing.grain = ((40.0, -0.8 * m.long), (40.0, -0.2 * m.long))
    drawing.label = ((60.0, -0.15 * m.long), 0.0)
    return drawing


def _strip(parts: Mapping[str, float], far: str) -> Drawing:
    """A binding: parts of its sewn edge by the mark at which each ends, the last one at `far`."""
    drawing, at = Drawing(), np.cumsum(list(parts.values())).tolist()
    drawing.edge("sewn", [(0.0, 0.0), (at[-1], 0.0)])
    drawing.edge(far, [(at[-1], 0.0), (at[-1], BINDING)])
    drawing.edge("rim", [(at[-1], BINDING), (0.0, BINDING)])
    drawing.edge("start", [(0.0, BINDING), (0.0, 0.0)])
    for name, place in zip(parts, at[:-1], strict=False):
        drawing.mark(name, "sewn", (place, 0.0))
    drawing.grain = ((30.0, 3.0), (50.0, 23.0))
    drawing.label = ((80.0, 13.0), 0.0)
    return drawing


def _pocket(m: Measures) -> Drawing:
    drawing, x, y = Drawing(), m.pocket / 2.0, m.pocket + 10.0
    corners = [(-x, 0.0), (x, 0.0), (x, y), (-x, y)]
    names = ("bottom", "right", "top", "left")
    for name, begin, end in zip(names, corners, corners[1:] + corners[:1], strict=True):
        drawing.edge(name, [begin, end])
    drawing.grain = ((0.0, 0.2 * y), (0.0, 0.8 * y))
    drawing.label = ((0.2 * x, 0.5 * y), 0.0)
    return drawing


def draw(m: Measures) -> dict[str, SizedPiece]:
    """Return all pieces of one size, laid out on the page."""
    front, back = body(m, m.front_deep), body(m, m.back_deep)
    drawn = {"front": _body(front, m), "back": _body(back, m), "pocket": _pocket(m)}
    # The pocket's upper corners lie on one height, 14 mm inside of what it covers.
    middle, top = 0.55 * m.chest, -0.2 * m.long
    for name, side in (("pocket_in", -0.5), ("pocket_out", 0.5)):
        drawn["front"].drills.append((name, np.array([middle + side * (m.pocket - 28.0), top])))
    for name, edge, share, far in (
        ("neck_binding", "neck", NECK_SHARE, "centre_back"),
        ("armhole_binding", "armhole", ARMHOLE_SHARE, "end"),
    ):
        parts = {"shoulder": length(front[edge]), "last": length(back[edge])}
        parts = {name: (1.0 + share) * part for name, part in parts.items()}
        drawn[name] = _strip(parts, far)
    frames = {
        "front": Frame(),
        "back": Frame(origin=(-80.0, 0.0), mirror=True),
        "pocket": Frame(origin=(420.0, -200.0)),
        "neck_binding": Frame(origin=(380.0, 60.0)),
        "armhole_binding": Frame(origin=(380.0, 0.0)),
    }
    return {name: drawing.placed(frames[name]) for name, drawing in drawn.items()}


def build() -> dict[str, Piece]:
    """Return every piece in every size."""
    sizes = {size: draw(m) for size, m in measures().items()}
    names = next(iter(sizes.values()))
    return {name: Piece(name, {size: made[name] for size, made in sizes.items()}) for name in names}


def main() -> None:
    """Write ``geometry/PIECE.json`` beside this file."""
    write_pieces(build(), HOME / "geometry")


if __name__ == "__main__":
    main()
