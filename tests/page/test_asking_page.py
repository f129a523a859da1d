"""The page of questions driven in Chromium: answered by mouse and keyboard, saved, taken over."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.pattern.info import Allowance
from propagate.pattern.patternset import Relations
from propagate.report.page.asking import asking_page
from propagate.suggesting.asking import Asking
from tests import builders
from tests.page.conftest import Open
from tests.page.hostile import SCRIPT, hostile_set
from tests.page.reader import tree
from tests.shared import demo
from tests.suggesting.bare_folders import bare_folder
from tests.suggesting.test_hip_by_distance import without_hip
from tests.suggesting.test_tracing import save_dress, without_derived

TRUE = 7
"""So many of the likeliest questions about the skirt hold."""


def asked(*args: str) -> str:
    result = CliRunner().invoke(app.cli, ["suggest", *args])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    return bare_folder("scoop_skirt", tmp_path / "skirt")


@pytest.fixture
def page_file(bare: Path, tmp_path: Path) -> Path:
    file = tmp_path / "page.html"
    text = asked(str(bare), "--html", str(file))
    assert "it needs no network" in text
    return file


def saved(page: Any, file: Path) -> list[dict[str, Any]]:
    with page.expect_download() as download:
        page.locator("#save").click()
    download.value.save_as(file)
    found: list[dict[str, Any]] = json.loads(file.read_text(encoding="utf-8"))["answers"]
    return found


def words_of(page: Any) -> list[str]:
    found: list[str] = page.locator(".question input:checked").evaluate_all(
        "f => f.map((e) => e.value)"
    )
    return found


# ----------------------------------------------------------------------------- without a browser


def test_each_question_is_drawn_with_both_sides_and_told() -> None:
    page = tree(asking_page(Asking(bare_set())))
    questions = list(page.every("section", class_="question"))
    assert len(questions) >= TRUE
    for question in questions:
        marks = {node.text for node in question.one("dl", class_="sides-list").every("dt")}
        drawn = question.one("svg")
        shown = {m for node in drawn.every("text", class_="mark") for m in node.text.split(", ")}
        assert shown and shown <= marks
        assert list(drawn.every("path", class_="strand"))
        assert question.one("ul", class_="evidence").text
        labelled = question.one("svg").told["aria-labelledby"].split()
        assert all(any(node.told.get("id") == one for node in page.every()) for one in labelled)


def test_the_same_set_has_the_same_page() -> None:
    once, again = (asking_page(Asking(bare_set())) for _ in range(2))
    assert once == again


def test_the_page_fetches_nothing_and_runs_one_script() -> None:
    page = asking_page(Asking(bare_set()))
    assert not re.search(r"""(?:src|href)=["'](?!#)""", page)
    policy = tree(page).one("meta", http_equiv="Content-Security-Policy").told["content"]
    assert "default-src 'none'" in policy


def bare_set() -> propagate.PatternSet:
    real = demo("scoop_skirt")
    return propagate.PatternSet(
        real.name, real.sizes, real.base, real.lay_on, real.pieces, real.info, Relations(), {}
    )


def test_what_is_answered_is_not_on_the_page() -> None:
    start = Asking(bare_set())
    first = tree(asking_page(start)).one("dl", class_="sides-list").text
    later = tree(asking_page(start.answered("yes")))
    assert first not in [node.text for node in later.every("dl", class_="sides-list")]


# --------------------------------------------------------------------------------- in a browser


def test_answers_by_mouse_are_saved_and_taken_over(
    open_page: Open, bare: Path, page_file: Path, tmp_path: Path
) -> None:
    page = open_page(str(page_file)).page
    for number in range(1, TRUE + 1):
        page.locator(f"#q{number} label", has_text="Yes, joined so").click()
    assert page.locator("#state").inner_text().startswith(f"{TRUE} of ")
    file = tmp_path / "answers.json"
    found = saved(page, file)
    assert [one["answer"] for one in found] == ["yes"] * TRUE
    text = asked(str(bare), "--answers", str(file))
    assert f"{TRUE} confirmed, 0 refused" in text
    pattern = propagate.load(bare)
    assert len(pattern.relations.seams) == 4
    assert len(pattern.relations.bands) == len(pattern.relations.stacks) == 1
    assert "written to set.toml" in text


def test_keys_answer_and_go_on(open_page: Open, page_file: Path, tmp_path: Path) -> None:
    page = open_page(str(page_file)).page
    page.locator("#q1 input:checked").focus()
    for key in ("y", "o", "n", "l"):
        page.keyboard.press(key)
    # The third, an opening, has no other way round; the second is a seam.
    assert words_of(page)[:4] == ["yes", "turned", "no", "later"]
    assert page.evaluate("document.activeElement.name") == "q5"
    found = saved(page, tmp_path / "answers.json")
    assert [one["answer"] for one in found] == ["yes", "turned", "no"]
    assert "text" not in found[2] and found[1]["text"] != found[0]["text"]


def test_a_key_without_a_choice_does_nothing(open_page: Open, page_file: Path) -> None:
    page = open_page(str(page_file)).page
    page.locator("#q3 input:checked").focus()
    before = words_of(page)
    page.keyboard.press("o")
    page.keyboard.press("x")
    page.keyboard.press("Control+l")
    assert words_of(page) == before
    assert page.evaluate("document.activeElement.name") == "q3"


def test_the_other_way_round_is_what_the_command_writes(
    open_page: Open, bare: Path, page_file: Path, tmp_path: Path
) -> None:
    page = open_page(str(page_file)).page
    page.locator("#q1 label", has_text="other way round").click()
    file = tmp_path / "answers.json"
    saved(page, file)
    other = bare_folder("scoop_skirt", tmp_path / "other_skirt")
    asked(str(bare), "--answers", str(file))
    result = CliRunner().invoke(app.cli, ["suggest", str(other), "--ask"], input="o\n")
    assert result.exit_code == 0
    assert (bare / "set.toml").read_bytes() == (other / "set.toml").read_bytes()


def test_two_that_want_the_same_edge_are_told(open_page: Open, tmp_path: Path) -> None:
    bare = bare_folder("slant_trouser", tmp_path / "trouser")
    file = tmp_path / "trouser.html"
    asked(str(bare), "--html", str(file))
    page = open_page(str(file)).page
    rivals = page.locator(".question", has_text=re.compile("which wants? the same edge"))
    assert rivals.count() >= 2
    first = rivals.first
    other = first.locator(".said-side .quiet a").first.get_attribute("href")
    first.locator("label", has_text="Yes, joined so").click()
    assert first.locator(".clash").inner_text() == ""
    # What it takes the edge from need not be answered, and is not counted.
    assert "leave this one, unless both hold" in page.locator(f"{other} .clash").inner_text()
    count = int(page.locator("#state").inner_text().split()[2])
    left = int(page.locator("#state").inner_text().split(", ")[1].split()[0])
    assert left < count - 1
    page.locator(f"{other} label", has_text="Yes, joined so").click()
    assert "wants the same edge" in first.locator(".clash").inner_text()


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light")])
def test_an_accessibility_checker_finds_nothing(
    open_page: Open, page_file: Path, width: int, scheme: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = open_page(str(page_file), width=width, color_scheme=scheme).page
    page.locator("#q1 label", has_text="No").click()
    found = axe.Axe().run(page).response
    assert len(found["passes"]) > 15
    told = [(v["id"], v["nodes"][0]["html"], v["nodes"][0]) for v in found["violations"]]
    assert told == [], json.dumps(told, indent=1)


def test_nothing_sticks_out_of_the_window(open_page: Open, page_file: Path) -> None:
    page = open_page(str(page_file)).page
    for width in (320, 360, 768, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_letters_can_be_read_on_a_telephone(open_page: Open, page_file: Path) -> None:
    page = open_page(str(page_file), width=360, height=800).page
    heights = page.locator(".question .label.mark").evaluate_all(
        "f => f.map((e) => e.getBoundingClientRect().height)"
    )
    assert heights and min(heights) >= 9.0


def test_without_scripts_it_can_be_read(open_page: Open, page_file: Path) -> None:
    page = open_page(str(page_file), java_script_enabled=False).page
    assert page.locator(".no-script").is_visible()
    assert not page.locator("fieldset").first.is_visible()
    assert not page.locator("#save").is_visible()
    assert page.locator(".question svg").first.is_visible()
    assert page.locator(".question .evidence").first.is_visible()


def test_hostile_names_do_nothing(open_page: Open, tmp_path: Path) -> None:
    file = tmp_path / "hostile.html"
    file.write_text(asking_page(Asking(hostile_set(), (), 0.9)), encoding="utf-8")
    page = open_page(str(file)).page
    assert page.evaluate("window.hit") is None
    assert SCRIPT in page.locator("h1").inner_text()


# ------------------------------------------------------------------------------- what is asked last


@pytest.fixture
def joined(tmp_path: Path) -> Path:
    """The trousers as their draft joins them, but for what is asked last."""
    real = demo("slant_trouser")
    info = {name: replace(one, allowance=Allowance()) for name, one in real.info.items()}
    folder = tmp_path / "trousers"
    relations = replace(real.relations, blend=None)
    propagate.save(replace(real, info=info, relations=relations), folder)
    return folder


def last_page(open_page: Open, folder: Path, tmp_path: Path, **how: Any) -> Any:
    file = tmp_path / "last.html"
    asked(str(folder), "--html", str(file), "--least", "1")
    return open_page(str(file), **how).page


def test_what_is_asked_last_is_answered_by_keys_alone(
    open_page: Open, joined: Path, tmp_path: Path
) -> None:
    page = last_page(open_page, joined, tmp_path)
    assert page.locator("#state").inner_text() == "0 of 3 answered, 3 left"
    marks = {node.inner_text() for node in page.locator("#q1 dt").all()}
    drawn = {node.text_content() for node in page.locator("#q1 svg .label").all()}
    assert {"side", "waist", "centre", "hip"} <= marks & drawn
    for _ in range(20):
        if page.evaluate("document.activeElement.name") == "q1":
            break
        page.keyboard.press("Tab")
    page.keyboard.press("o")
    page.keyboard.press("y")  # the girths
    page.keyboard.press("y")
    page.keyboard.type("5/8in")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "save"
    assert page.locator("#state").inner_text() == "3 of 3 answered, 0 left"
    file = tmp_path / "answers.json"
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    download.value.save_as(file)
    assert "suggest SET --answers answers.json" in page.locator("#state").inner_text()
    by_page = joined.with_name("by_page")
    shutil.copytree(joined, by_page)
    text = " ".join(asked(str(by_page), "--answers", str(file), "--least", "1").split())
    assert "propagate blend can be used on it now" in text
    typed = CliRunner().invoke(
        app.cli, ["suggest", str(joined), "--ask", "--least", "1"], input="o\ny\n5/8in\n"
    )
    assert typed.exit_code == 0, typed.output
    for one in sorted(path for path in joined.rglob("*") if path.is_file()):
        assert one.read_bytes() == (by_page / one.relative_to(joined)).read_bytes()


def test_a_length_that_holds_not_is_told_and_not_saved(
    open_page: Open, joined: Path, tmp_path: Path
) -> None:
    page = last_page(open_page, joined, tmp_path)
    field = page.locator("#q3 input[type=text]")
    clash = page.locator("#q3 .clash")
    for wrong in ("60", "2 1/2in", "wide", "1/0in", "-5", "6cm"):
        field.fill(wrong)
        assert f"Found '{wrong}'" in clash.inner_text()
        assert page.locator("#state").inner_text().startswith("0 of 3")
    for right in ("10", "1.5 cm", "1 1/8in", ".5in", "50"):
        field.fill(right)
        assert clash.inner_text() == ""
        assert page.locator("#state").inner_text().startswith("1 of 3")
    # n and l are letters there, no answers.
    field.fill("")
    field.press("n")
    assert field.input_value() == "n"
    assert page.locator("#q3 input:checked").get_attribute("value") == "yes"


def test_the_hip_is_asked_for_on_the_page(open_page: Open, tmp_path: Path) -> None:
    folder = tmp_path / "skirt"
    propagate.save(without_hip(builders.tiny_set()), folder)
    page = last_page(open_page, folder, tmp_path)
    assert "how far below the waist" in page.locator("#q1").inner_text()
    page.locator("#q1 input[type=text]").fill("700")
    assert "a distance of 30 to" in page.locator("#q1 .clash").inner_text()
    page.locator("#q1 input[type=text]").fill("18cm")
    file = tmp_path / "answers.json"
    assert saved(page, file) == [{"kind": "hip", "runs": [], "answer": "yes", "width": "18cm"}]
    asked(str(folder), "--answers", str(file), "--least", "1")
    (tmp_path / "last.html").unlink()
    page = last_page(open_page, folder, tmp_path)
    assert "180.0 mm along the side" in page.locator("#q1").inner_text()
    page.locator("#q1 label", has_text="Yes, all of this is so").click()
    assert page.locator("#state").inner_text().endswith(" 0 left")  # the other way is no more asked
    page.locator("#q2 label", has_text="Yes, all of this is so").click()
    assert "one way alone" in page.locator("#q2 .clash").inner_text()
    assert [one["answer"] for one in saved(page, file)] == ["yes"]
    asked(str(folder), "--answers", str(file), "--least", "1")
    assert propagate.load(folder).relations.blend is not None


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light")])
def test_what_is_asked_last_is_accessible_and_fits(
    open_page: Open, joined: Path, tmp_path: Path, width: int, scheme: str
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page = last_page(open_page, joined, tmp_path, width=width, color_scheme=scheme)
    found = axe.Axe().run(page).response
    assert [(v["id"], v["nodes"][0]["html"]) for v in found["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_marks_and_titles_of_a_question_do_not_lie_on_each_other(
    open_page: Open, tmp_path: Path
) -> None:
    bare = bare_folder("slant_trouser", tmp_path / "trouser")
    file = tmp_path / "trouser.html"
    asked(str(bare), "--html", str(file))
    page = open_page(str(file)).page
    laid = page.locator(".question svg").evaluate_all(
        """drawings => drawings.map(one => [...one.querySelectorAll("text.label")].map(e => {
            const box = e.getBoundingClientRect();
            return [box.left + 1, box.top + 0.15 * box.height, box.right - 1,
                    box.bottom - 0.15 * box.height, e.textContent];
        }))"""
    )
    assert len(laid) > TRUE
    for labels in laid:
        for k, (a, b, c, d, word) in enumerate(labels):
            for e, f, g, h, other in labels[:k]:
                assert c <= e or g <= a or d <= f or h <= b, (word, other)


def test_a_page_without_a_question_says_so(open_page: Open, joined: Path, tmp_path: Path) -> None:
    said = CliRunner().invoke(
        app.cli, ["suggest", str(joined), "--ask", "--least", "1"], input="y\nn\n0\n"
    )
    assert said.exit_code == 0, said.output
    page = last_page(open_page, joined, tmp_path)
    assert "Nothing is left to be asked" in page.locator("main").inner_text()
    assert "0 questions" not in page.locator("body").inner_text()
    assert page.locator("#save").count() == 0


def test_a_piece_that_lies_on_another_is_asked_about_on_the_page(
    open_page: Open, tmp_path: Path
) -> None:
    folder = tmp_path / "dress"
    save_dress(folder, without_derived(demo("concert_dress")))
    page = last_page(open_page, folder, tmp_path)
    assert "2 questions left, about pieces that follow another one" in page.inner_text("header")
    assert "Unbroken lines are of the piece from which a change comes" in page.inner_text("header")
    assert "is it traced from front" in page.locator("#q1 .said-first").inner_text()
    drawn = {node.text_content() for node in page.locator("#q1 svg .label").all()}
    assert {"A", "B", "C", "D", "Front neck facing"} <= drawn
    page.locator("#q1 input[value=yes]").check()
    page.locator("#q2 input[value=no]").check()
    file = tmp_path / "answers.json"
    with page.expect_download() as download:
        page.locator("#save").click()
    download.value.save_as(file)
    text = asked(str(folder), "--answers", str(file), "--least", "1")
    assert "follows it now" in text
    assert propagate.load(folder).relations.derived.keys() == {"front_facing"}
    (tmp_path / "last.html").unlink()
    again = last_page(open_page, folder, tmp_path)
    assert again.locator(".question").count() == 0
