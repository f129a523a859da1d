"""Results of both demo sets, made once; independent ways to measure an outline."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from hypothesis import settings

import propagate
from propagate.errors import EditError
from propagate.report.units import MILLIMETRES, Unit
from propagate.report.worksheet.derive import work_sheet
from propagate.report.worksheet.value import WorkSheet
from propagate.report.worksheet.write import sheet_paper, write_sheet
from tests.examples import goes_on
from tests.shared import blended, demo, once_for_each

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


@dataclass(frozen=True)
class Case:
    """A blend that properties are tested on."""

    name: str
    upper: str
    lower: str
    option: int
    leg: str

    def blended(self) -> propagate.Result:
        return blended(self.name, self.upper, self.lower, leg=self.leg, **OPTIONS[self.option])


@cache
def cases() -> Mapping[Case, propagate.Result]:
    """Blends that all properties are tested on: every set with every option.

    Two different sizes, and perhaps one for the leg, are drawn at random: the same in every run
    of the suite, ten times as many and other ones with the profile ``long``.
    """
    chosen, found = settings(), {}
    rng = random.Random(1 if chosen.derandomize else None)
    rounds = max(chosen.max_examples // 100, 1)
    for name in LEVELS:
        sizes = demo(name).sizes
        options = list(range(len(OPTIONS))) * rounds
        while options:
            upper, lower = rng.sample(sizes, 2)
            leg = rng.choice(["", *sizes]) if name == "slant_trouser" else ""
            case = Case(name, upper, lower, options[0], leg)
            try:
                found[case] = case.blended()
            except EditError:  # sizes that are too far apart for the option
                continue
            options.pop(0)
    return found


Test = Callable[[propagate.Result], None]


def on_blends(test: Test) -> Callable[[], None]:
    """Run a property on blends of all demo sets with every option."""

    def run() -> None:
        for case, result in cases().items():
            try:
                test(result)
            except BaseException as error:
                error.add_note(f"on {case}")
                raise

    run.__name__, run.__doc__ = test.__name__, test.__doc__
    return run


def on_half_of_the_blends(test: Test) -> Callable[[], None]:
    """Run a property that is slow to measure on every second blend; every option is in some.

    With the profile ``long`` on all.
    """

    def on_some(result: propagate.Result) -> None:
        number = [id(one) for one in cases().values()].index(id(result))
        if goes_on() or (number + number // len(OPTIONS)) % 2 == 0:
            test(result)

    on_some.__name__, on_some.__doc__ = test.__name__, test.__doc__
    return on_blends(on_some)


_derived_once = once_for_each(work_sheet)


def sheet_of(result: propagate.Result, unit: Unit = MILLIMETRES) -> WorkSheet:
    """The work sheet of a result, derived once for all tests that look at it."""
    return _derived_once(result, unit)


def written(result: propagate.Result, paper: str = "a4", unit: Unit = MILLIMETRES) -> bytes:
    """The file of a work sheet, written anew."""
    out = BytesIO()
    write_sheet(result, work_sheet(result, unit), out, sheet_paper(paper))
    return out.getvalue()


_written_once = once_for_each(written)


def pdf_of(
    result: propagate.Result, paper: str = "a4", unit: Unit = MILLIMETRES
) -> tuple[bytes, WorkSheet]:
    """The file of a work sheet, written once for all tests that look at it, and the sheet."""
    return _written_once(result, paper, unit), sheet_of(result, unit)


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


outlines_of = once_for_each(Outlines)
"""Old and new outline of a re-cut piece, made once for all tests that look at it."""


def _ring(lines: list[shapely.LineString]) -> npt.NDArray[np.float64]:
    return np.concatenate([np.asarray(line.coords)[:-1] for line in lines])
