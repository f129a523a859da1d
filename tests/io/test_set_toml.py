"""The relations file: strict reading, and writing that reads back to the same values."""

import tomllib
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError
from propagate.io.folder import load
from propagate.io.set_toml import SetHead, parse_set, render_set
from propagate.lengths import parse_length
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import (
    Allowance,
    Band,
    BlendMain,
    BlendPlan,
    LegPlan,
    PieceInfo,
    Seam,
    Span,
    Zone,
)
from tests.builders import SIZES, TINY_TOML, pocket_set, tiny_set

DEMOS = Path(__file__).parents[2] / "demo_sets"
PARTS = ("name", "sizes", "base", "lay_on", "info", "relations", "chart")


def same(head: SetHead, pattern: PatternSet) -> bool:
    return all(getattr(head, part) == getattr(pattern, part) for part in PARTS)


# --------------------------------------------------------------------------- reading


def test_the_text_of_the_tiny_set_says_what_its_code_says() -> None:
    assert same(parse_set(TINY_TOML, "set.toml"), tiny_set())


@pytest.mark.parametrize("strip", [None, (), ("hem", "waist"), ("waist", "hem")])
def test_what_is_said_of_a_strip_comes_back_and_nothing_stays_nothing(
    strip: tuple[str, ...] | None,
) -> None:
    pattern = tiny_set()
    info = {**pattern.info, "back": replace(pattern.info["back"], strip=strip)}
    written = replace(pattern, info=info)
    assert same(parse_set(render_set(written), "set.toml"), written)


def test_a_strip_that_is_no_list_of_names_is_refused() -> None:
    text = TINY_TOML.replace("[pieces.back]", '[pieces.back]\nstrip = "waist"')
    with pytest.raises(FormatError, match="strip"):
        parse_set(text, "set.toml")


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (10, 10.0),
        (0.1, 0.1),
        ("10mm", 10.0),
        ("1cm", 10.0),
        ("1.5 cm", 15.0),
        ("0.375in", 9.525),
        ("5/8in", 15.875),
        ("1 3/8 in", 34.925),
        (" +.5in ", 12.7),
        ("-3mm", -3.0),
        ("1/3in", float(Fraction(254, 30))),
    ],
)
def test_lengths(written: object, mm: float) -> None:
    assert parse_length(written) == mm


@pytest.mark.parametrize(
    "written",
    [True, None, "10", "10 m", "ten mm", "1 2in", "3/0in", "1,5cm", "", [], float("nan"), 10**400],
)
def test_what_is_not_a_length(written: object) -> None:
    assert parse_length(written) is None


def changed(old: str, new: str) -> str:
    assert TINY_TOML.count(old) >= 1
    return TINY_TOML.replace(old, new, 1)


SIZES_LINE = 'sizes = ["36", 38, "40"]'
FRONT = "[pieces.front]\n"
SEAM = 'name = "side_seam"\n'
GIRTH = 'level = "hip"\nsilhouettes = ["front", "back"]\n'
WITHOUT_SEAM = "seam = 3\n" + TINY_TOML[: TINY_TOML.index("[[seam]]")]
BAD = {
    "broken line": ("format = 1\nname = \n", "set.toml: line 2, column 8: not readable as TOML"),
    "broken end": ('format = 1\nname = "x', "set.toml: line 2, column 10: not readable as TOML"),
    "newer": ("format = 7", "format 7 is newer than this program reads (1); update"),
    "format text": (changed("format = 1", 'format = "1"'), "format: found '1' (text)"),
    "size 36.0": (changed('"36"', "36.0"), 'sizes: found 36.0 (number), expected whole'),
    "size 36.0, cure": (changed('"36"', "36.0"), 'write it as text, "36"'),
    "size true": (changed('"36"', "true"), "sizes: found True (true/false)"),
    "size with a blank": (changed('"36"', '"3 6"'), "sizes: found '3 6' (text)"),
    "size twice": (changed('"36"', '"38"'), "found size '38' twice"),
    "no sizes": (changed(SIZES_LINE, "sizes = []"), "sizes: found [] (list), expected at least"),
    "sizes text": (changed(SIZES_LINE, 'sizes = "36"'), "sizes: found '36' (text), expected a"),
    "base": (changed('base = "38"', "base = 42"), "base: found 42 (number), expected one of the"),
    "no base": (changed('base = "38"\n', ""), "'base' is missing"),
    "no level": (changed('lay_on = "hip"\n', ""), "'lay_on' is missing"),
    "geometry outside": (
        changed('base = "38"', 'base = "38"\ngeometry = "../x"'),
        "geometry: found '../x' (text), expected the name of a folder beside this file",
    ),
    "top key": (changed("[chart]", "[charts]"), "unknown key 'charts'; did you mean 'chart'"),
    "chart row short": (
        changed("waist = [680,", "waist = ["),
        "chart, waist: found 2 values, expected 3: one for each size (36, 38, 40)",
    ),
    "chart row long": (changed("waist = [680,", "waist = [1, 680,"), "waist: found 4 values"),
    "chart value": (changed('"72cm"', '"72"'), "chart, waist: found '72' (text), expected"),
    "chart no list": (changed("hip = [780, 824, 868]", "hip = 4"), "chart, hip: found 4 (number)"),
    "piece key": (changed('title = "Front"', 'titel = "F"'), "piece 'front': unknown key 'titel'"),
    "piece name": (changed(FRONT, '[pieces."fr ont"]\n'), "pieces: found 'fr ont' (text)"),
    "cut 0": (changed("cut = 1", "cut = 0"), "piece 'front', cut: found 0 (number)"),
    "cut text": (changed("cut = 1", 'cut = "1"'), "piece 'front', cut: found '1' (text)"),
    "pair": (changed("pair = true", 'pair = "yes"'), "piece 'back', pair: found 'yes' (text)"),
    "allowance": (
        changed('default = "1cm"', 'default = "1 foot"'),
        "piece 'front', allowance, default: found '1 foot' (text), expected a length",
    ),
    "allowance below 0": (
        changed("hem = 40", "hem = -1"),
        "piece 'front', allowance, edges, hem: found -1 (number), expected a length of 0 or more",
    ),
    "corner style": (
        changed('"square"', '"round"'),
        "allowance, corners, side/waist: found 'round' (text), expected 'mitre' or 'square'",
    ),
    "span": (changed('"front.side"', '"front side"'), "seam 'side_seam', lead: span 'front side'"),
    "run a number": (changed('lead = "front.side"', "lead = 1"), "seam 'side_seam', lead: found 1"),
    "no follower": (
        changed('follow = ["back.side reversed"]\n', ""),
        "seam 'side_seam': 'follow' is missing",
    ),
    "mirror and follower": (
        changed(SEAM, SEAM + "mirror = true\n"),
        "seam 'side_seam', follow: found ['back.side reversed'] (list), expected no follower",
    ),
    "seam key": (changed(SEAM, SEAM + "easy = 3\n"), "unknown key 'easy'; did you mean 'ease'"),
    "seam twice": (
        changed("[[girth]]", f'[[seam]]\n{SEAM}lead = "a.b"\nfollow = "a.c"\n[[girth]]'),
        "seam 'side_seam': found a second seam 'side_seam'",
    ),
    "notch alone": (
        changed('[["front.hip_notch", "back.hip_notch"]]', '["front.hip_notch"]'),
        "seam 'side_seam', notches: found ['front.hip_notch'] (list), expected a list of pairs",
    ),
    "crossing": (
        changed('start = ["front.hem", "back.hem"]', 'start = "front.hem"'),
        "seam 'side_seam', crossing, start: found 'front.hem' (text), expected a pair",
    ),
    "seam a number": (WITHOUT_SEAM, "seam: found 3 (number), expected a list"),
    "seam of texts": (
        WITHOUT_SEAM.replace("seam = 3", 'seam = ["a"]'),
        "seam number 1: found 'a' (text), expected a table",
    ),
    "girth without anything": (changed(GIRTH, ""), "girth 'hip': expected either 'runs', or"),
    "girth with both": (
        changed(GIRTH, GIRTH + 'runs = ["front.hem"]\n'),
        "girth 'hip': expected either",
    ),
    "blend": (changed('upper = "waist"\n', ""), "blend: 'upper' is missing"),
    "blend main": (
        changed('silhouette = "front", across', 'silhouette = "front", acros'),
        "blend, main 'front': unknown key 'acros'; did you mean 'across'",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "message"), BAD.values(), ids=BAD.keys())
def test_bad_text_is_named(text: str, message: str) -> None:
    with pytest.raises(FormatError) as caught:
        parse_set(text, "set.toml")
    assert message in str(caught.value)
    assert "set.toml" in str(caught.value)


POCKET = render_set(pocket_set())
BAD_POCKET = {
    "opening end": ('across_end = "end"', 'across_end = "top"', "across_end: found 'top' (text)"),
    "opening key": ("slide = 10", "slides = 10", "unknown key 'slides'; did you mean 'slide'"),
    "stack without layers": ("[[stack.layer]]", "[[stack.layers]]", "_layers': 'layer' is missing"),
    "layer put": (
        'put = [["mouth.end", "mouth.end"], ["mouth.start", "mouth.start"]]',
        'put = [["mouth.end", "mouth.end"]]',
        "layer 'top_bag', put: found [['mouth.end', 'mouth.end']] (list), expected a list of at",
    ),
    "ride": ('{ waist = "waist"', "{ waist = 3", "ride, waist: found 3 (number), expected text"),
    "shows": ("shows = true", "shows = 1", "layer 'facing', shows: found 1 (number)"),
    "part": ('{ piece = "facing",', '{ peace = "facing",', "part number 1: 'piece' is missing"),
    "zone": ('begin = "start"', 'begins = "start"', "zone 'extension': 'begin' is missing"),
    "zones": ("zones = [", "zone = [", "band 'waistband_fit': 'zones' is missing"),
    "place": ('piece = "loop"\nlevel', 'piece = "loop"\nlevels', "'loop': 'level' is missing"),
}  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message"), BAD_POCKET.values(), ids=BAD_POCKET.keys())
def test_bad_relations_are_named(old: str, new: str, message: str) -> None:
    assert old in POCKET
    with pytest.raises(FormatError) as caught:
        parse_set(POCKET.replace(old, new), "set.toml")
    assert message in str(caught.value)


def test_all_problems_are_named_at_once() -> None:
    text = changed('base = "38"', "base = 42").replace("cut = 2", "cut = 0")
    with pytest.raises(FormatError) as caught:
        parse_set(text.replace("[blend]", "[blent]"), "set.toml")
    message = str(caught.value)
    assert all(part in message for part in ("3 problems", "base", "piece 'back', cut", "'blent'"))


# --------------------------------------------------------------------------- writing


@pytest.mark.parametrize("pattern", [tiny_set(), pocket_set()], ids=lambda p: p.name)
def test_rendered_text_reads_back(pattern: PatternSet) -> None:
    text = render_set(pattern)
    assert same(parse_set(text, "set.toml"), pattern)
    assert tomllib.loads(text)["format"] == 1


@pytest.mark.parametrize("folder", sorted(p.parent.name for p in DEMOS.glob("*/set.toml")))
def test_rendered_demo_reads_back(folder: str) -> None:
    pattern = load(DEMOS / folder)
    assert same(parse_set(render_set(pattern), "set.toml"), pattern)


words = st.text("ab_-ü1", min_size=1, max_size=5)
free_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=10)
lengths = st.floats(0, 1e6)
signed = st.floats(-1e6, 1e6)
marks = words.filter(lambda word: word not in ("from", "to", "reversed"))
spans = st.builds(Span, words, words, marks, marks)
runs = st.lists(spans, min_size=1, max_size=2).map(tuple)
seams = st.builds(
    Seam,
    st.just("s"),
    runs,
    runs,
    ease=signed,
    tolerance=lengths,
    notches=st.lists(st.tuples(free_text, free_text), max_size=2).map(tuple),
    crossing=st.dictionaries(st.sampled_from(["start", "end"]), st.tuples(words, words)),
    hold=st.none() | words,
    fixed=st.booleans(),
    check=st.booleans(),
)
allowances = st.builds(
    Allowance,
    lengths,
    st.dictionaries(free_text, lengths, max_size=2),
    st.frozensets(free_text, max_size=2),
    st.dictionaries(free_text, st.sampled_from(["mitre", "square"]), max_size=2),
)
infos = st.builds(
    PieceInfo,
    free_text,
    st.integers(1, 9),
    st.booleans(),
    free_text,
    allowances,
    st.none() | words,
    st.dictionaries(free_text, free_text, max_size=2),
)
zones = st.builds(Zone, words, words, words, runs | st.just(()), signed)
bands = st.builds(
    Band, st.just("b"), words, words, words, st.lists(zones, max_size=2).map(tuple), lengths
)
blends = st.builds(
    BlendPlan,
    words,
    words,
    st.lists(
        st.builds(BlendMain, words, words, words, words, words, words, st.none() | words),
        max_size=2,
    ).map(tuple),
    words,
    st.none() | st.builds(LegPlan, words, words, st.lists(words, max_size=2).map(tuple)),
)


@given(
    free_text, infos, seams, bands, st.none() | blends, st.lists(lengths, min_size=3, max_size=3)
)
def test_whatever_is_rendered_reads_back(
    name: str,
    info: PieceInfo,
    seam: Seam,
    band: Band,
    blend: BlendPlan | None,
    row: list[float],
) -> None:
    relations = Relations(seams={"s": seam}, bands={"b": band}, blend=blend)
    chart = {name: {size: value + 1 for size, value in zip(SIZES, row, strict=True)}}
    pattern = replace(tiny_set(), name=name, info={"front": info}, relations=relations, chart=chart)
    assert same(parse_set(render_set(pattern), "set.toml"), pattern)


def test_a_chart_without_a_size_is_not_rendered() -> None:
    with pytest.raises(FormatError, match="chart 'hip': found no value for size '40'"):
        render_set(replace(tiny_set(), chart={"hip": {"36": 1.0, "38": 2.0}}))


def test_a_number_of_thousands_of_digits_is_refused() -> None:
    with pytest.raises(FormatError, match=r"set\.toml: not readable as TOML \(Exceeds the limit"):
        parse_set("format = 1\nsizes = [" + "1" * 5000 + "]\n", "set.toml")
