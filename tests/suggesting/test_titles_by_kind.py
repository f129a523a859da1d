"""Edges without names go by the words that a kind of garment has for them.

Judged by the names that people wrote in the demo sets.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate.io.garments import known_kinds
from propagate.pattern.patternset import Relations
from propagate.suggesting.asking import Asking, titles_told
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from tests.suggesting.oracle import asked_all
from tests.suggesting.same_hand_drafts import burdock_shirt
from tests.suggesting.test_demo_sets import case

SAME = {
    ("crotch", "centre"),  # the seam from the waist to the inseam: common practice, no source
    ("waist", "top"),  # of a back below its yoke
    ("hem", "waist"),  # of a piece that ends at the waist
    ("shoulder", "yoke"),
    ("centre", "edge"),
    ("centre", "centre_front"),
    ("centre", "first_end"),
    ("lower", "low"),
    ("sewn edge", "neck"),
    ("sewn edge", "sewn"),
    ("front end", "last_end"),
    ("first end", "front_end"),  # of a binding, which begins at the front under the arm
    ("last end", "back_end"),
    ("top", "sewn"),
    ("front seam", "side_front"),
    ("back seam", "side_back"),
    ("point", "front_end"),
    ("centre", "sewn"),  # of a band, after what it is sewn to
}
"""A word of a kind, and what a draft calls the same edge."""


@pytest.mark.parametrize("redrawn", [False, True])
@pytest.mark.parametrize("demo", ["slant_trouser", "quay_jeans", "concert_dress", "ferry_shirt"])
def test_titles_are_the_drafts_own_words(demo: str, redrawn: bool) -> None:
    known = case(demo, 1, True, redrawn)
    garments = recognise_garments(measure_nest(known.bare), known_kinds())
    asking = asked_all(known, Asking(known.bare, garments=garments))
    titles = asking.joined.relations.titles
    drawn = {
        f"{known.names.pieces[piece]}.{new}": old for (piece, old), new in known.names.edges.items()
    }
    said = {(title, drawn[key]) for key, title in titles.items()}
    assert {(t, o) for t, o in said if t.replace(" ", "_") != o} <= SAME
    assert len(said) >= 6


def test_nothing_is_titled_before_its_piece_is_sure() -> None:
    known = case("slant_trouser", 1, True, False)
    garments = recognise_garments(measure_nest(known.bare), known_kinds())
    asking = Asking(known.bare, garments=garments)
    assert garments
    assert titles_told(known.bare, (), garments) == {}
    once = asking.answered("yes")
    named = {key.partition(".")[0] for key in once.joined.relations.titles}
    assert named == {span.piece for run in once.answers[0].runs for span in run}
    assert once.undone().joined.relations.titles == {}


def test_one_pair_of_edges_is_no_garment() -> None:
    """After a no to its shoulder a shirt's side is as long as itself still, as an inseam would be.

    What it was called as a shirt is taken back, and it is not called a trouser's.
    """
    asking = Asking.begin(replace(burdock_shirt(), relations=Relations()), kinds=known_kinds())
    while asking.question is not None:
        side = asking.question.edges == {"front.side", "back.side"}
        asking = asking.answered("yes" if side else "no")
    assert [one.word for one in asking.answers].count("yes") == 1
    assert [one.kind.name for one in asking.garments] == ["a trouser"]
    words = set(asking.joined.relations.titles.values())
    assert not words & {"crotch", "inseam", "waist"}
