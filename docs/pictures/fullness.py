# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""Fullness: gathers, a binding on a curve, pleats; of the sets that the page builds."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt
import shapely
from drawing import LEADER, Frame, Picture, composed

import propagate
from propagate.geometry.polyline import length
from propagate.pattern.model import SizedPiece
from propagate.report.scene.items import Role
from propagate.report.style import BLUE, Stroke

__all__ = ["fullness"]

PAGE = Path(__file__).parent.parent / "fullness.md"
WIDE = 76.0
WORDS = -66.0
"""Height of the titles."""
FOLD = Stroke(BLUE, 0.5)
MOVE = Stroke(BLUE, 0.4)


def fullness(folder: Path) -> None:
    """Draw the three beside each other."""
    picture = Picture(
        "Gathers, a binding, pleats",
        "The edge of a skirt gathered on to a shorter yoke; a binding as long as the line beside "
        "the neckline where its fold lies, and a little stretched; a panel with three pleats, "
        "each fold laid on its placement mark, on the band that it is then as long as.",
    )
    _gathers(picture, 0.0)
    _binding(picture, WIDE)
    _pleats(picture, 2 * WIDE)
    picture.save(folder, "fullness")


@cache
def _set(name: str) -> propagate.PatternSet:
    """A set as its files stand in the page."""
    text = PAGE.read_text(encoding="utf-8")
    blocks = re.findall(rf"^`{name}/([^`\n]+)`:\n\n```\w+\n(.*?)^```$", text, re.M | re.S)
    with tempfile.TemporaryDirectory() as folder:
        for file, words in blocks:
            path = Path(folder) / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(words, encoding="utf-8")
        return propagate.load(folder)


def _piece(name: str, piece: str) -> SizedPiece:
    pattern = _set(name)
    return pattern.sized(piece, pattern.base)


def _words(picture: Picture, x: float, title: str, words: str) -> None:
    picture.text([x + WIDE / 2, WORDS], title, bold=True, size=4.0)
    picture.text([x + WIDE / 2, WORDS - 5.2], words)


def _drawn(picture: Picture, piece: SizedPiece, frame: Frame, low: float = -1000.0) -> None:
    """A piece without its marks, cut off at a height."""
    box = shapely.box(-1000.0, low, 1000.0, 1000.0)
    picture.draw(composed(piece, frame, shown=(Role.FACE, Role.SEAM)).clipped(box))


def _gathers(picture: Picture, x: float) -> None:
    yoke, skirt = _piece("smock", "yoke"), _piece("smock", "skirt")
    scale = 0.22
    frames = [
        Frame(scale, at=(x + (WIDE - scale * wide) / 2, y))
        for wide, y in ((160.0, -36.0), (240.0, -46.0))
    ]
    _drawn(picture, yoke, frames[0])
    _drawn(picture, skirt, frames[1], -58.0)
    above, below = (frame(one.outline) for frame, one in zip(frames, (yoke, skirt), strict=True))
    lead, fuller = length(yoke.edge("low").points), length(skirt.edge("top").points)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        ends = [
            [points[:, 0].min() + share * np.ptp(points[:, 0]), y]
            for points, y in ((above, -36.0), (below, -46.0))
        ]
        picture.line(ends, LEADER)
    picture.text([x + WIDE / 2, -32.5], f"{lead:.0f} mm")
    picture.text([x + WIDE / 2, -53.5], f"{fuller:.0f} mm")
    _words(picture, x, "gathers", f"{fuller / lead:g} to 1, evenly: the skirt\non the yoke")


def _binding(picture: Picture, x: float) -> None:
    yoke, strip = _piece("smock", "yoke"), _piece("smock", "binding")
    frame = Frame(0.4, at=(x + 8.0, -62.0))
    box = shapely.box(x, -44.0, x + 58.0, 10.0)
    picture.draw(composed(yoke, frame, shown=(Role.FACE, Role.SEAM)).clipped(box))
    neck = shapely.LineString(frame(yoke.edge("neck").points))
    lines = [neck.offset_curve(0.4 * 6.0 * sign) for sign in (1.0, -1.0)]
    folded = min(lines, key=lambda line: line.length)
    picture.line(shapely.get_coordinates(folded), Role.FOLD)
    tips = [one.interpolate(share, normalized=True) for one, share in ((folded, 0.72), (neck, 0.3))]
    fold, seam = (np.array([tip.x, tip.y]) for tip in tips)
    picture.leader([x + 14.0, 2.0], fold, "the fold, 6 mm outside", anchor="start")
    picture.leader([x + 38.0, -40.0], seam, "seam line", anchor="start")
    _drawn(picture, strip, Frame(0.4, at=(x + 8.0, -56.0)))
    cut = length(strip.edge("sewn").points)
    picture.text([x + 44.0, -52.5], f"{cut:.1f} mm", anchor="start")
    _words(picture, x, "binding", "as long as the line of its fold,\nand 96 % of that are cut")


def _pleats(picture: Picture, x: float) -> None:
    panel, band = _piece("kilt", "panel"), _piece("kilt", "band")
    scale = 0.145
    top = -26.0
    frame = Frame(scale, at=(x + (WIDE - scale * 480.0) / 2, top))
    _drawn(picture, panel, frame, -58.0)
    for mark in "abc":
        fold, place = (
            frame([panel.landmark(f"{mark}_{end}").point])[0] for end in ("fold", "place")
        )
        picture.line([fold, fold + [0.0, -24.0]], FOLD)
        picture.line([place, place + [0.0, -24.0]], Role.LEVEL)
        middle = (fold + place) / 2
        arc = np.array([fold, middle + [0.0, 3.2], place])
        picture.arrow(_bow(arc), MOVE, head=1.8)
    _drawn(picture, band, Frame(scale, at=(x + (WIDE - scale * 360.0) / 2, -8.0)))
    wide, closed = (length(one.edge(e).points) for one, e in ((panel, "waist"), (band, "lower")))
    picture.text([x + WIDE / 2, -13.0], f"closed {closed:.0f} mm")
    picture.text([x + WIDE / 2, -55.0], f"open {wide:.0f} mm")
    _words(picture, x, "pleats", "each fold laid on its mark; closed\nthey are as long as the band")


def _bow(points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """A curve from the first to the last of three points, drawn towards the middle one."""
    t = np.linspace(0.0, 1.0, 9)[:, None]
    first, middle, last = points
    return np.asarray((1 - t) ** 2 * first + 2 * t * (1 - t) * middle + t**2 * last)
