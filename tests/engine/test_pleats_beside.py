"""Pleats in a strip, and darts beside or within a pleat; by hand arithmetic.

A knife pleat takes up twice its depth; cloth is folded away once (common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import propagate
from propagate.engine.revise import revise
from propagate.engine.strips_found import strip_of
from propagate.engine.walk import walk
from propagate.errors import Conflict
from propagate.pattern.model import Dart, Edge, InternalLine, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.pleats import PleatMarks, Pleats
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems
from tests.engine.test_fullness import strip
from tests.engine.test_pleats import skirt

TAKE, LONG = 40.0, 300.0


def waistband(at: tuple[float, float] = (120.0, 120.0 + TAKE)) -> SizedPiece:
    """A band with a pleat across it: marks on both long sides, and a line from one to the other."""
    drawn = strip(LONG + TAKE)
    marks = [
        Landmark(f"{side}_{i}", edge, (x, y), "notch")
        for side, edge, y in (("near", "sewn", 0.0), ("far", "far", 30.0))
        for i, x in enumerate(at)
    ]
    lines = [InternalLine(f"fold_{i}", np.array([(x, 0.0), (x, 30.0)])) for i, x in enumerate(at)]
    return replace(drawn, landmarks=tuple(marks), lines=tuple(lines))


@pytest.mark.parametrize("told", [True, False], ids=["said to be a strip", "found to be one"])
@pytest.mark.parametrize("by", [-12.0, 25.0])
def test_a_strip_is_matched_with_its_pleat_closed(told: bool, by: float) -> None:
    """The pleat keeps its 40 mm; the closed room on both sides of it goes in proportion."""
    pleats = {
        side: Pleats(
            side, parse_run(f"band.{edge}"), (PleatMarks(side, (f"{side}_0", f"{side}_1")),)
        )
        for side, edge in (("near", "sewn"), ("far", "far"))
    }
    seam = Seam("join", parse_run("lead.far reversed"), parse_run("band.sewn"))
    info = PieceInfo("band", strip=("sewn", "far") if told else None)
    pattern = PatternSet(
        name="band",
        sizes=("S",),
        base="S",
        lay_on="",
        pieces={
            "lead": Piece("lead", {"S": strip(LONG)}),
            "band": Piece("band", {"S": waistband()}),
        },
        info={"lead": PieceInfo("lead"), "band": info},
        relations=Relations(seams={"join": seam}, pleats=pleats),
    )
    assert find_problems(pattern) == () and strip_of(pattern, "band") is not None
    new = {"lead": Piece("lead", {"S": strip(LONG + by)})}
    after = revise(pattern, new, tolerance=0.01).pattern
    assert walk(after, cut_lines=False).sews
    band = after.sized("band", "S")
    left = float(band.edge("sewn").points[0][0])
    assert [e.length for e in band.edges] == pytest.approx([LONG + by + TAKE, 30.0] * 2, abs=0.01)
    for i in (0, 1):
        x = left + 120.0 * (LONG + by) / LONG + i * TAKE
        for point in (
            band.landmark(f"near_{i}").point,
            band.landmark(f"far_{i}").point,
            *band.lines[i].points,
        ):
            assert point[0] == pytest.approx(x, abs=0.01)


def with_dart(low: float, high: float) -> PatternSet:
    """A skirt with a pleat from 100 to 180 mm and a dart."""
    drawn = skirt(480.0, [[100.0, 180.0]])
    middle = (low + high) / 2
    top = np.array([(480.0, 0.0), (high, 0.0), (low, 0.0), (0.0, 0.0)])
    edges = tuple(Edge("top", top, (1, 2)) if e.name == "top" else e for e in drawn.edges)
    legs = [Landmark(n, "top", (x, 0.0), "dart leg") for n, x in (("low", low), ("high", high))]
    dart = Dart("dart", "top", ("high", "low"), (middle, -100.0))
    piece = replace(drawn, edges=edges, landmarks=(*drawn.landmarks, *legs), darts=(dart,))
    pleats = Pleats("pleats", parse_run("skirt.top"), (PleatMarks("one", ("p0_0", "p0_1")),))
    return PatternSet(
        name="skirt",
        sizes=("S",),
        base="S",
        lay_on="",
        pieces={"skirt": Piece("skirt", {"S": piece})},
        info={"skirt": PieceInfo("skirt")},
        relations=Relations(pleats={"pleats": pleats}),
    )


@pytest.mark.parametrize("mouth", [(120.0, 150.0), (170.0, 200.0), (90.0, 190.0), (100.0, 180.0)])
def test_a_dart_within_a_pleat_is_refused_by_name(mouth: tuple[float, float]) -> None:
    (said,) = find_problems(with_dart(*mouth))
    assert "pleat 'one'" in said and "found dart 'dart' within what it folds away" in said


@pytest.mark.parametrize("mouth", [(180.0, 210.0), (60.0, 100.0), (300.0, 330.0)])
def test_a_dart_beside_a_pleat_is_none_of_its_concern(mouth: tuple[float, float]) -> None:
    assert find_problems(with_dart(*mouth)) == ()


def test_a_change_that_would_lay_a_pleat_over_a_dart_is_a_conflict() -> None:
    """60 mm more shift the pleat by a quarter of them: from 180 to 195, over a dart from 185 on."""
    pattern = with_dart(185.0, 215.0)
    edit = propagate.LetOut(edge="skirt.side", by=propagate.Amount(60.0))
    with pytest.raises(Conflict, match=r"over dart 'dart' on 'skirt.top' by 10.0 mm"):
        propagate.run(pattern, edit)
    less = propagate.LetOut(edge="skirt.side", by=propagate.Amount(16.0))
    after = propagate.run(pattern, less).pattern
    assert after.sized("skirt", "S").landmark("p0_1").point[0] == pytest.approx(184.0, abs=0.01)
