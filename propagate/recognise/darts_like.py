"""Find the darts of a set before in a drawing that shows them by notches and a drill mark alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import dist

from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.names import free_name

__all__ = ["find_darts_like"]

NEAR = 0.2
"""How far along its edge a leg may lie from where it was, as a share of its length."""
LEGS_MM = 1.0
"""The legs of a dart are as long as each other (the trade's walk; common practice, no source)."""


def find_darts_like(
    nest: Mapping[str, SizedPiece], base: str, before: SizedPiece
) -> Mapping[str, SizedPiece]:
    """Take notches for the legs of a dart where the drawing before has one on the same edge.

    There are as many notches on the edge as notches and legs before, in about the same places, and
    in every size a drill mark is as far from both.  Else nothing is changed.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
        With the names of edges that `before` has.
    base : str
    before : SizedPiece
    """
    found = dict(nest)
    for edge in nest[base].edge_names:
        darts = [dart for dart in before.darts if dart.edge == edge]
        if not darts or any(dart.edge == edge for dart in nest[base].darts):
            continue
        olds = _list_marks(before, edge)
        news = _list_marks(nest[base], edge)
        if len(olds) != len(news):
            continue
        if any(abs(a - b) > NEAR for (a, _), (b, _) in zip(olds, news, strict=True)):
            continue
        called = {old: new for (_, old), (_, new) in zip(olds, news, strict=True)}
        for dart in darts:
            legs = called[dart.legs[0]], called[dart.legs[1]]
            tip = _find_tip(found, legs, before, dart)
            if tip is not None:
                found = {size: _with_dart(one, edge, legs, tip) for size, one in found.items()}
    return found


def _list_marks(piece: SizedPiece, edge: str) -> Sequence[tuple[float, str]]:
    """Notches and legs along an edge, with their share of its length."""
    long = piece.edge(edge).length
    marks = [mark for mark in piece.landmarks_on(edge) if mark.kind != "mark"]
    return sorted((piece.distance(edge, mark.name) / long, mark.name) for mark in marks)


def _find_tip(
    nest: Mapping[str, SizedPiece], legs: tuple[str, str], before: SizedPiece, dart: Dart
) -> str | None:
    """The drill mark that is the tip: as far from both legs in every size.

    Where several are, as where a second one is punched short of the tip, it is that which has its
    place among as many before.
    """
    sample = next(iter(nest.values()))
    fit = {
        drill.name: dist(sample.landmark(legs[0]).point, drill.point)
        for drill in sample.drills
        if all(_is_between(one, legs, drill.name) for one in nest.values())
    }
    leg = before.landmark(dart.legs[0]).point
    long = dist(leg, dart.tip)
    own = [drill.point for drill in before.drills if _is_between(before, dart.legs, drill.name)]
    was = _list_apart([long, *(dist(leg, point) for point in own)])
    now = _list_apart(fit.values())
    if len(now) != 1 and len(now) != len(was):
        return None
    wanted = now[0] if len(now) == 1 else now[sum(far < long - LEGS_MM for far in was)]
    return next(name for name, far in fit.items() if abs(far - wanted) <= LEGS_MM)


def _list_apart(values: Iterable[float]) -> list[float]:
    """Values in order, those that are as good as the one before left out."""
    found: list[float] = []
    for value in sorted(values):
        if not found or value - found[-1] > LEGS_MM:
            found.append(value)
    return found


def _is_between(piece: SizedPiece, legs: tuple[str, str], drill: str) -> bool:
    point = next((one.point for one in piece.drills if one.name == drill), None)
    if point is None:
        return False
    first, second = (dist(piece.landmark(leg).point, point) for leg in legs)
    return abs(first - second) <= LEGS_MM


def _with_dart(piece: SizedPiece, edge: str, legs: tuple[str, str], tip: str) -> SizedPiece:
    point = next(one.point for one in piece.drills if one.name == tip)
    name = free_name("dart", {dart.name for dart in piece.darts})
    return replace(
        piece,
        landmarks=tuple(
            replace(mark, kind="dart leg") if mark.name in legs else mark
            for mark in piece.landmarks
        ),
        darts=(*piece.darts, Dart(name, edge, legs, point)),
    )
