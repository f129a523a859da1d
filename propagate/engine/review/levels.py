"""Levels of mates that do not meet where the pieces are sewn together."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import combinations, product

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import level_place, pick_sizes, pieces_of, run_lengths
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam

__all__ = ["find_parted_levels", "shared_levels"]

APART_MM = 12.0
"""Half a size's rise is less; a mistake in a level is seen from here on (no source)."""
UNLIKE_MM = 25.0
"""A waist may dip by 10 to 15 mm more at the back than at the front."""
END_MM = 40.0
"""A waist or a hem is level at the centre; near the seam each piece may rise as it does."""
SHARE = 0.012
"""On a long seam a level may differ by so much of the length: shaping, ease, a slanted side."""


def find_parted_levels(pattern: PatternSet, *, without: Collection[str] = ()) -> Iterator[Finding]:
    """Find a level that lies elsewhere along a seam on the one piece than on its mate.

    `without` names seams that are not looked at.
    """
    for seam in pattern.relations.seams.values():
        if seam.mirror or seam.name in without:
            continue
        found = [_find_worst(pattern, seam, level) for level in shared_levels(pattern, seam)]
        told = [finding for finding in found if finding is not None]
        yield from told or _find_unlike(pattern, seam)


def _find_unlike(pattern: PatternSet, seam: Seam) -> Iterator[Finding]:
    """Find two levels that are much further apart on a piece than on its mate, in every size."""
    sizes = pick_sizes(pattern)
    for ours, theirs in product(pieces_of(seam.lead), pieces_of(seam.follow)):
        if seam.check or ours == theirs:
            continue
        nests = [[pattern.sized(piece, size) for size in sizes] for piece in (ours, theirs)]
        off = {}
        shared = sorted(set.intersection(*(set(nest[0].levels) for nest in nests)))
        for upper, lower in combinations(shared, 2):
            apart = np.array(
                [[_measure_between(one, upper, lower) for one in nest] for nest in nests]
            )
            # A level that is drawn by the centre knows nothing of a dart in the side.
            unlike = np.abs(apart[1] - apart[0]).min(axis=-1)
            if float(unlike.min()) > UNLIKE_MM:
                off[upper, lower] = apart[:, sizes.index(pattern.base), 0]
        if not off:
            continue
        names = [name for pair in off for name in pair]
        level = max(dict.fromkeys(names), key=names.count)
        (upper, lower), (first, second) = next(iter(off.items()))
        which = f"level '{level}'" if len(off) > 1 else f"level '{upper}' or '{lower}'"
        yield Finding(
            "levels do not meet",
            f"pieces '{ours}' and '{theirs}', levels '{upper}' and '{lower}'",
            f"found them {first:.1f} mm apart on '{ours}', {second:.1f} mm on '{theirs}' in size "
            f"'{pattern.base}', along the grain; expected about the same, since seam '{seam.name}' "
            f"joins the pieces. Probably {which} of one piece is drawn in the wrong place, or goes "
            "through another mark than was meant: correct it",
            (ours, theirs),
        )


def _measure_between(sized: SizedPiece, upper: str, lower: str) -> tuple[float, float]:
    """How far two levels lie apart along the grain, mm; then with the darts between them closed."""
    grain = sized.grain.direction
    low, high = sorted(float(np.dot(sized.levels[level], grain)) for level in (upper, lower))
    closed = high - low
    for dart in sized.darts:
        legs = sorted(float(np.dot(sized.landmark(leg).point, grain)) for leg in dart.legs)
        if low <= legs[0] and legs[1] <= high:
            closed -= legs[1] - legs[0]
    return high - low, closed


def shared_levels(pattern: PatternSet, seam: Seam) -> list[str]:
    """Names of the levels that pieces of both sides of a seam have."""
    lead, follow = (
        {name for piece in pieces_of(run) for name in pattern.sized(piece, pattern.base).levels}
        for run in (seam.lead, seam.follow)
    )
    return sorted(lead & follow)


def _find_worst(pattern: PatternSet, seam: Seam, level: str) -> Finding | None:
    """Tell a level that lies elsewhere in every size; in one alone the size is out of line."""
    sizes = pick_sizes(pattern)
    runs = (seam.lead, seam.follow)
    along = [run_lengths(pattern, run, sizes).tolist() for run in runs]
    found: dict[str, tuple[float, float]] = {}
    apart: dict[str, float] = {}
    for size, ours_mm, theirs_mm in zip(sizes, *along, strict=True):
        ours, theirs = (level_place(pattern, run, level, size) for run in runs)
        if ours is None or not END_MM <= ours <= ours_mm - END_MM:
            continue
        if theirs is None or not END_MM <= theirs <= theirs_mm - END_MM:
            continue
        found[size] = ours, theirs
        # Eased cloth may lie on either side of the level: from neither end is it as far.
        near = theirs - ours
        apart[size] = min(abs(near), abs(near - (theirs_mm - ours_mm)))
    whole = along[0][sizes.index(pattern.base)]
    if not found or min(apart.values()) <= max(APART_MM, SHARE * whole):
        return None
    size = pattern.base if pattern.base in found else max(apart, key=lambda one: apart[one])
    ours, theirs = found[size]
    pieces = seam.lead[0].piece, seam.follow[0].piece
    return Finding(
        "levels do not meet",
        f"seam '{seam.name}', level '{level}', size '{size}'",
        f"found level '{level}' at {ours:.1f} mm along the seam on '{pieces[0]}' and at "
        f"{theirs:.1f} mm on '{pieces[1]}', {apart[size]:.1f} mm apart; expected it at the same "
        "place, since the two are sewn there. Probably the level of one of the pieces is drawn "
        "too high or too low (or goes through the wrong mark): correct it",
        pieces,
    )
