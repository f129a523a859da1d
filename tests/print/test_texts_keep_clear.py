"""No text of a printed piece lies on a line, a mark, the grain arrow or another text."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import numpy as np
import pytest
import shapely
import shapely.affinity

import propagate
from propagate.demo import demo_names
from propagate.pattern.titles import name_title
from propagate.report.lettering import letters_of
from tests.print.conftest import print_set
from tests.print.ink import Inked, Page, pages_of, pieces_of
from tests.print.reader import stroked
from tests.shared import APRON, demo, main_job

SMALLEST_MM = 6.0 * 25.4 / 72.0


def collisions(pieces: Iterable[Inked]) -> list[str]:
    found = []
    for piece in pieces:
        lines = shapely.STRtree(piece.shapes)
        for text in piece.texts:
            found += [f"'{text.text}' on a line"] * len(lines.query(text.box, "intersects"))
        pairs = combinations(piece.texts, 2)
        found += [f"'{a.text}' on '{b.text}'" for a, b in pairs if a.box.intersects(b.box)]
    return found


def on_page_words(page: Page) -> list[str]:
    """Texts of pieces that lie on the glue marks or on the words of a page."""
    own = [("a glue mark", shape) for shape in page.own.shapes if _is_small(shape)]
    own += [(f"'{text.text}' of the page", text.box) for text in page.own.texts]
    return [
        f"'{text.text}' on {what}"
        for piece, shift in page.placed
        for text in piece.texts
        for what, shape in own
        if shape.intersects(shapely.affinity.translate(text.box, *shift))
    ]


def _is_small(shape: shapely.Geometry) -> bool:
    """Glue marks are 6 mm across and down; frames are as long as the page."""
    left, low, right, top = shape.bounds
    return max(right - left, top - low) < 7.0


@pytest.mark.parametrize("name", demo_names())
@pytest.mark.parametrize("names", [True, False])
@pytest.mark.usefixtures("laid_once")
def test_no_text_of_a_tiled_result_lies_on_anything(name: str, names: bool) -> None:
    result = main_job(name)
    pages = pages_of(print_set(result, "a4", names=names)[0])
    pieces = {id(piece): piece for page in pages for piece, _ in page.placed}
    assert len(pieces) == len(result.pattern.pieces)
    assert collisions(pieces.values()) == []
    assert [found for page in pages for found in on_page_words(page)] == []
    assert sum(_is_small(shape) for page in pages for shape in page.own.shapes) > len(pages)
    sizes = [text.size for piece in pieces.values() for text in piece.texts]
    assert min(sizes) > SMALLEST_MM - 1e-3


@pytest.mark.parametrize("name", ["quay_jeans", APRON])
def test_no_text_of_a_nest_lies_on_another(name: str) -> None:
    """They may lie on lines: those of the sizes are too close to each other to keep off all."""
    pattern = demo(name)
    pieces = pieces_of(print_set(pattern, "36in-roll", sizes=pattern.sizes)[0])
    assert collisions(Inked(piece.texts, ()) for piece in pieces) == []


def test_a_collision_is_seen() -> None:
    (piece,) = pieces_of(print_set(demo("scoop_skirt"), "36in-roll", pieces=("belt",))[0])
    text = piece.texts[0]
    across = shapely.LineString([text.box.exterior.coords[0], text.box.exterior.coords[2]])
    assert collisions((Inked(piece.texts, (*piece.shapes, across)),)) == [
        f"'{text.text}' on a line"
    ]
    assert len(collisions((Inked((*piece.texts, text), piece.shapes),))) == 1
    mark = shapely.Point(text.box.centroid).buffer(3.0)
    page = Page(Inked((text,), (mark, mark.buffer(50.0))), ((Inked((text,), ()), (0.0, 0.0)),))
    assert on_page_words(page) == [
        f"'{text.text}' on a glue mark", f"'{text.text}' on '{text.text}' of the page"
    ]  # fmt: skip


@pytest.fixture(scope="module")
def result() -> propagate.Result:
    return main_job("slant_trouser")


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
        assert (words <= said) == asked
        assert ("hip level" in said) == asked
        for title in (name_title(pattern, level) for level in levels):
            assert bool({title, f"{title} level"} & said) == asked, title  # as there is room
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
