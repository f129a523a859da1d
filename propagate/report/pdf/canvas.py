"""A canvas in millimetres, y up, that is written as PDF paths and glyphs at true scale.

It takes the same calls as the canvas of the pictures, so that a piece is drawn by the same
code on the screen and on paper.  Coordinates are written in points without any scaling, so
that a length read from the file is the length on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import field, replace
from itertools import groupby

import numpy as np
import numpy.typing as npt
import pydyf

from propagate.report.canvas import Anchor, Canvas, Stroke
from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.glyphs import TextLine, write_text
from propagate.report.pdf.hatching import hatch
from propagate.report.pdf.measure import POINTS_PER_MM, colour_parts
from propagate.report.pdf.tags import Element
from propagate.report.scene.looks import LAYERS
from propagate.report.style import ADDED, TRIMMED
from propagate.values import dataclass

__all__ = ["PdfCanvas"]

Array = npt.NDArray[np.float64]

_ROUND = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)  # control points of a quarter circle


@dataclass(frozen=True, eq=False)
class _Drawn:
    """A path or a text, in mm, with the group that switches it."""

    group: str | None
    paths: tuple[Array, ...] = ()
    closed: bool = False
    stroke: Stroke | None = None
    fill: str | None = None
    text: TextLine | None = None
    radius: float = 0.0
    element: Element | None = None


@dataclass
class PdfCanvas(Canvas):
    """Collects what is drawn, layer by layer; later layers lie on top.

    Attributes
    ----------
    fonts : FontBook
        Measures texts.
    hatch_pitch : float
        Distance of the lines in a hatched area, mm.
    group : str or None
        What is drawn next belongs to this group, which a reader can switch; see
        `in_group`.
    element : Element or None
        Texts that are written next belong to this part of the document; lines and areas are
        decoration but in a figure.
    """

    fonts: FontBook = field(kw_only=True)
    hatch_pitch: float = 3.0
    group: str | None = None
    element: Element | None = None
    drawn: dict[str, list[_Drawn]] = field(default_factory=dict)

    @contextmanager
    def in_group(self, group: str | None) -> Iterator[None]:
        """Put what is drawn inside the block into a group that a reader can switch."""
        before, self.group = self.group, group
        try:
            yield
        finally:
            self.group = before

    def line(
        self,
        layer: str,
        points: npt.ArrayLike,
        stroke: Stroke,
        *,
        closed: bool = False,
        attributes: Mapping[str, str] | None = None,  # noqa: ARG002 - paper has none
    ) -> None:
        """Draw a polyline."""
        xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        self.cover(xy)
        self._put(layer, _Drawn(self.group, (xy,), closed, stroke))

    def shape(
        self,
        layer: str,
        rings: Sequence[npt.ArrayLike],
        fill: str,
        *,
        attributes: Mapping[str, str] | None = None,  # noqa: ARG002 - paper has none
    ) -> None:
        """Fill an area, its holes left out; `ADDED` and `TRIMMED` are hatched."""
        paths = tuple(np.asarray(ring, dtype=np.float64).reshape(-1, 2) for ring in rings)
        for ring in paths:
            self.cover(ring)
        self._put(layer, _Drawn(self.group, paths, True, None, fill))

    def circle(
        self, layer: str, centre: npt.ArrayLike, radius: float, stroke: Stroke, fill: str = ""
    ) -> None:
        """Draw a circle."""
        xy = np.asarray(centre, dtype=np.float64)
        self.cover([xy - radius, xy + radius])
        drawn = _Drawn(self.group, (xy.reshape(1, 2),), True, stroke, fill or None, radius=radius)
        self._put(layer, drawn)

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
        x, y = np.asarray(at, dtype=np.float64)
        line = TextLine(float(x), float(y), text, size, angle, anchor, colour, bold, halo)
        self.cover(line.corners(self.width(text, size, bold=bold)))
        self._put(layer, _Drawn(self.group, text=line))

    def write(
        self,
        stream: pydyf.Stream,
        names: Mapping[str, str],
        marked: list[Element] | None = None,
    ) -> None:
        """Write everything as PDF operators.

        Parameters
        ----------
        stream : pydyf.Stream
        names : mapping of group to the name of its layer among the page's properties
        marked : list of Element or None
            Takes the element of everything that is marked, by its number on the page.
        """
        layers = sorted(self.drawn, key=LAYERS.index)
        stream.push_state()
        stream.set_line_join(1)
        stream.set_line_cap(1)
        items = (item for layer in layers for item in self.drawn[layer])
        for (group, element), part in groupby(items, key=lambda item: (item.group, item.element)):
            if group is not None:
                stream.begin_marked_content("OC", f"/{names[group]}".encode())
            if marked is not None and element is None:
                stream.begin_marked_content("Artifact")
            elif marked is not None:
                stream.begin_marked_content(element.kind, f"<</MCID {len(marked)}>>".encode())
                marked.append(element)
            for item in part:
                self._write_item(stream, item)
            if marked is not None:
                stream.end_marked_content()
            if group is not None:
                stream.end_marked_content()
        stream.pop_state()

    @property
    def groups(self) -> list[str]:
        """Groups that something was drawn in, in that order."""
        used = (item.group for items in self.drawn.values() for item in items)
        return list(dict.fromkeys(group for group in used if group is not None))

    def _put(self, layer: str, item: _Drawn) -> None:
        if item.text is not None or (self.element is not None and self.element.kind == "Figure"):
            item = replace(item, element=self.element)
        self.drawn.setdefault(layer, []).append(item)

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Width of a text in the document's fonts, mm."""
        return self.fonts.width(text, size, bold=bold)

    def _write_item(self, stream: pydyf.Stream, item: _Drawn) -> None:
        if item.text is not None:
            write_text(stream, self.fonts, item.text)
            return
        if item.fill in (ADDED, TRIMMED):
            paths = [path * POINTS_PER_MM for path in item.paths]
            hatch(stream, paths, self.hatch_pitch * POINTS_PER_MM, added=item.fill == ADDED)
            return
        if item.fill:
            stream.set_color_rgb(*colour_parts(item.fill))
        if item.stroke:
            stream.set_color_rgb(*colour_parts(item.stroke.colour), stroke=True)
            stream.set_line_width(item.stroke.width * POINTS_PER_MM)
            stream.set_dash([d * POINTS_PER_MM for d in item.stroke.dash], 0)
        for path in item.paths:
            _trace(stream, path * POINTS_PER_MM, item)
        if item.fill and item.stroke:
            stream.fill_and_stroke()
        elif item.fill:
            stream.fill(even_odd=True)
        else:
            stream.stroke()


def _trace(stream: pydyf.Stream, points: Array, item: _Drawn) -> None:
    """Add a polyline or a circle to the path, in points."""
    if item.radius:
        _trace_circle(stream, points[0], item.radius * POINTS_PER_MM)
        return
    rows = points.tolist()
    stream.move_to(*rows[0])
    for x, y in rows[1:]:
        stream.line_to(x, y)
    if item.closed:
        stream.close()


def _trace_circle(stream: pydyf.Stream, centre: Array, radius: float) -> None:
    x, y = centre.tolist()
    k = radius * _ROUND
    stream.move_to(x + radius, y)
    stream.curve_to(x + radius, y + k, x + k, y + radius, x, y + radius)
    stream.curve_to(x - k, y + radius, x - radius, y + k, x - radius, y)
    stream.curve_to(x - radius, y - k, x - k, y - radius, x, y - radius)
    stream.curve_to(x + k, y - radius, x + radius, y - k, x + radius, y)
    stream.close()
