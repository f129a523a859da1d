"""The forms in which senders write the same thing; conventions from memory."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from propagate.errors import FormatError
from propagate.io.dxf import ReadOptions, read
from propagate.io.origin import source_of
from propagate.io.report import ReadingReport
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.io.dxf.hand import (
    METRIC,
    SQUARE,
    block,
    insert,
    light,
    line,
    piece,
    point,
    points,
    polyline,
    save,
    style,
    text,
    words,
)

SEAM = ((10, 10), (290, 10), (290, 480), (10, 480))  # hem at the top: 20 mm
STANDARD = polyline("14", SEAM) + points("2", SEAM)


def load(
    folder: Path,
    blocks: str | list[str],
    *entities: str,
    header: str = "",
    asked: ReadOptions | None = None,
    **dxf: str,
) -> tuple[PatternSet, ReadingReport]:
    given = [blocks] if isinstance(blocks, str) else blocks
    path = save(folder / "style.dxf", style(given, *(entities or (METRIC,)), header=header))
    return read(path, asked or ReadOptions(dxf=dxf))


def sized(pattern: PatternSet) -> SizedPiece:
    return pattern.sized("front", "38")


def said(report: ReadingReport, word: str) -> bool:
    return any(word in str(note) for note in report.lines)


def corners(found: SizedPiece) -> list[list[float]]:
    return [edge.points[0].tolist() for edge in found.edges]


# -------------------------------------------------------------------------------- outline


@pytest.mark.parametrize(
    ("boundary", "word"),
    [
        (polyline("1", SQUARE), ""),
        (polyline("1", (*SQUARE, SQUARE[0])), "repeats its first and the line is flagged"),
        (polyline("1", (*SQUARE, SQUARE[0]), closed=False), "repeats its first"),
        (polyline("1", SQUARE, closed=False), "neither"),
        (light("1", SQUARE), ""),
        (light("1", (*SQUARE, SQUARE[0]), closed=False), "repeats its first"),
        (polyline("1", SQUARE[::-1]), ""),  # clockwise
        ("".join(line("1", SQUARE[i - 1], SQUARE[i]) for i in (1, 3, 2, 0)), "joined"),
        (polyline("1", SQUARE[:3], closed=False) + line("1", SQUARE[0], (0, 500))
         + line("1", (0, 500), (300, 500)), "joined"),
    ],
)  # fmt: skip
def test_outlines_come_closed_in_many_ways(boundary: str, word: str, tmp_path: Path) -> None:
    pattern, report = load(tmp_path, piece(boundary=boundary + points("2", SQUARE)))
    found = sized(pattern)
    assert sorted(map(tuple, found.outline.tolist())) == sorted(SQUARE)
    x, y = found.outline.T
    assert np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) == pytest.approx(2 * 300 * 500)
    assert corners(found) == [[0, 0], [300, 0], [300, 500], [0, 500]]
    assert found.edge_names == ("edge_1", "edge_2", "edge_3", "edge_4")
    assert said(report, word)


def test_a_short_last_edge_is_kept(tmp_path: Path) -> None:
    outline = (*SQUARE, (0, 0.06))
    pattern, _ = load(tmp_path, piece(boundary=polyline("1", outline) + points("2", SQUARE)))
    assert len(sized(pattern).outline) == 5
    nearly = (*SQUARE, (0, 0.04))
    pattern, _ = load(tmp_path, piece(boundary=polyline("1", nearly) + points("2", SQUARE)))
    assert len(sized(pattern).outline) == 4


def test_arcs_of_polylines_are_drawn_out(tmp_path: Path) -> None:
    """A bulge of 1 is a half circle: pi/2 times the chord; chord error 0.01 mm."""
    boundary = polyline("1", SQUARE, bulges=(0, 1, 0, 0)) + points("2", SQUARE)
    pattern, _ = load(tmp_path, piece(boundary=boundary))
    side = sized(pattern).edge("edge_2")
    assert side.length == pytest.approx(np.pi / 2 * 500, rel=1e-4)
    assert side.points[:, 0].max() == pytest.approx(300 + 250, abs=0.01)


def test_the_largest_of_several_closed_lines_is_the_boundary(tmp_path: Path) -> None:
    small = polyline("1", ((50, 50), (80, 50), (80, 80)))
    pattern, report = load(tmp_path, piece(small))
    assert len(sized(pattern).edges) == 4
    assert said(report, " more line")


# ------------------------------------------------------------------- seam and cut line


def test_layer_14_is_the_seam_line_and_layer_1_gives_the_allowances(tmp_path: Path) -> None:
    pattern, _ = load(tmp_path, piece(STANDARD))
    assert corners(sized(pattern)) == [list(map(float, at)) for at in SEAM]
    allowance = pattern.info["front"].allowance
    assert [allowance.of(f"edge_{i}") for i in (1, 2, 3, 4)] == [10, 10, 20, 10]


def test_only_layer_1_is_taken_as_the_seam_line_unless_told_otherwise(tmp_path: Path) -> None:
    pattern, report = load(tmp_path, piece())
    assert said(report, "taken as the seam line") and said(report, "--dxf boundary=")
    assert pattern.info["front"].allowance.default == 0
    pattern, report = load(tmp_path, piece(), boundary="cut", allowance="15 mm")
    inner = [[15, 15], [285, 15], [285, 485], [15, 485]]
    assert np.allclose(corners(sized(pattern)), inner, atol=1e-9)
    assert pattern.info["front"].allowance.default == 15
    assert said(report, "taken as the cut line")


def test_the_seam_line_may_be_said_to_lie_on_layer_1(tmp_path: Path) -> None:
    pattern, _ = load(tmp_path, piece(STANDARD), boundary="seam")
    assert corners(sized(pattern))[2] == [300, 500]


def test_a_stitching_line_inside_is_no_seam_line(tmp_path: Path) -> None:
    pattern, report = load(tmp_path, piece(polyline("14", ((20, 20), (60, 20), (60, 60)))))
    assert corners(sized(pattern))[2] == [300, 500]
    assert [line.name for line in sized(pattern).lines] == ["stitch_1"]
    assert said(report, "no closed line as large")


# ---------------------------------------------------------------------------------- units


@pytest.mark.parametrize(
    ("scale", "style_words", "header", "unit", "word"),
    [
        (1, "Units: METRIC", "", 1.0, "says 'metric'"),
        (1, "UNITS  :  metric", "", 1.0, "says 'metric'"),
        (10, "Units: METRIC", "", 10.0, "although"),  # 30 x 50: centimetres
        (25.4, "Units: ENGLISH", "", 25.4, "says 'english'"),
        (25.4, "Style Name: x", "  9\n$INSUNITS\n 70\n1\n", 25.4, "header"),
        (1, "Style Name: x", "", 1.0, "guessed"),
        (10, "Style Name: x", "", 10.0, "guessed"),
    ],
)
def test_units(
    scale: float, style_words: str, header: str, unit: float, word: str, tmp_path: Path
) -> None:
    small = [(x / scale, y / scale) for x, y in SQUARE]
    boundary = polyline("1", small) + points("2", small)
    grain = line("7", (1, 1), (1, 9))
    made = piece(grain, boundary=boundary)
    pattern, report = load(tmp_path, made, words(style_words), header=header)
    source = source_of(pattern)
    assert source is not None and source.unit_mm == unit
    assert said(report, word)
    assert np.allclose(corners(sized(pattern))[2], [300, 500], atol=1e-9)
    asked, _ = load(tmp_path, made, words(style_words), header=header, asked=ReadOptions(unit="in"))
    assert np.allclose(corners(sized(asked))[2], np.array([300, 500]) * 25.4 / scale, atol=1e-9)


def test_a_style_of_strange_size_is_pointed_out(tmp_path: Path) -> None:
    huge = [(x * 20, y * 20) for x, y in SQUARE]
    _, report = load(tmp_path, piece(boundary=polyline("1", huge) + points("2", huge)))
    assert any("10000 mm" in note.text for note in report.of("warning"))


# ------------------------------------------------------------------------------ half pieces


def test_a_half_piece_stays_a_half_on_its_fold(tmp_path: Path) -> None:
    pattern, report = load(tmp_path, piece(line("6", (0, -20), (0, 520))))
    fold = pattern.info["front"].fold
    assert fold is not None
    assert set(sized(pattern).edge(fold).points[:, 0]) == {0.0}
    assert said(report, "--dxf mirror=")


def test_a_half_piece_is_unfolded_when_asked(tmp_path: Path) -> None:
    half = piece(
        line("6", (0, 0), (0, 500)),
        point("4", (300, 250)),
        point("13", (100, 100)),
        line("8", (50, 50), (50, 90)),
    )
    pattern, _ = load(tmp_path, half, mirror="unfold")
    found = sized(pattern)
    assert pattern.info["front"].fold is None
    outline = sorted(map(tuple, found.outline.tolist()))
    # the fold's ends lie on straight edges of the whole piece and are no corners
    assert {(-300, 0), (300, 0), (300, 500), (-300, 500)} <= set(outline)
    assert len(found.edges) == 4
    notches = sorted(mark.point for mark in found.landmarks)
    assert notches == [(-300, 250), (300, 250)]
    assert sorted(mark.point for mark in found.drills) == [(-100, 100), (100, 100)]
    assert len(found.lines) == 2


def test_a_mirror_line_without_an_edge_on_it_is_left_over(tmp_path: Path) -> None:
    for mirror in ("keep", "unfold"):
        pattern, report = load(tmp_path, piece(line("6", (150, 0), (150, 500))), mirror=mirror)
        assert pattern.info["front"].fold is None
        assert len(sized(pattern).outline) == 4
        assert said(report, "no edge of the outline lies on the mirror line")


@pytest.mark.parametrize(
    ("text_", "cut", "pair"),
    [("1,1", 2, True), ("2", 2, False), ("2,0", 2, False), ("2 2", 4, True)],
)
def test_quantities(text_: str, cut: int, pair: bool, tmp_path: Path) -> None:
    made = piece().replace("Quantity: 1,0", f"Quantity: {text_}")
    pattern, _ = load(tmp_path, made)
    assert (pattern.info["front"].cut, pattern.info["front"].pair) == (cut, pair)


def test_a_half_may_be_counted_twice(tmp_path: Path) -> None:
    made = piece(line("6", (0, 0), (0, 500))).replace("Quantity: 1,0", "Quantity: 1,1")
    pattern, _ = load(tmp_path, made, quantity="halves")
    assert (pattern.info["front"].cut, pattern.info["front"].pair) == (1, False)


# ---------------------------------------------------------------------------------- corners


def test_without_turn_points_corners_are_sharp_angles(tmp_path: Path) -> None:
    """A vertex that turns by 8 degrees is none, one that turns by 90 is."""
    bend = 500 * np.tan(np.radians(4)) / 2
    outline = ((0, 0), (300, 0), (300 + bend, 250), (300, 500), (0, 500))
    pattern, report = load(tmp_path, piece(boundary=polyline("1", outline)))
    assert len(sized(pattern).edges) == 4
    assert said(report, "no turn points") and said(report, "--corner-angle")
    pattern, _ = load(
        tmp_path, piece(boundary=polyline("1", outline)), asked=ReadOptions(corner_angle=7.0)
    )
    assert len(sized(pattern).edges) == 5


def test_turn_points_count_where_they_are_given(tmp_path: Path) -> None:
    outline = ((0, 0), (150, 0), (300, 0), (300, 500), (0, 500))
    boundary = polyline("1", outline) + points("2", ((0, 0), (150.01, 0), (300, 0), (0, 500)))
    pattern, _ = load(tmp_path, piece(boundary=boundary))
    assert corners(sized(pattern)) == [[0, 0], [150, 0], [300, 0], [0, 500]]
    pattern, _ = load(tmp_path, piece(boundary=boundary), corners="angle")
    assert corners(sized(pattern)) == [[0, 0], [300, 0], [300, 500], [0, 500]]


def test_a_turn_point_off_every_line_is_listed(tmp_path: Path) -> None:
    _, report = load(tmp_path, piece(point("2", (150, 250))))
    assert any("on no vertex of a line" in note.text for note in report.of("warning"))


def test_a_coarse_curve_is_replaced_by_its_validation_curve(tmp_path: Path) -> None:
    outline = ((0, 0), (300, 0), (330, 250), (300, 500), (0, 500))
    heights = np.linspace(0, 500, 41)
    curve = [(float(300 + 30 * np.sin(np.pi * y / 500)), float(y)) for y in heights]
    boundary = polyline("1", outline) + points("2", SQUARE) + points("3", ((330, 250),))
    pattern, report = load(tmp_path, piece(polyline("84", curve, closed=False), boundary=boundary))
    assert len(sized(pattern).edge("edge_2").points) == 41
    assert said(report, "the curve is taken")


# ---------------------------------------------------------------- where blocks are inserted


@pytest.mark.parametrize(
    ("place", "base", "expected", "word"),
    [
        (insert("front-38", (1000, -50)), (0, 0), [[1000, -50], [1300, -50]], "moved or turned"),
        (insert("front-38", (0, 0)), (10, 20), [[-10, -20], [290, -20]], "moved or turned"),
        (insert("front-38", _50=90), (0, 0), [[0, 0], [0, 300]], "moved or turned"),
        (insert("front-38", _41=2, _42=2), (0, 0), [[0, 0], [600, 0]], "scale 2, 2"),
        (insert("front-38", _41=-1), (0, 0), [[-300, 0], [0, 0]], "mirrored"),
    ],
)
def test_inserts(
    place: str, base: tuple[int, int], expected: list[list[float]], word: str, tmp_path: Path
) -> None:
    made = piece().replace(" 10\n0\n 20\n0\n", "")
    made = made.replace("10\n0\n20\n0\n", f"10\n{base[0]}\n20\n{base[1]}\n", 1)
    pattern, report = load(tmp_path, made, METRIC, place)
    found = sized(pattern).outline
    for at in expected:
        assert np.hypot(*(found - at).T).min() < 1e-9
    x, y = found.T
    assert np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) > 0
    assert said(report, word)


def test_a_block_inside_a_block_belongs_to_the_piece(tmp_path: Path) -> None:
    inner = block("holes", point("13", (5, 5)))
    made = piece(insert("holes", (100, 200)))
    pattern, _ = load(tmp_path, [inner, made], METRIC, insert("front-38", (1, 0)))
    assert [mark.point for mark in sized(pattern).drills] == [(106, 205)]
    assert list(pattern.pieces) == ["front"]


def test_a_block_inside_itself_is_said(tmp_path: Path) -> None:
    made = piece(insert("b"))
    _, report = load(tmp_path, [made, block("b", insert("front-38"))], METRIC, insert("front-38"))
    assert said(report, "inserted in itself")


def test_layout_blocks_are_no_pieces(tmp_path: Path) -> None:
    extra = [block("*MODEL_SPACE"), block("$PAPER", polyline("1", SQUARE))]
    pattern, report = load(tmp_path, [*extra, piece()])
    assert list(pattern.pieces) == ["front"]
    assert said(report, "begins with * or $")


# -------------------------------------------------------------------- marks on the piece


def test_notches_of_every_type_are_put_on_the_seam_line(tmp_path: Path) -> None:
    """On the cut line, 10 mm outside; their layers from memory."""
    layers = ("4", "80", "81", "82", "83")
    marks = "".join(point(layer, (50 + 40 * i, 0)) for i, layer in enumerate(layers))
    pattern, _ = load(tmp_path, piece(STANDARD, marks))
    found = {mark.name: mark for mark in sized(pattern).landmarks}
    assert list(found) == [
        "notch_1", "t_notch_1", "castle_notch_1", "check_notch_1", "u_notch_1",
    ]  # fmt: skip
    assert {mark.edge for mark in found.values()} == {"edge_1"}
    assert {mark.kind for mark in found.values()} == {"notch"}
    assert [mark.point for mark in found.values()] == [(50 + 40.0 * i, 10) for i in range(5)]


def test_lines_cut_outs_and_drills(tmp_path: Path) -> None:
    hole = ((100, 100), (120, 100), (120, 130))
    pattern, _ = load(
        tmp_path, piece(line("8", (20, 20), (20, 90)), polyline("11", hole), point("13", (5, 6)))
    )
    found = sized(pattern)
    assert [line_.name for line_ in found.lines] == ["line_1", "cutout_1"]
    assert found.lines[1].points.tolist() == [[100, 100], [120, 100], [120, 130], [100, 100]]
    assert [(mark.name, mark.point) for mark in found.drills] == [("drill_1", (5, 6))]


def test_without_a_grain_line_the_grade_line_stands_in(tmp_path: Path) -> None:
    bare = block(
        "front-38",
        words("Piece Name: front", "Size: 38"),
        polyline("1", SQUARE) + points("2", SQUARE),
        line("5", (0, 0), (0, 100)),
    )
    pattern, report = load(tmp_path, bare)
    assert sized(pattern).grain.direction.tolist() == [0, 1]
    assert any("no grain line" in note.text for note in report.of("warning"))


def test_what_is_not_understood_is_listed(tmp_path: Path) -> None:
    circle = "0\nCIRCLE\n8\n8\n10\n50\n20\n50\n40\n9\n"
    _, report = load(
        tmp_path,
        piece(
            circle, line("9", (0, 0), (9, 9)), line("77", (1, 1), (2, 2)), text("15", (9, 9), "hi")
        ),
    )
    for word in ("1 CIRCLE on layer '8'", "stripe reference", "layer '77'", "text 'hi'"):
        assert said(report, word), word


# ------------------------------------------------------------------------- texts and names


def test_system_text_is_read_loosely(tmp_path: Path) -> None:
    made = (
        piece().replace("Piece Name: front", " PIECE  name :front ").replace("Size: 38", "SIZE:38")
    )
    pattern, _ = load(tmp_path, made)
    assert pattern.sized("front", "38").edges


def test_crlf_and_a_code_page_are_read(tmp_path: Path) -> None:
    made = piece().replace("Piece Name: front", "Piece Name: r\u00fccken")
    header = "  9\n$DWGCODEPAGE\n  3\nANSI_1252\n"
    path = save(tmp_path / "style.dxf", style([made], METRIC, header=header).replace("\n", "\r\n"))
    pattern, report = read(path)
    assert list(pattern.pieces) == ["r\u00fccken"]
    assert said(report, "cp1252")


def test_decimal_commas_are_read(tmp_path: Path) -> None:
    made = piece(point("13", (5, 6))).replace("\n10\n5\n", "\n10\n5,25\n")
    pattern, _ = load(tmp_path, made)
    assert sized(pattern).drills[0].point == (5.25, 6)


def test_a_name_with_blanks_becomes_a_name_and_keeps_its_title(tmp_path: Path) -> None:
    made = piece().replace("Piece Name: front", "Piece Name: Left front v1.2")
    pattern, _ = load(tmp_path, made)
    assert list(pattern.pieces) == ["Left_front_v1_2"]
    assert pattern.info["Left_front_v1_2"].title == "Left front v1.2"


def test_sizes_are_put_in_order(tmp_path: Path) -> None:
    blocks = [piece(size=size) for size in ("100", "38", "40")]
    pattern, report = load(tmp_path, blocks)
    assert pattern.sizes == ("38", "40", "100")
    assert pattern.base == "38"  # as the style says
    assert said(report, "order of their numbers")
    named = [piece(size=size) for size in ("S", "M", "L")]
    pattern, _ = load(tmp_path, named, words("Units: METRIC"))
    assert (pattern.sizes, pattern.base) == (("S", "M", "L"), "M")
    with pytest.raises(FormatError, match="does not name"):
        load(tmp_path, named, asked=ReadOptions(sizes=("S", "M")))


def test_edges_of_every_size_begin_at_the_same_corner(tmp_path: Path) -> None:
    """The outlines start elsewhere and one runs the other way round."""

    def outline(dx: float, first: int, step: int) -> str:
        at = [(0, 0), (300 + dx, 0), (280 + dx, 500), (0, 520)]
        at = (at[first:] + at[:first])[::step]
        return polyline("1", at) + points("2", at)

    blocks = [
        piece(size="36", boundary=outline(-10, 2, 1)),
        piece(size="38", boundary=outline(0, 0, 1)),
        piece(size="40", boundary=outline(10, 3, -1)),
    ]
    pattern, _ = load(tmp_path, blocks)
    for size, dx in (("36", -10), ("38", 0), ("40", 10)):
        found = pattern.sized("front", size)
        assert corners(found) == [[0, 0], [300 + dx, 0], [280 + dx, 500], [0, 520]]


def test_names_may_be_given_by_the_caller(tmp_path: Path) -> None:
    path = save(tmp_path / "style.dxf", style([piece(point("4", (150, 0)))], METRIC))
    seen = []

    def name_edges(name: str, drawn: SizedPiece) -> dict[str, str]:
        seen.append(name)
        low = min(drawn.edges, key=lambda edge: edge.points[:, 1].mean())
        return {low.name: "hem"}

    pattern, _ = read(path, name_edges=name_edges)
    assert seen == ["front"]
    assert pattern.sized("front", "38").edge_names == ("hem", "edge_2", "edge_3", "edge_4")
    assert pattern.sized("front", "38").landmark("notch_1").edge == "hem"


def test_several_files_make_one_style(tmp_path: Path) -> None:
    a = save(tmp_path / "a.dxf", style([piece(size="38")], METRIC))
    b = save(tmp_path / "b.dxf", style([piece(size="40")], METRIC))
    pattern, _ = read([a, b])
    assert pattern.sizes == ("38", "40")
    assert list(pattern.piece("front").nest) == ["38", "40"]


def test_a_piece_drawn_twice_and_a_size_left_out_are_said(tmp_path: Path) -> None:
    twin = piece().replace("front-38", "front-38b")
    other = [piece(name="back", size=size) for size in ("38", "40")]
    _, report = load(tmp_path, [piece(), twin, *other])
    assert said(report, "drawn more than once")
    assert said(report, "not drawn in size 40")
