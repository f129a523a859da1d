"""Every way to say an ease, carried and walked; the lengths are worked out by hand.

The pieces are panels of straight lines: their sides are as long as their corners say.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.engine.applying import NamedEdit, apply_edits
from propagate.engine.edits.blend import Blend
from propagate.engine.edits.change_ease import ChangeEase
from propagate.engine.revise import revise
from propagate.engine.run import run
from propagate.engine.walk import walk
from propagate.pattern.ease import Ease
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Band, PieceInfo, Seam, Zone, parse_run
from tests.builders import tiny_set
from tests.engine.test_corners_that_follow import _piece

SIZES = ("38", "40")


def panel(side: float) -> SizedPiece:
    """A panel 200 mm wide whose sides are `side` mm long."""
    return _piece(
        ("hem", np.array([(0.0, -side), (200.0, -side)])),
        ("side", np.array([(200.0, -side), (200.0, 0.0)])),
        ("waist", np.array([(200.0, 0.0), (0.0, 0.0)])),
        ("centre", np.array([(0.0, 0.0), (0.0, -side)])),
    )


def nest(side: float, step: float = 10.0) -> dict[str, SizedPiece]:
    return {size: panel(side + k * step) for k, size in enumerate(SIZES)}


def sewn(back: dict[str, SizedPiece], ease: float | Ease, **more: object) -> PatternSet:
    """A front with sides of 600 and 610 mm that leads a back."""
    seam = Seam("side", parse_run("front.side"), parse_run("back.side"), ease=ease, **more)
    return PatternSet(
        name="panels",
        sizes=SIZES,
        base="38",
        lay_on="hip",
        pieces={"front": Piece("front", nest(600.0)), "back": Piece("back", back)},
        info={name: PieceInfo(name) for name in ("front", "back")},
        relations=Relations(seams={"side": seam}),
    )


def let_down(pattern: PatternSet, by: float):
    """The front comes back with sides longer by some millimetres in every size."""
    return revise(pattern, {"front": Piece("front", nest(600.0 + by))}, tolerance=0.01)


@pytest.mark.parametrize(
    ("ease", "back", "by", "expected"),
    [
        (6.0, {"38": 606.0, "40": 616.0}, 30.0, {"38": 636.0, "40": 646.0}),
        # 3 mm in 100: 630 * 1.03 and 640 * 1.03
        (Ease(share=0.03), {"38": 618.0, "40": 628.3}, 30.0, {"38": 648.9, "40": 659.2}),
        # within the range nothing moves: 620 - 603 = 17
        (Ease(between=(15.0, 25.0)), {"38": 620.0, "40": 630.0}, 3.0, {"38": 620.0, "40": 630.0}),
        # 620 - 610 = 10 is too little: 15 is the nearer end
        (Ease(between=(15.0, 25.0)), {"38": 620.0, "40": 630.0}, 10.0, {"38": 625.0, "40": 635.0}),
        # 620 - 590 = 30 is too much: 25 is the nearer end
        (Ease(between=(15.0, 25.0)), {"38": 620.0, "40": 630.0}, -10.0, {"38": 615.0, "40": 625.0}),
        (
            Ease(sizes=(("38", 5.0), ("40", 6.0))),
            {"38": 605.0, "40": 616.0},
            30.0,
            {"38": 635.0, "40": 646.0},
        ),
        # each size in its own way: 630 * 1.01; and 650 - 640 lies in 5 to 45
        (
            Ease(sizes=(("38", Ease(share=0.01)), ("40", Ease(between=(5.0, 45.0))))),
            {"38": 606.0, "40": 650.0},
            30.0,
            {"38": 636.3, "40": 650.0},
        ),
    ],
    ids=["amount", "share", "within", "below", "above", "sizes", "mixed"],
)
def test_a_follower_gets_its_ease(
    ease: float | Ease, back: dict[str, float], by: float, expected: dict[str, float]
) -> None:
    pattern = sewn({size: panel(side) for size, side in back.items()}, ease)
    assert all(walk(pattern, size, cut_lines=False).sews for size in SIZES)
    result = let_down(pattern, by)
    for size in SIZES:
        side = result.pattern.sized("back", size).edge("side").length
        assert side == pytest.approx(expected[size], abs=0.01), size
        (check,) = walk(result.pattern, size, only={"seam": ["side"]}, cut_lines=False).of("seam")
        assert check.verdict == "sews" and abs(check.difference) < 0.01
        lead = 600.0 + 10.0 * SIZES.index(size) + by
        assert check.ease == pytest.approx(expected[size] - lead, abs=0.01)
        if expected[size] == back[size]:
            assert result.pattern.sized("back", size) == pattern.sized("back", size)


def test_the_record_tells_the_ease_that_was_met() -> None:
    pattern = sewn(nest(620.0), Ease(between=(15.0, 25.0)))
    record = let_down(pattern, 10.0).records["38"]
    (row,) = [row for row in record.seams if row.name == "side" and row.kind == "seam"]
    assert row.ease == pytest.approx(15.0, abs=0.01)
    assert row.first == pytest.approx(610.0) and row.second == pytest.approx(625.0, abs=0.01)


def test_outside_the_range_a_walk_tells_how_far() -> None:
    pattern = sewn(nest(632.0), Ease(between=(15.0, 25.0)))
    (check,) = walk(pattern, cut_lines=False).of("seam")
    assert (check.ease, check.difference, check.verdict) == (25.0, 7.0, "does not sew")


def test_between_notches_the_ease_lies_where_it_was_said() -> None:
    """None up to the notch at 200 mm, 12 mm from there: the notches meet at 200 and 200.

    Spread evenly over 600 mm, a third of it, 4 mm, would lie before the notch.
    """
    mark = Landmark("n", "side", (200.0, -400.0))  # 200 mm up from the hem of the front
    ease = Ease(zones=(("front.n", 0.0), ("end", 12.0)))
    pattern = sewn(nest(612.0), ease, notches=(("front.n", "back.n"),))
    pieces = dict(pattern.pieces)
    front, back = panel(600.0), panel(612.0)
    pieces["front"] = Piece("front", dict.fromkeys(SIZES, replace(front, landmarks=(mark,))))
    on_back = replace(mark, point=(200.0, -412.0))
    pieces["back"] = Piece("back", dict.fromkeys(SIZES, replace(back, landmarks=(on_back,))))
    pattern = replace(pattern, pieces=pieces)
    found = walk(pattern, cut_lines=False)
    assert found.of("seam")[0].ease == 12.0 and found.of("seam")[0].difference == 0.0
    assert found.of("notches")[0].difference == pytest.approx(0.0, abs=1e-9)
    even = replace(pattern.relations.seams["side"], ease=12.0)
    spread = replace(pattern, relations=Relations(seams={"side": even}))
    assert walk(spread, cut_lines=False).of("notches")[0].difference == pytest.approx(-4.0)


def test_zones_share_what_a_range_leaves_open() -> None:
    """10 of 12 mm that two zones of 0 to 4 and 0 to 8 may have: both give 10 / 12 of theirs."""
    mark = Landmark("n", "side", (200.0, -300.0))
    ease = Ease(zones=(("front.n", Ease(between=(0.0, 4.0))), ("end", Ease(between=(0.0, 8.0)))))
    pattern = sewn(nest(610.0), ease, notches=(("front.n", "back.n"),))
    marked = {s: replace(panel(600.0), landmarks=(mark,)) for s in SIZES}
    on_back = Landmark("n", "side", (200.0, -610.0 + 300.0 + 4.0 * 10.0 / 12.0))
    backs = {s: replace(panel(610.0), landmarks=(on_back,)) for s in SIZES}
    pieces = {"front": Piece("front", marked), "back": Piece("back", backs)}
    found = walk(replace(pattern, pieces=pieces), cut_lines=False)
    assert found.of("seam")[0].ease == pytest.approx(10.0)
    assert found.of("notches")[0].difference == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("ease", "strip", "by", "expected"),
    [
        (3.0, 197.0, 10.0, 207.0),
        # of 210 mm of cloth 5 in 100 are eased on
        (Ease(share=0.05), 190.0, 10.0, 199.5),
        (Ease(between=(0.0, 8.0)), 196.0, 3.0, 196.0),  # 203 - 196 = 7
        (Ease(between=(0.0, 8.0)), 196.0, 10.0, 202.0),  # 210 - 8
        (Ease(sizes=(("38", 3.0), ("40", 5.0))), 197.0, 10.0, 207.0),
    ],
    ids=["amount", "share", "within", "outside", "sizes"],
)
def test_a_zone_of_a_band_gets_its_ease(
    ease: float | Ease, strip: float, by: float, expected: float
) -> None:
    def skirt(width: float) -> SizedPiece:
        return _piece(
            ("hem", np.array([(0.0, -600.0), (200.0, -600.0)])),
            ("side", np.array([(200.0, -600.0), (width, 0.0)])),
            ("waist", np.array([(width, 0.0), (0.0, 0.0)])),
            ("centre", np.array([(0.0, 0.0), (0.0, -600.0)])),
        )

    def band_of(size: float) -> SizedPiece:
        return _piece(
            ("sewn", np.array([(0.0, 0.0), (size, 0.0)])),
            ("right", np.array([(size, 0.0), (size, 40.0)])),
            ("far", np.array([(size, 40.0), (0.0, 40.0)])),
            ("left", np.array([(0.0, 40.0), (0.0, 0.0)])),
        )

    zone = Zone("all", "start", "end", parse_run("skirt.waist"), ease)
    strips = {"38": band_of(strip), "40": band_of(strip)}
    pattern = PatternSet(
        name="skirt",
        sizes=SIZES,
        base="38",
        lay_on="hip",
        pieces={
            "skirt": Piece("skirt", dict.fromkeys(SIZES, skirt(200.0))),
            "band": Piece("band", strips),
        },
        info={name: PieceInfo(name) for name in ("skirt", "band")},
        relations=Relations(bands={"fit": Band("fit", "band", "sewn", "far", (zone,))}),
    )
    wider = Piece("skirt", dict.fromkeys(SIZES, skirt(200.0 + by)))
    result = revise(pattern, {"skirt": wider}, tolerance=0.01).pattern
    assert result.sized("band", "38").edge("sewn").length == pytest.approx(expected, abs=0.011)
    assert walk(result, "38", cut_lines=False).of("band")[0].difference == pytest.approx(
        0.0, abs=0.011
    )


@pytest.mark.parametrize(
    ("ease", "bounds"),
    [
        (4.0, (0.0, 4.0, 4.0)),
        (Ease(share=0.01), (0.01, 0.0, 0.0)),
        (Ease(between=(2.0, 3.0)), (0.0, 2.0, 3.0)),
        (Ease(sizes=(("36", 1.0), ("38", 2.0), ("40", 5.0))), (0.0, 5.0, 5.0)),
    ],
    ids=["amount", "share", "range", "sizes"],
)
def test_a_blend_draws_its_sides_with_their_ease(ease, bounds) -> None:
    """The waist of 36 with the hip of 40; the lead is taken from the size of the hip."""
    pattern = tiny_set()
    seam = replace(pattern.relations.seams["side_seam"], ease=ease)
    relations = replace(pattern.relations, seams={"side_seam": seam})
    result = run(replace(pattern, relations=relations), Blend({"waist": "36", "hip": "40"}))
    size = result.pattern.base
    lead, follow = (result.pattern.sized(n, size).edge("side").length for n in ("front", "back"))
    share, *ends = bounds
    least, most = (share * lead + end for end in ends)
    assert least - 0.05 <= follow - lead <= most + 0.05
    (check,) = walk(result.pattern, size, only={"seam": ["side_seam"]}, cut_lines=False).of("seam")
    assert abs(check.difference) <= 0.05 and least - 1e-9 <= check.ease <= most + 1e-9


@pytest.mark.parametrize("by", [30.0, -8.0])
def test_a_notch_follows_with_the_ease_of_its_stretch(by: float) -> None:
    """3 mm in 100 up to the notch, 6 mm beyond: the back's notch lies at 1.03 times the front's.

    The front is let down at the hem, so its notch comes to lie at 200 + by; the back's had lain
    at 206 and belongs at 1.03 * (200 + by).
    """
    ease = Ease(zones=(("front.n", Ease(share=0.03)), ("end", 6.0)))

    def marked(side: float, below: float) -> SizedPiece:
        return replace(panel(side), landmarks=(Landmark("n", "side", (200.0, below - side)),))

    pattern = sewn(nest(612.0), ease, notches=(("front.n", "back.n"),))
    fronts = Piece("front", dict.fromkeys(SIZES, marked(600.0, 200.0)))
    backs = Piece("back", dict.fromkeys(SIZES, marked(612.0, 206.0)))
    pattern = replace(pattern, pieces={"front": fronts, "back": backs})
    assert max(abs(check.difference) for check in walk(pattern, cut_lines=False).checks) < 1e-9
    new = Piece("front", dict.fromkeys(SIZES, marked(600.0 + by, 200.0 + by)))
    result = revise(pattern, {"front": new}, tolerance=0.01).pattern
    back = result.sized("back", "38")
    assert back.edge("side").length == pytest.approx(612.0 + 1.03 * by, abs=0.01)
    assert back.distance("side", "n") == pytest.approx(1.03 * (200.0 + by), abs=0.05)
    assert max(abs(check.difference) for check in walk(result, "38", cut_lines=False).checks) < 0.05


def capped(first: float, second: float, third: float) -> PatternSet:
    """A straight side of 600 mm with notches at 200 and 400, sewn to one curved edge.

    The curve is an arc over 600 mm and its ease; its notches lie where each third has its own.
    """
    ease, long = (first, second, third), 600.0 + first + second + third
    angles = np.linspace(-0.55, 0.55, 241)
    radius = long / (480.0 * np.sin(angles[1] / 2.0 - angles[0] / 2.0))
    arc = radius * np.column_stack([np.cos(angles) - np.cos(0.55), np.sin(angles)])

    def on_arc(place: float) -> tuple[float, float]:
        k = place / long * 240.0
        x, y = (np.interp(k, np.arange(241), arc[:, i]) for i in (0, 1))
        return float(x), float(y)

    low, high = arc[0], arc[-1]
    left = np.array([-300.0, 0.0])
    cap = _piece(
        ("hem", np.array([low + left, low])),
        ("side", arc),
        ("top", np.array([high, high + left])),
        ("centre", np.array([high + left, low + left])),
    )
    places = {"a": 200.0 + first, "b": 400.0 + first + second}
    cap = replace(
        cap, landmarks=tuple(Landmark(n, "side", on_arc(mm), "notch") for n, mm in places.items())
    )
    marks = (Landmark("a", "side", (200.0, -400.0)), Landmark("b", "side", (200.0, -200.0)))
    ends = ("front.a", "front.b", "end")
    pattern = sewn(
        dict.fromkeys(SIZES, cap),
        Ease(zones=tuple(zip(ends, ease, strict=True))),
        notches=(("front.a", "back.a"), ("front.b", "back.b")),
    )
    front = Piece("front", dict.fromkeys(SIZES, replace(panel(600.0), landmarks=marks)))
    return replace(pattern, pieces={**pattern.pieces, "front": front})


@pytest.mark.parametrize("ease", [(0.0, 9.0, 6.0), (2.0, 4.0, 6.0), (0.0, 10.0, 2.0)])
def test_an_edit_of_an_ease_by_zones_puts_each_where_it_was_said(ease) -> None:
    """Of one curved edge every stretch between two notches has its own share, and no more."""
    pattern = capped(0.0, 6.0, 6.0)
    assert walk(pattern, cut_lines=False).sews
    ends = ("front.a", "front.b", "end")
    edit = ChangeEase(seam="side", to=Ease(zones=tuple(zip(ends, ease, strict=True))))
    changed = apply_edits(pattern, [NamedEdit("fuller", edit)]).pattern
    for size in SIZES:
        back = changed.sized("back", size)
        line = shapely.LineString(back.edge("side").points)
        places = [line.project(shapely.Point(m.point)) for m in back.landmarks]
        found = np.diff([0.0, *places, line.length]) - 200.0
        assert found == pytest.approx(ease, abs=0.05), size


@pytest.mark.parametrize("ease", [(0.0, 9.0, 6.0), (2.0, 4.0, 6.0), (0.0, 10.0, 2.0)])
def test_on_a_straight_edge_the_notches_slide_along_it(ease) -> None:
    """From 0, 6 and 6 mm in the thirds of 600: by hand the notches lie at the sums from the hem."""
    ends = ("front.a", "front.b", "end")
    front = panel(600.0), {"a": 200.0, "b": 400.0}, -600.0
    back = panel(612.0), {"a": 200.0, "b": 406.0}, -612.0
    nests = {
        name: replace(
            piece,
            landmarks=tuple(Landmark(n, "side", (200.0, low + mm)) for n, mm in marks.items()),
        )
        for name, (piece, marks, low) in {"front": front, "back": back}.items()
    }
    pattern = sewn(
        dict.fromkeys(SIZES, nests["back"]),
        Ease(zones=tuple(zip(ends, (0.0, 6.0, 6.0), strict=True))),
        notches=(("front.a", "back.a"), ("front.b", "back.b")),
    )
    fronts = Piece("front", dict.fromkeys(SIZES, nests["front"]))
    pattern = replace(pattern, pieces={**pattern.pieces, "front": fronts})
    edit = ChangeEase(seam="side", to=Ease(zones=tuple(zip(ends, ease, strict=True))))
    changed = apply_edits(pattern, [NamedEdit("fuller", edit)]).pattern
    made = changed.sized("back", "38")
    side = made.edge("side").points
    hem, top = side[0, 1], side[-1, 1]
    a, b = (made.landmark(name).point[1] - hem for name in ("a", "b"))
    first, second, third = ease
    wanted = (200.0 + first, 400.0 + first + second, 600.0 + first + second + third)
    assert (a, b, top - hem) == pytest.approx(wanted, abs=0.05)
