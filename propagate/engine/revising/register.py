"""Find out what a revised piece changed: lay it on the old one and compare edge by edge.

The revised drawing may be turned, shifted, mirrored, start at another corner, run the
other way and name its edges differently.  It is laid by the edges that agree.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.engine.compare import edge_moved_mm
from propagate.engine.darts.changes import DartChange
from propagate.engine.record import Status
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.revising.corners import tell_corners
from propagate.engine.revising.laid import PARALLEL_DEG, LaidDrawing, measure_off_grain
from propagate.engine.revising.marks import RevisedMark, place_inner
from propagate.engine.revising.usable import check_size, check_usable
from propagate.engine.revising.ways import (
    EXACT_MM,
    lay_by_edges,
    lay_by_stretches,
    refine_motion,
)
from propagate.errors import EditError
from propagate.geometry.corner import is_counter_clockwise
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import locate_all, points_at, sample_line
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
_STAYED = ((EXACT_MM, 1e-4), (_EXACT_MM, 0.01))
"""Edges within so many mm, and a grain line within so many degrees, stayed digit for digit: as they
were computed, or as a file of three decimals has them."""
_FLIP = Motion(-1 + 0j, 0j, True)
"""Turns a drawing face down about the y axis."""
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
    """One way to pair the edges: each lies beside the old edge that it goes on.

    Attributes
    ----------
    edges : tuple of Edge
        In the frame of the drawing, or of the drawing turned face down.
    laid : Motion
        Lays these edges on the old ones.
    face_down : bool
    agreeing : tuple of int
    residual : float
        Largest distance left on the edges that agree, mm.
    total : float
        How far the edges lie from the old ones, each by its mean and by 50 mm at most.
    on_old : float
        Length of outline that lies on the old edges, mm.
    """

    edges: tuple[Edge, ...]
    laid: Motion
    face_down: bool
    agreeing: tuple[int, ...]
    residual: float
    total: float
    on_old: float

    @cached_property
    def motion(self) -> Motion:
        """The drawing's own frame to the old one."""
        return self.laid.after(_FLIP) if self.face_down else self.laid


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
        raise EditError(tell_corners(old, new, where))
    found = list(_match_edges(old, new, tolerance))
    for face_down, edges in () if found else _list_pairings(old, new):
        # No edge agrees as a whole: stretches of them may.
        way = lay_by_stretches(old.edges, edges, tolerance)
        if way is not None:
            found.append(_Match(edges, way[0], face_down, (), 0.0, 0.0, way[1]))
    if not found:
        raise EditError(
            f"{where}: no edge of the revised piece agrees with the old one, not even in part, so "
            "it cannot be laid on it; expected one that was not changed (is it another garment's?)"
        )
    best = _refine_match(old, _choose_match(old, new, found), tolerance)
    return _name_edges(old, new, best, tolerance, named)


def _list_pairings(old: SizedPiece, new: SizedPiece) -> Iterator[tuple[bool, tuple[Edge, ...]]]:
    """Every way to go round the new edges, face up first: (face down, edges)."""
    straight = new.edges
    if not is_counter_clockwise(np.concatenate([edge.points[:-1] for edge in straight])):
        straight = tuple(edge.reverse() for edge in reversed(straight))
    back = [edge.reverse() for edge in reversed(straight)]
    mirrored = tuple(replace(edge, points=edge.points * (-1.0, 1.0)) for edge in back)
    for face_down, edges in ((False, straight), (True, mirrored)):
        for shift in range(len(old.edges)):
            yield face_down, (*edges[shift:], *edges[:shift])


def _match_edges(old: SizedPiece, new: SizedPiece, tolerance: float) -> Iterator[_Match]:
    """Every pairing in outline order in which some edges agree, straight or mirrored."""
    wanted = np.array([edge.length for edge in old.edges])
    target = [_sample_edge(edge) for edge in old.edges]
    reach = _find_reach(tolerance)
    limit = max(_AGREE_MM / 4, 2 * tolerance)
    reaches = [limit, min(reach, limit), *(mm for mm, _ in reversed(_STAYED) if mm < reach)]
    for face_down, edges in _list_pairings(old, new):
        lengths = np.array([edge.length for edge in edges])
        close = np.flatnonzero(np.abs(lengths - wanted) < max(_AGREE_MM, 4 * tolerance))
        source = [_sample_edge(edge) for edge in edges]
        for kept, laid, residual in lay_by_edges(source, target, close.tolist(), reaches):
            if sum(wanted[kept]) < _LEAST_MM:
                continue
            if tolerance > _COARSE_MM:
                laid = _lay_by_vertices(old, edges, kept, laid)
            pairs = zip(source, target, strict=True)
            gaps = [np.hypot(*(laid.apply(new) - old).T).mean() for new, old in pairs]
            total = float(np.minimum(gaps, _FAR_MM).sum())
            on_old = _measure_on_old(old, edges, laid, reach)
            yield _Match(edges, laid, face_down, tuple(kept), residual, total, on_old)


def _sample_edge(edge: Edge, count: int = _SAMPLES) -> Array:
    """Points of an edge at equal distances, once: they stay with it, however it is paired."""
    kept: dict[int, Array] = vars(edge).setdefault("_samples", {})
    if count not in kept:
        kept[count] = sample_line(edge.points, count)
    return kept[count]


def _find_reach(tolerance: float) -> float:
    """Where a coarse drawing touches its tolerance, the noise of its numbers comes on top."""
    return tolerance if tolerance <= _COARSE_MM else 1.1 * tolerance


def _lay_by_vertices(
    old: SizedPiece, edges: tuple[Edge, ...], close: list[int], laid: Motion
) -> Motion:
    """Lay a coarse drawing so that its vertices lie on the old edges.

    Its chords all lie on one side of the curve that they stand for, so samples of them
    would pull it off.
    """
    source = np.vstack([edges[i].points for i in close])
    for _ in range(8):
        target = []
        for i in close:
            line = old.edges[i].points
            along, _gaps = locate_all(line, laid.apply(edges[i].points))
            nearest = points_at(line, along)
            nearest[[0, -1]] = line[[0, -1]]
            target.append(nearest)
        laid, _ = fit(source, np.vstack(target))
    return laid


def _measure_on_old(old: SizedPiece, edges: Sequence[Edge], laid: Motion, reach: float) -> float:
    """Length of the new outline that lies on the old one, edge on edge, mm.

    What lies exactly there counts in full and what lies farther off for less: a change of
    some hundredths must not be shared between an edge that kept and one that gave, and a
    drawing that is coarser than it says lies somewhere still.
    """
    scales = np.array([reach, max(reach, _AGREE_MM / 4), max(reach, _AGREE_MM)])
    found = 0.0
    for was, now in zip(old.edges, edges, strict=True):
        _, gaps = locate_all(was.points, laid.apply(_sample_edge(now, 2 * _SAMPLES)))
        near = np.maximum(1.0 - gaps[:, None] / scales, 0.0).mean(axis=1)
        found += now.length * float(np.minimum(near[:-1], near[1:]).mean())
    return found


def _choose_match(old: SizedPiece, new: SizedPiece, matches: Sequence[_Match]) -> _Match:
    """The likeliest of the layings on which most of the outline lies on the old one.

    Where an edge was swung, the grain line tells which one: it stays parallel.  Where several
    layings are equally good, the marks tell which way round the piece lies; then
    the drawing lies where the old piece does, or as near to that as can be.
    """

    def keeps_grain(match: _Match, within: float = PARALLEL_DEG) -> bool:
        return measure_off_grain(old.grain, new.grain, match.motion) < within

    most = max(match.on_old for match in matches)
    upright = [match for match in matches if match.on_old >= most / 2 and keeps_grain(match)]
    # Edges and a grain line that stayed digit for digit leave no question, whatever comes near.
    for mm, degrees in _STAYED:
        stayed = [m for m in upright if m.agreeing and m.residual <= mm and keeps_grain(m, degrees)]
        if stayed:
            upright = stayed
            break
    most = max([match.on_old for match in upright], default=most)
    good = [match for match in upright or matches if match.on_old >= most - _LEAST_MM]
    corners = np.array([edge.points[0] for edge in new.edges])

    def rank_fit(match: _Match) -> tuple[float, ...]:
        return (*_measure_miss(old, new, match), round(match.total), -len(match.agreeing))

    way = min(good, key=rank_fit).motion

    def rank_place(match: _Match) -> tuple[float, ...]:
        turned = match.motion.face_down is not way.face_down
        turned |= abs(np.angle(match.motion.turn / way.turn)) > np.radians(_TURNED_DEG)
        moved = np.hypot(*(match.motion.apply(corners) - corners).T).max()
        stays = bool(moved <= _AGREE_MM / 4)
        return (turned, not stays, *rank_fit(match), moved)

    likely = sorted(good, key=rank_place)
    best = likely[0]
    # When two neighbours keep their shapes and the corner between them opens, either may be
    # the one that was swung.
    for match in likely:
        alike = match.edges is best.edges and len(match.agreeing) == len(best.agreeing)
        if alike and keeps_grain(match):
            return match
    return best


def _measure_miss(old: SizedPiece, new: SizedPiece, match: _Match) -> tuple[float, int]:
    """How badly a pairing fits what is drawn on the edges, and the edges' own names.

    A band lies on itself either way round: its landmarks tell which one is meant.
    """
    theirs = {mark.name: match.motion.apply(mark.point) for mark in new.landmarks}
    every = np.array(list(theirs.values())).reshape(-1, 2)
    miss = 0.0
    for mark in old.landmarks if len(every) else ():
        there = theirs[mark.name].reshape(-1, 2) if mark.name in theirs else every
        miss += min(float(np.hypot(*(there - mark.point).T).min()), _FAR_MM)
    renamed = sum(a.name != b.name for a, b in zip(old.edges, match.edges, strict=True))
    return float(round(miss)), renamed


def _refine_match(old: SizedPiece, match: _Match, tolerance: float) -> _Match:
    """Lay it by everything that agrees, also by parts of edges: a short edge turns easily."""
    whole = sum(old.edges[i].length for i in match.agreeing)
    if not match.agreeing or whole > _MOST * sum(edge.length for edge in old.edges):
        return match
    every, agreeing = (
        np.hypot(*np.ptp(np.vstack([edge.points for edge in edges]), axis=0))
        for edges in (old.edges, [old.edges[i] for i in match.agreeing])
    )
    if match.residual <= EXACT_MM:  # what stayed digit for digit says how it lies
        return match
    # What the agreeing edges leave open grows with the distance from them.
    near = float(np.clip(3.0 * every / agreeing * match.residual, _EXACT_MM, _AGREE_MM / 4))
    laid = refine_motion(old.edges, match.edges, match.laid, tolerance, near, match.agreeing)
    return replace(match, laid=laid)


def _name_edges(
    old: SizedPiece, new: SizedPiece, match: _Match, tolerance: float, named: Collection[str]
) -> Registered:
    reach = _find_reach(tolerance)
    pairs = list(zip(old.edges, match.edges, strict=True))
    edges: list[Edge] = []
    statuses: list[tuple[str, Status]] = []
    for was, now in pairs:
        points = match.laid.apply(now.points)
        drawn = Edge(was.name, points)
        status: Status = "reshaped"
        if edge_moved_mm(was, drawn) <= reach:
            status = "same"
        elif abs(drawn.length - was.length) <= reach:
            _, off = fit(_sample_edge(drawn), _sample_edge(was))
            status = "moved" if off <= reach else status
        statuses.append((was.name, status))
        edges.append(was if status == "same" else Edge(was.name, rounded(points), now.turns))
    partner = {now.name: was.name for was, now in pairs}
    redrawn = replace(old, edges=share_corners(edges, old.edges))
    inner = place_inner(LaidDrawing(old, new, redrawn, partner, match.motion, tolerance), named)
    known, shown = (
        {line.name for line in piece.lines} | {mark.name for mark in piece.drills}
        for piece in (old, new)
    )
    found = Registered(
        inner.piece,
        tuple(statuses),
        match.motion,
        match.residual,
        inner.marks,
        inner.darts,
        inner.notices,
        frozenset(known & shown),
    )
    return found if found.changed else replace(found, piece=old)
