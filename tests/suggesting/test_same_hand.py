"""What garments of other habits of drawing showed: judged by the drafts' own relations."""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate.engine.walk import walk
from propagate.io.garments import known_kinds
from propagate.pattern.patternset import Relations
from propagate.pattern.validate import find_problems
from propagate.suggesting.accepted import ACCEPT
from propagate.suggesting.asking import Asking
from tests.bench.suggest import case, drawn
from tests.suggesting.roughened import WAYS
from tests.suggesting.same_hand_drafts import fennick_skirt


@pytest.mark.parametrize("name", ["burdock_shirt", "lintel_dress"])
def test_a_collar_is_sewn_up_to_the_lapel(name: str) -> None:
    """The outer edge of a camp collar is about as long as the neck with its lap."""
    one = case(name, "marked", 1)
    (collar,) = (found for found in one.found.proposals if one.names_of(found) == {"collar"})
    assert collar.score >= 0.85
    piece = one.names.pieces["collar"]
    edges = (edge for edge in one.bare.sized(piece, one.bare.base).edge_names)
    for found in (found for edge in edges for found in one.found.of_edge(f"{piece}.{edge}")):
        assert found is collar or found.score < collar.score


@pytest.mark.parametrize("way", sorted({*WAYS} - {"marked"}))
def test_what_is_eased_is_not_sure_where_the_edge_opposite_is_as_likely(way: str) -> None:
    """Without its notch nothing tells up to where the collar goes."""
    one = case("burdock_shirt", way, 2)
    assert "lapel" in {mark.name for mark in drawn("burdock_shirt").sized("front", "3").landmarks}
    piece = one.names.pieces["collar"]
    for found in one.found.proposals:
        if any(edge.startswith(f"{piece}.") for edge in found.edges):
            assert found.score < ACCEPT


def test_a_band_goes_round_a_piece_on_the_fold_there_and_back() -> None:
    """Not the waist of the front to that of the back, which are as long as each other."""
    true = fennick_skirt()
    asking = Asking.begin(replace(true, relations=Relations()), kinds=known_kinds())
    asked = []
    while asking.question is not None:
        one = asking.question
        asked.append(one)
        if one.kind == "band":
            run = tuple(span for zone in one.runs[1:] for span in zone)
            (waist,) = (one for one in true.relations.seams.values() if one.name == "waistband")
            assert {run, one.runs[0]} == {waist.lead, waist.follow}
        true_one = one.kind == "band" or one.edges == {"front.side", "back.side"}
        asking = asking.answered("yes" if true_one else "no")
    waists = {"front.waist", "back.waist"}
    assert [one.kind for one in asked].count("band") == 1
    assert not any(one.edges == waists for one in asked)
    assert find_problems(asking.joined) == ()
    size = walk(asking.joined, "5", cut_lines=False)
    assert size.sews
