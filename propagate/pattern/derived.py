"""Derived pieces: each edge that follows the main piece, and the line of it that it lies on."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from propagate.pattern.amount import Amount
from propagate.pattern.told import told
from propagate.tolerances import DERIVED_MM
from propagate.values import dataclass

__all__ = ["Derived", "DerivedEdge", "Width", "is_wide", "width_in_size"]

Width = float | Amount
"""mm in every size, or an amount for each size."""


@dataclass(frozen=True)
class DerivedEdge:
    """An edge of a derived piece and the line of the main piece that it lies on."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("on",), ("line",))

    edge: str = field(metadata=told("name", "the edge of the derived piece"))
    on: str = field(default="", metadata=told("text", "the edge of the main piece that it follows"))
    out: Width = field(
        default=0.0,
        metadata=told("width", "how far outside of it: wearing ease, half of a pleat"),
    )
    inside: Width = field(
        default=0.0,
        metadata=told(
            "width", "how far inside of it: the width of a facing, a shorter hem", key="in"
        ),
    )
    from_cut: bool = field(
        default=False,
        metadata=told("flag", "counted from the cut line of the main piece, its allowance outside"),
    )
    start: str | None = field(
        default=None,
        metadata=told(
            "text", "mark of the main piece at which it starts, where it meets a free edge"
        ),
    )
    end: str | None = field(
        default=None,
        metadata=told(
            "text", "mark of the main piece at which it ends, where it meets a free edge"
        ),
    )
    line: str = field(
        default="",
        metadata=told(
            "text",
            "in place of `on`: the inner line of the main piece that it follows (`PIECE.LINE` of "
            "an assembly); `out` and `in` are those of the derived piece then",
        ),
    )


@dataclass(frozen=True)
class Derived:
    """A piece that is a region of its main piece: facing, lining, interfacing, pocket bag."""

    piece: str = field(metadata=told("name", "the derived piece"))
    of: str = field(metadata=told("text", "its main piece or assembly"))
    edges: tuple[DerivedEdge, ...] = field(
        metadata=told(
            "rows",
            "its edges that follow the main piece; every other one is free and keeps its shape",
            of=DerivedEdge,
            label="edge",
        )
    )
    closed: str | tuple[str, ...] = field(
        default="",
        metadata=told(
            "levels", "edge of the main piece whose darts are closed in it, or several of them"
        ),
    )
    pleated: str | tuple[str, ...] = field(
        default="",
        metadata=told(
            "levels",
            "edge of the main piece whose darts are pleats in it, or several of them: a notch at "
            "each leg, called as that",
        ),
    )
    face_down: bool = field(default=False, metadata=told("flag", "drawn mirrored"))
    tolerance: float = field(
        default=DERIVED_MM,
        metadata=told("length", "how far off its definition the check lets it be drawn"),
    )

    @property
    def closed_edges(self) -> tuple[str, ...]:
        """The edges of the main piece whose darts are closed."""
        return _names_in(self.closed)

    @property
    def pleated_edges(self) -> tuple[str, ...]:
        """The edges of the main piece whose darts are pleats."""
        return _names_in(self.pleated)


def _names_in(said: str | tuple[str, ...]) -> tuple[str, ...]:
    if isinstance(said, str):
        return (said,) if said else ()
    return said


def width_in_size(width: Width, size: str) -> float:
    """A width in one size, mm; raises KeyError for a size of which nothing is said."""
    return dict(width.sizes)[size] if isinstance(width, Amount) else width


def is_wide(one: DerivedEdge) -> bool:
    """Whether an edge lies beside its line, not on it."""
    return bool(one.out or one.inside)
