"""What a review finds."""

from __future__ import annotations

from propagate.values import dataclass

__all__ = ["Finding"]


@dataclass(frozen=True)
class Finding:
    """Something in a set that looks like a mistake.

    Attributes
    ----------
    rule : str
        The kind of mistake in two to four words, such as "size out of line".
    where : str
        Piece, size, edge, relation or row of the chart, as a person would say it.
    text : str
        What was found, what was expected, the likely mistake and its cure.
    pieces : tuple of str
        The pieces that it concerns; empty for the set as a whole.
    sews : bool
        False when it will not sew (or cannot be cut) as it stands.
    """

    rule: str
    where: str
    text: str
    pieces: tuple[str, ...] = ()
    sews: bool = True
