"""Fullness by its ratio, and lengths along a line beside the seam line, against closed forms.

That a ratio of 1.5 to 1 means one and a half lengths of the fuller side to one of the other, and
that an elastic is cut to a share of what it is sewn to, is common practice, no source.  The length
of a parallel curve is Steiner's: that of a circle of radius r at a distance d is 2 pi (r + d), see
M. P. do Carmo, Differential Geometry of Curves and Surfaces, section 1-7, exercise 6 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.pattern.beside import line_beside
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Band, PieceInfo, Seam, Zone, parse_run
from propagate.report.walk_text import walk_lines
from tests.engine.test_corners_that_follow import _piece
from tests.engine.test_ease_forms import SIZES, let_down, nest, panel, sewn
from tests.examples import examples, part_of

CHORD_MM = 0.01


def arc(radius: float, begin: float, end: float, parts: int = 0) -> np.ndarray:
    """Points of an arc round (0, 0), angles in degrees, drawn in chords."""
    step = 2.0 * np.arccos(1.0 - CHORD_MM / radius)
    count = parts or int(np.ceil(abs(np.deg2rad(end - begin)) / step))
    angles = np.deg2rad(np.linspace(begin, end, count + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def quarter(radius: float) -> SizedPiece:
    """A quarter of a disc: its round edge is the outside of the piece."""
    return _piece(
        ("foot", np.array([(0.0, 0.0), (radius, 0.0)])),
        ("round", arc(radius, 0.0, 90.0)),
        ("centre", np.array([(0.0, radius), (0.0, 0.0)])),
    )


def hole(radius: float) -> SizedPiece:
    """A square with a quarter of a round hole cut out of its corner, as an armhole is."""
    size = radius + 200.0
    return _piece(
        ("low", np.array([(radius, 0.0), (size, 0.0)])),
        ("right", np.array([(size, 0.0), (size, size)])),
        ("top", np.array([(size, size), (0.0, size)])),
        ("left", np.array([(0.0, size), (0.0, radius)])),
        ("round", arc(radius, 90.0, 0.0)),
    )


def strip(long: float) -> SizedPiece:
    return _piece(
        ("sewn", np.array([(0.0, 0.0), (long, 0.0)])),
        ("right", np.array([(long, 0.0), (long, 30.0)])),
        ("far", np.array([(long, 30.0), (0.0, 30.0)])),
        ("left", np.array([(0.0, 30.0), (0.0, 0.0)])),
    )


def bound(
    drawn: SizedPiece, long: float, run: str | list[str] = "main.round", *, seam: bool = False,
    ease: EaseSaid = 0.0, **beside: float,
) -> PatternSet:  # fmt: skip
    """A piece bound with a strip: by a band of one zone, or by a seam."""
    if seam:
        joined = Seam("bound", parse_run(run), parse_run("strip.sewn"), ease, **beside)
        relations = Relations(seams={"bound": joined})
    else:
        zone = Zone("all", "start", "end", parse_run(run), ease, **beside)
        relations = Relations(bands={"bound": Band("bound", "strip", "sewn", "far", (zone,))})
    return PatternSet(
        name="bound",
        sizes=SIZES,
        base="38",
        lay_on="hip",
        pieces={
            "main": Piece("main", dict.fromkeys(SIZES, drawn)),
            "strip": Piece("strip", dict.fromkeys(SIZES, strip(long))),
        },
        info={
            "main": PieceInfo("main"),
            "strip": replace(PieceInfo("strip"), strip=("sewn", "far")),
        },
        relations=relations,
    )


def revised(pattern: PatternSet, drawn: SizedPiece) -> float:
    """Length of the strip after the main piece came back, which sews in every size."""
    main = Piece("main", dict.fromkeys(SIZES, drawn))
    result = revise(pattern, {"main": main}, tolerance=0.01)
    for size in SIZES:
        assert walk(result.pattern, size, cut_lines=False).sews
    return result.pattern.sized("strip", "40").edge("sewn").length


# ------------------------------------------------------------------------------- ratios


@pytest.mark.parametrize(
    ("ease", "back"), [(Ease(gathers=1.5), 900.0), (Ease(stretched=0.85), 510.0)]
)
def test_a_follower_keeps_its_ratio(ease: Ease, back: float) -> None:
    nests = {size: panel(back + k * back / 60.0) for k, size in enumerate(SIZES)}
    pattern = sewn(nests, ease)
    assert all(walk(pattern, size, cut_lines=False).sews for size in SIZES)
    result = let_down(pattern, 30.0)
    for lead, size in ((630.0, "38"), (640.0, "40")):
        side = result.pattern.sized("back", size).edge("side").length
        assert side == pytest.approx(lead * back / 600.0, abs=0.01)


def test_the_walk_and_the_record_say_the_ratio() -> None:
    pattern = sewn(
        {size: panel(900.0 + 15.0 * k) for k, size in enumerate(SIZES)}, Ease(gathers=1.5)
    )
    (check,) = walk(pattern, cut_lines=False).of("seam")
    assert (check.ease, check.meant) == (300.0, "gathered 1.5 to 1")
    assert "side: gathered 1.5 to 1" in "\n".join(walk_lines(walk(pattern)))
    (row,) = let_down(pattern, 30.0).records["38"].seams
    assert row.meant == "gathered 1.5 to 1" and row.second == pytest.approx(945.0, abs=0.01)
    assert walk(sewn(nest(600.0), 0.0)).of("seam")[0].meant is None


def test_gathers_lie_between_the_notches_where_they_were_said() -> None:
    """200 mm gathered 2 to 1, the other 400 sewn flat: 800 mm, the notch at 400 of them."""
    ease = Ease(zones=(("front.n", Ease(gathers=2.0)), ("end", 0.0)))
    pattern = sewn(nest(800.0), ease, notches=(("front.n", "back.n"),))
    front = replace(panel(600.0), landmarks=(Landmark("n", "side", (200.0, -400.0)),))
    back = replace(panel(800.0), landmarks=(Landmark("n", "side", (200.0, -400.0)),))
    pieces = {
        "front": Piece("front", dict.fromkeys(SIZES, front)),
        "back": Piece("back", dict.fromkeys(SIZES, back)),
    }
    found = walk(replace(pattern, pieces=pieces), cut_lines=False)
    assert found.sews and found.of("notches")[0].difference == pytest.approx(0.0, abs=1e-9)
    assert found.of("seam")[0].meant == "gathered 2 to 1 up to front.n, 0 mm up to end"


@pytest.mark.parametrize(
    ("ease", "share"), [(Ease(gathers=1.5), 1 / 1.5), (Ease(stretched=0.85), 0.85)]
)
def test_a_zone_keeps_its_ratio(ease: Ease, share: float) -> None:
    """A skirt of 300 mm on a band of 200, or an elastic of 255; it grows to 330."""
    pattern = bound(strip(300.0), 300.0 * share, "main.sewn", ease=ease)
    assert walk(pattern, cut_lines=False).sews
    assert revised(pattern, strip(330.0)) == pytest.approx(330.0 * share, abs=0.01)


@examples(25)
@given(
    ratio=st.floats(0.2, 3.9),
    kind=st.sampled_from(["gathers", "stretched"]),
    long=st.floats(100.0, 400.0),
    seam=st.booleans(),
    backwards=st.booleans(),
)
def test_ratio_is_kept_either_way_round(
    ratio: float, kind: str, long: float, seam: bool, backwards: bool
) -> None:
    """In a seam the strip follows by the ratio, in a zone the run is gathered on to the strip."""
    factor = ratio if kind == "stretched" or seam else 1.0 / ratio
    run = "main.sewn reversed" if backwards else "main.sewn"
    pattern = bound(strip(long), long * factor, run, ease=Ease(**{kind: ratio}), seam=seam)
    assert walk(pattern, cut_lines=False).sews
    assert revised(pattern, strip(long + 20.0)) == pytest.approx((long + 20.0) * factor, abs=0.02)


# ---------------------------------------------------------------------------- on circles


BESIDE = [(quarter, "out", 1), (quarter, "inside", -1), (hole, "out", -1), (hole, "inside", 1)]


@pytest.mark.parametrize(
    ("beside", "stretch", "seam"), part_of(product(BESIDE, [1.0, 0.95], [False, True]), 3)
)
def test_binding_length_on_a_circle(
    beside: tuple[Callable[[float], Any], str, float], stretch: float, seam: bool
) -> None:
    """A quarter of 2 pi (r + d) or 2 pi (r - d), times the stretch; r grows from 100 to 110."""
    drawn, side, sign = beside
    away = 8.0
    lengths = [stretch * np.pi / 2.0 * (r + sign * away) for r in (100.0, 110.0)]
    ease: EaseSaid = 0.0 if stretch == 1.0 else Ease(stretched=stretch)
    pattern = bound(drawn(100.0), lengths[0], ease=ease, seam=seam, **{side: away})
    for check in walk(pattern, cut_lines=False).checks:
        assert abs(check.difference) < 0.05  # chords of 0.01 mm: 157 mm are 0.03 short
    assert revised(pattern, drawn(110.0)) == pytest.approx(lengths[1], abs=0.05)


@examples(40)
@given(
    radius=st.floats(40.0, 400.0),
    out=st.floats(-30.0, 30.0),
    end=st.floats(20.0, 330.0),
    cut=st.floats(0.1, 0.9),
)
def test_length_beside_an_arc(radius: float, out: float, end: float, cut: float) -> None:
    """(r + d) times the angle; the same against the edge, and in two spans."""
    points = arc(radius, 0.0, end)
    half = (points[int(cut * (len(points) - 1))] + points[int(cut * (len(points) - 1)) + 1]) / 2
    piece = _piece(
        ("round", points), ("back", np.vstack([points[-1], [(0.0, 0.0)], points[0]])),
    )  # fmt: skip
    piece = replace(piece, landmarks=(Landmark("cut", "round", (float(half[0]), float(half[1]))),))
    runs = (
        ["p.round"], ["p.round reversed"], ["p.round to cut", "p.round from cut"],
        ["p.round from end to cut", "p.round from cut to start"],
    )  # fmt: skip
    wanted = (radius + out) * np.deg2rad(end)
    for run in runs:
        line = line_beside(lambda _: piece, parse_run(run), out)
        assert line.lengths[-1] == pytest.approx(wanted, abs=0.001 * wanted + 0.01)
    assert line_beside(lambda _: piece, parse_run(runs[0]), 0.0).lengths[-1] == pytest.approx(
        piece.edge("round").length, abs=1e-9
    )


def test_ease_of_a_line_beside_lies_where_the_run_bends() -> None:
    """100 mm straight, then a quarter of a circle of 50: the 10 mm beside it are longer there."""
    bend = arc(50.0, -90.0, 0.0) + np.array([100.0, 50.0])
    drawn = _piece(
        ("foot", np.vstack([[(0.0, 0.0)], bend])),
        ("side", np.array([(150.0, 50.0), (150.0, 200.0)])),
        ("top", np.array([(150.0, 200.0), (0.0, 200.0)])),
        ("left", np.array([(0.0, 200.0), (0.0, 0.0)])),
    )
    line = line_beside(lambda _: drawn, parse_run("main.foot"), 10.0)
    assert line.at(99.0) == pytest.approx(99.0, abs=0.02)
    assert line.lengths[-1] == pytest.approx(100.0 + np.pi / 2.0 * 60.0, abs=0.3)
    mark = Landmark("n", "foot", (100.0, 0.0))
    pattern = bound(
        replace(drawn, landmarks=(mark,)), 100.0 + np.pi / 2.0 * 60.0, "main.foot",
        seam=True, out=10.0,
    )  # fmt: skip
    seam = replace(pattern.relations.seams["bound"], notches=(("main.n", "strip.n"),))
    marked = replace(strip(194.248), landmarks=(Landmark("n", "sewn", (100.0, 0.0)),))
    pieces = {**pattern.pieces, "strip": Piece("strip", dict.fromkeys(SIZES, marked))}
    pattern = replace(pattern, pieces=pieces, relations=Relations(seams={"bound": seam}))
    (pair,) = walk(pattern, cut_lines=False).of("notches")
    assert abs(pair.difference) < 0.3
