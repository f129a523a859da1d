"""What became of the darts of a piece: come, gone, swung, wider, narrower, moved."""

from __future__ import annotations

from typing import Literal

import numpy as np

from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.relations import Span
from propagate.pattern.spans import span_ends
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = [
    "change_lies_on",
    "DartChange",
    "DartWhat",
    "dart_changes",
    "dart_words",
    "legs_along",
    "lies_on",
    "mouth_of",
]

DartWhat = Literal["came", "went", "swung", "changed"]


@dataclass(frozen=True)
class DartChange:
    """What became of a dart.

    Attributes
    ----------
    edge : str
        On which it lies now; for one that went, on which it lay.
    was_on : str
        On which it lay; empty for one that came.
    what : "came", "went", "swung" or "changed"
        Swung is one that lies on another edge now.
    before_mm, after_mm : float
        Width of its mouth along the edge; 0 where it is not there.
    moved_mm : float
        How far the middle of its mouth was moved along its edge.
    """

    name: str
    edge: str
    was_on: str
    what: DartWhat
    before_mm: float
    after_mm: float
    moved_mm: float = 0.0


def legs_along(piece: SizedPiece, dart: Dart) -> tuple[str, str]:
    """Return the legs of a dart in the order in which they stand along their edge."""
    first, second = sorted(dart.legs, key=lambda leg: piece.distance(dart.edge, leg))
    return first, second


def mouth_of(piece: SizedPiece, dart: Dart) -> tuple[float, float]:
    """Return distances of the legs of a dart from the start of its edge, ascending, mm."""
    low, high = sorted(piece.distance(dart.edge, leg) for leg in dart.legs)
    return low, high


def lies_on(piece: SizedPiece, dart: Dart, span: Span) -> bool:
    """Tell whether the mouth of a dart lies on a span, at least in part."""
    if dart.edge != span.edge:
        return False
    begin, end = sorted(span_ends(piece, span))
    low, high = mouth_of(piece, dart)
    return low < end and high > begin


def change_lies_on(change: DartChange, was: SizedPiece, now: SizedPiece, span: Span) -> bool:
    """Tell whether the mouth of a dart that changed lies on a span, before or after."""
    return any(
        lies_on(piece, dart, span)
        for piece in (was, now)
        for dart in piece.darts
        if dart.name == change.name
    )


def dart_changes(
    old: SizedPiece, new: SizedPiece, within: float = RESTS_MM
) -> tuple[DartChange, ...]:
    """Compare the darts of a piece with those it had; a dart is the same by its name.

    Parameters
    ----------
    old, new : SizedPiece
        In one frame.
    within : float
        mm below which a dart is as wide as it was, and where it was.
    """
    before, after = ({dart.name: dart for dart in piece.darts} for piece in (old, new))
    found = []
    for name in dict.fromkeys([*before, *after]):
        was, now = before.get(name), after.get(name)
        before_mm, after_mm = (
            0.0 if dart is None else float(np.diff(mouth_of(piece, dart))[0])
            for piece, dart in ((old, was), (new, now))
        )
        if now is None and was is not None:
            found.append(DartChange(name, was.edge, was.edge, "went", before_mm, after_mm))
        elif was is None and now is not None:
            found.append(DartChange(name, now.edge, "", "came", before_mm, after_mm))
        elif was is not None and now is not None and was.edge != now.edge:
            found.append(DartChange(name, now.edge, was.edge, "swung", before_mm, after_mm))
        elif was is not None and now is not None:
            moved = _measure_move(old, was, new, now)
            moved = moved if abs(moved) > within else 0.0
            if moved or abs(after_mm - before_mm) > within:
                found.append(
                    DartChange(name, now.edge, was.edge, "changed", before_mm, after_mm, moved)
                )
    return tuple(found)


def _measure_move(old: SizedPiece, was: Dart, new: SizedPiece, now: Dart) -> float:
    """Measure how far the middle of a mouth went along its edge.

    One whose edge was moved as it is, or became longer at its start, was not moved on it.
    """
    along = sum(mouth_of(new, now)) / 2 - sum(mouth_of(old, was)) / 2
    places = [
        np.mean([piece.landmark(leg).point for leg in dart.legs], axis=0)
        for piece, dart in ((old, was), (new, now))
    ]
    away = float(np.hypot(*(places[1] - places[0])))
    return along if abs(along) <= away else float(np.copysign(away, along))


def dart_words(change: DartChange) -> str:
    """Say what became of a dart: ``dart 'x' on 'waist' is 6.0 mm wider``."""
    dart = f"dart '{change.name}'"
    gain = change.after_mm - change.before_mm
    if change.what == "came":
        return f"{dart} on '{change.edge}' is new, {change.after_mm:.1f} mm wide"
    if change.what == "went":
        return f"{dart} on '{change.edge}', {change.before_mm:.1f} mm wide, was taken out"
    if change.what == "swung":
        return (
            f"{dart} was swung from '{change.was_on}', where it was {change.before_mm:.1f} mm "
            f"wide, into '{change.edge}', where it is {change.after_mm:.1f} mm wide"
        )
    said = []
    if abs(gain) > RESTS_MM:
        word = "wider" if gain > 0 else "narrower"
        said.append(f"is {abs(gain):.1f} mm {word} ({change.after_mm:.1f} mm)")
    if change.moved_mm:
        said.append(f"was moved by {change.moved_mm:+.1f} mm along it")
    return f"{dart} on '{change.edge}' {' and '.join(said)}"
