"""Which corners of a revised piece came or went, and where."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt

from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import locate, sample_line
from propagate.pattern.model import SizedPiece

__all__ = ["tell_corners"]

Array = npt.NDArray[np.float64]

_NEAR_MM = 5.0
"""A corner with one this near has a partner."""
_ALIKE_MM = 2.0
_SAMPLES = 12


def tell_corners(old: SizedPiece, new: SizedPiece, where: str) -> str:
    """Say which corners have no partner; the drawing is laid by edges of equal length."""
    motion = _find_best(old, new)
    came = len(new.edges) > len(old.edges)
    head = (
        f"{where}: the revised piece has {len(new.edges)} corners, expected {len(old.edges)}: "
        f"corners {'came' if came else 'went'}"
    )
    cure = "keep the corners, or give the new piece a set of relations of its own"
    if motion is None:
        names = ", ".join(f"'{e.name}' ({e.length:.1f} mm)" for e in new.edges)
        return (
            f"{head}, and no edge of the drawing has the length of one of the set; its edges are "
            f"{names}; {cure}"
        )
    old_at, new_at = _list_corners(old), motion.apply(_list_corners(new))
    said = []
    if came:
        for i in _find_lonely(new_at, old_at):
            places = [(edge.name, *locate(edge.points, new_at[i])) for edge in old.edges]
            edge, along, gap = min(places, key=lambda place: place[2])
            off = f", {gap:.1f} mm off it" if gap > 0.5 else ""
            said.append(
                f"one between '{new.edges[i - 1].name}' and '{new.edges[i].name}' of the drawing, "
                f"on '{edge}' {along:.1f} mm from its start{off}"
            )
    else:
        for i in _find_lonely(old_at, new_at):
            x, y = old_at[i]
            said.append(
                f"the one between '{old.edges[i - 1].name}' and '{old.edges[i].name}', at "
                f"({x:.1f}, {y:.1f}) mm in the set"
            )
    return f"{head}: {'; '.join(said) or 'which cannot be told'}; {cure}"


def _list_corners(piece: SizedPiece) -> Array:
    return np.array([edge.points[0] for edge in piece.edges])


def _find_lonely(points: Array, others: Array) -> list[int]:
    gaps = np.hypot(*(points[:, None, :] - others[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    return np.flatnonzero(gaps > _NEAR_MM).tolist()


def _find_best(old: SizedPiece, new: SizedPiece) -> Motion | None:
    """The motion that one pair of alike edges gives and that most corners agree with."""
    old_at, new_at = _list_corners(old), _list_corners(new)
    found = []
    for a, b in product(old.edges, new.edges):
        if abs(a.length - b.length) > _ALIKE_MM:
            continue
        target, source = sample_line(a.points, _SAMPLES), sample_line(b.points, _SAMPLES)
        for face_down, way in ((False, 1), (True, -1), (False, -1), (True, 1)):
            motion, residual = fit(source[::way], target, face_down=face_down)
            found.append((len(_find_lonely(old_at, motion.apply(new_at))), residual, motion))
    return min(found, key=lambda one: one[:2])[2] if found else None
