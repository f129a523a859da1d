"""Whoever is told to look at something is told what to do: of every reason in the code, and of
those that the demo sets give.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import propagate
from propagate.demo import demo_names
from propagate.engine.record import Notice, as_plain
from tests.shared import demo, main_job

ENGINE = Path(propagate.__file__).parent / "engine"
VERBS = {
    *("change", "choose", "cut", "draw", "ease", "if", "leave", "look", "make", "mark", "move"),
    *("put", "revise", "run", "say", "send", "spread", "take", "trim", "true"),
}
"""First words of an instruction; "if" begins one with its condition."""


def is_instruction(text: str) -> bool:
    return text.split()[0] in VERBS


def made() -> Iterator[tuple[str, ast.Call]]:
    """Every place in the engine where a reason is made, with where it is."""
    for path in sorted(ENGINE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                called = node.func.id if isinstance(node.func, ast.Name) else ""
                called = node.func.attr if isinstance(node.func, ast.Attribute) else called
                if called in ("Notice", "notice"):
                    yield f"{path.name}:{node.lineno}", node


def begins(node: ast.expr) -> list[str]:
    """How a text begins; nothing where it is handed on by name."""
    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
        return [str(node.values[0].value)]
    if isinstance(node, ast.IfExp):
        return [*begins(node.body), *begins(node.orelse)]
    return []


def test_every_reason_in_the_code_ends_with_an_instruction() -> None:
    places = dict(made())
    told = {
        place: text
        for place, node in places.items()
        if len(node.args) > 2
        for text in begins(node.args[2])
    }
    assert len(places) > 55 and len(told) > 45
    assert {place: text for place, text in told.items() if not is_instruction(text)} == {}


def texts_of(node: ast.expr) -> list[str]:
    """Every text that stands in an expression."""
    return [
        n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and isinstance(n.value, str)
    ]


def test_what_is_typed_stands_in_a_field_of_its_own() -> None:
    """No reason holds a key or an option: paper and page tell the rest alone."""
    keys = re.compile(r"\b\w+ = |--\w|\btrue\b,|\[[\w\"]*\]")
    found = {
        place: text
        for place, node in made()
        for argument in node.args
        for text in texts_of(argument)
        if keys.search(text)
    }
    assert found == {}
    assert sum(k.arg == "typed" for _, node in made() for k in node.keywords) >= 6


@pytest.mark.parametrize(("found", "do"), [("it changed", ""), ("", "look"), ("a", "b; c")])
def test_one_without_an_instruction_cannot_be_made(found: str, do: str) -> None:
    with pytest.raises(ValueError, match="to do"):
        Notice("front", found, do)


def test_it_is_written_as_one_sentence_and_read_again() -> None:
    one = Notice("front", "it changed; twice", "look at it", about=("changed",))
    plain = as_plain(one)
    assert plain == {"where": "front", "text": "it changed; twice; look at it"}
    again = Notice.read(**plain)
    assert (again.found, again.do) == (one.found, one.do)
    assert Notice.read("front", "of an earlier version").do == "look at it"


def test_what_is_typed_is_told_beside_and_read_again() -> None:
    one = Notice("front", "it changed", "say so in the set", typed="strip = []")
    plain = as_plain(one)
    assert plain == {"where": "front", "text": one.text, "typed": "strip = []"}
    assert Notice.read(**plain) == one


@pytest.mark.parametrize("name", demo_names())
def test_those_of_the_demo_sets(name: str) -> None:
    pattern = demo(name)
    results = [main_job(name)]
    for seam in list(pattern.relations.seams.values())[:3]:
        for span in (seam.lead[0], seam.follow[0] if seam.follow else seam.lead[0]):
            edit = propagate.LetOut(edge=span.key, by=propagate.Amount(mm=12.0))
            try:
                results.append(propagate.run(pattern, edit))
            except propagate.PropagateError:
                continue
    for result in results:
        for notice in result.record.warnings:
            assert is_instruction(notice.do), notice
