"""What an edit is asked to do, and what it hands over: the seam between edits and engine.

An edit is a pure function: from a `Job` (the set, and which size everything is taken from)
to what it drew.  The engine carries that through the relations and knows no edit by name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from typing import TYPE_CHECKING, Any, Literal, Protocol

from propagate.engine.record import Change, Notice
from propagate.engine.reshape import Edited
from propagate.engine.rows import FairnessRow, GirthRow, Match, TopCorners, TruedCorner
from propagate.pattern.between import BetweenSize
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import SEAM_LENGTH_MM
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.engine.state import State

__all__ = ["Drawn", "Edit", "Given", "Job", "Measures", "SizeMade"]


@dataclass(frozen=True)
class SizeMade:
    """A size between those of a nest that was drawn for an edit.

    Attributes
    ----------
    size : BetweenSize
    settled_mm : float
        How far an edge was moved at most so that the size sews as its neighbours do; 0 where
        what was drawn between them sewed.
    """

    size: BetweenSize
    settled_mm: float = 0.0


@dataclass(frozen=True)
class Job:
    """The set, and which size every place and piece is taken from.

    Attributes
    ----------
    pattern : PatternSet
    name : str
        Of the resulting size.
    size : str
        Size that everything is taken from unless said otherwise; its frames hold.
    levels : mapping of level name to size
        Levels that were given a size of their own.
    top : str or None
        Level whose size bands start from; None starts them from `size`.
    pocket : str
        Size of openings and their layers.
    follow : "shape" or "length"
        Whether a follower takes the shape that its lead got, or its length alone.
    made : tuple of SizeMade
        Sizes of `pattern` that nobody drew.
    """

    pattern: PatternSet
    name: str
    size: str
    pocket: str
    levels: Mapping[str, str] = field(default_factory=dict)
    top: str | None = None
    follow: Literal["shape", "length"] = "length"
    made: tuple[SizeMade, ...] = ()

    @classmethod
    def in_one_size(
        cls, pattern: PatternSet, size: str, follow: Literal["shape", "length"] = "length"
    ) -> Job:
        """Everything is taken from one size; raises UnknownName."""
        pattern.check_size(size)
        return cls(pattern, name=size, size=size, pocket=size, follow=follow)

    def where(self, piece: str) -> str:
        """Set, piece and size, for messages."""
        return f"set '{self.pattern.name}', piece '{piece}', size '{self.size}'"

    def at(self, level: str | None) -> str:
        """Size that a level is taken from."""
        return self.levels.get(level or "", self.size)


@dataclass(frozen=True)
class Measures:
    """Rows of the record that only the edit itself can measure."""

    corners: tuple[TopCorners | TruedCorner, ...] = ()
    fairness: tuple[FairnessRow, ...] = ()
    match: Match | None = None


Measure = Callable[["State", Sequence[GirthRow]], Measures]
"""Measures what the edit drew, with the girths of the result; adds its warnings to the state."""


@dataclass(frozen=True)
class Given:
    """Pieces that an edit gives whole: they are not cut apart again.

    Attributes
    ----------
    pieces : mapping of name to SizedPiece
        In the frame of the old piece, with the same edge names; landmarks may be new.
    within_mm : float
        mm within which two given sides that disagree are as good as equal.
    loose : frozenset of str
        Pieces among them that may still be matched to what leads them.
    openings : frozenset of str
        Openings that the edit changed on purpose: nothing is asked about them.
    shown : mapping of piece name to names
        Of pieces that were sent as drawings: the inner lines and drill marks that these show.
    placed : frozenset of str
        Pieces in which the edit itself says where everything goes that lies inside.
    left : frozenset of str
        ``PIECE.LINE`` of the inner lines that the edit leaves to be drawn anew by hand.
    """

    pieces: Mapping[str, SizedPiece] = field(default_factory=dict)
    within_mm: float = 0.0
    loose: frozenset[str] = frozenset()
    openings: frozenset[str] = frozenset()
    shown: Mapping[str, frozenset[str]] = field(default_factory=dict)
    placed: frozenset[str] = frozenset()
    left: frozenset[str] = frozenset()

    @property
    def agree_mm(self) -> float:
        """Mm by which two given sides may be apart without a word."""
        return max(SEAM_LENGTH_MM, self.within_mm)


@dataclass(frozen=True)
class Drawn:
    """What an edit drew.

    Attributes
    ----------
    said : str
        The edit in one plain sentence: the root of every chain of causes.
    words : mapping
        The edit as the record tells it, with every option as it was resolved.
    edited : mapping of silhouette name to Edited
    changes : tuple of Change
        What the edit itself changed, as nodes of the relation graph.
    given : Given
    girth_sizes : mapping of girth name to the size that gives it; else that of its level
    measure : callable or None
    notices : tuple of Notice
        What is known to look at already.
    visit : tuple of str
        Nodes whose readers are visited although nothing that they read changed.
    asked : frozenset of str
        Seams, and zones of bands as ``BAND.ZONE``, of which the edit changed what they ask: they
        are matched although neither side moved, and were not off before.
    walked : tuple of str
        Nodes whose readers are walked although nothing that they read changed.
    matched : bool
        Whether the edit matched the outlines that it drew to each other; else seams do it
        once the outlines are cut apart.
    kept : frozenset of str
        ``PIECE.EDGE`` or ``ASSEMBLY.EDGE`` of the edges that are as somebody drew them: they are
        not bent to true a corner.
    trued : bool
        Whether lines that ran on across a seam are trued where they no longer do.
    widths : bool
        Whether it is told which widths changed that no girth measures: a line that is bent at
        its level changes none.
    """

    said: str
    words: Mapping[str, Any]
    edited: Mapping[str, Edited] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    given: Given = Given()
    girth_sizes: Mapping[str, str] = field(default_factory=dict)
    measure: Measure | None = None
    notices: tuple[Notice, ...] = ()
    visit: tuple[str, ...] = ()
    asked: frozenset[str] = frozenset()
    walked: tuple[str, ...] = ()
    matched: bool = True
    kept: frozenset[str] = frozenset()
    trued: bool = True
    widths: bool = True


class Edit(Protocol):
    """An edit: resolves its options on a set, then draws."""

    def job(self, pattern: PatternSet) -> Job:
        """Check the edit against a set and make every choice; raises EditError, UnknownName."""
        ...

    def draw(self, job: Job) -> Drawn:
        """Draw the edit; raises EditError or Conflict when it cannot be done."""
        ...
