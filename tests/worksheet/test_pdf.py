"""The PDF read back with pikepdf and poppler."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pytest
import shapely

import propagate
from propagate.engine.run import Result
from propagate.pattern.titles import name_title
from propagate.report.units import INCHES, MILLIMETRES, Unit, offset_word, place_word, say_length
from tests.examples import part_of
from tests.print.reader import page_size, stroked, text_of
from tests.shared import main_job
from tests.worksheet.conftest import LEVELS, pdf_of, written

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
CASES = [
    (name, paper, unit)
    for name in LEVELS
    for paper, unit in (("a4", MILLIMETRES), ("letter", INCHES))
]
NAMES = [
    'Front "left" \\ (a) <script>',
    "חזית המכנסיים",
    "Vorderteil 😀",
    "x" * 300,
    "a long name " * 25,
    "\x00tab\tnew\nline",
]


def packed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def body(data: bytes, folder: Path) -> str:
    """All text without blanks and without the feet of the pages."""
    found = packed(text_of(data, folder))
    with pikepdf.open(BytesIO(data)) as document:
        pages = len(document.pages)  # what follows a foot may begin with a digit
    return re.sub(rf"Worksheet:[^:]*?,[\w-]+?(?=\d+of{pages})\d+of{pages}", "", found)


@pytest.mark.parametrize(("name", "paper", "unit"), CASES)
def test_everything_is_in_the_file(name: str, paper: str, unit: Unit, tmp_path: Path) -> None:
    result = main_job(name)
    data, sheet = pdf_of(result, paper, unit)
    text = body(data, tmp_path)
    for step in sheet.steps:
        assert packed(f"{step.number}. {step.title}") in text
        for sentence in step.sentences:
            assert packed(sentence.text) in text, sentence.text
        for edge in step.edges:
            if edge.text.startswith("As it is"):
                continue
            called = name_title(result.pattern, edge.edge, edge.piece)
            assert packed(f"{called}, {' to '.join(edge.letters)}: {edge.text}") in text
            most = 10 if unit is MILLIMETRES else 8
            for rows in (edge.offsets, edge.chord):
                blocks = max(-(-len(rows) // most), 1)
                wide = max(-(-len(rows) // blocks), 1)
                for first in range(0, len(rows), wide):
                    part = rows[first : first + wide]
                    along = "".join(r.letter + place_word(r.along_mm, unit) for r in part)
                    assert packed(along) in text, along
                    outs = "".join(offset_word(r.out_mm, unit) for r in part)
                    assert packed(outs) in text, outs
    for caution in sheet.cautions:
        assert packed(caution) in text
    for check in sheet.checks:
        assert check.kind == "corner" or packed(say_length(check.first, unit)) in text
    for piece in sheet.pieces:
        for mark in piece.marks:
            on = name_title(result.pattern, mark.edge, piece.piece)
            assert packed(f"{say_length(mark.along_mm, unit)} from {mark.origin}, on {on}") in text


@pytest.mark.parametrize(("name", "paper", "unit"), CASES)
def test_pages_fonts_and_margins(name: str, paper: str, unit: Unit, tmp_path: Path) -> None:
    data, sheet = pdf_of(main_job(name), paper, unit)
    with pikepdf.open(BytesIO(data)) as document:
        assert not document.check_pdf_syntax()
        pages = list(document.pages)
        assert len(pages) <= 4 + len(sheet.pieces)
        for page, lines in zip(pages, stroked(data), strict=True):
            assert page_size(page) == pytest.approx(PAPERS[paper], abs=0.01)
            for line in lines:
                assert line.points.min() >= 10.0
                assert (line.points <= np.array(PAPERS[paper]) - 10.0).all()
        fonts = [o for o in document.objects if isinstance(o, pikepdf.Dictionary)]
        descriptors = [o for o in fonts if o.get("/Type") == "/FontDescriptor"]
        assert descriptors and all("/FontFile2" in o for o in descriptors)
        assert "/CreationDate" not in document.docinfo
    text = text_of(data, tmp_path)
    for i in range(len(pages)):
        assert f"{i + 1} of {len(pages)}" in text


def test_the_outlines_are_drawn_at_the_scale_that_is_said(tmp_path: Path) -> None:
    """The waist of the front, and a row of its table, are found at 1:scale."""
    result = main_job("slant_trouser")
    data, sheet = pdf_of(result)
    waist = result.pattern.sized("front", "42/48").edge("waist").length
    with pikepdf.open(BytesIO(data)) as document:
        pages = [text_of(_one(document, i), tmp_path) for i in range(len(document.pages))]
        index = next(i for i, text in enumerate(pages) if "Change Front" in text)
        scale = float(re.search(r"1:([\d.]+)", pages[index])[1])  # type: ignore[index]
    lines = stroked(data)[index]
    drawn = [line.length * scale for line in lines]
    assert min(abs(length - waist) for length in drawn) < 0.05
    rows = next(
        edge.offsets for edge in sheet.edges if (edge.piece, edge.edge) == ("front", "waist")
    )
    for row in rows:
        assert min(abs(length - abs(row.out_mm)) for length in drawn) < 0.05
    assert any(line.dashed for line in lines)


def _one(document: pikepdf.Pdf, index: int) -> bytes:
    out, single = BytesIO(), pikepdf.new()
    single.pages.append(document.pages[index])
    single.save(out)
    return out.getvalue()


def test_the_same_input_gives_the_same_bytes() -> None:
    result = main_job("scoop_skirt")
    assert written(result) == written(result)


@pytest.mark.parametrize(("name", "paper", "unit"), CASES)
def test_no_text_lies_on_another(name: str, paper: str, unit: Unit, tmp_path: Path) -> None:
    """Words as poppler boxes them, upright text everywhere."""
    import subprocess

    data, _ = pdf_of(main_job(name), paper, unit)
    source = tmp_path / "sheet.pdf"
    source.write_bytes(data)
    done = subprocess.run(["pdftotext", "-bbox", str(source), "-"], check=True, capture_output=True)
    for page in done.stdout.decode().split("<page ")[1:]:
        boxes = [
            shapely.box(*(float(v) for v in found))
            for found in re.findall(
                r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">', page
            )
        ]
        tree = shapely.STRtree([box.buffer(-1.2) for box in boxes])  # boxes are higher than ink
        left, right = tree.query(tree.geometries, predicate="intersects")
        assert (left == right).all()


@pytest.mark.parametrize("title", part_of(NAMES, 3))
def test_any_name_is_text(title: str, tmp_path: Path) -> None:
    """The set has one of the names, and each piece another, the first of them this one."""
    result, at = main_job("scoop_skirt"), NAMES.index(title)
    info = {
        name: replace(one, title=f"{NAMES[(at + i) % len(NAMES)]} {i}")
        for i, (name, one) in enumerate(result.pattern.info.items())
    }
    assert len(info) >= len(NAMES)
    pattern = replace(result.pattern, name=title, info=info)
    named = Result(pattern, replace(result.record, set_name=title))
    data, sheet = pdf_of(named)
    with pikepdf.open(BytesIO(data)) as document:
        assert not document.check_pdf_syntax()
        assert "/JavaScript" not in document.Root and "/OpenAction" not in document.Root
    assert min(line.points.min() for lines in stroked(data) for line in lines) >= 10.0
    assert len(sheet.edges) == len(propagate_edges(result))
    if title.isascii() and title.isprintable():
        assert packed(text_of(data, tmp_path)).count("Change") >= len(sheet.pieces)
    if title in (NAMES[0], NAMES[3]):
        assert packed(title)[:40] in packed(text_of(data, tmp_path))


def propagate_edges(result: propagate.Result) -> list[str]:
    return [e.edge for p in result.record.pieces for e in p.edges if e.status != "same"]


def pages_of(data: bytes, folder: Path) -> list[str]:
    with pikepdf.open(BytesIO(data)) as document:
        return [text_of(_one(document, i), folder) for i in range(len(document.pages))]
