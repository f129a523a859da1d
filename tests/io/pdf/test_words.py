"""The words of a page are those of the library, though rows of lines are read at once."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.io.pdf.limits import NOT_READABLE
from propagate.io.pdf.words import LINES, Instruction, content_of, instructions_of
from tests.examples import examples
from tests.io.pdf.drafts import plain_pdf

ROW = "1 2 m 3.5 4 l -5 .25 l +6. 7 l"


def told_singly(words: list[Instruction]) -> Iterator[tuple[str, list[Any]]]:
    """Every line as a word of its own."""
    for word, operands in words:
        if word != LINES:
            yield word, [_comparable(operand) for operand in operands]
            continue
        for i in range(0, len(operands), 2):
            yield "l", operands[i : i + 2]


def by_library(page: pikepdf.Page) -> Iterator[tuple[str, list[Any]]]:
    for word in pikepdf.parse_content_stream(page):
        yield str(word.operator), [_comparable(operand) for operand in word.operands]


def _comparable(operand: Any) -> float | str:
    if isinstance(operand, int | float | Decimal):
        return float(operand)
    return "picture" if isinstance(operand, pikepdf.PdfInlineImage) else str(operand)


def assert_read_as_by_library(content: str, folder: Path) -> bool:
    """Whether any row was read at once."""
    file = plain_pdf(content, folder / "page.pdf", box=(0, 0, 100, 100))
    with pikepdf.open(file) as pdf:
        page = pdf.pages[0]
        found = instructions_of(page, content_of(page, NOT_READABLE))
        assert list(told_singly(found)) == list(by_library(page))
    return any(word == LINES for word, _ in found)


@pytest.mark.parametrize(
    ("content", "at_once"),
    [
        (f"q {ROW} S Q", True),
        (f"{ROW} h S {ROW} 1 1 2 2 3 3 c 4 4 l S", True),
        (f"BT (text 100 %) Tj ET\n{ROW} S % a note\n{ROW} S", True),
        (f"BT (a {ROW} S) Tj ET {ROW} S", False),
        (f"{ROW} S % {ROW} S\n1 1 m 2 2 l S", False),
        (f"/am 1 2 l 3 4 l S {ROW}", True),
        (f"lines {ROW} S", False),
        ("1 2 m 3 4 5 l 6 7 l 8 9 l S", False),
        ("1 2 m 3 4 l 5 6 l 7 8 l8 S", True),
        ("BI /W 1 /H 1 /BPC 8 /CS /G ID x EI 1 2 m 3 4 l 5 6 l S", False),
    ],
)
def test_rows_of_lines(content: str, at_once: bool, tmp_path: Path) -> None:
    assert assert_read_as_by_library(content, tmp_path) == at_once


@examples(60)
@given(
    words=st.lists(
        st.sampled_from(
            [
                "1",
                "-2.5",
                ".5",
                "m",
                "l",
                "c",
                "S",
                "h",
                "(a)",
                "(m",
                ")",
                "[",
                "]",
                "<</A 1>>",
                "/m",
                "%",
                "\n",
                "1 2 l",
                "3 4 l",
                "0 0 m",
                "lines",
            ]
        ),
        max_size=30,
    )
)
def test_words_by_chance(words: list[str], tmp_path_factory: pytest.TempPathFactory) -> None:
    assert_read_as_by_library(" ".join(words), tmp_path_factory.mktemp("words"))
