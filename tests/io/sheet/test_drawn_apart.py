"""Sheets as people draw them: edges that sizes share, gaps, layouts, sizes side by side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.errors import FormatError
from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnLine, Look
from propagate.pattern.patternset import PatternSet
from tests.io.sheet.fronts import (
    BLACK,
    FILLED,
    SIZES,
    TITLES,
    box,
    edges,
    grain,
    layered,
    line,
    nest,
    read,
    text,
    wide,
)
from tests.io.sheet.sheets import mapped

DASHED = {
    size: replace(BLACK, dash=dash)
    for size, dash in zip(SIZES, ((), (4.0, 2.0), (8.0, 2.0)), strict=True)
}


def area(size: str, at: tuple[float, float] = (100.0, 100.0)) -> shapely.Polygon:
    """The front as it is drawn, its waist in fine steps (Bernstein polynomials)."""
    hem, side, waist, centre = edges(size, at)
    controls = [waist.start, *waist.segments[0]]
    points = []
    for k in range(1, 400):
        t = k / 400
        weights = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3]
        points.append(
            [sum(w * c[i] for w, c in zip(weights, controls, strict=True)) for i in (0, 1)]
        )
    return shapely.Polygon([hem.start, hem.end, side.end, *points, centre.start])


def off(pattern: PatternSet, name: str = "skirt_front", at=(100.0, 100.0)) -> float:
    """The most that an outline is off, mm, over all sizes."""
    piece = pattern.pieces[name]
    return max(
        shapely.LinearRing(piece.at(size).outline).hausdorff_distance(area(size, at).exterior)
        for size in SIZES
    )


@pytest.mark.parametrize("by", ["layer", "dash"])
def test_an_edge_that_all_sizes_share_is_drawn_once_and_longer(by: str) -> None:
    """The centre is one line; the hem of all sizes runs on one line of the largest."""
    drawn = layered(None, [line((100.0, 100.0), (100.0, 640.0))], Look((0.5, 0.5, 0.5), 0.2))
    for size in SIZES:
        own = edges(size)[:3]
        drawn += (
            [DrawnLine(c, DASHED[size], None) for c in own] if by == "dash" else layered(size, own)
        )
    drawn += layered(None, grain())
    texts = list(TITLES)
    if by == "dash":
        for k, size in enumerate(SIZES):
            y = 700.0 + 10.0 * k
            drawn.append(DrawnLine(line((500.0, y), (530.0, y)), DASHED[size]))
            texts.append(text(size, (535.0, y - 1.5)))
    pattern, _ = read(drawn, texts)
    assert tuple(pattern.sizes) == SIZES
    assert off(pattern) <= 0.02


def test_sizes_that_run_on_one_line_for_a_stretch_share_it() -> None:
    """Of the hem and the centre only the largest size draws all; the others end on it."""
    drawn = layered("40", edges("40")) + layered(None, grain())
    for size in SIZES[:2]:
        drawn += layered(size, edges(size)[1:3])
    pattern, told = read(drawn)
    assert off(pattern) <= 0.02
    assert any("both run on that line" in item.text for item in told)


def test_a_gap_is_closed_and_told() -> None:
    drawn = layered(None, grain())
    for size in SIZES:
        hem, side, waist, centre = edges(size)
        short = line((hem.start[0] + 0.4, hem.start[1]), hem.end)
        drawn += layered(size, [short, side, waist, centre])
    pattern, told = read(drawn)
    assert off(pattern) <= 0.41
    assert any(item.kind == "repaired" and "gaps of up to 0.4 mm" in item.text for item in told)


def test_a_gap_that_is_too_wide_is_refused_with_its_place() -> None:
    drawn = layered(None, grain())
    for size in SIZES:
        hem, side, waist, centre = edges(size)
        x, y = side.end
        short = line(side.start, (x, y - 5.0)) if size == "38" else side
        drawn += layered(size, [hem, short, waist, centre])
    with pytest.raises(FormatError, match=r"\(2\d\d, 35\d\) mm .*none in its place in size '38'"):
        read(drawn)


def layout() -> list[Chain]:
    """A cutting layout: a box with the pieces in it, a tenth as large."""
    small = [
        mapped(chain, 0.1 * np.eye(2), np.zeros(2))
        for x in (6000.0, 6400.0)
        for chain in edges("38", (x, 1000.0))
    ]
    return [box(590.0, 90.0, 700.0, 170.0), *small]


@pytest.mark.parametrize("where", [None, "36"])
def test_what_is_no_piece_is_left_out_and_told(where: str | None) -> None:
    """In a layer of its own, or in the look of one size."""
    drawn = nest()
    drawn += layered(where, layout())
    drawn += layered(where, [box(600.0, 400.0, 650.0, 450.0)])  # a test square
    drawn += layered(where, [box(590.0, 500.0, 800.0, 700.0)])  # a title block
    drawn += layered(where, [box(20.0, 20.0, 880.0, 780.0)])  # a frame
    drawn += layered(where, [box(300.0, 300.0, 420.0, 340.0)], FILLED)  # a watermark
    texts = (
        *TITLES,
        text("5 x 5 cm", (605.0, 420.0)),
        text("A skirt, sizes 36 to 40", (600.0, 650.0), h=12.0),
        text("DO NOT COPY", (100.0, 200.0), angle=45.0, h=60.0),
        text("Fabric 140 cm wide", (595.0, 175.0)),
    )
    pattern, told = read(drawn, texts)
    assert list(pattern.pieces) == ["skirt_front"]
    assert off(pattern) <= 0.02
    ignored = " / ".join(str(item) for item in told if item.kind == "ignored")
    for words in ("frame around pieces", "test square of 50.0 × 50.0", "box of 210", "filled area"):
        assert words in ignored


def test_sizes_side_by_side_are_matched_by_how_they_lie() -> None:
    drawn = []
    for k, size in enumerate(SIZES):
        x = 100.0 + 400.0 * k
        drawn += layered(size, edges(size, (x, 100.0)))
        drawn += layered(size, [box(x + 250.0, 100.0, x + 250.0 + 40.0 + k, 150.0)])
        drawn += layered(size, [line((x + 100.0, 200.0), (x + 100.0, 400.0))])
    texts = []
    for k in range(3):
        x = 100.0 + 400.0 * k
        texts += [text("Skirt Front", (x + 50.0, 350.0), h=8.0), text("Cut 2", (x + 50.0, 300.0))]
        texts += [text("Tab", (x + 255.0, 120.0), h=8.0), text("Cut 1", (x + 255.0, 105.0))]
    pattern, _ = read(drawn, texts)
    assert sorted(pattern.pieces) == ["skirt_front", "tab"]
    for k, size in enumerate(SIZES):
        ring = shapely.LinearRing(pattern.pieces["skirt_front"].at(size).outline)
        assert ring.hausdorff_distance(area(size, (100.0 + 400.0 * k, 100.0)).exterior) <= 0.02
        assert shapely.Polygon(pattern.pieces["tab"].at(size).outline).area == pytest.approx(
            50.0 * (40.0 + k)
        )


def test_a_piece_drawn_once_is_the_same_in_all_sizes() -> None:
    drawn = nest() + layered(None, [box(500.0, 100.0, 560.0, 240.0)])
    pattern, told = read(
        drawn, (*TITLES, text("Pocket", (510.0, 200.0), h=8.0), text("Cut 2", (510.0, 150.0)))
    )
    assert sorted(pattern.pieces) == ["pocket", "skirt_front"]
    outlines = {pattern.pieces["pocket"].at(size).outline.tobytes() for size in SIZES}
    assert len(outlines) == 1
    assert any("drawn once and is the same in all sizes" in item.text for item in told)


def test_one_size_is_one_size() -> None:
    drawn = layered(None, [*edges("38"), *grain(), box(20.0, 20.0, 500.0, 700.0)])
    drawn += layered(None, [box(400.0, 400.0, 450.0, 450.0)])
    pattern, told = read(drawn, (*TITLES, text("5 cm", (410.0, 420.0))))
    assert list(pattern.pieces) == ["skirt_front"]
    assert pattern.sizes == ("one",)
    assert any("frame" in item.text for item in told)


def test_sizes_are_told_by_what_stands_at_their_lines() -> None:
    drawn = [DrawnLine(c, DASHED[size]) for size in SIZES for c in edges(size)]
    texts = list(TITLES)
    texts += [text(s, (100.0 + wide(s) + 0.5, 120.0), h=2.5, angle=90.0) for s in SIZES]
    pattern, told = read(drawn, texts)
    assert off(pattern) <= 0.02
    assert any("written at the lines" in item.text for item in told)


def cut_of(size: str, fold: bool) -> Chain:
    """The cut line 10 mm outside the seam line; at the centre none where that is the fold."""
    grown = area(size).buffer(10.0, join_style="mitre")
    if fold:
        grown = grown.intersection(shapely.box(100.0, 0.0, 2000.0, 2000.0))
    points = [(round(x, 6), round(y, 6)) for x, y in grown.exterior.coords]
    return Chain(points[0], tuple((p,) for p in points[1:]), closed=True)


@pytest.mark.parametrize("fold", ["none", "drawn", "open"])
def test_of_two_lines_around_a_piece_the_inner_one_is_the_seam_line(fold: str) -> None:
    """Where the centre is the fold, the seam line is drawn on it too, or ends at it."""
    drawn = layered(None, grain())
    for size in SIZES:
        seams = edges(size)[: 3 if fold == "open" else 4]
        drawn += layered(size, [*seams, cut_of(size, fold != "none")])
    texts = (*TITLES, text("Pocket", (530.0, 560.0), h=8.0), text("Cut 2", (530.0, 540.0)))
    for size in SIZES:
        drawn += layered(size, [box(500.0, 500.0, 640.0, 600.0), box(510.0, 510.0, 630.0, 590.0)])
    pattern, told = read(drawn, texts)
    assert off(pattern) <= 0.02
    assert all(not pattern.pieces["skirt_front"].at(size).lines for size in SIZES)
    pocket = shapely.Polygon(pattern.pieces["pocket"].at("38").outline)
    assert pocket.area == pytest.approx(120.0 * 80.0)
    assert sum("the inner one is the seam line" in item.text for item in told) == 2


@pytest.mark.parametrize("fold", [False, True])
def test_an_edge_may_have_no_allowance(fold: bool) -> None:
    """A waist that is bound, curved as it is: both lines run on it, and on the fold."""
    drawn = layered(None, grain())
    for size in SIZES:
        whole = area(size)
        below = shapely.box(100.0 if fold else 0.0, 0.0, 999.0, whole.bounds[3] - 60.0)
        grown = whole.union(whole.buffer(10.0, join_style="mitre").intersection(below))
        points = [(round(x, 6), round(y, 6)) for x, y in grown.exterior.coords]
        cut = Chain(points[0], tuple((p,) for p in points[1:]), closed=True)
        drawn += layered(size, [*edges(size), cut])
    pattern, told = read(drawn)
    assert off(pattern) <= 0.02
    assert any("the inner one is the seam line" in item.text for item in told)


def both_lines(fold: bool) -> list[DrawnLine]:
    """One size: whole cut lines and dashed seam lines, and two test squares on one another."""
    seams = [*edges("38"), box(510.0, 510.0, 630.0, 590.0), box(20.0, 20.0, 121.6, 121.6)]
    cuts = [cut_of("38", fold), box(500.0, 500.0, 640.0, 600.0), box(10.0, 30.0, 110.0, 130.0)]
    drawn = [DrawnLine(chain, DASHED["38"]) for chain in seams]
    return drawn + [DrawnLine(chain, DASHED["36"]) for chain in cuts]


BOTH_TEXTS = (
    *TITLES, text("Pocket", (530.0, 560.0), h=8.0), text("Cut 2", (530.0, 540.0)),
    text("100 mm", (30.0, 125.0)), text("4 in", (50.0, 40.0)),
)  # fmt: skip


@pytest.mark.parametrize("fold", [False, True])
@pytest.mark.parametrize("boundary", ["seam", "cut"])
def test_two_looks_an_allowance_apart_are_one_size(fold: bool, boundary: str) -> None:
    pattern, told = read(both_lines(fold), BOTH_TEXTS, boundary=boundary)
    assert len(pattern.sizes) == 1
    assert set(pattern.pieces) == {"skirt_front", "pocket"}
    outline = shapely.LinearRing(pattern.pieces["skirt_front"].at(pattern.base).outline)
    drawn = area("38").exterior if boundary == "seam" else cut_of("38", fold).figure
    assert outline.hausdorff_distance(drawn) <= 0.02
    said = next(item for item in told if "two looks of line" in item.text)
    assert said.kind == "assumed" and said.option == "--sizes"


def test_two_looks_that_lie_apart_otherwise_are_two_sizes() -> None:
    """Of a graded nest the gap between sizes changes along the edges; asked for, both are sizes."""
    drawn = [DrawnLine(c, DASHED[size]) for size in SIZES[:2] for c in edges(size)]
    for boundary in ("seam", "cut"):
        with pytest.raises(FormatError, match=r"2 looks of line.*--sizes SIZE1,SIZE2"):
            read(drawn, TITLES, boundary=boundary)
    pattern, _ = read(both_lines(False), BOTH_TEXTS, sizes=("36", "38"))
    assert tuple(pattern.sizes) == ("36", "38")


def test_a_strip_on_the_fold_has_its_seam_line_with_one_edge_on_the_cut_line() -> None:
    drawn = []
    for size in SIZES:
        long = 200.0 + 10.0 * SIZES.index(size)
        drawn += layered(size, [box(0.0, 0.0, 26.0, long), box(-8.0, -8.0, 34.0, long)])
    pattern, _ = read(drawn, (text("Binding", (4.0, 100.0), h=4.0), text("Cut 1", (4.0, 80.0))))
    for k, size in enumerate(SIZES):
        strip = shapely.Polygon(pattern.pieces["binding"].at(size).outline)
        assert strip.area == pytest.approx(26.0 * (200.0 + 10.0 * k))


def test_an_outline_that_does_not_close_is_told_as_a_piece_that_is_missing() -> None:
    """As where a sheet was cut off: one edge of the second piece is gone."""
    for gone in (0, 1):
        second = [
            one for size in SIZES for one in layered(size, edges(size, (450.0, 100.0))[gone:])
        ]
        pattern, told = read([*nest(), *second])
        assert len(pattern.pieces) == 2 - gone
        warned = [one.text for one in told if "its piece is missing" in one.text]
        assert len(warned) == gone
        # side, waist and centre of the largest, beside its hem
        assert all("in every size" in text and "the longest 12" in text for text in warned)
