"""Habits of those who make files for printers at home (common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pikepdf
import pytest
import shapely
from click.testing import CliRunner
from reportlab.pdfgen.canvas import Canvas

import propagate
from propagate.cli import app
from propagate.counts import say_numbers
from propagate.io.sheet.size_ranges import is_range, list_sizes_within
from tests.io.pdf.bought import Sheet, bought_sheet
from tests.io.pdf.drafts import MM, NEAR_MM, DraftLine, add_layers
from tests.shared import demo

STYLE = "slant_trouser"
SIZES = demo(STYLE).sizes[:4]
A4, LETTER = (210.0, 297.0), (215.9, 279.4)
MARGIN = 10.0
Paint = Callable[[Canvas, int, int], None]


def sheet() -> Sheet:
    return bought_sheet(demo(STYLE), SIZES)


def draw(
    canvas: Canvas,
    drawn: Sheet,
    shift: Sequence[float],
    layers: Mapping[str, int],
    seen: tuple[float, float],
) -> None:
    """Lines and words, moved, each size in the layer of its number if it has one.

    What lies off the page as a whole is left out.
    """
    for line in drawn.draft.lines:
        moved = line.points + np.array(shift)
        if np.any(moved.max(axis=0) < 0) or np.any(moved.min(axis=0) > seen):
            continue
        if line.layer in layers:
            canvas._code.append(f"/OC /L{layers[line.layer]} BDC")
        canvas.setStrokeColorRGB(*line.colour)
        canvas.setLineWidth(line.width * MM)
        canvas.setDash([part * MM for part in line.dash])
        points = moved * MM
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        canvas.drawPath(path)
        if line.layer in layers:
            canvas._code.append("EMC")
    for one in drawn.words:
        canvas.setFont("Helvetica", one.height * MM)
        canvas.drawString((one.at[0] + shift[0]) * MM, (one.at[1] + shift[1]) * MM, one.text)


def in_layers(drawn: Sheet, file: Path, layers: Mapping[str, int], names: Sequence[str]) -> Path:
    """One large page; what of it lies in which layer."""
    wide, tall = drawn.draft.size
    canvas = Canvas(str(file), pagesize=(wide * MM, tall * MM), invariant=1)
    draw(canvas, drawn, (0, 0), layers, (wide, tall))
    canvas.showPage()
    canvas.save()
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        add_layers(pdf, names)
        pdf.save(file)
    return file


def tile(canvas: Canvas, drawn: Sheet, paper: tuple[float, float], lap: float, marks: Paint) -> int:
    """The sheet on pages, row by row; how many they are."""
    inner = paper[0] - 2 * MARGIN, paper[1] - 2 * MARGIN
    columns, rows = (
        int(np.ceil((extent - lap) / (page - lap)))
        for extent, page in zip(drawn.draft.size, inner, strict=True)
    )
    for row in range(rows):
        for column in range(columns):
            canvas.setPageSize((paper[0] * MM, paper[1] * MM))
            canvas.saveState()
            seen = canvas.beginPath()
            seen.rect(MARGIN * MM, MARGIN * MM, inner[0] * MM, inner[1] * MM)
            canvas.clipPath(seen, stroke=0, fill=0)
            left = column * (inner[0] - lap)
            bottom = drawn.draft.size[1] - row * (inner[1] - lap) - inner[1]
            draw(canvas, drawn, (MARGIN - left, MARGIN - bottom), {}, paper)
            canvas.restoreState()
            canvas.setDash([])
            canvas.setFont("Helvetica", 8)
            marks(canvas, row, column)
            canvas.showPage()
    return rows * columns


def begun(file: Path, *words: str) -> str:
    """What `begin` says; the set lies in the folder beside the file."""
    done = CliRunner().invoke(
        app.cli, ["begin", str(file), "-o", str(file.with_suffix("")), *words]
    )
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def refused(file: Path) -> str:
    done = CliRunner().invoke(app.cli, ["begin", str(file), "-o", str(file.with_suffix(""))])
    assert done.exit_code == 2, done.output
    return " ".join(done.output.split())


def assert_drafted(file: Path, drawn: Sheet, sizes: Sequence[str] = SIZES) -> None:
    """Every piece in every size lies where it was drafted, to within 0.05 mm (shapely measures)."""
    found, real = propagate.load(file.with_suffix("")), demo(STYLE)
    assert found.sizes == tuple(sizes)
    assert len(found.pieces) == len(real.pieces)
    for size, name in zip(SIZES, sizes, strict=True):
        outlines = [piece.at(name).outline for piece in found.pieces.values()]
        rings = [shapely.LinearRing(points - points.min(axis=0)) for points in outlines]
        for piece in real.pieces:
            own = drawn.placed(piece, size, real.sized(piece, size).outline)
            ring = shapely.LinearRing(own - own.min(axis=0))
            assert min(ring.hausdorff_distance(other) for other in rings) <= NEAR_MM, (piece, size)


def test_glue_marks_with_names_of_their_own_are_no_names_of_pages(tmp_path: Path) -> None:
    """Triangles at the borders, numbered; pages have neither names nor an overlap."""

    def triangle(canvas: Canvas, x: float, y: float, turn: tuple[int, int], name: str) -> None:
        path = canvas.beginPath()
        path.moveTo((x - 5 * turn[1]) * MM, (y - 5 * turn[0]) * MM)
        path.lineTo((x + 5 * turn[0]) * MM, (y + 5 * turn[1]) * MM)
        path.lineTo((x + 5 * turn[1]) * MM, (y + 5 * turn[0]) * MM)
        canvas.drawPath(path)
        canvas.drawString((x - 2) * MM, (y - 2) * MM, name)

    def marks(canvas: Canvas, row: int, column: int) -> None:
        number = row * 10 + column
        if column:
            triangle(canvas, MARGIN, A4[1] / 2, (1, 0), f"{number}a")
        triangle(canvas, A4[0] - MARGIN, A4[1] / 2, (-1, 0), f"{number + 1}a")
        if row:
            triangle(canvas, A4[0] / 2, A4[1] - MARGIN, (0, -1), f"{number}b")
        triangle(canvas, A4[0] / 2, MARGIN, (0, 1), f"{number + 10}b")

    file = tmp_path / "triangles.pdf"
    canvas = Canvas(str(file), invariant=1)
    tile(canvas, sheet(), A4, 0.0, marks)
    canvas.save()
    assert "by the lines that go on: 10 columns, 5 rows" in begun(file)
    assert_drafted(file, sheet())


def test_one_pattern_for_two_sizes_of_paper_in_one_file(tmp_path: Path) -> None:
    def name(canvas: Canvas, row: int, column: int) -> None:
        canvas.drawString(100, 50, f"{chr(65 + row)}{column + 1}")

    file = tmp_path / "papers.pdf"
    canvas = Canvas(str(file), invariant=1)
    counts = [tile(canvas, sheet(), paper, 10.0, name) for paper in (A4, LETTER)]
    canvas.save()
    told = begun(file)
    numbers = {f"1 to {counts[0]}": counts[0], f"{counts[0] + 1} to {sum(counts)}": counts[1]}
    assert any(
        f"{count} pages left out (of another size of paper, which seem to show the same once "
        f"more): {pages}" in told
        for pages, count in numbers.items()
    )
    assert_drafted(file, sheet())


def test_two_garments_in_one_file_are_refused_with_what_to_do(tmp_path: Path) -> None:
    def name(canvas: Canvas, row: int, column: int) -> None:
        canvas.drawString(100, 50, f"{chr(65 + row)}{column + 1}")

    file = tmp_path / "views.pdf"
    canvas = Canvas(str(file), invariant=1)
    for style in (STYLE, "scoop_skirt"):
        tile(canvas, bought_sheet(demo(style)), A4, 10.0, name)
    canvas.save()
    said = refused(file)
    assert "2 sets of pages with the same names" in said
    assert "another garment or view, print the pages of one into a file of its own" in said


def plain(drawn: Sheet, looks: Mapping[str, tuple[float, ...]]) -> Sheet:
    """All lines in black, with the dashes of their size."""
    lines = [
        replace(line, colour=(0.0, 0.0, 0.0), dash=looks.get(line.layer, ()))
        for line in drawn.draft.lines
    ]
    return replace(drawn, draft=replace(drawn.draft, lines=tuple(lines)))


def test_a_layer_called_by_all_sizes_holds_what_they_share(tmp_path: Path) -> None:
    drawn = plain(sheet(), {})
    layers = {size: i for i, size in enumerate(SIZES)} | {"": len(SIZES)}
    names = [*SIZES, f"{SIZES[0]}-{SIZES[-1]}"]
    file = in_layers(drawn, tmp_path / "shared.pdf", layers, names)
    assert f"the layer '{names[-1]}' holds belongs to the sizes {', '.join(SIZES)}" in begun(file)
    assert_drafted(file, drawn)


def test_a_layer_called_by_some_sizes_holds_lines_of_these(tmp_path: Path) -> None:
    """The belt loop is as long in all sizes: here it is drawn once for two of them."""
    drawn, lines = plain(sheet(), {}), list[DraftLine]()
    places = {
        size: shapely.box(
            *shapely.LinearRing(
                drawn.placed("belt_loop", size, demo(STYLE).sized("belt_loop", size).outline)
            ).bounds
        ).buffer(0.1)
        for size in SIZES
    }
    for line in drawn.draft.lines:
        if line.layer and places[line.layer].covers(shapely.LineString(line.points)):
            if line.layer in SIZES[::2]:
                lines.append(replace(line, layer=f"{line.layer} and more"))
        else:
            lines.append(line)
    drawn = replace(drawn, draft=replace(drawn.draft, lines=tuple(lines)))
    shared = [f"{SIZES[0]}-{SIZES[1]}", f"{SIZES[2]} - {SIZES[3]}"]
    layers = {size: i for i, size in enumerate([*SIZES, *(f"{s} and more" for s in SIZES[::2])])}
    file = in_layers(drawn, tmp_path / "some.pdf", layers, [*SIZES, *shared])
    assert f"the layer '{shared[1]}' holds belongs to the sizes {', '.join(SIZES[2:])}" in begun(
        file
    )
    assert_drafted(file, drawn)


def test_a_layer_called_by_a_range_that_holds_all_sizes(tmp_path: Path) -> None:
    """The looks of the lines tell the sizes, and the legend names them."""
    drawn = sheet()
    name = f"{SIZES[0]}-{SIZES[-1]}"
    file = in_layers(drawn, tmp_path / "range.pdf", dict.fromkeys(SIZES, 0), [name])
    assert f"ranges of sizes, not sizes, are the layers '{name}'" in begun(file)
    assert_drafted(file, drawn)


def test_ranges_whose_sizes_have_the_same_looks_are_refused(tmp_path: Path) -> None:
    drawn = plain(sheet(), {SIZES[0]: (2.0, 2.0), SIZES[2]: (2.0, 2.0)})
    layers = {size: i // 2 for i, size in enumerate(SIZES)}
    file = in_layers(drawn, tmp_path / "ranges.pdf", layers, ["36-38", "40-42"])
    assert "several sizes in each of the layers '36-38', '40-42', in the same looks" in refused(
        file
    )


def test_sizes_that_differ_in_where_their_dashes_begin_alone(tmp_path: Path) -> None:
    looks = {SIZES[0]: (6.0, 3.0), SIZES[1]: (6.0, 3.0), SIZES[2]: (3.0, 1.0)}
    file = in_layers(plain(sheet(), looks), tmp_path / "phase.pdf", {}, [])
    assert f"a legend that shows {SIZES[0]} and {SIZES[1]} in one look" in refused(file)


def test_sizes_that_differ_in_the_length_of_their_dashes_alone(tmp_path: Path) -> None:
    drawn = plain(sheet(), {SIZES[0]: (2.0, 2.0), SIZES[1]: (4.0, 2.0), SIZES[2]: (8.0, 2.0)})
    file = in_layers(drawn, tmp_path / "lengths.pdf", {}, [])
    begun(file)
    assert_drafted(file, drawn)


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("36-40", ["36", "38", "40"]),
        ("35 to 38", ["36", "38"]),
        ("40 – 36", ["36", "38", "40"]),
        ("38-38", []),
        ("38-39", []),
        ("36", []),
        ("seam lines", []),
        ("S-L", []),
    ],
)
def test_which_sizes_a_range_spans(name: str, wanted: list[str]) -> None:
    assert list_sizes_within(name, ("36", "38", "40"), ("36", "38", "40")) == wanted
    assert list_sizes_within("S-L", ("L", "S", "M"), ("S", "M", "L")) == ["S", "M", "L"]
    assert is_range(name) == (name not in ("38-38", "36", "seam lines"))


def test_numbers_are_said_by_their_ends() -> None:
    assert say_numbers([]) == ""
    assert say_numbers([1, 2, 4, 5, 6, 8]) == "1, 2, 4 to 6 and 8"
