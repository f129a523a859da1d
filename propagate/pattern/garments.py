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

__all__ = ["EdgeShape", "GarmentKind", "Join", "Role"]

Range = tuple[float, float]


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
    """

    name: str
    outlines: tuple[tuple[str, ...], ...]
    edges: Mapping[str, EdgeShape] = field(default_factory=dict)
    optional: bool = False
    fold: frozenset[str] = frozenset()
    again: str | None = None


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
    origin : {"kind", "set"}
        Whether it is a kind of garment or one particular set.
    """

    name: str
    roles: tuple[Role, ...]
    joins: tuple[Join, ...]
    longer: tuple[tuple[Run, Run], ...] = ()
    origin: Literal["kind", "set"] = "kind"

    def role(self, name: str) -> Role:
        """The role of a name."""
        return next(role for role in self.roles if role.name == name)
