"""From a PDF to a set: every piece in every size lies where it was drafted (shapely measures)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely

from propagate.io.begin import kind_of, read_style
from propagate.io.options import ReadOptions
from propagate.pattern.patternset import PatternSet
from tests.io.pdf.drafts import (
    BROWSER,
    CAIRO,
    Draft,
    Tiling,
    by_browser,
    by_cairo,
    by_reportlab,
    nested,
    tiled_by_reportlab,
)
from tests.shared import demo

NAME, SIZES = "workshop_gilet", ("84", "90", "96")


def layered(draft: Draft, file: Path) -> Path:
    return by_reportlab(draft, file, layered=True)


def tiled(draft: Draft, file: Path) -> Path:
    return tiled_by_reportlab(draft, file, Tiling(paper=(215.9, 279.4)))


def outlines(pattern: PatternSet, size: str) -> list[shapely.Polygon]:
    """The pieces of a size, each moved so that all its sizes together begin at the origin."""
    found = []
    for piece in pattern.pieces.values():
        corner = np.vstack([piece.at(s).outline for s in pattern.sizes]).min(axis=0)
        found.append(shapely.Polygon(piece.at(size).outline - corner))
    return found


@pytest.mark.parametrize(
    ("write", "sizes"),
    [
        (layered, ()),
        (tiled, SIZES),
        pytest.param(by_cairo, SIZES, marks=pytest.mark.skipif(CAIRO is None, reason="no cairo")),
        pytest.param(
            by_browser, SIZES, marks=pytest.mark.skipif(BROWSER is None, reason="no browser")
        ),
    ],
)
def test_pieces_are_as_drafted(
    write: Callable[[Draft, Path], Path], sizes: tuple[str, ...], tmp_path: Path
) -> None:
    file = write(nested(NAME, SIZES), tmp_path / "gilet.pdf")
    assert kind_of([file]) == "pdf"
    pattern, report = read_style([file], ReadOptions(sizes=sizes))
    assert report.format == "PDF" and pattern.sizes == SIZES
    drafted = demo(NAME)
    assert len(pattern.pieces) == len(drafted.pieces)
    for size in SIZES:
        found = outlines(pattern, size)
        for piece in drafted.pieces.values():
            corner = np.vstack([piece.at(s).outline for s in SIZES]).min(axis=0)
            wanted = shapely.Polygon(piece.at(size).outline - corner)
            apart = min(wanted.hausdorff_distance(other) for other in found)
            assert apart < 0.1, (piece.name, size, apart)


def test_a_folder_with_drawings_and_a_print_of_them(tmp_path: Path) -> None:
    layered(nested(NAME, SIZES), tmp_path / "gilet.pdf")
    assert kind_of([tmp_path]) == "pdf"
    (tmp_path / "gilet.svg").write_text("<svg/>", encoding="utf-8")
    assert kind_of([tmp_path]) == "svg"
