"""Edges of a follower that lie on those of its lead, line on line, and how the lead lies on it."""

from __future__ import annotations

import numpy as np
import shapely

from propagate.engine.darts.taking import DartTaking, darts_to_take
from propagate.engine.state import State
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import are_alike, join, sample_line
from propagate.pattern.beside import is_beside
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import span_ends, span_points
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = [
    "LAID_MM",
    "SewnAlike",
    "beside_alike",
    "laid_alike",
    "lead_before",
    "lies_within",
    "sewn_alike",
]


LAID_MM = 0.1
"""Lines of the two that lie this close are drawn alike: a file in whole thousandths of an inch
puts them up to 0.04 mm apart, and the choice should not vary from size to size.  A facing that
is meant to be smaller is so by more than this (common practice, no source)."""
_SAMPLES = 24
_BESIDE_MM = 0.2
"""Two drawings of one line may lie this far apart."""
_MOST = 0.7
"""A facing covers less of its piece than this; what covers more may be a mate as well."""


@dataclass(frozen=True)
class SewnAlike:
    """One edge of a follower that is cut like its lead; lines run as the seam does.

    Attributes
    ----------
    seam : Seam or None
        None for an edge that is drawn alike and sewn to another piece.
    lead : Run
    before, after : (n, 2) arrays
        The lead's line in the lead's frame.
    own : (n, 2) array
        The follower's line, a whole edge, before.
    """

    seam: Seam | None
    lead: Run
    edge: str
    forward: bool
    before: Array
    after: Array
    own: Array

    @property
    def changed(self) -> bool:
        """Whether the lead's line is another than it was."""
        return not are_alike(self.before, self.after, RESTS_MM)


def sewn_alike(state: State, seam: Seam, piece: str, old: SizedPiece) -> list[SewnAlike]:
    """Seams of the same lead piece and the same follower that lie edge on edge."""
    lead = seam.lead[0].piece
    was, now = lead_before(state, seam), state.lookup(lead)
    found = []
    for other in state.pattern.relations.followed_by.get(piece, ()):
        if other.check or other.mirror or other.fixed or len(other.follow) != 1:
            continue
        if other.ease or is_beside(other):
            continue
        span = other.follow[0]
        if {one.piece for one in other.lead} != {lead}:
            continue
        begin, end = span_ends(old, span)
        if {begin, end} != {0.0, old.edge(span.edge).length}:
            continue
        own = old.edge(span.edge).points
        found.append(
            SewnAlike(
                other,
                other.lead,
                span.edge,
                begin < end,
                join([span_points(was, s) for s in other.lead]),
                join([span_points(now, s) for s in other.lead]),
                own if begin < end else own[::-1],
            )
        )
    return found if any(one.seam is seam for one in found) else []


def lead_before(state: State, seam: Seam) -> SizedPiece:
    """The lead of a seam as it was."""
    lead = seam.lead[0].piece
    return state.pattern.sized(lead, state.size_of(lead))


def laid_alike(
    group: list[SewnAlike], was: SizedPiece, now: SizedPiece, own: SizedPiece
) -> tuple[Motion | None, DartTaking]:
    """The motion that lays the lead on the follower, line on line, and its darts there.

    A straight seam lies on its lead either way: the way in which the darts lie on each other
    counts, else face up, as the two are sewn.
    """
    source = np.vstack([sample_line(one.before, _SAMPLES) for one in group])
    target = np.vstack([sample_line(one.own, _SAMPLES) for one in group])
    sewn = [span for one in group for span in one.lead]
    found: Motion | None = None
    darts = DartTaking(was, now, Motion(), {})
    for face_down in (False, True):
        motion, residual = fit(source, target, face_down=face_down)
        if residual > LAID_MM:
            continue
        taking = DartTaking(was, now, motion, {})
        if was.darts or now.darts:
            drawn = {edge.name: sample_line(edge.points, _SAMPLES) for edge in own.edges}
            edges = {}
            for edge in was.edges:
                line = motion.apply(sample_line(edge.points, _SAMPLES))[:: -1 if face_down else 1]
                for name, there in drawn.items():
                    if np.hypot(*(line - there).T).max() <= LAID_MM:
                        edges[edge.name] = name
            taking = darts_to_take(was, now, own, motion, edges, sewn)
        if found is None or len(taking.alike) > len(darts.alike):
            found, darts = motion, taking
    return found, darts


def beside_alike(
    group: list[SewnAlike], was: SizedPiece, now: SizedPiece, own: SizedPiece, darts: DartTaking
) -> list[SewnAlike]:
    """Edges that are drawn alike and not sewn to the lead: a dart swings them as well."""
    lead = group[0].lead[0].piece
    known = {one.edge for one in group}
    flip = -1 if darts.motion.face_down else 1
    return [
        SewnAlike(
            None,
            (Span(lead, edge),),
            name,
            True,
            was.edge(edge).points[::flip],
            now.edge(edge).points[::flip],
            own.edge(name).points,
        )
        for edge, name in darts.edges.items()
        if name not in known
    ]


def lies_within(lead: SizedPiece, follower: SizedPiece, motion: Motion) -> bool:
    """Whether a follower is cut like a part of its lead.

    A front and a back may be cut alike along their side and are no copies of each other; a
    facing lies on its piece with its whole outline (common practice, no source).

    Parameters
    ----------
    lead, follower : SizedPiece
        In frames of their own.
    motion : Motion
        Lays the lead on the follower, along their seam.
    """
    whole = shapely.Polygon(motion.apply(lead.outline))
    part = shapely.Polygon(follower.outline)
    if not (whole.is_valid and part.is_valid) or part.area > _MOST * whole.area:
        return False
    return bool(shapely.covers(whole.buffer(_BESIDE_MM), part))
