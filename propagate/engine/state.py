"""What is known in the middle of a propagation.

This is the only mutable object of the engine; it is made anew for every call and
never leaves it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.engine.compare import find_remarked, redrawn_edges
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import EDIT, Change, ChangeKind, Notice, PieceChange
from propagate.engine.reshape import Edited, start_edit
from propagate.engine.rows import LayerRow, Match, OpeningRow
from propagate.engine.tape import Silhouette, tape
from propagate.geometry.motion import Motion
from propagate.pattern.ease_on_run import SeamEase, seam_ease
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["LaidOpening", "LayerMeasure", "Passed", "Split", "State", "start_state"]

Array = npt.NDArray[np.float64]


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


@dataclass(frozen=True)
class Passed:
    """A mark that was put at the end of its edge, which became too short for it."""

    edge: str
    beyond_mm: float


class LayerMeasure:
    """What is told of a pocket layer, worked out when somebody asks.

    Parameters
    ----------
    measure : callable
        Returns the row of the record and the warnings.
    """

    def __init__(self, measure: Callable[[], tuple[LayerRow, Sequence[Notice]]]) -> None:
        self._measure = measure

    @cached_property
    def _told(self) -> tuple[LayerRow, Sequence[Notice]]:
        return self._measure()

    @property
    def row(self) -> LayerRow:
        """The row of the record."""
        return self._told[0]

    @property
    def notices(self) -> Sequence[Notice]:
        """The warnings."""
        return self._told[1]


@dataclass
class State:
    """Everything that relations read and write during one propagation.

    Attributes
    ----------
    job : Job
    edited : mapping of silhouette name to Edited
    given : Given
        Pieces that the edit gave whole: they are not cut apart again.
    pieces : mapping of name to re-cut piece
    redrawn : frozenset of str
        ``PIECE.EDGE`` of the edges of those pieces that the edit itself changed.
    remarked : frozenset of str
        ``PIECE.LANDMARK`` of the landmarks of those pieces that the edit itself moved.
    asked : frozenset of str
        Seams and ``BAND.ZONE`` of which the edit itself changed what they ask.
    matched_by_edit : bool
        Whether the edit matched the outlines that it drew to each other.
    match : Match or None
        The follower that took a shape least well.
    traced : set of names of pieces that were traced from their leads
    matched : mapping of ``PIECE.EDGE`` to the names of the seams that gave its length
    led : mapping of seam name to its lead's edges when it was matched last
    apart : mapping of seam name to mm by which its sides were apart, all visits together
    taken : mapping of name to the size a piece is taken from; the lower size else
    stretches : mapping of name to the sizes that gave a re-cut piece stretches of its outline
    beside : set of (node, mark)
        What was told of marks beside what became of their edge.
    tapes : set of names of elastics and tapes whose new lengths will be told
    walked : mapping of (piece, landmark) to its distance on the silhouette edge
        Notches that were placed by walking from their partners.
    passed : mapping of (piece, landmark) to what it was put at the end of
    splits : mapping of (silhouette, edge) to splits by index of the joint
    first : list of Notice
        What is told before everything else: marks that no longer lie where they say.
    """

    job: Job
    edited: dict[str, Edited]
    given: Given = field(default_factory=Given)
    pieces: dict[str, SizedPiece] = field(default_factory=dict)
    redrawn: frozenset[str] = frozenset()
    remarked: frozenset[str] = frozenset()
    asked: frozenset[str] = frozenset()
    matched_by_edit: bool = True
    match: Match | None = None
    traced: set[str] = field(default_factory=set)
    matched: dict[str, set[str]] = field(default_factory=dict)
    led: dict[str, tuple[Edge, ...]] = field(default_factory=dict)
    apart: dict[str, float] = field(default_factory=dict)
    taken: dict[str, str] = field(default_factory=dict)
    stretches: dict[str, set[str]] = field(default_factory=dict)
    beside: set[tuple[str, str]] = field(default_factory=set)
    tapes: set[str] = field(default_factory=set)
    walked: dict[tuple[str, str], float] = field(default_factory=dict)
    passed: dict[tuple[str, str], Passed] = field(default_factory=dict)
    splits: dict[tuple[str, str], dict[int, Split]] = field(default_factory=dict)
    openings: dict[str, LaidOpening] = field(default_factory=dict)
    changes: dict[str, Change] = field(default_factory=dict)
    piece_changes: dict[str, PieceChange] = field(default_factory=dict)
    opening_rows: list[OpeningRow] = field(default_factory=list)
    layers: list[LayerMeasure] = field(default_factory=list)
    notices: list[Notice | Callable[[], Sequence[Notice]]] = field(default_factory=list)
    first: list[Notice] = field(default_factory=list)

    @property
    def pattern(self) -> PatternSet:
        """The source set."""
        return self.job.pattern

    @property
    def where(self) -> str:
        """Set and resulting size, for messages."""
        return f"set '{self.pattern.name}', size '{self.job.name}'"

    def taped(self, silhouette: str, size: str) -> Silhouette:
        """Tape a silhouette of the source set."""
        return tape(self.pattern, silhouette, size)

    def silhouette(self, name: str) -> Edited:
        """Return the silhouette as it stands, edited or not."""
        if name not in self.edited:
            size = self.job.size
            self.edited[name] = start_edit(self.taped(name, size), size)
        return self.edited[name]

    def size_of(self, piece: str) -> str:
        """Size that a piece is taken from."""
        return self.taken.get(piece, self.job.size)

    def source(self, piece: str) -> SizedPiece:
        """Return the piece as it was, in the size that it is taken from."""
        return self.pattern.sized(piece, self.size_of(piece))

    def lookup(self, piece: str) -> SizedPiece:
        """Return the piece as it stands: re-cut, or taken from its size."""
        if piece in self.pieces:
            return self.pieces[piece]
        return self.pattern.sized(piece, self.size_of(piece))

    def ease_of(self, seam: Seam) -> SeamEase:
        """The ease that a seam should have, its pieces as they stand."""
        return seam_ease(self.lookup, seam, self.size_of(seam.lead[0].piece))

    def decided(self, key: str) -> bool:
        """Whether something else than a seam decided an edge: the edit, or another relation.

        An edge that only followed its corner is still to be matched; so is one that was cut out
        of an outline which the edit drew without matching its seams.
        """
        piece = key.partition(".")[0]
        if piece in self.given.pieces:
            return key in self.redrawn and piece not in self.given.loose
        if self.matched.get(key):
            return False
        kind = self.changes[key].kind if key in self.changes else ChangeKind.FOLLOWS_CORNER
        if kind is ChangeKind.CUT_APART and not self.matched_by_edit:
            return False
        return kind is not ChangeKind.FOLLOWS_CORNER

    def change(self, node: str, kind: ChangeKind, what: str, cause: str | None) -> None:
        """Note a change; the first cause stands."""
        self.changes.setdefault(node, Change(node, kind, what, cause))

    def change_beside(self, node: str, mark: str, what: str, cause: str) -> None:
        """Note what became of marks on an edge beside what became of the edge, once for each."""
        old = self.changes.get(node)
        if old is None:
            self.change(node, ChangeKind.NOTCH_FOLLOWS, what, cause)
        elif (node, mark) not in self.beside:
            self.changes[node] = replace(old, what=f"{old.what}; {what}")
        self.beside.add((node, mark))

    def notice(
        self, where: str, found: str, do: str, about: tuple[str, ...] = (), typed: str = ""
    ) -> None:
        """Add a warning, once; `about` is what it says but for the figures of a size."""
        notice = Notice(where, found, do, about=about, typed=typed)
        if notice not in self.notices:
            self.notices.append(notice)

    def put_at_end(self, piece: str, mark: Landmark, beyond_mm: float) -> None:
        """Note how far a mark would lie beyond its edge; what is on it lies where it should."""
        if beyond_mm > ON_LINE_MM:
            self.passed[piece, mark.name] = Passed(mark.edge, beyond_mm)
        else:
            self.passed.pop((piece, mark.name), None)

    def measured(self, layer: LayerMeasure) -> None:
        """Add a pocket layer that is measured when somebody asks, with its warnings."""
        self.layers.append(layer)
        self.notices.append(lambda: layer.notices)

    def told_notices(self) -> tuple[Notice, ...]:
        """Return every warning, those that are worked out only now in their places."""
        found: list[Notice] = []
        for notice in self.notices:
            found += [notice] if isinstance(notice, Notice) else notice()
        return tuple(found)


def start_state(job: Job, drawn: Drawn) -> State:
    """The state in which what an edit drew is to be carried on."""
    given = drawn.given.pieces
    old = {name: job.pattern.sized(name, job.size) for name in given}
    state = State(
        job,
        dict(drawn.edited),
        drawn.given,
        pieces=dict(given),
        redrawn=redrawn_edges(old, given),
        remarked=frozenset(find_remarked(old, given)),
        asked=drawn.asked,
        matched_by_edit=drawn.matched,
        notices=list(drawn.notices),
    )
    state.changes[EDIT] = Change(EDIT, ChangeKind.EDIT, drawn.said, None)
    for change in drawn.changes:
        state.changes.setdefault(change.id, change)
    return state
