"""Write a line of text as glyphs of embedded fonts."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pydyf

from propagate.report.canvas import TextLine
from propagate.report.pdf.fonts import FontBook, GlyphRun
from propagate.report.pdf.measure import POINTS_PER_MM, colour_parts

__all__ = ["font_name", "write_text"]

Array = npt.NDArray[np.float64]

_MIDDLE = 0.35
"""Height of the middle of a line above its foot, in parts of the text's size."""
_HALO = 0.3


def font_name(fonts: FontBook, run: GlyphRun) -> str:
    """Name of a run's font among the resources of a page."""
    return f"F{fonts.faces.index(run.face)}"


def write_text(stream: pydyf.Stream, fonts: FontBook, line: TextLine) -> None:
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
        stream.set_font_size(font_name(fonts, run), size)
        stream.set_text_matrix(cos, sin, -sin, cos, x, y)
        _show(stream, run, size)
        done += run.width * size / 1000.0
    stream.end_text()


def _show(stream: pydyf.Stream, run: GlyphRun, size: float) -> None:
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
        parts += _moved(before) + f"<{glyph.number:04x}>" + _moved(after)
    if parts:
        stream.show_text(parts)
    if rise:
        stream.set_text_rise(0)


def _moved(thousandths: float) -> str:
    """A step to the right inside a line of glyphs."""
    return f"{-thousandths:.3f} " if abs(thousandths) > 5e-4 else ""
