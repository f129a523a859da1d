"""What is known in the middle of a propagation.

This is the only mutable object of the engine; it is made anew for every call and
never leaves it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.edits.blend import Resolved
from propagate.engine.record import Change, Notice, PieceChange
from propagate.engine.reshape import Edited, start_edit
from propagate.engine.tape import Silhouette, tape
from propagate.geometry.motion import Motion
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["FOLLOWS_CORNER", "LaidOpening", "Split", "State"]

Array = npt.NDArray[np.float64]

FOLLOWS_CORNER = "follows its corner"
"""What is said of an edge that changed because its neighbour's end was moved."""


@dataclass(frozen=True)
class Split:
    """Where a silhouette edge is cut apart: distance along it and the exact point."""

    distance: float
    point: Array


@dataclass(frozen=True)
class LaidOpening:
    """An opening in its new place.

    Attributes
    ----------
    motion : Motion
        Takes the main piece's frame in the pocket's size to the new frame.
    source : Silhouette
        The silhouette in the pocket's size.
    points : (n, 2) array
        The new opening line, in edge direction.
    across, side : Split
        Its two ends on the silhouette.
    swing_deg, moved_mm, slid_mm : float
    """

    motion: Motion
    source: Silhouette
    points: Array
    across: Split
    side: Split
    swing_deg: float
    moved_mm: float
    slid_mm: float


@dataclass
class State:
    """Everything that relations read and write during one propagation.

    Attributes
    ----------
    pieces : mapping of name to re-cut piece
    given : mapping of name to SizedPiece
        Pieces that the edit gave whole: they are not cut apart again.
    redrawn : frozenset of str
        ``PIECE.EDGE`` of the edges of those pieces that the edit itself changed.
    remarked : frozenset of str
        ``PIECE.LANDMARK`` of the landmarks of those pieces that the edit itself moved.
    follow : "shape" or "length"
        Whether a follower takes the shape that its lead got, or its length alone.
    drawn_to : float
        mm within which two revised sides that disagree are as good as equal.
    match : mapping
        The follower that took a shape least well.
    traced : set of names of pieces that were traced from their leads
    matched : mapping of ``PIECE.EDGE`` to the names of the seams that gave its length
    led : mapping of seam name to its lead's edges when it was matched last
    apart : mapping of seam name to mm by which its sides were apart, all visits together
    taken : mapping of name to the size a piece is taken from; the lower size else
    walked : mapping of (piece, landmark) to its distance on the silhouette edge
        Notches that were placed by walking from their partners.
    splits : mapping of (silhouette, edge) to splits by index of the joint
    """

    pattern: PatternSet
    chosen: Resolved
    edited: dict[str, Edited]
    pieces: dict[str, SizedPiece] = field(default_factory=dict)
    given: Mapping[str, SizedPiece] = field(default_factory=dict)
    redrawn: frozenset[str] = frozenset()
    remarked: frozenset[str] = frozenset()
    follow: Literal["shape", "length"] = "length"
    drawn_to: float = 0.0
    match: dict[str, Any] = field(default_factory=dict)
    traced: set[str] = field(default_factory=set)
    matched: dict[str, set[str]] = field(default_factory=dict)
    led: dict[str, tuple[Edge, ...]] = field(default_factory=dict)
    apart: dict[str, float] = field(default_factory=dict)
    taken: dict[str, str] = field(default_factory=dict)
    walked: dict[tuple[str, str], float] = field(default_factory=dict)
    splits: dict[tuple[str, str], dict[int, Split]] = field(default_factory=dict)
    openings: dict[str, LaidOpening] = field(default_factory=dict)
    changes: dict[str, Change] = field(default_factory=dict)
    piece_changes: dict[str, PieceChange] = field(default_factory=dict)
    opening_rows: list[Mapping[str, Any]] = field(default_factory=list)
    stack_rows: list[Mapping[str, Any]] = field(default_factory=list)
    notices: list[Notice] = field(default_factory=list)

    def taped(self, silhouette: str, size: str) -> Silhouette:
        """Tape a silhouette of the source set."""
        return tape(self.pattern, silhouette, size)

    def silhouette(self, name: str) -> Edited:
        """Return the silhouette as it stands, edited or not."""
        if name not in self.edited:
            lower = self.chosen.lower
            self.edited[name] = start_edit(self.taped(name, lower), lower)
        return self.edited[name]

    def size_of(self, piece: str) -> str:
        """Size that a piece is taken from."""
        return self.taken.get(piece, self.chosen.lower)

    def lookup(self, piece: str) -> SizedPiece:
        """Return the piece as it stands: re-cut, or taken from its size."""
        if piece in self.pieces:
            return self.pieces[piece]
        return self.pattern.sized(piece, self.size_of(piece))

    def decided(self, key: str, seam: str) -> bool:
        """Whether something else than a seam decided an edge: the edit, or another relation.

        An edge that only followed its corner is still to be matched.
        """
        if key.partition(".")[0] in self.given:
            return key in self.redrawn
        by = self.matched.get(key, ())
        if by:
            return seam not in by
        return key in self.changes and self.changes[key].what != FOLLOWS_CORNER

    def change(self, node: str, what: str, cause: str | None) -> None:
        """Note a change; the first cause stands."""
        self.changes.setdefault(node, Change(node, what, cause))

    def notice(self, where: str, text: str) -> None:
        """Add a warning."""
        self.notices.append(Notice(where, text))
