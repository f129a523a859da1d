"""What is known beside the seam lines, notches, grain, a pocket's marks, tells more and not less.

Judged by the draft's own relations, and by pieces that are laid on each other point on point
(`tests.suggesting.same_again`).
"""

from __future__ import annotations

import numpy as np
import pytest

from propagate.pattern.relations import Seam
from propagate.suggesting.copies import find_likenesses
from propagate.suggesting.nest import measure_nest
from tests.bench.suggest import case, near_the_top, relations_of, written
from tests.shared import demo
from tests.suggesting.same_again import list_laid


@pytest.mark.parametrize("seed", [1, 5])
def test_a_bag_with_its_notches_is_known_as_well_as_without(seed: int) -> None:
    """The panels are rectangles: the pocket's marks tell which edge of them is the mouth."""
    one = case("market_bag", "marked", seed)
    told, false = written(one)
    assert told == relations_of(one)
    assert not false


@pytest.mark.parametrize("seed", [1, 6])
def test_a_dress_and_a_shirt_with_their_notches(seed: int) -> None:
    for name, missing in (("concert_dress", set()), ("ferry_shirt", {"cuff_fit"})):
        one = case(name, "marked", seed)
        told, false = written(one)
        assert relations_of(one) - told == missing
        assert not false


def test_a_notch_at_the_shoulder_tells_which_way_round_a_binding_is_sewn() -> None:
    one = case("concert_dress", "marked", 2)
    (found,) = (p for p in one.found.proposals if one.names_of(p) == {"armhole_binding_fit"})
    (seam,) = found.relations
    assert isinstance(seam, Seam)
    ((corner, notch),) = seam.notches
    names = one.names
    assert (
        notch == f"{names.pieces['armhole_binding']}.{names.marks['armhole_binding', 'shoulder']}"
    )
    armholes = {
        f"{names.pieces[piece]}.{names.edges[piece, 'armhole']}"
        for piece in ("side_front", "side_back")
    }
    assert corner.rpartition(".")[0] in armholes


@pytest.mark.parametrize("seed", [5, 6, 10])
def test_the_grain_tells_which_end_of_a_stand_is_its_centre(seed: int) -> None:
    """Half a stand is an arc, the same from both ends; its grain lies along the centre."""
    for way in ("bare", "twice"):
        one = case("ferry_shirt", way, seed)
        told, false = written(one)
        assert "neck" in told
        assert not false


@pytest.mark.parametrize("seed", [5, 6])
def test_the_grain_tells_the_centre_of_a_facing_from_its_side(seed: int) -> None:
    for way in ("bare", "coarse"):
        one = case("lined_skirt", way, seed)
        assert not written(one)[1]
    assert {"waist_front", "waist_back", "facing_side"} <= written(
        case("lined_skirt", "bare", seed)
    )[0]


@pytest.mark.parametrize("seed", [1, 6])
def test_a_facing_has_the_shape_of_the_waist_with_its_darts_closed(seed: int) -> None:
    """It was drafted on it: laid so it fits, and not the other way round, coarsely drawn too."""
    one = case("lined_skirt", "coarse", seed)
    assert {"waist_front", "waist_back", "facing_side"} <= near_the_top(one)
    nest = measure_nest(demo("lined_skirt"))
    for piece in ("front", "back"):
        own = nest.edges[f"{piece}.waist"].profile
        facing = nest.edges[f"facing_{piece}.waist"].profile
        assert np.abs(own - facing).max() < 1.0


def test_edges_across_a_waist_seam_run_on_into_each_other() -> None:
    """A guard of a zip is as long as the edges above and below the waist."""
    one = case("workshop_gilet", "bare", 1)
    assert near_the_top(one) >= relations_of(one)


@pytest.mark.parametrize("name", ["market_bag", "creel_bag", "ferry_shirt"])
def test_likenesses_are_those_of_pieces_laid_on_each_other(name: str) -> None:
    pattern = demo(name) if name != "creel_bag" else case(name, "marked").bare
    nest = measure_nest(pattern)
    for of in pattern.pieces:
        for piece in pattern.pieces:
            found = {
                (tuple(like.edges.items()), tuple(sorted(like.marks.items())), like.mirrored)
                for like in find_likenesses(nest, of, piece)
            }
            laid = {
                (tuple(one.edges.items()), tuple(sorted(one.marks.items())), one.flipped)
                for one in list_laid(pattern, of, piece)
                if of != piece or one.flipped or any(a != b for a, b in one.edges.items())
            }
            assert found == laid, (of, piece)
