"""The lines of one element, and what it is called."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import chain

from propagate.errors import FormatError
from propagate.io.arcs import arc_segments
from propagate.io.options import ReadOptions
from propagate.io.path_data import MOST_COMMANDS, PathReader, Point
from propagate.io.svg.scale import length_of, read_numbers
from propagate.io.svg.xml_tree import Node
from propagate.visible import quoted

__all__ = ["Line", "lines_of", "names_of", "parse_path"]

_INKSCAPE = "http://www.inkscape.org/namespaces/inkscape label"
_CODED = re.compile(r"_x([0-9A-Fa-f]{2,6})_")
_MADE_UP = re.compile(
    r"(?:path|line|rect|circle|ellipse|polyline|polygon|use|g|svg|layer|group|shape|object|text|"
    r"clip|xmlid|vector|curve)[-_ ]?\d[\d_-]*",
    re.IGNORECASE,
)
_PLAIN = re.compile(
    r"(?:path|line|rect|circle|ellipse|polyline|polygon|g|svg|vector)", re.IGNORECASE
)


def names_of(node: Node) -> tuple[str | None, frozenset[str], Mapping[str, str]]:
    """The name that a person gave, the words of the class, and the ``data-`` attributes."""
    data = {
        key.removeprefix("data-"): value.strip()
        for key, value in node.attributes.items()
        if key.startswith("data-")
    }
    words = frozenset((node.get("class") or "").split())
    if data.get("name"):
        return data["name"], words, data

    def decode(match: re.Match[str]) -> str:  # what a drawing program could not write in an id
        code = int(match[1], 16)
        return chr(code) if 32 <= code < 0xD800 or 0xE000 <= code < 0x110000 else "_"

    for text in (node.attributes.get(_INKSCAPE), node.get("id")):
        if text is None or not text.strip():
            continue
        decoded = _CODED.sub(decode, text.strip())
        if not (_MADE_UP.fullmatch(decoded) or _PLAIN.fullmatch(decoded)):
            return decoded, words, data
    return None, words, data


def lines_of(node: Node, options: ReadOptions) -> list[Line]:
    """The lines of a shape in its own coordinates.

    Raises
    ------
    FormatError
        For numbers or path data that cannot be read.
    """
    if node.tag == "path":
        return parse_path(node.get("d") or "")

    def at(key: str, default: float = 0.0) -> float:
        return length_of(node.get(key), default, options)

    if node.tag == "line":
        return [Line((at("x1"), at("y1")), [((at("x2"), at("y2")),)])]
    if node.tag in ("polyline", "polygon"):
        text = node.get("points") or ""
        try:
            values = read_numbers(text)
        except ValueError:
            raise FormatError(f"found the points {quoted(text[:60])}, expected numbers") from None
        if len(values) > 2 * MOST_COMMANDS:
            raise FormatError(f"found more than {MOST_COMMANDS} points in one line")
        pairs = list(zip(values[::2], values[1::2], strict=False))
        if len(pairs) < 2:
            return []
        return [Line(pairs[0], [(pair,) for pair in pairs[1:]], closed=node.tag == "polygon")]
    if node.tag == "text":  # its place only
        return [Line((at("x"), at("y")), [((at("x") + 1.0, at("y")),)])]
    if node.tag == "rect":
        return _rect_lines(at("x"), at("y"), at("width"), at("height"), node, options)
    rx, ry = (at("r"), at("r")) if node.tag == "circle" else (at("rx"), at("ry"))
    if rx <= 0 or ry <= 0:
        return []
    x, y = at("cx"), at("cy")
    right, left = (x + rx, y), (x - rx, y)
    halves = ((right, left), (left, right))
    segments = [arc_segments(a, (rx, ry), 0.0, False, True, b) for a, b in halves]
    return [Line(right, [*chain.from_iterable(segments)], closed=True)]


def _rect_lines(
    x: float, y: float, width: float, height: float, node: Node, options: ReadOptions
) -> list[Line]:
    if width <= 0 or height <= 0:
        return []
    rx, ry = (length_of(node.get(key), -1.0, options) for key in ("rx", "ry"))
    rx, ry = (ry if rx < 0 else rx), (rx if ry < 0 else ry)
    rx, ry = min(max(rx, 0.0), width / 2), min(max(ry, 0.0), height / 2)
    r, b = x + width, y + height
    if rx == 0.0 or ry == 0.0:
        return [Line((x, y), [((r, y),), ((r, b),), ((x, b),)], closed=True)]
    line = Line((x + rx, y), closed=True)
    for before, after in (
        ((r - rx, y), (r, y + ry)),
        ((r, b - ry), (r - rx, b)),
        ((x + rx, b), (x, b - ry)),
        ((x, y + ry), (x + rx, y)),
    ):
        line.segments.append((before,))
        line.segments += arc_segments(before, (rx, ry), 0.0, False, True, after)
    return [line]


@dataclass
class Line:
    """One line of a path in the drawing's own units: see `Chain`."""

    start: Point
    segments: list[tuple[Point, ...]] = field(default_factory=list)
    closed: bool = False


def parse_path(text: str) -> list[Line]:
    """Return the lines of path data.

    Raises
    ------
    FormatError
        See `PathReader.steps`.
    """
    lines: list[Line] = []
    here: Point = (0.0, 0.0)
    for step in PathReader(text, several=True).steps():
        end = step.points[-1]
        if step.kind == "Z":
            lines[-1].closed = bool(lines[-1].segments)
        if step.kind in "MZ":
            lines.append(Line(end))  # what follows a closing without a move starts there
        elif step.arc is not None:
            lines[-1].segments += arc_segments(here, *step.arc, end)
        else:
            lines[-1].segments.append(step.points)
        here = end
    return [line for line in lines if line.segments]
