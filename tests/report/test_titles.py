"""What a person reads is words: titles where a set has them, names made readable elsewhere."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

import propagate
from propagate.demo import demo_names
from propagate.engine.review.run import review, review_changed
from propagate.engine.walk import walk
from propagate.io.edits_toml import edit_of_words
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.titles import in_words, name_title, piece_title
from propagate.pattern.validate import find_problems
from propagate.report.blend_text import blend_lines
from propagate.report.walk_text import walk_lines
from propagate.report.why import why_lines
from tests.shared import demo, main_job

TROUSER = "slant_trouser"
NAMES = re.compile(r"\b[a-z]+_[a-z_]+\b")


@pytest.mark.parametrize("name", demo_names())
def test_no_name_with_an_underscore_is_printed(name: str) -> None:
    """But in the line that tells what to type."""
    result = main_job(name)
    lines = blend_lines(result)
    for piece in list(result.pattern.pieces)[:3]:
        lines += why_lines(result, piece)
    lines += walk_lines(walk(result.pattern), pattern=result.pattern)
    assert NAMES.findall("\n".join(lines)) == []


def titled() -> propagate.PatternSet:
    """The trouser with a title of each kind."""
    pattern = demo(TROUSER)
    relations = pattern.relations
    seam = replace(relations.seams["side_seam"], title="Outside leg seam")
    titles = {
        "hip": "Full hip",
        "front.side": "Outside leg",
        "front.hip_notch": "Double notch",
        "full_front.waist": "Top",
    }
    changed = replace(relations, seams={**relations.seams, "side_seam": seam}, titles=titles)
    return replace(pattern, relations=changed)


def test_a_title_is_said_instead_of_the_name() -> None:
    pattern = titled()
    assert find_problems(pattern) == ()
    assert name_title(pattern, "hip") == "Full hip"
    assert name_title(pattern, "side_seam") == "Outside leg seam"
    said = in_words(pattern, "side_seam: front.side, front.hip_notch and full_front/waist")
    assert said == (
        "outside leg seam: outside leg of front, double notch of front and top of full front"
    )


def test_what_is_no_name_of_the_set_stays() -> None:
    pattern = demo(TROUSER)
    text = "write ease_by_size, see side.waist and 2.5/3 of front."
    assert in_words(pattern, text) == text


def test_ends_and_whole_pieces_are_said_too() -> None:
    said = in_words(demo(TROUSER), "front.mouth.start, under_bag.* and facing.*")
    assert said == "start of opening of front, under bag and pocket facing"


def test_an_opening_is_told_once_and_each_side_by_its_own_word() -> None:
    pattern = demo(TROUSER)
    said = in_words(pattern, "opening front.mouth turned")
    assert said == "opening of front turned"
    assert (
        in_words(pattern, "front.mouth | top_bag.mouth") == "opening of front | opening of top bag"
    )


def test_a_mark_by_itself_is_that_of_the_piece_named_before_it() -> None:
    said = in_words(demo(TROUSER), "facing.side from start to mouth_low + front.side, side_seam")
    assert said == (
        "side of pocket facing from start to lower opening mark + side of front, side seam"
    )


@pytest.mark.parametrize(
    ("text", "of", "said"),
    [
        ("edge 'mouth' of 'under_bag'", "front", "edge ‘opening’ of under bag"),
        ("'front.mouth' is 3 mm longer", "", "opening of front is 3 mm longer"),
        ("off level 'hip', as edit 'longer' says", "", "off level ‘hip’, as edit 'longer' says"),
        ("the bag's depth and the pieces' lengths", "", "the bag's depth and the pieces' lengths"),
    ],
)
def test_no_name_stands_between_quotes(text: str, of: str, said: str) -> None:
    """A piece and what is on one go without; what is called by a title alone has those of print."""
    assert in_words(demo(TROUSER), text, of) == said


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("FRONT", "front"),
        ("FRONT POCKET", "front pocket"),
        ("BACK LEFT", "back left"),
        ("CB PANEL", "CB panel"),
        ("SIDE FRONT III", "side front III"),
        ("T-SHIRT FRONT", "T-shirt front"),
        ("A-line Skirt", "A-line Skirt"),
        ("CF", "CF"),
        ("HEM", "hem"),
        ("ПЕРЕД", "перед"),
    ],
)
def test_capitals_are_said_readably_and_stay_on_the_piece(title: str, said: str) -> None:
    pattern = demo(TROUSER)
    info = {**pattern.info, "front": replace(pattern.info["front"], title=title)}
    titled_so = replace(pattern, info=info)
    assert piece_title(titled_so, "front") == title
    assert in_words(titled_so, "front.side") == f"side of {said}"


def test_two_pieces_of_one_title_bear_their_names() -> None:
    pattern = demo(TROUSER)
    info = {**pattern.info, "welt": replace(pattern.info["welt"], title="Front")}
    both = replace(pattern, info=info)
    assert piece_title(both, "front") == "Front (front)"
    assert piece_title(both, "welt") == "Front (welt)"


def test_titles_come_back_from_the_file() -> None:
    pattern = titled()
    head = parse_set(render_set(pattern), "set.toml")
    assert head.relations.titles == pattern.relations.titles
    assert head.relations.seams["side_seam"].title == "Outside leg seam"


def test_a_title_of_no_level_is_refused_and_one_of_no_piece_is_told() -> None:
    """What lies on a piece comes and goes with edits: its title waits."""
    pattern = demo(TROUSER)
    titles = {"knea": "Knee", "frunt.side": "Side", "front.gone": "Gone"}
    wrong = replace(pattern, relations=replace(pattern.relations, titles=titles))
    (said,) = find_problems(wrong)
    assert "knea" in said and "knee" in said
    (found,) = [item for item in review(wrong) if item.rule == "title for nothing"]
    assert "frunt" in found.text and "front" in found.text


def _with_titles(titles: dict[str, str]) -> propagate.PatternSet:
    pattern = demo(TROUSER)
    return replace(pattern, relations=replace(pattern.relations, titles=titles))


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("front.hip_nitch", "hip_notch"),
        ("front.sied", "side"),
        ("full_front.waste", "waist"),
        ("back.wellt", "welt"),
    ],
)
def test_a_title_whose_mark_is_spelt_otherwise_is_told(written: str, meant: str) -> None:
    wrong = _with_titles({written: "Its title"})
    assert find_problems(wrong) == ()
    (found,) = [item for item in review(wrong) if item.rule.startswith("title")]
    assert (found.rule, found.sews) == ("title misspelt", True)
    assert f'"{meant}"' in found.text and written in found.where  # to be typed


def test_a_title_waits_where_nothing_is_meant_by_it_or_what_is_like_it_has_one() -> None:
    """Ends of an edge may have titles as well."""
    quiet = {
        "front.gone": "Gone",
        "front.hip_notch": "Hip notch",
        "front.hip_notch_2": "Second",
        "front.side.start": "Side at the waist",
    }
    assert not [item for item in review(_with_titles(quiet)) if item.rule.startswith("title")]


def test_after_an_edit_a_title_without_its_mark_is_not_told() -> None:
    """The edit may have taken away the second notch, or brought the second dart."""
    after = _with_titles({"front.hip_notch_2": "Second hip notch"})
    assert [item.rule for item in review(after)] == ["title misspelt"]
    assert review_changed(after, ()) == ()
    skirt = demo("scoop_skirt")
    titles = {**skirt.relations.titles, "skirt_back.back_dart_2": "Second dart"}
    early = replace(skirt, relations=replace(skirt.relations, titles=titles))
    assert "title misspelt" in [item.rule for item in review(early)]
    words = ["dart=skirt_back.back_dart", "apart=56mm"]
    divided = propagate.run(early, edit_of_words("divide-dart", words).edit).pattern
    assert divided.relations.titles == titles
    assert "title misspelt" not in [item.rule for item in review(divided)]
