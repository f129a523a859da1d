"""Gored skirts: a ring of seams, and one gore that is cut six times."""

from __future__ import annotations

import math

import numpy as np
import pytest

from propagate import Lengthen, LetOut, Lower, PatternSet, Raise, Spread, TakeIn, TrueEdge, Widen
from propagate.engine.edits.replace import Replace
from propagate.engine.job import Given
from propagate.engine.run import run
from tests.garments.drafts import GORES, Gore, gore_of, one_gore, ring_of_gores, sized
from tests.garments.measures import area_unmirrored, edited, gains, long, misses, mm

RING, ONE = ring_of_gores(), one_gore()
SEWN = 0.02
"""mm within which the two sides of a seam are as long as each other."""


def girth(pattern: PatternSet, edge: str = "waist") -> float:
    return sum(long(pattern, f"{name}.{edge}") for name in GORES)


def test_a_ring_solved_by_hand() -> None:
    """Six seams, each taken in 3 mm on both its sides: 36 mm of the girth, and none of the hem."""
    found = edited(
        RING,
        *(
            TakeIn(edge=f"{name}.right", by=mm(3.0), at="waist", to=("hip",), both=True)
            for name in GORES
        ),
    )
    assert found.sews
    assert girth(RING) - girth(found.pattern) == pytest.approx(36.0, abs=0.01)
    assert girth(found.pattern, "hem") == pytest.approx(girth(RING, "hem"), abs=1e-9)
    assert max(misses(found.pattern).values()) < SEWN


def test_one_gore_cut_six_times_is_taken_in_on_both_its_sides() -> None:
    """The same 36 mm: its right side is sewn to its own left one."""
    edit = TakeIn(edge="gore.right", by=mm(3.0), at="waist", to=("hip",), both=True)
    found = edited(ONE, edit, sizes=ONE.sizes)
    assert found.sews
    for size in ONE.sizes:
        gore = found.pattern.sized("gore", size)
        waist = long(ONE, "gore.waist", size) - long(found.pattern, "gore.waist", size)
        assert 6 * waist == pytest.approx(36.0, abs=0.01)
        assert area_unmirrored(gore) < 0.5
        assert max(misses(found.pattern, size).values()) < SEWN


@pytest.mark.parametrize("all_along", [True, False])
def test_one_gore_taken_in_on_one_side_keeps_its_other_corner(all_along: bool) -> None:
    """The other side takes the tenths of the length alone, along its own line."""
    taper = {} if all_along else {"at": "waist", "to": ("hip",)}
    found = edited(ONE, TakeIn(edge="gore.right", by=mm(3.0), **taper))
    assert found.sews and misses(found.pattern)["seams"] < SEWN
    old, new = (p.sized("gore", "M").edge("left").points[[0, -1]] for p in (ONE, found.pattern))
    assert np.hypot(*(new - old).T).max() < 0.3
    assert gains(ONE, found.pattern)["gore.waist"] == pytest.approx(-3.0, abs=0.02)


@pytest.mark.parametrize("gore", ["gore_1", "gore_3"])
def test_whichever_gore_is_made_longer_the_ring_is(gore: str) -> None:
    """A hem lowered 20 mm: every side is 20 mm longer, every gore stays symmetric."""
    found = edited(RING, Lower(edge=f"{gore}.hem", by=mm(20.0)))
    assert found.sews
    told = gains(RING, found.pattern)
    for name in GORES:
        assert told[f"{name}.left"] == told[f"{name}.right"] == pytest.approx(20.0, abs=0.01)
        assert f"{name}.waist" not in told
        assert area_unmirrored(found.pattern.sized(name, "M")) < 5.0  # of 120,000 mm²
    assert max(misses(found.pattern).values()) < SEWN


@pytest.mark.parametrize(
    ("edit", "sides"),
    [
        (Raise(edge="gore_3.waist", by=mm(10.0)), 10.0),
        (Lengthen(level="knee", by=mm(20.0), pieces=("gore_5",)), 19.77),
        (Lengthen(level="knee", by=mm(20.0)), 19.77),
    ],
)
def test_the_other_ways_of_making_a_ring_longer(edit: Raise | Lengthen, sides: float) -> None:
    found = edited(RING, edit)
    assert found.sews
    told = gains(RING, found.pattern)
    for name in GORES:
        assert told[f"{name}.left"] == pytest.approx(sides, abs=0.02)
        assert told[f"{name}.right"] == pytest.approx(sides, abs=0.02)


def test_a_ring_let_out_at_the_hem_and_widened_goes_no_farther_than_its_seams() -> None:
    """What is let out at one seam gives two hems and no other; a widened gore its own alone."""
    out = edited(RING, LetOut(edge="gore_2.right", by=mm(15.0), at="start", to=("hip",), both=True))
    told = gains(RING, out.pattern)
    assert out.sews and {"gore_2.hem", "gore_3.hem"} <= set(told)
    assert told["gore_2.hem"] == pytest.approx(15.0, abs=0.02)
    assert girth(out.pattern, "hem") - girth(RING, "hem") == pytest.approx(30.0, abs=0.1)
    wide = edited(RING, Widen(piece="gore_2", first="hem", second="waist", by=mm(12.0)))
    assert wide.sews and set(gains(RING, wide.pattern)) == {"gore_2.hem", "gore_2.waist"}
    assert girth(wide.pattern) - girth(RING) == pytest.approx(12.0, abs=0.2)
    full = edited(RING, Spread(piece="gore_2", first="hem", second="waist", by=mm(12.0)))
    told = gains(RING, full.pattern)
    assert full.sews and set(told) == {"gore_2.hem", "gore_2.waist"}
    assert told["gore_2.hem"] == pytest.approx(12.0, abs=0.2)
    assert abs(told["gore_2.waist"]) < 0.2  # a hinge, trued


def test_a_gore_that_is_drafted_anew_is_followed_by_its_ring() -> None:
    """Sent 25 mm longer, as the generator drafts it; the others are judged by their lengths."""
    gore = gore_of("M", 12.0)
    new = Gore(gore.waist, gore.hem, gore.length + 25.0)
    piece = sized(new.draft())
    found = run(RING, Replace("M", Given({"gore_3": piece})))
    assert found.sews
    asked = long(found.pattern, "gore_3.right") - long(RING, "gore_3.right")
    assert asked == pytest.approx(25.0, abs=1.0)
    told = gains(RING, found.pattern)
    for name in GORES:
        assert told[f"{name}.left"] == pytest.approx(asked, abs=0.02)
        assert told[f"{name}.right"] == pytest.approx(asked, abs=0.02)
    # Its neighbours keep their shapes: their sides run on at the lean that they have at the hem.
    for name in {*GORES} - {"gore_3"}:
        hems = [p.sized(name, "M").edge("hem").points[[0, -1], 0] for p in (RING, found.pattern)]
        wider = float(np.ptp(hems[1]) - np.ptp(hems[0]))
        assert wider == pytest.approx(2 * asked * math.sin(gore.hem_lean), abs=0.05)


def test_a_ring_that_goes_one_way_says_what_it_takes_back() -> None:
    """The set does not let a lead follow: that is told, with what would."""
    found = edited(ring_of_gores(""), Lower(edge="gore_3.hem", by=mm(20.0)))
    (told,) = [n for n in found.records["M"].warnings if "carry a change both ways" in n.text]
    assert told.where == "seam_2" and "20.0 mm shorter again" in told.text


def test_the_peaks_of_a_gore_are_trued_across_its_own_seam() -> None:
    taken = TakeIn(edge="gore.right", by=mm(4.0), at="waist", to=("hip",), both=True)
    peaked = edited(ONE, taken)
    by_hand = edited(ONE, taken, TrueEdge(edge="gore.waist"))
    by_itself = edited(ONE, taken, corners="trued")

    def angle(pattern: PatternSet) -> float:
        waist, side = (pattern.sized("gore", "M").edge(e).points for e in ("waist", "right"))
        return _angle(waist[[0, 1]], side[[-1, -2]])

    assert abs(2 * angle(peaked.pattern) - 180.0) > 2.0
    for trued in (by_hand, by_itself):
        assert trued.sews and misses(trued.pattern)["seams"] < SEWN
        assert abs(2 * angle(trued.pattern) - 180.0) < 0.5


def test_a_ring_taken_in_is_trued_at_every_corner() -> None:
    """Each seam is still sewn, each waist runs on, and the girth is what was asked, near enough."""
    edits = [
        TakeIn(edge=f"{name}.right", by=mm(3.0), at="waist", to=("hip",), both=True)
        for name in GORES
    ]
    found = edited(RING, *edits, corners="trued")
    assert found.sews and max(misses(found.pattern).values()) < SEWN
    assert girth(RING) - girth(found.pattern) == pytest.approx(36.0, abs=0.5)
    for i, name in enumerate(GORES):
        own, other = (found.pattern.sized(n, "M") for n in (name, GORES[(i + 1) % len(GORES)]))
        turn = sum(
            _angle(piece.edge("waist").points[ends], piece.edge(side).points[there])
            for piece, side, ends, there in (
                (own, "right", [0, 1], [-1, -2]),
                (other, "left", [-1, -2], [0, 1]),
            )
        )
        assert turn == pytest.approx(180.0, abs=0.5)


def _angle(one: np.ndarray, other: np.ndarray) -> float:
    """Between two ways that leave a corner, each told by its first two points, in degrees."""
    ways = one[1] - one[0], other[1] - other[0]
    return float(np.degrees(np.arccos(ways[0] @ ways[1] / np.prod([np.hypot(*w) for w in ways]))))
