"""The first page: squares that nobody takes for each other, whole words, a map with names."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from itertools import product
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from propagate.report.printing.cover import piece_key
from propagate.report.set_text import cut_words
from tests.examples import part_of
from tests.print.conftest import print_set, printed
from tests.print.reader import stroked, text_of, words_of
from tests.print.test_tiles import labels
from tests.print.test_true_scale import squares
from tests.shared import demo

SETS = ("slant_trouser", "scoop_skirt", "workshop_gilet")


def first_page(data: bytes) -> bytes:
    with pikepdf.open(BytesIO(data)) as document:
        only = pikepdf.new()
        only.pages.append(document.pages[0])
        out = BytesIO()
        only.save(out)
    return out.getvalue()


@pytest.mark.parametrize("paper", ["a4", "letter", "a0", "36in-roll"])
def test_no_side_of_one_square_lies_near_a_side_of_the_other(paper: str) -> None:
    data, _ = printed("scoop_skirt", paper, pieces=("bag_front",))
    paths = stroked(data)[0]
    (metric,), (inches,) = squares(paths, 100.0), squares(paths, 101.6)
    assert not metric.dashed
    assert inches.dashed
    for axis in (0, 1):
        ends = [(p.points[:, axis].min(), p.points[:, axis].max()) for p in (metric, inches)]
        for one, other in product(*ends):
            assert abs(one - other) > 10.0


def test_every_measure_runs_to_the_sides_that_it_is_of() -> None:
    """The words "100 mm" and "4 in" lie on lines as long as the side, ending on the square."""
    data, _ = printed("scoop_skirt", "a4", pieces=("bag_front",))
    paths = stroked(data)[0]
    words = [w for w in words_of(data) if w.page == 0]
    for side, unit in ((100.0, "mm"), (101.6, "in")):
        (square,) = squares(paths, side)
        low, high = square.points.min(axis=0), square.points.max(axis=0)
        lines = [
            p.points
            for p in paths
            if len(p.points) == 2 and not p.closed and abs(p.length - side) < 1e-3
        ]
        ends = [line for line in lines if _touches(line, low, high)]
        assert len(ends) == 2
        for line in ends:
            middle = line.mean(axis=0)
            near = [w for w in words if np.hypot(*(np.array(w.middle) - middle)) < 12.0]
            assert unit in {w.text for w in near}, near


def _touches(line: np.ndarray, low: np.ndarray, high: np.ndarray) -> bool:
    """Whether a line goes from one side of a square to the opposite one."""
    for axis in (0, 1):
        along = np.sort(line[:, axis])
        if np.allclose(along, [low[axis], high[axis]], atol=1e-3):
            return bool(low[1 - axis] < line[0, 1 - axis] < high[1 - axis])
    return False


@pytest.mark.usefixtures("laid_once")
@pytest.mark.parametrize(
    ("name", "paper"), [*((name, "a4") for name in SETS), ("workshop_gilet", "letter")]
)
def test_no_word_is_cut_and_every_piece_is_on_the_map(
    name: str, paper: str, tmp_path: Path
) -> None:
    pattern = demo(name)
    data, _ = print_set(pattern, paper)
    cover = first_page(data)
    text = " ".join(text_of(cover, tmp_path).split())
    assert "…" not in text
    assert not re.search(r"and \d+ more", text)
    for i, info in enumerate(pattern.info[piece] for piece in pattern.pieces):
        for word in f"{piece_key(i)} {info.title}: {cut_words(info)}".split():
            assert word in text
    with pikepdf.open(BytesIO(data)) as document:
        on_page = 1 if "map" in labels(document) else 0
    words = [w for w in words_of(data) if w.page == on_page]
    head = next(w for w in words if w.text == "assembled")
    on_map = [w.text for w in words if w.top < head.bottom]
    for i, _ in enumerate(pattern.pieces):
        assert on_map.count(piece_key(i)) == 1


def test_letters_go_on_after_z() -> None:
    assert [piece_key(i) for i in (0, 25, 26, 27, 51, 52, 701, 702)] == [
        *("a", "z", "aa", "ab", "az", "ba", "zz", "aaa")
    ]


@pytest.mark.usefixtures("laid_once")
@pytest.mark.parametrize("letter", part_of(["word ", "W", "ש"], 2))
def test_long_names_end_in_an_ellipsis_inside_the_page(letter: str) -> None:
    pattern = demo("scoop_skirt")
    long = (letter * 300).strip()
    info = {name: replace(item, title=long) for name, item in pattern.info.items()}
    small = ("bag_front", "bag_back", "pocket_facing")
    data, _ = print_set(replace(pattern, name=long, info=info), "a4", pieces=small)
    cover = first_page(data)
    words = words_of(cover)
    assert all(w.left >= 9.9 and w.right <= 200.1 and w.bottom >= 9.9 for w in words)
    # The title, and every piece of the list that found room, say that something is left out.
    assert sum("…" in w.text for w in words) >= 2
