"""Closed lines on a sheet that are no pieces: frames, boxes, test squares, small pictures."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from propagate.io.drawn_lines import DrawnText
from propagate.io.sheet.seams import are_on_one_line, seam_inside
from propagate.io.sheet.texts import find_text_middle, said_by
from propagate.io.svg.rings import MARK_MM, Ring
from propagate.pattern.model import Array

__all__ = [
    "is_piece_said",
    "is_test",
    "same_rings",
    "what_else",
    "what_is_none",
    "without_frames",
]

BOX_DEG = 0.5
LARGEST_TEST_MM = 310.0
"""Test squares are up to a foot wide."""
TEXT_NEAR_MM = 15.0
IN_PLACE = 0.3
SMALL_COPY = 0.35
"""A picture of a piece in a layout covers less than this share of the piece."""
COPY = 0.9
_UNIT = re.compile(
    r"\b\d+(?:[.,/]\d+)?\s*(?:cm|mm|in|inch(?:es)?)\b|\d\s*\"|\btest\b|\bscale\b|\bcheck\b",
    re.IGNORECASE,
)


def same_rings(rings: Sequence[Ring]) -> tuple[list[Ring], int]:
    """Outlines without those that are drawn twice, and how many these are."""
    kept: list[Ring] = []
    dropped = 0
    for ring in sorted(rings, key=_rank_ring):
        if any(are_on_one_line(ring, other) for other in kept):
            dropped += 1
        else:
            kept.append(ring)
    return [ring for ring in rings if any(ring is k for k in kept)], dropped


def _rank_ring(ring: Ring) -> tuple[bool, int, list[list[float]]]:
    chain = ring.parts[0][0]
    return not chain.curved, len(chain.segments), sorted(ring.points.tolist())


def without_frames(
    rings: Mapping[str, Sequence[Ring]], texts: Sequence[DrawnText]
) -> tuple[dict[str, list[Ring]], list[Ring]]:
    """Outlines of every size without frames around pieces, and the frames.

    A frame has no counterpart in other sizes, while outlines in it have; with one size, or a
    frame in each, it is told by texts that speak of pieces inside outlines in it.
    """
    frames: list[Ring] = []
    kept: dict[str, list[Ring]] = {}
    for size, own in rings.items():
        others = [ring for other, found in rings.items() if other != size for ring in found]
        tree = shapely.STRtree([ring.polygon for ring in others])
        areas = [ring.polygon for ring in own]
        mine = shapely.STRtree(areas)
        scores = [_most_alike(ring, others, tree) for ring in own]
        kept[size] = []
        for index, ring in enumerate(own):
            held = mine.query(areas[index], predicate="contains_properly").tolist()
            kids = [i for i in held if i != index]
            best = max((scores[i] for i in kids), default=0.0)
            no_counterpart = scores[index] < IN_PLACE <= best
            inner = [own[i] for i in kids]
            said = bool(kids) and _said_inside(ring, inner, texts)
            said = said and seam_inside(ring, inner) is None
            if no_counterpart or (is_box(ring.points) and said):
                frames.append(ring)
            else:
                kept[size].append(ring)
    return kept, frames


def _most_alike(ring: Ring, others: Sequence[Ring], tree: shapely.STRtree) -> float:
    area = ring.polygon
    best = 0.0
    for index in tree.query(area, predicate="intersects").tolist():
        other = others[index].polygon
        less, more = sorted((area.area, other.area))
        if less / more > best:
            shared = area.intersection(other).area
            best = max(best, shared / (less + more - shared))
    return best


def _said_inside(ring: Ring, kids: Sequence[Ring], texts: Sequence[DrawnText]) -> bool:
    """Whether texts speak of pieces inside the outlines in a box, and of none beside them."""
    areas = [kid.polygon for kid in kids if max(np.ptp(kid.points, axis=0)) > MARK_MM]
    held = [0, 0]
    for text in texts:
        if said_by([text]).cut is not None:
            point = shapely.Point(find_text_middle(text))
            if ring.polygon.contains(point):
                held[any(area.contains(point) for area in areas)] += 1
    return held[1] > 0 and held[0] == 0


def is_box(points: Array) -> bool:
    """Whether an outline is a rectangle."""
    low, high = points.min(axis=0), points.max(axis=0)
    slack = 1e-3 + np.tan(np.radians(BOX_DEG)) * float((high - low).max())
    off = np.minimum(points - low, high - points).min(axis=1)
    area = abs(float(shapely.Polygon(points).area))
    return bool((off <= slack).all()) and area >= 0.98 * float((high - low).prod())


def is_piece_said(ring: Ring, texts: Sequence[DrawnText]) -> bool:
    """Whether a text inside says that an outline is a piece."""
    inside = [t for t in texts if ring.polygon.contains(shapely.Point(find_text_middle(t)))]
    said = said_by(inside)
    return said.cut is not None or said.fold


def is_test(ring: Ring, texts: Sequence[DrawnText]) -> bool:
    """Whether an outline is a test square: a box with its length in it or beside it."""
    width, height = np.ptp(ring.points, axis=0).tolist()
    if max(width, height) > LARGEST_TEST_MM or not is_box(ring.points):
        return False
    near = ring.polygon.buffer(TEXT_NEAR_MM)
    units = any(
        _UNIT.search(t.text) and near.contains(shapely.Point(find_text_middle(t))) for t in texts
    )
    return units and not is_piece_said(ring, texts)


def what_else(ring: Ring, texts: Sequence[DrawnText], pieces: Sequence[Ring]) -> str | None:
    """What a closed line is that only one size, or none, draws; None for a piece.

    Parameters
    ----------
    ring : Ring
    texts : sequence of DrawnText
        All texts of the sheet.
    pieces : sequence of Ring
        Outlines that all sizes draw.
    """
    if is_piece_said(ring, texts):
        return None
    width, height = np.ptp(ring.points, axis=0).tolist()
    if is_test(ring, texts):
        return f"a test square of {width:.1f} × {height:.1f} mm"
    if is_box(ring.points):
        return f"a box of {width:.0f} × {height:.0f} mm"
    if any(is_small_copy(ring, piece) for piece in pieces):
        return "a small picture of a piece, as in a cutting layout"
    return None


def what_is_none(
    rings: Sequence[Ring], texts: Sequence[DrawnText], pieces: Sequence[Ring]
) -> dict[int, str]:
    """By its identity, what each closed line that is drawn once for all sizes is beside a piece."""
    others = {id(ring): what_else(ring, texts, pieces) for ring in rings}
    boxes = [r for r in rings if (words := others[id(r)]) and words.startswith("a box")]
    found = {}
    for ring in rings:
        words = others[id(ring)]
        if words is None and any(
            box is not ring and box.polygon.contains(ring.polygon) for box in boxes
        ):
            words = "a closed line in a box, as in a cutting layout"
        if words is not None:
            found[id(ring)] = words
    return found


def is_small_copy(ring: Ring, piece: Ring) -> bool:
    """Whether an outline is another one drawn much smaller, turned by quarters or over."""
    if ring.polygon.area > SMALL_COPY * piece.polygon.area:
        return False
    mine, theirs = _unit_shape(ring.points), _unit_shape(piece.points)
    target = shapely.Polygon(theirs)
    for turn in (np.array([[1, 0], [0, 1]]), np.array([[0, -1], [1, 0]])):
        for signs in ((1, 1), (-1, 1), (1, -1), (-1, -1)):
            laid = shapely.Polygon(mine @ turn.T * np.array(signs)).buffer(0)
            if laid.intersection(target).area >= COPY * laid.union(target).area:
                return True
    return False


def _unit_shape(points: Array) -> Array:
    middle = np.array(shapely.Polygon(points).centroid.coords[0])
    return np.asarray((points - middle) / np.sqrt(abs(shapely.Polygon(points).area)))
