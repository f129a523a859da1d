"""What garments of other habits of drawing showed: judged by the drafts' own relations."""

from __future__ import annotations

import pytest

from propagate.suggesting.accepted import ACCEPT
from tests.bench.suggest import case, drawn
from tests.suggesting.roughened import WAYS


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
