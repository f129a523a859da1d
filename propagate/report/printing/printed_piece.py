"""Draw one piece as it is printed: lines, marks, matching numbers, allowance widths, texts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt
import shapely

from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.report.canvas import upright_angle
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.paper import SMALLEST_MM
from propagate.report.printing.edge_texts import Written, name_line, number_edges, write_allowances
from propagate.report.printing.piece_texts import write_letters, write_names, write_title
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.printing.tile_frame import Pages
from propagate.report.scene.items import Item, Line, Role, Scene
from propagate.report.scene.labels import Labels, shapes_of
from propagate.report.scene.looks import paint_scene, stroke_of
from propagate.report.scene.piece import compose_piece
from propagate.report.scene.spots import Taken, spots_at
from propagate.report.units import Unit

__all__ = ["THIN", "draw_piece", "printed_roles", "size_layer"]

Array = npt.NDArray[np.float64]

THIN = 0.65
"""Lines on paper against those of a picture: a seam line of half a millimetre."""
_SHARED = (Role.FOLD, Role.GRAIN)
"""Roles that all sizes of a piece share on paper."""
_NOT_ALWAYS = (Role.FACE, Role.LEVEL)
_ON_FOLD = "on the fold"
_FOLD_PLACES = (0.5, 0.35, 0.65, 0.25, 0.75)
_AIR_MM = 0.4
"""Between what is drawn and a text: half of a seam line's width, and a little more."""
_SAME_FOLD_MM = 0.5


def size_layer(size: str) -> str:
    """Name of the layer that holds a size."""
    return f"size {size}"


def _series_of(order: Sequence[str], size: str, several: bool) -> int | None:
    """Tell which dashes a size has: its own when several sizes lie on each other."""
    return list(order).index(size) if several else None


def printed_roles(pieces: Iterable[PaperPiece], *, names: bool = False) -> tuple[Role, ...]:
    """Return the kinds of line and mark that some printed pieces hold; levels with their names."""
    held = {
        role
        for piece in pieces
        for size in list(piece.sizes)[:1]
        for role in _compose_size(piece, size, None).roles
    }
    left_out = (Role.FACE,) if names else _NOT_ALWAYS
    return tuple(role for role in Role if role in held and role not in left_out)


def draw_piece(
    canvas: PdfCanvas,
    piece: PaperPiece,
    *,
    order: Sequence[str],
    numbers: Sequence[tuple[Span, int]],
    heading: Sequence[str],
    unit: Unit,
    named_by: PatternSet | None = None,
    pages: Pages | None = None,
) -> None:
    """Draw a piece in all its sizes.

    Parameters
    ----------
    canvas : PdfCanvas
        Every size is drawn in a group of its own when there are several.  What sizes share
        (grain, fold, matching numbers, allowance widths, names) is drawn once and belongs to
        none.
    order : sequence of str
        All sizes of the set, which gives each its line.
    numbers : sequence of (Span, int)
        Matching numbers of the piece's spans.
    heading : sequence of str
        Lines of the piece's text, the name first.
    unit : Unit
        Of the allowance widths.
    named_by : PatternSet or None
        Write titles of edges and levels by this set, and letters of corners and marks.
    pages : Pages or None
        The pages that the piece goes over.
    """
    pages = pages or Pages()
    several = len(piece.sizes) > 1
    # The middle one of the sizes that are printed gives grain and title for all.
    sizes = sorted(piece.sizes, key=list(order).index)
    lead_size = sizes[(len(sizes) - 1) // 2]
    lead, shared = piece.sizes[lead_size], _compose_size(piece, lead_size, None)
    levels = shared.of(Role.LEVEL) if named_by else ()
    once = (*levels, *shared.of(Role.GRAIN))
    taken, marks, lines = Taken(pages.words), Taken(), {}
    for size in piece.sizes:
        scene = _compose_size(piece, size, _series_of(order, size, several))
        scene = scene.without(*_NOT_ALWAYS, *_SHARED)
        with canvas.in_group(size_layer(size) if several else None):
            paint_scene(scene, canvas, thin=THIN)
        lines[size] = Taken(_find_ink(scene.of(Role.SEAM, Role.CUT)))
        _take_all(marks, _find_ink(scene.without(Role.SEAM, Role.CUT).items))
    paint_scene(Scene(once), canvas, thin=THIN)
    _take_all(marks, _find_ink(once))
    _draw_folds(canvas, piece, lead, taken, marks)
    names = Labels(
        Scene(shared.of(Role.FACE)),
        canvas.width,
        shapely.make_valid(shapely.Polygon(piece.cuts[lead_size].points)),
        [marks, *lines.values()],
        taken,
    )
    if named_by is not None:
        write_letters(canvas, lead, names)
    shares = [i / (len(piece.sizes) - 1) if several else 0.5 for i in range(len(piece.sizes))]
    numbered: Written = []
    for share, (size, sized) in zip(shares, piece.sizes.items(), strict=True):
        labels = _make_labels(canvas, taken, marks, lines[size], within=sized)
        number_edges(canvas, sized, numbers, labels, share, numbered)
    widths: Written = []
    for share, size in zip(shares, piece.sizes, strict=True):
        labels = _make_labels(canvas, taken, marks, lines[size])
        write_allowances(canvas, piece, size, unit, labels, share, widths)
    if several:
        labels = _make_labels(canvas, taken, marks)
        for share, (size, cut) in zip(shares, piece.cuts.items(), strict=True):
            others = [known for s, known in lines.items() if s != size]
            stroke = stroke_of(Role.CUT, _series_of(order, size, True), THIN)
            with canvas.in_group(size_layer(size)):
                name_line(canvas, np.asarray(cut.points), size, stroke, labels, share, others)
    inner = shapely.intersection_all([shapely.Polygon(p.outline) for p in piece.sizes.values()])
    write_title(canvas, lead, inner, heading, taken, marks, (pages.alone, pages.whole))
    if named_by is not None:
        write_names(canvas, (named_by, piece.name), lead, levels, names)


def _compose_size(piece: PaperPiece, size: str, series: int | None) -> Scene:
    return compose_piece(piece.sizes[size], piece.info, cut=piece.cuts[size], series=series)


def _find_ink(items: Sequence[Item]) -> list[shapely.Geometry]:
    """Tell what some items cover on paper, with a little air."""
    shapes = [shape for item in items for shape in shapes_of(item)]
    levels = (item for item in items if isinstance(item, Line) and item.role is Role.LEVEL)
    shapes += [shapely.LineString(level.points) for level in levels]
    return list(shapely.buffer(shapes, _AIR_MM, quad_segs=2))


def _take_all(taken: Taken, shapes: Iterable[shapely.Geometry]) -> None:
    for shape in shapes:
        taken.add(shape)


def _draw_folds(
    canvas: PdfCanvas, piece: PaperPiece, lead: SizedPiece, taken: Taken, marks: Taken
) -> None:
    """Draw the fold once where the sizes are folded on one line, else in every size."""
    fold = piece.info.fold
    if fold not in lead.edge_names:
        return
    own = lead.edge(fold).points
    line = shapely.LineString([own[0] + 99 * (own[0] - own[-1]), own[-1] + 99 * (own[-1] - own[0])])
    for size, sized in piece.sizes.items():
        start = shapely.Point(sized.edge(fold).points[0])
        if sized is lead:
            _draw_fold(canvas, piece, size, taken, marks)
        elif line.distance(start) > _SAME_FOLD_MM:
            with canvas.in_group(size_layer(size)):
                _draw_fold(canvas, piece, size, taken, marks)


def _draw_fold(canvas: PdfCanvas, piece: PaperPiece, size: str, taken: Taken, marks: Taken) -> None:
    """Draw the bracket whose arrows point to the fold of the cloth, its words beside its foot."""
    items = _compose_size(piece, size, None).of(Role.FOLD)
    paint_scene(Scene(items), canvas, thin=THIN)
    _take_all(marks, _find_ink(items))
    bracket = next(item for item in items if isinstance(item, Line))
    first, foot, last, _ = bracket.points
    depth = math.dist(first, foot)
    along, inward = last - foot, (foot - first) / depth
    angle = upright_angle(math.degrees(math.atan2(along[1], along[0])))
    letter = min(max(depth * 0.3, SMALLEST_MM), 4.0)
    middles = [
        foot + along * share + inward * aside
        for aside, share in product((-depth / 2, 1.15 * letter), _FOLD_PLACES)
    ]
    spots = spots_at(np.array(middles), angle, foot)
    labels = _make_labels(canvas, taken, marks, within=piece.sizes[size])
    found = labels.take(spots, canvas.width(_ON_FOLD, letter), 1.15 * letter)
    at = spots.centres[found or 0]
    canvas.text("label", at, _ON_FOLD, letter, angle=angle, halo=True)


def _make_labels(
    canvas: PdfCanvas, taken: Taken, *drawn: Taken, within: SizedPiece | None = None
) -> Labels:
    """Tell what places texts that are added to `taken`, inside a piece or anywhere."""
    inside = shapely.Polygon(within.outline).buffer(-_AIR_MM) if within is not None else None
    return Labels(Scene(), canvas.width, inside, drawn, taken)
