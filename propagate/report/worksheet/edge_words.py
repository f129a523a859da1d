"""What is said of one changed edge: what stays, what paper it takes, how long it was and is."""

from __future__ import annotations

import numpy as np

from propagate.geometry.polyline import length, point_at
from propagate.pattern.titles import listed
from propagate.report.worksheet.outlines import KEPT_LEAST_MM, KEPT_MM
from propagate.report.worksheet.value import Offset, Widest
from propagate.report.worksheet.words import Source

__all__ = ["is_plain", "kept_words", "length_words", "mouths_mm", "paper_words"]

_AT_MM = 0.1
"""A part that stays up to here from a new corner stays up to that corner."""
_GAP_MM = 1.0
"""A new part shorter than this needs no word."""


def is_plain(offsets: tuple[Offset, ...]) -> bool:
    """Whether corners and what stays of the old line say all: straight lines will do between."""
    return all(row.at in ("corner", "old line") for row in offsets)


def kept_words(source: Source, piece: str, edge: str, *, from_end: bool, plain: bool) -> list[str]:
    """Where the old line stays; `plain` when the rest is straight."""
    pair = source.compared(piece)
    row, kept, inner = pair.row(edge), pair.kept(edge), pair.between(edge)
    words = []
    for mm, end in zip(kept, ("start", "end"), strict=True):
        if mm >= KEPT_LEAST_MM:
            told = source.said(min(mm, row.after_mm))
            words.append(f"{told} from {source.corner(piece, edge, end)}")
    rest = "Where the old line does not stay, the new one is straight."
    if words and max(kept) >= row.before_mm - KEPT_MM:
        return [f"Keep the whole old line and run it on{' straight' if plain else ''}."]
    if words and max(kept) >= row.after_mm - KEPT_MM:
        return [f"Keep the old line for {words[0]}; it ends there now."]
    found = []
    if len(words) == 2:
        after = "redraw it between" if not inner else "what lies between is told next"
        found.append(f"Keep the old line for {words[0]} and for {words[1]}; {after}.")
    elif words:
        found.append(f"Keep the old line for {words[0]}; the new line leaves it there.")
    if inner:
        parts = [_part(source, piece, edge, part, from_end=from_end) for part in inner]
        found.append(f"The old line {'also ' if words else ''}stays {listed(parts)}.")
    missing = row.after_mm - sum(kept) - sum(end - begin for begin, end in inner)
    if plain and missing > _GAP_MM:
        found.append(rest if found else "The new line is straight from corner to corner.")
    return found


def _part(
    source: Source, piece: str, edge: str, part: tuple[float, float], *, from_end: bool
) -> str:
    """``between 16.3 mm from the corner ... and the old corner ...``."""
    pair = source.compared(piece)
    old, new = pair.old(edge), pair.now.edge(edge).points
    corner = source.corner(piece, edge, "end" if from_end else "start")
    total = length(old)
    said = []
    for mm, end in zip(part, ("start", "end"), strict=True):
        own = source.corner(piece, edge, end).bare
        index = 0 if end == "start" else -1
        if np.hypot(*(point_at(old, mm) - new[index])) <= _AT_MM:
            said.append((f"the new {own}", ""))
        elif abs(mm - (0.0 if end == "start" else total)) <= KEPT_MM:
            said.append((f"the old {own}", ""))
        else:
            far = source.said(total - mm if from_end else mm)
            said.append((far, f" from {corner}"))
    (first, origin), (second, same) = reversed(said) if from_end else said
    # Two distances from the same corner name it once.
    return f"between {first}{'' if same else origin} and {second}{same}"


def paper_words(source: Source, trimmed: Widest | None, added: Widest | None) -> list[str]:
    """How much is cut away and taped on at most, and where."""
    words = []
    if trimmed:
        words.append(f"Trim: at most {source.said(trimmed.mm)}, {trimmed.place}.")
    if added:
        words.append(f"Tape on: at most {source.said(added.mm)}, {added.place}.")
    return words or ["Leave it as it is: the change is too small to draw."]


def mouths_mm(source: Source, piece: str, edge: str) -> float:
    """How much of an edge lies in mouths of darts now, mm."""
    now = source.sized(piece)
    return sum(
        abs(now.distance(edge, dart.legs[1]) - now.distance(edge, dart.legs[0]))
        for dart in now.darts
        if dart.edge == edge
    )


def length_words(source: Source, before: float, after: float, mouths: float) -> str:
    """How long it was and is, with the mouths of darts in it."""
    old, new = source.said(before), source.said(after)
    same = old == new
    if mouths:
        told = f"stays {new}" if same else f"is before {old}, now {new}"
        return (
            f"Its length with dart mouths {told}; {source.said(mouths)} of it is dart mouth, "
            "which the checks leave out."
        )
    return f"Its length stays {new}." if same else f"Its length before {old}, now {new}."
