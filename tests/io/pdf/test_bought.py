"""The whole way of a bought pattern: from a PDF, by answers alone, to a blend of two sizes.

No relation is known and nothing is typed but answers.  They are those of somebody who knows the
garment, and the blend is that of the set from which the pattern was drawn, measured by shapely.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.engine.walk import walk
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.suggesting import Suggestions
from propagate.suggesting.asking import Asking
from propagate.suggesting.blending import find_blendings
from tests.io.pdf.bought import (
    Sheet,
    bought_by_cairo,
    bought_by_reportlab,
    bought_sheet,
    names_on,
    write_example,
)
from tests.io.pdf.drafts import CAIRO, read_of
from tests.shared import blended, demo
from tests.suggesting.oracle import asked_all
from tests.suggesting.test_demo_sets import Case

SAID = {"yes": "y", "turned": "o", "no": "n", "later": "l"}
CONFIRMED = {"slant_trouser": 10, "scoop_skirt": 8}
"""Of all that is asked; the last is what blending goes by."""
SIZES = {"slant_trouser": (), "scoop_skirt": ("S", "M", "L")}
BLENDS = {"slant_trouser": (("42", "48"), ("48", "42")), "scoop_skirt": (("S", "L"),)}
MORE = {"slant_trouser": (), "scoop_skirt": ("--corner-angle", "15")}
"""A bag of the skirt has a flat corner, which `begin` tells with this option."""
AGREES_MM, MOVES_MM = 0.2, 5.0
WRITERS = {"reportlab": bought_by_reportlab, "cairo": bought_by_cairo}
NEEDS_CAIRO = pytest.mark.skipif(CAIRO is None, reason="the renderer is not installed")


def run(*words: str, said: str = "") -> str:
    result = CliRunner().invoke(app.cli, list(words), input=said)
    assert result.exit_code == 0, result.output
    return result.output


def answers_of(real: PatternSet, sheet: Sheet, begun: PatternSet) -> list[str]:
    """What somebody who knows the garment says, one after the other."""
    known = Case(real, begun, names_on(real, sheet, begun), Suggestions(begun, ()))
    return [SAID[one.word] for one in asked_all(known, Asking(begun)).answers]


@pytest.mark.parametrize(
    ("name", "writer"),
    [
        ("slant_trouser", "reportlab"),
        pytest.param("slant_trouser", "cairo", marks=NEEDS_CAIRO),
        ("scoop_skirt", "reportlab"),
        pytest.param("scoop_skirt", "cairo", marks=NEEDS_CAIRO),
    ],
)
def test_from_a_print_to_a_blend(
    name: str, writer: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    real = demo(name)
    sheet = bought_sheet(real, SIZES[name])
    WRITERS[writer](sheet, Path("bought.pdf"))
    told = run("begin", "bought.pdf", "-o", "mine", "--base", real.base, *MORE[name])
    assert "cut where the page" not in told
    begun = propagate.load("mine")
    said = [*answers_of(real, sheet, begun), "y"]
    assert sum(word in "yo" for word in said) == CONFIRMED[name]
    said += ["y"]  # the girths of what was recognised
    said += ["a lot", "60mm", "5/8in"]
    text = run("suggest", "mine", "--ask", said="".join(f"{word}\n" for word in said))
    assert text.count("expected a width of 0 to 50 mm") == 2
    assert "propagate blend can be used on it now" in text
    mine = propagate.load("mine")
    for info in mine.info.values():
        assert info.allowance.default == pytest.approx(15.875)  # 5/8 of 25.4 mm
        assert info.fold is None or info.allowance.of(info.fold) == 0.0
    assert all(walk(mine, size, cut_lines=False).sews for size in mine.sizes)
    names = names_on(real, sheet, mine).pieces
    for upper, lower in BLENDS[name]:
        folder = f"{upper}_{lower}"
        run("blend", "mine", "--size", f"waist={upper}", "--size", f"hip={lower}", "-o", folder)
        own, got = blended(name, upper, lower).pattern, propagate.load(folder)
        moved = 0.0
        for piece in own.pieces:
            turn, _ = sheet.places[piece, real.base]
            drafted = own.sized(piece, own.base).outline @ turn.T
            found = got.sized(names[piece], got.base).outline
            lines = [shapely.LinearRing(x - x.min(axis=0)) for x in (drafted, found)]
            assert shapely.hausdorff_distance(*lines) < AGREES_MM, (piece, folder)
            old = sheet.placed(piece, upper, real.sized(piece, upper).outline)
            source = shapely.LinearRing(old - old.min(axis=0))
            moved = max(moved, float(shapely.hausdorff_distance(lines[0], source)))
        assert moved > MOVES_MM
    again = run("suggest", "mine", "--ask")
    assert "for blending sizes" not in again
    assert "set.toml stays as it is" in again


def test_levels_lie_at_one_height_around_the_body() -> None:
    """The draft puts the levels of front and back at one height; the back's crotch is lower."""
    real = demo("slant_trouser")
    pieces = {
        name: Piece(name, {s: replace(piece.at(s), levels={}) for s in real.sizes})
        for name, piece in real.pieces.items()
    }
    joined = replace(real, pieces=pieces, relations=replace(real.relations, blend=None))
    found = find_blendings(joined)[0].put_on(joined)
    assert found.lay_on == "crotch"
    for name in ("front", "back"):
        for size in real.sizes:
            own, got = real.sized(name, size), found.sized(name, size)
            for level in ("hip", "crotch"):
                apart = np.subtract(own.levels[level], got.levels[level])
                assert abs(float(apart @ own.grain.direction)) < 0.01, (name, size, level)


def test_nothing_is_asked_of_what_can_be_blended_or_has_no_side_seam() -> None:
    assert find_blendings(demo("slant_trouser")) == ()
    assert find_blendings(demo("market_bag")) == ()


def test_the_pattern_of_the_tutorial_is_as_it_is_drawn_now(tmp_path: Path) -> None:
    """Else `python -m tests.io.pdf.bought` draws it anew."""
    kept = Path(__file__).parents[3] / "docs" / "patterns" / "trousers.pdf"
    pages = [read_of(file).pages[0] for file in (kept, write_example(tmp_path))]
    assert [text.text for text in pages[0].texts] == [text.text for text in pages[1].texts]
    for one, other in zip(pages[0].lines, pages[1].lines, strict=True):
        assert one.layer == other.layer
        assert np.allclose(one.chain.points, other.chain.points, atol=1e-6)
