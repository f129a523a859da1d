"""Cut lines taken back: three ways to finish a corner, and the seam line that is the same."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import shapely
from drawing import STRESS, Frame, Picture

from propagate.geometry.joints import Corner
from propagate.geometry.offset import offset_chain
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, SizedPiece, frozen_points
from propagate.recognise.seam_lines import seam_lines
from propagate.report.scene.items import Role

__all__ = ["taken_back"]

Array = npt.NDArray[np.float64]
WIDTHS = {"hem": 40.0, "right": 12.0, "top": 12.0, "left": 12.0}
CORNERS = ((0.0, 0.0), (190.0, 0.0), (150.0, 170.0), (40.0, 170.0))
PANELS = (
    ("Mitre", (Corner.MITRE, Corner.MITRE), "both lines\nrun on until\nthey meet"),
    (
        "Square end",
        (Corner.SQUARE_TO_FIRST, Corner.SQUARE_TO_SECOND),
        "the hem's\nallowance ends\nsquare to it",
    ),
    (
        "Turned hem",
        (Corner.MIRROR_IN_FIRST, Corner.MIRROR_IN_SECOND),
        "the image of\nthe sides, to\nbe folded up",
    ),
)
FRAME = 0.27


def taken_back(folder: Path) -> None:
    """Draw a piece whose hem is finished in three ways, with what is read off its cut line."""
    picture = Picture(
        "Cut lines taken back",
        "One piece with three cut lines: the hem's corners are a mitre, end square, or are the "
        "image of the sides. The seam line inside is the same, and so are its corners. What the "
        "finish added to the cut line is drawn thick.",
    )
    for number, (title, corners, words) in enumerate(PANELS):
        frame = Frame(FRAME, at=(8.0 + number * 66.0, 0.0))
        picture.text((frame((95.0, 0.0))[0], 56.0), title, bold=True, size=3.8)
        _piece(picture, frame, corners)
        picture.text((frame((95.0, 0.0))[0], 26.0), words)
    picture.legend()
    picture.save(folder, "taken-back")


def _piece(picture: Picture, frame: Frame, corners: tuple[Corner, Corner]) -> None:
    ring = np.array(CORNERS)
    draft = [np.vstack([ring[k], ring[(k + 1) % 4]]) for k in range(4)]
    finish = [corners[0], Corner.MITRE, Corner.MITRE, corners[1]]
    cut = offset_chain(draft, list(WIDTHS.values()), finish)
    parts = dict(zip(WIDTHS, (cut.stretches(i)[0] for i in range(4)), strict=True))
    hem = parts["hem"]
    jogs = [hem[-2:], hem[:2]] if len(hem) > 2 else []
    if jogs:  # a reader parts an outline at its sharp corners
        parts["right"] = np.vstack([jogs[0], parts["right"][1:]])
        parts["left"] = np.vstack([parts["left"], jogs[1][1:]])
        parts["hem"] = hem[1:-1]
    edges = tuple(Edge(name, frozen_points(points)) for name, points in parts.items())
    found = seam_lines("piece", {"M": SizedPiece(edges, Grain((95, 20), (95, 150)))}, WIDTHS)
    seam = np.concatenate([edge.points[:-1] for edge in found.edges["M"]])
    picture.cloth(shapely.Polygon(frame(seam)))
    picture.line(frame(np.vstack([cut.points, cut.points[:1]])), Role.CUT)
    for edge in found.edges["M"]:
        picture.line(frame(edge.points), Role.SEAM)
    for jog in jogs:
        picture.line(frame(jog), STRESS[1])
