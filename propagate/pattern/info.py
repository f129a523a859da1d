"""What people say of a piece: title, cutting, allowances, anchors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from propagate.values import dataclass

__all__ = ["Allowance", "CornerStyle", "PieceInfo"]

CornerStyle = Literal["mitre", "square", "square second"]


@dataclass(frozen=True)
class Allowance:
    """What the cut line adds to the seam line of a piece.

    Attributes
    ----------
    default : float
        mm, for edges not named in `edges`.
    edges : mapping of edge name to mm
    turned : frozenset of str
        Edges that are folded up (a hem): the cut line beyond them is the mirror
        image of the piece above the fold, so that it can be turned.
    corners : mapping of "EDGE/EDGE" to style
        The corner where the first edge ends and the second starts; default mitre.
        ``square``: the first edge's allowance ends square to its seam line, so that it
        lies flat when pressed open; ``square second``: the second edge's does.
    """

    default: float = 0.0
    edges: Mapping[str, float] = field(default_factory=dict)
    turned: frozenset[str] = frozenset()
    corners: Mapping[str, CornerStyle] = field(default_factory=dict)

    def of(self, edge: str) -> float:
        """Allowance of one edge, mm."""
        return self.edges.get(edge, self.default)


@dataclass(frozen=True)
class PieceInfo:
    """What people say of a piece: title, cutting, allowances, anchors.

    Attributes
    ----------
    title : str
        What is printed on the piece.
    cut : int
        How many are cut; pairs are mirrored when `pair` is true.
    pair : bool
    fabric : str
    allowance : Allowance
    fold : str or None
        Edge that lies on the fold of the cloth.
    anchors : mapping of landmark name to ``EDGE.start`` or ``EDGE.end``
        The end of its edge from which a landmark keeps its distance.
    strip : tuple of edge names or None
        The edges of its two long sides, in any order; empty: it is no strip.  None: nothing is
        said, and a plain one is taken for one.
    double_notches : tuple of landmark names
        Notches that are drawn as two ticks, so that back is told from front.
    """

    title: str
    cut: int = 1
    pair: bool = False
    fabric: str = ""
    allowance: Allowance = Allowance()
    fold: str | None = None
    anchors: Mapping[str, str] = field(default_factory=dict)
    strip: tuple[str, ...] | None = None
    double_notches: tuple[str, ...] = ()
