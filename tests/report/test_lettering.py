"""Letters of corners and marks: each its own, in an order that every size has."""

from __future__ import annotations

import pytest
import shapely

from propagate.demo import demo_names
from propagate.report.lettering import letters_of
from tests.shared import demo


@pytest.mark.parametrize("name", demo_names())
def test_every_corner_and_mark_has_a_letter_of_its_own(name: str) -> None:
    pattern = demo(name)
    for piece in pattern.pieces:
        told = [letters_of(pattern.sized(piece, size)) for size in pattern.sizes]
        assert all([(o.letter, o.key) for o in one] == [(o.letter, o.key) for o in told[0]]
                   for one in told)  # fmt: skip
        now = pattern.sized(piece, pattern.base)
        letters = letters_of(now)
        assert len({one.letter for one in letters}) == len(letters)
        corners = [one for one in letters if one.kind == "corner"]
        assert [one.letter for one in corners][:3] == ["A", "B", "C"][: len(corners)]
        assert len(corners) == len(now.edges)
        ring = shapely.LinearRing(now.outline)
        assert all(shapely.Point(one.point).distance(ring) < 1e-6 for one in corners)
        ends = {tuple(edge.points[i].tolist()) for edge in now.edges for i in (0, -1)}
        spoken = {one.name for one in letters}
        for mark in now.landmarks:  # a landmark in a corner goes by the corner's letter
            assert (
                mark.name in spoken
                or min(shapely.Point(mark.point).distance(shapely.Point(end)) for end in ends)
                < 0.06
            )
