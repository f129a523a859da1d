"""No page holds a mere strip; names of pieces stand whole on one page; pieces close up."""

from __future__ import annotations

from io import BytesIO
from itertools import combinations

import numpy as np
import pikepdf
import pytest
import shapely
from click.testing import CliRunner

import propagate
from propagate.cli.app import cli
from propagate.report.pdf.paper import PAPERS
from propagate.report.printing.grid import Grid, Tile, scanty_tiles
from propagate.report.printing.packing import Item, pack_items, settle_spots
from tests.print.conftest import print_set, printed
from tests.print.reader import stroked, words_of
from tests.print.test_tiles import drawing, labels, place_of, tiles_of
from tests.shared import demo

OVERLAP = 10.0
STRIP_MM = 20.0


@pytest.fixture(scope="module")
def apron(tmp_path_factory: pytest.TempPathFactory) -> propagate.PatternSet:
    """The garden apron, whose strap lay with 10 mm of its allowance alone on a page."""
    source = propagate.demo_path("scoop_skirt").parent / "garden_apron"
    folder = tmp_path_factory.mktemp("apron") / "apron"
    files = [str(file) for file in sorted(source.glob("*.svg"))]
    relations = str(source / "relations.toml")
    words = ["begin", *files, "-o", str(folder), "--relations", relations]
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 0, done.output
    return propagate.load(folder)


def strips(data: bytes, paper: str) -> list[str]:
    """Pages whose own part, without what the pages before them show, is a mere strip."""
    wide, tall = PAPERS[paper].usable
    margin, found = PAPERS[paper].margin, []
    with pikepdf.open(BytesIO(data)) as document:
        names = labels(document)
    pages = list(zip(stroked(data), names, strict=True))
    for paths, label in (pages[i] for i in tiles_of(names)):
        column, row = place_of(label)
        own = shapely.box(
            margin + (OVERLAP if column else 0.0),
            margin,
            margin + wide,
            margin + tall - (OVERLAP if row else 0.0),
        )
        rings = [
            shapely.Polygon(p.points) for p in drawing(paths) if p.closed and len(p.points) > 3
        ]
        parts = [ring.buffer(0).intersection(own) for ring in rings]
        left, bottom, right, top = shapely.total_bounds([p for p in parts if not p.is_empty])
        if min(right - left, top - bottom) < STRIP_MM - 0.5:
            found.append(label)
    return found


@pytest.mark.parametrize(
    ("name", "every", "paper"),
    [
        ("scoop_skirt", False, "a4"),
        ("scoop_skirt", True, "letter"),
        ("workshop_gilet", True, "a4"),
        ("workshop_gilet", False, "letter"),
    ],
)
def test_no_page_holds_a_mere_strip(name: str, every: bool, paper: str) -> None:
    data, _ = printed(name, paper, **({"sizes": demo(name).sizes} if every else {}))
    assert strips(data, paper) == []


@pytest.mark.parametrize("every", [False, True])
def test_no_page_of_the_apron_does(apron: propagate.PatternSet, every: bool) -> None:
    data, _ = print_set(apron, sizes=apron.sizes if every else ())
    assert strips(data, "a4") == []


def test_a_strip_is_known_by_its_place_and_width() -> None:
    grid = Grid(190.0, 277.0, 10.0, 2, 1)
    tiles = [Tile(0, 0), Tile(0, 1)]
    reach = shapely.box(0.0, -200.0, 205.0, -10.0)  # 15 mm beyond what the first page shows
    assert scanty_tiles(grid, tiles, [reach]) == [Tile(0, 1)]
    assert scanty_tiles(grid, tiles, [shapely.box(0.0, -200.0, 215.0, -10.0)]) == []
    loop = shapely.box(230.0, -100.0, 240.0, -20.0)  # a belt loop as a whole is no strip
    assert scanty_tiles(grid, tiles, [shapely.box(0.0, -200.0, 180.0, -10.0), loop]) == []


@pytest.mark.parametrize("name", ["slant_trouser", "workshop_gilet"])
def test_names_of_pieces_stand_whole_on_a_page(name: str) -> None:
    """Inside the frame of a page that no other page repeats, or nearly so, for most pieces."""
    data, _ = printed(name, "a4")
    words = [w for w in words_of(data) if w.page > 0]
    for piece in demo(name).info.values():
        first = piece.title.split()[0]
        whole = [
            w
            for w in words
            if w.text == first and w.left >= 10.0 and w.right <= 200.0 and w.bottom >= 10.0
        ]
        assert whole, piece.title


def test_settled_items_lie_apart_and_never_lower() -> None:
    rng = np.random.default_rng(5)
    items = []
    for i in range(12):
        angles = np.sort(rng.uniform(0, 2 * np.pi, 7))
        radius = rng.uniform(20, 70, 7)
        ring = np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
        items.append(Item(f"p{i}", shapely.convex_hull(shapely.MultiPoint(ring))))
    packing = pack_items(items, 380.0, gap=6.0)
    after = settle_spots(packing.spots, 6.0)
    for one, other in combinations(after, 2):
        assert one.shape.distance(other.shape) >= 6.0 - 1e-6
    for old, new in zip(packing.spots, after, strict=True):
        assert new.turned == old.turned
        assert new.shift[1] >= old.shift[1] - 1e-9
        assert new.shape.bounds[0] >= -1e-6
        assert new.shape.bounds[3] <= 1e-6
        assert new.shape.bounds[2] <= 380.0 + 1e-6
    lowest = [min(spot.shape.bounds[1] for spot in spots) for spots in (packing.spots, after)]
    assert lowest[1] > lowest[0] + 1.0


def test_a_moved_spot_keeps_its_shape() -> None:
    items = [Item("a", shapely.box(0, 0, 10, 10)), Item("b", shapely.box(0, 0, 5, 5))]
    spots = pack_items(items, 50.0).spots
    for old in spots:
        new = old.moved(3.0, -7.0)
        assert np.allclose(np.subtract(new.shape.bounds, old.shape.bounds), [3, -7, 3, -7])
