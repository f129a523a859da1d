"""Rebuild the cut line of a piece from its seam line.

Every edge gets its own allowance.  An edge on the fold gets none unless one is
stated.  The cut line beyond a turned edge mirrors the piece above the fold; along an
edge on the fold of the cloth it runs straight on, since a folded edge stays on the
fold.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from propagate.errors import EditError, UnknownName
from propagate.geometry.joints import Corner
from propagate.geometry.offset import odd_joints, offset_chain
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import PieceInfo
from propagate.values import dataclass

__all__ = ["CutLine", "allowances", "cut_line", "odd_corners"]

Array = npt.NDArray[np.float64]
_Found = TypeVar("_Found")


@dataclass(frozen=True, eq=False)
class CutLine:
    """The line along which a piece is cut.

    Attributes
    ----------
    points : (n, 2) array, read-only, mm
        Counter-clockwise and closed; the first point is not repeated.
    stretches : mapping of edge name to (k, 2) arrays, mm
        The parts of the cut line that belong to an edge, in outline order: usually
        one; none when its neighbours' allowances swallow it.
    area : float, mm^2
    """

    points: Array
    stretches: Mapping[str, tuple[Array, ...]]
    area: float


def allowances(piece: SizedPiece, info: PieceInfo) -> dict[str, float]:
    """Allowance of every edge, mm; 0 on the fold unless one is stated for that edge."""
    stated = info.allowance
    return {
        name: 0.0 if name == info.fold and name not in stated.edges else stated.of(name)
        for name in piece.edge_names
    }


def cut_line(piece: SizedPiece, info: PieceInfo, *, size: str = "") -> CutLine:
    """Build the cut line of a piece, once: it stays with the piece.

    Parameters
    ----------
    piece : SizedPiece
    info : PieceInfo
    size : str
        Named in errors.

    Raises
    ------
    UnknownName
        When an allowance names an edge or a corner that the piece does not have.
    EditError
        When a square corner is asked for beside a turned edge, when an allowance is
        negative, or when the seam line crosses itself.
    """
    kept: list[tuple[PieceInfo, CutLine]] = vars(piece).setdefault("_cut_lines", [])
    for said, line in kept:
        if said is info or said == info:
            return line
    found = _of_chain(offset_chain, piece, info, size)
    stretches = {name: found.stretches(i) for i, name in enumerate(piece.edge_names)}
    kept.append((info, CutLine(found.points, stretches, found.area)))
    return kept[-1][1]


def odd_corners(
    piece: SizedPiece, info: PieceInfo, *, size: str = ""
) -> frozenset[tuple[str, str]]:
    """Corners, by the edges before and after them, that the cut line does not simply mitre.

    Those of an edge whose allowance laps over itself are among them; raises as `cut_line`.
    """
    names = piece.edge_names
    found = _of_chain(odd_joints, piece, info, size)
    return frozenset((names[i], names[(i + 1) % len(names)]) for i in found)


def _of_chain(ask: Callable[..., _Found], piece: SizedPiece, info: PieceInfo, size: str) -> _Found:
    """What geometry says of the edges of a piece with their allowances and corners."""
    where = f"piece '{info.title}'" + (f", size {size}" if size else "")
    _check_names(piece, info, where)
    names = piece.edge_names
    widths = allowances(piece, info)
    corners = [
        _choose_corner(before, after, info, where)
        for before, after in zip(names, (*names[1:], names[0]), strict=True)
    ]
    try:
        return ask(
            [edge.points for edge in piece.edges],
            [widths[name] for name in names],
            corners,
            turns=[edge.turns for edge in piece.edges],
        )
    except ValueError as error:
        raise EditError(
            f"{where}: no cut line can be built, {error}; correct the piece's edges or allowances"
        ) from error


def _check_names(piece: SizedPiece, info: PieceInfo, where: str) -> None:
    stated, names = info.allowance, piece.edge_names
    if info.fold is not None and info.fold not in names:
        raise UnknownName("edge", info.fold, names, f"the fold of {where}")
    for name in (*stated.edges, *sorted(stated.turned)):
        if name not in names:
            raise UnknownName("edge", name, names, f"the allowance of {where}")
    known = [f"{a}/{b}" for a, b in zip(names, (*names[1:], names[0]), strict=True)]
    for corner in stated.corners:
        if corner not in known:
            raise UnknownName("corner", corner, known, f"the allowance of {where}")


def _choose_corner(before: str, after: str, info: PieceInfo, where: str) -> Corner:
    """Treatment of the corner where `before` ends and `after` starts."""
    stated = info.allowance
    style = stated.corners.get(f"{before}/{after}")
    turned = [name for name in (before, after) if name in stated.turned]
    if style in ("square", "square second"):
        if turned:
            raise EditError(
                f"{where}, corner '{before}/{after}': found style '{style}' beside the turned "
                f"edge '{turned[0]}', expected none, since its cut line mirrors the piece; "
                f"leave the style out, or take '{turned[0]}' out of 'turned'"
            )
        return Corner.SQUARE_TO_FIRST if style == "square" else Corner.SQUARE_TO_SECOND
    if style == "mitre" or len(turned) != 1 or info.fold in (before, after):
        return Corner.MITRE
    return Corner.MIRROR_IN_FIRST if turned == [before] else Corner.MIRROR_IN_SECOND
