"""A set that changed is written into the text it came from: all other lines stay as they are.

What a line says is judged by the standard library's TOML reader, which writes nothing, and by
comparing lines; not by the writer.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, replace
from difflib import SequenceMatcher
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from propagate.demo import demo_path
from propagate.errors import FormatError
from propagate.io import set_toml
from propagate.io.folder import MARKER, set_files
from propagate.io.origin import origin_of
from propagate.io.toml_in_place import changed_in_place
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.toml_text import key_text, value_text
from tests.builders import tiny_set
from tests.examples import examples
from tests.shared import demo

DEMOS = sorted(folder.parent.name for folder in demo_path().parent.glob("*/set.toml"))

CHARTED = [name for name in DEMOS if demo(name).chart]


def text_of(pattern: PatternSet) -> str:
    return set_files(pattern)[MARKER].decode()


def changed_lines(old: str, new: str) -> tuple[list[str], list[str]]:
    """Lines that are gone, and lines that came."""
    a, b = old.splitlines(keepends=True), new.splitlines(keepends=True)
    gone: list[str] = []
    came: list[str] = []
    for what, i, i_end, j, j_end in SequenceMatcher(None, a, b, autojunk=False).get_opcodes():
        if what != "equal":
            gone += a[i:i_end]
            came += b[j:j_end]
    return gone, came


def says(text: str, pattern: PatternSet) -> bool:
    head = set_toml.parse_set(text, MARKER)
    return all(
        getattr(head, part) == getattr(pattern, part)
        for part in ("name", "sizes", "base", "lay_on", "info", "relations", "chart")
    )


# ------------------------------------------------------------------------- properties


def infos(pattern: PatternSet, draw: st.DrawFn) -> PatternSet:
    """One field of one piece's information."""
    name = draw(st.sampled_from(sorted(pattern.info)))
    info = pattern.info[name]
    words: dict[str, Any] = {
        "title": draw(
            st.text(st.characters(codec="utf-8", exclude_characters="#"), min_size=1, max_size=12)
        ),
        "cut": draw(st.integers(1, 9)),
        "pair": not info.pair,
        "fabric": draw(st.sampled_from(["", "new cloth", 'in "quotes"'])),
        "allowance": replace(info.allowance, default=draw(st.floats(0.0, 40.0))),
        "double_notches": (),
    }
    key = draw(st.sampled_from(sorted(words)))
    return replace(pattern, info={**pattern.info, name: replace(info, **{key: words[key]})})


def charts(pattern: PatternSet, draw: st.DrawFn) -> PatternSet:
    """One row of the chart, in one size or all."""
    row = draw(st.sampled_from(sorted(pattern.chart)))
    sizes = draw(st.sampled_from([pattern.sizes, pattern.sizes[:1], pattern.sizes[-1:]]))
    mm = draw(st.floats(1.0, 2000.0))
    return replace(
        pattern, chart={**pattern.chart, row: {**pattern.chart[row], **dict.fromkeys(sizes, mm)}}
    )


def related(pattern: PatternSet, draw: st.DrawFn) -> PatternSet:
    """One plain field of one relation."""
    found = [
        (kind, name, one.name)
        for kind in KINDS.values()
        if kind.kept
        for name, relation in relations_of(pattern.relations, kind.key).items()
        for one in fields(relation)
        if isinstance(getattr(relation, one.name), bool)
        or (one.name != kind.naming and isinstance(getattr(relation, one.name), float))
    ]
    kind, name, key = draw(st.sampled_from(found))
    said = relations_of(pattern.relations, kind.key)
    was = getattr(said[name], key)
    new = not was if isinstance(was, bool) else draw(st.floats(0.5, 90.0))
    relations = {**said, name: replace(said[name], **{key: new})}
    return replace(pattern, relations=replace(pattern.relations, **{kind.kept: relations}))


@examples(30)
@given(st.data())
@pytest.mark.parametrize("change", [infos, charts, related])
def test_one_change_leaves_every_other_line(
    change: Callable[[PatternSet, st.DrawFn], PatternSet], data: st.DataObject
) -> None:
    pattern = demo(data.draw(st.sampled_from(DEMOS if change is not charts else CHARTED)))
    before = text_of(pattern)
    new = change(pattern, data.draw)  # type: ignore[arg-type]
    try:
        assume(says(set_toml.render_set(new), new))
    except FormatError:
        assume(False)
    after = text_of(new)
    assert says(after, new)
    gone, came = changed_lines(before, after)
    assert len(gone) <= 2 and len(came) <= 2  # a table of its own has a header
    if gone and came:
        assert gone[0].partition("#")[2] == came[0].partition("#")[2]
    assert text_of(replace(new, **{f: getattr(pattern, f) for f in PARTS})) == before


PARTS = ("info", "chart", "relations")


@pytest.mark.parametrize("name", DEMOS)
def test_a_set_with_equal_values_is_written_as_it_was(name: str) -> None:
    pattern = demo(name)
    files = set_files(pattern)
    made_anew = replace(
        pattern,
        info={key: replace(info) for key, info in pattern.info.items()},
        relations=replace(pattern.relations),
        chart={row: dict(values) for row, values in pattern.chart.items()},
        pieces={
            key: replace(piece, nest={size: replace(one) for size, one in piece.nest.items()})
            for key, piece in pattern.pieces.items()
        },
    )
    assert set_files(made_anew) == files


@pytest.mark.parametrize("name", DEMOS)
def test_a_relation_that_is_gone_takes_its_own_lines_along(name: str) -> None:
    pattern = demo(name)
    before = text_of(pattern)
    for kind in KINDS.values():
        said = dict(relations_of(pattern.relations, kind.key))
        for one in list(said)[:2]:
            rest = {key: value for key, value in said.items() if key != one}
            new = replace(pattern, relations=replace(pattern.relations, **{kind.kept: rest}))
            after = text_of(new)
            assert says(after, new)
            gone, came = changed_lines(before, after)
            assert not came
            assert not [line for line in gone if line.startswith("#")]
            back = replace(new, relations=pattern.relations)
            assert text_of(back) == before


@pytest.mark.parametrize("name", DEMOS)
def test_a_new_relation_stands_behind_those_of_its_kind(name: str) -> None:
    pattern = demo(name)
    before = text_of(pattern)
    for kind in KINDS.values():
        said = relations_of(pattern.relations, kind.key)
        if not said:
            continue
        like = list(said.values())[-1]
        another = replace(like, **{kind.naming: "another"})
        relations = replace(pattern.relations, **{kind.kept: {**said, "another": another}})
        new = replace(pattern, relations=relations)
        after = text_of(new)
        assert says(after, new)
        gone, came = changed_lines(before, after)
        assert not gone
        (before_it, _, _) = after.partition('"another"')
        headers = [line for line in before_it.splitlines() if line.startswith("[")]
        assert headers[-1].startswith(f"[[{kind.key}]]")
        assert sum(line.startswith(f"[[{kind.key}]]") for line in headers) == len(said) + 1
        assert came
    assert not [line for line in before.splitlines() if line not in after.splitlines()]


def test_a_blend_keeps_the_comments() -> None:
    import propagate

    pattern = demo("scoop_skirt")
    result = propagate.blend(pattern, propagate.Blend({"natural_waist": "S", "seat": "M"}))
    before, after = text_of(pattern), text_of(result.pattern)
    assert says(after, result.pattern)
    comments = [line for line in before.splitlines() if line.startswith("#")]
    assert comments == [line for line in after.splitlines() if line.startswith("#")]
    assert before.count("#") == after.count("#")


# ----------------------------------------------------------------------------- spellings

BEFORE = """\
# told by hand
format = 1 # so far
name = 'a "b"'
[pieces]
front = { title = "Front", cut = 2, allowance.default = 10 }
"back piece".title = "Back" # the back
"back piece".allowance = { default = 5, edges = { hem = "3/8in", side = 10 } } # widths

[[band]]
name = "one"
zones = [
  { name = "a", run = ["x.y"], ease = 3 }, # first
  { name = "b", run = "x.z" }, # second

  # about the last
  { name = "c" } # third
]

# the end
"""
SAID: dict[str, Any] = {
    "format": 1,
    "name": 'a "b"',
    "pieces": {
        "front": {"title": "Front", "cut": 2, "allowance": {"default": 10}},
        "back piece": {
            "title": "Back",
            "allowance": {"default": 5, "edges": {"hem": 9.525, "side": 10}},
        },
    },
    "band": [
        {
            "name": "one",
            "zones": [
                {"name": "a", "run": ["x.y"], "ease": 3},
                {"name": "b", "run": ["x.z"]},
                {"name": "c"},
            ],
        }
    ],
}


def spelled(value: Any) -> str:
    """TOML with one key a line, every table inline but the first two levels."""
    lines = [
        f"{key} = {value_text(said)}"
        for key, said in value.items()
        if key not in ("pieces", "band")
    ]
    for name, piece in value.get("pieces", {}).items():
        lines += [f"[pieces.'{name}']", *(f"{k} = {value_text(v)}" for k, v in piece.items())]
    for band in value.get("band", []):
        lines += ["[[band]]", *(f"{k} = {value_text(v)}" for k, v in band.items())]
    return "\n".join(lines) + "\n"


def changed(at: tuple[Any, ...], value: Any) -> dict[str, Any]:
    def at_place(said: Any, rest: tuple[Any, ...]) -> Any:
        if not rest:
            return value
        if isinstance(said, list):
            return [at_place(v, rest[1:]) if k == rest[0] else v for k, v in enumerate(said)]
        found = {k: at_place(v, rest[1:]) if k == rest[0] else v for k, v in said.items()}
        if rest[0] not in said:
            found[rest[0]] = at_place({}, rest[1:])
        return {k: v for k, v in found.items() if v is not None}

    return at_place(SAID, at)  # type: ignore[no-any-return]


CHANGES: Mapping[str, tuple[tuple[Any, ...], Any, str, str]] = {
    "a quoted name": (("name",), "b", """name = 'a "b"'""", 'name = "b"'),
    "inline": (("pieces", "front", "cut"), 3,
               """front = { title = "Front", cut = 2, allowance.default = 10 }""",
               """front = { title = "Front", cut = 3, allowance = { default = 10 } }"""),
    "a dotted key": (("pieces", "back piece", "title"), "B",
                     """"back piece".title = "Back" # the back""",
                     """"back piece".title = "B" # the back"""),
    "deep inside": (("pieces", "back piece", "allowance", "edges", "side"), 12,
                    '"3/8in", side = 10 } }', '"3/8in", side = 12 } }'),
    "a key more": (("pieces", "back piece", "allowance", "edges", "top"), 1,
                   'side = 10 } }', 'side = 10, top = 1 } }'),
    "a key less": (("pieces", "back piece", "allowance", "edges", "hem"), None,
                   'edges = { hem = "3/8in", side = 10 }', 'edges = { side = 10 }'),
    "a dotted key more": (("pieces", "back piece", "cut"), 4,
                          '} } # widths\n', '} } # widths\n"back piece".cut = 4\n'),
    "a row": (("band", 0, "zones", 1, "run"), ["x.w"], 'run = "x.z"', 'run = ["x.w"]'),
    "a row more": (("band", 0, "zones"), [*SAID["band"][0]["zones"], {"name": "d"}],
                   '  { name = "c" } # third\n', '  { name = "c" }, # third\n  { name = "d" },\n'),
    "a row less": (("band", 0, "zones"), SAID["band"][0]["zones"][::2],
                   '  { name = "b", run = "x.z" }, # second\n', ""),
    "a row between": (("band", 0, "zones"),
                      [SAID["band"][0]["zones"][0], {"name": "n"}, *SAID["band"][0]["zones"][1:]],
                      "# first\n", '# first\n  { name = "n" },\n'),
    "a row renamed": (("band", 0, "zones", 0, "name"), "z", '{ name = "a"', '{ name = "z"'),
}  # fmt: skip


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("what", CHANGES)
def test_every_spelling_is_followed(what: str, mark: str, line_end: str) -> None:
    at, value, gone, came = CHANGES[what]
    assert BEFORE.count(gone) == 1
    text = (mark + BEFORE).replace("\n", line_end)
    wanted = changed(at, value)
    new = changed_in_place(text, spelled(SAID), spelled(wanted))
    said = tomllib.loads(
        new.removeprefix(mark).replace('"3/8in"', "9.525").replace('"x.z"', '["x.z"]')
    )
    assert said == wanted or what == "a row"
    assert new == (mark + BEFORE.replace(gone, came)).replace("\n", line_end)


def in_lines(value: Mapping[str, Any]) -> str:
    """Every top key on a line of its own, all that is in it inline."""
    return "".join(f"{key_text(key)} = {value_text(said)} # {key}\n" for key, said in value.items())


def dotted(value: Mapping[str, Any], path: str = "") -> Iterator[str]:
    """Every value on a line of its own, with the way to it in front."""
    for key, said in value.items():
        if isinstance(said, dict) and said:
            yield from dotted(said, f"{path}{key_text(key)}.")
        else:
            yield f"{path}{key_text(key)} = {value_text(said)} # {path}\n"


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("way", [in_lines, lambda value: "".join(dotted(value))])
def test_a_set_may_be_spelled_inline_or_with_dots(
    way: Callable[[Mapping[str, Any]], str], name: str
) -> None:
    pattern = demo(name)
    before = way(tomllib.loads(text_of(pattern)))
    pattern = replace(pattern, origin=replace(origin_of(pattern), text=before.encode()))
    assert text_of(pattern) == before
    piece = list(pattern.info)[-1]
    info = replace(pattern.info[piece], cut=8, fabric="new cloth")
    seam = list(pattern.relations.seams)[-1]
    seams = {n: s for n, s in pattern.relations.seams.items() if n != seam}
    seams["another"] = replace(pattern.relations.seams[seam], name="another")
    for new, most in (
        (replace(pattern, info={**pattern.info, piece: info}), 2),
        (replace(pattern, relations=replace(pattern.relations, seams=seams)), 1),
    ):
        after = text_of(new)
        assert says(after, new)
        gone, came = changed_lines(before, after)
        assert 1 <= len(came) <= most and len(gone) <= most


TWICE = """\
format = 1
# by hand
band = [ { name = "one", a.b = 1, a.c = 2 } ]
"""


def test_keys_with_dots_inline_are_changed_with_the_table_they_stand_in() -> None:
    old = {"format": 1, "band": [{"name": "one", "a": {"b": 1, "c": 2}}]}
    new = {"format": 1, "band": [{"name": "one", "a": {"b": 1, "c": 3}}]}
    assert tomllib.loads(TWICE) == old
    found = changed_in_place(TWICE, in_lines(old), in_lines(new))
    assert tomllib.loads(found) == new
    assert found.splitlines()[:2] == TWICE.splitlines()[:2]


def test_what_cannot_be_followed_is_written_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a set says goes before its comments."""
    monkeypatch.setattr("propagate.io.folder.changed_in_place", lambda text, *_: text)
    new = replace(demo("scoop_skirt"), name="another")
    assert says(text_of(new), new)


def test_a_set_without_an_origin_is_written_anew() -> None:
    pattern = demo("scoop_skirt")
    assert "#" not in text_of(replace(pattern, origin=None))
    assert text_of(tiny_set()) == set_toml.render_set(tiny_set())
