"""Facings and strips: two edges that lay beside each other at one width."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.strips_found import even_widths, widths_between
from propagate.pattern.model import SizedPiece

__all__ = ["width_changes"]

_CHANGED_MM = 1.5


def width_changes(old: SizedPiece, new: SizedPiece) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Widths of strips that were even and changed, or became uneven."""
    names = old.edge_names
    for i, j, before in even_widths(old):
        after = widths_between(new.edges[i], new.edges[j])
        if after is not None and np.abs(after - before.mean()).max() > _CHANGED_MM:
            yield (
                f"nobody edited it, and its width between '{names[i]}' and '{names[j]}', which was "
                f"{before.mean():.1f} mm, is now {after.min():.1f} to {after.max():.1f} mm",
                ("width changed", names[i], names[j]),
            )
