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

from propagate.values import dataclass

__all__ = ["FONT", "Canvas", "Measured", "Stroke", "clean_text", "text_width"]

Array = npt.NDArray[np.float64]
Anchor = Literal["start", "middle", "end"]

FONT = "Helvetica, Arial, 'DejaVu Sans', sans-serif"
_NARROW = frozenset(" .,:;'|!()[]/ijlIft-")
_WIDE = frozenset("mwMWQO@%+=—→±°")
_BOLD = 1.12
_UNBROKEN = re.compile(r"(?:[\d./]+\x20)+(?:mm|in)\b\S*|\S+")
"""Words of a text; a number, also a mixed one, is one with its unit."""


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn: colour, width in mm, dashes in mm."""

    colour: str
    width: float
    dash: tuple[float, ...] = ()

    def words(self) -> str:
        """The SVG attributes."""
        dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in self.dash)}"' if self.dash else ""
        return f'fill="none" stroke="{self.colour}" stroke-width="{self.width:g}"{dash}'


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Estimate the width of a text, rather too wide than too narrow, mm."""
    units = sum(0.36 if c in _NARROW else 0.9 if c in _WIDE else 0.64 for c in text)
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


def clean_text(text: str) -> str:
    """Escape a text for XML; characters that XML cannot hold become a mark."""
    return escape("".join(c if _in_xml(ord(c)) else "\N{REPLACEMENT CHARACTER}" for c in text))


def _in_xml(code: int) -> bool:
    return code in (9, 10, 13) or 32 <= code < 0xD800 or (code >= 0xE000 and code not in _NOT_XML)


_NOT_XML = frozenset({0xFFFE, 0xFFFF})


def _attributes(values: Mapping[str, str]) -> str:
    kept = {
        key: "".join(c if _in_xml(ord(c)) else "\N{REPLACEMENT CHARACTER}" for c in value)
        for key, value in values.items()
    }
    return "".join(f" {key}={quoteattr(value)}" for key, value in kept.items())


@dataclass
class _Item:
    """Something drawn: a template with the points that fill it."""

    kind: Literal["path", "text", "circle"]
    points: list[Array]
    words: str
    inner: str = ""
    angle: float = 0.0
    radius: float = 0.0
    closed: bool = False


@dataclass
class Canvas(Measured):
    """Collects what is drawn, layer by layer; later layers lie on top."""

    layers: dict[str, list[_Item]] = field(default_factory=dict)
    low: Array = field(default_factory=lambda: np.array([np.inf, np.inf]))
    high: Array = field(default_factory=lambda: np.array([-np.inf, -np.inf]))

    def cover(self, points: npt.ArrayLike) -> None:
        """Make room for points."""
        xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
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
        """Draw a polyline."""
        xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        self.cover(xy)
        words = stroke.words() + _attributes(attributes or {})
        self._add(layer, _Item("path", [xy], words, closed=closed))

    def shape(
        self,
        layer: str,
        rings: Sequence[npt.ArrayLike],
        fill: str,
        *,
        attributes: Mapping[str, str] | None = None,
    ) -> None:
        """Fill an area, its holes left out."""
        points = [np.asarray(ring, dtype=np.float64).reshape(-1, 2) for ring in rings]
        for ring in points:
            self.cover(ring)
        words = f'fill="{fill}" fill-rule="evenodd"' + _attributes(attributes or {})
        self._add(layer, _Item("path", points, words, closed=True))

    def circle(
        self, layer: str, centre: npt.ArrayLike, radius: float, stroke: Stroke, fill: str = ""
    ) -> None:
        """Draw a circle."""
        xy = np.asarray(centre, dtype=np.float64)
        self.cover([xy - radius, xy + radius])
        words = stroke.words().replace('fill="none"', f'fill="{fill}"') if fill else stroke.words()
        self._add(layer, _Item("circle", [xy.reshape(1, 2)], words, radius=radius))

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
        xy = np.asarray(at, dtype=np.float64)
        width = self.width(text, size, bold=bold)
        shift = {"start": 0.0, "middle": -width / 2, "end": -width}[anchor]
        turn = math.radians(angle)
        along, up = (
            np.array([math.cos(turn), math.sin(turn)]),
            np.array([-math.sin(turn), math.cos(turn)]),
        )
        corners = [
            xy + along * (shift + a) + up * b for a in (0.0, width) for b in (-size / 2, size / 2)
        ]
        self.cover(corners)
        words = f'font-size="{size:g}" text-anchor="{anchor}" fill="{colour}"'
        if bold:
            words += ' font-weight="bold"'
        if halo:
            words += f' stroke="#ffffff" stroke-width="{size * 0.3:.2f}" paint-order="stroke"'
        item = _Item("text", [xy.reshape(1, 2)], words, clean_text(text), angle, size)
        self._add(layer, item)

    def _add(self, layer: str, item: _Item) -> None:
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
        width, height = _number(size[0]), _number(size[1])
        parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" font-family="{FONT}" stroke-linejoin="round" '
            'stroke-linecap="round">',
            f"<title>{clean_text(title)}</title>",
            f"<desc>{clean_text(text)}</desc>",
            f"<defs>{definitions}</defs>",
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
        ]
        names = [
            *(n for n in order if n in self.layers),
            *(n for n in self.layers if n not in order),
        ]
        for name in names:
            parts.append(f'<g id="{name}">')
            parts += [_written(item, origin) for item in self.layers[name]]
            parts.append("</g>")
        return "\n".join([*parts, "</svg>", ""])


def _number(value: float) -> str:
    """A number of mm with at most four decimals."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _written(item: _Item, origin: Array) -> str:
    placed = [(points - origin) * [1.0, -1.0] for points in item.points]
    if item.kind == "path":
        rings = [
            "M"
            + "L".join(f"{_number(x)} {_number(y)}" for x, y in points)
            + ("Z" if item.closed else "")
            for points in placed
        ]
        return f'<path d="{"".join(rings)}" {item.words}/>'
    x, y = (_number(v) for v in placed[0][0])
    if item.kind == "circle":
        return f'<circle cx="{x}" cy="{y}" r="{_number(item.radius)}" {item.words}/>'
    turn = f" rotate({_number(-item.angle)})" if item.angle else ""
    place = f'transform="translate({x} {y}){turn}" y="{_number(item.radius * 0.35)}"'
    return f"<text {place} {item.words}>{item.inner}</text>"
