"""Work grows with what is asked: an edit costs the same in a large set, a check its pieces."""

from dataclasses import replace

import pytest

import propagate
from propagate.engine.finish import cut_line
from propagate.engine.graph import relation_graph
from propagate.pattern.info import Allowance
from propagate.pattern.validate import find_problems
from tests.bench.tiling import tile
from tests.effort import calls_of
from tests.shared import demo

EDIT = propagate.Blend({"waist": "42", "hip": "48"})


def effort(copies: int) -> int:
    pattern = tile(demo("slant_trouser"), copies)
    relation_graph(pattern)
    propagate.blend(pattern, EDIT)  # what is known of a set is worked out once
    return calls_of(lambda: propagate.blend(pattern, EDIT))


def test_a_blend_costs_as_much_among_thirty_copies_as_among_three() -> None:
    """Places looked into every assembly, and those into every stack: 22 ms became 1.5 s."""
    assert effort(30) < 1.1 * effort(3)


@pytest.mark.parametrize(
    "name",
    [
        "slant_trouser",
        "quay_jeans",
        "lined_skirt",
        "ferry_shirt",
        "concert_dress",
        "workshop_gilet",
    ],
)
def test_tiled_sets_are_sound(name: str) -> None:
    """What the trials of large sets measure is a set that a person could have."""
    assert find_problems(tile(demo(name), 2)) == ()


def test_checking_a_set_grows_with_its_pieces_alone() -> None:
    """Every place listed the levels of all pieces, and each relation looked through all names."""
    few, many = (tile(demo("slant_trouser"), copies) for copies in (10, 40))
    assert calls_of(lambda: find_problems(many)) < 4.2 * calls_of(lambda: find_problems(few))


def test_the_cut_line_of_a_piece_is_built_once() -> None:
    """A walk built one for each seam, and a print another."""
    pattern = demo("slant_trouser")
    piece, info = pattern.sized("front", pattern.base), pattern.info["front"]
    assert cut_line(piece, info) is cut_line(piece, info)
    wider = replace(info, allowance=Allowance(default=25.0))
    assert cut_line(piece, wider).area > cut_line(piece, info).area
    assert cut_line(replace(piece), info) is not cut_line(piece, info)
