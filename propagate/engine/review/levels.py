"""Levels of mates that do not meet where the pieces are sewn together."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import combinations

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import level_place, looks, run_lengths
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam

__all__ = ["levels", "shared_levels"]

APART_MM = 12.0
"""Half a size's rise is less; a mistake in a level is seen from here on (no source)."""
UNLIKE_MM = 25.0
"""A waist may dip by 10 to 15 mm more at the back than at the front."""
END_MM = 40.0
"""A waist or a hem is level at the centre; near the seam each piece may rise as it does."""
SHARE = 0.012
"""On a long seam a level may differ by so much of the length: shaping, ease, a slanted side."""


def levels(pattern: PatternSet, *, without: Collection[str] = ()) -> Iterator[Finding]:
    """Find a level that lies elsewhere along a seam on the one piece than on its mate.

    Parameters
    ----------
    pattern : PatternSet
    without : names of seams that are not looked at
    """
    for seam in pattern.relations.seams.values():
        if seam.mirror or seam.name in without:
            continue
        found = [_find_worst(pattern, seam, level) for level in shared_levels(pattern, seam)]
        told = [finding for finding in found if finding is not None]
        yield from told or _find_unlike(pattern, seam)


def _find_unlike(pattern: PatternSet, seam: Seam) -> Iterator[Finding]:
    """Find two levels that are much further apart on a piece than on its mate, in every size."""
    pairs = dict.fromkeys((a.piece, b.piece) for a in seam.lead for b in seam.follow)
    for ours, theirs in pairs:
        if seam.check or ours == theirs:
            continue
        known = [pattern.sized(piece, pattern.base).levels for piece in (ours, theirs)]
        off = {}
        for upper, lower in combinations(sorted(set(known[0]) & set(known[1])), 2):
            apart = np.array(
                [
                    [_measure_apart(pattern, piece, upper, lower, size) for size in looks(pattern)]
                    for piece in (ours, theirs)
                ]
            )
            if float(np.abs(apart[1] - apart[0]).min()) > UNLIKE_MM:
                off[upper, lower] = apart[:, looks(pattern).index(pattern.base)]
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


def _measure_apart(pattern: PatternSet, name: str, upper: str, lower: str, size: str) -> float:
    piece = pattern.sized(name, size)
    return abs(float(np.subtract(piece.levels[upper], piece.levels[lower]) @ piece.grain.direction))


def shared_levels(pattern: PatternSet, seam: Seam) -> list[str]:
    """Names of the levels that pieces of both sides of a seam have."""
    sides = []
    for run in (seam.lead, seam.follow):
        pieces = dict.fromkeys(span.piece for span in run)
        sides.append({name for p in pieces for name in pattern.sized(p, pattern.base).levels})
    return sorted(sides[0] & sides[1])


def _find_worst(pattern: PatternSet, seam: Seam, level: str) -> Finding | None:
    found = {}
    # A single size is told as a size that is out of line.
    sizes = looks(pattern)
    ours_mm, theirs_mm = (run_lengths(pattern, run, sizes) for run in (seam.lead, seam.follow))
    whole = float(ours_mm[sizes.index(pattern.base)])
    for size in sizes:
        places = [level_place(pattern, run, level, size) for run in (seam.lead, seam.follow)]
        ends = [float(mm[sizes.index(size)]) for mm in (ours_mm, theirs_mm)]
        inner = [
            place
            for place, end in zip(places, ends, strict=True)
            if place is not None and END_MM <= place <= end - END_MM
        ]
        if len(inner) == 2:
            found[size] = (inner[0], inner[1])
    if not found:
        return None
    longer: dict[str, float] = dict(zip(sizes, (theirs_mm - ours_mm).tolist(), strict=True))

    def apart(size: str) -> float:
        # Eased cloth may lie on either side of the level: from neither end is it as far.
        near = found[size][1] - found[size][0]
        return min(abs(near), abs(near - longer[size]))

    off = [size for size in found if apart(size) > max(APART_MM, SHARE * whole)]
    if not off or len(off) < len(found):
        return None
    size = pattern.base if pattern.base in off else max(off, key=apart)
    ours, theirs = found[size]
    pieces = [run[0].piece for run in (seam.lead, seam.follow)]
    return Finding(
        "levels do not meet",
        f"seam '{seam.name}', level '{level}', size '{size}'",
        f"found level '{level}' at {ours:.1f} mm along the seam on '{pieces[0]}' and at "
        f"{theirs:.1f} mm on '{pieces[1]}', {apart(size):.1f} mm apart; expected it at the same "
        "place, since the two are sewn there. Probably the level of one of the pieces is drawn "
        "too high or too low (or goes through the wrong mark): correct it",
        (pieces[0], pieces[1]),
    )
