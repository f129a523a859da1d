"""Draft the concert dress in all its sizes.

``python demo_sets/concert_dress/draft.py`` rewrites the files in ``geometry/`` and nothing
else; the same draft gives the same bytes.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from demo_sets.concert_dress.panels import Measures, Panel, draw_facing, draw_panels
from demo_sets.drafting import length
from demo_sets.drawing import Drawing, Frame, write_pieces
from propagate.pattern.model import Array, Piece, SizedPiece

__all__ = ["build", "main", "measures", "pieces"]

HOME = Path(__file__).resolve().parent
BUST_EASE, WAIST_EASE, HIP_EASE = 70.0, 50.0, 60.0
BINDING = 30.0  # width of the armhole binding
ZIPS = (500.0, 500.0, 550.0, 550.0, 550.0, 550.0, 600.0, 600.0)


def measures() -> dict[str, Measures]:
    """What every size measures: girths from the chart of the set, heights by their number."""
    table = tomllib.loads((HOME / "set.toml").read_text(encoding="utf-8"))
    chart = table["chart"]
    found = {}
    for i, size in enumerate(table["sizes"]):
        found[size] = Measures(
            bust=(chart["bust"][i] + BUST_EASE) / 4.0,
            waist=(chart["waist"][i] + WAIST_EASE) / 4.0,
            hip=(chart["hip"][i] + HIP_EASE) / 4.0,
            bust_high=158.0 + 1.5 * i - 1.5 * max(0, i - 5),
            arm_high=198.0 + 1.5 * i - 1.0 * max(0, i - 5),
            top=404.0 + 5.0 * i,
            hip_deep=200.0 + 2.0 * i,
            long=590.0 + 6.0 * i,
            neck=80.0 + 1.5 * i,
            neck_deep=104.0 + 2.0 * i,
            inner=53.0 + 0.5 * i,
            outer=46.0 + 1.5 * i,
            zip=ZIPS[i],
        )
    return found


def _panel(panel: Panel, m: Measures, grain: float) -> Drawing:
    drawing = Drawing()
    for name, line in panel.lines.items():
        drawing.edge(name, line)
    for name, (edge, place) in panel.notches.items():
        drawing.mark(name, edge, place)
    heights = {"bust": m.bust_high, "waist": 0.0, "hip": -m.hip_deep, "hem": -m.long}
    drawing.levels = {name: (grain, y) for name, y in heights.items()}
    drawing.grain = ((grain, -0.8 * m.long), (grain, -0.2 * m.long))
    drawing.label = ((grain - 12.0, -0.7 * m.long), 90.0)
    return drawing


def _facing(lines: Mapping[str, Array]) -> Drawing:
    drawing = Drawing()
    for name, line in lines.items():
        drawing.edge(name, line)
    low = lines["centre"][-1]
    drawing.grain = (low + np.array([14.0, 8.0]), low + np.array([14.0, 34.0]))
    drawing.label = (low + np.array([26.0, 20.0]), 0.0)
    return drawing


def _binding(back: float, front: float) -> Drawing:
    """A strip on the bias for one armhole, from the underarm over the back to the front."""
    drawing = Drawing()
    whole = back + front
    drawing.edge("sewn", [(0.0, 0.0), (whole, 0.0)])
    drawing.edge("front_end", [(whole, 0.0), (whole, BINDING)])
    drawing.edge("rim", [(whole, BINDING), (0.0, BINDING)])
    drawing.edge("back_end", [(0.0, BINDING), (0.0, 0.0)])
    drawing.mark("shoulder", "sewn", (back, 0.0))
    drawing.grain = ((60.0, 4.0), (82.0, 26.0))
    drawing.label = ((140.0, 15.0), 0.0)
    return drawing


def pieces(m: Measures, panels: Mapping[str, Panel]) -> dict[str, SizedPiece]:
    """Return all pieces of one size, laid out on the page."""
    grains = {"front": 45.0, "side_front": 70.0, "side_back": 70.0, "back": 60.0}
    drawn = {name: _panel(panels[name], m, grain) for name, grain in grains.items()}
    drawn["front_facing"] = _facing(draw_facing(panels["front"], "centre_front"))
    drawn["back_facing"] = _facing(draw_facing(panels["back"], "centre"))
    armholes = (length(panels[name].lines["armhole"]) for name in ("side_back", "side_front"))
    drawn["armhole_binding"] = _binding(*armholes)
    frames = {
        "front": Frame(),
        "side_front": Frame(origin=(320.0, 0.0)),
        "side_back": Frame(origin=(-330.0, 0.0), mirror=True),
        "back": Frame(origin=(-700.0, 0.0)),
        "front_facing": Frame(origin=(620.0, -120.0)),
        "back_facing": Frame(origin=(620.0, -480.0), mirror=True),
        "armhole_binding": Frame(angle=90.0, origin=(860.0, -560.0)),
    }
    return {name: drawing.placed(frames[name]) for name, drawing in drawn.items()}


def build() -> dict[str, Piece]:
    """Return every piece in every size."""
    sizes = {size: pieces(m, draw_panels(m)) for size, m in measures().items()}
    names = next(iter(sizes.values()))
    return {name: Piece(name, {size: made[name] for size, made in sizes.items()}) for name in names}


def main() -> None:
    """Write ``geometry/PIECE.json`` beside this file."""
    write_pieces(build(), HOME / "geometry")


if __name__ == "__main__":
    main()
