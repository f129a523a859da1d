"""Kinds of garment: the pieces that one has, by their shapes, and how they are joined.

A kind is data, read from files.  Its pieces are *roles* (front, back, sleeve), drawn by their edges
in outline order; its *joins* are seams between edges of roles, written as seams of a set are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from propagate.pattern.runs import Run
from propagate.values import dataclass

__all__ = ["EdgeShape", "GarmentKind", "GirthKnown", "Join", "KnownRole", "Role"]

Range = tuple[float, float]
EdgeEnd = tuple[str, Literal["start", "end"]]
"""An edge of a role, and one of its ends."""


@dataclass(frozen=True)
class EdgeShape:
    """What an edge of a role looks like; None where nothing is said.

    Attributes
    ----------
    lean : (low, high), degrees
        Angle between its chord and the grain: 0 along it, 90 across.
    share : (low, high)
        Its part of the outline's length.
    bow : (low, high)
        How far it bulges out of the piece, in parts of its chord; negative where it is hollow.
    """

    lean: Range | None = None
    share: Range | None = None
    bow: Range | None = None


@dataclass(frozen=True)
class KnownRole:
    """The piece that has a role, where that is known already.

    Attributes
    ----------
    piece : str
    sides : mapping of the role's edge to edges of the piece
        In the order in which they lie along its outline.
    turned : bool
        The piece is drawn as the mirror image of the role.
    """

    piece: str
    sides: Mapping[str, tuple[str, ...]]
    turned: bool


@dataclass(frozen=True)
class Role:
    """A piece of a kind of garment.

    Attributes
    ----------
    name : str
    outlines : tuple of tuples of edge names
        Each the edges in order, counter-clockwise; a piece may be drawn mirrored.
    edges : mapping of edge name to EdgeShape
    optional : bool
        A garment of the kind may lack it.
    fold : frozenset of str
        Edges that lie on the fold of the cloth more often than they are sewn.
    again : str or None
        The role of which it is a copy, drawn a second time.
    free : frozenset of str
        Edges that are sewn to nothing, or lie on the fold: never sewn to their own twin.
    opening : frozenset of str
        Edges that are the mouth of a pocket: the piece is whole with what lies behind them alone.
    known : KnownRole or None
        Which piece it is; None where that is to be found out.
    """

    name: str
    outlines: tuple[tuple[str, ...], ...]
    edges: Mapping[str, EdgeShape] = field(default_factory=dict)
    optional: bool = False
    fold: frozenset[str] = frozenset()
    again: str | None = None
    free: frozenset[str] = frozenset()
    opening: frozenset[str] = frozenset()
    known: KnownRole | None = None


@dataclass(frozen=True)
class Join:
    """A seam of a kind of garment.

    Attributes
    ----------
    name : str
        Joins of one name are the ways in which it is made; the first that fits holds.
    lead, follow : Run
        Of roles; a landmark stands for any mark on its edge that fits.
    ease : (low, high)
        By how much the follower may be longer, mm.
    share : (low, high) or None
        By which share of the lead it may be longer instead, the same in every size: negative
        where it is stretched on.
    mirror : bool
        Sewn to its own mirrored twin.
    must : bool
        Without it, it is not this kind of garment.
    check : bool
        The two lie on each other, so the seam is only walked.
    perhaps : bool
        As often left open as sewn; it is asked about and never certain.
    fold : bool
        As often on the fold of the cloth as sewn to its twin, where it is straight.
    gathers : (low, high) or None
        In how many lengths of the lead the follower may be gathered on to it instead, about the
        same in every size.
    asked : bool
        It is asked about and never certain: little tells it from others.
    """

    name: str
    lead: Run
    follow: Run = ()
    ease: Range = (0.0, 0.0)
    mirror: bool = False
    must: bool = False
    check: bool = False
    share: Range | None = None
    perhaps: bool = False
    fold: bool = False
    gathers: Range | None = None
    asked: bool = False


@dataclass(frozen=True)
class GirthKnown:
    """A girth of a kind of garment: along edges, or across pieces on a level.

    Attributes
    ----------
    name : str
        Girths of one name are the ways in which it is measured; the first that can be holds.
    called : tuple of str
        Other words for it: its level or its row of the chart may go by one of them.
    runs : tuple of Span
        The edges of roles along which it is measured.
    across : mapping of role name to an end of an edge, or None
        The pieces across which it is measured, on a level `below` this end; where nothing is
        said, only on a level of its name that is drawn.
    below : float
        How far the level lies below, mm.
    place : str
        What the end is on the body.
    between : tuple of (role name, edge)
        Edges at which the halves of the round meet; it is not measured where the piece is drawn
        beyond them.
    unless : tuple of str
        Roles of pieces that tell it instead: a band that is sewn there.
    times : int or None
        How often the garment has each piece in the round; None: as often as it is cut.
    """

    name: str
    called: tuple[str, ...] = ()
    runs: Run = ()
    across: Mapping[str, EdgeEnd | None] = field(default_factory=dict)
    below: float = 0.0
    place: str = ""
    between: tuple[tuple[str, str], ...] = ()
    unless: tuple[str, ...] = ()
    times: int | None = 2

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles that it counts."""
        return tuple(dict.fromkeys([span.piece for span in self.runs] or self.across))


@dataclass(frozen=True)
class GarmentKind:
    """A kind of garment.

    Attributes
    ----------
    name : str
        With its article, as it stands in a sentence: ``a trouser``.
    roles : tuple of Role
        Each is joined to one before it.
    joins : tuple of Join
    longer : tuple of (Run, Run)
        The one is mostly longer than the other, as a front neck is than a back neck: a hint that
        tells pieces apart that are alike.
    girths : tuple of GirthKnown
    origin : {"kind", "set"}
        Whether it is a kind of garment or one particular set.
    """

    name: str
    roles: tuple[Role, ...]
    joins: tuple[Join, ...]
    longer: tuple[tuple[Run, Run], ...] = ()
    girths: tuple[GirthKnown, ...] = ()
    origin: Literal["kind", "set"] = "kind"

    def role(self, name: str) -> Role:
        """The role of a name."""
        return next(role for role in self.roles if role.name == name)
