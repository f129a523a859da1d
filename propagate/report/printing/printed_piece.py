"""Draw one piece as it is printed: lines, marks, matching numbers, allowance widths, texts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.report.labels import Placer
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.measure import SMALLEST_MM
from propagate.report.printing.edge_texts import number_edges, write_allowances
from propagate.report.printing.pages_under import Pages
from propagate.report.printing.piece_title import write_title
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.printing.size_names import name_line
from propagate.report.scene.items import Line, Role, Scene
from propagate.report.scene.looks import stroke_of
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import compose_piece
from propagate.report.units import Unit

__all__ = ["THIN", "draw_piece", "printed_roles", "series_of", "size_layer"]

Array = npt.NDArray[np.float64]

THIN = 0.65
"""Lines on paper against those of a picture: a seam line of half a millimetre."""
_SHARED = (Role.FOLD, Role.GRAIN)
"""Roles that all sizes of a piece share on paper."""
_NOT_PRINTED = (Role.FACE, Role.LEVEL)
_SAME_FOLD_MM = 0.5


def size_layer(size: str) -> str:
    """Name of the layer that holds a size."""
    return f"size {size}"


def series_of(order: Sequence[str], size: str, several: bool) -> int | None:
    """Which dashes a size has: its own when several sizes lie on each other."""
    return list(order).index(size) if several else None


def printed_roles(pieces: Iterable[PaperPiece]) -> tuple[Role, ...]:
    """The kinds of line and mark that some printed pieces hold."""
    held = {
        role
        for piece in pieces
        for size in list(piece.sizes)[:1]
        for role in _compose(piece, size, None).without(*_NOT_PRINTED).roles
    }
    return tuple(role for role in Role if role in held)


def draw_piece(
    canvas: PdfCanvas,
    piece: PaperPiece,
    *,
    order: Sequence[str],
    numbers: Sequence[tuple[Span, int]],
    heading: Sequence[str],
    unit: Unit,
    pages: Pages | None = None,
) -> None:
    """Draw a piece in all its sizes.

    Parameters
    ----------
    canvas : PdfCanvas
        Every size is drawn in a group of its own when there are several.  What sizes share
        (grain, fold, matching numbers, allowance widths) is drawn once and belongs to none.
    piece : PaperPiece
    order : sequence of str
        All sizes of the set, which gives each its line.
    numbers : sequence of (Span, int)
        Matching numbers of the piece's spans.
    heading : sequence of str
        Lines of the piece's text, the name first.
    unit : Unit
        Of the allowance widths.
    pages : Pages or None
        The pages that the piece goes over.
    """
    pages = pages or Pages()
    several = len(piece.sizes) > 1
    taken: list[shapely.Geometry] = list(pages.names)
    inner = shapely.intersection_all([shapely.Polygon(p.outline) for p in piece.sizes.values()])
    for size in piece.sizes:
        with canvas.in_group(size_layer(size) if several else None):
            scene = _compose(piece, size, series_of(order, size, several))
            paint(scene.without(*_NOT_PRINTED, *_SHARED), canvas, thin=THIN)
    lead = piece.sizes[_lead(piece, order)]
    shared = _compose(piece, _lead(piece, order), None)
    paint(Scene(shared.of(Role.GRAIN)), canvas, thin=THIN)
    _draw_folds(canvas, piece, lead, taken)
    _keep_off_marks(piece, lead, taken)
    seen: list[tuple[int, Array]] = []
    for i, sized in enumerate(piece.sizes.values()):
        share = i / (len(piece.sizes) - 1) if several else 0.5
        number_edges(canvas, sized, numbers, _placer(sized, taken), share, seen)
    written: list[tuple[str, Array]] = []
    for i, size in enumerate(piece.sizes):
        share = i / (len(piece.sizes) - 1) if several else 0.5
        write_allowances(canvas, piece, size, unit, share, taken, written)
    if several:
        _name_sizes(canvas, piece, order, taken)
    write_title(canvas, lead, inner, heading, taken, (pages.alone, pages.whole))


def _lead(piece: PaperPiece, order: Sequence[str]) -> str:
    """The size whose grain and title stand for all: the middle one of those printed."""
    sizes = sorted(piece.sizes, key=list(order).index)
    return sizes[(len(sizes) - 1) // 2]


def _compose(piece: PaperPiece, size: str, series: int | None) -> Scene:
    return compose_piece(piece.sizes[size], piece.info, cut=piece.cuts[size], series=series)


def _keep_off_marks(piece: PaperPiece, lead: SizedPiece, taken: list[shapely.Geometry]) -> None:
    for size, sized in piece.sizes.items():
        roles = (Role.INNER, Role.DART, *((Role.GRAIN,) if sized is lead else ()))
        drawn = _compose(piece, size, None).of(*roles)
        taken += [shapely.LineString(item.points) for item in drawn if isinstance(item, Line)]
        taken += [shapely.Point(drill.point).buffer(2.8) for drill in sized.drills]
        taken += [shapely.Point(mark.point).buffer(2.0) for mark in sized.landmarks]


def _draw_folds(
    canvas: PdfCanvas, piece: PaperPiece, lead: SizedPiece, taken: list[shapely.Geometry]
) -> None:
    """Once where the sizes are folded on one line, else in every size."""
    fold = piece.info.fold
    if fold not in lead.edge_names:
        return
    own = lead.edge(fold).points
    line = shapely.LineString([own[0] + 99 * (own[0] - own[-1]), own[-1] + 99 * (own[-1] - own[0])])
    for size, sized in piece.sizes.items():
        start = shapely.Point(sized.edge(fold).points[0])
        if sized is lead:
            _draw_fold(canvas, piece, size, taken)
        elif line.distance(start) > _SAME_FOLD_MM:
            with canvas.in_group(size_layer(size)):
                _draw_fold(canvas, piece, size, taken)


def _draw_fold(
    canvas: PdfCanvas, piece: PaperPiece, size: str, taken: list[shapely.Geometry]
) -> None:
    """The bracket whose arrows point to the fold of the cloth, and its words on its foot."""
    items = _compose(piece, size, None).of(Role.FOLD)
    paint(Scene(items), canvas, thin=THIN)
    bracket = next(item for item in items if isinstance(item, Line))
    first, foot, last, _ = bracket.points
    depth = math.dist(first, foot)
    along = last - foot
    angle = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
    letter = min(max(depth * 0.4, SMALLEST_MM), 4.0)
    middle = (foot + last) / 2
    canvas.text("labels", middle, "on the fold", letter, angle=angle, halo=True)
    taken.append(shapely.LineString([foot, last]).buffer(letter * 0.7))


def _name_sizes(
    canvas: PdfCanvas, piece: PaperPiece, order: Sequence[str], taken: list[shapely.Geometry]
) -> None:
    """Every size on its cut line, off the lines of the others where that can be."""
    rings = {size: np.asarray(cut.points) for size, cut in piece.cuts.items()}
    lines = {size: shapely.LinearRing(ring) for size, ring in rings.items()}
    seams = {size: shapely.LinearRing(sized.outline) for size, sized in piece.sizes.items()}
    for i, (size, ring) in enumerate(rings.items()):
        others = [line for known in (lines, seams) for s, line in known.items() if s != size]
        for other in others:
            shapely.prepare(other)
        stroke = stroke_of(Role.CUT, series_of(order, size, True), THIN)
        with canvas.in_group(size_layer(size)):
            name_line(canvas, ring, size, stroke, i / (len(rings) - 1), others, taken)


def _placer(sized: SizedPiece, taken: list[shapely.Geometry]) -> Placer:
    outline = shapely.Polygon(sized.outline)
    placer = Placer(outline.buffer(-0.4))
    placer.taken = taken
    return placer
