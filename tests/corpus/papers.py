"""Patterns as PDF, written by a library for reports, and the jobs that read them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from tests.corpus.job import Job
from tests.io.pdf.bought import bought_by_reportlab, bought_sheet
from tests.io.pdf.drafts import Draft, Tiling, by_reportlab, tiled_by_reportlab
from tests.shared import demo

__all__ = ["paper_jobs"]

_PAPER = Path("paper.pdf")
_TILINGS = {
    "named": Tiling(),
    "unnamed": Tiling(names="", frame=False),
    "numbered": Tiling(names="1/n", overlap=0.0, cover=1),
    "by_columns": Tiling(names="", by_columns=True, overlap=15.0, cut=True),
    "letter": Tiling(paper=(215.9, 279.4), margin=12.7, overlap=6.35, names="row"),
}


def paper_jobs() -> Iterator[Job]:
    """One large page and tiled pages of nested sets; half of them are read in a hurry, too."""
    reading = ("begin", str(_PAPER), "-o", "out")
    for name in ("scoop_skirt", "slant_trouser", "lined_skirt"):
        quick = name == "scoop_skirt"
        told = (*reading, "--sizes", "1,2,3,4")
        yield Job(f"pdf/{name}/bought", reading, quick, ready=_bought(name))
        yield Job(f"pdf/{name}/looks", told, ready=_one_page(name))
        for kind in _TILINGS:
            tiled = f"pdf/{name}/{kind}"
            yield Job(tiled, told, quick and "named" in kind, ready=_tiled(name, kind))


def _bought(name: str) -> Callable[[], Path]:
    return lambda: bought_by_reportlab(bought_sheet(demo(name)), _PAPER)


def _one_page(name: str) -> Callable[[], Path]:
    return lambda: by_reportlab(_four_sizes(name), _PAPER)


def _tiled(name: str, kind: str) -> Callable[[], Path]:
    return lambda: tiled_by_reportlab(_four_sizes(name), _PAPER, _TILINGS[kind])


def _four_sizes(name: str) -> Draft:
    """A nest whose sizes all have looks of their own, without words."""
    return bought_sheet(demo(name), demo(name).sizes[:4]).draft
