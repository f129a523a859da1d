"""Lines that a writer drew in strokes, each of which begins where another one ends."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from propagate.io.chain import Chain, Point
from propagate.io.drawn_lines import DrawnLine
from propagate.io.sheet.outlines import closed_line, open_line

__all__ = ["strokes_as_lines"]

FEWEST = 20
"""Strokes in a row that make a line; marks and the edges of a piece have fewer."""
LONGEST_MM = 60.0
MOST_SEGMENTS = 4

_Way = tuple[int, bool]
"""The number of a stroke, and whether it runs the other way."""


def strokes_as_lines(lines: Sequence[DrawnLine]) -> tuple[list[DrawnLine], int]:
    """Put strokes of one look together that meet nothing else of their look, and count the lines.

    A stroke that is drawn twice counts once, in whichever direction.

    Which line is made does not depend on the order or the direction of its strokes: it runs from
    the lesser of its ends, a closed one from its least point to the lesser of the two beside.
    """
    groups: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    for i, line in enumerate(lines):
        if not (line.closed or line.look.filled) and _is_stroke(line.chain):
            groups[line.look, line.layer].append(i)
    made: dict[int, DrawnLine] = {}
    gone: set[int] = set()
    for members in groups.values():
        if len(members) < FEWEST:
            continue
        twins: defaultdict[tuple[Point, ...], list[int]] = defaultdict(list)
        for i in members:
            twins[_list_controls(lines[i].chain)].append(i)
        alike = {same[0]: same for same in twins.values()}
        members = list(alike)
        at: defaultdict[Point, list[int]] = defaultdict(list)
        for i in members:
            at[lines[i].chain.start].append(i)
            at[lines[i].chain.end].append(i)
        for row in _follow_strokes(lines, members, at):
            if len(row) >= FEWEST:
                first = min(i for i, _ in row)
                made[first] = replace(lines[first], chain=_make_chain(lines, row))
                gone.update(twin for i, _ in row for twin in alike[i])
    found = [made.get(i, line) for i, line in enumerate(lines) if i in made or i not in gone]
    return found, len(made)


def _is_stroke(line: Chain) -> bool:
    return len(line.segments) <= MOST_SEGMENTS and math.dist(line.start, line.end) <= LONGEST_MM


def _list_controls(line: Chain) -> tuple[Point, ...]:
    """Its control points from the lesser end."""
    points = (line.start, *(point for segment in line.segments for point in segment))
    return min(points, points[::-1])


def _follow_strokes(
    lines: Sequence[DrawnLine], members: Sequence[int], at: Mapping[Point, Sequence[int]]
) -> Iterator[list[_Way]]:
    """Rows of strokes over the places where exactly two ends meet; a ring from its first stroke."""
    done: set[int] = set()

    def follow(i: int, turned: bool) -> list[_Way]:
        row: list[_Way] = []
        while i not in done:
            done.add(i)
            row.append((i, turned))
            here = lines[i].chain.start if turned else lines[i].chain.end
            if len(at[here]) != 2:
                break
            ((i, turned),) = [(j, lines[j].chain.start != here) for j in at[here] if j != i] or [
                (i, turned)
            ]
        return row

    for i in members:  # from free ends and crossings
        for place, turned in ((lines[i].chain.start, False), (lines[i].chain.end, True)):
            if i not in done and len(at[place]) != 2:
                yield follow(i, turned)
    for i in members:
        if i not in done:
            yield follow(i, False)


def _make_chain(lines: Sequence[DrawnLine], row: Sequence[_Way]) -> Chain:
    parts = [lines[i].chain.reversed() if turned else lines[i].chain for i, turned in row]
    if parts[0].start != parts[-1].end:
        chain = open_line(parts)
        return chain if chain.start <= chain.end else chain.reversed()
    first = min(range(len(parts)), key=lambda k: parts[k].start)
    parts = parts[first:] + parts[:first]
    if parts[-1].start < parts[0].end:
        parts = [part.reversed() for part in reversed(parts)]
    return closed_line(parts)
