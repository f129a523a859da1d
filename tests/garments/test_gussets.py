"""Gussets that follow what is sewn round them: each side is as long as the edge that it is sewn to.

Judged by the lengths of chords alone.
"""

from __future__ import annotations

import pytest

import propagate
from propagate import Amount, LetOut, NamedEdit, PatternSet, TakeIn
from tests.garments.measures import long
from tests.suggesting.gusset_drafts import osier_top, reed_leggings

SEWN_MM = 0.02


@pytest.mark.parametrize(
    ("made", "edit", "moved"),
    [
        (reed_leggings(), TakeIn(edge="front.inseam", by=Amount(mm=8.0)), "gusset.front_left"),
        (reed_leggings(), TakeIn(edge="front.inseam", by=Amount(mm=8.0)), "gusset.back_right"),
        (reed_leggings(), LetOut(edge="front.crotch", by=Amount(mm=8.0)), "gusset.front_right"),
        (osier_top(), TakeIn(edge="front.side", by=Amount(mm=8.0)), "gusset.back_side"),
        (osier_top(), TakeIn(edge="front.underarm", by=Amount(mm=6.0)), "gusset.back_sleeve"),
    ],
)
def test_a_gusset_follows_what_it_is_sewn_to(
    made: PatternSet, edit: propagate.SizedEdit, moved: str
) -> None:
    found = propagate.apply_edits(made, [NamedEdit("it", edit)], sizes=("3",))
    assert found.sews
    assert abs(long(found.pattern, moved, "3") - long(made, moved, "3")) > 2.0
    for seam in made.relations.seams.values():
        if not seam.mirror:
            sides = [
                sum(long(found.pattern, span.key, "3") for span in run)
                for run in (seam.lead, seam.follow)
            ]
            assert sides[0] == pytest.approx(sides[1], abs=SEWN_MM), seam.name
