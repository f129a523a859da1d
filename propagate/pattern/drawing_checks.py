"""What can be wrong with one drawn piece besides its outline, and between its sizes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import get_args

from propagate.errors import nearest_names
from propagate.pattern.model import Dart, LandmarkKind, SizedPiece
from propagate.pattern.names import find_repeated, quote_names
from propagate.pattern.outline_checks import Drawn
from propagate.tolerances import SAME_POINT_MM

__all__ = ["MIN_GRAIN_MM", "check_sizes", "check_sized"]

MIN_GRAIN_MM = 0.01  # of a shorter one the direction is lost in the digits of its ends
_KINDS = get_args(LandmarkKind)


def check_sized(item: Drawn) -> None:
    """Note what is wrong with names, turn points, darts, lines and grain."""
    sized = item.sized
    for what, of in (
        ("edge", sized.edges),
        ("landmark", sized.landmarks),
        ("dart", sized.darts),
        ("line", sized.lines),
        ("drill", sized.drills),
    ):
        for name in find_repeated([one.name for one in of]):
            item.add(f"found {what} '{name}' twice, expected each name once; rename one")
    for edge in sized.edges:
        inner = range(1, len(edge.points) - 1)
        if edge.turns and not all(turn in inner for turn in edge.turns):
            item.add(
                f"found turn points {list(edge.turns)}, expected inner vertices "
                f"1 to {len(edge.points) - 2}",
                edge.name,
            )
    for mark in sized.landmarks:
        if mark.name in ("start", "end") or mark.name.endswith((".start", ".end")):
            item.add(
                f"found a landmark called '{mark.name}', which is an edge's own end; rename it",
                mark.edge,
            )
        if mark.edge not in sized.edge_names:
            item.add(f"landmark '{mark.name}': {_unknown_edge(sized, mark.edge)}")
        if mark.kind not in _KINDS:
            item.add(
                f"landmark '{mark.name}': found the kind '{mark.kind}', expected "
                f"{', '.join(_KINDS)}"
            )
    for dart in sized.darts:
        for text in _dart_faults(sized, dart):
            item.add(f"dart '{dart.name}': {text}")
    for first, second in _overlapping_darts(item):
        item.add(
            f"dart '{second}': found its mouth over that of dart '{first}', expected mouths "
            "beside each other; list the legs of each dart with the right dart"
        )
    for line in sized.lines:
        if len(line.points) < 2:
            item.add(f"line '{line.name}': found {len(line.points)} point(s), expected 2 or more")
    size = math.dist(sized.grain.start, sized.grain.end)
    if size < MIN_GRAIN_MM:
        item.add(
            f"found a grain line of {size:.3g} mm, expected at least {MIN_GRAIN_MM:g} mm; "
            "draw it from one end of the piece towards the other"
        )


def _unknown_edge(sized: SizedPiece, edge: str) -> str:
    near = nearest_names(edge, sized.edge_names)
    cure = f"did you mean {near}?" if near else f"edges: {', '.join(sized.edge_names)}"
    return f"found the edge '{edge}', which does not exist; {cure}"


def _dart_faults(sized: SizedPiece, dart: Dart) -> Iterator[str]:
    marks = {mark.name: mark for mark in sized.landmarks}
    if dart.edge not in sized.edge_names:
        yield _unknown_edge(sized, dart.edge)
    if dart.legs[0] == dart.legs[1]:
        yield f"found '{dart.legs[0]}' for both legs, expected two landmarks"
        return
    for leg in dart.legs:
        if leg not in marks:
            near = nearest_names(leg, list(marks))
            yield f"found the leg '{leg}', which is no landmark" + (
                f"; did you mean {near}?" if near else "; list it on the edge"
            )
            continue
        if marks[leg].edge != dart.edge:
            yield f"found the leg '{leg}' on edge '{marks[leg].edge}', expected '{dart.edge}'"
        if marks[leg].kind != "dart leg":
            yield f"found the leg '{leg}' of kind '{marks[leg].kind}', expected 'dart leg'"
    if all(leg in marks for leg in dart.legs):
        width = math.dist(marks[dart.legs[0]].point, marks[dart.legs[1]].point)
        if width < SAME_POINT_MM:
            yield "found both legs at the same place, expected a mouth between them"


def _overlapping_darts(item: Drawn) -> Iterator[tuple[str, str]]:
    """Darts of one edge whose mouths share a stretch: its length would be left out twice."""
    if len(item.sized.darts) < 2 or not item.sound:
        return
    mouths: dict[str, list[tuple[float, float, str]]] = {}
    marks = {mark.name: mark.edge for mark in item.sized.landmarks}
    for dart in item.sized.darts:
        if dart.edge in item.sized.edge_names and all(
            marks.get(leg) == dart.edge for leg in dart.legs
        ):
            low, high = sorted(item.sized.distance(dart.edge, leg) for leg in dart.legs)
            mouths.setdefault(dart.edge, []).append((low, high, dart.name))
    for of_edge in mouths.values():
        of_edge.sort()
        for before, after in pairwise(of_edge):
            if after[0] < before[1] - SAME_POINT_MM:
                yield before[2], after[2]


def check_sizes(drawn: Sequence[Drawn], base: str) -> None:
    """Note where the sizes of one piece differ in the names they have.

    The base size is the measure; another size is when the base is not drawn.
    """
    if not drawn:
        return
    measure = next((item for item in drawn if item.size == base), drawn[0])
    for item in drawn:
        if item is measure:
            continue
        sound = not (item.problems or measure.problems)  # a clockwise outline has another order
        for what, names, expected in zip(
            ("edges", "landmarks", "darts", "levels"),
            _name_lists(item.sized),
            _name_lists(measure.sized),
            strict=True,
        ):
            missing = [name for name in expected if name not in names]
            added = [name for name in names if name not in expected]
            if missing or added:
                found = [f"no {quote_names(missing)}"] if missing else []
                found += [f"{quote_names(added)} besides"] if added else []
                item.add(
                    f"found {what} with {' and '.join(found)}, "
                    f"expected those of size '{measure.size}'; give every size the same names"
                )
        names, expected = item.sized.edge_names, measure.sized.edge_names
        if sound and not _same_round(names, expected):
            text = (
                f"found the edges in the order {', '.join(names)}, expected that of size "
                f"'{measure.size}' ({', '.join(expected)}), from any of them on"
            )
            if _same_round(names[::-1], expected):
                text += (
                    "; they fit the other way round: this size is drawn mirrored, so turn it over"
                )
            item.add(text)


def _name_lists(sized: SizedPiece) -> tuple[tuple[str, ...], ...]:
    return (
        sized.edge_names,
        tuple(mark.name for mark in sized.landmarks),
        tuple(dart.name for dart in sized.darts),
        tuple(sized.levels),
    )


def _same_round(names: tuple[str, ...], expected: tuple[str, ...]) -> bool:
    """Tell whether two rings of names agree, wherever they start."""
    if names == expected or sorted(names) != sorted(expected) or len(set(names)) < len(names):
        return True  # other problems are noted elsewhere
    shift = names.index(expected[0])
    return names[shift:] + names[:shift] == expected
