"""A line drawn from what the sheet prints, with ruler or French curve, is the new line.

What is read is the sheet's JSON (letters, texts, rows as printed) and the old line, which a person
has on paper; `rebuild` draws, and shapely measures against the result.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.interpolate import PchipInterpolator

import propagate
from propagate.demo import demo_names, demo_path, edit_files
from propagate.engine.revise import revise
from propagate.engine.run import Result
from propagate.io.result_folder import load_result
from propagate.pattern.model import Piece
from propagate.report.units import INCHES, MILLIMETRES, Unit
from propagate.report.worksheet.smooth import smooth_values
from propagate.report.worksheet.value import sheet_plain
from tests.cli.conftest import run
from tests.edits.random_edits import sound
from tests.examples import goes_on, part_of
from tests.revise.tiny_edits import Tiny
from tests.revise.tiny_edits import drawn as redrawn
from tests.shared import blended, demo, main_job
from tests.worksheet.conftest import (
    LEVELS,
    Outlines,
    on_half_of_the_blends,
    outlines_of,
    sheet_of,
)
from tests.worksheet.random_results import random_results
from tests.worksheet.rebuild import (
    SIXTEENTH_MM,
    Work,
    apart,
    from_end,
    ruler,
    sharp_places,
    smooth,
    spot,
    stretches_of,
)

UNITS_OF = MILLIMETRES, INCHES
UNITS = pytest.mark.parametrize("unit", UNITS_OF, ids=["mm", "in"])
RULER_MM, SMOOTH_MM = 0.5, 0.25
"""How far from the new line straight lines and a smooth one may be: the first is what the sheet
promises, the second is less than a pencil line on either side of the old one."""
FINER_MM = 0.01
"""What the two ways to measure may differ by: the test looks at every half millimetre."""
PENCIL_MM = 0.25


def allowed(unit: Unit, mm: float) -> float:
    """In inches half a step more along the line and half a step off it."""
    return mm + FINER_MM + (SIXTEENTH_MM * np.sqrt(0.5) if unit.name == "in" else 0.0)


def works(result: Result, unit: Unit) -> Iterator[Work]:
    plain = sheet_plain(sheet_of(result, unit))
    yield from (edge for step in plain["steps"] for edge in step["edges"])


def gaps_of(result: Result, unit: Unit) -> Iterator[tuple[str, float, float]]:
    """Each line that is drawn from a sheet: which, how far off the new one it lies, and may."""
    for work in works(result, unit):
        if "Comes out of the zones" in work["text"]:
            continue
        outlines, edge = outlines_of(result, work["piece"]), work["edge"]
        old, new = outlines.old[edge], outlines.new[edge]
        where = f"{work['piece']}.{edge} in {unit.name} by "
        if work["text"].startswith("As it is."):  # it lies elsewhere, or moves its marks alone
            old, new = laid_on(outlines.old, outlines.new, edge)
            yield f"{where}the old line", apart(old, new), allowed(unit, PENCIL_MM)
            continue
        yield f"{where}ruler", apart(ruler(work, old, unit.name), new), allowed(unit, RULER_MM)
        if unit is MILLIMETRES:  # a sixteenth of an inch is coarser than that
            far = apart(smooth(work, old, unit.name), new)
            yield f"{where}curve", far, allowed(unit, SMOOTH_MM)


def check(result: Result, units: tuple[Unit, ...] = UNITS_OF) -> None:
    for unit in units:
        for where, far, most in gaps_of(result, unit):
            assert far <= most, where


def laid_on(
    old: dict[str, shapely.LineString], new: dict[str, shapely.LineString], edge: str
) -> tuple[shapely.LineString, shapely.LineString]:
    """An old edge with its whole outline laid on the new one as well as it goes (Kabsch 1976)."""
    both = [
        np.array([line.interpolate(t, normalized=True).coords[0]
                  for line in lines.values() for t in np.linspace(0.0, 1.0, 20)])
        for lines in (old, new)
    ]  # fmt: skip
    first, second = (points @ (1.0, 1.0j) for points in both)
    turn = ((first - first.mean()).conj() * (second - second.mean())).sum()
    turn /= abs(turn)
    moved = (shapely.get_coordinates(old[edge]) @ (1.0, 1.0j) - first.mean()) * turn + second.mean()
    return shapely.LineString(np.stack([moved.real, moved.imag], axis=1)), new[edge]


@on_half_of_the_blends
def test_blends(result: propagate.Result) -> None:
    check(result)


@pytest.mark.parametrize(
    ("upper", "lower", "options"),
    [
        ("38", "52", {"follow": "length"}),  # the waist goes far past a bend of the old one
        ("46", "50", {"rise": "lower"}),  # sides of the facing and of the bag: the end is near
        ("52", "38", {"follow": "length"}),  # the bag's side is drawn from a line that is drawn
        ("36", "44", {"top": "traced"}),  # the waist from an old dart leg to a new one
    ],
)
def test_trousers_that_were_off(upper: str, lower: str, options: dict[str, str]) -> None:
    check(blended("slant_trouser", upper, lower, **options))


def apron_facing(edge: str, kind: str, by: float) -> Result:
    """The garden apron with one edge of its facing sent anew; the corner inside moves with it."""
    pattern = sound("garden_apron")
    sized = pattern.sized("facing", pattern.base)
    sent = {pattern.base: redrawn(sized, Tiny("facing", edge, kind, by))}
    found = revise(pattern, {"facing": Piece("facing", sent)})
    return Result(found.pattern, found.records[pattern.base])


@pytest.mark.parametrize(
    ("edge", "kind", "by"),
    [
        ("facing_fold", "parallel", 9.0),  # outward, from the end of the edge
        ("facing_inner", "parallel", 6.3),  # both sides of the corner outward, ...
        ("facing_inner", "parallel", -9.0),  # ... and inward
        ("facing_inner", "along", -9.0),  # one side alone
        ("facing_inner", "across", 9.0),
        ("facing_inner", "bump", -6.3),
    ],
)
def test_a_corner_inside_an_edge(edge: str, kind: str, by: float) -> None:
    """Rows square to a line that has a corner jump there: the corner is told from either side."""
    result = apron_facing(edge, kind, by)
    check(result)
    (work,) = (w for w in works(result, MILLIMETRES) if w["edge"] == "facing_inner")
    turns = [row for row in work["offsets"] if "turn" in row["at"]]
    assert [row["at"] for row in turns] == ["to turn", "from turn"]
    outlines = outlines_of(result, "facing")
    old, new = outlines.old["facing_inner"], outlines.new["facing_inner"]
    (place,) = sharp_places(new)
    parts = stretches_of(work, old)[:: -1 if from_end(work) else 1]
    for row, (part, base) in zip(turns, parts, strict=True):
        (own,) = (r for r in part["offsets"] if r["at"] == row["at"])
        along = base.length - own["along_mm"] if from_end(work) else own["along_mm"]
        there = shapely.Point(spot(base, along, own["out_mm"]))
        assert there.distance(new.interpolate(place)) < 0.01


@pytest.mark.parametrize("number", range(0, 30 if goes_on() else 3))
def test_what_is_drawn_by_lot(number: int) -> None:
    """`tests.worksheet.random_results` goes on with as many as somebody likes."""
    for said, result in random_results(4, number):
        try:
            check(result)
        except AssertionError as error:
            error.add_note(said)
            raise


@pytest.mark.parametrize("name", part_of(demo_names(), 2))
def test_the_main_jobs(name: str) -> None:
    check(main_job(name))


@pytest.mark.parametrize("name", part_of([n for n in demo_names() if edit_files(n)], 2))
def test_the_edits_of_the_demo_sets(name: str, tmp_path: Path) -> None:
    """In the base size; in every size with the profile ``long``."""
    path, base = demo_path(name), demo(name).base
    done = run("apply", str(path), str(path / "edits.toml"), "-o", str(tmp_path / "set"))
    assert done.exit_code == 0, done.output
    for size in demo(name).sizes if goes_on() else [base]:
        result = load_result(tmp_path / "set", size)
        assert any(work["offsets"] for work in works(result, MILLIMETRES))
        check(result, (MILLIMETRES,))


@pytest.fixture(scope="module", params=["front_base_size", "front_all_sizes"])
def revised(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    gilet, folder = demo_path("workshop_gilet"), tmp_path_factory.mktemp("revised") / "set"
    drawing = gilet / "revised" / f"{request.param}.dxf"
    done = run("revise", str(gilet), "--from", str(drawing), "-o", str(folder))
    assert done.exit_code == 0, done.output
    return folder


@pytest.mark.parametrize("size", ["90", "96", "110"])
def test_the_revised_gilet(revised: Path, size: str) -> None:
    result = load_result(revised, size)
    assert any(work["offsets"] for work in works(result, MILLIMETRES))
    check(result)


@UNITS
def test_rows_from_corner_to_corner_and_at_dart_legs(unit: Unit) -> None:
    """Every stretch that does not stay begins and ends with a row; legs have rows of their own."""
    tables = 0
    for name in sorted(LEVELS):
        result = main_job(name)
        for work in works(result, unit):
            if not work["offsets"]:
                continue
            tables += 1
            along = [row["along_mm"] for row in work["offsets"]]
            assert along == sorted(along)
            outlines = outlines_of(result, work["piece"])
            ends = {work["offsets"][i]["at"] for i in (0, -1)}
            assert ends <= {"corner", "old line"} and "corner" in ends
            now = result.pattern.sized(work["piece"], result.record.size)
            legs = [leg for d in now.darts if d.edge == work["edge"] for leg in d.legs]
            rows = [row for row in work["offsets"] if row["at"] == "new leg"]
            assert len(rows) == len(legs)
            points = [row_point(work, outlines, row) for row in rows]
            letters = {mark["letter"] for mark in marks_of(result, unit, work["piece"])}
            assert {row["letter"] for row in rows} <= letters
            for leg in legs:
                place = shapely.Point(now.landmark(leg).point)
                assert min(place.distance(point) for point in points) < 0.8
            old = outlines.old[work["edge"]]
            turns = [mm for mm in np.arange(3.0, old.length - 3.0, 0.5) if bend(old, mm) > 5.0]
            for row in work["offsets"]:
                if row["at"] == "old leg":
                    place = old.length - row["along_mm"] if from_end(work) else row["along_mm"]
                    assert min(abs(np.array(turns) - place)) < 1.0
            assert bool(turns) <= any(r["at"] == "old leg" for r in work["offsets"]) or not legs
    assert tables >= 8


def marks_of(result: Result, unit: Unit, piece: str) -> list[dict[str, Any]]:
    plain = sheet_plain(sheet_of(result, unit))
    return next(one["marks"] for one in plain["pieces"] if one["piece"] == piece)


def row_point(work: Work, outlines: Outlines, row: dict[str, Any]) -> shapely.Point:
    old, along = outlines.old[work["edge"]], row["along_mm"]
    return shapely.Point(spot(old, old.length - along if from_end(work) else along, row["out_mm"]))


def bend(line: shapely.LineString, mm: float) -> float:
    """How sharply a line turns within 3 mm on either side, degrees."""
    a, b, c = (np.array(line.interpolate(mm + d).coords[0]) for d in (-3.0, 0.0, 3.0))
    first, second = b - a, c - b
    cross = first[0] * second[1] - first[1] * second[0]
    return float(abs(np.degrees(np.arctan2(cross, first @ second))))


@UNITS
def test_a_corner_is_told_alike_by_both_edges_that_meet_in_it(unit: Unit) -> None:
    """Rows of two edges stand at the same new corner, within what rounding adds."""
    seen = 0
    for name in sorted(LEVELS):
        result = main_job(name)
        points: dict[tuple[str, str], list[shapely.Point]] = {}
        for work in works(result, unit):
            for row in work["offsets"]:
                if row["at"] == "corner":
                    point = row_point(work, outlines_of(result, work["piece"]), row)
                    points.setdefault((work["piece"], row["letter"]), []).append(point)
        for same in points.values():
            seen += len(same) > 1
            assert all(one.distance(same[0]) < PENCIL_MM for one in same)
    assert seen >= 8


def test_the_smooth_line_that_rows_are_chosen_by_is_that_of_scipy() -> None:
    """Held against scipy's monotone cubic on random rows."""
    rng = np.random.default_rng(1)
    for _ in range(200):
        x = np.cumsum(rng.uniform(0.5, 20.0, rng.integers(3, 12)))
        y = rng.normal(0.0, 3.0, len(x)).round(1)
        places = np.linspace(x[0], x[-1], 50)
        expected = PchipInterpolator(x, y)(places)
        assert np.allclose(smooth_values(x, y, places), expected, rtol=0.0, atol=1e-9)
