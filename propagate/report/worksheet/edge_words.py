"""What is said of one changed edge: what stays, how the rest is drawn, how long it was and is."""

from __future__ import annotations

import numpy as np

from propagate.geometry.polyline import length, point_at
from propagate.pattern.titles import listed
from propagate.report.worksheet.lengths import PENCIL_MM
from propagate.report.worksheet.outlines import KEPT_LEAST_MM
from propagate.report.worksheet.words import Source

__all__ = ["AS_IT_IS", "ENDS", "KEPT", "NEAR", "TURNED", "kept_words", "length_words", "mouths_mm"]

KEPT = "As it is"
AS_IT_IS = f"{KEPT}: the change is finer than a pencil line."
NEAR = "Follow the old line from {} to {}: the new one is too close to it to tell apart."
TURNED = (
    "‘To turn’ and ‘from turn’ are one new corner, told from the old line before its own corner "
    "and from that after it, each run on past it."
)
ENDS = "it ends there now, in"
_GAP_MM = 1.0
"""A new part shorter than this needs no word."""


def kept_words(source: Source, piece: str, edge: str, *, from_end: bool, plain: bool) -> list[str]:
    """Where the old line stays; `plain` when the rest is straight."""
    pair = source.compared(piece)
    row, kept, inner = pair.row(edge), pair.kept(edge), pair.between(edge)
    start, end = (source.corner(piece, edge, which) for which in ("start", "end"))
    words = [
        f"{source.said(min(mm, row.after_mm))} from {letter}"
        for mm, letter in zip(kept, (start, end), strict=True)
        if mm >= KEPT_LEAST_MM
    ]
    rest = "Where the old line does not stay, the new one is straight."
    if words and max(kept) >= row.before_mm - PENCIL_MM:
        return [f"Keep the whole old line and run it on{' straight' if plain else ''}."]
    if words and max(kept) >= row.after_mm - PENCIL_MM:
        return [f"Keep the old line for {words[0]}; {ENDS} {end if kept[0] > kept[1] else start}."]
    found = []
    if len(words) == 2:
        after = "draw it anew between" if not inner else "what lies between is told next"
        found.append(f"Keep the old line for {words[0]} and for {words[1]}; {after}.")
    elif words:
        found.append(f"Keep the old line for {words[0]}; the new line leaves it there.")
    if inner:
        parts = [_part(source, piece, edge, part, from_end=from_end) for part in inner]
        found.append(f"The old line {'also ' if words else ''}stays {listed(parts)}.")
    missing = row.after_mm - sum(kept) - sum(end - begin for begin, end in inner)
    if plain and missing > _GAP_MM:
        found.append(rest if found else f"Straight from {start} to {end}.")
    return found


def _part(
    source: Source, piece: str, edge: str, part: tuple[float, float], *, from_end: bool
) -> str:
    """``between 16.3 mm from old A and new B``."""
    pair = source.compared(piece)
    old, new = pair.old(edge), pair.now.edge(edge).points
    origin = f" from old {source.corner(piece, edge, 'end' if from_end else 'start')}"
    total = length(old)
    said = []
    for mm, end in zip(part, ("start", "end"), strict=True):
        own = source.corner(piece, edge, end)
        if np.hypot(*(point_at(old, mm) - new[0 if end == "start" else -1])) <= PENCIL_MM:
            said.append((f"new {own}", ""))
        elif abs(mm - (0.0 if end == "start" else total)) <= PENCIL_MM:
            said.append((f"old {own}", ""))
        else:
            said.append((source.said(total - mm if from_end else mm), origin))
    (first, near), (second, far) = reversed(said) if from_end else said
    # Two distances from the same corner name it once.
    return f"between {first}{'' if near == far else near} and {second}{far}"


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
    told = f"Length {new}, as before" if old == new else f"Length {old}, now {new}"
    if mouths:
        told += f", {source.said(mouths)} of it dart mouth, which the checks leave out"
    return f"{told}."
