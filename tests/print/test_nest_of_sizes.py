"""Several sizes on one sheet: every line tells its size by its dashes and by its name."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from itertools import pairwise
from typing import Any

import numpy as np
import pikepdf
import pytest
import shapely

from propagate.report.printing.tile_frame import FRAMES_LAYER
from propagate.report.style import NEST
from tests.print.conftest import Print, print_set
from tests.print.reader import Stroked, stroked, words_of
from tests.print.test_tiles import labels, tiles_of
from tests.shared import demo

SIZES = ("84", "90", "96", "102", "110", "118")
pytestmark = pytest.mark.usefixtures("laid_once")


@cache
def nest(paper: str, sizes: tuple[str, ...] = SIZES, **options: Any) -> Print:
    """The gilet in several sizes, laid once as many pieces are: how close is not judged here."""
    return print_set(demo("workshop_gilet"), paper, sizes=sizes, **options)


def kind(dashes: tuple[float, ...]) -> tuple[str, ...]:
    """What the eye tells of a pattern: dots, short and long dashes, in order."""
    return tuple("." if d < 0.8 else "-" if d < 4.0 else "=" for d in dashes[::2])


def test_no_two_lines_of_a_nest_have_the_same_dashes_and_neighbours_differ_in_kind() -> None:
    assert len({stroke.dash for stroke in NEST}) == len(NEST)
    kinds = [kind(stroke.dash) for stroke in NEST]
    assert all(one != other for one, other in pairwise(kinds))
    assert len(set(kinds[:7])) == 7


def ring(path: Stroked) -> shapely.Geometry:
    points = np.vstack([path.points, path.points[:1]]) if path.closed else path.points
    return shapely.LineString(points)


def test_every_size_has_its_own_dashes_in_the_file() -> None:
    data, _ = nest("a0")
    found: dict[str, set[tuple[float, ...]]] = {size: set() for size in SIZES}
    for path in (path for paths in stroked(data) for path in paths):
        for size in SIZES:
            if path.layers == (f"size {size}",) and path.closed:
                found[size].add(path.dashes)
    patterns = [dashes for size in SIZES for dashes in found[size]]
    assert [len(dashes) for dashes in found.values()] == [1] * len(SIZES)
    assert len(set(patterns)) == len(SIZES)


@pytest.mark.parametrize("paper", ["a4", "a0"])
def test_the_size_stands_on_its_cut_line_again_and_again(paper: str) -> None:
    data, _ = nest(paper)
    words = words_of(data)
    for number, paths in enumerate(stroked(data)):
        here = [w for w in words if w.page == number]
        for size in SIZES:
            cuts = [ring(p) for p in paths if p.closed and p.layers[-1:] == (f"size {size}",)]
            if not cuts:
                continue
            lines = shapely.union_all(cuts)
            names = [shapely.Point(w.middle) for w in here if w.text == size]
            on_line = [p for p in names if p.distance(lines) < 1.5]
            if number == 0 or paper == "a0":
                # One on every 170 mm of line or so, some of them where there was no room.
                assert len(on_line) > lines.length / 400.0, (number, size)


def test_no_name_of_a_size_lies_on_the_name_of_a_page() -> None:
    data, _ = nest("a4")
    words = words_of(data)
    with pikepdf.open(BytesIO(data)) as document:
        names = labels(document)
    checked = 0
    for number in tiles_of(names):
        here = [w for w in words if w.page == number]
        named = [w for w in here if w.text == names[number]]  # small at borders as well
        large = max(named, key=lambda w: w.top - w.bottom)
        assert large.top - large.bottom > 8.0
        box = shapely.box(large.left, large.bottom, large.right, large.top)
        for word in here:
            if word.text in SIZES and word.top - word.bottom > 3.0:
                checked += 1
                assert not shapely.Point(word.middle).intersects(box), (number, word)
    assert checked > 100


def test_grain_numbers_and_fold_are_drawn_once_for_all_sizes() -> None:
    data, _ = nest("a0", pieces=("upper_back",))
    paths = [path for page in stroked(data) for path in page]
    piece = demo("workshop_gilet").sized("upper_back", "96")
    grain = float(np.hypot(*np.subtract(piece.grain.end, piece.grain.start)))
    arrows = [p for p in paths if len(p.points) == 2 and abs(p.length - grain) < 1e-3]
    assert [p.layers for p in arrows] == [()]
    words = [w.text for w in words_of(data)]
    assert words.count("fold") == 2  # in the legend and beside the arrows


def test_frames_are_no_layer_of_a_size() -> None:
    data, _ = nest("a4", ("84", "90"))
    layers = {path.layers for page in stroked(data) for path in page}
    assert layers == {(), (FRAMES_LAYER,), ("size 84",), ("size 90",)}
