"""Pieces that no ruler and no eye tells from another, or from themselves the other way round.

Two copies lie on each other, point on point, notch on notch and with the cloth running alike, once
one of them is turned, shifted and perhaps laid face down.  What is sewn to the one may as well be
said of the other.  Judged by laying points on points, not by lengths and angles.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from scipy.optimize import linear_sum_assignment
from scipy.spatial.distance import cdist

from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam, Span

NEAR_MM, GRAIN_DEG = 0.3, 3.0
"""A grid of 0.1 mm, laid at any angle on another, and a grain that is drawn by eye."""


@dataclass(frozen=True)
class Laid:
    """One piece on another: where its edges and marks come to lie."""

    on: str
    edges: Mapping[str, str]
    marks: Mapping[str, str]
    flipped: bool

    def span(self, span: Span) -> Span:
        ends = {"start": "end", "end": "start"} if self.flipped else {}
        begin, end = (ends.get(m, self.marks.get(m, m)) for m in (span.begin, span.end))
        return Span(self.on, self.edges[span.edge], begin, end)


def list_laid(pattern: PatternSet, piece: str, on: str) -> list[Laid]:
    """Every way in which a piece lies on another, or on itself, in the same way in all sizes."""
    own, other = pattern.pieces[piece].at(pattern.base), pattern.pieces[on].at(pattern.base)
    count = len(own.edges)
    if count != len(other.edges) or len(own.landmarks) != len(other.landmarks):
        return []
    found = []
    for first, flipped in product(range(count), (False, True)):
        order = [(first - k if flipped else first + k) % count for k in range(count)]
        edges = {e.name: other.edges[k].name for e, k in zip(own.edges, order, strict=True)}
        marks: dict[str, str] | None = {}
        for size in pattern.sizes:
            sized = pattern.sized(piece, size), pattern.sized(on, size)
            marks = _lay(*sized, edges, flipped=flipped)
            if marks is None:
                break
        if marks is not None:
            found.append(Laid(on, edges, marks, flipped))
    return found


def _lay(
    own: SizedPiece, other: SizedPiece, edges: Mapping[str, str], *, flipped: bool
) -> dict[str, str] | None:
    """The marks of one size that come to lie on each other; None where anything is off."""
    source, target = [], []
    for name, on in edges.items():
        source.append(_spread(own.edge(name).points))
        points = other.edge(on).points
        target.append(_spread(points[::-1] if flipped else points))
    a, b = np.concatenate(source), np.concatenate(target)
    sign = np.array([-1.0, 1.0] if flipped else [1.0, 1.0])
    # The best turn of one cloud of points onto another (Kabsch, from memory).
    left, _, right = np.linalg.svd(((a - a.mean(0)) * sign).T @ (b - b.mean(0)))
    turn = left @ np.diag([1.0, np.linalg.det(left @ right)]) @ right

    def put(points: Array) -> Array:
        return np.asarray(((points - a.mean(0)) * sign) @ turn + b.mean(0))

    if np.hypot(*(put(a) - b).T).max() > NEAR_MM:
        return None
    grain = (np.asarray(own.grain.direction) * sign) @ turn
    x, y = other.grain.direction
    if abs(grain[0] * y - grain[1] * x) > np.sin(np.radians(GRAIN_DEG)):
        return None
    if not own.landmarks:
        return {}
    gaps = cdist(
        put(np.array([mark.point for mark in own.landmarks])),
        np.array([mark.point for mark in other.landmarks]),
    )
    rows, columns = linear_sum_assignment(gaps)
    if gaps[rows, columns].max() > 2 * NEAR_MM:
        return None
    return {
        own.landmarks[i].name: other.landmarks[k].name
        for i, k in zip(rows.tolist(), columns.tolist(), strict=True)
    }


def _spread(points: Array) -> Array:
    """Points at equal distances along a line."""
    arc = np.concatenate([[0.0], np.hypot(*np.diff(points, axis=0).T).cumsum()])
    at = np.linspace(0.0, arc[-1], 9)
    return np.stack([np.interp(at, arc, points[:, axis]) for axis in (0, 1)], axis=1)


def list_the_same(pattern: PatternSet, seam: Seam) -> Iterator[Seam]:
    """A seam with each of its pieces laid on any other that is the same, each on one of its own."""
    pieces = sorted({span.piece for span in (*seam.lead, *seam.follow)})
    ways = [
        [laid for on in pattern.pieces for laid in list_laid(pattern, piece, on)]
        for piece in pieces
    ]
    for chosen in product(*ways):
        if len({laid.on for laid in chosen}) == len(chosen):
            put = dict(zip(pieces, chosen, strict=True))

            def carry(run: Run, put: Mapping[str, Laid] = put) -> Run:
                return tuple(put[span.piece].span(span) for span in run)

            yield replace(seam, lead=carry(seam.lead), follow=carry(seam.follow))
