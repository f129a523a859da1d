"""What of a set is printed: pieces in the frame of the paper, and the numbers of seams."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import CutLine, cut_line
from propagate.geometry.motion import Motion
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Run, Span
from propagate.pattern.titles import name_title, piece_title
from propagate.report.scene.piece import laid_on_base, moved_piece
from propagate.values import dataclass

__all__ = ["PaperPiece", "SeamNumber", "numbers_on", "on_paper", "seam_numbers", "turn_piece"]

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


@dataclass(frozen=True)
class SeamNumber:
    """A number with the two runs that carry it."""

    number: int
    title: str
    lead: Run
    follow: Run

    @property
    def spans(self) -> tuple[Span, ...]:
        """Every span that carries the number, each once."""
        return tuple(dict.fromkeys((*self.lead, *self.follow)))

    def words(self, pattern: PatternSet) -> str:
        """The seam's title and the titles of the pieces that it joins."""
        titles = dict.fromkeys(piece_title(pattern, span.piece) for span in self.spans)
        return f"{self.title}: {', '.join(titles)}"


def seam_numbers(pattern: PatternSet, pieces: Collection[str]) -> list[SeamNumber]:
    """Number the seams that concern some pieces, then the zones of their bands.

    The numbers are those of the whole set, so that a piece printed alone carries the same
    ones.
    """
    found: list[tuple[str, Run, Run]] = [
        (name_title(pattern, seam.name), seam.lead, seam.follow)
        for seam in pattern.relations.seams.values()
    ]
    for band in pattern.relations.bands.values():
        for zone in (zone for zone in band.zones if zone.run):
            title = f"{name_title(pattern, band.name)}, {name_title(pattern, zone.name, band.name)}"
            own = Span(band.piece, band.sewn, zone.begin, zone.end)
            found.append((title, zone.run, (own,)))
    numbered = [SeamNumber(i + 1, *entry) for i, entry in enumerate(found)]
    return [entry for entry in numbered if any(span.piece in pieces for span in entry.spans)]


def numbers_on(numbers: list[SeamNumber], piece: str) -> list[tuple[Span, int]]:
    """Return spans of a piece with the number that each carries."""
    return [
        (span, entry.number) for entry in numbers for span in entry.spans if span.piece == piece
    ]
