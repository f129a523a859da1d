"""Refuse a drawing that no work can be done with, or that cannot be the piece for its size alone.

A drawing in another unit, or one point of it far away, is found out by sums over the outline
before anything is sampled from it: samples every few millimetres of a piece that measures
kilometres would take all the memory there is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.errors import EditError
from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import length
from propagate.pattern.model import SizedPiece
from propagate.tolerances import FARTHEST_MM, ON_LINE_MM

__all__ = ["check_size", "check_usable", "named_points"]

Array = npt.NDArray[np.float64]


def check_usable(piece: SizedPiece, where: str, cure: str = "correct the drawing there") -> None:
    """Check that every number is one, and that the outline is closed and does not cross itself.

    Parameters
    ----------
    piece : SizedPiece
    where, cure : str
        Set, piece and size, and what to do about an outline that crosses itself.

    Raises
    ------
    EditError
        Names the edge or the place.
    """
    for what, points in named_points(piece):
        if not np.isfinite(points).all():
            raise EditError(
                f"{where}: {what} has a coordinate that is no number, expected millimetres; send "
                "the drawing again"
            )
    for before, edge in zip((piece.edges[-1], *piece.edges[:-1]), piece.edges, strict=True):
        gap = float(np.hypot(*(edge.points[0] - before.points[-1])))
        if gap > ON_LINE_MM:
            raise EditError(
                f"{where}: edge '{edge.name}' starts {gap:.2f} mm from where edge '{before.name}' "
                "ends, expected a closed outline; correct the drawing there"
            )
    polygon = shapely.Polygon(piece.outline)
    if not polygon.is_valid:
        raise EditError(
            f"{where}: the outline crosses itself ({shapely.is_valid_reason(polygon)}, mm); {cure}"
        )


def named_points(piece: SizedPiece) -> list[tuple[str, Array]]:
    """Everything drawn of a piece: what it is, and its (n, 2) points, mm."""
    found: list[tuple[str, npt.ArrayLike]] = []
    found += [(f"edge '{edge.name}'", edge.points) for edge in piece.edges]
    found += [("the grain line", [piece.grain.start, piece.grain.end])]
    found += [(f"landmark '{mark.name}'", [mark.point]) for mark in piece.landmarks]
    found += [(f"the tip of dart '{dart.name}'", [dart.tip]) for dart in piece.darts]
    found += [(f"drill mark '{mark.name}'", [mark.point]) for mark in piece.drills]
    found += [(f"line '{line.name}'", line.points) for line in piece.lines]
    return [(what, np.asarray(points, dtype=np.float64).reshape(-1, 2)) for what, points in found]


_LARGEST_TIMES = 5.0
"""Of so many times the length around it no piece is redrawn, nor of so small a part."""
_FARTHEST_TIMES = 8.0
"""No point of it lies so many times as far from the middle as the old piece measures across."""
_BEYOND_MM = 1e15
"""What is larger than this is damage, and its powers may be no numbers."""
_NO_AREA_MM2 = 1e-12
_NEAR_FACTOR = 0.12
"""How far a piece that was revised too may be from the factor between two units."""
_UNITS: tuple[tuple[float, str], ...] = (
    (2.54, "one in centimetres that was read in inches (--unit cm)"),
    (72 / 25.4, "one in pt that was read in millimetres (--unit pt)"),
    (96 / 25.4, "one in px that was read in millimetres (--unit px)"),
    (10.0, "one in millimetres that was read in centimetres (--unit mm)"),
    (25.4, "one in millimetres that was read in inches (--unit mm)"),
    (100.0, "one in hundredths of a millimetre that was read in millimetres"),
    (1000.0, "one in thousandths of a millimetre, or in millimetres that was read in metres"),
    (1 / 2.54, "one in inches that was read in centimetres (--unit in)"),
    (25.4 / 72, "one in millimetres that was read in pt (--unit mm)"),
    (25.4 / 96, "one in millimetres that was read in px (--unit mm)"),
    (1 / 10.0, "one in centimetres that was read in millimetres (--unit cm)"),
    (1 / 25.4, "one in inches that was read in millimetres (--unit in)"),
    (1 / 1000.0, "one in metres that was read in millimetres"),
)
"""Factor by which a drawing comes out too large, and what explains it.  An inch has 72 pt and,
where nothing else is said, 96 px (CSS Values and Units, level 3, 6.2)."""


def check_size(old: SizedPiece, new: SizedPiece, where: str) -> None:
    """Check that a revised piece is about as large as the one in the set, and not far away.

    Parameters
    ----------
    old, new : SizedPiece
        Every number of `new` is one.
    where : str
        Set, piece and size, for messages.

    Raises
    ------
    EditError
        Says how many times as large it is and which unit explains that, or which point of
        the drawing lies far from the others.
    """
    # A number may be too large to be reckoned with.
    for what, points in named_points(new):
        if np.abs(points).max(initial=0.0) > _BEYOND_MM:
            at = int(np.abs(points).max(axis=1).argmax())
            raise EditError(
                f"{where}: {what} lies at ({points[at, 0]:.6g}, {points[at, 1]:.6g}), expected "
                "millimetres; correct the drawing there"
            )
    around, was = _measure_around(new), _measure_around(old)
    factor = around / was
    times = f"{factor:.4g}" if factor >= 1.0 else f"1/{1 / factor:.4g}"
    said = (
        f"{where}: the drawing is {times} times as large as the piece in the set; it measures "
        f"{around:.1f} mm around, the old one {was:.1f} mm; look in which unit it was drawn and "
        "read"
    )
    unit = _find_unit(old, new, factor)
    if unit:
        raise EditError(f"{said}: it is like {unit}")
    another = EditError(f"{said} (--unit), and whether it is this piece")
    across = float(np.hypot(*np.ptp(old.outline, axis=0)))
    middle = np.median(new.outline, axis=0)
    corners = np.array([edge.points[0] for edge in new.edges])
    most = _FARTHEST_TIMES * across
    edge = max(new.edges, key=lambda one: np.hypot(*(one.points - middle).T).max())
    gaps = np.hypot(*(edge.points - middle).T)
    at = int(gaps.argmax())
    if gaps[at] > most:
        if 2 * (np.hypot(*(corners - middle).T) > most).sum() > len(corners):
            raise another
        x, y = edge.points[at]
        raise EditError(
            f"{where}: edge '{edge.name}' has a point at ({x:.6g}, {y:.6g}), number {at} from its "
            f"start and {gaps[at]:.4g} mm from the middle of the drawing, expected a piece of "
            f"about {across:.4g} mm; correct the drawing there"
        )
    farthest = float(np.abs(new.outline).max())
    if farthest > FARTHEST_MM:
        raise EditError(
            f"{where}: the drawing lies {farthest:.4g} mm from its origin, expected less than "
            f"{FARTHEST_MM:g} mm, beyond which coordinates lose their last digits; move it to the "
            "origin and send it again"
        )
    if not 1 / _LARGEST_TIMES <= factor <= _LARGEST_TIMES:
        raise another


def _find_unit(old: SizedPiece, new: SizedPiece, around: float) -> str:
    """The unit that explains how many times as large the new piece is; empty for none.

    A unit makes outline and box larger alike, wherever the drawing lies and however it is
    turned; a revision, or one point far away, does not.
    """
    areas = [max(abs(signed_area(piece.outline)), _NO_AREA_MM2) for piece in (new, old)]
    area = float(np.sqrt(areas[0] / areas[1]))
    off, words = min(
        (max(abs(float(np.log(found / factor))) for found in (around, area)), words)
        for factor, words in _UNITS
    )
    return words if off <= _NEAR_FACTOR else ""


def _measure_around(piece: SizedPiece) -> float:
    return sum(length(edge.points) for edge in piece.edges)
