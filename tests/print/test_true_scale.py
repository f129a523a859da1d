"""What is printed is true: pages, test squares and edges, in the file and in pixels."""

from __future__ import annotations

import math
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from propagate.report.pdf.paper import PAPERS
from propagate.report.printing.printed_piece import THIN
from propagate.report.printing.tile_frame import FRAMES_LAYER
from propagate.report.scene.items import Role
from propagate.report.scene.looks import stroke_of
from tests.examples import goes_on, part_of
from tests.print.conftest import printed
from tests.print.reader import Array, Stroked, page_size, pixels, stroked, without_layers
from tests.shared import demo

SHEETS = {  # ISO 216 and ANSI Y14.1, width and height in mm
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "a3": (297.0, 420.0),
    "tabloid": (279.4, 431.8),
    "a2": (420.0, 594.0),
    "a1": (594.0, 841.0),
    "a0": (841.0, 1189.0),
    "36in-roll": (914.4, None),
    "a0-roll": (841.0, None),
}
IN_PIXELS = SHEETS if goes_on() else ("a4", "letter", "36in-roll")
"""Papers whose pages are looked at in pixels too: in tiles, with a margin, and as one sheet."""
SMALL = ("facing", "welt", "belt_loop", "fly_extension", "top_bag")
DPI = 300
PIXEL = 25.4 / DPI

SEAM_MM = stroke_of(Role.SEAM, thin=THIN).width


def opened(data: bytes) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(data))


def seams(paths: Iterable[Stroked]) -> list[Stroked]:
    return [p for p in paths if abs(p.width - SEAM_MM) < 1e-4 and not p.dashed and not p.closed]


def squares(paths: Iterable[Stroked], side: float) -> list[Stroked]:
    """Closed paths of four points with this circumference."""
    return [p for p in paths if p.closed and len(p.points) == 4 and abs(p.length - 4 * side) < 1e-3]


def test_every_paper_is_tested() -> None:
    assert set(SHEETS) == set(PAPERS)


@pytest.mark.parametrize("paper", SHEETS)
def test_pages_squares_and_edges_are_true_in_the_file(paper: str) -> None:
    data, summary = printed("slant_trouser", paper, pieces=SMALL)
    wide, tall = SHEETS[paper]
    with opened(data) as document:
        assert document.Root.ViewerPreferences.PrintScaling == "/None"
        for page in document.pages:
            width, height = page_size(page)
            assert math.isclose(width, wide, abs_tol=1e-4)
            assert tall is None or math.isclose(height, tall, abs_tol=1e-4)
            assert "/UserUnit" not in page.obj
        first = stroked(data)[0]
        for side in (100.0, 101.6):
            (square,) = squares(first, side)
            assert np.allclose(np.ptp(square.points, axis=0), side, atol=1e-4)
        found = sorted({round(p.length, 3) for paths in stroked(data) for p in seams(paths)})
    pattern = demo("slant_trouser")
    for name in SMALL:
        for edge in pattern.sized(name, pattern.base).edges:
            nearest = min(abs(length - edge.length) for length in found)
            assert nearest < 0.01, (name, edge.name)
    assert summary.pieces == SMALL


@pytest.mark.parametrize("paper", IN_PIXELS)
def test_margins_stay_white(paper: str, tmp_path: Path) -> None:
    data, summary = printed("slant_trouser", paper, pieces=SMALL)
    page = min(2, summary.pages)
    image = pixels(data, tmp_path, page, 50)
    edge = int(6.9 / 25.4 * 50) if PAPERS[paper].tiled else int(3.0 / 25.4 * 50)
    inner = image[edge:-edge, edge:-edge]
    assert (image < 250).sum() == (inner < 250).sum() > 0


def _profile(image: Array, place: Array, across: Array, reach: float = 0.9) -> float:
    """Where the middle of a dark line lies beside a place, mm across."""
    steps = np.arange(-reach, reach + 1e-9, PIXEL / 4)
    at = (place + steps[:, None] * across) / PIXEL - 0.5
    x, y = at[:, 0], at[:, 1]
    i, j = np.floor(x).astype(int), np.floor(y).astype(int)
    u, v = x - i, y - j
    dark = 255.0 - (
        image[j, i] * (1 - u) * (1 - v)
        + image[j, i + 1] * u * (1 - v)
        + image[j + 1, i] * (1 - u) * v
        + image[j + 1, i + 1] * u * v
    )
    return float((dark * steps).sum() / dark.sum())


@pytest.mark.parametrize("paper", IN_PIXELS)
def test_the_test_square_is_true_in_pixels(paper: str, tmp_path: Path) -> None:
    data, _ = printed("slant_trouser", paper, pieces=SMALL)
    with opened(data) as document:
        tall = page_size(document.pages[0])[1]
    paths = stroked(data)[0]
    for side in (100.0, 101.6):
        (square,) = squares(paths, side)
        left, bottom = square.points.min(axis=0)
        corner = np.floor((np.array([left, tall - bottom - side]) - 3.0) / PIXEL)
        size = int(110.0 / PIXEL)
        image = pixels(data, tmp_path, 1, DPI, (int(corner[0]), int(corner[1]), size, size))
        ink = 255.0 - image.astype(float)
        start = np.array([left, tall - bottom - side]) - corner * PIXEL
        middle = [int((start[k] + 0.2 * side) / PIXEL) for k in (0, 1)]
        end = [int((start[k] + 0.8 * side) / PIXEL) for k in (0, 1)]
        down = ink[middle[1] : end[1]].sum(axis=0)  # all ink of a column, dashes included
        along = ink[:, middle[0] : end[0]].sum(axis=1)
        across_mm = _middle(down, start[0] + side) - _middle(down, start[0])
        upward_mm = _middle(along, start[1] + side) - _middle(along, start[1])
        assert abs(across_mm - side) < 0.1
        assert abs(upward_mm - side) < 0.1


def _middle(ink: Array, near: float) -> float:
    """Middle of the ink within 0.7 mm of a place, mm."""
    first, last = int((near - 0.7) / PIXEL), int((near + 0.7) / PIXEL) + 1
    part = ink[first:last]
    assert part.sum() > 0
    return float((part * (np.arange(first, last) + 0.5)).sum() / part.sum() * PIXEL)


@pytest.mark.parametrize("paper", part_of(IN_PIXELS, 2))
def test_edges_are_true_in_pixels(paper: str, tmp_path: Path) -> None:
    """The line that poppler draws is followed pixel by pixel; its length is the edge's."""
    data, _ = printed("slant_trouser", paper, pieces=SMALL)
    margin = PAPERS[paper].margin
    measured = set()
    # Page names and glue marks may lie under a line, where they would be measured with it.
    data = without_layers(data, FRAMES_LAYER) if PAPERS[paper].tiled else data
    with opened(data) as document:
        pages = zip(document.pages, stroked(data), strict=True)
        for number, (page, paths) in enumerate(pages, start=1):
            wide, tall = page_size(page)
            for path in seams(paths):
                low, high = path.points.min(axis=0), path.points.max(axis=0)
                shown = (low > margin + 1).all() and (
                    high < [wide - margin - 1, tall - margin - 1]
                ).all()
                if not shown or path.length < 20.0 or round(path.length, 2) in measured:
                    continue
                corner = np.floor((np.array([low[0], tall - high[1]]) - 3.0) / PIXEL)
                size = np.ceil((high - low + 6.0) / PIXEL)
                box = (int(corner[0]), int(corner[1]), int(size[0]), int(size[1]))
                image = pixels(data, tmp_path, number, DPI, box).astype(float)
                points = path.points * [1, -1] + [0, tall] - corner * PIXEL
                assert abs(_followed(image, points) - path.length) < 0.1, (paper, path.length)
                measured.add(round(path.length, 2))
    pattern = demo("slant_trouser")
    known = {
        round(edge.length, 2) for name in SMALL for edge in pattern.sized(name, pattern.base).edges
    }
    assert len(measured & known) >= 6


def _followed(image: Array, points: Array) -> float:
    """Length along the middle of the drawn line; the ends are taken from the file."""
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    middles = [points[0]]
    for at in np.arange(3.0, arc[-1] - 3.0, 4.0):
        place = np.array([np.interp(at, arc, points[:, k]) for k in (0, 1)])
        ahead = np.array([np.interp(at + 0.5, arc, points[:, k]) for k in (0, 1)]) - place
        across = np.array([-ahead[1], ahead[0]]) / np.hypot(*ahead)
        if _width(image, place, across) > 1.3 * SEAM_MM:  # a notch or a text is near
            continue
        offset = _profile(image, place, across, 0.6)
        assert abs(offset) < 0.1
        middles.append(place + across * offset)
    middles.append(points[-1])
    return float(np.hypot(*np.diff(np.array(middles), axis=0).T).sum())


def _width(image: Array, place: Array, across: Array) -> float:
    """Width of the ink across a line, mm, on the line and beside it."""
    step = PIXEL / 4
    along = np.array([across[1], -across[0]])
    widths = []
    for shift in (-0.3, 0.0, 0.3):
        at = place + shift * along + np.arange(-0.8, 0.8, step)[:, None] * across
        x, y = np.floor(at / PIXEL).astype(int).T
        widths.append((255.0 - image[y, x]).sum() / 255.0 * step)
    return float(max(widths))
