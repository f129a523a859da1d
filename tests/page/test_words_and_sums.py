"""Texts of the page: no name where a person reads, no word given up, and sums that add up.

The page is read by the standard library's HTML parser, figures as they are printed.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli.app import cli
from propagate.demo import MAIN_JOBS, demo_names
from propagate.report.page import report_page
from tests.page.reader import Node, tree
from tests.report.test_printed_words import assert_plain
from tests.shared import blend_edit, demo, main_job

NAME = re.compile(r"_|\b[^\W\d]\w*\.(?:[^\W\d]|\*)|\w\w/[^\W\d]\w")
"""What only a name has: an underscore, or a dot or a stroke within a word."""
ANGLES = re.compile(r"(\d+\.\d)° \+ (\d+\.\d)°")
WHY = re.compile(r"before (\d+\.\d+)[^,;(]*, now (\d+\.\d+)[^,;(]*\(([+-]?\d+\.\d+)\)")
OF_ROOM = ("place", "check of a welt opening")
"""Kinds of checks that may ask for no less than, which the page says above its table."""


@cache
def blended_page(name: str, unit: str, turned: bool) -> Node:
    """The main job of a demo set, or with the sizes of its levels the other way round."""
    result = main_job(name)
    if turned:
        sizes = MAIN_JOBS[name]
        other = dict(zip(sizes, reversed(sizes.values()), strict=True))
        result = propagate.run(demo(name), blend_edit(demo(name), other))
    return tree(report_page(result, unit=unit))


@pytest.fixture(scope="module")
def changed_page(tmp_path_factory: pytest.TempPathFactory) -> Node:
    """A gilet that was revised in all sizes, by the command."""
    gilet, top = propagate.demo_path("workshop_gilet"), tmp_path_factory.mktemp("revised")
    sent, page = gilet / "revised" / "front_all_sizes.dxf", top / "page.html"
    for words in (
        ["revise", str(gilet), "--from", str(sent), "-o", str(top / "set")],
        ["report", str(top / "set"), "-o", str(page)],
    ):
        done = CliRunner().invoke(cli, words)
        assert done.exit_code == 0, done.output
    return tree(page.read_text("utf-8"))


def assert_words(page: Node) -> None:
    texts = list(page.read())
    assert len(texts) > 500
    assert [text for text in texts if NAME.search(text)] == []
    for text in texts:
        assert_plain(text)


def number(text: str) -> Decimal:
    """A figure as printed; nothing counts as nothing."""
    return Decimal(text.removesuffix("°") or 0)


def cells(row: Node) -> dict[str, str]:
    return {cell.told["data-label"]: cell.text for cell in row.every("td", data_label="")}


def assert_sums(page: Node) -> int:
    """Everything that is said to be a sum or a difference is one; returns how many were seen."""
    parts = (checks_seen, edges_seen, girths_seen, openings_seen, counts_seen, causes_seen)
    return sum(seen(page) for seen in parts)


def checks_seen(page: Node) -> int:
    rows = list(page.every("tr", data_by=""))
    for row in rows:
        first, second, ease, off = (
            number(cells(row).get(key, "")) for key in ("first", "second", "ease", "off")
        )
        if row.told["data-kind"] in OF_ROOM and off == 0:
            assert second >= first, row.text
        else:
            assert second - first - ease == off, row.text
        for found in ANGLES.finditer(row.text):
            assert sum(map(Decimal, found.groups())) == second, row.text
    return len(rows)


def edges_seen(page: Node) -> int:
    """The tables of edges; the lengths on the drawings say the same."""
    seen = 0
    for figure in page.every("figure", class_="piece"):
        labels = [text.text for text in figure.every("text", class_="label")]
        for row in figure.every("tr", data_edge=""):
            title = row.one("th").text
            said = [cell.text for cell in row.every("td", class_="number")]
            if len(said) == 1:
                assert f"{title} {said[0]}" in labels
                continue
            before, now, change, *_ = said
            plain = change in ("as drawn", "moved")
            assert Decimal(now) - Decimal(before) == (0 if plain else Decimal(change)), row.text
            assert f"{title} {now}{'' if plain else f' ({change})'}" in labels
            seen += 1
    return seen


def girths_seen(page: Node) -> int:
    rows = [row for part in page.every("section", id="girths") for row in part.every("tr")][1:]
    for row in rows:
        said = cells(row)
        if said.get("body"):
            assert number(said["body"]) + number(said["ease"]) == number(said["garment"])
        for other, off in (("wanted", "off"), ("before", "change")):
            if said.get(other):
                assert number(said["garment"]) - number(said[other]) == number(said[off])
    return len(rows)


def openings_seen(page: Node) -> int:
    openings = list(page.every("div", class_="opening"))
    for opening in openings:
        heads = [head.text for head in opening.every("dt")]
        said = dict(zip(heads, (fact.text for fact in opening.every("dd")), strict=True))
        before, unit = said["Length before"].split()
        now, same, change = said["Length now"].split()
        assert same == unit
        assert Decimal(now) - Decimal(before) == Decimal(change.strip("()"))
    return len(openings)


def counts_seen(page: Node) -> int:
    """Pieces by what became of them, checks by their kind, what stands in a list."""
    verdict = page.one("p", class_="verdict").text
    figures = list(page.every("figure", class_="piece"))
    found = re.search(r"(\d+) pieces? changed, (\d+) as drawn and checked, (\d+) as drawn", verdict)
    if found:
        states = [figure.told["data-state"] for figure in figures]
        told = [states.count(state) for state in ("changed", "touched", "untouched")]
        assert list(map(int, found.groups())) == told
        said = page.one("p", class_="said-first").text
        for word, count in (("as drawn", told[1] + told[2]),):
            for other in re.findall(rf"(\d+) other pieces? {word}", said):
                assert int(other) == count, said
    checks = re.search(r"\((\d+) checks?: (.*)\)", verdict)
    if checks:
        assert int(checks[1]) == sum(map(int, re.findall(r"\d+", checks[2])))
    return 1


def causes_seen(page: Node) -> int:
    for part in page.every("div", class_="causes"):
        for details in part.every("details"):
            found = re.search(r"led to (\d+) changes?$", details.one("summary").text)
            assert found
            assert int(found[1]) == sum(1 for _ in details.every("li"))
    rows = [found.groups() for text in page.read() for found in WHY.finditer(text)]
    for before, now, change in rows:
        assert Decimal(now) - Decimal(before) == Decimal(change)
    return len(rows)


def assert_columns(page: Node) -> None:
    """Every row has a cell below each head, and no column is empty."""
    for table in page.every("table"):
        heads = [head.text for head in table.one("thead").every("th")]
        rows = [
            [c for c in row.holds if isinstance(c, Node)] for row in table.one("tbody").every("tr")
        ]
        assert {len(row) for row in rows} == {len(heads)}
        for head, *cells_of in zip(heads, *rows, strict=True):
            assert any(c.text or list(c.every("svg")) for c in cells_of), head


PAGES = pytest.mark.parametrize(
    ("unit", "turned"), [("mm", False), ("in", False), ("mm", True)], ids=["mm", "in", "turned"]
)


@PAGES
@pytest.mark.parametrize("name", demo_names())
def test_a_blend(name: str, unit: str, turned: bool) -> None:
    page = blended_page(name, unit, turned)
    assert_words(page)
    assert_columns(page)
    assert assert_sums(page) > 20


@pytest.mark.parametrize("name", demo_names())
def test_a_set(name: str) -> None:
    page = tree(report_page(demo(name)))
    assert_words(page)
    assert_columns(page)
    assert assert_sums(page) > 5


def test_a_size_is_said_as_it_is_called() -> None:
    """Sizes that are letters stay capitals where a drawing is told to those who do not see it."""
    said = [part.text for part in blended_page("scoop_skirt", "mm", False).every("desc")]
    sizes = {size for text in said for size in re.findall(r"^Size (\w+),", text)}
    assert sizes
    assert sizes <= set(demo("scoop_skirt").sizes)


def test_a_revised_set(changed_page: Node) -> None:
    assert_words(changed_page)
    assert_columns(changed_page)
    assert assert_sums(changed_page) > 20


def test_the_sentence_of_a_revised_set_tells_all_sizes(changed_page: Node) -> None:
    """A range where figures differ; below it, small, stand those of the size that is shown."""
    said = changed_page.one("p", class_="said-first").text
    assert said.startswith("In every size: ")
    low, high = map(float, re.findall(r"neck of upper front ([\d.]+) to ([\d.]+) mm", said)[0])
    cards = [card.text for card in changed_page.every("li", class_="card")]
    (shown,) = {float(v) for c in cards for v in re.findall(r"neck ([\d.]+) mm longer", c)}
    assert low < shown < high
    (hint,) = [p.text for p in changed_page.one(id="lead").every("p", class_="hint")]
    assert hint.startswith("Before and now in size 96;")


def test_a_name_a_word_that_was_given_up_and_a_wrong_sum_are_seen() -> None:
    text = report_page(main_job("slant_trouser"))
    for wrong in ("side_seam", "front.side", "full front/side"):
        page = tree(text.replace("Every check", wrong))
        assert any(NAME.search(said) for said in page.read()), wrong
    for good, wrong in (("-30.9<", "-30.8<"), (">5 pieces changed", ">6 pieces changed")):
        assert good in text
        with pytest.raises(AssertionError):
            assert_sums(tree(text.replace(good, wrong)))
    with pytest.raises(AssertionError):
        assert_words(tree(text.replace("Every check", "What became of it")))
