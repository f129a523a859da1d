"""Texts of a printed piece: its title where there is room, and the words of the work sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product

import numpy as np
import shapely

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import name_title
from propagate.report.lettering import Lettered, letters_of
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.paper import SMALLEST_MM
from propagate.report.scene.items import Item, Line, Role, Scene, Text, areas_of, make_text
from propagate.report.scene.labels import Allowed, Labels, allow_all, shapes_of
from propagate.report.scene.looks import paint_scene
from propagate.report.scene.piece import outward_at
from propagate.report.scene.spots import Taken

__all__ = ["write_letters", "write_names", "write_title"]

_SIZES = (8.0, 6.5, 5.0, 4.0, 3.2, 2.6, 2.2)
_OTHER = 0.6
"""Size of the other lines in parts of the name's."""
_CORNER, _MARK, _NAME = 3.4, 2.7, 2.5


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
    inner : shapely geometry
        The area that every printed size covers.
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
    labels = _labels_inside(canvas, area.buffer(-1.0), marks, taken)
    tries = [(lines, size, wanted) for wanted, size in product((*pages, ()), _SIZES)]
    tries += [(lines[:n], size, ()) for n in (3, 2, 1) for size in _SIZES[-3:]]
    for shown, size, wanted in tries:
        if labels.block(
            _title_rows(canvas, shown, size, widest), middle, angle, _in_one_of(wanted)
        ):
            break
    else:  # without any room: across what is there but the grain where that can be
        grain = Taken([shapely.LineString([piece.grain.start, piece.grain.end])])
        labels = _labels_inside(canvas, shapely.Polygon(piece.outline), grain)
        rows = _title_rows(canvas, lines[:1], SMALLEST_MM, 40.0)
        if not labels.block(rows, middle, angle):
            at = area.representative_point().coords[0]
            labels.items.append(make_text(at, rows[0].text, SMALLEST_MM, bold=True))
    paint_scene(labels.scene, canvas)


def _labels_inside(
    canvas: PdfCanvas, area: shapely.Geometry, drawn: Taken, texts: Taken | None = None
) -> Labels:
    face = Scene(tuple(areas_of(Role.FACE, area)))
    return Labels(face, canvas.width, also=[drawn], texts=texts)


def _in_one_of(pages: Sequence[shapely.Geometry]) -> Allowed:
    """Tell which boxes lie inside one of some areas; all of them when there are none."""
    if not pages:
        return allow_all
    return lambda boxes: np.asarray(
        np.any([shapely.contains(page, boxes) for page in pages], axis=0)
    )


def _title_rows(canvas: PdfCanvas, lines: Sequence[str], size: float, room: float) -> list[Text]:
    """Return the name on two lines at most, every other line on one."""
    small = max(size * _OTHER, SMALLEST_MM)
    name = canvas.in_lines(lines[0], size, room, 2, bold=True) or [""]
    others = (canvas.fitted(line, small, room) for line in lines[1:])
    rows = [make_text((0.0, 0.0), line, size, bold=True) for line in name]
    return [*rows, *(make_text((0.0, 0.0), line, small) for line in others)]


def write_letters(canvas: PdfCanvas, sized: SizedPiece, labels: Labels) -> None:
    """Write the letter of each corner and mark beside it, a far one tied to it by a line."""
    for one in letters_of(sized):
        corner = one.kind == "corner"
        label = make_text((0.0, 0.0), one.letter, _CORNER if corner else _MARK, bold=corner)
        labels.near(one.point, label, first=_inward_angle(sized, one))
    _write_placed(canvas, labels)


def write_names(
    canvas: PdfCanvas,
    named_by: tuple[PatternSet, str],
    sized: SizedPiece,
    levels: Sequence[Item],
    labels: Labels,
) -> None:
    """Write the name of each edge inside its seam line, and of each level on its line.

    An edge without room beside it goes without: the letters of its corners tell it.
    `named_by` is the set that says titles, and the piece.
    """
    pattern, piece = named_by
    named: list[tuple[np.ndarray, tuple[str, ...]]] = [
        (e.points, (name_title(pattern, e.name, piece),)) for e in sized.edges
    ]
    named.sort(key=lambda item: -shapely.LineString(item[0]).length)
    for level in (item for item in levels if isinstance(item, Line)):
        title = name_title(pattern, level.name)
        # An edge may have its name; shorter where that has no room.
        long = (title,) if "level" in title.lower() else (f"{title} level", title)
        named.append((level.points, long))
    for points, titles in named:
        for title in titles:
            label = make_text((0.0, 0.0), title, _NAME, tone="pale")
            if labels.along(points, label, within=True):
                break
    _write_placed(canvas, labels)


def _write_placed(canvas: PdfCanvas, labels: Labels) -> None:
    """Write what was placed since the last time; later texts keep off its ties as well."""
    paint_scene(labels.scene, canvas, layer="label")
    for tie in labels.scene.of(Role.LEADER):
        for shape in shapes_of(tie):
            labels.keep(shape)
    labels.items.clear()


def _inward_angle(sized: SizedPiece, one: Lettered) -> float:
    """Return the direction from a corner or mark into the piece, in radians."""
    if one.kind == "corner":
        before = sized.edge(one.key.removesuffix(".end"))
        after = sized.edges[(sized.edges.index(before) + 1) % len(sized.edges)]
        steps = np.diff(before.points[-2:], axis=0)[0], np.diff(after.points[:2], axis=0)[0]
        along = sum(step / math.hypot(*step) for step in steps)
        return math.atan2(along[0], -along[1])
    if any(mark.name == one.key for mark in sized.landmarks):
        out = outward_at(sized, sized.landmark(one.key))
        return math.atan2(-out[1], -out[0])
    return math.pi / 4
