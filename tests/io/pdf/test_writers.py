"""Drawings of demo sets written as PDF by three programs are read as they were drafted."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.io.pdf.drafts import (
    BROWSER,
    CAIRO,
    assert_same_lines,
    by_browser,
    by_cairo,
    by_reportlab,
    nested,
    read_of,
)

SETS = ("slant_trouser", "workshop_gilet", "market_bag")


@pytest.mark.skipif(CAIRO is None, reason="the renderer is not installed")
@pytest.mark.parametrize("name", SETS)
def test_cairo(name: str, tmp_path: Path) -> None:
    draft = nested(name)
    page = read_of(by_cairo(draft, tmp_path / "set.pdf")).pages[0]
    assert page.size == pytest.approx(draft.size, abs=0.01)
    assert_same_lines(page.lines, draft)


@pytest.mark.parametrize("layered", [False, True])
def test_reportlab(layered: bool, tmp_path: Path) -> None:
    draft = nested("slant_trouser")
    document = read_of(by_reportlab(draft, tmp_path / "set.pdf", layered=layered))
    page = document.pages[0]
    assert page.size == pytest.approx(draft.size, abs=0.01)
    assert_same_lines(page.lines, draft)
    layers = tuple(dict.fromkeys(line.layer for line in draft.lines))
    assert document.layers.names == (layers if layered else ())
    for line, drafted in zip(page.lines, draft.lines, strict=True):
        assert line.layer == (drafted.layer if layered else None)


@pytest.mark.skipif(BROWSER is None, reason="the browser is not installed")
@pytest.mark.skip(reason="dashes")
def test_browser(tmp_path: Path) -> None:
    draft = nested("workshop_gilet")
    document = read_of(by_browser(draft, tmp_path / "set.pdf"))
    lines = [line for page in document.pages for line in page.lines]
    assert_same_lines(lines, draft)
