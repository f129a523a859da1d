"""Find out what a revised piece changed: lay it on the old one and compare edge by edge.

The revised drawing may be turned, shifted, mirrored, start at another corner, run the
other way and name its edges differently.  It is laid by the edges that agree.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from propagate.engine.compare import edge_moved_mm
from propagate.engine.darts.changes import DartChange
from propagate.engine.record import Status
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.revising.corners import tell_corners
from propagate.engine.revising.laid import LaidDrawing
from propagate.engine.revising.marks import RevisedMark, place_inner
from propagate.engine.revising.matches import (
    AGREE_MM,
    ROUNDED_MM,
    Match,
    choose_match,
    find_reach,
    find_rounding,
    list_pairings,
    list_stayed,
    match_edges,
    sample_edge,
)
from propagate.engine.revising.usable import check_size, check_usable
from propagate.engine.revising.ways import EXACT_MM, lay_by_stretches, refine_motion
from propagate.errors import EditError
from propagate.geometry.grid import OFF_GRID
from propagate.geometry.motion import Motion, fit
from propagate.pattern.model import Edge, SizedPiece
from propagate.values import dataclass

__all__ = ["Registered", "register"]

_MOST = 0.4
"""Where edges of more than this share of the outline agree, they alone tell how the piece lies."""


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
    off_grid = OFF_GRID * find_rounding(old, new)
    stayed = list_stayed(off_grid)
    found = list(match_edges(old, new, tolerance, stayed))
    for face_down, edges in () if found else list_pairings(old, new):
        # No edge agrees as a whole: stretches of them may.
        way = lay_by_stretches(old.edges, edges, tolerance)
        if way is not None:
            found.append(Match(edges, way[0], face_down, (), 0.0, 0.0, way[1]))
    if not found:
        raise EditError(
            f"{where}: no edge of the revised piece agrees with the old one, not even in part, so "
            "it cannot be laid on it; expected one that was not changed (is it another garment's?)"
        )
    best = choose_match(old, new, found, stayed)
    best = _refine_match(old, best, tolerance, off_grid)
    return _name_edges(old, new, best, tolerance, named)


def _refine_match(old: SizedPiece, match: Match, tolerance: float, off_grid: float) -> Match:
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
    near = float(np.clip(3.0 * every / agreeing * match.residual, ROUNDED_MM, AGREE_MM / 4))
    noise = max(off_grid, match.residual) if off_grid else 0.0
    laid = refine_motion(old.edges, match.edges, match.laid, tolerance, near, match.agreeing, noise)
    pairs = [(old.edges[i], match.edges[i]) for i in match.agreeing]
    gaps = [np.hypot(*(laid.apply(sample_edge(b)) - sample_edge(a)).T).max() for a, b in pairs]
    # What begins to part within the noise must not pull off what agrees.
    return match if noise and max(gaps) > noise else replace(match, laid=laid)


def _name_edges(
    old: SizedPiece,
    new: SizedPiece,
    match: Match,
    tolerance: float,
    named: Collection[str],
) -> Registered:
    reach = find_reach(tolerance)
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
            _, off = fit(
                sample_edge(drawn),
                sample_edge(was),
            )
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
    notices = (*_tell_rival(old, match), *inner.notices)
    found = Registered(
        inner.piece,
        tuple(statuses),
        match.motion,
        match.residual,
        inner.marks,
        inner.darts,
        notices,
        frozenset(known & shown),
    )
    return found if found.changed else replace(found, piece=old)


def _tell_rival(old: SizedPiece, match: Match) -> tuple[tuple[str, str], ...]:
    """What to say where the drawing does not tell which of its edges stayed; empty when it does."""
    if match.rival is None:
        return ()
    kept, gave = (
        " and ".join(f"'{old.edges[i].name}'" for i in one.agreeing) for one in (match, match.rival)
    )
    return (
        (
            f"{kept} and {gave} are as they were but lie otherwise to each other, and nothing in "
            f"the drawing tells which moved; {kept} was taken to have stayed",
            "if that is not so, send it where the piece lies in the set",
        ),
    )
