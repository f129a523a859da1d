"""Bring a piece into the frame of the paper: grain upwards, sizes laid over each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import CutLine, cut_line
from propagate.geometry.motion import Motion
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.report.scene.frames import laid_on_base, moved_piece
from propagate.values import dataclass

__all__ = ["PaperPiece", "moved_piece", "on_paper", "turn_piece"]

Array = npt.NDArray[np.float64]

_TICK_MM = 3.5
"""Notches of an edge without an allowance stand out by this much."""
_HALF_TURN = Motion(-1 + 0j)


@dataclass(frozen=True)
class PaperPiece:
    """A piece in one or several sizes, in one frame with the grain upwards."""

    name: str
    info: PieceInfo
    sizes: dict[str, SizedPiece]
    cuts: dict[str, CutLine]

    @property
    def footprint(self) -> shapely.Geometry:
        """The area that all sizes together take on the paper."""
        areas = [shapely.make_valid(shapely.Polygon(cut.points)) for cut in self.cuts.values()]
        ticks = [
            shapely.Point(mark.point).buffer(_TICK_MM, quad_segs=2)
            for piece in self.sizes.values()
            for mark in piece.landmarks
        ]
        return shapely.union_all([*areas, *ticks])


def on_paper(pattern: PatternSet, name: str, sizes: Sequence[str]) -> PaperPiece:
    """Return a piece with the grain of its base size upwards and the other sizes laid on it."""
    info = pattern.info[name]
    found: dict[str, SizedPiece] = {}
    # One size alone needs no other to be laid on.
    first = pattern.base if len(sizes) > 1 else sizes[0]
    upwards = Motion(1j / complex(*pattern.sized(name, first).grain.direction))
    for size in sizes:
        laid = laid_on_base(pattern, name, size) if len(sizes) > 1 else Motion()
        found[size] = moved_piece(pattern.sized(name, size), upwards.after(laid))
    cuts = {size: cut_line(piece, info, size=size) for size, piece in found.items()}
    return PaperPiece(name, info, found, cuts)


def turn_piece(piece: PaperPiece) -> PaperPiece:
    """Turn a piece upside down."""
    sizes = {size: moved_piece(sized, _HALF_TURN) for size, sized in piece.sizes.items()}
    cuts = {size: cut_line(sized, piece.info, size=size) for size, sized in sizes.items()}
    return PaperPiece(piece.name, piece.info, sizes, cuts)
