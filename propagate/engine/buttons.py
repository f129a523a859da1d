"""Buttons, measured: each lies in its place, and each side has as many as the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, compare_sides
from propagate.geometry.polyline import locate
from propagate.pattern.buttons import Buttons, marks_called, middle_of, places_of_buttons
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.pattern.spans import run_length, span_ends

__all__ = ["along_span", "places_wanted", "walk_buttons"]


def places_wanted(lookup: Callable[[str], SizedPiece], buttons: Buttons) -> npt.NDArray[np.float64]:
    """(n,) distances from the start of the runs at which they are to lie, mm: the first side's."""
    return places_of_buttons(buttons, run_length(lookup, buttons.sides[0]))


def along_span(piece: SizedPiece, span: Span, point: npt.NDArray[np.float64]) -> float:
    """Distance of the foot of a point on a span from its start, mm."""
    begin, end = span_ends(piece, span)
    at, _ = locate(piece.edge(span.edge).points, point)
    return float(at - begin) if begin <= end else float(begin - at)


def walk_buttons(on: Walked, buttons: Buttons) -> list[Check]:
    """Of each side the one that is farthest off its place; all of them where the number is off."""
    wanted, checks = places_wanted(on.piece, buttons), []
    for run, name in zip(buttons.sides, buttons.marks, strict=True):
        if not run:
            continue
        piece = on.piece(run[0].piece)
        marks = marks_called(piece, name)
        found = np.array([along_span(piece, run[0], middle_of(mark)) for mark in marks])
        what = f"{len(found)} of {run[0].piece}.{name}, {len(wanted)} expected"
        worst = -1  # the place of the last tells how much of the row is missing or too much
        if len(found) == len(wanted) and len(found):
            worst = int(np.abs(found - wanted).argmax())
        first, second = (float(one[worst]) if len(one) else 0.0 for one in (wanted, found))
        part = run[0].piece
        check = compare_sides("buttons", buttons, (what, ""), first, second, part=part)
        if len(found) != len(wanted):
            check = replace(check, verdict="does not sew")
        checks.append(check)
    return checks
