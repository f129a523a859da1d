"""No English is parsed or compared: what engine and reports ask has a field or a kind.

Words of a closed list (a `Literal`, or an enumeration) may be compared; sentences may not.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "propagate"
MODULES = sorted(
    p for part in ("engine", "suggesting", "report") for p in (PACKAGE / part).rglob("*.py")
)

PARSING = {
    "count", "endswith", "find", "index", "partition", "removeprefix", "removesuffix", "replace",
    "rfind", "rindex", "rpartition", "rsplit", "split", "startswith",
}  # fmt: skip
SENTENCES = {"what", "text", "words", "said"}
"""Attributes that hold sentences: nobody takes these apart."""
OTHERS = {"CFF "}
"""No English: the tag of a font's table (OpenType)."""


@cache
def closed_words() -> frozenset[str]:
    """Every word of a `Literal` and of an enumeration in the package."""
    found = set(OTHERS)
    texts = [path.read_text("utf-8") for path in PACKAGE.rglob("*.py")]
    for text in texts:
        if "Literal" not in text and "StrEnum" not in text:
            continue  # to parse all takes long
        for node in ast.walk(ast.parse(text)):
            literal = isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "Literal"
            enumeration = isinstance(node, ast.ClassDef) and any(
                getattr(base, "id", "") == "StrEnum" for base in node.bases
            )
            if literal or enumeration:
                found |= {n.value for n in ast.walk(node) if isinstance(n, ast.Constant)
                          and isinstance(n.value, str)}  # fmt: skip
    return frozenset(found)


def english(node: ast.AST) -> bool:
    """Whether a text, or one of several, has a letter and a blank and is no closed word."""
    if isinstance(node, ast.Constant):
        text = node.value
        return (
            isinstance(text, str)
            and " " in text
            and text not in closed_words()
            and re.search(r"[^\W\d_]", text) is not None
        )
    if isinstance(node, ast.JoinedStr):
        texts = "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
        return english(ast.Constant(texts))
    if isinstance(node, (ast.Tuple, ast.List, ast.Set)):
        return any(english(item) for item in node.elts)
    return False


def sentence(node: ast.AST) -> bool:
    """Whether an expression reads a sentence, at once or through `str`."""
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "str" and node.args:
        return sentence(node.args[0])
    return isinstance(node, ast.Attribute) and node.attr in SENTENCES


def faults(tree: ast.AST) -> Iterator[int]:
    """Lines in which English is parsed or compared."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            both = [node.left, *node.comparators]
            within = isinstance(node.ops[0], (ast.In, ast.NotIn)) and sentence(both[1])
            if within or any(english(item) for item in both):
                yield node.lineno
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            of_re = getattr(node.func.value, "id", "") == "re"
            takes_apart = node.func.attr in PARSING and sentence(node.func.value)
            reads = of_re and any(sentence(item) for item in node.args)
            given = node.func.attr in PARSING or of_re
            if takes_apart or reads or (given and any(english(item) for item in node.args)):
                yield node.lineno
        elif isinstance(node, ast.MatchValue) and english(node.value):
            yield node.lineno


def test_no_english_is_parsed_or_compared() -> None:
    assert len(MODULES) > 100
    lines = {
        str(path.relative_to(PACKAGE)): found
        for path in MODULES
        if (found := sorted(set(faults(ast.parse(path.read_text("utf-8"))))))
    }
    assert not lines, f"{lines}: give what is asked here a field or a kind"


@pytest.mark.parametrize(
    "code",
    [
        'change.what != "follows its corner"',
        'f", at the {end}:" in str(row["what"])',
        'check.what.partition(", at the")',
        'name.removeprefix("the corner of ")',
        'first.removesuffix(f" from {corner}")',
        'use.relation == f"the seam {name}"',
        'text in ("moved along", "matched to")',
        're.match("swung by (.*)", line)',
        "re.search(PATTERN, change.what)",
        '"swung" in change.what',
        'str(change.what).startswith("swung")',
    ],
)
def test_a_fault_is_found(code: str) -> None:
    assert list(faults(ast.parse(code)))


@pytest.mark.parametrize(
    "code",
    [
        'row.verdict == "does not sew"',
        'mark.what != "added"',
        'text[i] in " _-"',
        'name.replace("_", " ")',
        'kind == "notches"',
        'lines.append(f"the corner of {name}")',
    ],
)
def test_what_is_no_english_is_left_alone(code: str) -> None:
    assert not list(faults(ast.parse(code)))
