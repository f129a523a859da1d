"""A canvas in millimetres, y up, that is written as SVG at true scale.

Everything is drawn in the piece's own coordinates.  Geometry is written without
transforms, so that a length measured in the file is the length on paper.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

import numpy as np
import numpy.typing as npt

from propagate.report.style import Stroke
from propagate.values import dataclass

__all__ = [
    "NARROW",
    "Anchor",
    "Canvas",
    "Drawn",
    "Measured",
    "TextLine",
    "text_width",
    "upright_angle",
]

Array = npt.NDArray[np.float64]
Anchor = Literal["start", "middle", "end"]

_FONT = "Helvetica, Arial, 'DejaVu Sans', sans-serif"
NARROW = frozenset(" .,:;'|!()[]/ijlIft-")
"""Letters and signs that take less than others in any font."""
_WIDE = frozenset("mwMWQO@%+=—→±°")
_BOLD = 1.12
_NOT_XML = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML cannot hold."""
_UNBROKEN = re.compile(r"(?:[\d./]+\x20)+(?:mm|in)\b\S*|\S+")
"""Words of a text; a number, also a mixed one, is one with its unit."""


def _as_points(points: npt.ArrayLike) -> Array:
    return np.asarray(points, dtype=np.float64).reshape(-1, 2)


def upright_angle(degrees: float) -> float:
    """Return the same direction of a line, -90 to 90, so that a text on it can be read."""
    return (degrees + 90.0) % 180.0 - 90.0


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Estimate the width of a text, rather too wide than too narrow, mm."""
    units = sum(0.36 if c in NARROW else 0.9 if c in _WIDE else 0.64 for c in text)
    return units * size * (_BOLD if bold else 1.0)


class Measured:
    """Fits texts into widths, mm; how wide a letter is hangs on what they are written with."""

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Width of a line, in the unit of `size`."""
        return text_width(text, size, bold=bold)

    def fitted(self, text: str, size: float, room: float, *, bold: bool = False) -> str:
        """Return a text that fits into a width, shortened by an ellipsis where it must be."""
        if self.width(text, size, bold=bold) <= room:
            return text
        low, high = 0, len(text)
        while low < high:
            middle = (low + high + 1) // 2
            if self.width(text[:middle].rstrip() + "…", size, bold=bold) <= room:
                low = middle
            else:
                high = middle - 1
        return text[:low].rstrip() + "…"

    def wrapped(self, text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
        """Cut a text into lines that fit into a width; a word that is too long is cut too."""
        lines: list[str] = []
        space, used = self.width(" ", size, bold=bold), room
        for word in _UNBROKEN.findall(text):
            wide = self.width(word, size, bold=bold)
            if used + space + wide <= room:
                lines[-1] += f" {word}"
                used += space + wide
                continue
            while wide > room and len(word) > 1:
                lines.append(self.fitted(word, size, room, bold=bold)[:-1] or word[0])
                word = word[len(lines[-1]) :].lstrip()
                wide = self.width(word, size, bold=bold)
            lines.append(word)
            used = wide
        return lines

    def in_lines(
        self, text: str, size: float, room: float, most: int, *, bold: bool = False
    ) -> list[str]:
        """Cut a text into `most` lines at most; what is left over ends in an ellipsis."""
        lines = self.wrapped(text, size, room, bold=bold)
        if len(lines) > most:
            rest = " ".join(lines[most - 1 :])
            lines = [*lines[: most - 1], self.fitted(rest, size, room, bold=bold)]
        return lines


def _clean_xml(text: str) -> str:
    """Replace characters that XML cannot hold by a mark."""
    return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


@dataclass(frozen=True)
class TextLine:
    """A line of text: where the middle of its height lies, mm, and how it looks."""

    x: float
    y: float
    text: str
    size: float
    angle: float = 0.0
    anchor: Anchor = "middle"
    colour: str = "#1a1a1a"
    bold: bool = False
    halo: bool = False

    @property
    def along(self) -> Array:
        """Unit vector (2,) in the direction of the line."""
        turn = math.radians(self.angle)
        return np.array([math.cos(turn), math.sin(turn)])

    def shift(self, width: float) -> float:
        """Where the line starts, from its anchor."""
        return {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]

    def corners(self, width: float) -> list[Array]:
        """Corners of the box around the line, mm."""
        along = self.along
        up = np.array([-along[1], along[0]]) * self.size / 2
        start = np.array([self.x, self.y]) + along * self.shift(width)
        return [start + along * a + up * b for a in (0.0, width) for b in (-1.0, 1.0)]


@dataclass(frozen=True, eq=False)
class Drawn:
    """A polyline, an area, a circle (with a radius) or a text, in mm."""

    paths: tuple[Array, ...] = ()
    closed: bool = False
    stroke: Stroke | None = None
    fill: str = ""
    radius: float = 0.0
    attributes: Mapping[str, str] = field(default_factory=dict)
    text: TextLine | None = None


@dataclass
class Canvas(Measured):
    """Collects what is drawn, layer by layer; later layers lie on top."""

    layers: dict[str, list[Drawn]] = field(default_factory=dict)
    low: Array = field(default_factory=lambda: np.array([np.inf, np.inf]))
    high: Array = field(default_factory=lambda: np.array([-np.inf, -np.inf]))

    def cover(self, points: npt.ArrayLike) -> None:
        """Make room for points."""
        xy = _as_points(points)
        self.low = np.minimum(self.low, xy.min(axis=0))
        self.high = np.maximum(self.high, xy.max(axis=0))

    def line(
        self,
        layer: str,
        points: npt.ArrayLike,
        stroke: Stroke,
        *,
        closed: bool = False,
        attributes: Mapping[str, str] | None = None,
    ) -> None:
        """Draw a polyline; a picture keeps the attributes, paper has none."""
        xy = _as_points(points)
        self.cover(xy)
        self._put(layer, Drawn((xy,), closed, stroke, attributes=attributes or {}))

    def shape(
        self,
        layer: str,
        rings: Sequence[npt.ArrayLike],
        fill: str,
        *,
        attributes: Mapping[str, str] | None = None,
    ) -> None:
        """Fill an area, its holes left out."""
        paths = tuple(map(_as_points, rings))
        for ring in paths:
            self.cover(ring)
        self._put(layer, Drawn(paths, True, fill=fill, attributes=attributes or {}))

    def circle(
        self, layer: str, centre: npt.ArrayLike, radius: float, stroke: Stroke, fill: str = ""
    ) -> None:
        """Draw a circle."""
        xy = _as_points(centre)
        self.cover([xy - radius, xy + radius])
        self._put(layer, Drawn((xy,), True, stroke, fill, radius))

    def text(
        self,
        layer: str,
        at: npt.ArrayLike,
        text: str,
        size: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "middle",
        colour: str = "#1a1a1a",
        bold: bool = False,
        halo: bool = False,
    ) -> None:
        """Write a text; `at` is the middle of its height, `angle` in degrees."""
        x, y = np.asarray(at, dtype=np.float64).tolist()
        line = TextLine(x, y, text, size, angle, anchor, colour, bold, halo)
        self.cover(line.corners(self.width(text, size, bold=bold)))
        self._put(layer, Drawn(text=line))

    def _put(self, layer: str, item: Drawn) -> None:
        self.layers.setdefault(layer, []).append(item)

    def svg(
        self, *, title: str, text: str, definitions: str, order: Sequence[str], margin: float
    ) -> str:
        """Write everything as one SVG document at true scale.

        Parameters
        ----------
        title, text : str
            Name and description of the picture.
        definitions : str
            Content of ``<defs>``.
        order : sequence of layer names
            From the lowest up; layers that are not named come last.
        margin : float
            White border, mm.
        """
        origin = np.array([self.low[0] - margin, self.high[1] + margin])
        size = self.high - self.low + 2 * margin
        width, height = _write_number(size[0]), _write_number(size[1])
        parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" font-family="{_FONT}" stroke-linejoin="round" '
            'stroke-linecap="round">',
            f"<title>{escape(_clean_xml(title))}</title>",
            f"<desc>{escape(_clean_xml(text))}</desc>",
            f"<defs>{definitions}</defs>",
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        ]
        names = [
            *(n for n in order if n in self.layers),
            *(n for n in self.layers if n not in order),
        ]
        for name in names:
            parts.append(f'<g id="{name}">')
            parts += [_svg_of(item, origin) for item in self.layers[name]]
            parts.append("</g>")
        return "\n".join([*parts, "</svg>", ""])


def _write_number(value: float) -> str:
    """Write a number of mm with at most four decimals."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _svg_of(item: Drawn, origin: Array) -> str:
    """Return one element of a picture whose upper left corner is `origin`."""
    if item.text is not None:
        return _svg_of_text(item.text, origin)
    placed = [(path - origin) * [1.0, -1.0] for path in item.paths]
    words = item.stroke.words() if item.stroke else f'fill="{item.fill}" fill-rule="evenodd"'
    if item.stroke and item.fill:
        words = words.replace('fill="none"', f'fill="{item.fill}"')
    words += "".join(
        f" {key}={quoteattr(_clean_xml(value))}" for key, value in item.attributes.items()
    )
    if item.radius:
        x, y = (_write_number(v) for v in placed[0][0])
        return f'<circle cx="{x}" cy="{y}" r="{_write_number(item.radius)}" {words}/>'
    rings = [
        "M"
        + "L".join(f"{_write_number(x)} {_write_number(y)}" for x, y in points)
        + ("Z" if item.closed else "")
        for points in placed
    ]
    return f'<path d="{"".join(rings)}" {words}/>'


def _svg_of_text(line: TextLine, origin: Array) -> str:
    x, y = _write_number(line.x - origin[0]), _write_number(-(line.y - origin[1]))
    turn = f" rotate({_write_number(-line.angle)})" if line.angle else ""
    words = f'font-size="{line.size:g}" text-anchor="{line.anchor}" fill="{line.colour}"'
    if line.bold:
        words += ' font-weight="bold"'
    if line.halo:
        words += f' stroke="#ffffff" stroke-width="{line.size * 0.3:.2f}" paint-order="stroke"'
    place = f'transform="translate({x} {y}){turn}" y="{_write_number(line.size * 0.35)}"'
    return f"<text {place} {words}>{escape(_clean_xml(line.text))}</text>"
