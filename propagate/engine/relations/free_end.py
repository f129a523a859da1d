"""Seat the end of a free edge (a bag's outline) on the silhouette.

An end outside is trimmed, however much that is; one inside is extended along its own line.
Where the edge would meet the outline at a flat angle, or would have to run on for long (a bag
that runs into the side seam tangentially), its end is faded to its old distance along the
seam from the opening's end instead.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np

from propagate.engine.relations.cut import CLEAR_MM
from propagate.engine.reshape import rounded
from propagate.engine.state import Split
from propagate.geometry.crossing import crossings
from propagate.geometry.directions import direction_at, end_direction
from propagate.geometry.fade import fade_end
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, between, locate, point_at
from propagate.pattern.model import Array
from propagate.tolerances import FADE_MM, GRAZE_DEG, RESTS_MM, RUN_ON_MM, SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["FreeEnd", "seat_free_end"]


@dataclass(frozen=True)
class FreeEnd:
    """The seated edge and where it meets the silhouette.

    Attributes
    ----------
    points : (n, 2) array
        The edge in the layer's own frame, running towards the silhouette.
    split : Split
        Distance and point on the silhouette edge.
    how : "stays", "trimmed", "extended" or "faded"
    moved_mm : float
    ahead_mm : float or None
        Of a faded end that would meet the outline steeply: how far it would have to run on.
    """

    points: Array
    split: Split
    how: Literal["stays", "trimmed", "extended", "faded"]
    moved_mm: float
    ahead_mm: float | None = None

    @property
    def unchanged(self) -> bool:
        """The end lay on the silhouette already."""
        return self.how == "stays"


def seat_free_end(
    points: Array,
    place: Motion,
    outline: Array,
    fallback: Callable[[], float | None],
    *,
    outside: bool = False,
) -> FreeEnd:
    """Seat the last point of an edge on a silhouette edge.

    Parameters
    ----------
    points : (n, 2) array, in the layer's frame
    place : Motion
        Layer frame to the silhouette's frame.
    outline : (m, 2) array
        The silhouette edge.
    fallback : callable
        Returns the distance along `outline` for an end that must be faded; None takes the
        nearest place.
    outside : bool
        The end lies outside the silhouette, so that all beyond the last crossing is to go.
    """
    placed = place.apply(points)
    along, gap = locate(outline, placed[-1])
    if gap <= RESTS_MM:
        return FreeEnd(points, Split(along, placed[-1]), "stays", 0.0)
    most = np.inf if outside else RUN_ON_MM
    trimmed = _trim_end(points, placed, place, outline, most)
    if trimmed is not None:
        return trimmed
    met = _meet_ahead(placed, outline, RUN_ON_MM)
    if met is not None:
        target = rounded(point_at(outline, met[1]))
        run_on = np.vstack([points, rounded(place.inverse().apply(target))])
        return FreeEnd(run_on, Split(met[1], target), "extended", met[0])
    wanted = fallback()
    distance = along if wanted is None else wanted
    target = rounded(point_at(outline, distance))
    own = rounded(place.inverse().apply(target))
    over = min(FADE_MM, arc_lengths(points)[-1] / 2)
    faded = fade_end(points, own, over, STEP_MM)
    same = min(len(points), len(faded))
    head = int(np.argmin(np.append((points[:same] == faded[:same]).all(axis=1), False)))
    faded = np.vstack([faded[:head], rounded(faded[head:])])
    if len(crossings(place.apply(faded)[:-1], outline)):
        # The faded end would bulge through the outline: cut it there after all.
        cut = _trim_end(points, placed, place, outline)
        if cut is not None:
            return cut
    moved = float(np.hypot(*(target - placed[-1])))
    reach = float(np.hypot(*np.ptp(outline, axis=0))) + FADE_MM
    ahead = None if outside else _meet_ahead(placed, outline, reach)
    return FreeEnd(faded, Split(distance, target), "faded", moved, ahead and ahead[0])


def _meets_steeply(free: float, outline: Array, distance: float) -> bool:
    along = direction_at(outline, distance)
    between_lines = abs(np.arctan(np.tan(free - along)))
    return bool(np.degrees(between_lines) >= GRAZE_DEG)


def _trim_end(
    points: Array, placed: Array, place: Motion, outline: Array, most: float | None = None
) -> FreeEnd | None:
    """Cut the edge where it crosses the outline: gently, where no more than `most` mm go.

    A gentle cut takes the last crossing, and refuses a flat one; without `most` the first
    crossing is taken, whatever it is.
    """
    arc, gently = arc_lengths(placed), most is not None
    first = max(int(np.searchsorted(arc, arc[-1] - most)) - 1, 0) if most is not None else 0
    pairs = crossings(placed[first:], outline)
    if not len(pairs):
        return None
    at, on_outline = (float(v) for v in pairs[-1 if gently else 0])
    at += float(arc[first])
    over = float(arc[-1]) - at
    if at <= SAME_POINT_MM or (most is not None and over > most):
        return None
    if gently and not _meets_steeply(direction_at(placed, at), outline, on_outline):
        return None
    target = rounded(point_at(outline, on_outline))
    cut = between(points, 0.0, at).copy()
    cut[-1] = rounded(place.inverse().apply(target))
    if len(cut) > 2 and np.hypot(*(cut[-1] - cut[-2])) <= CLEAR_MM:
        cut = np.vstack([cut[:-2], cut[-1:]])
    return FreeEnd(cut, Split(on_outline, target), "trimmed", over)


def _meet_ahead(placed: Array, outline: Array, reach: float) -> tuple[float, float] | None:
    """Where the line straight on meets the outline steeply: distances on it, on the outline."""
    angle = end_direction(placed, "end")
    ray = np.array([placed[-1], placed[-1] + reach * np.array([np.cos(angle), np.sin(angle)])])
    pairs = crossings(ray, outline)
    if not len(pairs):
        return None
    on_ray, on_outline = (float(v) for v in pairs[0])
    return (on_ray, on_outline) if _meets_steeply(angle, outline, on_outline) else None
