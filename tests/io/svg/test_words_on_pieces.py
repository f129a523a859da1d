"""What the texts of a drawing say, and what is drawn once for all sizes."""

from __future__ import annotations

from pathlib import Path

import pytest

from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnText
from propagate.io.options import ReadOptions
from propagate.io.sheet.texts import said_by
from propagate.io.svg.read import read_drawings
from tests.io.svg.drawings import svg

# Half a front with its middle on the left: square at the neck and at the hem.
HALF = "M 0 20 C 20 20 35 10 40 0 L 80 15 C 75 40 80 60 100 70 L 95 {low} L 0 {low} Z"


def drawing(body: str) -> str:
    sizes = "".join(
        f'<g id="size_{size}"><path id="front_{size}" d="{HALF.format(low=low)}"/></g>'
        for size, low in (("S", 160), ("M", 170), ("L", 180))
    )
    return svg(sizes + body)


def read(tmp_path: Path, text: str, name: str = "shirt.svg", **wishes: object):
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")
    return read_drawings([file], ReadOptions(**wishes))


def test_ids_that_end_in_their_size_are_one_piece(tmp_path: Path) -> None:
    pattern, report = read(tmp_path, drawing(""))
    assert list(pattern.pieces) == ["front"]
    assert set(pattern.sizes) == {"S", "M", "L"}
    assert any("no part of its name" in line.text for line in report.of("assumed"))


def test_names_that_differ_by_more_are_refused(tmp_path: Path) -> None:
    other = drawing("").replace("front_M", "back_M")
    with pytest.raises(FormatError, match="do not have the same pieces"):
        read(tmp_path, other)


def test_what_is_drawn_beside_the_sizes_is_of_all(tmp_path: Path) -> None:
    body = (
        '<g id="all"><path id="grain" d="M 50 60 L 60 120"/>'
        '<rect id="pocket" x="200" y="0" width="30" height="35"/>'
        '<rect x="-50" y="-50" width="900" height="900"/></g>'
    )
    pattern, report = read(tmp_path, drawing(body))
    assert set(pattern.pieces) == {"front", "pocket"}
    for size in pattern.sizes:
        across, up = pattern.sized("front", size).grain.direction
        assert across / up == pytest.approx(-10 / 60)
        assert pattern.sized("pocket", size).edges[0].length in (30.0, 35.0)
    assert any("the same in all" in line.text for line in report.of("assumed"))
    assert any("a frame around" in line.text for line in report.of("ignored"))


@pytest.mark.parametrize(
    "text",
    [
        '<text x="20" y="100">Front - cut 1 on fold, lining</text>',
        '<text x="20" y="100" font-size="12">Front<tspan x="20" dy="14">Cut one, on fold</tspan>'
        '<tspan x="20" dy="14">lining</tspan></text>',
    ],
)
def test_texts_tell_title_cutting_and_fold(tmp_path: Path, text: str) -> None:
    nameless = drawing(text).replace('path id="front_', 'path data-x="front_')
    pattern, report = read(tmp_path, nameless)
    assert list(pattern.pieces) == ["front"]
    info = pattern.info["front"]
    assert (info.title, info.cut) == ("Front", 1)
    assert info.fold is not None
    fold = pattern.sized("front", "M").edge(info.fold)
    assert abs(fold.points[:, 0]).max() < 1e-6
    assert fold.length == pytest.approx(150.0)
    assert any("square at both ends" in line.text for line in report.of("assumed"))


def test_a_fold_that_could_be_two_edges_is_asked_for(tmp_path: Path) -> None:
    text = svg('<rect id="band" width="300" height="40"/><text x="20" y="20">Cut 1 on fold</text>')
    pattern, report = read(tmp_path, text)
    assert pattern.info["band"].fold is None
    assert any("not on which edge" in line.text for line in report.of("warning"))


@pytest.mark.parametrize(
    ("words", "title", "cut", "pair", "fabric"),
    [
        ("SIDE BACK: cut 1 pair", "SIDE BACK", 2, True, ""),
        ("Lining cut 2", "", 2, False, "lining"),
        ("Sleeve (cut 2)", "Sleeve", 2, False, ""),
        ("cut 2 Sleeve", "", 2, False, ""),
        ("Size 42 cut 2", "", 2, False, ""),
    ],
)
def test_the_name_in_front_of_the_cutting(
    words: str, title: str, cut: int, pair: bool, fabric: str
) -> None:
    said = said_by([DrawnText(words, (0.0, 0.0), 5.0)])
    assert (said.title, said.cut, said.pair, said.fabric) == (title, cut, pair, fabric)


@pytest.mark.parametrize("words", ["cut", "Cut on fold", "cut \u00d7", "CUT -5", "cut 0"])
def test_cutting_without_a_number(words: str) -> None:
    assert said_by([DrawnText(words, (0.0, 0.0), 5.0)]).cut in (None, 1)


def test_a_length_without_end_is_refused(tmp_path: Path) -> None:
    circle = '<circle cx="30" cy="101e3090" r="3"/>'
    with pytest.raises(FormatError, match="found the length '101e3090'"):
        read(tmp_path, drawing(circle))
