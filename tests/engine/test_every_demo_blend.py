"""What must hold on a blend, on the demo sets that `test_every_pair` does not measure.

By their plan or by level alone.  Seams, bands and girths are measured by numpy and shapely on the
bare points: the size of the upper level on that of the others, both ways between the ends of the
nest and between neighbours; the profile ``long`` measures every ordered pair.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations

import pytest
import shapely

import propagate
from propagate.demo import MAIN_JOBS
from tests.edits.random_edits import gaps
from tests.engine import measure
from tests.examples import goes_on
from tests.shared import blend_edit, demo

SETS = (
    "lined_skirt",
    "quay_jeans",
    "workshop_gilet",
    "concert_dress",
    "ferry_shirt",
    "market_bag",
    "puddle_pinafore",
)
SEAM_MM, GIRTH_MM, LINE_MM = 0.05, 0.1, 0.01
BY_LEVEL_GIRTH_MM = 0.25
"""By level a seam is matched at its follower, which gives a girth beside it away a little."""


REACH = {"market_bag": 1}
"""Steps that a blend of a set can take: over more a lean of its sides is told not to sew."""


def pairs(name: str) -> Iterator[tuple[str, str]]:
    """Upper and lower size."""
    sizes = demo(name).sizes
    last, middle = len(sizes) - 1, len(sizes) // 2
    reach = REACH.get(name, last)
    some = {(last - reach, last), (reach, 0), (middle, middle - 1)}
    every = permutations(range(len(sizes)), 2)
    for i, j in every if goes_on() else sorted(some):
        if abs(i - j) <= reach:
            yield sizes[i], sizes[j]


def one_size(pattern: propagate.PatternSet, size: str) -> propagate.PatternSet:
    nests = {name: {size: piece.at(size)} for name, piece in pattern.pieces.items()}
    pieces = {name: propagate.Piece(name, nest) for name, nest in nests.items()}
    return replace(pattern, sizes=(size,), base=size, pieces=pieces)


@pytest.mark.parametrize("name", SETS)
def test_a_blend_sews_and_has_its_girths(name: str) -> None:
    source = demo(name)
    upper_level, *others = MAIN_JOBS[name]
    girth_mm = GIRTH_MM if source.relations.blend else BY_LEVEL_GIRTH_MM
    for upper, lower in pairs(name):
        sizes = {upper_level: upper, **dict.fromkeys(others, lower)}
        result = propagate.run(source, blend_edit(source, sizes))
        new, where = result.pattern, (name, upper, lower)
        assert result.sews, where
        drawn = [gaps(one_size(source, size)) for size in (upper, lower)]
        for seam, off in gaps(new).items():
            was = max(abs(one[seam]) for one in drawn)
            seams = source.relations.seams
            walked = seam in seams and (seams[seam].check or seams[seam].fixed)
            most = max(was, seams[seam].tolerance) if walked else was + SEAM_MM
            assert abs(off) <= most, (*where, seam, off)
        for row in result.record.girths:
            girth = source.relations.girths[row.girth]
            wanted, found = (
                measure.girth(source, girth, row.size),
                measure.girth(new, girth, new.base),
            )
            assert abs(found - wanted) <= girth_mm, (*where, row.girth, found - wanted)
        for opening in source.relations.openings.values():
            lengths = [
                measure.polyline_length(measure.points_of(piece, opening.edge))
                for piece in (
                    source.sized(opening.piece, upper),
                    new.sized(opening.piece, new.base),
                )
            ]
            assert abs(lengths[1] - lengths[0]) <= LINE_MM, (*where, opening.name)
        for piece in new.pieces:
            outline = measure.outline(new.sized(piece, new.base))
            assert shapely.LinearRing(outline).is_simple, (*where, piece)
            assert measure.signed_area(outline) > 0.0, (*where, piece)


@pytest.mark.parametrize("name", SETS)
def test_a_size_blended_with_itself_is_itself(name: str) -> None:
    source = demo(name)
    for size in source.sizes if goes_on() else source.sizes[:1]:
        result = propagate.run(source, blend_edit(source, dict.fromkeys(MAIN_JOBS[name], size)))
        for piece in source.pieces:
            assert result.pattern.sized(piece, size) == source.sized(piece, size), (name, piece)
