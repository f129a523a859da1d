"""Nested outlines in dashes of one colour come back closed: one ring for each, on the draft.

What was drafted is the judge. A browser draws it, and shapely cuts it into strokes.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.ops import substring

from propagate.io.chain import tidy_chain
from propagate.io.drawn_lines import DrawnLine, Look
from propagate.io.pdf.dashes import dashed_lines
from propagate.io.pdf.strips import strips_as_lines
from tests.io.pdf.drafts import BROWSER, NEAR_MM, print_by_browser, read_of

DASHES = ((6.0, 2.0), (2.0, 2.0), (8.0, 2.0, 2.0, 2.0), (1.0, 1.5), (10.0, 3.0), (3.0, 3.0))
WIDE, TALL = 420.0, 520.0


def path_of(grown: float, shift: float) -> str:
    """A bodice-like outline in SVG units (mm, y down): curves, a sharp corner, a notch cut in."""
    g, s = grown, shift
    return (
        f"M{40 + s} {480 + g} C{120 + s} {482 + g} {220 + s} {470 + g} {300 + g} {455 + g} "
        f"L{290 + g} {200 - g} C{250 + g} {195 - g} {235 + g} {120 - g} {262 + g} {60 - g} "
        f"L{170 + s} {35 - g} C{165 + s} {85 - g} {120 + s} {110 - g} {40 + s} {112 - g} "
        f"L{40 + s} {260} L{52 + s} {266} L{40 + s} {272} Z"
    )


def outline_of(grown: float, shift: float) -> np.ndarray:
    """The same outline as points, y up, its curves by Bernstein's polynomials."""
    numbers, points = path_of(grown, shift).replace("Z", "").split(), []
    t = np.linspace(0, 1, 401)[:, None]
    while numbers:
        letter = numbers[0][0]
        count = 3 if letter == "C" else 1
        flat = [float(number.lstrip("MLC")) for number in numbers[: 2 * count]]
        numbers = numbers[2 * count :]
        xy = np.array(flat).reshape(-1, 2)
        if letter != "C":
            points.append(xy)
            continue
        a, (b, c, d), u = points[-1][-1], xy, 1 - t
        points.append((u**3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t**3 * d)[1:])
    ring = np.vstack(points)
    return np.column_stack([ring[:, 0], TALL - ring[:, 1]])


NEST = [(3.0 * k, -1.3 * k) for k in range(len(DASHES))]


@pytest.mark.skipif(BROWSER is None, reason="the browser is not installed")
def test_a_browser_prints_sizes_by_their_dash(tmp_path: Path) -> None:
    paths = "".join(
        f'<path d="{path_of(*one)}" stroke-dasharray="{" ".join(map(str, dash))}"/>'
        for one, dash in zip(NEST, DASHES, strict=True)
    )
    page = tmp_path / "sizes.html"
    page.write_text(
        f"<style>@page{{size:{WIDE}mm {TALL}mm;margin:0}}body{{margin:0}}svg{{display:block}}"
        f'</style><svg xmlns="http://www.w3.org/2000/svg" width="{WIDE}mm" height="{TALL}mm" '
        f'viewBox="0 0 {WIDE} {TALL}" fill="none" stroke="black" stroke-width=".35">{paths}</svg>',
        encoding="utf-8",
    )
    (printed,) = read_of(print_by_browser(page, tmp_path / "sizes.pdf")).pages
    lines, strips = strips_as_lines(printed.lines)
    assert strips == len(printed.lines) > 1_000
    found, count = dashed_lines(lines)
    assert count == len(found) == len(DASHES)
    assert {line.look.dash for line in found} == set(DASHES)
    down = TALL - printed.size[1]  # the page is rounded to whole pixels
    assert abs(down) < 0.3
    for one, dash in zip(NEST, DASHES, strict=True):
        (line,) = [line for line in found if line.look.dash == dash]
        assert line.closed
        ring = shapely.LinearRing(line.chain.points)
        assert ring.is_valid
        drafted = shapely.LinearRing(outline_of(*one) - (0, down))
        assert shapely.hausdorff_distance(ring, drafted, densify=0.01) < NEAR_MM


def strokes_of(ring: np.ndarray, dash: tuple[float, ...], painting: int) -> list[DrawnLine]:
    """What a dash pattern leaves of a ring from its first point on (shapely cuts it)."""
    whole, at, found, i = shapely.LineString([*ring, ring[0]]), 0.0, [], 0
    while at < whole.length:
        upto = min(at + dash[i % len(dash)], whole.length)
        if i % 2 == 0 and upto - at > 1e-3:
            points = shapely.get_coordinates(substring(whole, at, upto))
            start, *rest = [(float(x), float(y)) for x, y in points]
            chain = tidy_chain(start, [(point,) for point in rest], False)
            assert chain is not None
            found.append(DrawnLine(chain, Look(width=0.35), painting=painting))
        at, i = upto, i + 1
    return found


@pytest.mark.parametrize("length", np.linspace(300.0, 316.0, 9))
@pytest.mark.parametrize("dash", [(6.0, 2.0), (1.0, 1.5), (8.0, 2.0, 2.0, 2.0)])
def test_rings_nearer_than_their_gaps(length: float, dash: tuple[float, ...]) -> None:
    """Wherever the last dash ends: at the first one, short of it by any part of a gap."""
    rings, strokes = [], []
    for number in range(3):
        inset = 1.2 * number
        low, wide, tall = inset, 60.0 - inset, length / 2 - 60.0 - inset
        rings.append(np.array([(low, low), (wide, low), (wide, tall), (low, tall)]))
        strokes += strokes_of(rings[-1], dash, number)
    order = np.random.default_rng(7).permutation(len(strokes))
    found, count = dashed_lines([strokes[i] for i in order])
    assert count == len(found) == 3
    for line in found:
        ring = shapely.LinearRing(line.chain.points)
        assert line.closed and ring.is_valid
        apart = min(shapely.hausdorff_distance(ring, shapely.LinearRing(r)) for r in rings)
        assert apart < NEAR_MM


def test_a_corner_between_dashes_that_turn_by_half_each() -> None:
    """From dash to dash each half of the turn is a bend; the corner is where the sides meet."""
    turn = np.radians(50)
    corner = np.array([60.0, 0.0])
    end = corner + 40 * np.array([np.cos(turn), np.sin(turn)])
    ring = np.array([(0.0, 0.0), corner, end, (0.0, end[1])])
    for begin in np.linspace(0.0, 8.0, 9):
        moved = ring + (begin, 0.0) * np.array([[0], [1], [1], [0]])
        (line,), _ = dashed_lines(strokes_of(moved, (6.0, 2.0), 1))
        ends = shapely.LinearRing(line.chain.points)
        assert line.closed
        assert shapely.hausdorff_distance(ends, shapely.LinearRing(moved)) < NEAR_MM


@pytest.mark.parametrize("begin", [0.0, 33.3, 150.0])
def test_a_rectangle_of_dashes_has_its_corners_alone(begin: float) -> None:
    """Where a dash ends on a straight side is no point of the drawing, nor where it begins."""
    corners = [(0.0, 0.0), (278.0, 0.0), (278.0, 90.0), (0.0, 90.0)]
    ring = shapely.LinearRing(corners)
    twice = shapely.LineString([*corners, *corners, corners[0]])
    lines = []
    for at in np.arange(begin, begin + ring.length - 1e-9, 8.0):
        (start, *rest) = substring(twice, at, at + 6.0).coords
        chain = tidy_chain(start, [(point,) for point in rest], False)
        assert chain is not None
        lines.append(DrawnLine(chain, Look()))
    (found,), count = dashed_lines(lines)
    assert count == 1 and found.closed
    places = {found.chain.start, *(segment[-1] for segment in found.chain.segments)}
    assert len(places) == 4
    assert all(min(np.hypot(*np.subtract(p, c)) for c in corners) < 0.01 for p in places)
