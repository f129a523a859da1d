"""How many are cut, and of what, against how pieces are sewn together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import pieces_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Seam

__all__ = [
    *("count_halves", "find_fabrics_spelt_twice", "find_lone_mates", "find_missing_twins"),
    "find_odd_pairs",
]

SYMMETRIC_MM = 1.0
SPELT_ALIKE = 0.85
"""Share of letters in common above which two fabrics may be one, spelt twice."""


def count_halves(info: PieceInfo) -> int:
    """Return on how many halves of the body a piece lies: 2 as a pair or on a fold, else 1."""
    return 2 if info.pair or info.fold is not None else 1


def find_odd_pairs(pattern: PatternSet) -> Iterator[Finding]:
    """Find mirrored pairs of which an odd number is cut."""
    for name, info in pattern.info.items():
        if info.pair and info.cut % 2:
            yield Finding(
                "odd number of a pair",
                f"piece '{name}'",
                f"found cut = {info.cut} of a mirrored pair (pair = true), expected an even "
                "number; probably one is forgotten: write how many are cut in all, or take "
                "pair = true out",
                (name,),
            )


def find_missing_twins(pattern: PatternSet) -> Iterator[Finding]:
    """Find pieces that are sewn to their mirrored twin and have none."""
    for seam in pattern.relations.seams.values():
        if not seam.mirror:
            continue
        for name in pieces_of(seam.lead):
            info = pattern.info[name]
            if info.pair and info.fold is None:
                continue
            cut = "on the fold" if info.fold else f"cut = {info.cut} and no pair"
            yield Finding(
                "pair forgotten",
                f"piece '{name}', seam '{seam.name}'",
                f"found that it is sewn to its own mirrored twin, and {cut}; expected a pair. "
                f"Probably pair = true with cut = 2 is missing in [pieces.{name}]"
                + (" and the fold is left over" if info.fold else ""),
                (name,),
                sews=False,
            )


def find_lone_mates(pattern: PatternSet) -> Iterator[Finding]:
    """Find pieces cut once, or alike and not mirrored, that are sewn to both of a pair."""
    joined: dict[tuple[str, str], list[Seam]] = {}
    for seam in pattern.relations.seams.values():
        if seam.mirror or seam.fixed:
            continue
        for ours, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            for span in ours:
                for other in pieces_of(theirs):
                    if other != span.piece:
                        joined.setdefault((other, span.key), []).append(seam)
    told: set[str] = set()
    for (lone, key), seams in joined.items():
        info, mate = pattern.info[lone], pattern.info[key.partition(".")[0]]
        if lone in told or len(seams) != 1 or count_halves(info) == 2 or count_halves(mate) == 1:
            continue
        alike = info.cut > 1
        # A piece that is only walked, such as one half of a fly, may lie on one side alone;
        # one that is its own mirror image needs no pair.
        if (seams[0].check and not alike) or (alike and _is_symmetric(pattern, lone)):
            continue
        told.add(lone)
        yield Finding(
            "pair forgotten",
            f"piece '{lone}', seam '{seams[0].name}'",
            f"found cut = {info.cut}"
            + (", all alike (no pair)" if alike else ", no pair and no fold")
            + f", and that it is sewn once to '{key}', which is on both sides of the garment "
            f"({'a fold' if mate.fold else 'a mirrored pair'}); expected one for each side. "
            f"Probably {'pair = true' if alike else 'cut = 2 with pair = true'} is missing in "
            f"[pieces.{lone}]{'' if alike else ' (or its fold)'}",
            (lone,),
            sews=alike,
        )


def _is_symmetric(pattern: PatternSet, name: str) -> bool:
    """Whether a piece is its own mirror image, as far as its edges and their chords tell."""
    edges = pattern.sized(name, pattern.base).edges
    chords = np.array([edge.points[-1] - edge.points[0] for edge in edges])
    chord = np.hypot(*chords.T)
    # The corner of each edge to the next one but one: what a triangle of corners needs.
    across = np.hypot(*(chords + np.roll(chords, -1, axis=0)).T)
    rows = np.array([[edge.length for edge in edges], chord, across])
    turned = rows[:, ::-1].copy()
    turned[2] = np.roll(turned[2], -1)  # the pair of edges i, i + 1 read the other way
    return any(
        float(np.abs(np.roll(turned, k, axis=1) - rows).max()) <= SYMMETRIC_MM
        for k in range(len(edges))
    )


def find_fabrics_spelt_twice(pattern: PatternSet) -> Iterator[Finding]:
    """Find a fabric that is spelt in two ways."""
    count: dict[str, list[str]] = {}
    for name, info in pattern.info.items():
        if info.fabric:
            count.setdefault(info.fabric, []).append(name)
    spelt = sorted(count, key=lambda fabric: -len(count[fabric]))
    for usual, odd in combinations(spelt, 2):
        first, second = (" ".join(name.casefold().split()) for name in (usual, odd))
        if _are_spelt_alike(first, second) and not _are_told_apart(first, second):
            yield Finding(
                "fabric spelt in two ways",
                f"piece '{count[odd][0]}'",
                f"found the fabric '{odd}' beside '{usual}' of {len(count[usual])} other "
                "piece(s); expected one spelling, or names that differ more. Probably a "
                "slip of the pen: the pieces would be cut and laid apart",
                tuple(count[odd]),
            )


def _are_spelt_alike(first: str, second: str) -> bool:
    letters = sum((Counter(first) & Counter(second)).values())
    if 2 * letters < SPELT_ALIKE * (len(first) + len(second)):
        return False
    from difflib import SequenceMatcher  # hardly any set has to wait for it

    return SequenceMatcher(None, first, second).ratio() >= SPELT_ALIKE


def _are_told_apart(first: str, second: str) -> bool:
    """Tell whether two names differ in their figures or in one lone letter: A and B."""
    a, b = first.split(), second.split()
    odd = [(x, y) for x, y in zip(a, b, strict=False) if x != y] if len(a) == len(b) else []
    return bool(odd) and all(
        min(len(x), len(y)) <= 2 or any(map(str.isdigit, x + y)) for x, y in odd
    )
