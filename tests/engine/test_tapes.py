"""Elastics that are no pieces: the length to cut is ratio times run, and the ends.

Common practice, no source: an elastic is cut to a share of what it is sewn to, and its overlap is
added to that.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.edits.blend import Blend
from propagate.engine.review.limits import find_turned_ratios
from propagate.engine.revise import revise
from propagate.engine.run import run
from propagate.engine.walk import walk
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.between import BetweenSize, relations_with_size
from propagate.pattern.ease import Ease
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, parse_run
from propagate.pattern.tape import Tape, cut_length
from propagate.pattern.validate import find_problems
from propagate.report.set_text import set_lines
from tests.builders import tiny_set
from tests.engine.test_fullness import hole, strip

SIZES = ("38", "40")


def skirt(*tapes: Tape, wide: float = 300.0) -> PatternSet:
    return PatternSet(
        name="skirt",
        sizes=SIZES,
        base="38",
        lay_on="hip",
        pieces={"skirt": Piece("skirt", {s: strip(wide + 20.0 * k) for k, s in enumerate(SIZES)})},
        info={"skirt": PieceInfo("skirt")},
        relations=Relations(tapes={tape.name: tape for tape in tapes}),
    )


def tape(**more: object) -> Tape:
    said = {"name": "elastic", "run": parse_run("skirt.sewn"), "ease": Ease(stretched=0.85)}
    return Tape(**{**said, **more})


def cut(pattern: PatternSet, size: str = "38") -> float:
    (row,) = walk(pattern, size, cut_lines=False).of("tape")
    assert row.difference == 0.0 and row.second - row.first - row.ease == pytest.approx(0.0)
    return row.second


@pytest.mark.parametrize(
    ("more", "lengths"),
    [
        ({}, (255.0, 272.0)),  # 0.85 of 300 and 320
        ({"times": 2, "ends": 25.0}, (535.0, 569.0)),
        ({"ease": 40.0}, (260.0, 280.0)),
        ({"ease": Ease(sizes=(("38", Ease(stretched=0.8)), ("40", 30.0)))}, (240.0, 290.0)),
        ({"run": parse_run("skirt.sewn reversed")}, (255.0, 272.0)),
    ],
)
def test_the_length_to_cut(more: dict[str, object], lengths: tuple[float, float]) -> None:
    pattern = skirt(tape(**more))
    assert find_problems(pattern) == ()
    assert [cut(pattern, size) for size in SIZES] == pytest.approx(lengths)


def test_a_tape_round_an_armhole_lies_beside_it() -> None:
    """A quarter of 2 pi (100 + 4): a tape 4 mm inside of the piece."""
    pattern = skirt(tape(run=parse_run("skirt.round"), ease=0.0, inside=4.0))
    pieces = {"skirt": Piece("skirt", dict.fromkeys(SIZES, hole(100.0)))}
    assert cut(replace(pattern, pieces=pieces)) == pytest.approx(np.pi / 2.0 * 104.0, abs=0.05)


def test_the_record_says_what_to_cut() -> None:
    pattern = skirt(tape(), tape(name="other", run=parse_run("skirt.right")))
    fresh = {s: strip(320.0 + 20.0 * k) for k, s in enumerate(SIZES)}
    record = revise(pattern, {"skirt": Piece("skirt", fresh)}, tolerance=0.01).records["38"]
    (row,) = [one for one in record.seams if one.name == "elastic"]
    assert row.meant == "cut elastic 272.0 mm, stretched on, 85% as long"
    assert [n.text for n in record.warnings if n.where == "elastic"] == [
        "its run changed; cut elastic 272.0 mm, no longer 255.0"
    ]
    assert [n for n in record.warnings if n.where == "other"] == []


def test_in_a_blend_it_takes_the_ease_of_its_size() -> None:
    """As seams do: an ease for each size holds by the size that the piece was taken from."""
    of = tiny_set()
    by_size = Ease(sizes=tuple((s, Ease(stretched=0.8)) for s in of.sizes))
    said = tape(run=parse_run("back.waist"), ease=by_size)
    pattern = replace(of, relations=replace(of.relations, tapes={"elastic": said}))
    result = run(pattern, Blend({"waist": of.sizes[0], "hip": of.sizes[-1]}))
    (size,) = result.pattern.sizes
    (row,) = walk(result.pattern, size, cut_lines=False).of("tape")
    assert row.second == pytest.approx(0.8 * row.first)


def test_it_is_read_written_and_told() -> None:
    pattern = skirt(tape(ends=20.0))
    assert parse_set(render_set(pattern), "set.toml").relations == pattern.relations
    assert "elastic  skirt.sewn: stretched on, 85% as long; 20.0 mm for its ends" in " ".join(
        set_lines(pattern)
    )
    wrong = skirt(tape(ease=Ease(sizes=(("38", 4.0),))))
    assert any("found no ease for size '40'" in line for line in find_problems(wrong))
    (finding,) = find_turned_ratios(skirt(tape(ease=Ease(stretched=1.2))))
    assert finding.rule == "stretched above 1" and "tape 'elastic'" in finding.where


def test_in_a_size_between_its_ease_lies_between() -> None:
    """0.8 and 0.9 of their runs: 0.85 halfway, of 310 mm."""
    by_size = Ease(sizes=(("38", Ease(stretched=0.8)), ("40", Ease(stretched=0.9))))
    pattern = skirt(tape(ease=by_size))
    relations = relations_with_size(pattern.relations, BetweenSize("39", "38", "40", 0.5))
    said = relations.tapes["elastic"]
    assert cut_length(lambda _: strip(310.0), said, "39") == pytest.approx(0.85 * 310.0)
