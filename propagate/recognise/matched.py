"""What was found of the pieces of a set before: which is which, and what is not sure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from propagate.pattern.garments import KnownRole
from propagate.pattern.model import Piece
from propagate.recognise.piece_looks import Laid
from propagate.values import dataclass

__all__ = ["Doubt", "Match", "Matched", "give_roles"]


@dataclass(frozen=True)
class Match:
    """A piece that is one of the set before.

    Attributes
    ----------
    old, new : str
    laid : Laid
    """

    old: str
    new: str
    laid: Laid


@dataclass(frozen=True)
class Doubt:
    """A piece of which it is not sure what it is.

    Attributes
    ----------
    new : str
    olds : tuple of str
        What it may be; one alone where it is not sure which of its edges is which.
    turned_over : bool
        It is drawn as the mirror image of that piece.
    """

    new: str
    olds: tuple[str, ...]
    turned_over: bool = False


@dataclass(frozen=True)
class Matched:
    """What was found.

    Attributes
    ----------
    matches : tuple of Match
        In the order of the set before.
    doubts : tuple of Doubt
    alike : tuple of tuples of str
        Pieces of the set that no drawing tells apart, so that each may have another's name, or
        the only one that there is for them.
    strange : tuple of Match
        Pieces that look like one of the set before, in a style that as a whole is of another
        kind: a strip looks like a strip.
    turned : mapping of name to Piece
        Pieces that are drawn with the other face up and are cut alike with either, as they lie
        when they are turned over; it is these that were matched.
    """

    matches: tuple[Match, ...]
    doubts: tuple[Doubt, ...] = ()
    alike: tuple[tuple[str, ...], ...] = ()
    strange: tuple[Match, ...] = ()
    turned: Mapping[str, Piece] = field(default_factory=dict)


def give_roles(matched: Matched) -> dict[str, KnownRole]:
    """Say by the pieces of the set before which piece each is, edge by edge.

    Left out is one of which several edges are drawn as one, for a seam may end between them, and
    one that may as well be another.
    """
    found = {}
    either = {name for names in matched.alike for name in names}
    for one in matched.matches:
        turned = one.new in matched.turned
        if one.new not in either and all(len(names) == 1 for names in one.laid.old):
            pairs = zip(one.laid.old, one.laid.new, strict=True)
            sides = {name: now[::-1] if turned else now for (name,), now in pairs}
            found[one.old] = KnownRole(one.new, sides, turned)
    return found
