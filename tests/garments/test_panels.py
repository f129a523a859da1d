"""Demo garments and a skirt of four panels, edited from the side that follows, and blended.

Lengths are judged by the chords of the lines; what a seam asks by the sums of its runs.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

import propagate
from propagate import BlendLevels, LetOut, Lower, PatternSet, Raise, TakeIn
from propagate.engine.edits.sized import SizedEdit
from tests.garments.drafts import GORES, ring_of_gores
from tests.garments.measures import edited, gains, long, misses, mm, up_to
from tests.shared import demo, in_sizes

SEWN = 0.02
PANELS = GORES[:4]
FOUR, RING = ring_of_gores(names=PANELS), ring_of_gores()
SHIRT = in_sizes(demo("ferry_shirt"), ("39",))


DRESS = in_sizes(demo("concert_dress"), ("40",))
HEMS = ("front", "side_front", "side_back", "back")


def open_on(*names: str) -> PatternSet:
    """The dress with these seams alone open to both sides."""
    seams = {
        name: replace(seam, both_ways=name in names) for name, seam in DRESS.relations.seams.items()
    }
    return replace(DRESS, relations=replace(DRESS.relations, seams=seams))


def worse_sewn(old: PatternSet, new: PatternSet, size: str) -> float:
    """By how much a seam's two sides went from what their ease was before, mm at most."""
    before = misses(old, size)
    walked = {name for name, seam in old.relations.seams.items() if seam.check}
    return max(
        abs(now - before[name]) for name, now in misses(new, size).items() if name not in walked
    )


def test_a_side_front_let_out_over_the_bust_leads_its_front() -> None:
    """Its seam is longer, the front's by as much, and each zone keeps its ease: 0, 5 and 0 mm."""
    edit = LetOut(
        edge="side_front.princess", by=mm(6.0), at="bust_notch", to=("bust_low", "bust_top")
    )
    found = edited(DRESS, edit, sizes=("40",))
    assert found.sews and worse_sewn(DRESS, found.pattern, "40") < SEWN
    told = gains(DRESS, found.pattern, "40")
    assert told["front.princess"] == pytest.approx(told["side_front.princess"], abs=SEWN)
    assert told["side_front.princess"] > 1.0
    zones = [
        abs(
            up_to(found.pattern, f"{piece}.princess", "bust_top", "40")
            - up_to(found.pattern, f"{piece}.princess", "bust_low", "40")
        )
        for piece in ("front", "side_front")
    ]
    assert zones[1] - zones[0] == pytest.approx(5.0, abs=SEWN)


@pytest.mark.parametrize("piece", HEMS)
def test_whichever_panel_is_lowered_at_its_hem_the_dress_is(piece: str) -> None:
    found = edited(DRESS, Lower(edge=f"{piece}.hem", by=mm(15.0)), sizes=("40",))
    assert found.sews and worse_sewn(DRESS, found.pattern, "40") < SEWN
    told = gains(DRESS, found.pattern, "40")
    for edge in (
        *("front.centre_front", "front.princess", "side_front.princess", "side_front.side"),
        *("side_back.side", "side_back.princess", "back.princess", "back.centre"),
    ):
        assert told[edge] == pytest.approx(15.0, abs=0.05)
    for name in HEMS:
        assert told[f"{name}.hem"] < 2.0  # a little flare, as at any hem


@pytest.mark.parametrize(
    "names",
    [("back_princess", "side_seam"), ("front_princess", "back_princess", "side_seam")],
)
@pytest.mark.parametrize("piece", ["back", "side_back"])
def test_a_ring_whose_shoulders_go_one_way_moves_no_hem_far(
    names: tuple[str, ...], piece: str
) -> None:
    """The panels lead each other in a circle then: a corner that nothing follows stays.

    A hem that sank there as a whole went 106 mm sideways, or the edit was refused.
    """
    pattern = open_on(*names)
    found = edited(pattern, Lower(edge=f"{piece}.hem", by=mm(15.0)), sizes=("40",))
    told = gains(pattern, found.pattern, "40")
    assert found.sews and worse_sewn(pattern, found.pattern, "40") < SEWN
    assert told["side_back.princess"] == pytest.approx(15.0, abs=0.05)
    assert max(told.get(f"{name}.hem", 0.0) for name in HEMS) < 2.0


def test_a_side_back_let_out_at_the_underarm_leads_side_front_and_binding() -> None:
    edit = LetOut(edge="side_back.side", by=mm(6.0), at="start", to=("hip_side",))
    found = edited(DRESS, edit, sizes=("40",))
    assert found.sews and worse_sewn(DRESS, found.pattern, "40") < SEWN
    told = gains(DRESS, found.pattern, "40")
    assert told["side_back.side"] == pytest.approx(told["side_front.side"], abs=SEWN)
    armholes = told["side_back.armhole"] + told["side_front.armhole"]
    assert told["armhole_binding.sewn"] == pytest.approx(armholes, abs=SEWN)
    assert told["armhole_binding.rim"] == pytest.approx(armholes, abs=SEWN)


@pytest.mark.parametrize(
    ("edit", "moved"),
    [
        (Lower(edge="front.neck", by=mm(8.0)), "stand.neck"),
        (Raise(edge="front.yoke", by=mm(5.0)), "sleeve.cap"),
        (LetOut(edge="front.armhole", by=mm(6.0), at="end", to=("start",)), "yoke.front"),
        (
            TakeIn(edge="sleeve.side_front", by=mm(8.0), at="start", to=("end",), both=True),
            "cuff.sewn",
        ),
    ],
)
def test_neck_shoulder_and_wrist_of_a_shirt_go_down_their_chains(
    edit: SizedEdit, moved: str
) -> None:
    """Yoke, stand, collar, cap and cuff: each grows by the sum of what it is sewn to."""
    found = edited(SHIRT, edit, sizes=("39",))
    assert found.sews and worse_sewn(SHIRT, found.pattern, "39") < SEWN
    told = gains(SHIRT, found.pattern, "39")
    assert abs(told[moved]) > 1.0

    def summed(*edges: str) -> float:
        return sum(told.get(edge, 0.0) for edge in edges)

    for follower, leads in (
        ("stand.neck", ("front.neck", "yoke.neck", "buttonhole_band.neck")),
        ("stand.top", ("stand.neck",)),
        ("collar.sewn", ("stand.top",)),
        ("sleeve.cap", ("front.armhole", "yoke.armhole", "back.armhole")),
        ("yoke.front", ("front.yoke",)),
        ("cuff.sewn", ("sleeve.wrist",)),
        ("cuff.lower", ("sleeve.wrist",)),
    ):
        assert summed(follower) == pytest.approx(summed(*leads), abs=SEWN), follower


@pytest.mark.parametrize("panel", PANELS)
def test_whichever_of_four_panels_is_lowered_all_are(panel: str) -> None:
    found = edited(FOUR, Lower(edge=f"{panel}.hem", by=mm(20.0)))
    assert found.sews and max(misses(found.pattern).values()) < SEWN
    told = gains(FOUR, found.pattern)
    for name in PANELS:
        assert told[f"{name}.left"] == told[f"{name}.right"] == pytest.approx(20.0, abs=0.01)


@pytest.mark.parametrize(("pattern", "names"), [(RING, GORES), (FOUR, PANELS)])
def test_a_gored_skirt_is_blended(pattern: PatternSet, names: tuple[str, ...]) -> None:
    """The waist of one size, the hem of another: each gore gets both, every seam is sewn."""
    found = propagate.run(pattern, BlendLevels({"waist": "S", "hip": "L"}), corners="left")
    assert found.sews
    (size,) = found.pattern.sizes
    assert max(misses(found.pattern, size).values()) < SEWN
    for name in names:
        for edge, taken in (("waist", "S"), ("hem", "L")):
            made, was = long(found.pattern, f"{name}.{edge}", size), f"{name}.{edge}"
            assert made == pytest.approx(long(pattern, was, taken), abs=0.1)
