"""After a no to a seam of a kind of garment: another piece may have the role, or it another one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.io.garments import known_kinds
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.suggesting.asking import Asking
from propagate.suggesting.proposal import Proposal
from tests.suggesting.garment_drafts import harbour_shirt

KINDS = tuple(known_kinds())
LONG, SHORT = "sleeve", "short_sleeve"


def shorten(sized: SizedPiece) -> SizedPiece:
    """A short sleeve for the same armhole: the same cap, cut off across the sleeve."""
    back, front = (sized.edge(name).points for name in ("under_back", "under_front"))
    low = back[0] + 0.3 * (back[-1] - back[0]), front[-1] + 0.3 * (front[0] - front[-1])
    lines = {
        "cap": sized.edge("cap").points,
        "under_back": np.array([back[0], low[0]]),
        "wrist": np.array(low),
        "under_front": np.array([low[1], front[-1]]),
    }
    return SizedPiece(tuple(Edge(name, line) for name, line in lines.items()), sized.grain)


def two_views() -> PatternSet:
    """A shirt with a long and a short sleeve to choose from, and nothing said of its seams."""
    real = harbour_shirt()
    nest = {size: shorten(one) for size, one in real.pieces[LONG].nest.items()}
    pieces = {**real.pieces, SHORT: Piece(SHORT, nest)}
    info = {**real.info, SHORT: PieceInfo(SHORT)}
    held = replace(real.relations, seams={}, bands={})
    return replace(real, pieces=pieces, info=info, relations=held)


def find_armhole(asking: Asking, sleeve: str) -> Proposal | None:
    wanted = {"front.armhole", "back.armhole", f"{sleeve}.cap"}
    return next((one for one in asking.found.proposals if one.edges == wanted), None)


@pytest.fixture(scope="module")
def start() -> Asking:
    return Asking.begin(two_views(), kinds=KINDS)


def test_the_other_sleeve_is_asked_about_after_a_no_to_the_one(start: Asking) -> None:
    first = next(one for one in (LONG, SHORT) if find_armhole(start, one) is not None)
    other = SHORT if first == LONG else LONG
    armhole = find_armhole(start, first)
    assert armhole is not None and find_armhole(start, other) is None
    asking = start.told([start.answer(armhole, "no")])
    assert find_armhole(asking, first) is None
    again = find_armhole(asking, other)
    assert again is not None and again.score == armhole.score
    assert asking.undone().found.proposals == start.found.proposals


def test_answers_of_an_earlier_sitting_tell_the_same(start: Asking) -> None:
    asking = start
    for word in ("no", "yes", "no"):
        asking = asking.answered(word)
    read = Asking.begin(asking.pattern, asking.answers, kinds=KINDS)
    assert read.found.proposals == asking.found.proposals


def test_a_no_beside_the_garment_changes_nothing_of_it(start: Asking) -> None:
    """Two edges that no garment sews: what was recognised stays the very same."""
    beside = next(
        one
        for one in reversed(start.found.proposals)
        if not any(garment.rests_on({one.question}) for garment in start.garments)
    )
    assert start.told([start.answer(beside, "no")]).garments is start.garments
