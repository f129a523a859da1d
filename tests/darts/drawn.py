"""Revised drawings of the bodice's front, made with a ruler and a pin: by rotation alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.ops import substring

from propagate.pattern.model import Dart, Edge, Landmark, SizedPiece, frozen_points
from tests.darts.bodice import turned

Array = npt.NDArray[np.float64]


def pair(point: npt.ArrayLike) -> tuple[float, float]:
    x, y = np.asarray(point, dtype=float)
    return float(x), float(y)


def with_legs(
    front: SizedPiece, legs: tuple[tuple[float, float], tuple[float, float]], tip: npt.ArrayLike
) -> SizedPiece:
    """The front with the legs and the tip of its waist dart elsewhere."""
    (dart,) = front.darts
    moved = dict(zip(dart.legs, legs, strict=True))
    return replace(
        front,
        landmarks=tuple(replace(m, point=moved.get(m.name, m.point)) for m in front.landmarks),
        darts=(replace(dart, tip=pair(tip)),),
    )


def swung_to_side(front: SizedPiece, share: float = 0.6, name: str = "side_dart") -> SizedPiece:
    """Cut from the side, at a share of its length, to the tip; close the waist dart.

    The part between dart and cut turns about the tip until the leg at the side lies on the
    other one: clockwise, by the angle of the dart.
    """
    (dart,) = front.darts
    tip = np.array(dart.tip)
    inner, outer = (np.array(front.landmark(leg).point) for leg in dart.legs)
    angle = np.degrees(np.arctan2(*(inner - tip)[::-1]) - np.arctan2(*(outer - tip)[::-1]))
    side = front.edge("side").points
    cut = (1 - share) * side[0] + share * side[1]

    def swing(points: npt.ArrayLike) -> Array:
        return turned(points, angle, tip)

    waist = np.vstack([[(0.0, 0.0)], [inner], swing(front.edge("waist").points[-1])])
    fresh = np.vstack([swing(side[0]), swing(cut), cut, side[1]])
    new = {"waist": Edge("waist", frozen_points(waist)), "side": Edge("side", frozen_points(fresh))}
    balance = front.landmark("balance")
    on_part = np.hypot(*(np.array(balance.point) - side[0])) < share * front.edge("side").length
    return replace(
        front,
        edges=tuple(new.get(edge.name, edge) for edge in front.edges),
        landmarks=(
            replace(balance, point=pair(swing(balance.point)[0])) if on_part else balance,
            Landmark("leg_low", "side", pair(swing(cut)[0]), "dart leg"),
            Landmark("leg_high", "side", pair(cut), "dart leg"),
        ),
        darts=(Dart(name, "side", ("leg_low", "leg_high"), dart.tip),),
    )


def mouth_line(piece: SizedPiece, name: str) -> Array:
    """The edge between the legs of a dart."""
    dart = next(d for d in piece.darts if d.name == name)
    a, b = (piece.distance(dart.edge, leg) for leg in dart.legs)
    line = shapely.LineString(piece.edge(dart.edge).points)
    points = np.array(substring(line, min(a, b), max(a, b)).coords)
    apart = np.hypot(*np.diff(points, axis=0).T) > 1e-6
    return np.asarray(points[np.concatenate([[True], apart])])


def cloth(piece: SizedPiece) -> float:
    """Area of the cloth when every dart is cut out, mm²."""
    area = float(shapely.Polygon(piece.outline).area)
    for dart in piece.darts:
        area -= float(shapely.Polygon([*mouth_line(piece, dart.name), dart.tip]).area)
    return area


def sewn(piece: SizedPiece, edge: str) -> float:
    """Length of an edge without the mouths of its darts, mm."""
    size = float(shapely.LineString(piece.edge(edge).points).length)
    for dart in piece.darts:
        if dart.edge == edge:
            a, b = (piece.distance(edge, leg) for leg in dart.legs)
            size -= abs(a - b)
    return size


def leg_lengths(piece: SizedPiece, name: str) -> tuple[float, float]:
    """From the tip to both legs, mm."""
    dart = next(d for d in piece.darts if d.name == name)
    a, b = (float(np.hypot(*np.subtract(piece.landmark(leg).point, dart.tip))) for leg in dart.legs)
    return a, b


def angle_of(piece: SizedPiece, name: str) -> float:
    """Angle between the legs of a dart at its tip, degrees."""
    dart = next(d for d in piece.darts if d.name == name)
    a, b = (np.subtract(piece.landmark(leg).point, dart.tip) for leg in dart.legs)
    return float(np.degrees(np.arctan2(abs(a[0] * b[1] - a[1] * b[0]), float(a @ b))))
