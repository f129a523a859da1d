"""No text of a printed piece lies on a line, a mark, the grain arrow or another text."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely

import propagate
from propagate.demo import demo_names
from propagate.pattern.titles import name_title
from propagate.report.lettering import letters_of
from tests.print.conftest import print_set
from tests.print.ink import Inked, pieces_of
from tests.print.reader import stroked
from tests.shared import APRON, demo, main_job

SMALLEST_MM = 6.0 * 25.4 / 72.0


def collisions(pieces: tuple[Inked, ...]) -> list[str]:
    found = []
    for piece in pieces:
        lines = shapely.STRtree(piece.shapes)
        for text in piece.texts:
            found += [f"'{text.text}' on a line"] * len(lines.query(text.box, "intersects"))
        pairs = combinations(piece.texts, 2)
        found += [f"'{a.text}' on '{b.text}'" for a, b in pairs if a.box.intersects(b.box)]
    return found


@pytest.mark.parametrize("name", [*demo_names(), APRON])
def test_texts_with_names_keep_clear_and_are_large_enough(name: str) -> None:
    pattern = demo(name)
    pieces = pieces_of(print_set(pattern, "36in-roll", names=True)[0])
    assert len(pieces) == len(pattern.pieces)
    assert collisions(pieces) == []
    assert min(text.size for piece in pieces for text in piece.texts) > SMALLEST_MM - 1e-3


@pytest.mark.parametrize("name", ["slant_trouser", "ferry_shirt", "workshop_gilet"])
def test_texts_without_names_keep_clear(name: str) -> None:
    assert collisions(pieces_of(print_set(demo(name), "36in-roll")[0])) == []


def test_a_collision_is_seen() -> None:
    (piece,) = pieces_of(print_set(demo("scoop_skirt"), "36in-roll", pieces=("belt",))[0])
    text = piece.texts[0]
    across = shapely.LineString([text.box.exterior.coords[0], text.box.exterior.coords[2]])
    assert collisions((Inked(piece.texts, (*piece.shapes, across)),)) == [
        f"'{text.text}' on a line"
    ]
    assert len(collisions((Inked((*piece.texts, text), piece.shapes),))) == 1


@pytest.fixture(scope="module")
def result() -> propagate.Result:
    return main_job("slant_trouser")


def test_texts_of_a_result_keep_clear(result: propagate.Result) -> None:
    assert collisions(pieces_of(print_set(result, "36in-roll", names=True)[0])) == []


@pytest.mark.parametrize("name", ["front", "waistband", "belt_loop", "facing"])
def test_every_corner_and_mark_has_its_letter_beside_it(
    result: propagate.Result, name: str
) -> None:
    """The letters of the work sheet: the grain of the piece upwards, the same points."""
    sized = result.pattern.sized(name, result.pattern.base)
    data, _ = print_set(result, "36in-roll", names=True, nap=True, pieces=(name,))
    (piece,) = pieces_of(data)
    start, end = np.array(sized.grain.start), np.array(sized.grain.end)
    (x, y) = (end - start) / np.hypot(*(end - start))
    upwards = np.array([[y, -x], [x, y]])  # a motion, not a mirror image
    wanted = letters_of(sized)
    assert len({one.letter for one in wanted}) == len(wanted) > 3
    for one in wanted:
        beside = [text for text in piece.texts if text.text == one.letter]
        assert len(beside) == 1, one
        point = shapely.Point(upwards @ one.point)
        assert beside[0].box.distance(point) < 12.0, one
        tied = any(shape.distance(point) < 0.1 for shape in piece.shapes)
        assert tied or beside[0].box.distance(point) < 4.0, one


def test_names_stand_only_where_they_are_asked_for() -> None:
    pattern = demo("slant_trouser")
    edges = set(pattern.sized("front", pattern.base).edge_names)
    levels = set(pattern.sized("front", pattern.base).levels)
    for asked in (False, True):
        data, _ = print_set(pattern, "36in-roll", names=asked, pieces=("front",))
        (piece,) = pieces_of(data)
        said = {text.text for text in piece.texts}
        words = {name_title(pattern, name, "front") for name in edges}
        assert (words | {name_title(pattern, level) for level in levels} <= said) == asked
        thin = [p for p in stroked(data)[0] if p.dashed and len(p.points) == 2 and p.length > 100]
        assert bool([p for p in thin if np.ptp(p.points[:, 1]) < 1e-3]) == asked


def test_names_of_several_sizes_are_written_once() -> None:
    pattern = demo("scoop_skirt")
    data, _ = print_set(
        pattern, "36in-roll", names=True, sizes=pattern.sizes, pieces=("skirt_back",)
    )
    (piece,) = pieces_of(data)
    said = [text.text for text in piece.texts]
    for one in letters_of(pattern.sized("skirt_back", pattern.base)):
        if one.letter not in pattern.sizes:  # sizes are letters here
            assert said.count(one.letter) == 1, one
    for edge in pattern.sized("skirt_back", pattern.base).edge_names:
        assert said.count(edge.replace("_", " ")) <= 1
