"""Edges with thousands of marks: told, compared as a whole, and no longer a square of work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import points_at
from propagate.pattern.model import Landmark, Piece
from propagate.pattern.patternset import PatternSet
from propagate.suggesting import suggest
from tests.bench.tiling import tile
from tests.effort import calls_of
from tests.shared import demo


def _crowded(count: int) -> PatternSet:
    """The skirt with `count` notches at equal shares of both sides of its side seam."""
    pattern = demo("scoop_skirt")
    seam = pattern.relations.seams["flank_seam"]
    pieces = dict(pattern.pieces)
    for span in (seam.lead[-1], seam.follow[-1]):
        nest = {}
        for size in pattern.sizes:
            sized = pattern.sized(span.piece, size)
            edge = sized.edge(span.edge)
            places = points_at(edge.points, np.linspace(2.0, edge.length - 2.0, count))
            notches = tuple(
                Landmark(f"notch_{i}", edge.name, (float(x), float(y)), "notch")
                for i, (x, y) in enumerate(places)
            )
            nest[size] = replace(sized, landmarks=sized.landmarks + notches)
        pieces[span.piece] = Piece(span.piece, nest)
    return replace(pattern, pieces=pieces)


def test_an_edge_with_too_many_marks_is_told_and_still_compared_as_a_whole() -> None:
    pattern = _crowded(80)
    found = suggest(pattern)
    seam = pattern.relations.seams["flank_seam"]
    assert set(found.crowded) == {seam.lead[-1].key, seam.follow[-1].key}
    bare = replace(pattern, relations=replace(pattern.relations, seams={}))
    spans = [[span for run in one.runs for span in run] for one in suggest(bare).proposals]
    both = {seam.lead[-1].key, seam.follow[-1].key}
    assert any(both <= {span.key for span in one} for one in spans)
    ends = {end for one in spans for span in one for end in (span.begin, span.end)}
    assert not any(end.startswith("notch_") for end in ends)


def test_fewer_marks_are_not_crowded() -> None:
    assert suggest(_crowded(20)).crowded == ()


def test_work_grows_no_faster_than_the_marks() -> None:
    few, many = _crowded(100), _crowded(800)
    suggest(few)
    assert calls_of(lambda: suggest(many)) < 8 * calls_of(lambda: suggest(few))


def test_copies_of_a_set_are_compared_in_a_straight_line_and_it_is_told() -> None:
    """Each run has as many partners as there are copies: ten of a trouser took minutes."""
    few, many = (suggest(tile(demo("slant_trouser"), copies)) for copies in (1, 5))
    assert few.left_out == 0 < many.left_out
    joined = {number for group in many.groups for number in map(id, group)}
    assert joined == set(map(id, many.proposals))
    for group in many.groups[:20]:
        rivals = [set(map(id, many.rivals(one))) for one in group]
        assert all(own <= set(map(id, group)) for own in rivals)
        assert len(group) == 1 or all(rivals)
