"""Notch pairs that cross each other, or of which another mark was meant."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import combinations

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import Array, eased_places, pick_sizes
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import distance_on_run

__all__ = ["find_faulty_notches", "notch_places"]

FITS_MM = 1.5
Pair = tuple[str, str]


def find_faulty_notches(pattern: PatternSet, *, without: Collection[str] = ()) -> Iterator[Finding]:
    """Find crossed notch pairs, pairs whose mate was probably another mark, marks left alone.

    `without` names seams that are not looked at.
    """
    for seam in pattern.relations.seams.values():
        if seam.mirror or seam.name in without:
            continue
        yield from _find_left_alone(pattern, seam)
        for pair in seam.notches:
            marks = [name.split(".", 1) for name in pair]
            doubled = [mark in pattern.info[piece].double_notches for piece, mark in marks]
            if doubled[0] != doubled[1]:
                two, one = pair if doubled[0] else pair[::-1]
                piece, mark = marks[1] if doubled[0] else marks[0]
                yield Finding(
                    "double and single notch",
                    f"seam '{seam.name}', notches '{two}' and '{one}'",
                    f"found '{two}' drawn as a double notch and '{one}' as a single one, expected "
                    f'both alike; add "{mark}" to double_notches in [pieces.{piece}]',
                    _pieces_of_marks(*pair),
                )
        places = {pair: notch_places(pattern, seam, pair) for pair in seam.notches}
        known = {pair: both for pair, both in places.items() if both is not None}
        crossed = set()
        for a, b in combinations(known, 2):
            orders = [known[b][side] - known[a][side] for side in (0, 1)]
            apart = all(float(np.abs(order).min()) > FITS_MM for order in orders)
            if not apart or not (orders[0] * orders[1] < 0.0).all():
                continue
            crossed |= {a, b}
            yield Finding(
                "notch pairs cross",
                f"seam '{seam.name}'",
                f"found '{a[0]}' paired with '{a[1]}' and '{b[0]}' with '{b[1]}', which lie in the "
                "one order along the lead and in the other along the follower; expected the same "
                "order. Probably two notches of one side are exchanged (or the seam is written "
                f"from the wrong end): pair '{a[0]}' with '{b[1]}' and '{b[0]}' with '{a[1]}'",
                _pieces_of_marks(*a, *b),
                sews=False,
            )
        for pair, both in known.items():
            if pair not in crossed:
                yield from _find_other_mark(pattern, seam, pair, both)


def _pieces_of_marks(*names: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name.partition(".")[0] for name in names))


def notch_places(pattern: PatternSet, seam: Seam, pair: Pair) -> tuple[Array, Array] | None:
    """(looks,) places of the two notches of a pair along their runs, with ease shared out."""
    lead, follow = (
        _place_along(pattern, run, name)
        for run, name in zip((seam.lead, seam.follow), pair, strict=True)
    )
    if lead is None or follow is None:
        return None
    return eased_places(pattern, seam, lead), follow


def _place_along(pattern: PatternSet, run: Run, name: str) -> Array | None:
    piece, _, mark = name.partition(".")
    found = [
        distance_on_run(pattern.in_size(size), run, piece, mark) for size in pick_sizes(pattern)
    ]
    known = [place for place in found if place is not None]
    return np.array(known) if len(known) == len(found) else None


def _find_other_mark(
    pattern: PatternSet, seam: Seam, pair: Pair, both: tuple[Array, Array]
) -> Iterator[Finding]:
    """Find a pair that is off in every size, and the mark that would fit."""
    differ = both[1] - both[0]
    if float(np.abs(differ).min()) <= seam.tolerance:
        return
    base = pick_sizes(pattern).index(pattern.base)
    for side, run in ((1, seam.follow), (0, seam.lead)):
        for span in run:
            for mark in pattern.sized(span.piece, pattern.base).landmarks_on(span.edge):
                name = f"{span.piece}.{mark.name}"
                place = None if name in pair else _place_along(pattern, run, name)
                if place is None or mark.kind == "dart leg":
                    continue
                if side == 0:
                    place = eased_places(pattern, seam, place)
                if np.abs(place - both[1 - side]).max() > FITS_MM:
                    continue
                yield Finding(
                    "notch of another pair",
                    f"seam '{seam.name}', notches '{pair[0]}' and '{pair[1]}'",
                    f"found the one at {both[0][base]:.1f} mm and the other at "
                    f"{both[1][base]:.1f} mm along the seam in size '{pattern.base}', expected "
                    f"them at the same place. '{name}' fits in every size: did you mean "
                    f'"{name}" in the place of "{pair[side]}"?',
                    _pieces_of_marks(*pair),
                    sews=False,
                )
                return


def _find_left_alone(pattern: PatternSet, seam: Seam) -> Iterator[Finding]:
    """Find two notches that lie at the same place of a seam and are no pair."""
    paired = {name for pair in seam.notches for name in pair}
    paired |= {f"{s.piece}.{n}" for s in (*seam.lead, *seam.follow) for n in (s.begin, s.end)}
    sides = []
    for run in (seam.lead, seam.follow):
        alone = {}
        for span in run:
            for mark in pattern.sized(span.piece, pattern.base).landmarks_on(span.edge):
                name = f"{span.piece}.{mark.name}"
                place = _place_along(pattern, run, name) if mark.kind == "notch" else None
                if place is not None and name not in paired:
                    alone[name] = place
        sides.append(alone)
    base = pick_sizes(pattern).index(pattern.base)
    for ours, here in sides[0].items():
        eased = eased_places(pattern, seam, here)
        for theirs, there in sides[1].items():
            if np.abs(eased - there).max() > FITS_MM:
                continue
            yield Finding(
                "notches not paired",
                f"seam '{seam.name}'",
                f"found notches '{ours}' and '{theirs}' at the same place of the seam in every "
                f"size ({here[base]:.1f} mm from its start in size '{pattern.base}') that are no "
                f"pair; expected them paired, so that they are walked and moved together. "
                f'Probably the pair was left out: add ["{ours}", "{theirs}"] to its notches',
                _pieces_of_marks(ours, theirs),
            )
