"""Grain lines without arrow heads or names, on sheets that were drawn for this."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from reportlab.pdfgen import canvas

import propagate
from propagate.cli import app

Line = tuple[tuple[float, float], tuple[float, float]]
SIZES = ("S", "M", "L")
PANELS = ((0.0, 0.0, 180.0, 400.0), (240.0, 0.0, 150.0, 380.0), (450.0, 0.0, 90.0, 300.0))
"""Left, low, width and height of three pieces, mm; each size is 10 mm wider."""
UPRIGHT: tuple[Line, ...] = tuple(((x + 40.0, 90.0), (x + 40.0, 220.0)) for x, *_ in PANELS)


def quads(size: str) -> list[list[tuple[float, float]]]:
    """A slanted side, so that the pieces are no rectangles."""
    wider = 10.0 * SIZES.index(size)
    return [
        [(x, y), (x + w + wider + 25.0, y), (x + w + wider, y + h), (x, y + h)]
        for x, y, w, h in PANELS
    ]


def turned(points: Sequence[tuple[float, float]], degrees: float) -> list[tuple[float, float]]:
    turn = math.radians(degrees)
    about = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return [(float(x), float(y)) for x, y in np.asarray(points) @ about.T]


def draw(file: Path, lines: Sequence[Line], degrees: float = 0.0, words: str = "") -> None:
    """An SVG with a group for each size, and the lines in none."""

    def path(points: Sequence[tuple[float, float]], close: str = "") -> str:
        placed = [(x + 400.0, 900.0 - y) for x, y in turned(points, degrees)]
        data = " L ".join(f"{x:.4f} {y:.4f}" for x, y in placed)
        return f'<path fill="none" stroke="black" d="M {data} {close}"/>'

    parts = ['<svg xmlns="http://www.w3.org/2000/svg" width="1200mm" height="1000mm" ']
    parts.append('viewBox="0 0 1200 1000">')
    for size in SIZES:
        parts.append(f'<g id="size_{size}">')
        parts += [path(points, "Z") for points in quads(size)]
        parts.append("</g>")
    parts.append('<g id="all">')
    parts += [path(line) for line in lines]
    parts.append(f"{words}</g></svg>")
    file.write_text("\n".join(parts), "utf-8")


def begin(folder: Path, file: str, *more: str) -> str:
    done = CliRunner().invoke(
        app.cli, ["begin", str(folder / file), "-o", str(folder / "set"), *more]
    )
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def directions(folder: Path) -> list[float]:
    """Of every piece in every size, degrees from 0 to 180."""
    pattern = propagate.load(folder / "set")
    found = []
    for name in pattern.pieces:
        for size in pattern.sizes:
            x, y = pattern.sized(name, size).grain.direction
            found.append(math.degrees(math.atan2(y, x)) % 180.0)
    return found


@pytest.mark.parametrize("degrees", [0.0, 27.0, 90.0, 143.0])
def test_parallel_lines_are_the_grain_whichever_way_the_sheet_lies(
    tmp_path: Path, degrees: float
) -> None:
    draw(tmp_path / "sheet.svg", UPRIGHT, degrees)
    text = begin(tmp_path, "sheet.svg")
    assert "parallel to those of the others, is the grain" in text
    assert "so the grain is upright on the page" not in text
    own = (90.0 + degrees) % 180.0
    for found in directions(tmp_path):
        assert min(abs(found - own), 180.0 - abs(found - own)) < 0.01
    pattern = propagate.load(tmp_path / "set")
    assert all(not pattern.sized(name, "M").lines for name in pattern.pieces)


def test_lines_that_touch_the_outline_or_lie_askew_are_none(tmp_path: Path) -> None:
    slits = [((x + 40.0, 0.0), (x + 40.0, 120.0)) for x, *_ in PANELS]
    askew = [((x + 20.0, 100.0), (x + 60.0, 200.0 + 30.0 * k)) for k, (x, *_) in enumerate(PANELS)]
    for lines in (slits, askew, UPRIGHT[:2]):
        draw(tmp_path / "sheet.svg", lines)
        text = begin(tmp_path, "sheet.svg", "--replace")
        assert "so the grain is upright on the page" in text
        assert "is the grain," not in text
        pattern = propagate.load(tmp_path / "set")
        assert sum(len(pattern.sized(name, "M").lines) for name in pattern.pieces) == len(lines)


def test_two_lines_in_each_piece_are_not_told_apart(tmp_path: Path) -> None:
    across = [((x + 20.0, 300.0 - k), (x + 60.0, 300.0 - k)) for k, (x, *_) in enumerate(PANELS)]
    across = [((ax, 250.0), (bx, 250.0)) for (ax, _), (bx, _) in across]
    draw(tmp_path / "sheet.svg", [*UPRIGHT, *across])
    assert "so the grain is upright on the page" in begin(tmp_path, "sheet.svg")


def test_a_text_beside_a_line_tells_the_grain_of_one_piece(tmp_path: Path) -> None:
    lines: list[Line] = [((60.0, 250.0), (130.0, 250.0)), ((60.0, 120.0), (130.0, 190.0))]
    words = '<text x="465" y="645" font-size="8">Grainline</text>'  # 5 mm above the first
    draw(tmp_path / "sheet.svg", lines, words=words)
    text = begin(tmp_path, "sheet.svg")
    assert "beside a text that says grain, is the grain" in text
    found = directions(tmp_path)
    assert found[:3] == pytest.approx([0.0] * 3, abs=0.01)
    assert found[3:] == pytest.approx([90.0] * 6, abs=0.01)


def test_sizes_are_parted_by_commas_or_blanks(tmp_path: Path) -> None:
    draw(tmp_path / "sheet.svg", UPRIGHT)
    for said in ("S M L", "S,M,L", " S, M , L", "S  M\tL"):
        assert "sizes (S M L;" in begin(tmp_path, "sheet.svg", "--sizes", said, "--replace")


def test_a_print_with_plain_grain_lines(tmp_path: Path) -> None:
    sheet = canvas.Canvas(str(tmp_path / "sheet.pdf"), pagesize=(1700.0, 1400.0))
    to_points = 72.0 / 25.4
    for size, dash in zip(SIZES, ([], [6.0, 3.0], [2.0, 2.0]), strict=True):
        sheet.setDash(dash)
        for points in quads(size):
            path = sheet.beginPath()
            path.moveTo(*(to_points * at + 20.0 for at in points[0]))
            for point in points[1:]:
                path.lineTo(*(to_points * at + 20.0 for at in point))
            path.close()
            sheet.drawPath(path)
        row = 1250.0 + 30.0 * SIZES.index(size)
        sheet.line(100.0, row, 220.0, row)
        sheet.drawString(230.0, row - 3.0, f"Size {size}")
    sheet.setDash([])
    sheet.setLineWidth(0.3)
    for (ax, ay), (bx, by) in UPRIGHT:
        sheet.line(*(to_points * at + 20.0 for at in (ax, ay, bx, by)))
    sheet.save()
    text = begin(tmp_path, "sheet.pdf", "--sizes", "S M L")
    assert "parallel to those of the others, is the grain" in text
    assert directions(tmp_path) == pytest.approx([90.0] * 9, abs=0.01)


@pytest.mark.parametrize(
    "said",
    [
        'marker-end="url(#head)"',
        'style="marker-start:url(#head);marker-end:url(#head)"',
        'style="stroke-width:1;marker:url(#head)"',
    ],
)
def test_a_marker_is_an_arrow_head(said: str, tmp_path: Path) -> None:
    """On a piece with other straight lines, none of them parallel to one of another piece."""
    lines = '<path id="path7" d="M 20 20 L 120 60"/><path id="path9" d="M 20 200 L 150 190"/>'
    arrow = f'<path id="path8" {said} d="M 30 150 L 110 70"/>'
    page = 'width="400mm" height="400mm" viewBox="0 0 400 400" fill="none" stroke="black"'
    head = '<defs><marker id="head"><path d="M 0 0 L 5 2 L 0 4 Z"/></marker></defs>'
    outline = '<path id="path1" d="M 10 10 L 200 10 L 180 300 L 10 280 Z"/>'
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{head}{outline}{lines}{arrow}</svg>'
    (tmp_path / "bias.svg").write_text(drawing, "utf-8")
    told = begin(tmp_path, "bias.svg")
    assert "a line with an arrow head is the grain" in told
    assert directions(tmp_path) == pytest.approx([45.0])
    (tmp_path / "plain.svg").write_text(drawing.replace(said, ""), "utf-8")
    assert "an arrow head" not in begin(tmp_path, "plain.svg", "--replace")
