"""Say by what ``top`` and ``hem`` were named, and of which pieces that is in doubt.

A grain line has two ends and many drawings do not say which of them is up, so that edges
are named by the drawing's own way up.  A piece that stands on its head there has its names
swapped, and nothing in its shape tells.
"""

from __future__ import annotations

from collections.abc import Mapping

from propagate.pattern.model import SizedPiece
from propagate.pattern.names import quote_names

__all__ = ["SWAPPED", "way_up"]

SWAPPED = "'top' and 'hem'"
"""What every line here is about, so that those to whom names do not matter can pass over it."""
ENDS = frozenset({"top", "hem"})
UPRIGHT = 0.7071
"""Cosine of the angle to the page within which a grain is upright."""


def way_up(pieces: Mapping[str, SizedPiece]) -> tuple[str, tuple[str, ...]]:
    """Return what is to be said of the way up of pieces whose edges were named by place.

    Parameters
    ----------
    pieces : mapping of name to SizedPiece
        In the base size.

    Returns
    -------
    said : str
        By what the ends were named; empty when no edge is called ``top`` or ``hem``.
    doubts : tuple of str
        Pieces that may stand on their heads.
    """
    rises = {
        name: float(piece.grain.direction[1])
        for name, piece in pieces.items()
        if ENDS & set(piece.edge_names)
    }
    if not rises:
        return "", ()
    up = [name for name, rise in rises.items() if rise > UPRIGHT]
    down = [name for name, rise in rises.items() if rise < -UPRIGHT]
    across = [name for name in rises if name not in (*up, *down)]
    said = (
        f"{SWAPPED} are named by the drawing's way up, along the grain; of a piece that "
        "stands on its head they are swapped: turn it, or name its edges in the drawing"
    )
    doubts = []
    if up and down:
        odd, others = (down, up) if len(down) <= len(up) else (up, down)
        stand = "it stands" if len(odd) == 1 else "they stand"
        ways = ("down", "up") if odd is down else ("up", "down")
        doubts.append(
            f"the grain of {_say_pieces(odd)} is drawn from end to end {ways[0]}wards, that of "
            f"{_say_pieces(others)} {ways[1]}wards: if {stand} on the head, {SWAPPED} are "
            "swapped"
        )
    if across:
        doubts.append(
            f"the grain of {_say_pieces(across)} lies across the drawing: of {SWAPPED} the one to "
            "the right is called 'top'"
        )
    return said, tuple(doubts)


def _say_pieces(names: list[str]) -> str:
    shown = quote_names(names[:4])
    return shown if len(names) <= 4 else f"{shown} and {len(names) - 4} more"
