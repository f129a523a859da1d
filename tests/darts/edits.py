"""Edits of darts in a few words, for tests."""

from __future__ import annotations

from typing import Any

from propagate import Amount, DivideDart, MoveDart, NarrowDart, SwingDart, WidenDart

__all__ = ["divide", "move", "resize", "swing"]


def swing(
    piece: str, dart: str, into: str, at: float | str, share: float = 1.0, **more: Any
) -> SwingDart:
    """Swing a dart to a place on an edge, in mm from its start or named."""
    place = at if isinstance(at, str) else f"{at:.9f}mm"
    return SwingDart(dart=f"{piece}.{dart}", into=into, at=place, share=Amount(share=share), **more)


def move(piece: str, dart: str, by: float, **more: Any) -> MoveDart:
    """Move a dart towards the end of its edge, or below 0 towards its start."""
    towards = "end" if by >= 0.0 else "start"
    return MoveDart(dart=f"{piece}.{dart}", by=Amount(mm=abs(by)), towards=towards, **more)


def divide(piece: str, dart: str, apart: float, share: float = 0.5, **more: Any) -> DivideDart:
    """Divide a dart."""
    return DivideDart(
        dart=f"{piece}.{dart}", apart=Amount(mm=apart), share=Amount(share=share), **more
    )


def resize(piece: str, dart: str, by: float, **more: Any) -> WidenDart:
    """Make a dart wider, or below 0 narrower."""
    kind = WidenDart if by >= 0.0 else NarrowDart
    return kind(dart=f"{piece}.{dart}", by=Amount(mm=abs(by)), **more)
