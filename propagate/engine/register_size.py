"""Refuse a revised piece that cannot be the one in the set for its size alone.

A drawing in another unit, or one point of it far away, is found out by sums over the outline
before anything is sampled from it: samples every few millimetres of a piece that measures
kilometres would take all the memory there is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.engine.register_checks import named_points
from propagate.errors import EditError
from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import length
from propagate.pattern.model import SizedPiece
from propagate.tolerances import FARTHEST_MM

__all__ = ["check_size"]

Array = npt.NDArray[np.float64]

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
    _check_digits(new, where)
    factor, explained = _find_unit(old, new)
    if explained:
        raise EditError(f"{_tell_measures(old, new, where)}: it is like {explained}")
    _check_reach(old, new, where)
    if not 1 / _LARGEST_TIMES <= factor <= _LARGEST_TIMES:
        raise EditError(_not_this_size(old, new, where))


def _tell_measures(old: SizedPiece, new: SizedPiece, where: str) -> str:
    around, was = _measure_around(new), _measure_around(old)
    return (
        f"{where}: the drawing is {_say_times(around / was)} as large as the piece in the set; it "
        f"measures {around:.1f} mm around, the old one {was:.1f} mm; look in which unit it was "
        "drawn and read"
    )


def _not_this_size(old: SizedPiece, new: SizedPiece, where: str) -> str:
    return f"{_tell_measures(old, new, where)} (--unit), and whether it is this piece"


def _check_digits(new: SizedPiece, where: str) -> None:
    """Check that no number is too large to be reckoned with."""
    for what, points in named_points(new):
        if np.abs(points).max(initial=0.0) > _BEYOND_MM:
            at = int(np.abs(points).max(axis=1).argmax())
            raise EditError(
                f"{where}: {what} lies at ({points[at, 0]:.6g}, {points[at, 1]:.6g}), expected "
                "millimetres; correct the drawing there"
            )


def _check_reach(old: SizedPiece, new: SizedPiece, where: str) -> None:
    """Check that no point lies far from the others, nor all of them far from the origin."""
    middle = np.median(new.outline, axis=0)
    edge, at, point = _find_farthest(new, middle)
    away = float(np.hypot(*(point - middle)))
    most = _FARTHEST_TIMES * _measure_across(old.outline)
    corners = np.array([edge.points[0] for edge in new.edges])
    if away > most and 2 * (np.hypot(*(corners - middle).T) > most).sum() > len(corners):
        raise EditError(_not_this_size(old, new, where))
    if away > most:
        raise EditError(
            f"{where}: edge '{edge}' has a point at ({point[0]:.6g}, {point[1]:.6g}), number {at} "
            f"from its start and {away:.4g} mm from the middle of the drawing, expected a piece "
            f"of about {_measure_across(old.outline):.4g} mm; correct the drawing there"
        )
    farthest = float(np.abs(new.outline).max())
    if farthest > FARTHEST_MM:
        raise EditError(
            f"{where}: the drawing lies {farthest:.4g} mm from its origin, expected less than "
            f"{FARTHEST_MM:g} mm, beyond which coordinates lose their last digits; move it to the "
            "origin and send it again"
        )


def _find_farthest(piece: SizedPiece, middle: Array) -> tuple[str, int, Array]:
    """Edge, index and place of the vertex farthest from a point."""
    found = []
    for edge in piece.edges:
        away = np.hypot(*(edge.points - middle).T)
        at = int(away.argmax())
        found.append((float(away[at]), edge.name, at, edge.points[at]))
    _, name, at, point = max(found, key=lambda one: one[0])
    return name, at, point


def _find_unit(old: SizedPiece, new: SizedPiece) -> tuple[float, str]:
    """How many times as large the new piece is, and the unit that explains it or nothing.

    A unit makes outline and box larger alike, wherever the drawing lies and however it is
    turned; a revision, or one point far away, does not.
    """
    around = _measure_around(new) / _measure_around(old)
    areas = [max(abs(signed_area(piece.outline)), _NO_AREA_MM2) for piece in (new, old)]
    area = float(np.sqrt(areas[0] / areas[1]))
    off, words = min(
        (max(abs(float(np.log(found / factor))) for found in (around, area)), words)
        for factor, words in _UNITS
    )
    return around, words if off <= _NEAR_FACTOR else ""


def _say_times(factor: float) -> str:
    return f"{factor:.4g} times" if factor >= 1.0 else f"1/{1 / factor:.4g} times"


def _measure_around(piece: SizedPiece) -> float:
    """Length of an outline, mm."""
    return sum(length(edge.points) for edge in piece.edges)


def _measure_across(outline: Array) -> float:
    return float(np.hypot(*np.ptp(outline, axis=0)))
