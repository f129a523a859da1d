"""Results of both demo sets, made once; independent ways to measure an outline."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

import propagate
from propagate.demo import MAIN_JOBS
from propagate.errors import EditError
from propagate.report.units import MILLIMETRES, Unit
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.value import WorkSheet
from propagate.report.worksheet.write import sheet_paper, write_sheet
from tests.examples import examples

LEVELS = {
    "slant_trouser": ("waist", "hip"),
    "scoop_skirt": ("natural_waist", "seat"),
    "workshop_gilet": ("waist", "hip"),
}
OPTIONS: list[dict[str, Any]] = [
    {},
    {"follow": "length"},
    {"top": "traced"},
    {"rise": "lower"},
    {"pocket": "lower"},
    {"hold": 60.0},
]


@cache
def demo(name: str) -> propagate.PatternSet:
    return propagate.load(propagate.demo_path(name))


@cache
def blended(name: str, upper: str, lower: str, option: int = 0, leg: str = "") -> propagate.Result:
    high, low = LEVELS[name]
    sizes = {high: upper, low: lower} | ({"knee": leg} if leg else {})
    return propagate.blend(demo(name), propagate.Blend(sizes, **OPTIONS[option]))


@dataclass(frozen=True)
class Case:
    """A blend that a property is tested on."""

    name: str
    upper: str
    lower: str
    option: int
    leg: str

    @property
    def result(self) -> propagate.Result:
        return blended(self.name, self.upper, self.lower, self.option, self.leg)


@st.composite
def _cases(draw: st.DrawFn) -> Case:
    """Two different sizes of a demo set, any option, perhaps a size for the leg."""
    name = draw(st.sampled_from(sorted(LEVELS)))
    sizes = demo(name).sizes
    upper = draw(st.sampled_from(sizes))
    lower = draw(st.sampled_from([size for size in sizes if size != upper]))
    leg = draw(st.sampled_from(["", *sizes])) if name == "slant_trouser" else ""
    return Case(name, upper, lower, draw(st.integers(0, len(OPTIONS) - 1)), leg)


Test = Callable[[propagate.Result], None]


def on_blends(test: Test) -> Callable[[], None]:
    """Run a property on blends of both demo sets with every option."""

    @examples(15)
    @given(_cases())
    def run(case: Case) -> None:
        try:
            result = case.result
        except EditError:  # sizes that are too far apart for the option
            assume(False)
            raise
        test(result)

    run.__name__, run.__doc__ = test.__name__, test.__doc__
    return run


def main_job(name: str) -> propagate.Result:
    levels, sizes = LEVELS[name], MAIN_JOBS[name]
    return blended(name, *(sizes[level] for level in levels))


def pdf_of(
    result: propagate.Result, paper: str = "a4", unit: Unit = MILLIMETRES
) -> tuple[bytes, WorkSheet]:
    out, sheet = BytesIO(), work_sheet(result, unit)
    write_sheet(result, sheet, out, sheet_paper(paper))
    return out.getvalue(), sheet


# ------------------------------------------------------------ measured by other means


class Outlines:
    """Old and new outline of a re-cut piece as shapely sees them."""

    def __init__(self, result: propagate.Result, piece: str) -> None:
        change = next(c for c in result.record.pieces if c.piece == piece)
        self.names = list(change.before)
        self.old = {n: shapely.LineString(p) for n, p in change.before.items()}
        now = result.pattern.sized(piece, result.record.size)
        self.new = {e.name: shapely.LineString(e.points) for e in now.edges}
        self.old_area = shapely.Polygon(_ring(list(self.old.values())))
        self.new_area = shapely.Polygon(_ring(list(self.new.values())))


def _ring(lines: list[shapely.LineString]) -> npt.NDArray[np.float64]:
    return np.concatenate([np.asarray(line.coords)[:-1] for line in lines])
