"""Dozens of pieces: written as they are drawn, with bounded memory, and progress told."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from io import BytesIO
from typing import Any

import numpy as np
import pikepdf
import pytest

import propagate
from propagate.cli import progress as progress_module
from propagate.cli.progress import Progress
from propagate.report.pdf.document import PdfDocument
from propagate.report.pdf.paper import paper_of
from propagate.report.printing.plan import PrintOptions
from propagate.report.printing.print_file import print_pieces
from propagate.report.style import FRAME
from propagate.report.units import MILLIMETRES
from tests.examples import goes_on
from tests.shared import demo


class Sink(BytesIO):
    """Counts what is written and keeps none of it."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0

    def write(self, data: Any) -> int:
        self.count += len(data)
        return len(data)


COUNT = 100 if goes_on() else 30


def many_pieces() -> propagate.PatternSet:
    pattern = demo("slant_trouser")
    names = [f"{name}_{i}" for i in range(COUNT // 10) for name in list(pattern.pieces)[:10]]
    source = {name: name.rpartition("_")[0] for name in names}
    return replace(
        pattern,
        pieces={n: replace(pattern.pieces[s], name=n) for n, s in source.items()},
        info={n: pattern.info[s] for n, s in source.items()},
        relations=replace(pattern.relations, seams={}, bands={}),
    )


@pytest.mark.usefixtures("laid_once")
def test_many_pieces_are_written_as_they_are_drawn() -> None:
    sink, seen = Sink(), []

    def note(what: str, done: int, total: int) -> None:
        seen.append((what, done, sink.count))

    options = PrintOptions(paper_of("a4"), MILLIMETRES)
    summary = print_pieces(many_pieces(), sink, options, progress=note)
    assert len(summary.pieces) == COUNT and summary.pages > 1.5 * COUNT
    drawn = [count for what, _, count in seen if what == "drawing pieces"]
    paged = [count for what, _, count in seen if what == "writing pages"]
    assert len(drawn) == COUNT and len(paged) == summary.pages - 2  # cover, map
    assert all(np.diff(drawn)[1:] > 0) and all(np.diff(paged) > 0)
    assert drawn[COUNT // 2] > 0.2 * sink.count
    assert {what for what, _, _ in seen} >= {"reading pieces", "laying pieces"}


@pytest.mark.parametrize("pages", [20, 200])
def test_memory_does_not_grow_with_the_pages(pages: int) -> None:
    lines = np.random.default_rng(1).uniform(20, 190, (400, 2))  # fixed seed
    with PdfDocument(Sink(), "warm up") as document:
        document.add_page(210.0, 297.0, document.canvas())
    tracemalloc.start()
    with PdfDocument(Sink(), "many pages") as document:
        for _ in range(pages):
            canvas = document.canvas()
            canvas.line("seam", lines, FRAME)
            document.add_page(210.0, 297.0, canvas)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # A page alone takes about a third of that while it is drawn; 200 pages would take 10 MB.
    assert peak < 1.5e6


def test_the_file_of_many_pages_is_whole() -> None:
    out = BytesIO()
    with PdfDocument(out, "many pages") as document:
        for i in range(120):
            document.add_page(210.0, 297.0, document.canvas(), label=f"p{i}")
    with pikepdf.open(BytesIO(out.getvalue())) as found:
        assert len(found.pages) == 120
        assert not found.check_pdf_syntax()
        assert found.pages[119].label == "p119"


def test_progress_is_told_after_two_seconds(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    now = [0.0]
    monkeypatch.setattr(progress_module.time, "monotonic", lambda: now[0])
    progress = Progress()
    for second in (0.5, 1.9, 2.1, 2.2, 3.5):
        now[0] = second
        progress("drawing pieces", int(second * 10), 100)
    progress.end()
    said = capsys.readouterr().err.splitlines()
    assert said == ["drawing pieces: 21 of 100", "drawing pieces: 35 of 100"]
