"""The pictures of the documentation are those that the program draws now."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
PICTURES = ROOT / "docs" / "pictures"
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
SMALL = 200_000
"""Bytes."""


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pictures")
    # Another hash seed than this process: no picture depends on the order of a set.
    subprocess.run(
        [sys.executable, str(PICTURES / "make.py"), str(folder)],
        check=True,
        timeout=120,
        env={**os.environ, "PYTHONHASHSEED": "7"},
    )
    return folder


def test_every_picture_is_drawn_as_committed(drawn: Path) -> None:
    names = sorted(path.name for path in PICTURES.glob("*.svg"))
    assert sorted(path.name for path in drawn.glob("*.svg")) == names
    stale = [n for n in names if (drawn / n).read_bytes() != (PICTURES / n).read_bytes()]
    assert not stale, f"{stale} are stale: run 'python docs/pictures/make.py' and look at them"


@pytest.mark.parametrize("path", sorted(PICTURES.glob("*.svg")), ids=lambda path: path.name)
def test_a_picture_is_small_and_says_what_it_shows(path: Path) -> None:
    assert path.stat().st_size < SMALL
    root = ElementTree.parse(path).getroot()
    space = "{http://www.w3.org/2000/svg}"
    for words in (root.findtext(f"{space}title"), root.findtext(f"{space}desc")):
        assert words


def test_every_picture_is_shown_and_every_shown_one_is_there() -> None:
    shown = set()
    for page in PAGES:
        for text, target in re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", page.read_text("utf-8")):
            assert len(text) > 20, f"{page.name}: {target} needs words for those who cannot see it"
            assert (page.parent / target).is_file(), f"{page.name}: {target}"
            shown.add(Path(target).name)
    assert shown == {path.name for path in PICTURES.glob("*.svg")}


def test_links_lead_to_pages_and_sections() -> None:
    for page in PAGES:
        text = page.read_text("utf-8")
        for target in re.findall(r"(?<!!)\[[^\]]+\]\(([^)]+)\)", text):
            if target.startswith(("http:", "https:")):
                continue
            path, _, section = target.partition("#")
            file = page.parent / path if path else page
            assert file.exists(), f"{page.name}: {target}"
            if section:
                heads = re.findall(r"^#+ (.+)$", file.read_text("utf-8"), re.MULTILINE)
                slugs = {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}
                assert section in slugs, f"{page.name}: {target} not in {sorted(slugs)}"
