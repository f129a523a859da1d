"""Every derived piece of the demo sets equals its definition, worked out anew from the main piece.

Before and after the edits of its set, in its smallest, base and largest size (in all with the
profile ``long``).  Nothing of the engine is used for it: darts are closed by shapely's rotation,
parallels are shapely's, allowances are read from the set, and a piece is laid on its main piece by
Kabsch's rotation (1976) of bare points.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.ops import substring

import propagate
from propagate.engine.applying import apply_edits
from propagate.io.edits_toml import read_edits
from propagate.pattern.derived import Derived
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.shared import demo_in_few

SETS = ("lined_skirt", "market_bag", "concert_dress")
OFF_MM = 0.01
FAR_MM = 400.0
AHEAD = 0.01
"""A line is drawn in chords: how it runs on straight is known no better, radians."""


@cache
def edited(name: str) -> PatternSet:
    """A demo set after the edits that it comes with."""
    pattern = demo_in_few(name)
    return apply_edits(pattern, read_edits(propagate.demo_path(name) / "edits.toml").edits).pattern


def tangent(points: np.ndarray) -> np.ndarray:
    """Direction in which a line leaves its end: its last two chords, run on as they turn."""
    steps = np.diff(points[-3:], axis=0) @ np.array([1.0, 1j])
    before, last = steps[0], steps[-1]
    turn = np.angle(last / before) * abs(last) / (abs(last) + abs(before))
    ahead = last / abs(last) * np.exp(1j * turn if abs(turn) < np.radians(5.0) else 0.0)
    return np.array([ahead.real, ahead.imag])


def folded(main: SizedPiece, edge: str) -> tuple[np.ndarray, float, np.ndarray | None]:
    """An edge with its one dart closed; by how much what lies beyond turns, and about what."""
    line = shapely.LineString(main.edge(edge).points)
    darts = [dart for dart in main.darts if dart.edge == edge]
    if not darts:
        return main.edge(edge).points, 0.0, None
    (dart,) = darts
    tip = np.array(dart.tip)
    low, high = sorted(line.project(shapely.Point(main.landmark(n).point)) for n in dart.legs)
    legs = [shapely.get_coordinates(line.interpolate(at))[0] - tip for at in (low, high)]
    angles = [np.arctan2(*leg[::-1]) for leg in legs]
    beyond = turned(substring(line, high, line.length), angles[0] - angles[1], tip)
    first = shapely.get_coordinates(substring(line, 0.0, low))
    return np.vstack([first, beyond[1:]]), angles[0] - angles[1], tip


def turned(line: shapely.Geometry, angle: float, about: np.ndarray) -> np.ndarray:
    return shapely.get_coordinates(affinity.rotate(line, angle, tuple(about), use_radians=True))


@dataclass(frozen=True)
class Line:
    """A line on which an edge has to lie, run on; where its straight ends begin, along it."""

    whole: shapely.LineString
    ends: np.ndarray
    inner: tuple[float, float]

    def may_be_off(self, point: np.ndarray) -> float:
        """How well the line is known there, mm."""
        place = self.whole.project(shapely.Point(point))
        beyond = max(self.inner[0] - place, place - self.inner[1], 0.0)
        return OFF_MM + beyond * AHEAD


def line_beside(base: np.ndarray, out: float) -> Line:
    """The parallel of a line, and of how it runs on straight."""
    ahead = [base[0] + FAR_MM * tangent(base[::-1]), base[-1] + FAR_MM * tangent(base)]
    whole = shapely.LineString(np.vstack([ahead[0], base, ahead[1]]))
    if out:
        whole = whole.offset_curve(-out, join_style="mitre", mitre_limit=20.0)
    low, high = (whole.project(shapely.Point(end)) for end in base[[0, -1]])
    return Line(whole, base[[0, -1]], (low, high))


def closed_base(main: SizedPiece, derived: Derived, on: str) -> np.ndarray:
    """The main piece's line with the dart closed, on its edge, before it, or turned beyond it."""
    base = main.edge(on).points
    if not derived.closed_edges:
        return base
    (closed,) = derived.closed_edges
    line, angle, tip = folded(main, closed)
    if on == closed:
        return line
    names = main.edge_names
    follows = names[(names.index(closed) + 1) % len(names)]
    if on != follows or tip is None:
        return base
    return turned(shapely.LineString(base), angle, tip)


def meant(pattern: PatternSet, derived: Derived, size: str) -> dict[str, Line]:
    """The line on which each edge that is named has to lie."""
    main, found = pattern.sized(derived.of, size), {}
    for one in derived.edges:
        allowance = pattern.info[derived.of].allowance.of(one.on) if one.from_cut else 0.0
        base = closed_base(main, derived, one.on)
        found[one.edge] = line_beside(base, one.out - one.inside + allowance)
    return found


Corner = tuple[np.ndarray, float] | None
"""Where it lies, and how well that is known, mm."""


def corners(
    pattern: PatternSet, derived: Derived, size: str, lines: dict[str, Line]
) -> list[Corner]:
    """The corner at which each edge starts: the crossing nearest to the main lines' own ends."""
    main = pattern.sized(derived.of, size)
    said = {one.edge: one for one in derived.edges}
    names = pattern.sized(derived.piece, size).edge_names
    found: list[Corner] = []
    for i, name in enumerate(names):
        before, after = said.get(names[i - 1]), said.get(name)
        if before is not None and after is not None:
            both = lines[before.edge], lines[after.edge]
            hits = shapely.get_coordinates(both[0].whole.intersection(both[1].whole))
            near = np.vstack([line.ends for line in both])
            hit = min(hits, key=lambda hit: float(np.hypot(*(near - hit).T).min()))
            found.append((hit, sum(line.may_be_off(hit) for line in both)))
        else:
            marks = (before.end if before else None), (after.start if after else None)
            mark = next((mark for mark in marks if mark is not None), None)
            found.append(None if mark is None else (np.array(main.landmark(mark).point), OFF_MM))
    return found


def laid(piece: SizedPiece, there: list[Corner], face_down: bool) -> np.ndarray:
    """(3, 2) the rigid motion that lays the corners of a piece best on others (Kabsch)."""
    pairs = [
        (edge.points[0], one[0])
        for edge, one in zip(piece.edges, there, strict=True)
        if one is not None
    ]
    own, other = (np.array(side) for side in zip(*pairs, strict=True))
    mirror = np.diag([-1.0 if face_down else 1.0, 1.0])
    p = own @ mirror
    u, _, vt = np.linalg.svd((p - p.mean(0)).T @ (other - other.mean(0)))
    turn = u @ np.diag([1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
    return np.vstack([mirror @ turn, other.mean(0) - p.mean(0) @ turn])


def farther_than_known(
    piece: SizedPiece, motion: np.ndarray, lines: dict[str, Line], there: list[Corner]
) -> float:
    """By how much a piece is farther off its definition than that is known, mm.

    How well it is known where the piece lies tells how well its corners fit.
    """
    far = 0.0
    laid_off = max(
        float(np.hypot(*(edge.points[0] @ motion[:2] + motion[2] - corner[0])))
        for edge, corner in zip(piece.edges, there, strict=True)
        if corner is not None
    )
    for edge, corner in zip(piece.edges, there, strict=True):
        drawn = edge.points @ motion[:2] + motion[2]
        if corner is not None:
            far = max(far, float(np.hypot(*(drawn[0] - corner[0]))) - corner[1])
        if edge.name in lines:
            line = lines[edge.name]
            off = shapely.distance(shapely.points(drawn), line.whole)
            known = [line.may_be_off(point) + laid_off for point in drawn]
            far = max(far, *(off - known))
            # It has what lies between its corners, all of it and once.
            a, b = (line.whole.project(shapely.Point(p)) for p in drawn[[0, -1]])
            far = max(far, abs(edge.length - abs(b - a)) - OFF_MM)
    return far


@pytest.mark.parametrize("name", SETS)
def test_derived_pieces_equal_their_definition_worked_out_anew(name: str) -> None:
    """Before and after the edits of the set, laid then as before them."""
    source, result = demo_in_few(name), edited(name)
    changed = 0
    for size in source.sizes:
        for derived in source.relations.derived.values():
            motion = None
            for pattern in (source, result):
                piece, lines = pattern.sized(derived.piece, size), meant(pattern, derived, size)
                there = corners(pattern, derived, size, lines)
                motion = laid(piece, there, derived.face_down) if motion is None else motion
                far = farther_than_known(piece, motion, lines, there)
                assert far <= 0.0, (size, derived.piece)
            changed += source.sized(derived.piece, size) != result.sized(derived.piece, size)
    assert changed == len(source.sizes) * len(source.relations.derived)


def test_a_piece_that_is_off_is_told() -> None:
    """The yardstick sees a twentieth of a millimetre."""
    pattern = demo_in_few("lined_skirt")
    derived, size = pattern.relations.derived["facing_back"], pattern.base
    piece, lines = pattern.sized("facing_back", size), meant(pattern, derived, size)
    there = corners(pattern, derived, size, lines)
    low = piece.edge("low")
    points = low.points.copy()
    points[len(points) // 2] += (0.0, 0.05)
    edges = tuple(Edge("low", points) if edge is low else edge for edge in piece.edges)
    off = replace(piece, edges=edges)
    assert farther_than_known(off, laid(piece, there, False), lines, there) > 0.01
