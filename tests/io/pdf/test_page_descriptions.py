"""What ISO 32000-1 says of page descriptions, on pages small enough to work out by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pikepdf
import pytest
import shapely
from pikepdf import Array, Dictionary, Name

from propagate.errors import FormatError
from propagate.io.pdf.pages import DrawnPage
from tests.io.pdf.drafts import plain_pdf, read_of

INCH = 25.4


def page_of(content: str, folder: Path, **keys: object) -> DrawnPage:
    box = keys.pop("box", (0, 0, 144, 72))
    return read_of(plain_pdf(content, folder / "page.pdf", box=box, **keys)).pages[0]  # type: ignore[arg-type]


def ends(page: DrawnPage) -> list[tuple[float, ...]]:
    return [tuple(round(v, 3) for v in (*line.chain.start, *line.chain.end)) for line in page.lines]


# 7.7.3.3 (page objects), 8.3.2.3 (user units)


def test_a_point_is_a_72nd_of_an_inch(tmp_path: Path) -> None:
    page = page_of("0 0 m 72 36 l S", tmp_path)
    assert page.size == pytest.approx((2 * INCH, INCH))
    assert ends(page) == [(0, 0, INCH, INCH / 2)]


def test_user_units(tmp_path: Path) -> None:
    page = page_of("0 0 m 72 36 l S", tmp_path, UserUnit=2.5)
    assert ends(page) == [(0, 0, 63.5, 31.75)]


@pytest.mark.parametrize(
    ("turn", "line"),
    [
        (90, (0, 2 * INCH, INCH / 2, INCH)),
        (180, (2 * INCH, INCH, INCH, INCH / 2)),
        (270, (INCH, 0, INCH / 2, INCH)),
        (-90, (INCH, 0, INCH / 2, INCH)),
        (450, (0, 2 * INCH, INCH / 2, INCH)),
    ],
)
def test_a_page_is_turned_clockwise(turn: int, line: tuple[float, ...], tmp_path: Path) -> None:
    page = page_of("0 0 m 72 36 l S", tmp_path, Rotate=turn)
    assert ends(page) == [pytest.approx(line)]
    assert page.size == pytest.approx((INCH, 2 * INCH) if turn % 180 else (2 * INCH, INCH))


def test_the_crop_box_is_what_is_seen(tmp_path: Path) -> None:
    page = page_of("0 36 m 144 36 l S 0 0 m 10 0 l S", tmp_path, CropBox=Array([36, 18, 108, 54]))
    assert page.size == pytest.approx((INCH, INCH / 2))
    (line,) = page.lines
    assert line.chain.points == pytest.approx(np.array([(0, INCH / 4), (INCH, INCH / 4)]), abs=0.06)
    assert page.counts["clipped"] == 1


def test_attributes_of_pages_are_inherited(tmp_path: Path) -> None:
    file = plain_pdf("0 0 m 72 36 l S", tmp_path / "page.pdf")
    with pikepdf.open(file, allow_overwriting_input=True, inherit_page_attributes=False) as pdf:
        del pdf.pages[0].obj["/MediaBox"]
        pdf.Root.Pages.MediaBox = Array([0, 0, 72, 72])
        pdf.Root.Pages.Rotate = 180
        pdf.save(file)
    page = read_of(file).pages[0]
    assert page.size == pytest.approx((INCH, INCH))
    assert ends(page) == [pytest.approx((INCH, INCH, 0, INCH / 2), abs=2e-3)]


# 8.3.4, 8.4.2 (transforms, the stack of graphics states), 8.5 (paths)


def test_transforms_concatenate_and_come_back(tmp_path: Path) -> None:
    page = page_of("q 2 0 0 2 10 0 cm 0 1 -1 0 0 0 cm 0 0 m 10 0 l S Q 0 0 m 10 0 l S", tmp_path)
    pt = INCH / 72
    assert ends(page) == [
        pytest.approx((10 * pt, 0, 10 * pt, 20 * pt), abs=2e-3),
        pytest.approx((0, 0, 10 * pt, 0), abs=2e-3),
    ]


def test_curves_with_a_handle_left_out(tmp_path: Path) -> None:
    """``v`` takes the current point for the first handle, ``y`` the last for the second."""
    page = page_of("0 0 m 10 20 30 0 v S 0 0 m 10 20 30 0 y S 0 0 m 1 2 3 4 5 6 c s", tmp_path)
    pt = INCH / 72
    first, second, third = (line.chain for line in page.lines)
    assert first.segments[0] == pytest.approx(np.array([(0, 0), (10, 20), (30, 0)]) * pt, abs=1e-5)
    assert second.segments[0] == pytest.approx(
        np.array([(10, 20), (30, 0), (30, 0)]) * pt, abs=1e-5
    )
    assert third.closed


def test_each_subpath_is_a_line_and_a_rectangle_is_closed(tmp_path: Path) -> None:
    page = page_of("10 10 20 30 re 50 0 m 60 0 l 70 10 l h 80 0 l S", tmp_path)
    assert [line.closed for line in page.lines] == [True, True, False]
    assert ends(page)[2][0] == pytest.approx(50 * INCH / 72, abs=1e-3)


# 8.4.3 (line width, dash), 8.4.5 (parameter dictionaries)


def test_widths_and_dashes_are_in_user_space(tmp_path: Path) -> None:
    page = page_of(
        "2 0 0 2 0 0 cm 3 w [4 2] 1 d 0 0 m 9 0 l S [5] 0 d 0 0 m 9 0 l S [] 0 d 0 1 m 9 1 l S",
        tmp_path,
    )
    pt = 2 * INCH / 72
    assert [line.look.width for line in page.lines] == pytest.approx([3 * pt] * 3, abs=1e-3)
    assert page.lines[0].look.dash == pytest.approx((4 * pt, 2 * pt), abs=1e-3)
    assert page.lines[1].look.dash == pytest.approx((5 * pt, 5 * pt), abs=1e-3)
    assert page.lines[2].look.dash == ()


def test_parameter_dictionaries(tmp_path: Path) -> None:
    wide = Dictionary(LW=10, D=Array([Array([3, 1]), 0]))
    clear = Dictionary(CA=0)
    page = page_of(
        "/W gs 0 0 m 9 0 l S /C gs 0 0 m 9 0 l S",
        tmp_path,
        Resources=Dictionary(ExtGState=Dictionary(W=wide, C=clear)),
    )
    (line,) = page.lines
    assert line.look.width == pytest.approx(10 * INCH / 72, abs=1e-3) and len(line.look.dash) == 2


# 8.5.4 (clipping)


def test_what_lies_outside_the_clip_is_not_drawn(tmp_path: Path) -> None:
    page = page_of("q 0 0 36 72 re W n 40 5 m 60 5 l S 0 9 m 99 9 l S Q 40 5 m 60 5 l S", tmp_path)
    pt = INCH / 72
    assert ends(page) == [
        pytest.approx((0, 9 * pt, 36 * pt, 9 * pt), abs=2e-3),
        pytest.approx((40 * pt, 5 * pt, 60 * pt, 5 * pt), abs=2e-3),
    ]
    assert page.counts["clipped"] == page.counts["cut"] == 1


def test_curves_are_cut_exactly(tmp_path: Path) -> None:
    curve = "0 36 m 40 200 100 -100 144 36 c S"
    whole = page_of(curve, tmp_path, box=(0, -100, 144, 100)).lines[0].chain
    box = (5, 110, 140, 150)
    page = page_of(f"5 10 135 40 re W n {curve}", tmp_path, box=(0, -100, 144, 100))
    expected = shapely.LineString(whole.points).intersection(
        shapely.box(*(v * INCH / 72 for v in box))
    )
    parts = shapely.MultiLineString([line.chain.points for line in page.lines])
    assert len(page.lines) == len(shapely.get_parts(expected)) > 1
    assert parts.hausdorff_distance(expected) < 0.02
    assert all(len(line.chain.segments[0]) == 3 for line in page.lines)


def test_a_clip_that_is_no_box(tmp_path: Path) -> None:
    page = page_of("72 36 m 36 0 l 0 36 l 36 72 l h W n 0 36 m 144 36 l S 0 0 m 5 5 l S", tmp_path)
    (line,) = page.lines
    assert line.chain.length == pytest.approx(INCH, abs=1e-3)


def test_a_clip_takes_no_gap_from_the_end_of_a_dashed_line(tmp_path: Path) -> None:
    """Clipped to what is seen of them: the last dash ends at 36 and 37, the lines at 38 and 45."""
    page = page_of(
        "[4 4] 0 d 0 0 36 72 re W n 2 9 m 38 9 l S 2 20 m 20 20 l 36.5 20 l 38 22 l S "
        "2 30 m 45 30 l S [] 0 d 2 40 m 38 40 l S",
        tmp_path,
    )
    pt = INCH / 72
    ends_x = [line.chain.end[0] / pt for line in page.lines]
    assert ends_x == pytest.approx([38, 38, 36, 36], abs=1e-3)


def test_clips_intersect(tmp_path: Path) -> None:
    page = page_of("0 0 50 72 re W n 30 0 50 72 re W* n 0 5 m 144 5 l S", tmp_path)
    pt = INCH / 72
    assert ends(page) == [pytest.approx((30 * pt, 5 * pt, 50 * pt, 5 * pt), abs=2e-3)]


# 8.10 (form XObjects)


def form(pdf: pikepdf.Pdf, content: str, **keys: object) -> pikepdf.Object:
    values = {f"/{key}": value for key, value in keys.items()}
    return pdf.make_stream(
        content.encode(),
        {"/Type": Name.XObject, "/Subtype": Name.Form, "/BBox": Array([0, 0, 40, 40]), **values},
    )


def test_forms_have_a_matrix_a_box_and_the_state_around_them(tmp_path: Path) -> None:
    file = plain_pdf("5 w 1 0 0 1 20 0 cm /F Do /F Do", tmp_path / "page.pdf")
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        inner = form(pdf, "1 0 0 RG 0 10 m 100 10 l S", Matrix=Array([1, 0, 0, 1, 0, 7]))
        pdf.pages[0].Resources = Dictionary(XObject=Dictionary(F=inner))
        pdf.save(file)
    page = read_of(file).pages[0]
    pt = INCH / 72
    assert ends(page) == [pytest.approx((20 * pt, 17 * pt, 60 * pt, 17 * pt), abs=2e-3)] * 2
    assert page.lines[0].look.width == pytest.approx(5 * pt, abs=1e-3)
    assert page.lines[0].look.colour == (1, 0, 0)


def test_a_form_that_draws_itself_ends(tmp_path: Path) -> None:
    file = plain_pdf("/F Do", tmp_path / "page.pdf")
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        inner = form(pdf, "0 10 m 10 10 l S /F Do")
        inner.Resources = Dictionary(XObject=Dictionary(F=inner))
        pdf.pages[0].Resources = Dictionary(XObject=Dictionary(F=inner))
        pdf.save(file)
    assert len(read_of(file).pages[0].lines) == 1


# 8.11 (optional content)


def layered(content: str, folder: Path, inner: str | None = None) -> DrawnPage:
    file = plain_pdf(content, folder / "page.pdf")
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        a, b = (
            pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(name)))
            for name in ("size 36", "größe 38")
        )
        member = Dictionary(Type=Name.OCMD, OCGs=Array([a, b]), P=Name.AnyOn)
        usual = Dictionary(OFF=Array([b]))
        pdf.Root.OCProperties = Dictionary(OCGs=Array([a, b]), D=usual)
        known = Dictionary(A=a, B=b, M=member)
        pdf.pages[0].Resources = Dictionary(Properties=known)
        if inner is not None:
            made = form(pdf, inner, OC=a, Resources=Dictionary(Properties=known))
            pdf.pages[0].Resources.XObject = Dictionary(F=made)
        pdf.save(file)
    document = read_of(file)
    assert document.layers.names == ("size 36", "größe 38") and document.layers.off == ("größe 38",)
    return document.pages[0]


LINE = " 0 0 m 9 9 l S "


def test_marks_name_the_layer(tmp_path: Path) -> None:
    page = layered(
        f"{LINE} /OC /A BDC {LINE} /Span <</x 1>> BDC {LINE} EMC /OC /B BDC {LINE} EMC EMC {LINE}",
        tmp_path,
    )
    assert [line.layer for line in page.lines] == [None, "size 36", "size 36", "größe 38", None]


def test_a_membership_draws_in_each_of_its_layers(tmp_path: Path) -> None:
    page = layered(f"/OC /M BDC {LINE} EMC", tmp_path)
    assert [line.layer for line in page.lines] == ["size 36", "größe 38"]


def test_a_form_may_be_a_layer_and_hold_others(tmp_path: Path) -> None:
    page = layered("/F Do" + LINE, tmp_path, f"{LINE} /OC /B BDC {LINE} EMC EMC {LINE}")
    assert [line.layer for line in page.lines] == ["size 36", "größe 38", "size 36", None]


# 8.6 (colours)


def test_colours(tmp_path: Path) -> None:
    def tint(n: float) -> Dictionary:
        return Dictionary(
            FunctionType=2,
            Domain=Array([0, 1]),
            C0=Array([0, 0, 0, 0]),
            C1=Array([0, n, n, 0]),
            N=1,
        )

    spaces = Dictionary(
        S=Array([Name.Separation, Name("/Red#20ink"), Name.DeviceCMYK, tint(1)]),
        I=Array([Name.Indexed, Name.DeviceRGB, 1, pikepdf.String("\x00\x00\x00\x00\x00\xff")]),
    )
    page = page_of(
        f"0.5 G{LINE} 0 0.5 1 RG{LINE} 1 0 0 0 K{LINE} /S CS 1 SCN{LINE} 0.5 SCN{LINE}"
        f" /I CS 1 SC{LINE} 1 G{LINE}",
        tmp_path,
        Resources=Dictionary(ColorSpace=spaces),
    )
    found = [line.look.colour for line in page.lines]
    wanted = [(0.5, 0.5, 0.5), (0, 0.5, 1), (0, 1, 1), (1, 0, 0), (1, 0.5, 0.5)]
    # the last line is white, and nobody sees it
    assert found == [pytest.approx(colour, abs=0.01) for colour in [*wanted, (0, 0, 1)]]
    assert page.counts["white"] == 1


# 9 (text)


def test_texts_have_place_height_and_angle(tmp_path: Path) -> None:
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
    page = page_of(
        "BT /F 18 Tf 10 20 Td (Size) Tj ( 38) Tj 0 -20 Td [(a) -600 (b)] TJ ET "
        "BT /F 1 Tf 0 9 -9 0 100 10 Tm (up \\050\\351\\051) Tj ET",
        tmp_path,
        Resources=Dictionary(Font=Dictionary(F=font)),
    )
    pt = INCH / 72
    assert [text.text for text in page.texts] == ["Size 38", "a b", "up (é)"]
    assert page.texts[0].at == pytest.approx((10 * pt, 20 * pt), abs=1e-3)
    assert page.texts[0].height == pytest.approx(18 * pt)
    assert page.texts[2].angle == pytest.approx(90) and page.texts[2].height == pytest.approx(
        9 * pt
    )


def test_codes_are_told_by_the_map_of_the_font(tmp_path: Path) -> None:
    file = plain_pdf("BT /F 18 Tf 10 20 Td <00010002000300FF> Tj ET", tmp_path / "page.pdf")
    table = (
        "1 begincodespacerange <0000> <FFFF> endcodespacerange 1 beginbfchar <0001> <0041> "
        "endbfchar 1 beginbfrange <0002> <0003> <03B1> endbfrange"
    )
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        below = Dictionary(Type=Name.Font, Subtype=Name.CIDFontType2, DW=500, W=Array([1, [700]]))
        font = Dictionary(
            Type=Name.Font,
            Subtype=Name.Type0,
            Encoding=Name("/Identity-H"),
            DescendantFonts=Array([below]),
            ToUnicode=pdf.make_stream(table.encode()),
        )
        pdf.pages[0].Resources = Dictionary(Font=Dictionary(F=font))
        pdf.save(file)
    page = read_of(file).pages[0]
    assert [text.text for text in page.texts] == ["Aαβ"]
    assert page.texts[0].width == pytest.approx(18 * (0.7 + 3 * 0.5) * INCH / 72)
    assert page.counts["letters"] == 1


# what is refused


def test_a_password(tmp_path: Path) -> None:
    file = plain_pdf(LINE, tmp_path / "page.pdf")
    with pikepdf.open(file) as pdf:
        pdf.save(tmp_path / "shut.pdf", encryption=pikepdf.Encryption(owner="o", user="u"))
        pdf.save(tmp_path / "open.pdf", encryption=pikepdf.Encryption(owner="o", user=""))
    with pytest.raises(FormatError, match="asks for a password"):
        read_of(tmp_path / "shut.pdf")
    assert len(read_of(tmp_path / "open.pdf").pages[0].lines) == 1


def test_no_pdf_and_no_page(tmp_path: Path) -> None:
    (tmp_path / "no.pdf").write_bytes(b"no such thing")
    (tmp_path / "empty.pdf").write_bytes(b"")
    for name in ("no.pdf", "empty.pdf"):
        with pytest.raises(FormatError, match=name):
            read_of(tmp_path / name)
    with pytest.raises(FormatError, match=r"gone\.pdf"):
        read_of(tmp_path / "gone.pdf")
    with pikepdf.new() as pdf:
        pdf.save(tmp_path / "none.pdf")
    with pytest.raises(FormatError, match=r"none\.pdf"):
        read_of(tmp_path / "none.pdf")


def test_a_content_that_grows_without_bound_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FormatError, match="expected a sewing pattern"):
        page_of("0 0 m 1 1 l S\n" * 700_000, tmp_path)


def test_nonsense_is_passed_over(tmp_path: Path) -> None:
    page = page_of(
        f"Q Q EMC (x) w 1 2 3 cm /No gs /No Do [1] d 5 5 l S /Q cs 0 0 m (a) (b) l S{LINE}",
        tmp_path,
    )
    assert page.counts["operators"] > 5
    assert ends(page)[-1] == pytest.approx((0, 0, 9 * INCH / 72, 9 * INCH / 72), abs=1e-3)


def test_a_stream_that_breaks_off_is_read_so_far_and_told(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    document = read_of(plain_pdf(f"{LINE} BT (no end", tmp_path / "page.pdf"))
    assert len(document.pages[0].lines) == 1
    assert document.damaged
    assert capfd.readouterr() == ("", "")
