"""Letters of corners and marks: each its own, in an order that every size has."""

from __future__ import annotations

from dataclasses import replace

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


def test_a_drill_mark_in_the_tip_of_a_dart_goes_by_its_letter() -> None:
    skirt = demo("lined_skirt").sized("front", demo("lined_skirt").base)
    kinds = [one.kind for one in letters_of(skirt)]
    assert kinds.count("dart tip") == len(skirt.darts) and "drill mark" not in kinds
    moved = replace(skirt, drills=tuple(replace(d, point=(d.point[0], d.point[1] - 12.0))
                                        for d in skirt.drills))  # fmt: skip
    told = letters_of(moved)
    assert [one.kind for one in told].count("drill mark") == len(skirt.drills)
    known = {one.key: one.letter for one in told}
    assert all(known[one.key] == one.letter for one in letters_of(skirt))


def test_the_end_of_a_line_on_a_drill_mark_goes_by_its_letter() -> None:
    """As on paper: one point has one letter.  The welt of the trousers ends on its drill marks."""
    trousers = demo("slant_trouser")
    back = trousers.sized("back", trousers.base)
    places = {tuple(drill.point) for drill in back.drills}
    assert {tuple(back.lines[0].points[i].tolist()) for i in (0, -1)} == places
    told = letters_of(back)
    assert [one.kind for one in told].count("line end") == 0
    moved = replace(back, drills=tuple(replace(d, point=(d.point[0], d.point[1] - 12.0))
                                       for d in back.drills))  # fmt: skip
    ends = [one for one in letters_of(moved) if one.kind == "line end"]
    assert len(ends) == 2
    known = {one.key: one.letter for one in letters_of(moved)}
    assert all(known[one.key] == one.letter for one in told)
