"""Drawings of demo sets written as PDF by three programs are read as they were drafted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from propagate.io.drawn_lines import DrawnLine
from propagate.io.pdf.dashes import dashed_lines
from propagate.io.pdf.strips import strips_as_lines
from tests.io.pdf.drafts import (
    BROWSER,
    CAIRO,
    COLOURS,
    DASHES,
    NEAR_MM,
    Draft,
    DraftLine,
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
def test_browser(tmp_path: Path) -> None:
    """The browser draws each dash as an area of its own, and rounds the page to whole pixels."""
    draft = nested("workshop_gilet")
    (page,) = read_of(by_browser(draft, tmp_path / "set.pdf")).pages
    lines, strips = strips_as_lines(page.lines)
    lines, _ = dashed_lines(lines)
    assert strips > 4_000 and len(lines) < 1.1 * len(draft.lines)
    down = draft.size[1] - page.size[1]
    assert 0 <= down < 0.3
    whole = tuple(line for line in draft.lines if not line.dash)
    moved = tuple(replace(line, points=line.points - (0, down)) for line in whole)
    assert_same_lines(
        [line for line in lines if line.look.dash == () and _is_of(line, whole)],
        Draft(moved, draft.size),
    )
    for colour, dash in zip(COLOURS, DASHES, strict=True):
        looks = {
            line.look.dash for line in lines if np.allclose(line.look.colour, colour, atol=0.01)
        }
        assert looks == {dash}
        if dash:
            drafted = [line.points - (0, down) for line in draft.lines if line.colour == colour]
            found = [line for line in lines if np.allclose(line.look.colour, colour, atol=0.01)]
            _assert_covers(drafted, found, max(dash[1::2]))


def _is_of(line: DrawnLine, drafted: tuple[DraftLine, ...]) -> bool:
    return any(np.allclose(line.look.colour, other.colour, atol=0.01) for other in drafted)


def _assert_covers(drafted: list[np.ndarray], found: list[DrawnLine], gap: float) -> None:
    """What was found lies on what was drafted; at most a gap at an end of a line is not found."""
    wanted = shapely.MultiLineString(drafted)
    got = shapely.MultiLineString([line.chain.points for line in found])
    assert wanted.buffer(NEAR_MM).covers(got)
    missing = shapely.get_parts(wanted.difference(got.buffer(NEAR_MM)))
    assert all(part.length <= gap + 2 * NEAR_MM for part in missing)
    assert got.length > 0.99 * wanted.length


def plotted_draft() -> Draft:
    """Five nested wavy rings, each open by one step."""
    turns = np.radians(np.arange(0, 360, 4))
    lines = []
    for k, (colour, dash) in enumerate(zip(COLOURS, DASHES, strict=True)):
        reach = 50 + 6 * k + 4 * np.sin(5 * turns)
        points = np.column_stack([100 + reach * np.cos(turns), 90 + reach * np.sin(turns)])
        lines.append(DraftLine(points, colour, dash, ""))
    return Draft(tuple(lines), (200.0, 180.0))


def test_a_file_by_a_plotting_library() -> None:
    """Kept as it was written by matplotlib 3, which is not needed for it."""
    (page,) = read_of(Path(__file__).with_name("plotted.pdf")).pages
    assert page.size == pytest.approx((200.0, 180.0), abs=0.01)
    assert_same_lines(page.lines, plotted_draft())
