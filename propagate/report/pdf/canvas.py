"""A canvas in millimetres, y up, that is written as PDF paths and glyphs at true scale.

It takes the same calls as the canvas of the pictures, so that a piece is drawn by the same
code on the screen and on paper.  Coordinates are written in points without any scaling, so
that a length read from the file is the length on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import field
from itertools import groupby

import numpy as np
import numpy.typing as npt
import pydyf

from propagate.report.canvas import Canvas, Drawn, TextLine
from propagate.report.pdf.fonts import FontBook, GlyphRun
from propagate.report.pdf.paper import POINTS_PER_MM, colour_parts
from propagate.report.pdf.tags import Element
from propagate.report.scene.looks import LAYERS
from propagate.report.style import ADDED, BLUE, ORANGE, TRIMMED
from propagate.values import dataclass

__all__ = ["PdfCanvas"]

Array = npt.NDArray[np.float64]

_ADDED_FILL, _TRIMMED_FILL = "#d9e5f0", "#f9ede3"
_ROUND = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)  # control points of a quarter circle
_MIDDLE = 0.35
"""Height of the middle of a line above its foot, in parts of the text's size."""
_HALO = 0.3


@dataclass(frozen=True, eq=False)
class _Part:
    """Something drawn: its layer, the group that switches it, the element that it belongs to."""

    layer: str
    item: Drawn
    group: str | None
    element: Element | None


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
    parts: list[_Part] = field(default_factory=list)

    @contextmanager
    def in_group(self, group: str | None) -> Iterator[None]:
        """Put what is drawn inside the block into a group that a reader can switch."""
        before, self.group = self.group, group
        try:
            yield
        finally:
            self.group = before

    def write(
        self,
        stream: pydyf.Stream,
        names: Mapping[str, str],
        marked: list[Element] | None = None,
    ) -> None:
        """Write everything as PDF operators.

        Parameters
        ----------
        marked : list of Element or None
            Takes the element of everything that is marked, by its number on the page.
        """
        stream.push_state()
        stream.set_line_join(1)
        stream.set_line_cap(1)
        parts = sorted(self.parts, key=lambda part: LAYERS.index(part.layer))
        for (group, element), own in groupby(parts, key=lambda part: (part.group, part.element)):
            if group is not None:
                stream.begin_marked_content("OC", f"/{names[group]}".encode())
            if marked is not None and element is None:
                stream.begin_marked_content("Artifact")
            elif marked is not None:
                stream.begin_marked_content(element.kind, f"<</MCID {len(marked)}>>".encode())
                marked.append(element)
            for part in own:
                self._write_item(stream, part.item)
            if marked is not None:
                stream.end_marked_content()
            if group is not None:
                stream.end_marked_content()
        stream.pop_state()

    @property
    def groups(self) -> list[str]:
        """Groups that something was drawn in, in that order."""
        return list(dict.fromkeys(part.group for part in self.parts if part.group is not None))

    def _put(self, layer: str, item: Drawn) -> None:
        told = item.text is not None or (self.element is not None and self.element.kind == "Figure")
        self.parts.append(_Part(layer, item, self.group, self.element if told else None))

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Width of a text in the document's fonts, mm."""
        return self.fonts.width(text, size, bold=bold)

    def _write_item(self, stream: pydyf.Stream, item: Drawn) -> None:
        paths = [path * POINTS_PER_MM for path in item.paths]
        if item.text is not None:
            _write_text(stream, self.fonts, item.text)
            return
        if item.fill in (ADDED, TRIMMED):
            pitch = self.hatch_pitch * POINTS_PER_MM
            _fill_with_hatching(stream, paths, pitch, added=item.fill == ADDED)
            return
        if item.fill:
            stream.set_color_rgb(*colour_parts(item.fill))
        if item.stroke:
            stream.set_color_rgb(*colour_parts(item.stroke.colour), stroke=True)
            stream.set_line_width(item.stroke.width * POINTS_PER_MM)
            stream.set_dash([d * POINTS_PER_MM for d in item.stroke.dash], 0)
        if item.radius:
            _trace_circle(stream, paths[0][0], item.radius * POINTS_PER_MM)
        else:
            _trace_lines(stream, paths, closed=item.closed)
        if item.fill and item.stroke:
            stream.fill_and_stroke()
        elif item.fill:
            stream.fill(even_odd=True)
        else:
            stream.stroke()


def _trace_lines(stream: pydyf.Stream, paths: Sequence[Array], *, closed: bool) -> None:
    for path in paths:
        rows = path.tolist()
        stream.move_to(*rows[0])
        for x, y in rows[1:]:
            stream.line_to(x, y)
        if closed:
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


def _fill_with_hatching(
    stream: pydyf.Stream, rings: Sequence[Array], pitch: float, *, added: bool
) -> None:
    """Fill rings (points) with a pale colour and a pattern: lines for paper to tape on, else dots.

    The lines of both rise to the right, at places that do not depend on the area.
    """
    stream.push_state()
    _trace_lines(stream, rings, closed=True)
    stream.clip(even_odd=True)
    stream.set_color_rgb(*colour_parts(_ADDED_FILL if added else _TRIMMED_FILL))
    stream.fill(even_odd=True)
    stream.set_color_rgb(*colour_parts(BLUE if added else ORANGE), stroke=True)
    if added:
        stream.set_line_width(min(0.22 * pitch, 0.5 * POINTS_PER_MM))
        stream.set_dash([], 0)
    else:
        stream.set_line_width(0.34 * pitch)
        stream.set_line_cap(1)
        stream.set_dash([0.0, pitch], 0)  # dashes without length: round dots
    points = np.concatenate(list(rings))
    low, high = points.min(axis=0), points.max(axis=0)
    step = pitch * math.sqrt(2.0)
    first, last = math.floor((low[1] - high[0]) / step), math.ceil((high[1] - low[0]) / step)
    for offset in (i * step for i in range(first, last + 1)):
        start = math.floor(max(low[0], low[1] - offset) / step) * step
        end = min(high[0], high[1] - offset)
        if end > start:
            stream.move_to(float(start), float(start + offset))
            stream.line_to(float(end), float(end + offset))
    stream.stroke()
    stream.pop_state()


def _font_name(fonts: FontBook, run: GlyphRun) -> str:
    """Name of a run's font among the resources of a page."""
    return f"F{fonts.faces.index(run.face)}"


def _write_text(stream: pydyf.Stream, fonts: FontBook, line: TextLine) -> None:
    """Write a line; the text itself is kept for search where glyphs do not tell it."""
    runs = fonts.shape(line.text, bold=line.bold)
    if not runs:
        return
    size = line.size * POINTS_PER_MM
    width = sum(run.width for run in runs) * size / 1000.0
    along = line.along
    up = np.array([-along[1], along[0]])
    foot = np.array([line.x, line.y]) * POINTS_PER_MM
    foot = foot + along * line.shift(width) - up * size * _MIDDLE
    # Readers put text that is written to the left into the order of speech themselves.
    shown = "".join(run.face.used[glyph.number] for run in runs for glyph in run.glyphs)
    told = any(run.right_to_left for run in runs) or shown == line.text
    if not told:
        actual = line.text.encode("utf-16-be", "replace").hex()
        stream.begin_marked_content("Span", f"<</ActualText <feff{actual}>>>".encode())
    if line.halo:
        stream.set_color_rgb(1.0, 1.0, 1.0, stroke=True)
        stream.set_line_width(size * _HALO)
        stream.set_dash([], 0)
        _write_runs(stream, fonts, runs, size, foot, along, mode=1)
    stream.set_color_rgb(*colour_parts(line.colour))
    _write_runs(stream, fonts, runs, size, foot, along, mode=0)
    if not told:
        stream.end_marked_content()


def _write_runs(
    stream: pydyf.Stream,
    fonts: FontBook,
    runs: tuple[GlyphRun, ...],
    size: float,
    foot: Array,
    along: Array,
    *,
    mode: int,
) -> None:
    stream.begin_text()
    stream.set_text_rendering(mode)
    cos, sin = along.tolist()
    done = 0.0
    for run in runs:
        x, y = (foot + along * done).tolist()
        stream.set_font_size(_font_name(fonts, run), size)
        stream.set_text_matrix(cos, sin, -sin, cos, x, y)
        _show_run(stream, run, size)
        done += run.width * size / 1000.0
    stream.end_text()


def _show_run(stream: pydyf.Stream, run: GlyphRun, size: float) -> None:
    """Show the glyphs of a run; raised ones on their own height."""
    rise, parts = 0.0, ""
    for glyph in run.glyphs:
        if glyph.y_shift != rise:
            if parts:
                stream.show_text(parts)
            stream.set_text_rise(glyph.y_shift * size / 1000.0)
            rise, parts = glyph.y_shift, ""
        before = glyph.x_shift
        after = glyph.advance - run.face.advance(glyph.number) - glyph.x_shift
        parts += _write_step(before) + f"<{glyph.number:04x}>" + _write_step(after)
    if parts:
        stream.show_text(parts)
    if rise:
        stream.set_text_rise(0)


def _write_step(thousandths: float) -> str:
    """Write a step to the right inside a line of glyphs."""
    return f"{-thousandths:.3f} " if abs(thousandths) > 5e-4 else ""
