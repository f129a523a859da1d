"""Darts of a main piece that are pleats in its lining: a notch at each leg (common practice).

The lining's waist lies on the skirt's, so its notches lie on the legs: known motions, shapely's
lengths, and distances alone.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.applying import NamedEdit, apply_edits
from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.model import Landmark, Piece, Pleat, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.pleats import PleatMarks, Pleats
from propagate.pattern.relations import parse_run
from propagate.pattern.spans import run_length
from propagate.pattern.validate import find_problems
from propagate.report.set_text import set_lines
from propagate.report.units import MILLIMETRES
from tests.engine.test_derived import (
    LINING,
    TILTED,
    as_laid,
    back,
    changed,
    lining,
    placed,
    the_set,
)
from tests.shared import demo_in_few

LEGS = ("leg_side", "leg_centre")
PLEATED = replace(LINING, pleated="waist")
OFF_MM = 0.01


def lined(piece: SizedPiece | None = None) -> PatternSet:
    return the_set(placed(piece or lining(back()), TILTED), PLEATED)


def bare() -> SizedPiece:
    """The lining before anybody has put the notches."""
    drawn = lining(back())
    marks = tuple(mark for mark in drawn.landmarks if mark.name not in LEGS)
    return replace(drawn, landmarks=marks)


def off_legs(after: PatternSet, main: SizedPiece) -> float:
    """The farthest that a notch of the lining lies off the leg on the main piece, mm."""
    motion = TILTED.after(as_laid(after, main))
    new = after.sized("lining", "M")
    return max(
        float(np.hypot(*(motion.apply(main.landmark(leg).point) - new.landmark(leg).point)))
        for leg in LEGS
    )


@pytest.mark.parametrize("drawn", [None, bare()], ids=["drawn with notches", "without"])
def test_notches_follow_both_legs_and_are_told(drawn: SizedPiece | None) -> None:
    pattern = lined(drawn)
    assert find_problems(pattern) == ()
    main = back(waist=178.0, drop=30.0, mouth=20.0)
    result = revise(pattern, {"back": Piece("back", {"M": main})})
    after = result.pattern
    assert off_legs(after, main) < OFF_MM
    new = after.sized("lining", "M")
    assert {new.landmark(leg).kind for leg in LEGS} == {"notch"}
    assert new.pleats == (Pleat("waist", LEGS),) and new.darts == ()
    take = np.hypot(*np.subtract(*(main.landmark(leg).point for leg in LEGS)))
    said = [change.what for change in result.records["M"].changes if change.id == "lining.waist"]
    words = f"dart 'dart' of 'back' as a pleat, 'leg_side' folded on to 'leg_centre', {take:.1f} mm"
    assert len(said) == 1 and words in said[0]
    assert ("with a notch at each leg" in said[0]) == (drawn is not None)
    assert changed(pattern, main).sized("lining", "M") == new


def test_what_does_not_reach_the_dart_moves_no_notch() -> None:
    pattern = lined()
    after = changed(pattern, back(drop=40.0))
    old, new = (p.sized("lining", "M") for p in (pattern, after))
    assert [old.landmark(leg) for leg in LEGS] == [new.landmark(leg) for leg in LEGS]


def test_the_edge_is_as_long_as_with_the_pleat_folded() -> None:
    piece = lined().sized("lining", "M")
    line = shapely.LineString(piece.edge("waist").points)
    at = sorted(line.project(shapely.Point(piece.landmark(leg).point)) for leg in LEGS)
    closed = run_length(lambda _: piece, parse_run("lining.waist"))
    assert closed == pytest.approx(line.length - (at[1] - at[0]), abs=1e-6)
    plain = the_set(lining(back()), LINING).sized("lining", "M")
    assert run_length(lambda _: plain, parse_run("lining.waist")) == pytest.approx(line.length)


def test_notches_that_are_missing_or_off_are_told_by_the_walk() -> None:
    checks = walk(lined(bare()), cut_lines=False).of("derived")
    assert [check.verdict for check in checks] == ["sews", "does not sew"]
    assert "without its notches" in checks[1].what
    drawn = lining(back())
    side = drawn.landmark("leg_side")
    aside = replace(side, point=(side.point[0] + 3.0, side.point[1]))
    marks = tuple(aside if mark.name == "leg_side" else mark for mark in drawn.landmarks)
    (_, check) = walk(lined(replace(drawn, landmarks=marks)), cut_lines=False).of("derived")
    assert check.difference == pytest.approx(3.0, abs=OFF_MM) and check.verdict == "does not sew"
    assert walk(lined(), cut_lines=False).of("derived")[1].difference < OFF_MM


def skirt() -> PatternSet:
    """The demo's front lining, whose notches stand where the front has its dart."""
    pattern = demo_in_few("lined_skirt")
    derived = dict(pattern.relations.derived)
    derived["lining_front"] = replace(derived["lining_front"], pleated="waist")
    return replace(pattern, relations=replace(pattern.relations, derived=derived))


EDITS = {
    "wider": (propagate.WidenDart(dart="front.dart", by=propagate.Amount(6.0)), 1),
    "divided": (propagate.DivideDart(dart="front.dart", apart=propagate.Amount(40.0)), 2),
    "moved": (propagate.MoveDart(dart="front.dart", by=propagate.Amount(12.0)), 1),
    "swung": (propagate.SwingDart(dart="front.dart", into="side", at="150mm"), 0),
    "side": (propagate.TakeIn(edge="front.side", by=propagate.Amount(8.0), at="waist"), 1),
    "waist": (propagate.Lower(edge="front.waist", by=propagate.Amount(10.0)), 1),
}


@pytest.mark.parametrize("name", EDITS)
def test_every_edit_leaves_a_notch_at_each_leg_and_no_other(name: str) -> None:
    pattern, (edit, count) = skirt(), EDITS[name]
    assert find_problems(pattern) == ()
    done = apply_edits(pattern, [NamedEdit(name, edit)]).pattern
    for size in pattern.sizes:
        front, piece = (done.sized(n, size) for n in ("front", "lining_front"))
        darts = [dart for dart in front.darts if dart.edge == "waist"]
        assert len(darts) == len(piece.pleats) == count and piece.darts == ()
        for dart in darts:
            mouths = [
                float(np.hypot(*np.subtract(*(one.landmark(leg).point for leg in dart.legs))))
                for one in (front, piece)
            ]
            assert mouths[1] == pytest.approx(mouths[0], abs=OFF_MM)
        legs = {leg for dart in darts for leg in dart.legs}
        assert {mark.name for mark in piece.landmarks} == {*legs, "pleat"}
        checks = [c for c in walk(done, size).of("derived") if c.relation == "lining_front"]
        assert len(checks) == 1 + count and max(c.difference for c in checks) < OFF_MM


def test_a_pleat_that_is_gone_is_told() -> None:
    edit, _ = EDITS["swung"]
    record = propagate.run(skirt(), edit).record
    said = " ".join(change.what for change in record.changes if "lining_front" in change.id)
    assert "dart 'dart' of 'front' as a pleat" in said and "is gone" in said


def test_it_is_written_read_and_shown() -> None:
    pattern = lined()
    again = parse_set(render_set(pattern), "set.toml")
    assert again.relations == pattern.relations and 'pleated = "waist"' in render_set(pattern)
    words = " ".join(" ".join(set_lines(pattern, MILLIMETRES)).split())
    assert "darts on waist are pleats, with a notch at each leg" in words


def test_what_a_set_says_amiss_of_them_is_told() -> None:
    both = replace(PLEATED, closed="waist")
    assert "'closed' names too" in "\n".join(find_problems(the_set(lining(back()), both)))
    nowhere = replace(PLEATED, edges=PLEATED.edges[1:])
    assert "no edge of it lies" in "\n".join(find_problems(the_set(lining(back()), nowhere)))
    pattern = lined()
    told = Pleats("fold", parse_run("lining.waist"), (PleatMarks("one", LEGS),))
    twice = replace(pattern, relations=replace(pattern.relations, pleats={"fold": told}))
    assert "which pleats 'fold' has too" in "\n".join(find_problems(twice))
    drawn = lining(back())
    legs = tuple(replace(m, kind="dart leg") if m.name in LEGS else m for m in drawn.landmarks)
    with_dart = replace(drawn, landmarks=legs, darts=back().darts)
    assert "is a dart in it" in "\n".join(find_problems(lined(with_dart)))
    drawn = bare()
    foot = tuple(float(x) for x in drawn.edge("foot").points[0])
    elsewhere = replace(drawn, landmarks=(*drawn.landmarks, Landmark("leg_side", "foot", foot)))
    assert "expected the notch on 'waist'" in "\n".join(find_problems(lined(elsewhere)))


def test_a_dart_off_the_piece_leaves_no_notch() -> None:
    """A panel of 60 mm from the side ends before the dart, which lies 80 mm from there."""
    edges = (*PLEATED.edges[:2], replace(PLEATED.edges[2], out=0.0, inside=125.0), PLEATED.edges[3])
    pattern = the_set(bare(), replace(PLEATED, edges=edges))
    after = changed(pattern, back(waist=184.0))
    assert after.sized("lining", "M").pleats == ()
    assert not {mark.name for mark in after.sized("lining", "M").landmarks} & {*LEGS}
