"""Tiles put together give the one-sheet drawing, as lines and as ink."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO
from itertools import pairwise
from pathlib import Path

import numpy as np
import pikepdf
import pytest
import shapely

from propagate.report.pdf.paper import PAPERS
from propagate.report.printing.grid import Grid, Tile, grid_over, needed_tiles
from propagate.report.printing.tile_frame import FRAMES_LAYER
from tests.examples import part_of
from tests.print.conftest import printed
from tests.print.reader import Array, Stroked, page_size, pixels, stroked, without_layers

PIECES = ("front", "facing", "waistband")
OVERLAP = 10.0


def drawing(paths: Iterable[Stroked]) -> list[Stroked]:
    return [p for p in paths if FRAMES_LAYER not in p.layers]


def labels(document: pikepdf.Pdf) -> list[str]:
    return [str(entry.P) for entry in list(document.Root.PageLabels.Nums)[1::2]]


def tiles_of(names: list[str]) -> list[int]:
    """Numbers of the pages that are tiles: not the cover, nor a map of its own."""
    return [i for i, name in enumerate(names) if name not in ("cover", "map")]


def place_of(label: str) -> tuple[int, int]:
    """Column and row of ``B3``."""
    return ord(label[0]) - ord("A"), int(label[1:]) - 1


def lap_of(join: str) -> float:
    return OVERLAP if join == "overlap" else 0.0


@pytest.mark.parametrize(
    ("paper", "join"),
    part_of([("a4", "overlap"), ("letter", "overlap"), ("a4", "trim"), ("a3", "trim")], 2),
)
def test_lines_on_tiles_are_those_of_the_one_sheet(paper: str, join: str) -> None:
    tiled, _ = printed("slant_trouser", paper, pieces=PIECES, join=join)
    whole, _ = printed("slant_trouser", paper, pieces=PIECES, join=join, layout="one")
    margin, (wide, tall) = PAPERS[paper].margin, PAPERS[paper].usable
    lap = lap_of(join)
    parts: list[shapely.Geometry] = []
    with pikepdf.open(BytesIO(tiled)) as document:
        names = labels(document)
        assert names[0] == "cover" and len(names) == len(document.pages)
        pages = zip(document.pages, names, stroked(tiled), strict=True)
        for page, label, paths in list(pages)[1:]:
            column, row = place_of(label)
            height = page_size(page)[1]
            clip = shapely.box(margin, margin, margin + wide, height - margin)
            x, y = column * (wide - lap) - margin, -row * (tall - lap) - height + margin
            for path in drawing(paths):
                cut = shapely.LineString(_ring(path)).intersection(clip)
                parts.append(shapely.affinity.translate(cut, x, y))
    with pikepdf.open(BytesIO(whole)) as document:
        height = page_size(document.pages[0])[1]
    sheet = [shapely.LineString(_ring(p)) for p in stroked(whole)[0]]
    assembled = shapely.unary_union(parts)
    # The block with the test squares stands above the pieces of the one sheet.
    low = shapely.unary_union(sheet).bounds
    shift = (-margin, assembled.bounds[1] - low[1])
    moved = shapely.affinity.translate(shapely.MultiLineString(sheet), *shift)
    pieces = moved.intersection(shapely.box(-1e4, -1e4, 1e4, assembled.bounds[3] + 1e-6))
    near = assembled.buffer(0.01)
    assert pieces.difference(near).length < 0.05
    assert assembled.difference(pieces.buffer(0.01)).length < 0.05
    assert assembled.length > 5000.0


def _ring(path: Stroked) -> Array:
    return np.vstack([path.points, path.points[:1]]) if path.closed else path.points


@pytest.mark.parametrize("join", ["overlap", "trim"])
def test_ink_of_the_tiles_is_that_of_the_one_sheet(join: str, tmp_path: Path) -> None:
    dpi = 127  # 5 pixels a millimetre: whole pixels for whole millimetres
    tiled, _ = printed("slant_trouser", "a4", pieces=PIECES, join=join)
    whole, _ = printed("slant_trouser", "a4", pieces=PIECES, join=join, layout="one")
    bare = without_layers(tiled, FRAMES_LAYER)
    sheet = pixels(whole, tmp_path, 1, dpi)
    lap = lap_of(join)
    with pikepdf.open(BytesIO(tiled)) as document:
        names = labels(document)
    columns = max(place_of(n)[0] for n in names[1:]) + 1
    rows = max(place_of(n)[1] for n in names[1:]) + 1
    wide, tall = 190.0, 277.0
    canvas = np.full(
        (int((rows * (tall - lap) + lap) * 5), int((columns * (wide - lap) + lap) * 5)), 255
    )
    for number, label in enumerate(names[1:], start=2):
        column, row = place_of(label)
        image = pixels(bare, tmp_path, number, dpi)[50 : 50 + 1385, 50 : 50 + 950]
        y, x = int(row * (tall - lap) * 5), int(column * (wide - lap) * 5)
        part = canvas[y : y + 1385, x : x + 950]
        part[:] = np.minimum(part, image)
    bottom = np.flatnonzero((sheet < 128).any(axis=1))[-1]
    low = np.flatnonzero((canvas < 128).any(axis=1))[-1]
    top = bottom - low
    there = sheet[top : top + low + 1, 50 : 50 + canvas.shape[1]]
    here = canvas[: low + 1, : there.shape[1]]
    for one, other in ((here, there), (there, here)):
        ink = one < 100
        near = _grown(other < 200)
        assert ink.sum() > 20000
        assert (ink & ~near).sum() / ink.sum() < 0.002


def _grown(ink: np.ndarray) -> np.ndarray:
    """Ink with two pixels around it."""
    grown = ink
    for axis in (0, 1):
        ways = [np.roll(grown, by, axis=axis) for by in range(-2, 3)]
        grown = np.logical_or.reduce(ways)
    return grown


@pytest.mark.parametrize("join", ["overlap", "trim"])
def test_glue_marks_of_neighbours_meet(join: str) -> None:
    data, _ = printed("slant_trouser", "a4", pieces=PIECES, join=join)
    lap = lap_of(join)
    found: dict[tuple[float, float], set[str]] = {}
    with pikepdf.open(BytesIO(data)) as document:
        names = labels(document)
    for paths, label in list(zip(stroked(data), names, strict=True))[1:]:
        column, row = place_of(label)
        for path in paths:
            size = np.ptp(path.points, axis=0)
            if FRAMES_LAYER in path.layers and path.closed and np.allclose(size, 6.0, atol=1e-3):
                x, y = path.points.mean(axis=0)
                key = (
                    round(x + column * (190 - lap), 3),
                    round(y - row * (277 - lap), 3),
                )
                found.setdefault(key, set()).add(label)
                # Whatever a printer leaves white, the marks are inside it.
                assert x - 3.0 + 1e-6 >= 7.0 and x + 3.0 <= 203.0 + 1e-6
                assert y - 3.0 + 1e-6 >= 7.0 and y + 3.0 <= 290.0 + 1e-6
    assert len(found) > 10
    for pages in found.values():
        assert len(pages) == 2
        (a, b), (c, d) = (place_of(label) for label in sorted(pages))
        assert abs(a - c) + abs(b - d) == 1


def test_blank_pages_are_left_out_and_all_others_printed() -> None:
    grid = grid_over(PAPERS["a4"], 10.0, 540.0, 700.0)
    assert (grid.columns, grid.rows) == (3, 3)
    corner = shapely.box(500.0, -690.0, 530.0, -680.0)
    assert [tile.label for tile in needed_tiles(grid, [corner])] == ["C3"]
    strip = shapely.box(181.0, -20.0, 189.0, -10.0)  # in what A1 and B1 share: A1 shows it all
    assert [tile.label for tile in needed_tiles(grid, [strip])] == ["A1"]
    assert Tile(0, 27).label == "AB1"


def test_own_parts_of_the_pages_cover_the_sheet_once() -> None:
    grid = Grid(190.0, 277.0, 10.0, 4, 3)
    tiles = [Tile(r, c) for r in range(3) for c in range(4)]
    boxes = [shapely.box(*grid.own(tile)) for tile in tiles]
    assert np.isclose(sum(b.area for b in boxes), np.prod(grid.size))
    assert np.isclose(shapely.union_all(boxes).area, np.prod(grid.size))
    for first, second in pairwise(tiles[:4]):
        assert np.isclose(grid.box(first)[2] - grid.box(second)[0], 10.0)


def test_the_map_names_every_page(tmp_path: Path) -> None:
    from tests.print.reader import text_of

    data, summary = printed("slant_trouser", "a4", pieces=PIECES)
    with pikepdf.open(BytesIO(data)) as document:
        names = labels(document)[1:]
        only = pikepdf.new()
        only.pages.append(document.pages[0])
        out = BytesIO()
        only.save(out)
    words = text_of(out.getvalue(), tmp_path).split()
    assert len(names) == summary.pages - 1
    assert set(names) <= set(words)
