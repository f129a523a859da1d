"""Find out what a revised piece changed: lay it on the old one and compare edge by edge.

The revised drawing may be turned, shifted, mirrored, start at another corner, run the
other way and name its edges differently.  It is laid by the edges that agree.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.darts.changes import DartChange
from propagate.engine.record import Status
from propagate.engine.register_checks import check_usable
from propagate.engine.register_size import check_size
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.revising.corners import corners_differ
from propagate.engine.revising.laid import PARALLEL_DEG, LaidDrawing, off_grain
from propagate.engine.revising.marks import RevisedMark, placed_inner
from propagate.engine.revising.ways import laid_by_stretches, laid_ways, refined
from propagate.errors import EditError
from propagate.geometry.corner import is_counter_clockwise
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import arc_lengths, locate_all, points_at, sample_line
from propagate.pattern.model import Edge, SizedPiece
from propagate.values import dataclass

__all__ = ["Registered", "register"]

Array = npt.NDArray[np.float64]

_SAMPLES = 24
_AGREE_MM = 1.0
"""Edges whose lengths differ by less than this may be unchanged ones."""
_LEAST_MM = 10.0
"""Edges that agree over less than this do not tell how a piece lies."""
_MOST = 0.4
_FAR_MM = 50.0
"""An edge or mark that lies farther off than this is not the one that is meant."""
_TURNED_DEG = 30.0
"""Layings that differ by more lie another way round, not shifted along an edge."""
_EXACT_MM = 0.001
_COARSE_MM = 0.05
"""A drawing coarser than this is laid by its vertices, which lie on the curves it stands for."""


@dataclass(frozen=True)
class Registered:
    """A revised piece in the frame and with the names of the old one.

    Attributes
    ----------
    piece : SizedPiece
    statuses : tuple of (edge name, status)
    motion : Motion
        Takes the revised drawing's frame to the old one.
    residual : float
        Largest distance left on the edges that agree, mm.
    marks : tuple of RevisedMark
        Landmarks and what lies inside that the drawing moved or added.
    darts : tuple of DartChange
        Darts that came, went, were swung, or are wider, narrower or elsewhere.
    notices : tuple of (str, str)
        What was found of them, and what to do.
    shown : frozenset of str
        Inner lines and drill marks of the old piece that the drawing shows.
    """

    piece: SizedPiece
    statuses: tuple[tuple[str, Status], ...]
    motion: Motion
    residual: float
    marks: tuple[RevisedMark, ...] = ()
    darts: tuple[DartChange, ...] = ()
    notices: tuple[tuple[str, str], ...] = ()
    shown: frozenset[str] = frozenset()

    @property
    def changed(self) -> bool:
        """Whether the drawing differs from the old piece."""
        return bool(self.marks or self.darts) or any(
            status != "same" for _, status in self.statuses
        )


@dataclass(frozen=True)
class _Match:
    """One way to pair the edges: new edge i + shift goes on old edge i.

    `total` is how far the edges lie from the old ones, each by its mean and by 50 mm at
    most; `on_old` is the length of outline that lies on the old edges, mm.
    """

    edges: tuple[Edge, ...]
    motion: Motion
    agreeing: tuple[int, ...]
    residual: float
    total: float
    on_old: float


def register(
    old: SizedPiece,
    new: SizedPiece,
    *,
    tolerance: float = 0.05,
    where: str = "piece",
    named: Collection[str] = (),
) -> Registered:
    """Lay a revised piece on the old one.

    Parameters
    ----------
    old, new : SizedPiece
    tolerance : float
        mm within which an edge counts as the same (the curve tolerance of the file).
    where : str
        Set, piece and size, for messages.
    named : collection of str
        Landmarks that relations name, which a dart that went leaves behind.

    Raises
    ------
    EditError
        When corners came or went (they are named), when no edge agrees, when the outline
        crosses itself or holds what is no number, or when it is many times as large as the
        old one, as a drawing in another unit is.
    """
    check_usable(new, where)
    check_size(old, new, where)
    if len(new.edges) != len(old.edges):
        raise EditError(corners_differ(old, new, where))
    pairings = list(_find_matches(old, new, tolerance)) or list(_in_part(old, new, tolerance))
    if not pairings:
        raise EditError(
            f"{where}: no edge of the revised piece agrees with the old one, not even in part, so "
            "it cannot be laid on it; expected one that was not changed (is it another garment's?)"
        )
    best = _along_the_grain(old, new, _by_agreement(old, new, pairings))
    return _name_edges(old, new, _refine_match(old, best, tolerance), tolerance, named)


def _by_agreement(old: SizedPiece, new: SizedPiece, pairings: Sequence[_Match]) -> list[_Match]:
    """The layings on which most of the outline lies on the old one, the likeliest first.

    Where an edge was swung, the grain line tells which one: it stays parallel.  Where several
    layings are equally good, the marks tell which way round the piece lies; then
    the drawing lies where the old piece does, or as near to that as can be.
    """
    most = max(match.on_old for match in pairings)
    upright = [
        match
        for match in pairings
        if match.on_old >= most / 2 and off_grain(old.grain, new.grain, match.motion) < PARALLEL_DEG
    ]
    most = max([match.on_old for match in upright], default=most)
    good = [match for match in upright or pairings if match.on_old >= most - _LEAST_MM]
    corners = np.array([edge.points[0] for edge in new.edges])

    def rank(match: _Match) -> tuple[float, ...]:
        return (*_marks_miss(old, new, match), round(match.total), -len(match.agreeing))

    way = min(good, key=rank).motion

    def likely(match: _Match) -> tuple[float, ...]:
        turned = match.motion.face_down is not way.face_down
        turned |= abs(np.angle(match.motion.turn / way.turn)) > np.radians(_TURNED_DEG)
        moved = np.hypot(*(match.motion.apply(corners) - corners).T).max()
        stays = bool(moved <= _AGREE_MM / 4)
        return (turned, not stays, *rank(match), moved)

    return sorted(good, key=likely)


def _along_the_grain(old: SizedPiece, new: SizedPiece, matches: Sequence[_Match]) -> _Match:
    """The best match; where edges agree in two ways, the one that keeps the grain.

    When two neighbours keep their shapes and the corner between them opens, either may be
    the one that was swung.
    """
    best = matches[0]
    for match in matches:
        alike = match.edges is best.edges and len(match.agreeing) == len(best.agreeing)
        if alike and off_grain(old.grain, new.grain, match.motion) < PARALLEL_DEG:
            return match
    return best


def _refine_match(old: SizedPiece, match: _Match, tolerance: float) -> _Match:
    """Lay it by everything that agrees, also by parts of edges: a short edge turns easily."""
    whole = sum(old.edges[i].length for i in match.agreeing)
    if not match.agreeing or whole > _MOST * sum(edge.length for edge in old.edges):
        return match
    flip = Motion(-1 + 0j, 0j, True)
    laid = match.motion.after(flip.inverse()) if match.motion.face_down else match.motion
    # What the agreeing edges leave open grows with the distance from them.
    farther = _measure_across(old.edges) / _measure_across([old.edges[i] for i in match.agreeing])
    near = float(np.clip(3.0 * farther * match.residual, _EXACT_MM, _AGREE_MM / 4))
    better = refined(old.edges, match.edges, laid, tolerance, near=near)
    return replace(match, motion=better.after(flip) if match.motion.face_down else better)


def _measure_across(edges: Sequence[Edge]) -> float:
    return float(np.hypot(*np.ptp(np.vstack([edge.points for edge in edges]), axis=0)))


def _mirror_edges(piece: SizedPiece) -> tuple[Edge, ...]:
    """Edges of the piece turned face down, counter-clockwise again."""
    flip = np.array([-1.0, 1.0])
    edges = []
    for edge in reversed(piece.edges):
        last = len(edge.points) - 1
        turns = tuple(sorted(last - turn for turn in edge.turns))
        edges.append(Edge(edge.name, edge.points[::-1] * flip, turns))
    return tuple(edges)


def _marks_miss(old: SizedPiece, new: SizedPiece, match: _Match) -> tuple[float, int]:
    """How badly a pairing fits what is drawn on the edges, and the edges' own names.

    A band lies on itself either way round: its landmarks tell which one is meant.
    """
    theirs = {mark.name: match.motion.apply(mark.point) for mark in new.landmarks}
    every = np.array(list(theirs.values())).reshape(-1, 2)
    miss = 0.0
    for mark in old.landmarks:
        there = theirs.get(mark.name)
        if there is not None:
            miss += min(float(np.hypot(*(there - mark.point))), _FAR_MM)
        elif len(every):
            miss += min(float(np.hypot(*(every - mark.point).T).min()), _FAR_MM)
    renamed = sum(a.name != b.name for a, b in zip(old.edges, match.edges, strict=True))
    return float(round(miss)), renamed


def _list_pairings(old: SizedPiece, new: SizedPiece) -> Iterator[tuple[bool, tuple[Edge, ...]]]:
    """Every way to go round the new edges, face up first: (face down, edges)."""
    straight = new.edges
    if not is_counter_clockwise(np.concatenate([edge.points[:-1] for edge in straight])):
        straight = tuple(
            Edge(e.name, e.points[::-1], tuple(sorted(len(e.points) - 1 - t for t in e.turns)))
            for e in reversed(straight)
        )
    for face_down, edges in (
        (False, straight),
        (True, _mirror_edges(replace(new, edges=straight))),
    ):
        for shift in range(len(old.edges)):
            yield face_down, (*edges[shift:], *edges[:shift])


def _in_part(old: SizedPiece, new: SizedPiece, tolerance: float) -> Iterator[_Match]:
    """Pairings by stretches of edges, where no edge agrees as a whole."""
    for face_down, edges in _list_pairings(old, new):
        found = laid_by_stretches(old.edges, edges, tolerance)
        if found is not None:
            motion, agreeing = found
            whole = motion if not face_down else motion.after(Motion(-1 + 0j, 0j, True))
            yield _Match(edges, whole, (), 0.0, 0.0, agreeing)


def _find_matches(old: SizedPiece, new: SizedPiece, tolerance: float) -> Iterator[_Match]:
    """Every pairing in outline order in which some edges agree, straight or mirrored."""
    wanted = np.array([edge.length for edge in old.edges])
    target = [_sample_edge(edge) for edge in old.edges]
    limit = max(_AGREE_MM / 4, 2 * tolerance)
    for face_down, edges in _list_pairings(old, new):
        lengths = np.array([edge.length for edge in edges])
        close = np.flatnonzero(np.abs(lengths - wanted) < max(_AGREE_MM, 4 * tolerance))
        source = [_sample_edge(edge) for edge in edges]
        ways = laid_ways(source, target, close.tolist(), limit, _find_reach(tolerance))
        for kept, motion, residual in ways:
            if sum(wanted[kept]) < _LEAST_MM:
                continue
            if tolerance > _COARSE_MM:
                motion = _by_vertices(old, edges, kept, motion)
            total = _measure_apart(motion, source, target)
            # A mirrored drawing was flipped in x first.
            whole = motion if not face_down else motion.after(Motion(-1 + 0j, 0j, True))
            on_old = _on_old(old, edges, motion, _find_reach(tolerance))
            yield _Match(edges, whole, tuple(kept), residual, total, on_old)


def _sample_edge(edge: Edge, count: int = _SAMPLES) -> Array:
    """Points of an edge at equal distances, once: they stay with it, however it is paired."""
    kept: dict[int, Array] = vars(edge).setdefault("_samples", {})
    if count not in kept:
        kept[count] = sample_line(edge.points, count)
    return kept[count]


def _measure_apart(motion: Motion, source: Sequence[Array], target: Sequence[Array]) -> float:
    pairs = zip(source, target, strict=True)
    gaps = [np.hypot(*(motion.apply(new) - old).T).mean() for new, old in pairs]
    return float(np.minimum(gaps, _FAR_MM).sum())


def _find_reach(tolerance: float) -> float:
    """Where a coarse drawing touches its tolerance, the noise of its numbers comes on top."""
    return tolerance if tolerance <= _COARSE_MM else 1.1 * tolerance


def _on_old(old: SizedPiece, edges: Sequence[Edge], motion: Motion, reach: float) -> float:
    """Length of the new outline that lies on the old one, edge on edge, mm.

    What lies exactly there counts in full and what lies farther off for less: a change of
    some hundredths must not be shared between an edge that kept and one that gave, and a
    drawing that is coarser than it says lies somewhere still.
    """
    scales = np.array([reach, max(reach, _AGREE_MM / 4), max(reach, _AGREE_MM)])
    found = 0.0
    for was, now in zip(old.edges, edges, strict=True):
        _, gaps = locate_all(was.points, motion.apply(_sample_edge(now, 2 * _SAMPLES)))
        near = np.maximum(1.0 - gaps[:, None] / scales, 0.0).mean(axis=1)
        found += now.length * float(np.minimum(near[:-1], near[1:]).mean())
    return found


def _by_vertices(
    old: SizedPiece, edges: tuple[Edge, ...], close: list[int], motion: Motion
) -> Motion:
    """Lay a coarse drawing so that its vertices lie on the old edges.

    Its chords all lie on one side of the curve that they stand for, so samples of them
    would pull it off.
    """
    for _ in range(8):
        source, target = [], []
        for i in close:
            points, line = edges[i].points, old.edges[i].points
            along, _gaps = locate_all(line, motion.apply(points))
            nearest = points_at(line, along)
            nearest[[0, -1]] = line[[0, -1]]
            source.append(points)
            target.append(nearest)
        motion, _ = fit(np.vstack(source), np.vstack(target))
    return motion


def _name_edges(
    old: SizedPiece, new: SizedPiece, match: _Match, tolerance: float, named: Collection[str]
) -> Registered:
    laid_frame = match.motion
    if laid_frame.face_down:
        to_old = laid_frame.after(Motion(-1 + 0j, 0j, True).inverse())
    else:
        to_old = laid_frame
    reach = _find_reach(tolerance)
    edges: list[Edge] = []
    statuses: list[tuple[str, Status]] = []
    for was, now in zip(old.edges, match.edges, strict=True):
        points = to_old.apply(now.points)
        status = _judge_status(was, points, reach)
        statuses.append((was.name, status))
        edges.append(was if status == "same" else Edge(was.name, rounded(points), now.turns))
    edges = list(share_corners(edges, old.edges))
    partner = {now.name: was.name for was, now in zip(old.edges, match.edges, strict=True)}
    redrawn = replace(old, edges=tuple(edges))
    laid = LaidDrawing(old, new, redrawn, partner, laid_frame, tolerance)
    inner = placed_inner(laid, named)
    found = Registered(
        inner.piece,
        tuple(statuses),
        laid_frame,
        match.residual,
        inner.marks,
        inner.darts,
        inner.notices,
        frozenset(_names_inside(old) & _names_inside(new)),
    )
    return found if found.changed else replace(found, piece=old)


def _names_inside(piece: SizedPiece) -> set[str]:
    return {line.name for line in piece.lines} | {mark.name for mark in piece.drills}


def _judge_status(old: Edge, points: Array, tolerance: float) -> Status:
    _, there = locate_all(old.points, points)
    _, back = locate_all(points, old.points)
    ends = np.hypot(*(points[[0, -1]] - old.points[[0, -1]]).T)
    if max(there.max(), back.max(), ends.max()) <= tolerance:
        return "same"
    if abs(float(arc_lengths(points)[-1]) - old.length) <= tolerance:
        samples = _sample_edge(Edge(old.name, points)), _sample_edge(old)
        if fit(*samples)[1] <= tolerance:
            return "moved"
    return "reshaped"
