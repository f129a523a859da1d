"""What can be wrong with what a set says of a piece: its fold, strip, anchors and allowances."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import get_args

import numpy as np

from propagate.errors import UnknownName
from propagate.pattern.info import CornerStyle, PieceInfo
from propagate.pattern.names import Names, quote_names
from propagate.pattern.outline_checks import Drawn
from propagate.pattern.strips import sides_of_strip
from propagate.tolerances import SAME_POINT_MM

__all__ = ["info_problems"]

PLAIN_ALLOWANCE_MM = 25.4  # up to here an allowance may be wider than a strip it is on
_CORNERS = get_args(CornerStyle)


def info_problems(
    name: str, info: PieceInfo, drawn: Sequence[Drawn], names: Names
) -> Iterator[str]:
    """Check fold, anchors and allowance of a piece against its edges."""
    sized = names.measure(name)
    if sized is None:
        return
    where = f"piece '{name}'"
    edges = sized.edge_names

    def unknown(edge: str, of: str) -> Iterator[str]:
        if edge not in edges:
            yield f"{where}, {of}: {UnknownName('edge', edge, edges, where)}"

    if info.cut < 1:
        yield f"{where}, cut: found {info.cut}, expected at least 1"
    if info.fold is not None:
        yield from unknown(info.fold, "fold")
    yield from _strip_problems(where, name, info, edges, names)
    notches = [mark.name for mark in sized.landmarks if mark.kind == "notch"]
    for mark in info.double_notches:
        if mark not in notches:
            yield f"{where}, double_notches: {UnknownName('notch', mark, notches, where)}"
    for edge in (*info.allowance.edges, *sorted(info.allowance.turned)):
        yield from unknown(edge, "allowance")
    after = dict(zip(edges, (*edges[1:], edges[0]), strict=True))
    for corner, style in info.allowance.corners.items():
        first, _, second = corner.partition("/")
        if style not in _CORNERS:
            yield f"{where}, corner '{corner}': found '{style}', expected {' or '.join(_CORNERS)}"
        if first not in edges or second not in edges:
            for edge in (first, second):
                yield from unknown(edge, f"corner '{corner}'")
        elif after[first] != second:
            yield (
                f"{where}, corner '{corner}': found edges that do not follow each other, "
                f"expected '{first}/{after[first]}': the edge that ends there, then the next"
            )
    marks = {mark.name: mark for mark in sized.landmarks}
    for landmark, anchor in info.anchors.items():
        place = f"{where}, anchor of '{landmark}'"
        edge, _, end = anchor.rpartition(".")
        if landmark not in marks:
            yield f"{place}: {UnknownName('landmark', landmark, list(marks), where)}"
        elif end not in ("start", "end") or edge != marks[landmark].edge:
            expected = marks[landmark].edge
            yield f"{place}: found '{anchor}', expected '{expected}.start' or '{expected}.end'"
    yield from _allowance_problems(where, info, edges, drawn)


def _strip_problems(
    where: str, name: str, info: PieceInfo, edges: Sequence[str], names: Names
) -> Iterator[str]:
    """Check that a strip has two sides, and that no seam of it has a hold."""
    if not info.strip:
        return
    missing = [edge for edge in info.strip if edge not in edges]
    for edge in missing:
        yield f"{where}, strip: {UnknownName('edge', edge, edges, where)}"
    if missing:
        return
    if sides_of_strip(edges, info.strip) is None:
        yield (
            f"{where}, strip: found {quote_names(info.strip)}, expected the edges of its two long "
            "sides, with a short end between them at either end"
        )
    for seam in names.pattern.relations.seams.values():
        if seam.hold is not None and any(span.piece == name for span in seam.follow):
            yield (
                f"{where}, strip: found hold = '{seam.hold}' on seam '{seam.name}' that it follows "
                "in, expected none; a strip is made longer all along"
            )


def _allowance_problems(
    where: str, info: PieceInfo, edges: Sequence[str], drawn: Sequence[Drawn]
) -> Iterator[str]:
    """Find allowances below zero, and those that swallow a piece in its smallest size.

    A facing is narrow, and its hem as wide as that of the coat: what counts is how deep the piece
    is behind the edge.
    """
    sides = [float(np.min(item.high - item.low)) for item in drawn if item.sound]
    limit = max(min(sides, default=math.inf) / 2, PLAIN_ALLOWANCE_MM)
    for edge in edges:
        allowance = info.allowance.of(edge)
        if not 0.0 <= allowance < math.inf:
            text = f"found an allowance of {allowance:g} mm, expected 0 or more"
            yield f"{where}, edge '{edge}': {text}"
        elif allowance > limit:
            depth = min(_measure_depth(item, edge) for item in drawn if item.sound)
            most = max(depth / 2, PLAIN_ALLOWANCE_MM)
            if allowance > most:
                yield (
                    f"{where}, edge '{edge}': found an allowance of {allowance:g} mm on a piece "
                    f"{depth:.4g} mm wide, expected at most {most:.4g} mm; is the unit right?"
                )


def _measure_depth(item: Drawn, edge: str) -> float:
    """How far a piece reaches square to the line between the ends of an edge, mm."""
    if edge not in item.sized.edge_names:
        return float(np.min(item.high - item.low))
    points = item.sized.edge(edge).points
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length < SAME_POINT_MM:  # a ring
        return float(np.min(item.high - item.low))
    square = np.array([-chord[1], chord[0]]) / length
    return float(np.ptp(item.sized.outline @ square))
