"""Garments that no kind was tuned for: what is proposed, asked and written of bare seam lines.

Judged by the relations that the drafts were written with.
"""

from __future__ import annotations

import pytest

from propagate.engine.review.taken import run_lengths
from propagate.io.garments import known_kinds
from propagate.pattern.ease import Ease
from propagate.pattern.relations import Seam
from propagate.suggesting import ACCEPT
from propagate.suggesting.asking import ASKED, Asking
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from tests.bench.suggest import case, near_the_top, relations_of, written
from tests.suggesting import tailored_drafts as tailored
from tests.suggesting.oracle import asked_all
from tests.suggesting.roughened import WAYS

WARDROBE = {
    "cove_tee": 4,
    "tarn_raglan": 7,
    "moor_hoodie": 4,
    "attic_pyjama": 5,
    "mill_waistcoat": 3,
    "creel_bag": 2,
    "pantry_apron": 1,
    "fen_gores": 1,
    "weir_panels": 4,
    "hop_dungarees": 5,
    "market_bag": 4,
    "garden_apron": 2,
    "heath_coat": 7,
    "lagoon_culottes": 4,
    "ford_trouser": 2,
    "heron_skirt": 2,
    "linden_dress": 5,
    "alder_pants": 6,
    "willow_trouser": 3,
    "sedge_skirt": 3,
    "reed_leggings": 9,
    "osier_top": 7,
}
"""Garments, and how many of their relations are written of bare seam lines, at least."""

NOT_NEAR = {"creel_bag": {"lining_round"}}
"""A strip fits with either long side; which goes first is chance."""


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", WARDROBE)
def test_what_is_written_of_a_garment_is_true(name: str, way: str) -> None:
    one = case(name, way, 2)
    told, false = written(one)
    assert not false, [str(proposal) for proposal in false]
    if way == "bare":
        assert len(told) >= WARDROBE[name]
        assert near_the_top(one) >= relations_of(one) - NOT_NEAR.get(name, set())


def test_edges_that_a_garment_leaves_free_are_asked_about_last() -> None:
    """Nobody sews the hem of the back to that of the front, as long as each other as they are."""
    one = case("cove_tee", "bare", 2)
    hems = {f"{one.names.pieces[p]}.{one.names.edges[p, 'hem']}" for p in ("front", "back")}
    (hem,) = (found for found in one.found.proposals if found.edges == hems)
    true = [found for found in one.found.proposals if one.is_true(found)]
    assert hem.score < min(found.score for found in true) - 0.3
    assert any("known without such a seam" in words for words in hem.against)


def test_a_neck_is_not_asked_to_be_sewn_to_its_own_twin() -> None:
    """Nobody closes a neck; a shirt sews it to a collar or a band, if to anything."""
    one = case("puddle_pinafore", "bare", 1)
    neck = f"{one.names.pieces['front']}.{one.names.edges['front', 'neck']}"
    twins = [found for found in one.found.of_edge(neck) if found.kind == "mirror seam"]
    assert all(found.score < ASKED for found in twins)


WRONG = {"creel_bag": 7, "tarn_raglan": 5}
"""Questions that are answered no, at most, where they are more than 3."""


@pytest.mark.parametrize("name", WARDROBE)
def test_most_questions_about_a_garment_are_confirmed(name: str) -> None:
    one = case(name, "bare", 1)
    garments = recognise_garments(measure_nest(one.bare), known_kinds())
    done = asked_all(one, Asking(one.bare, garments=garments))
    said = [answer.word for answer in done.answers]
    assert said.count("no") <= WRONG.get(name, 3)
    assert len(said) - said.count("no") >= len(relations_of(one))


def test_a_rib_is_written_as_stretched_on() -> None:
    """As the draft cut it: 0.85 of the whole neck."""
    one = case("cove_tee", "bare", 1)
    (band,) = (found for found in one.found.proposals if one.names_of(found) == {"neckband"})
    (seam,) = band.relations
    assert isinstance(seam, Seam)
    assert seam.ease == Ease(stretched=0.85)


def test_both_caps_of_a_sleeve_in_two_parts_go_to_the_pitches() -> None:
    """With the ease that the draft gave them; which marks are the pitches is yours to say."""
    one = case("heath_coat", "marked", 1)
    for name, least, most in (
        ("top_armhole", tailored.TOP_EASE_MM, tailored.TOP_EASE_MM + 2.0),
        ("under_armhole", tailored.UNDER_EASE_MM, tailored.UNDER_EASE_MM),
    ):
        (cap,) = (found for found in one.found.proposals if one.names_of(found) == {name})
        assert 0.5 < cap.score < ACCEPT
        (seam,) = (r for r in cap.relations if isinstance(r, Seam))
        lead, follow = (run_lengths(one.bare, run) for run in (seam.lead, seam.follow))
        assert (follow - lead).min() == pytest.approx(least, abs=0.1)
        assert (follow - lead).max() == pytest.approx(most, abs=0.1)
        assert cap.against


def test_culottes_have_a_waistband_and_a_seam_in_front() -> None:
    one = case("lagoon_culottes", "bare", 1)
    (garment,) = one.found.garments
    assert "waistband" in garment.cast and "casing" not in garment.cast
    (front,) = (found for found in one.found.proposals if one.names_of(found) == {"crotch_front"})
    assert front.kind == "mirror seam" and ASKED < front.score < ACCEPT


@pytest.mark.parametrize(
    ("name", "piece", "edge"),
    [
        ("heath_coat", "front", "edge"),
        ("heath_coat", "facing", "inner"),
        ("harbour_shirt", "front", "edge"),
        ("concert_dress", "front_facing", "inner"),
        ("concert_dress", "front_facing", "centre"),
        ("lined_skirt", "facing_front", "centre"),
        ("lagoon_culottes", "waistband", "far"),
    ],
)
def test_an_edge_that_is_left_free_is_not_asked_to_meet_its_twin(
    name: str, piece: str, edge: str
) -> None:
    one = case(name, "bare", 1)
    key = f"{one.names.pieces[piece]}.{one.names.edges[piece, edge]}"
    twins = [found for found in one.found.of_edge(key) if found.kind == "mirror seam"]
    assert all(found.score < ASKED for found in twins)


def test_a_seam_is_not_in_the_way_of_itself() -> None:
    """Where two ways of looking find the same seam, the better one is not weighed down by it."""
    one = case("scoop_skirt", "marked", 1)
    (garment,) = one.found.garments
    assert garment.cast["pocket_facing"].piece == one.names.pieces["pocket_facing"]
    (side,) = (found for found in one.found.proposals if one.names_of(found) == {"flank_seam"})
    assert side.score >= ACCEPT
    assert not any("in the way" in words for words in side.against)


def test_a_straight_centre_back_may_lie_on_the_fold() -> None:
    """A curved one cannot: the back of this skirt is shaped to the waist."""
    curved = case("scoop_skirt", "marked", 1)
    straight = case("lined_skirt", "bare", 1)
    for one, name, sure in ((curved, "cb_seam", True), (straight, "back_seam", False)):
        (seam,) = (found for found in one.found.proposals if one.names_of(found) == {name})
        assert (seam.score >= ACCEPT) == sure
