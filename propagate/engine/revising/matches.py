"""The ways in which the edges of a revised drawing answer to those of the old piece, and the best.

The drawing may be turned, shifted, mirrored and start at another corner: every way to go round it
in which some edges agree is laid by these edges, and the likeliest is chosen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from propagate.engine.revising.laid import PARALLEL_DEG, measure_off_grain
from propagate.engine.revising.ways import EXACT_MM, lay_by_edges
from propagate.geometry.arrays import Array
from propagate.geometry.corner import is_counter_clockwise
from propagate.geometry.grid import find_grid
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import is_straight, locate_all, points_at, sample_line
from propagate.pattern.model import Edge, SizedPiece
from propagate.values import dataclass

__all__ = [
    "AGREE_MM",
    "Match",
    "ROUNDED_MM",
    "choose_match",
    "find_reach",
    "find_rounding",
    "list_pairings",
    "list_stayed",
    "match_edges",
    "sample_edge",
]

_SAMPLES = 24
"""Points of an edge that are laid and measured."""
AGREE_MM = 1.0
"""Edges whose lengths differ by less than this may be unchanged ones."""
_LEAST_MM = 10.0
"""Edges that agree over less than this do not tell how a piece lies."""
_FAR_MM = 50.0
"""An edge or mark that lies farther off than this is not the one that is meant."""
_TURNED_DEG = 30.0
"""Layings that differ by more lie another way round, not shifted along an edge."""
_EXACT_DEG = 1e-4
"""A grain line this nearly parallel is as it was computed, as `EXACT_MM` is of a point."""
ROUNDED_MM, _ROUNDED_DEG = 0.001, 0.01
"""What lies this close is as a file of three decimals has it."""
_FLIP = Motion(-1 + 0j, 0j, True)
"""Turns a drawing face down about the y axis."""
_COARSE_MM = 0.05
"""A drawing coarser than this is laid by its vertices, which lie on the curves it stands for."""


@dataclass(frozen=True)
class Match:
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
    rival : Match or None
        One that is as likely, on which other edges stayed.
    """

    edges: tuple[Edge, ...]
    laid: Motion
    face_down: bool
    agreeing: tuple[int, ...]
    residual: float
    total: float
    on_old: float
    rival: Match | None = None

    @cached_property
    def motion(self) -> Motion:
        """The drawing's own frame to the old one."""
        return self.laid.after(_FLIP) if self.face_down else self.laid


def list_pairings(old: SizedPiece, new: SizedPiece) -> Iterator[tuple[bool, tuple[Edge, ...]]]:
    """Every way to go round the new edges, face up first: (face down, edges)."""
    straight = new.edges
    if not is_counter_clockwise(np.concatenate([edge.points[:-1] for edge in straight])):
        straight = tuple(edge.reverse() for edge in reversed(straight))
    back = [edge.reverse() for edge in reversed(straight)]
    mirrored = tuple(replace(edge, points=edge.points * (-1.0, 1.0)) for edge in back)
    for face_down, edges in ((False, straight), (True, mirrored)):
        for shift in range(len(old.edges)):
            yield face_down, (*edges[shift:], *edges[:shift])


def find_rounding(old: SizedPiece, new: SizedPiece) -> float:
    """The step that the coordinates of a drawing were rounded to, mm; 0 when none is found."""
    was, now = (find_grid(np.array([e.points[0] for e in piece.edges])) for piece in (old, new))
    # Whole millimetres that the piece was drafted in are no rounding.
    return now if now != was else 0.0


def list_stayed(off_grid: float) -> list[tuple[float, float]]:
    """Within how many mm edges, and within how many degrees a grain line, stayed digit for digit.

    As they were computed, or as a drawing has them whose points may lie so many mm off.
    """
    return [(EXACT_MM, _EXACT_DEG), (max(ROUNDED_MM, off_grid), _ROUNDED_DEG)]


def match_edges(
    old: SizedPiece, new: SizedPiece, tolerance: float, stayed: Sequence[tuple[float, float]]
) -> Iterator[Match]:
    """Every pairing in outline order in which some edges agree, straight or mirrored."""
    wanted = np.array([edge.length for edge in old.edges])
    target = [sample_edge(edge) for edge in old.edges]
    reach = max(find_reach(tolerance), stayed[-1][0])
    limit = max(AGREE_MM / 4, 2 * tolerance)
    reaches = [limit, min(reach, limit), *(mm for mm, _ in reversed(stayed) if mm < reach)]
    for face_down, edges in list_pairings(old, new):
        lengths = np.array([edge.length for edge in edges])
        close = np.flatnonzero(np.abs(lengths - wanted) < max(AGREE_MM, 4 * tolerance))
        source = [sample_edge(edge) for edge in edges]
        for kept, laid, residual in lay_by_edges(source, target, close.tolist(), reaches):
            if sum(wanted[kept]) < _LEAST_MM:
                continue
            if tolerance > _COARSE_MM:
                laid = _lay_by_vertices(old, edges, kept, laid)
            pairs = zip(source, target, strict=True)
            gaps = [np.hypot(*(laid.apply(new) - old).T).mean() for new, old in pairs]
            total = float(np.minimum(gaps, _FAR_MM).sum())
            on_old = _measure_on_old(old, edges, laid, reach)
            yield Match(edges, laid, face_down, tuple(kept), residual, total, on_old)


def sample_edge(edge: Edge, count: int = _SAMPLES) -> Array:
    """Points of an edge at equal distances, once: they stay with it, however it is paired."""
    kept: dict[int, Array] = vars(edge).setdefault("_samples", {})
    if count not in kept:
        kept[count] = sample_line(edge.points, count)
    return kept[count]


def find_reach(tolerance: float) -> float:
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
    scales = np.array([reach, max(reach, AGREE_MM / 4), max(reach, AGREE_MM)])
    found = 0.0
    for was, now in zip(old.edges, edges, strict=True):
        _, gaps = locate_all(was.points, laid.apply(sample_edge(now, 2 * _SAMPLES)))
        near = np.maximum(1.0 - gaps[:, None] / scales, 0.0).mean(axis=1)
        found += now.length * float(np.minimum(near[:-1], near[1:]).mean())
    return found


def choose_match(
    old: SizedPiece,
    new: SizedPiece,
    matches: Sequence[Match],
    stayed: Sequence[tuple[float, float]],
) -> Match:
    """The likeliest of the layings on which most of the outline lies on the old one.

    Where an edge was swung, the grain line tells which one: it stays parallel.  Where several
    layings are equally good, the marks tell which way round the piece lies; then
    the drawing lies where the old piece does, or as near to that as can be.
    """
    upright = _list_upright(old, new, matches, stayed)
    most = max(match.on_old for match in upright or matches)
    good = [match for match in upright or matches if match.on_old >= most - _LEAST_MM]

    def rank_fit(match: Match) -> tuple[float, ...]:
        return (*_measure_miss(old, new, match), round(match.total), -len(match.agreeing))

    way = min(good, key=rank_fit).motion

    def rank_place(match: Match) -> tuple[float, ...]:
        moved = _measure_apart(new, match.motion, Motion())
        return (_is_turned(match, way), moved > AGREE_MM / 4, *rank_fit(match), moved)

    likely = sorted(good, key=rank_place)
    best = likely[0]
    # When two neighbours keep their shapes and the corner between them opens, either may be
    # the one that was swung.
    for match in likely:
        alike = match.edges is best.edges and len(match.agreeing) == len(best.agreeing)
        if alike and _keeps_grain(old, new, match):
            best = match
            break
    lies_there = _measure_apart(new, best.motion, Motion()) <= AGREE_MM / 4
    if lies_there or not best.agreeing:
        return best
    rivals = [
        match
        for match in upright
        if len(match.agreeing) >= len(best.agreeing)
        and match.on_old >= best.on_old / 2
        and set(match.agreeing) != set(best.agreeing)
        and not _is_turned(match, way)
        and _measure_apart(new, match.motion, best.motion) > AGREE_MM / 4
    ]
    return replace(best, rival=min(rivals, key=rank_place)) if rivals else best


def _list_upright(
    old: SizedPiece,
    new: SizedPiece,
    matches: Sequence[Match],
    stayed: Sequence[tuple[float, float]],
) -> list[Match]:
    """Layings on which the grain is kept; those alone that stayed digit for digit, if any did.

    Edges and a grain line that stayed digit for digit leave no question, whatever comes near.  One
    straight edge says no more than its length, which a file may have by chance, or by being
    drafted in whole millimetres: what is bent is then asked as closely as the file has it.
    """
    most = max(match.on_old for match in matches)
    upright = [m for m in matches if m.on_old >= most / 2 and _keeps_grain(old, new, m)]
    told = upright or matches
    for mm, degrees in stayed:
        exact = [match for match in told if _has_stayed(old, new, match, mm, degrees)]
        upright = exact or upright
        if any(
            len(m.agreeing) > 1 or not is_straight(m.edges[m.agreeing[0]].points) for m in exact
        ):
            break
    return upright


def _keeps_grain(
    old: SizedPiece, new: SizedPiece, match: Match, within: float = PARALLEL_DEG
) -> bool:
    """Whether the grain line of the drawing, laid so, is parallel to the old one, in degrees."""
    return measure_off_grain(old.grain, new.grain, match.motion) < within


def _has_stayed(old: SizedPiece, new: SizedPiece, match: Match, mm: float, degrees: float) -> bool:
    """Whether the edges that agree and the grain line lie on the old ones but for their digits."""
    if not match.agreeing or match.residual > mm:
        return False
    lines = [np.array([new.grain.start, new.grain.end])]
    lines.append(np.vstack([match.edges[i].points for i in match.agreeing]))
    # Points that lie so far off turn what is drawn between them.
    turned = sum(2.0 * mm / np.hypot(*np.ptp(line, axis=0)) for line in lines)
    return _keeps_grain(old, new, match, max(degrees, float(np.degrees(turned))))


def _measure_apart(new: SizedPiece, one: Motion, two: Motion) -> float:
    """How far apart two motions put the corners of a drawing at most, mm."""
    corners = np.array([edge.points[0] for edge in new.edges])
    return float(np.hypot(*(one.apply(corners) - two.apply(corners)).T).max())


def _is_turned(match: Match, way: Motion) -> bool:
    """Whether a laying is another way round than a motion, not shifted along an edge."""
    turned = match.motion.face_down is not way.face_down
    return turned or abs(np.angle(match.motion.turn / way.turn)) > np.radians(_TURNED_DEG)


def _measure_miss(old: SizedPiece, new: SizedPiece, match: Match) -> tuple[float, int]:
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
