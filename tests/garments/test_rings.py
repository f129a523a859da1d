"""Strips whose ends are sewn to each other, as a neckband's and a casing's are.

A strip is cut longer or shorter and no wider, its ends square (common practice, no source).
"""

from __future__ import annotations

import numpy as np
import pytest

import propagate
from propagate import Amount, Lower, NamedEdit, PatternSet, TakeIn
from tests.garments.measures import long
from tests.suggesting.gusset_drafts import reed_leggings
from tests.suggesting.wardrobe_drafts import attic_pyjama, cove_tee

NARROW = TakeIn(edge="front.side", by=Amount(mm=10.0))


@pytest.mark.parametrize(
    ("made", "edit", "strip", "share"),
    [
        (attic_pyjama(), NARROW, "casing", 1.0),
        (reed_leggings(), NARROW, "casing", 1.0),
        (cove_tee(), Lower(edge="front.neck", by=Amount(mm=20.0)), "neckband", 0.85),
    ],
)
def test_a_ring_changes_in_length_alone(
    made: PatternSet, edit: propagate.SizedEdit, strip: str, share: float
) -> None:
    found = propagate.apply_edits(made, [NamedEdit("it", edit)], sizes=("3",))
    assert found.sews
    run = made.relations.seams[strip].lead
    change = sum(long(found.pattern, s.key, "3") - long(made, s.key, "3") for s in run)
    assert abs(change) > 15.0
    for edge in ("sewn", "far"):
        gained = long(found.pattern, f"{strip}.{edge}", "3") - long(made, f"{strip}.{edge}", "3")
        assert gained == pytest.approx(share * change, abs=0.05)
    for end in ("begin", "end"):
        x, y = np.ptp(found.pattern.sized(strip, "3").edge(end).points, axis=0)
        assert (x, y) == pytest.approx((0.0, long(made, f"{strip}.{end}", "3")), abs=0.01)
