"""Whether labels of a drawing lie on lines, marks or each other, by the metrics of a real font.

The boxes are those of the glyphs of DejaVu Sans, the widest of the fonts that a picture asks for
and the one that a PDF is set in, as fontTools reads them from the font's tables.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import shapely
from fontTools.ttLib import TTFont

import propagate
from propagate.report.scene.items import Area, Dot, Line, Role, Scene, Text

__all__ = ["Drawn", "collisions", "drawn_in_scene", "drawn_in_svg"]

SVG = "{http://www.w3.org/2000/svg}"
FONTS = Path(propagate.__file__).parent / "report" / "pdf" / "fonts"
MAY_LIE_UNDER = {"face", "tape-on", "trim", "level", "leader", "label", "sheet"}
"""Layers that a label may lie on: hatched areas are read through, levels are interrupted."""
DROP = 0.35
"""The base line of a text lies so far below the middle of its height, of its size."""
SLACK = 0.02
"""What rounding of places may add, mm."""


@dataclass(frozen=True)
class Drawn:
    """Labels with their boxes, and what they may not lie on, by layer."""

    labels: tuple[tuple[str, shapely.Polygon], ...]
    lines: tuple[tuple[str, shapely.Geometry], ...]


def collisions(drawn: Drawn) -> list[str]:
    """Name every label that lies on a line, a mark or another label."""
    found = []
    tree = shapely.STRtree([shape for _, shape in drawn.lines])
    for words, box in drawn.labels:
        inner = box.buffer(-SLACK)
        found += [
            f"'{words}' lies on {drawn.lines[i][0]}"
            for i in sorted(tree.query(inner, predicate="intersects"))
        ]
    for i, (words, box) in enumerate(drawn.labels):
        found += [
            f"'{words}' lies on '{other}'"
            for other, shape in drawn.labels[i + 1 :]
            if box.buffer(-SLACK).intersects(shape)
        ]
    return list(dict.fromkeys(found))


@cache
def _font(bold: bool) -> TTFont:
    return TTFont(FONTS / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"))


def text_box(
    words: str, at: tuple[float, float], size: float, angle: float, anchor: str, bold: bool
) -> shapely.Polygon:
    """The box of the glyphs of a text, y up, `at` the middle of its height, angle in degrees."""
    font = _font(bold)
    names = [font.getBestCmap()[ord(char)] for char in words]
    unit = size / font["head"].unitsPerEm
    wide = unit * sum(font["hmtx"][name][0] for name in names)
    glyphs = [font["glyf"][name] for name in names]
    high = [glyph for glyph in glyphs if glyph.numberOfContours]
    top = unit * max(glyph.yMax for glyph in high) - DROP * size
    low = unit * min(glyph.yMin for glyph in high) - DROP * size
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[anchor]
    corners = np.array([(left, low), (left + wide, low), (left + wide, top), (left, top)])
    turn = math.radians(angle)
    c, s = math.cos(turn), math.sin(turn)
    return shapely.Polygon(corners @ np.array([[c, s], [-s, c]]) + at)


def drawn_in_scene(scene: Scene) -> Drawn:
    """What a scene holds."""
    labels = tuple(
        (t.text, text_box(t.text, tuple(t.at), t.size, t.angle, t.anchor, t.bold))
        for t in scene.of(Role.LABEL)
        if isinstance(t, Text)
    )
    lines: list[tuple[str, shapely.Geometry]] = []
    for item in scene.items:
        if item.role.value in MAY_LIE_UNDER:
            continue
        if isinstance(item, Line):
            ring = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
            lines += [(item.role.value, s) for s in _segments(ring)]
        elif isinstance(item, Dot):
            lines.append((item.role.value, shapely.Point(item.centre).buffer(item.radius)))
        elif isinstance(item, Area):
            lines.append((item.role.value, shapely.Polygon(item.rings[0])))
    return Drawn(labels, tuple(lines))


def drawn_in_svg(svg: str) -> Drawn:
    """What a picture holds, read from its file; y is turned up."""
    root = ET.fromstring(svg)
    labels: list[tuple[str, shapely.Polygon]] = []
    lines: list[tuple[str, shapely.Geometry]] = []
    for group in root.iter(f"{SVG}g"):
        layer = group.get("id", "")
        if layer == "label":
            labels += [(text.text or "", _box_of(text)) for text in group.iter(f"{SVG}text")]
        elif layer not in MAY_LIE_UNDER:
            lines += [(layer, shape) for shape in _shapes_of(group)]
    return Drawn(tuple(labels), tuple(lines))


def _segments(ring: Iterable[Iterable[float]]) -> Iterator[shapely.LineString]:
    return (shapely.LineString(pair) for pair in pairwise(ring))


def _shapes_of(group: ET.Element) -> Iterator[shapely.Geometry]:
    for path in group.iter(f"{SVG}path"):
        for part in re.findall(r"M([^M]*)", path.attrib["d"]):
            xy = [[float(v) for v in p.split()] for p in part.removesuffix("Z").split("L")]
            ring = [(x, -y) for x, y in xy]
            yield from _segments([*ring, ring[0]] if part.endswith("Z") else ring)
    for circle in group.iter(f"{SVG}circle"):
        x, y, radius = (float(circle.attrib[key]) for key in ("cx", "cy", "r"))
        yield shapely.Point(x, -y).buffer(radius)


def _box_of(text: ET.Element) -> shapely.Polygon:
    match = re.fullmatch(
        r"translate\(([-\d.]+) ([-\d.]+)\)(?: rotate\(([-\d.]+)\))?", text.attrib["transform"]
    )
    assert match
    size = float(text.attrib["font-size"])
    assert math.isclose(float(text.attrib["y"]), DROP * size, abs_tol=1e-3)
    return text_box(
        text.text or "",
        (float(match[1]), -float(match[2])),
        size,
        -float(match[3] or 0.0),
        text.attrib["text-anchor"],
        text.get("font-weight") == "bold",
    )
