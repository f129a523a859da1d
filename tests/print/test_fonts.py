"""Names in any script: shaped, embedded, read back; what is missing is said."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from bidi import get_display
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError
from propagate.report.pdf.bidi_runs import directed_runs
from propagate.report.pdf.document import PdfDocument
from propagate.report.pdf.fonts import FontBook
from tests.examples import examples
from tests.print.reader import pixels, text_of

FONTS = Path(__file__).parents[2] / "propagate" / "report" / "pdf" / "fonts"


def page_with(*lines: str, bold: bool = False) -> tuple[bytes, FontBook]:
    out = BytesIO()
    with PdfDocument(out, lines[0]) as document:
        canvas = document.canvas()
        for i, line in enumerate(lines):
            place = (20.0, 280.0 - 12.0 * i)
            canvas.text("label", place, line, 8.0, anchor="start", bold=bold)
        document.add_page(210.0, 297.0, canvas)
        fonts = document.fonts
    return out.getvalue(), fonts


@pytest.mark.parametrize(
    "text",
    [
        'Front "left" <b>',
        "Vorderteil mit Übertritt",
        "Перёд",
        "Μπροστινό",
        "Thân trước",
        "a\u0301e\u0302",
    ],
)
@pytest.mark.parametrize("bold", [False, True])
def test_text_is_read_back(text: str, bold: bool, tmp_path: Path) -> None:
    data, fonts = page_with(text, bold=bold)
    import unicodedata

    found = unicodedata.normalize("NFC", text_of(data, tmp_path))
    assert unicodedata.normalize("NFC", text) in found
    assert not fonts.missing


@pytest.mark.parametrize("text", ["חזית", "شلوار"])
def test_text_to_the_left_is_read_back_and_joined(text: str, tmp_path: Path) -> None:
    data, fonts = page_with(text)
    assert text in text_of(data, tmp_path)
    assert not fonts.missing
    (run,) = fonts.shape(text)
    assert run.right_to_left
    # Arabic letters take other forms inside a word than alone; Hebrew ones do not.
    alone = [fonts.shape(c)[0].glyphs[0].number for c in text]
    assert ([g.number for g in run.glyphs][::-1] == alone) == (text == "חזית")


@examples(200)
@given(st.text(st.sampled_from("abc 12-([אבג])شلو٣,."), max_size=20))
def test_the_order_on_paper_is_that_of_the_unicode_algorithm(text: str) -> None:
    """Judged by the other implementation of the package, which is written in Rust."""
    runs = directed_runs(text)
    shown = "".join(run.text[::-1] if run.right_to_left else run.text for run in runs)
    plain = str.maketrans("()[]", "||//")  # mirrored characters are the shaper's
    assert shown.translate(plain) == str(get_display(text)).translate(plain)


def test_missing_characters_are_known_and_print_as_boxes(tmp_path: Path) -> None:
    data, fonts = page_with("裙 🧵 skirt")
    assert fonts.missing == {"裙", "🧵"}
    assert (pixels(data, tmp_path, 1, 50) < 128).any()


def test_a_further_font_is_used_where_the_first_lacks_a_character() -> None:
    book = FontBook([FONTS / "DejaVuSans-Bold.ttf"])
    assert len(book.plain) == 2
    book.shape("plain")
    assert book.plain[0].used and not book.plain[1].used


def test_a_file_that_is_no_font_is_refused(tmp_path: Path) -> None:
    wrong = tmp_path / "no.ttf"
    wrong.write_bytes(b"nothing")
    with pytest.raises(FormatError, match="no glyphs"):
        FontBook([wrong])
    with pytest.raises(FormatError, match="cannot be read"):
        FontBook([tmp_path / "absent.ttf"])


def test_fonts_are_embedded_and_small() -> None:
    data, _ = page_with("Front", "Front", bold=True)
    with pikepdf.open(BytesIO(data)) as document:
        fonts = document.pages[0].Resources.Font
        for name in list(fonts):
            descriptor = fonts[name].DescendantFonts[0].FontDescriptor
            assert "/FontFile2" in descriptor
            assert "+" in str(descriptor.FontName)
    assert len(data) < 20_000


def test_width_is_that_of_the_font_itself() -> None:
    """The advance widths of the font file, read by fontTools."""
    from fontTools.ttLib import TTFont

    font = TTFont(FONTS / "DejaVuSans.ttf")
    table, advances = font.getBestCmap(), font["hmtx"]
    text = "Nmnmi"  # no kerning between these
    units = sum(advances[table[ord(c)]][0] for c in text)
    expected = units / font["head"].unitsPerEm * 10.0
    assert FontBook().width(text, 10.0) == pytest.approx(expected, abs=0.2)


@examples(30)
@given(st.text(max_size=300))
def test_any_text_makes_a_readable_file(text: str) -> None:
    data, _ = page_with("title", text)
    with pikepdf.open(BytesIO(data)) as document:
        assert len(document.pages) == 1
        assert list(pikepdf.parse_content_stream(document.pages[0]))


def test_long_names_are_cut_to_the_room() -> None:
    book = FontBook()
    for text in ("x" * 300, "word " * 60, "ש" * 300):
        fitted = book.fitted(text, 5.0, 60.0)
        assert book.width(fitted, 5.0) <= 60.0
        lines = book.wrapped(text, 5.0, 60.0)
        assert all(book.width(line, 5.0) <= 60.0 for line in lines)
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")
