"""How much room a welt opening has: to the seams, to the darts, and its bag within the piece."""

from __future__ import annotations

import numpy as np
import shapely

from propagate.geometry.motion import fit
from propagate.geometry.polyline import point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.spans import span_ends
from propagate.pattern.welts import WeltOpening, WeltPart, line_points, part_span
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["BagLaid", "bag_laid", "measure_rooms"]

_GRAZED_MM = 0.5
"""A welt at the tip of a dart is grazed by it, not crossed, where either is off by a hair."""


def measure_rooms(
    piece: SizedPiece, opening: WeltOpening, anchors: tuple[str, ...]
) -> dict[str, float]:
    """Measure how far an opening lies from edges and darts, mm; below 0 where it crosses.

    A dart that it is measured from is asked only whether it is crossed: a welt often lies where
    the dart above it ends.

    Returns
    -------
    dict of str to float
        By ``edge 'NAME'`` and ``dart 'NAME'``: what lies outside or in the dart counts below 0.
    """
    line = shapely.LineString(line_points(piece, opening))
    area = shapely.Polygon(piece.outline)
    outside = line.difference(area)
    edges = {edge.name: shapely.LineString(edge.points) for edge in piece.edges}
    found = {f"edge '{name}'": float(edge.distance(line)) for name, edge in edges.items()}
    if outside.length > ON_LINE_MM:
        nearest = min(edges, key=lambda name: (edges[name].distance(outside), name))
        found[f"edge '{nearest}'"] = -float(outside.length)
    for dart in piece.darts:
        legs = [piece.landmark(leg).point for leg in dart.legs]
        wedge = shapely.Polygon([legs[0], dart.tip, legs[1]])
        within = float(line.intersection(wedge).length)
        if within > _GRAZED_MM:
            found[f"dart '{dart.name}'"] = -within
        elif dart.name not in anchors:
            found[f"dart '{dart.name}'"] = float(line.distance(wedge))
    return found


@dataclass(frozen=True)
class BagLaid:
    """A bag laid under its opening.

    Attributes
    ----------
    sticks_out_mm : float
        How far it reaches out of the main piece.
    mouth_out_mm : float
        How much of its mouth lies outside of the main piece.
    """

    sticks_out_mm: float
    mouth_out_mm: float


def bag_laid(piece: SizedPiece, opening: WeltOpening, part: WeltPart, bag: SizedPiece) -> BagLaid:
    """Lay a bag on its main piece, the middle of its mouth on that of the opening."""
    span, edge = part_span(part), bag.edge(part.edge)
    mouth = np.array([point_at(edge.points, at) for at in span_ends(bag, span)])
    line = line_points(piece, opening)
    ends = line[[0, -1]]
    middle, ahead = ends.mean(axis=0), ends[1] - ends[0]
    half = np.hypot(*(mouth[1] - mouth[0])) / 2 * ahead / np.hypot(*ahead)
    place, _ = fit(mouth, np.array([middle - half, middle + half]), face_down=part.face_down)
    area, laid = shapely.Polygon(piece.outline), shapely.Polygon(place.apply(bag.outline))
    if area.covers(laid):
        return BagLaid(0.0, 0.0)
    area = area.buffer(ON_LINE_MM)
    beyond = laid.difference(area)
    corners = shapely.get_coordinates(beyond)
    out = float(shapely.distance(area, shapely.points(corners)).max()) if len(corners) else 0.0
    laid_mouth = shapely.LineString(place.apply(mouth))
    return BagLaid(out, float(laid_mouth.difference(area).length))
