"""Keep the place of what is set on a piece at its distances from the edges it is measured from.

By hand the finished pocket is laid on, measured from seam and centre, and chalked round.
"""

from __future__ import annotations

import numpy as np

from propagate.engine.placing import (
    lay_by_measures,
    measure_clearances,
    measures_of,
    with_inner_points,
)
from propagate.engine.record import ChangeKind
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.pattern.model import SizedPiece
from propagate.pattern.relation_edges import patch_edges
from propagate.pattern.set_on import Patch, place_points
from propagate.tolerances import RESTS_MM

__all__ = ["apply"]


def apply(state: State, patch: Patch, cause: str) -> bool:
    """Lay the place where its measures are what they were; returns whether it moved.

    A drawing that was sent says itself where the place is.
    """
    if patch.on in state.given.pieces and patch.on not in state.given.loose:
        return False
    now = state.lookup(patch.on)
    size = state.size_of(patch.on if patch.piece is None else patch.piece)
    source = state.pattern.sized(patch.on, size)
    points, edges = place_points(source, patch), patch_edges(state.pattern, patch)
    said = " and ".join(f"'{edge}'" for edge in edges)
    found = lay_by_measures(source, points, now, measures_of(source, points, edges))
    if found is None:
        state.notice(
            patch.name,
            f"could not be laid at its distances from {said} of '{patch.on}' and "
            "stays where it was",
            "move its marks, or measure it from other edges",
        )
        return False
    if np.abs(found - place_points(now, patch)).max() <= RESTS_MM:
        return False
    counts = {line.name: len(line.points) for line in now.lines}
    parts = [*((name, counts[name]) for name in patch.lines), *((n, None) for n in patch.drills)]
    state.pieces[patch.on] = placed = with_inner_points(now, parts, rounded(found))
    state.change(
        f"patch {patch.name}",
        ChangeKind.PLACE_FOLLOWS,
        f"its place on '{patch.on}' keeps its distances from {said}",
        cause,
    )
    if not patch.edges:
        listed = ", ".join(f'"{edge}"' for edge in edges)
        state.notice(
            patch.name,
            "nothing is said of what it is measured from: it keeps its distances from the two "
            f"nearest edges, {said}",
            "look whether that is right, else say in the set what it is measured from",
            typed=f"from = [{listed}] or others",
        )
    _warn_room(state, patch, source, placed)
    return True


def _warn_room(state: State, patch: Patch, source: SizedPiece, placed: SizedPiece) -> None:
    """Say where the place leaves the piece or comes nearer to an edge than its allowance."""
    info = state.pattern.info[patch.on]
    was, now = (measure_clearances(piece, patch, info.allowance.of) for piece in (source, placed))
    for edge, room in now.items():
        if room >= 0.0 or room >= was[edge] - RESTS_MM:
            continue
        apart = room + info.allowance.of(edge)
        state.notice(
            patch.name,
            f"leaves '{patch.on}' at edge '{edge}' by {-apart:.1f} mm"
            if apart < 0.0
            else f"comes within {apart:.1f} mm of edge '{edge}' of '{patch.on}', nearer than its "
            f"allowance of {info.allowance.of(edge):g} mm",
            "move its marks, or measure it from other edges",
            about=("leaves" if apart < 0.0 else "near", edge),
        )
