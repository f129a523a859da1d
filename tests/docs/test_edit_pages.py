"""Every edit has its row in the guide; its section has a command that is run, and a picture."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from propagate.engine.edits.kinds import EDITS

DOCS = Path(__file__).resolve().parent.parent.parent / "docs"
GUIDE = DOCS / "edits.md"
ROW = re.compile(r"^\| [^|]+ \| ([^|]+) \| \[[^\]]+\]\(([^)]+)\) \|$", re.MULTILINE)


def slug(head: str) -> str:
    return re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-")


def places() -> dict[str, str]:
    """Where each edit is told, by its word."""
    rows = ROW.findall(GUIDE.read_text(encoding="utf-8"))
    return {word: target for words, target in rows for word in re.findall(r"`([^`]+)`", words)}


def page_and_section(target: str) -> tuple[str, str]:
    """The page where an edit is told, and its section: all of a page about one theme."""
    name, _, mark = target.partition("#")
    page = (DOCS / name if name else GUIDE).read_text(encoding="utf-8")
    if name:
        return page, page
    parts = re.split(r"^(?=#{2,3} )", page, flags=re.MULTILINE)
    return page, next(part for part in parts if slug(part.splitlines()[0].lstrip("# ")) == mark)


@pytest.mark.parametrize("word", EDITS)
def test_an_edit_is_told_with_a_command_and_a_picture(word: str) -> None:
    assert word in places(), "give it a row in the table at the top of docs/edits.md"
    page, section = page_and_section(places()[word])
    blocks = re.findall(r"^```(?:console|toml)\n(.*?)^```$", page, re.DOTALL | re.MULTILINE)
    done = rf"^\$ propagate change \S+ {word} |^do = \"{word}\"$"
    assert any(re.search(done, block, re.MULTILINE) for block in blocks), f"no command does {word}"
    assert re.search(r"!\[[^\]]{20,}\]\(pictures/[\w-]+\.svg\)", section), f"no picture of {word}"


def test_the_guide_names_nothing_that_is_no_edit() -> None:
    assert set(places()) - set(EDITS) == {"blend", "--sizes 43.5"}
