"""Prints made once, for every test that reads them."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from typing import Any

import pytest

import propagate
from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import paper_of
from propagate.report.printing.plan import PrintOptions
from propagate.report.printing.print_file import PrintSummary, print_pieces
from propagate.report.units import MILLIMETRES
from tests.shared import blended, demo

Print = tuple[bytes, PrintSummary]


@cache
def printed(name: str, paper: str, **options: Any) -> Print:
    """A demo set as PDF."""
    return print_set(demo(name), paper, **options)


def print_set(
    source: propagate.PatternSet | propagate.Result,
    paper: str = "a4",
    fonts: FontBook | None = None,
    **options: Any,
) -> Print:
    out = BytesIO()
    chosen = PrintOptions(paper_of(paper), options.pop("unit", MILLIMETRES), **options)
    summary = print_pieces(source, out, chosen, fonts=fonts)
    return out.getvalue(), summary


@pytest.fixture
def laid_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay pieces as many are laid, at two widths, and not close together in a dozen ways."""
    monkeypatch.setattr("propagate.report.printing.plan._MANY", 0)


@pytest.fixture(scope="session")
def result() -> propagate.Result:
    return blended("slant_trouser", "42", "44")
