"""Where a set came from: what was read, so that what nobody changed is written as it was.

It is one value on the set, beside what the set says: whatever is replaced on a set, its origin
stays, and writing compares the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from typing import TYPE_CHECKING

from propagate.io.report import ReadingReport
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.io.dxf.source import DxfSource

__all__ = ["Drawing", "Origin", "curve_tolerance", "origin_of", "source_of"]


@dataclass(frozen=True, eq=False)
class Drawing:
    """The DXF that is the geometry of a set.

    Attributes
    ----------
    source : DxfSource
    data : bytes
        The file itself; of a damaged one `source` holds what could be read.
    rule_file : str
        Name of the rule file beside it, if there is one.
    reading : ReadingReport
    """

    source: DxfSource
    data: bytes
    rule_file: str
    reading: ReadingReport


@dataclass(frozen=True, eq=False)
class Origin:
    """Where a set came from.

    Attributes
    ----------
    text : bytes or None
        Its ``set.toml`` as a person wrote it; None: it came from bare geometry, or from code.
    pieces : mapping of name to Piece
        As they were read.
    files : mapping of piece name to bytes
        The geometry file of each, where it has one.
    sources : tuple of DxfSource
        The drawings that the pieces were read from.
    drawing : Drawing or None
        The one that is the geometry of the set.
    """

    text: bytes | None = None
    pieces: Mapping[str, Piece] = field(default_factory=dict)
    files: Mapping[str, bytes] = field(default_factory=dict)
    sources: tuple[DxfSource, ...] = ()
    drawing: Drawing | None = None

    def holds(self, piece: Piece) -> bool:
        """Whether a piece is as it was read, in name and every digit."""
        own = self.pieces.get(piece.name)
        if own is None or own is piece or own.nest is piece.nest:
            return own is not None
        # Which pleats lie on a piece is said by relations, not by its own file.
        return own.nest.keys() == piece.nest.keys() and all(
            sized is piece.nest[size] or _unfolded(sized) == _unfolded(piece.nest[size])
            for size, sized in own.nest.items()
        )


def _unfolded(sized: SizedPiece) -> SizedPiece:
    return replace(sized, pleats=()) if sized.pleats else sized


def origin_of(pattern: PatternSet) -> Origin:
    """Return where a set came from; an empty origin for one that was made in code."""
    return pattern.origin if isinstance(pattern.origin, Origin) else Origin()


def source_of(pattern: PatternSet) -> DxfSource | None:
    """Return the one drawing that a set was read from; None when there is none, or more."""
    sources = origin_of(pattern).sources
    return sources[0] if len(sources) == 1 else None


def curve_tolerance(pattern: PatternSet) -> float | None:
    """How far the lines of a drawing may lie from the curves that they stand for, mm.

    The widest that any drawing states from which pieces of the set were read; None when
    none states a number above zero.
    """
    widest = max((source.curve_tolerance_mm for source in origin_of(pattern).sources), default=0.0)
    return widest if widest > 0 else None
