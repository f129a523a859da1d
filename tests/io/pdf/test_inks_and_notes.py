"""Inks that functions mix, judged by a renderer, and what annotations draw (ISO 32000-1)."""

from __future__ import annotations

import math
import shutil
import subprocess
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from propagate.io.pdf.calculator import calculate
from propagate.io.pdf.functions import evaluate_function
from propagate.io.pdf.pages import DrawnPage
from tests.io.pdf.drafts import plain_pdf, read_of

PT = 25.4 / 72
RENDERER = shutil.which("pdftoppm")
UNIT = [0, 1]


def sampled(pdf: pikepdf.Pdf, data: bytes, sizes: list[int], bits: int, **more: object) -> object:
    inputs = len(sizes)
    return pdf.make_stream(
        data,
        Dictionary(
            FunctionType=0,
            Domain=Array(UNIT * inputs),
            Range=Array(UNIT * 3),
            Size=Array(sizes),
            BitsPerSample=bits,
            **{key: Array(value) for key, value in more.items()},
        ),
    )


def calculated(pdf: pikepdf.Pdf, text: str, inputs: int) -> object:
    return pdf.make_stream(
        text.encode(),
        Dictionary(FunctionType=4, Domain=Array(UNIT * inputs), Range=Array(UNIT * 3)),
    )


def exponential(low: list[float], high: list[float], power: float) -> Dictionary:
    return Dictionary(FunctionType=2, Domain=Array(UNIT), C0=Array(low), C1=Array(high), N=power)


def stitched(*parts: object) -> Dictionary:
    return Dictionary(
        FunctionType=3,
        Domain=Array(UNIT),
        Functions=Array(list(parts)),
        Bounds=Array([0.25]),
        Encode=Array([0, 1, 1, 0]),
    )


def inks(pdf: pikepdf.Pdf) -> list[tuple[object, int]]:
    """Functions of one to three inks that give red, green and blue."""
    table = bytes(range(10, 250, 10))
    return [
        (sampled(pdf, table[:12], [4], 8), 1),
        (sampled(pdf, table, [4, 2], 8), 2),
        (sampled(pdf, table, [2, 2, 2], 8), 3),
        (sampled(pdf, bytes([0x12, 0x3F, 0xE0, 0x59, 0xA8]), [3], 4), 1),
        (sampled(pdf, table[:18], [3], 16, Encode=[2, 0], Decode=[0, 1, 1, 0, 0.2, 0.8]), 1),
        (sampled(pdf, table[:9], [2], 12), 1),
        (exponential([0.9, 0.5, 0.1], [0.1, 0.9, 0.4], 2), 1),
        (stitched(exponential([1, 0, 0], [0, 1, 0], 1), exponential([0, 0, 1], [1, 1, 0], 1)), 1),
        (
            stitched(
                stitched(exponential([1, 0, 0], [0, 1, 0], 1), exponential([0] * 3, [1] * 3, 3)),
                exponential([0, 0, 1], [1, 1, 0], 1),
            ),
            1,
        ),
        (calculated(pdf, "{ dup 0.5 mul exch 1 exch sub 0.25 }", 1), 1),
        (calculated(pdf, "{ 1 index 1 index add 2 div 3 1 roll }", 2), 2),
        (calculated(pdf, "{ dup 0.4 gt { pop 1 0 0 } { 0.2 exch 0.7 } ifelse }", 1), 1),
        (calculated(pdf, "{ 360 mul dup sin abs exch cos abs dup 0.3 lt {pop 0.3} if 0.5 }", 1), 1),
        (
            calculated(
                pdf, "{ 10 mul cvi 3 mod 3 div 0.6 0.8 2 copy mul 4 2 roll pop pop 1 exch }", 1
            ),
            1,
        ),
    ]


@pytest.mark.skipif(RENDERER is None, reason="the renderer is not installed")
def test_inks_have_the_colours_that_a_renderer_shows(tmp_path: Path) -> None:
    file, tints = tmp_path / "inks.pdf", (0.1, 0.45, 0.8)
    plain_pdf("", file, box=(0, 0, 300, 300))
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        spaces, rows = {}, []
        for i, (function, count) in enumerate(inks(pdf)):
            names = Array([Name(f"/Ink{k}") for k in range(count)])
            kind, of = (Name.Separation, names[0]) if count == 1 else (Name.DeviceN, names)
            spaces[f"/S{i}"] = Array([kind, of, Name.DeviceRGB, function])
            for j, tint in enumerate(tints):
                mixed = " ".join(f"{tint / (k + 1):.4f}" for k in range(count))
                rows.append(f"/S{i} cs {mixed} scn {20 * j} {20 * i} 20 20 re f")
        page = pdf.pages[0]
        page.Contents = pdf.make_stream("\n".join(rows).encode())
        page.Resources = Dictionary(ColorSpace=Dictionary(spaces))
        pdf.save(file)
    command = ["pdftoppm", "-r", "72", "-aa", "no", str(file), str(tmp_path / "seen")]
    subprocess.run(command, check=True)
    (picture,) = tmp_path.glob("seen*.ppm")
    data = picture.read_bytes()[-3 * 300 * 300 :]
    drawn = read_of(file).pages[0]
    assert not drawn.inks and not drawn.counts["operators"]
    assert len(drawn.lines) == len(rows) - drawn.counts["white areas"]
    for line in drawn.lines:
        x, y = (line.chain.points[:4].mean(axis=0) / PT).tolist()
        at = 3 * (300 * (299 - math.floor(y)) + math.floor(x))
        seen = [value / 255 for value in data[at : at + 3]]
        assert line.look.colour == pytest.approx(seen, abs=0.012), (x, y)


@pytest.mark.parametrize(("tint", "wanted"), [(0.2499, [1, 0, 0]), (0.25, [0, 0, 1])])
def test_a_bound_between_functions_is_of_the_later_one(tint: float, wanted: list[float]) -> None:
    """ISO 32000-1, 7.10.4: each has the values up to its upper bound, without it (from memory)."""
    red, blue = [1, 0, 0], [0, 0, 1]
    function = stitched(exponential(red, red, 1), exponential(blue, blue, 1))
    assert evaluate_function(function, [tint]) == wanted


@pytest.mark.parametrize(
    ("text", "wanted"),
    [  # the operators of Table 42, worked out by hand
        ("{ 7 3 idiv -7 3 idiv -7 3 mod }", [2, -2, -1]),
        ("{ 1 2 3 4 4 1 roll }", [4, 1, 2, 3]),
        ("{ 1 2 3 3 -1 roll }", [2, 3, 1]),
        ("{ 5 6 2 copy 3 index }", [5, 6, 5, 6, 5]),
        ("{ 0 -1 atan 1 0 atan -1 0 atan }", [180, 90, 270]),
        ("{ 9 0.5 exp 100 log 2.5 round -2.5 round -2.7 truncate }", [3, 2, 3, -2, -2]),
        ("{ true false or true true xor 6 3 and 5 not 1 3 bitshift 16 -2 bitshift }",
         [1, 0, 2, -6, 8, 4]),
        ("{ 1 2 lt { 3 } { 4 } ifelse false { 5 } if % note }\n }", [3]),
        ("{ 3 " + "dup mul " * 40 + "pop 1 }", [1]),
    ],
)  # fmt: skip
def test_the_calculator(text: str, wanted: list[float]) -> None:
    assert calculate(text.encode(), []) == pytest.approx(wanted)


@pytest.mark.parametrize(
    "text",
    ["", "1 2", "{ 1", "{ pop }", "{ 1 0 div }", "{ 1 -1 roll }", "{ 9 copy }", "{ nonsense }",
     "{ -1 sqrt }", "{" * 500, "{ 1 " + "dup " * 500 + "}", "{ { 1 } }  { if }", "{ 1 if }",
     "{ 2 99999999 bitshift -5 index }"],
)  # fmt: skip
def test_a_calculator_that_makes_no_sense(text: str) -> None:
    found = calculate(text.encode(), [])
    assert found is None or found == []


# 12.5 (annotations)


def with_notes(tmp_path: Path, *notes: Dictionary, content: str = "q 3 0 0 3 0 0 cm") -> DrawnPage:
    """A page of which the content leaves a state behind that no annotation minds."""
    file = plain_pdf(content, tmp_path / "page.pdf", box=(0, 0, 200, 100))
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        for note in notes:
            if "/Draws" in note:
                form = pdf.make_stream(str(note["/Draws"]).encode(), note["/Form"])
                note["/AP"] = Dictionary(N=form)
        pdf.pages[0].Annots = Array([pdf.make_indirect(note) for note in notes])
        pdf.save(file)
    return read_of(file).pages[0]


def note(
    rect: list[float], draws: str, matrix: list[float] | None = None, **more: object
) -> Dictionary:
    form = Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 10, 20]))
    if matrix:
        form.Matrix = Array(matrix)
    return Dictionary(
        Type=Name.Annot, Subtype=Name.Stamp, Rect=Array(rect), Draws=draws, Form=form, **more
    )


def test_what_an_annotation_draws_fills_its_rectangle(tmp_path: Path) -> None:
    """12.5.5: the box of the form, turned by its matrix, is stretched over the rectangle."""
    plain = note([50, 40, 70, 50], "1 0 0 RG 0 0 m 10 20 l S")
    turned = note([100, 10, 140, 20], "0 0 m 10 0 l S", [0, 1, -1, 0, 7, 7])
    page = with_notes(tmp_path, plain, turned)
    first, second = (line.chain.points / PT for line in page.lines)
    assert first.ravel().tolist() == pytest.approx([50, 40, 70, 50], abs=1e-3)
    assert page.lines[0].look.colour == (1, 0, 0)
    # turned by a quarter: x runs up, the form is 20 wide and 10 high, at twice its width
    assert second.ravel().tolist() == pytest.approx([140, 10, 140, 20], abs=1e-3)
    assert page.lines[1].look.colour == (0, 0, 0)


def test_annotations_that_nobody_sees_or_that_have_no_drawing(tmp_path: Path) -> None:
    line = "0 0 m 10 20 l S"
    group = Dictionary(Type=Name.OCG, Name=pikepdf.String("size 38"))
    page = with_notes(
        tmp_path,
        note([0, 0, 10, 20], line, F=2),
        note([0, 0, 10, 20], line, F=32),
        Dictionary(Type=Name.Annot, Subtype=Name.Line, Rect=Array([0, 0, 9, 9])),
        Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=Array([0, 0, 9, 9])),
        Dictionary(Type=Name.Annot, Subtype=Name.Square, Rect=Array(["x"])),
        note([20, 0, 30, 20], line, OC=group),
    )
    (found,) = page.lines
    assert found.layer == "size 38"
    assert page.counts["annotations"] == 2


def test_the_appearance_of_the_state_counts(tmp_path: Path) -> None:
    file = plain_pdf("0 0 m 1 1 l S", tmp_path / "page.pdf")
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        box = Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 10, 10]))
        on = pdf.make_stream(b"0 0 m 10 10 l S", box)
        off = pdf.make_stream(b"0 5 m 10 5 l S", box)
        states = Dictionary(N=Dictionary(Yes=on, Off=off))
        pdf.pages[0].Annots = Array(
            [
                Dictionary(
                    Subtype=Name.Stamp,
                    Rect=Array([20, 20, 30, 30]),
                    AP=states,
                    **({"AS": state} if state else {}),
                )
                for state in (Name.Yes, None, Name.Other)
            ]
        )
        pdf.save(file)
    page = read_of(file).pages[0]
    ends = [(line.chain.points[-1] / PT).tolist() for line in page.lines[1:]]
    assert ends == [pytest.approx([30, 30]), pytest.approx([30, 25])]
    assert page.counts["annotations"] == 1


# 8.11.2.2 (optional content membership)


def test_memberships_by_policy_and_expression(tmp_path: Path) -> None:
    file = plain_pdf("", tmp_path / "page.pdf")
    line = "0 0 m 9 9 l S"
    with pikepdf.open(file, allow_overwriting_input=True) as pdf:
        a, b, c = (
            pdf.make_indirect(Dictionary(Type=Name.OCG, Name=pikepdf.String(name)))
            for name in ("36", "38", "40")
        )

        def member(**keys: object) -> Dictionary:
            return Dictionary(Type=Name.OCMD, **keys)

        kinds = {
            "/M0": member(VE=Array([Name.Or, a, Array([Name.And, b, c])])),
            "/M1": member(VE=Array([Name.And, a, Array([Name.Not, b])]), OCGs=c),
            "/M2": member(VE=Array([Name.Not, b])),
            "/M3": member(OCGs=Array([a, b]), P=Name.AllOn),
            "/M4": member(OCGs=Array([a, b]), P=Name.AllOff),
            "/M5": member(OCGs=c),
        }
        deep = Array([Name.Not, a])
        for _ in range(60):
            deep = Array([Name.And, deep])
        kinds["/M6"] = member(VE=deep)
        pdf.pages[0].Resources = Dictionary(Properties=Dictionary(kinds))
        pdf.pages[0].Contents = pdf.make_stream(
            "".join(f"/OC {name} BDC {line} EMC " for name in kinds).encode()
        )
        pdf.save(file)
    page = read_of(file).pages[0]
    found = [line.layer for line in page.lines]
    assert found == ["36", "38", "40", "36", None, "36", "38", None, "40", None]
    assert page.counts["shown without"] == 3
