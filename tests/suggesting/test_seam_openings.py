"""Openings in seams that keep their length: found by their marks, asked last, written.

Judged by what the demo sets say, and by skirts of straight lines whose marks lie where they say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate import Amount, Lengthen
from propagate.cli import app
from propagate.engine.walk import walk
from propagate.io.garments import known_kinds
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, SeamOpening, Span
from propagate.suggesting import Proposal
from propagate.suggesting.asking import Asking
from tests.bench.suggest import case
from tests.shared import demo
from tests.suggesting.garment_drafts import (
    BASE,
    SIZES,
    length,
    line,
    marked,
    outline,
    seam,
    set_of,
    strip,
)
from tests.suggesting.oracle import asked_all

SAID = {"concert_dress": 1, "lined_skirt": 1}
"""Zips that demo sets write by hand."""
ANCHORED = {"scoop_skirt": 1}
"""One whose zip is said by its mark alone, that it keeps its distance from the waist."""
NONE = ("slant_trouser", "quay_jeans", "ferry_shirt", "tarn_raglan", "fen_gores", "weir_panels")


@pytest.mark.parametrize("name", [*SAID, *ANCHORED, *NONE])
def test_zips_are_asked_about_and_nothing_else_is(name: str) -> None:
    one = case(name, "marked", 1)
    answers = asked_all(one, Asking.begin(one.bare, kinds=known_kinds())).answers
    said = [answer.word for answer in answers if answer.kind == "seam opening"]
    assert said == ["yes"] * SAID.get(name, 0) + ["no"] * ANCHORED.get(name, 0)


def test_no_opening_is_written_unasked() -> None:
    for name in SAID:
        proposals = case(name, "marked", 2).found.proposals
        assert all(one.score <= 0.85 for one in proposals if one.kind == "seam opening")


# ------------------------------------------------------------------------- closed forms


def skirt(
    centre: Sequence[float] = (),
    sides: Mapping[str, Sequence[float]] | None = None,
    *,
    grown: float = 10.0,
    waist_sewn: bool = True,
) -> PatternSet:
    """A skirt of rectangles: notches so far below the waist in each size, `sides` in pairs.

    Each piece is by `grown` longer in each size than in the one before.
    """
    drawn = []
    for k in range(len(SIZES)):
        tall, wide = 800.0 + grown * k, 200.0 + 10.0 * k
        a, b, c, d = (0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall)
        e, f = (-wide, 0.0), (-wide, tall)
        front = {"hem": line(a, b), "centre": line(b, c), "waist": line(c, d), "side": line(d, a)}
        back = {"hem": line(e, a), "side": line(a, d), "waist": line(d, f), "centre": line(f, e)}
        pairs = [(mark, "side", (0.0, tall - at[k])) for mark, at in (sides or {}).items()]
        zips = [("zip", "centre", (-wide, tall - centre[k]))] if centre else []
        drawn.append(
            {
                "front": marked(outline(front), pairs),
                "back": marked(outline(back), [*pairs, *zips]),
                "belt": strip(2.0 * wide, 40.0),
            }
        )
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        Seam("centre_back", (Span("back", "centre"),), (), mirror=True),
    ]
    if waist_sewn:
        seams.append(seam("belt", ["belt.sewn"], ["front.waist", "back.waist"]))
    made = set_of("skirt", drawn, seams)
    return replace(made, info={name: PieceInfo(name, pair=True) for name in made.pieces})


def openings_of(made: PatternSet) -> list[Proposal]:
    return [one for one in Asking(made).found.proposals if one.kind == "seam opening"]


def spans_of(made: PatternSet) -> list[list[str]]:
    return [[str(run[0]) for run in one.runs] for one in openings_of(made)]


def steps(first: float, by: float) -> list[float]:
    return [first + by * k for k in range(len(SIZES))]


BASE_AT = SIZES.index(BASE)
KEPT = steps(220.0, 0.0)
ZIP = [["back.centre from start to zip"]]


def test_a_zip_that_is_as_long_in_every_size_is_asked_about() -> None:
    (one,) = openings_of(skirt(KEPT))
    (opening,) = one.relations
    assert isinstance(opening, SeamOpening) and opening.lengths == ()
    assert [[str(span) for span in run] for run in opening.sides] == ZIP
    grown = 10.0 * (len(SIZES) - 1)
    words = f"it is 220.0 mm long in every size; the seam grows by {grown:.1f} mm"
    assert words in one.evidence
    assert one.score <= 0.85


@pytest.mark.parametrize(
    ("centre", "asked"),
    [
        (steps(200.0, 5.0), False),  # a waist or a hip that is graded
        (steps(200.0, 10.0), False),  # as far above the hem in every size: no slit is so long
        (steps(200.0, 20.0), False),  # no two sizes have the same zip
        ([180.0, *steps(200.0, 0.0)[1:]], True),
        ([193.0, *steps(213.0, 0.0)[1:]], False),  # nobody sells these
        ([7 * 25.4, *steps(8 * 25.4, 0.0)[1:]], True),  # inches
        (steps(220.4, 0.0), True),  # kept, whatever is sold
        (steps(30.0, 0.0), False),  # a balance notch at the waist
    ],
)
def test_what_is_graded_is_no_opening(centre: Sequence[float], asked: bool) -> None:
    assert bool(openings_of(skirt(centre))) == asked


def test_a_slit_is_told_from_a_zip_by_the_end_that_keeps_its_distance() -> None:
    """150 mm above the hem in every size, of a skirt that grows."""
    tall = [800.0 + 10.0 * k for k in range(len(SIZES))]
    assert spans_of(skirt([one - 150.0 for one in tall])) == [["back.centre from end to zip"]]


def test_what_lies_as_high_as_a_notch_of_the_side_shows_the_hip() -> None:
    hip = {"hip": KEPT}
    assert openings_of(skirt(KEPT, hip)) == []
    assert spans_of(skirt(KEPT, {"hip": steps(200.0, 0.0)})) == ZIP
    made = skirt(KEPT)
    pieces = dict(made.pieces)
    pieces["back"] = Piece(
        "back",
        {
            size: replace(one, levels={"hip": (-100.0, one.landmark("zip").point[1])})
            for size, one in pieces["back"].nest.items()
        },
    )
    assert openings_of(replace(made, pieces=pieces)) == []


def test_one_pair_of_notches_at_the_side_is_the_hip() -> None:
    """With another pair for the hip, or too low for it, it may be a zip."""
    assert openings_of(skirt(sides={"zip": KEPT})) == []
    both = {"zip": KEPT, "hip": steps(200.0, 6.0)}
    assert spans_of(skirt(sides=both)) == []


def test_a_slit_at_the_side_begins_at_the_hem() -> None:
    tall = [800.0 + 10.0 * k for k in range(len(SIZES))]
    slit = {"slit": [one - 120.0 for one in tall]}
    assert spans_of(skirt(sides=slit)) == [
        ["front.side from end to slit", "back.side from start to slit"]
    ]
    # Where the waist is sewn to nothing either, nothing tells which end is the hem.
    assert openings_of(skirt(sides=slit, waist_sewn=False)) == []


# ------------------------------------------------------------------------------ written


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    propagate.save(skirt(KEPT), tmp_path / "skirt")
    return tmp_path / "skirt"


def ask(folder: Path, *words: str) -> str:
    args = ["suggest", str(folder), "--ask", "--least", "0.84"]
    done = CliRunner().invoke(app.cli, args, input="".join(f"{one}\n" for one in words))
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def test_a_yes_is_written_and_taken_back(folder: Path) -> None:
    before = (folder / "set.toml").read_bytes()
    said = ask(folder, "y", "s")
    assert "Does this part of the seam stay open, as for a zip, a placket or a slit" in said
    assert "A centre of back, from the end at waist to zip" in said
    (opening,) = propagate.load(folder).relations.seam_openings.values()
    assert [[str(span) for span in run] for run in opening.sides] == ZIP
    assert "stay open" not in ask(folder, "s")
    assert "stay open" in ask(folder, "u", "s")
    assert (folder / "set.toml").read_bytes() == before


def test_a_no_is_kept_and_a_zip_that_was_written_by_hand_is_not_asked(folder: Path) -> None:
    ask(folder, "n", "s")
    assert "stay open" not in ask(folder, "s")
    assert not any(
        one.kind == "seam opening" for one in Asking(demo("lined_skirt")).found.proposals
    )


def test_a_zip_that_was_confirmed_stays_as_long_when_its_skirt_is_lengthened(folder: Path) -> None:
    """By 30 mm across it, in the base size; unasked, its mark would lie 30 mm lower."""
    bare = propagate.load(folder)
    ask(folder, "y", "s")
    for made, wanted in ((propagate.load(folder), 220.0), (bare, 250.0)):
        made = with_level(made, 100.0)
        assert all(walk(made, size, cut_lines=False).sews for size in made.sizes)
        longer = propagate.run(made, Lengthen(level="across", by=Amount(mm=30.0))).pattern
        back = longer.sized("back", made.base)
        assert length(back.edge("centre").points) == pytest.approx(830.0 + 10.0 * BASE_AT)
        assert back.distance("centre", "zip") == pytest.approx(wanted, abs=0.01)


def with_level(made: PatternSet, below: float) -> PatternSet:
    """With a level so far below the waist on front and back."""
    pieces = dict(made.pieces)
    for name in ("front", "back"):
        nest = {}
        for size, one in pieces[name].nest.items():
            top = float(one.outline[:, 1].max())
            nest[size] = replace(one, levels={"across": (0.0, top - below)})
        pieces[name] = Piece(name, nest)
    return replace(made, pieces=pieces, lay_on="across")
