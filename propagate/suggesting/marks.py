"""Notches that meet when one run is laid along the other."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact
from propagate.suggesting.rows import Row

__all__ = ["facts"]

Array = npt.NDArray[np.float64]

MEETS_MM = 1.5
"""Notches meet within the trade's walk (common practice, no source)."""
_EACH, _MOST, _ALONE = 1.5, 3.0, -0.5


def facts(
    nest: Nest, lead: Row, follow: Row, turned: bool
) -> tuple[list[Fact], tuple[tuple[str, str], ...]]:
    """What the notches say when the follower is laid along the lead, and which of them meet."""
    pairs = _pair_marks(lead, follow, turned) if lead.marks and follow.marks else []
    return _tell_marks(nest, lead, follow, pairs), tuple((a, b) for a, b, _ in pairs)


def _pair_marks(lead: Row, follow: Row, turned: bool) -> list[tuple[str, str, float]]:
    """Marks of the lead, each with the nearest one of the follower that meets it, and the gap."""
    names = [name for name, _ in follow.marks]
    places = np.array([place for _, place in follow.marks])
    # Ease is spread along the seam.
    places = (follow.lengths - places if turned else places) * lead.lengths / follow.lengths
    free = np.ones(len(names), dtype=bool)
    pairs = []
    for name, at in lead.marks:
        gaps = np.where(free, np.abs(places - at).max(axis=1), np.inf)
        nearest = int(gaps.argmin())
        if gaps[nearest] <= MEETS_MM:
            free[nearest] = False
            pairs.append((name, names[nearest], float(gaps[nearest])))
    return pairs


def _tell_marks(
    nest: Nest, lead: Row, follow: Row, pairs: list[tuple[str, str, float]]
) -> list[Fact]:
    found = []
    if pairs:
        worst = max(gap for *_, gap in pairs)
        text = ", ".join(f"{a} with {b}" for a, b, _ in pairs)
        found.append(
            Fact(
                min(_EACH * len(pairs), _MOST),
                f"notches meet within {worst:.2f} mm in all sizes: {text}",
            )
        )
    met = {name for a, b, _ in pairs for name in (a, b)}
    alone = [
        name
        for row in (lead, follow)
        for name, _ in row.marks
        if name not in met and _is_notch(nest, row, name)
    ]
    if alone:
        found.append(
            Fact(max(_ALONE * len(alone), -1.5), f"no notch meets {', '.join(sorted(alone))}")
        )
    return found


def _is_notch(nest: Nest, row: Row, name: str) -> bool:
    piece, _, mark = name.partition(".")
    return any(mark in nest.edges[span.key].notches for span in row.run if span.piece == piece)
