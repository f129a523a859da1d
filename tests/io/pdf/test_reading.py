"""What is said of a whole file: its scale, its pages, what is refused and what to do about it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Dictionary, Name

from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.pdf.true_scale import stated_lengths
from propagate.io.report import ReadingLine, ReportNotes
from tests.io.pdf.drafts import MM, plain_pdf

HELVETICA = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
FONTS = Dictionary(Font=Dictionary(F=HELVETICA))
LINE = "100 100 m 400 300 l S "


def read(
    *files: Path, options: ReadOptions | None = None
) -> tuple[DrawnSheet, tuple[ReadingLine, ...]]:
    notes = ReportNotes()
    return read_sheet_of_pdf(files, options or ReadOptions(), notes), notes.lines


def words(text: str, x: float, y: float, size: float = 12) -> str:
    return f"BT /F {size} Tf {x} {y} Td ({text}) Tj ET "


def square(side_mm: float, x: float = 20, y: float = 20) -> str:
    side = side_mm * MM
    return f"{x} {y} {side:.4f} {side:.4f} re S "


def pdf_of(folder: Path, *pages: str, box: tuple[float, ...] = (0, 0, 600, 840)) -> Path:
    file = folder / "pattern.pdf"
    with pikepdf.new() as pdf:
        for content in pages:
            one = plain_pdf(content, folder / "one.pdf", box=box, Resources=FONTS)
            with pikepdf.open(one) as other:
                pdf.pages.extend(other.pages)
        pdf.save(file)
    return file


# ---------------------------------------------------------------------------- the scale


@pytest.mark.parametrize(
    ("text", "lengths"),
    [
        ("5 cm", [50.0]),
        ("2 in", [50.8]),
        ('2"', [50.8]),
        ("100 mm", [100.0]),
        ("Test square 10 x 10 cm", [100.0]),
        ("10cm x 10cm", [100.0]),
        ("Testquadrat 5,0 cm", [50.0]),
        ("1 1/2 inch", [38.1]),
        ("3/8 in", [9.525]),
        ('1½" or ⅝"', [38.1, 15.875]),
        ("4 in / 10 cm", [101.6, 100.0]),
        ("3 x 5 cm", []),
        ("size 38", []),
        ("page 5 of 12", []),
    ],
)
def test_lengths_in_texts(text: str, lengths: list[float]) -> None:
    """An inch is 25.4 mm (international yard and pound agreement, 1959)."""
    assert stated_lengths(text) == pytest.approx(lengths)


@pytest.mark.parametrize("said", ["5 cm", "Test square 5 x 5 cm", "50 mm"])
def test_a_true_square_is_told(said: str, tmp_path: Path) -> None:
    file = pdf_of(tmp_path, LINE + square(50) + words(said, 30, 60, 8))
    _, lines = read(file)
    assert any("the scale is true" in line.text for line in lines)


@pytest.mark.parametrize("side", [47.0, 48.5, 51.5, 50.0 / 2.54])
def test_a_wrong_scale_is_refused_with_what_mends_it(side: float, tmp_path: Path) -> None:
    below = words("print at 100 %, check: 5 cm", 20, 10, 8)
    file = pdf_of(tmp_path, LINE + square(side, 20, 24) + below)
    with pytest.raises(FormatError, match=f"--scale {50 / side:.5g}"):
        read(file)
    factor = float(f"{50 / side:.5g}")
    sheet, lines = read(file, options=ReadOptions(scale=factor))
    assert any("the scale is true" in line.text for line in lines)
    assert sheet.lines[0].chain.length == pytest.approx(factor * (300**2 + 200**2) ** 0.5 / MM)


def test_a_square_that_says_nothing_is_no_test_square(tmp_path: Path) -> None:
    """Widths of allowances and names stand in and at pieces too."""
    pocket = square(120, 20, 200) + words("pocket, cut 2, allowance 15 mm", 40, 260, 8)
    _, lines = read(pdf_of(tmp_path, LINE + pocket))
    (told,) = (line for line in lines if line.option == "--scale")
    assert told.kind == "assumed"


def test_units(tmp_path: Path) -> None:
    sheet, _ = read(pdf_of(tmp_path, "0 0 m 100 0 l S"), options=ReadOptions(unit="mm"))
    assert sheet.lines[0].chain.length == pytest.approx(100.0)


# ---------------------------------------------------------------------------- the pages


def test_a_size_on_each_page(tmp_path: Path) -> None:
    pages = [LINE + words(f"Size {size}", 100, 400) for size in (36, 38, 40)]
    sheet, lines = read(pdf_of(tmp_path, *pages))
    assert [line.layer for line in sheet.lines] == ["36", "38", "40"]
    assert sheet.size[0] == pytest.approx(600 / MM)
    assert any("page 2 is 38" in line.text and line.option == "--sizes" for line in lines)
    named, _ = read(pdf_of(tmp_path, *pages), options=ReadOptions(sizes=("S", "M", "L")))
    assert [line.layer for line in named.lines] == ["S", "M", "L"]
    with pytest.raises(FormatError, match="3 pages with one size on each, and 2 sizes"):
        read(pdf_of(tmp_path, *pages), options=ReadOptions(sizes=("S", "M")))


def test_pieces_on_several_pages_lie_side_by_side(tmp_path: Path) -> None:
    sheet, lines = read(pdf_of(tmp_path, LINE, "", "50 50 200 300 re S"))
    first, second = sheet.lines
    assert first.sheet == 1 and second.sheet == 3
    assert second.chain.points[:, 0].min() > 600 / MM
    assert any("1 page left out (without lines): 2" in line.text for line in lines)
    assert any("side by side" in line.text for line in lines)


def test_a_file_for_each_size(tmp_path: Path) -> None:
    files = [plain_pdf(LINE, tmp_path / f"skirt_{size}.pdf", box=(0, 0, 600, 840)) for size in "SM"]
    sheet, _ = read(*files)
    assert [line.layer for line in sheet.lines] == ["S", "M"] and sheet.layers == ("S", "M")


# ----------------------------------------------------------------------- what is refused


def picture(folder: Path, content: str) -> Path:
    file = plain_pdf(content, folder / "scan.pdf", box=(0, 0, 600, 840))
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        image = pdf.make_stream(
            b"\x80" * 16,
            {
                "/Type": Name.XObject,
                "/Subtype": Name.Image,
                "/Width": 4,
                "/Height": 4,
                "/BitsPerComponent": 8,
                "/ColorSpace": Name.DeviceGray,
            },
        )
        pdf.pages[0].Resources = Dictionary(XObject=Dictionary(I=image))
        pdf.save(file)
    return file


def test_pictures_alone(tmp_path: Path) -> None:
    file = picture(tmp_path, "q 600 0 0 840 0 0 cm /I Do Q")
    with pytest.raises(FormatError, match=r"found 1 picture and no line.*trace it"):
        read(file)
    _, lines = read(picture(tmp_path, "q 600 0 0 840 0 0 cm /I Do Q " + LINE))
    assert any(line.text == "pictures" and line.kind == "ignored" for line in lines)


def test_nothing_and_words_alone(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="nothing drawn"):
        read(pdf_of(tmp_path, ""))
    with pytest.raises(FormatError, match="found 1 text and no line"):
        read(pdf_of(tmp_path, words("cut two", 100, 100)))


def test_letters_drawn_as_outlines_are_told(tmp_path: Path) -> None:
    letter = "{x} 700 m {x1} 700 {x1} 710 {x} 710 c f "
    many = "".join(letter.format(x=x, x1=x + 5) for x in range(20, 520, 8))
    _, lines = read(pdf_of(tmp_path, LINE + many))
    assert any("look like letters" in line.text and line.kind == "warning" for line in lines)


def test_a_look_is_frozen_and_reading_twice_is_the_same(tmp_path: Path) -> None:
    file = pdf_of(tmp_path, LINE + words("Size 38", 100, 400))
    one, told = read(file)
    other, again = read(file)
    assert one == other and told == again
    assert replace(one, source="x").lines == one.lines


def test_a_hair_that_rounding_leaves_is_left_out(tmp_path: Path) -> None:
    """Two points of a draft that were one are written a third of a micrometre apart."""
    file = plain_pdf("10 10 m 100 10 l 100 90 l 100.001 90 l S", tmp_path / "hair.pdf")
    (line,) = read(file)[0].lines
    assert len(line.chain.points) == 3


def test_texts_of_a_row_that_is_shown_in_one_go_are_texts_of_their_own(tmp_path: Path) -> None:
    """Between words of one text lies a space at most; here lie nine times the letters' height."""
    row = "BT /F 12 Tf 20 20 Td [(size S) -9000 (size) -250 (M)] TJ ET "
    sheet, _ = read(pdf_of(tmp_path, LINE + row))
    assert [text.text for text in sheet.texts] == ["size S", "size M"]
