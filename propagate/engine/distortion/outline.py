"""Edges that changed much, and symmetry that was lost."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import shapely

from propagate.engine.strips_found import even_widths, widths_between
from propagate.geometry.arrays import cross_product
from propagate.geometry.polyline import is_straight
from propagate.pattern.model import Edge, SizedPiece

__all__ = ["Told", "outline_changes", "width_changes"]

Told = tuple[str, str, tuple[str, ...]]
"""What was found, what to do, and what that is about, as of a `Notice`."""

_SHARE = 0.1
_LEAST_MM = 3.0
_CHANGED_MM = 1.5
_PARALLEL_DEG = 0.2
_ASKEW_DEG = 0.7
_MIRRORED = 0.004
_LOST = 0.01
"""Share of the area by which a piece and its mirror image differ."""


def outline_changes(old: SizedPiece, new: SizedPiece) -> Iterator[Told]:
    """Find edges changed by over a tenth, parallels that are none any more, lost symmetry."""
    for was, now in zip(old.edges, new.edges, strict=True):
        gain = now.length - was.length
        if abs(gain) > max(_SHARE * was.length, _LEAST_MM):
            yield (
                f"nobody edited it, and its edge '{was.name}' went from {was.length:.1f} to "
                f"{now.length:.1f} mm",
                "look whether that is meant",
                ("edge changed", was.name),
            )
    yield from _find_parted(old, new)
    if _measure_asymmetry(old) < _MIRRORED and _measure_asymmetry(new) > _LOST:
        yield (
            "nobody edited it, and its two halves no longer mirror each other",
            "look whether that is meant, else draw one half from the other",
            (),
        )


def _find_parted(old: SizedPiece, new: SizedPiece) -> Iterator[Told]:
    """Find straight edges that were parallel and are not any more."""
    straight = [
        (was, now)
        for was, now in zip(old.edges, new.edges, strict=True)
        if is_straight(was.points) and is_straight(now.points)
    ]
    for (a, a_now), (b, b_now) in combinations(straight, 2):
        before, after = _measure_angle(a, b), _measure_angle(a_now, b_now)
        if before <= _PARALLEL_DEG and after > _ASKEW_DEG:
            yield (
                f"nobody edited it, and its edges '{a.name}' and '{b.name}', which were parallel, "
                f"now lie {after:.1f}° askew",
                "look whether that is meant",
                ("askew", a.name, b.name),
            )


def _measure_angle(first: Edge, second: Edge) -> float:
    """Measure the angle between two straight edges, degrees, 0 to 90."""
    a, b = (edge.points[-1] - edge.points[0] for edge in (first, second))
    return float(np.degrees(np.arctan2(abs(cross_product(a, b)), abs(a @ b))))


def _measure_asymmetry(piece: SizedPiece) -> float:
    """Measure the share of the area in which a piece and its mirror image differ."""
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    outline = np.column_stack([piece.outline @ across, piece.outline @ grain])
    area = shapely.Polygon(outline)
    if not area.is_valid or area.area <= 0.0:
        return 1.0
    middle = (outline[:, 0].min() + outline[:, 0].max()) / 2
    mirrored = shapely.Polygon(np.column_stack([2 * middle - outline[:, 0], outline[:, 1]]))
    return float(area.symmetric_difference(mirrored).area / area.area)


def width_changes(old: SizedPiece, new: SizedPiece) -> Iterator[Told]:
    """Find widths of strips that were even and changed, or became uneven."""
    names = old.edge_names
    for i, j, before in even_widths(old):
        after = widths_between(new.edges[i], new.edges[j])
        if after is not None and np.abs(after - before.mean()).max() > _CHANGED_MM:
            yield (
                f"nobody edited it, and its width between '{names[i]}' and '{names[j]}', which was "
                f"{before.mean():.1f} mm, is now {after.min():.1f} to {after.max():.1f} mm",
                "look whether that is meant",
                ("width changed", names[i], names[j]),
            )
