"""Half a waistband: its fold is sewn to nothing, its notch meets the side seam."""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate.io.garments import known_kinds
from propagate.pattern.answers import Answer
from propagate.pattern.model import Landmark, Piece
from propagate.pattern.relations import PieceInfo, Span
from propagate.suggesting import Proposal, choose, suggest
from propagate.suggesting.asking import Asking
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.rows import measure_run
from propagate.suggesting.ways import weigh_way
from tests.bench.suggest import case
from tests.suggesting.garment_drafts import SIZES, strip
from tests.suggesting.oracle import asked_all
from tests.suggesting.test_drawn_by_hand import drawn, polygon
from tests.suggesting.truth import Case
from tests.suggesting.wardrobe_drafts import attic_pyjama


@pytest.mark.parametrize("fold", ["begin", "end"])
def test_what_lies_on_the_fold_is_sewn_to_nothing(fold: str) -> None:
    """A casing that is drawn whole has a seam at its ends; half of one has none at its fold."""
    drafted = attic_pyjama()
    nest = {}
    for size in SIZES:
        waists = [
            edge.length
            for name in ("front", "back")
            for edge in drafted.sized(name, size).edges
            if edge.name == "waist"
        ]
        nest[size] = strip(sum(waists), 70.0)
    pattern = replace(
        drafted,
        pieces={**drafted.pieces, "casing": Piece("casing", nest)},
        info={**drafted.info, "casing": PieceInfo("casing", fold=fold)},
        relations=type(drafted.relations)(),
    )
    found = suggest(pattern, kinds=known_kinds())
    assert {"front.waist", "back.waist"} < found.of_edge("casing.sewn")[0].edges
    assert not found.of_edge(f"casing.{fold}")


@pytest.mark.parametrize("more", [50.0, 1.0])
@pytest.mark.parametrize("turned", [False, True])
def test_a_notch_meets_the_joint_of_two_pieces(turned: bool, more: float) -> None:
    """It lies as far from the band's end as the piece beside that end is long.

    Where both are nearly as long as each other, it meets the joint either way, and one is nearer.
    """
    fronts, backs, bands = [], [], []
    for k in range(3):
        front = 100.0 + 3 * k
        back = front + more + (4 * k if more > 2.0 else 0.0)
        fronts.append(polygon([(0, 0), (front, 0), (front, 80), (0, 80)]))
        backs.append(polygon([(0, 0), (back, 0), (back, 90), (0, 90)]))
        whole = front + back
        at = back if turned else front
        side = Landmark("side", "e1", (at, 0.0), "notch")
        bands.append(polygon([(0, 0), (whole, 0), (whole, 40), (0, 40)], [side]))
    nest = measure_nest(drawn({"front": fronts, "back": backs, "band": bands}))
    lead = measure_run(nest, (Span("front", "e1"), Span("back", "e1")))
    follow = measure_run(nest, (Span("band", "e1"),))
    told = {way: weigh_way(nest, lead, follow, way) for way in (False, True)}
    words = "notches meet joints within 0.01 mm: band.side with the joint of front.e1 and back.e1"
    for way, one in told.items():
        assert any(fact.words == words for fact in one.facts) is (way is turned)
        assert bool(one.notches) is (way is turned or more < 1.5)
    assert told[turned].rank < told[not turned].rank


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_left_and_a_right_waistband_are_sewn_at_the_centre_back(seed: int) -> None:
    """The right one is longer by what lies over the fly's shield; no draft sews them lengthwise."""
    one = case("quay_jeans", "marked", seed)
    bands = [found for found in choose(one.found).taken if found.kind == "band"]
    assert {"band_left_fit", "band_right_fit"} <= set().union(*map(one.names_of, bands))
    (end,) = (found for found in one.found.proposals if "band_centre" in one.names_of(found))
    assert 0.5 < end.score <= 0.85
    assert not any(found.score >= 0.9 and not one.is_true(found) for found in one.found.proposals)
    done = asked_all(one, Asking.begin(one.bare, kinds=known_kinds()))
    joined = {name for answer in done.answers if answer.joins for name in _names(one, answer)}
    assert {"fly_left", "fly_right", "band_centre"} <= joined
    assert [answer.word for answer in done.answers if answer.kind == "mirror seam"] == ["yes"]


def _names(one: Case, answer: Answer) -> set[str]:
    return one.names_of(Proposal("seam", "", answer.runs, 0.0, relations=answer.relations))
