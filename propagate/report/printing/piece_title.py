"""The text of a piece: its name, size, cutting and set, where there is room for it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import shapely

from propagate.pattern.model import SizedPiece
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.measure import SMALLEST_MM
from propagate.report.scene.items import Role, Scene, Text, areas_of, text
from propagate.report.scene.labels import Allowed, Labels, everywhere
from propagate.report.scene.paint import paint
from propagate.report.scene.taken import Taken

__all__ = ["write_title"]

_SIZES = (8.0, 6.5, 5.0, 4.0, 3.2, 2.6, 2.2)
_OTHER = 0.6
"""Size of the other lines in parts of the name's."""


def write_title(
    canvas: PdfCanvas,
    piece: SizedPiece,
    inner: shapely.Geometry,
    lines: Sequence[str],
    taken: Taken,
    marks: Taken,
    pages: Sequence[Sequence[shapely.Geometry]] = (),
) -> None:
    """Write lines, the first one bold, as large as there is room; shortened if they must be.

    Parameters
    ----------
    canvas : PdfCanvas
    piece : SizedPiece
    inner : shapely geometry
        The area that every printed size covers.
    lines : sequence of str
    taken, marks : Taken
        What the text may not lie on; it is added to the first.
    pages : sequence of sequences of shapely geometries
        Areas that the text had better lie in one of, the best first: those of the pages.
    """
    area = max(shapely.get_parts(inner), key=lambda part: part.area, default=inner)
    if area.is_empty:
        area = shapely.Polygon(piece.outline)
    left, bottom, right, top = area.bounds
    widest = max(min(max(right - left, top - bottom) * 0.6, 180.0), 15.0)
    middle, angle = (piece.label.point, piece.label.angle) if piece.label else (None, 0.0)
    labels = _inside(canvas, area.buffer(-1.0), marks, taken)
    tries = [(lines, size, wanted) for wanted, size in product((*pages, ()), _SIZES)]
    tries += [(lines[:n], size, ()) for n in (3, 2, 1) for size in _SIZES[-3:]]
    for shown, size, wanted in tries:
        if labels.block(_rows(canvas, shown, size, widest), middle, angle, _in_one_of(wanted)):
            break
    else:  # without any room: across what is there but the grain where that can be
        grain = Taken([shapely.LineString([piece.grain.start, piece.grain.end])])
        labels = _inside(canvas, shapely.Polygon(piece.outline), grain)
        rows = _rows(canvas, lines[:1], SMALLEST_MM, 40.0)
        if not labels.block(rows, middle, angle):
            at = area.representative_point().coords[0]
            labels.items.append(text(at, rows[0].text, SMALLEST_MM, bold=True))
    paint(labels.scene, canvas)


def _inside(
    canvas: PdfCanvas, area: shapely.Geometry, drawn: Taken, texts: Taken | None = None
) -> Labels:
    face = Scene(tuple(areas_of(Role.FACE, area)))
    return Labels(face, canvas.width, also=[drawn], texts=texts)


def _in_one_of(pages: Sequence[shapely.Geometry]) -> Allowed:
    """Which boxes lie inside one of some areas; all of them when there are none."""
    if not pages:
        return everywhere
    return lambda boxes: np.asarray(
        np.any([shapely.contains(page, boxes) for page in pages], axis=0)
    )


def _rows(canvas: PdfCanvas, lines: Sequence[str], size: float, room: float) -> list[Text]:
    """The name on two lines at most, every other line on one."""
    small = max(size * _OTHER, SMALLEST_MM)
    name = canvas.in_lines(lines[0], size, room, 2, bold=True) or [""]
    others = (canvas.fitted(line, small, room) for line in lines[1:])
    rows = [text((0.0, 0.0), line, size, bold=True) for line in name]
    return [*rows, *(text((0.0, 0.0), line, small) for line in others)]
