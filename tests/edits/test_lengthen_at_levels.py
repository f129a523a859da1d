"""Lengthen and shorten at several levels in one edit: as one edit after the other."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, EditError, Lengthen, NamedEdit, Shorten, apply_edits
from propagate.cli import app
from tests.examples import examples
from tests.shared import demo

LEVELS = {
    "slant_trouser": ("knee", "hip"),
    "ferry_shirt": ("waist", "elbow"),
    "concert_dress": ("hip", "bust"),
    "lined_skirt": ("thigh", "hip"),
}


def edges_apart_mm(one: propagate.PatternSet, other: propagate.PatternSet, size: str) -> float:
    return max(
        shapely.LineString(edge.points).hausdorff_distance(
            shapely.LineString(other.sized(name, size).edge(edge.name).points)
        )
        for name in one.pieces
        for edge in one.sized(name, size).edges
    )


@pytest.mark.parametrize("name", LEVELS)
@pytest.mark.parametrize("kind", [Lengthen, Shorten])
@examples(1)
@given(amounts=st.tuples(st.integers(4, 15), st.integers(4, 15)))
def test_two_levels_are_two_edits_one_after_the_other(name, kind, amounts) -> None:
    old, levels = demo(name), LEVELS[name]
    by = tuple(Amount(mm=float(mm)) for mm in amounts)
    together = propagate.run(old, kind(level=levels, by=by))
    steps = [NamedEdit(one, kind(level=one, by=mm)) for one, mm in zip(levels, by, strict=True)]
    after = apply_edits(old, steps, sizes=(old.base,))
    assert together.sews
    assert after.sews
    # Between the two a follower is matched once more: by less than a seam may be off.
    assert edges_apart_mm(together.pattern, after.pattern, old.base) < 0.05
    rows = together.record.edit["levels"]
    assert [(row["level"], row["by_mm"]) for row in rows] == list(zip(levels, amounts, strict=True))
    for level, mm in zip(levels, amounts, strict=True):
        assert f"by {mm} mm at level '{level}'" in together.record.changes[0].what


def test_one_amount_is_divided_evenly() -> None:
    old = demo("slant_trouser")
    one = propagate.run(old, Lengthen(level=("knee", "hip"), by=Amount(mm=24.0)))
    two = (Amount(mm=12.0), Amount(mm=12.0))
    each = propagate.run(old, Lengthen(level=("knee", "hip"), by=two))
    assert edges_apart_mm(one.pattern, each.pattern, old.base) == 0.0
    alone = propagate.run(old, Lengthen(level=("knee",), by=Amount(mm=24.0)))
    plain = propagate.run(old, Lengthen(level="knee", by=Amount(mm=24.0)))
    assert edges_apart_mm(alone.pattern, plain.pattern, old.base) == 0.0
    for name in ("back", "front"):
        was, now = (p.sized(name, old.base) for p in (old, one.pattern))
        for upper, lower, by in (
            ("waist", "hip", 12.0),
            ("hip", "knee", 0.0),
            ("knee", "hem", 12.0),
        ):
            gaps = [
                np.subtract(piece.levels[upper], piece.levels[lower]) @ piece.grain.direction
                for piece in (was, now)
            ]
            assert gaps[1] - gaps[0] == pytest.approx(by, abs=0.01)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (Lengthen(level=("knee", "knee"), by=Amount(mm=5.0)), "each once"),
        (Lengthen(level=(), by=Amount(mm=5.0)), "at least one"),
        (Lengthen(level="knee", by=(Amount(mm=5.0), Amount(mm=5.0))), "2 amounts for 1 levels"),
        (Lengthen(level=("knee", "hip"), by=(Amount(mm=5.0), Amount(mm=-5.0))), "more than 0"),
        (Lengthen(level=("knee", "hip"), by=Amount(mm=9.0), pieces=("facing",)), "no level"),
    ],
)
def test_what_cannot_be_is_refused(edit: Lengthen, words: str) -> None:
    with pytest.raises(EditError, match=words):
        propagate.run(demo("slant_trouser"), edit)


def test_it_is_said_in_words_and_in_a_file(tmp_path) -> None:
    trousers = str(propagate.demo_path("slant_trouser"))
    words = ["change", trousers, "lengthen", "level=knee,hip", "by=12mm,8mm", "--sizes", "42"]
    said = " ".join(CliRunner().invoke(app.cli, words).output.split())
    assert "by 12 mm at level ‘knee’ and by 8 mm at level ‘hip’" in said
    file = tmp_path / "edits.toml"
    file.write_text(
        'format = 1\n[[edit]]\ndo = "shorten"\nlevel = ["knee", "hip"]\n'
        'by = ["2%", { "42" = "8mm", "44" = "9mm" }]\n',
        encoding="utf-8",
    )
    result = CliRunner().invoke(app.cli, ["apply", trousers, str(file), "--sizes", "42,43"])
    text = " ".join(result.output.split())
    assert result.exit_code == 0, text
    assert "shortened by 2% at level ‘knee’ and by 8 mm in size 42" in text
    file.write_text(file.read_text().replace('["2%"', "[[1]"), encoding="utf-8")
    assert CliRunner().invoke(app.cli, ["apply", trousers, str(file)]).exit_code == 2
