"""A seam along a pocket facing waits until the facing is seated behind its new mouth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

import propagate
from propagate.engine.revise import revise
from propagate.engine.tape import tape
from propagate.geometry.polyline import arc_lengths, between, length, locate
from propagate.pattern.model import Piece, SizedPiece
from tests.shared import demo

UP_MM = 7.5


def with_mouth_ending_higher(piece: SizedPiece, flank_of_whole: np.ndarray) -> SizedPiece:
    """The front with the low end of its scoop farther up the flank of the whole front."""
    at, off = locate(flank_of_whole, piece.edge("flank").points[0])
    assert off < 1e-6
    flank = between(flank_of_whole, at - UP_MM, length(flank_of_whole))
    scoop = piece.edge("scoop").points
    share = arc_lengths(scoop)[:, None] / length(scoop)
    moved = scoop + share * (flank[0] - scoop[-1])
    new = {"flank": flank, "scoop": np.vstack([moved[:-1], flank[:1]])}
    edges = (replace(e, points=new[e.name]) if e.name in new else e for e in piece.edges)
    return replace(piece, edges=tuple(edges))


def test_a_mouth_that_ends_higher_leaves_the_back_as_it_was() -> None:
    """The whole flank is as long as it was: the front's part gains what the facing's loses."""
    pattern = demo("scoop_skirt")
    size = pattern.base
    whole = tape(pattern, "full_front", size).edge("flank").points
    drawn = with_mouth_ending_higher(pattern.sized("skirt_front", size), whole)
    found = revise(pattern, {"skirt_front": Piece("skirt_front", {size: drawn})})
    new = found.pattern.sized
    front = length(new("skirt_front", size).edge("flank").points)
    was = length(pattern.sized("skirt_front", size).edge("flank").points)
    assert abs(front - was - UP_MM) < 0.01
    for name in ("skirt_back", "belt"):
        assert new(name, size) == pattern.sized(name, size), name
    facing = new("pocket_facing", size)
    low = facing.distance("flank", "scoop_low")
    assert abs(low + front - length(whole)) < 0.02
    assert propagate.walk(found.pattern, size).sews
