"""What lies where on printed pieces, read from the file: texts by the bounds of their glyphs.

Nothing of the project is asked: pikepdf reads the drawings of the pieces, fontTools the
embedded fonts.  So texts at an angle have the very boxes that they fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import Any

import numpy as np
import pikepdf
import shapely
from fontTools.ttLib import TTFont

MM = 72.0 / 25.4


@dataclass(frozen=True)
class Written:
    """A text of a piece: the box around its ink, its size, mm."""

    text: str
    box: shapely.Polygon
    size: float


@dataclass(frozen=True)
class Inked:
    """A drawing: its texts, and strokes and filled areas as they come out, in mm."""

    texts: tuple[Written, ...]
    shapes: tuple[shapely.Geometry, ...]


@dataclass(frozen=True)
class Page:
    """A page: what it draws itself, and where it shows each piece, mm."""

    own: Inked
    placed: tuple[tuple[Inked, tuple[float, float]], ...]


@lru_cache(maxsize=32)
def pieces_of(data: bytes) -> tuple[Inked, ...]:
    """Every piece of a print, in the order of the file."""
    with pikepdf.open(BytesIO(data)) as document:
        fonts: dict[Any, _Font] = {}
        forms = [item for item in document.objects if isinstance(item, pikepdf.Stream)]
        return tuple(_read(form, fonts) for form in forms if form.get("/Subtype") == "/Form")


def pages_of(data: bytes) -> tuple[Page, ...]:
    """Every page of a print, each piece read once."""
    with pikepdf.open(BytesIO(data)) as document:
        fonts: dict[Any, _Font] = {}
        read: dict[Any, Inked] = {}
        pages = []
        for page in document.pages:
            placed: list[tuple[Inked, tuple[float, float]]] = []
            for name, shift in _placements(page):
                form = page.Resources.XObject[name]
                if form.objgen not in read:
                    read[form.objgen] = _read(form, fonts)
                placed.append((read[form.objgen], shift))
            pages.append(Page(_read(page, fonts), tuple(placed)))
        return tuple(pages)


def _placements(page: Any) -> list[tuple[str, tuple[float, float]]]:
    found, shift = [], (0.0, 0.0)
    for operands, operator in pikepdf.parse_content_stream(page, "cm Do"):
        if str(operator) == "cm":
            shift = (float(operands[4]) / MM, float(operands[5]) / MM)
        elif str(operator) == "Do":
            found.append((str(operands[0]), shift))
    return found


class _Font:
    """An embedded font: the bounds and the width of a glyph, in parts of the size."""

    def __init__(self, font: Any) -> None:
        child = font.DescendantFonts[0]
        self._file = TTFont(BytesIO(child.FontDescriptor.FontFile2.read_bytes()))
        self._em = float(self._file["head"].unitsPerEm)
        self._names = self._file.getGlyphOrder()
        self._widths = {int(g): float(w[0]) for g, w in zip(*[iter(child.W)] * 2, strict=True)}
        told = font.ToUnicode.read_bytes().decode("ascii").splitlines()
        pairs = (line.split() for line in told if line.startswith("<") and line.count("<") == 2)
        self._text = {
            int(a[1:-1], 16): bytes.fromhex(b[1:-1]).decode("utf-16-be") for a, b in pairs
        }

    def text(self, glyph: int) -> str:
        return self._text.get(glyph, "")

    def width(self, glyph: int) -> float:
        return self._widths[glyph] / 1000.0

    def bounds(self, glyph: int) -> tuple[float, float, float, float] | None:
        found = self._file["glyf"][self._names[glyph]]
        if not found.numberOfContours:
            return None
        return tuple(v / self._em for v in (found.xMin, found.yMin, found.xMax, found.yMax))


def _read(form: Any, fonts: dict[Any, _Font]) -> Inked:
    texts: list[Written] = []
    shapes: list[shapely.Geometry] = []
    paths: list[list[tuple[float, float]]] = []
    closed, width, font, size, mode, matrix = False, 1.0, "", 1.0, 0, np.eye(3)[:2].T
    for operands, operator in pikepdf.parse_content_stream(form):
        op = str(operator)
        if op == "cm" and form.get("/Type") != "/Page":
            raise AssertionError("expected a piece that is drawn in its own frame")
        if op == "w":
            width = float(operands[0])
        elif op in ("m", "l"):
            if op == "m":
                paths, closed = [*paths, []], False
            paths[-1].append((float(operands[0]), float(operands[1])))
        elif op == "c":
            paths[-1] += _curve(paths[-1][-1], np.array(operands, dtype=float).reshape(3, 2))
        elif op == "h":
            closed = True
        elif op in ("S", "B", "f", "f*", "n"):
            for path in paths:
                ring = [*path, path[0]] if closed or op != "S" else path
                if op in ("S", "B"):
                    line = shapely.LineString(np.array(ring) / MM)
                    shapes.append(line.buffer(width / MM / 2, quad_segs=4))
                elif op in ("f", "f*"):
                    shapes.append(shapely.Polygon(np.array(ring) / MM))
            paths, closed = [], False
        elif op == "Tr":
            mode = int(operands[0])
        elif op == "Tf":
            name, size = str(operands[0]), float(operands[1])
            known = form.Resources.Font[name]
            if known.objgen not in fonts:
                fonts[known.objgen] = _Font(known)
            font = known.objgen
        elif op == "Tm":
            matrix = np.array([float(v) for v in operands]).reshape(3, 2)
        elif op in ("Tj", "TJ") and mode == 0:
            items = list(operands[0]) if op == "TJ" else [operands[0]]
            texts += _written(items, fonts[font], size, matrix)
    return Inked(tuple(texts), tuple(shapes))


def _curve(start: tuple[float, float], ends: np.ndarray) -> list[tuple[float, float]]:
    t = np.linspace(0.1, 1.0, 10)[:, None]
    a, (b, c, d) = np.array(start), ends
    points = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    return [tuple(point) for point in points.tolist()]


def _written(items: list[Any], font: _Font, size: float, matrix: np.ndarray) -> list[Written]:
    text, at, bounds = "", 0.0, []
    for item in items:
        if not isinstance(item, pikepdf.String):
            at -= float(item) / 1000.0
            continue
        raw = bytes(item)
        for glyph in (raw[i] * 256 + raw[i + 1] for i in range(0, len(raw), 2)):
            box = font.bounds(glyph)
            if box is not None:
                bounds.append((at + box[0], box[1], at + box[2], box[3]))
            text += font.text(glyph)
            at += font.width(glyph)
    if not bounds:
        return []
    (left, low), (right, top) = np.min(bounds, axis=0)[:2], np.max(bounds, axis=0)[2:]
    corners = np.array([(left, low), (right, low), (right, top), (left, top)]) * size
    placed = (corners @ matrix[:2] + matrix[2]) / MM
    return [Written(text, shapely.Polygon(placed), size / MM)]
