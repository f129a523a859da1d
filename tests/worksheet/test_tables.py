"""A line drawn from the sheet with ruler and pencil lies within half a millimetre."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.ops

import propagate
from propagate.demo import demo_path
from propagate.engine.run import Result
from propagate.io.result_folder import load_result
from propagate.report.units import INCHES, MILLIMETRES, Unit
from propagate.report.worksheet.value import EdgeWork
from tests.cli.conftest import run
from tests.shared import blended, main_job
from tests.worksheet.conftest import (
    LEVELS,
    Outlines,
    on_half_of_the_blends,
    outlines_of,
    sheet_of,
)
from tests.worksheet.rebuild import SIXTEENTH_MM, is_drawn, off, off_evenly, printed, spot

UNITS = pytest.mark.parametrize("unit", [MILLIMETRES, INCHES], ids=["mm", "in"])
STRAIGHT_MM = 0.5
FINER_MM = 0.01
"""What the two ways to measure may differ by: the test looks at every half millimetre."""
HALF_STEP_MM = SIXTEENTH_MM / 2


def allowed(unit: Unit) -> float:
    """Half a millimetre; in inches half a step more along the line and half a step off it."""
    return STRAIGHT_MM + FINER_MM + (HALF_STEP_MM * np.sqrt(2.0) if unit.name == "in" else 0.0)


def works(result: Result, unit: Unit) -> Iterator[EdgeWork]:
    yield from (work for work in sheet_of(result, unit).edges if is_drawn(work))


def check(result: Result) -> None:
    for unit in (MILLIMETRES, INCHES):
        for work in works(result, unit):
            far = off(work, outlines_of(result, work.piece), unit.name)
            assert far <= allowed(unit), (unit.name, work.piece, work.edge, far)
            far = off_evenly(work, outlines_of(result, work.piece))
            assert far <= STRAIGHT_MM + 0.1, (unit.name, work.piece, work.edge, far)


@on_half_of_the_blends
def test_straight_lines_from_row_to_row_are_near_enough(result: propagate.Result) -> None:
    check(result)


@pytest.mark.parametrize("name", sorted(LEVELS))
def test_the_main_jobs(name: str) -> None:
    check(main_job(name))


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
    assert any(is_drawn(work) for work in sheet_of(result).edges)
    check(result)


@UNITS
def test_rows_from_corner_to_corner_and_at_dart_legs(unit: Unit) -> None:
    """Every stretch that does not stay begins and ends with a row; legs have rows of their own."""
    tables = 0
    for name in sorted(LEVELS):
        result = main_job(name)
        for work in works(result, unit):
            if not work.offsets:
                continue
            tables += 1
            along = [row.along_mm for row in work.offsets]
            assert along == sorted(along)
            outlines = outlines_of(result, work.piece)
            ends = {work.offsets[0].at, work.offsets[-1].at}
            assert ends <= {"corner", "old line"} and "corner" in ends
            now = result.pattern.sized(work.piece, result.record.size)
            legs = [leg for dart in now.darts if dart.edge == work.edge for leg in dart.legs]
            rows = [row for row in work.offsets if row.at == "new leg"]
            assert len(rows) == len(legs)
            points = [row_point(work, outlines, row.along_mm, row.out_mm) for row in rows]
            for leg in legs:
                place = shapely.Point(now.landmark(leg).point)
                assert min(place.distance(point) for point in points) < 0.8
            old = outlines.old[work.edge]
            turns = [mm for mm in np.arange(3.0, old.length - 3.0, 0.5) if bend(old, mm) > 5.0]
            for row in work.offsets:
                if row.at == "old leg":
                    place = (
                        abs(old.length - row.along_mm) if counted_from_end(work) else row.along_mm
                    )
                    assert min(abs(np.array(turns) - place)) < 1.0
            assert bool(turns) <= any(row.at == "old leg" for row in work.offsets) or not legs
    assert tables >= 8


def counted_from_end(work: EdgeWork) -> bool:
    return f"of {work.edge} and " in str(work.offsets_from)


def row_point(work: EdgeWork, outlines: Outlines, along: float, out: float) -> shapely.Point:
    old = outlines.old[work.edge]
    return shapely.Point(spot(old, old.length - along if counted_from_end(work) else along, out))


def bend(line: shapely.LineString, mm: float) -> float:
    """How sharply a line turns within 3 mm on either side, degrees."""
    a, b, c = (np.array(line.interpolate(mm + d).coords[0]) for d in (-3.0, 0.0, 3.0))
    first, second = b - a, c - b
    cross = first[0] * second[1] - first[1] * second[0]
    return float(abs(np.degrees(np.arctan2(cross, first @ second))))


@UNITS
def test_points_of_the_lines_beyond_the_opening(unit: Unit) -> None:
    """The facing has that corner; straight lines through the points told are near its edges."""
    number = r"([\d./ ]+) (?:mm|in)"
    for upper, lower in (("42", "48"), ("50", "44"), ("38", "44")):
        result = blended("slant_trouser", upper, lower)
        facing = result.pattern.sized("facing", result.record.size)
        body = shapely.Polygon(facing.outline)
        for word, mark in (("side", "mouth_low"), ("waist", "mouth_top")):
            line = shapely.LineString(facing.edge(word).points)
            line = line if word == "side" else line.reverse()
            part = shapely.ops.substring(
                line, 0.0, line.project(shapely.Point(facing.landmark(mark).point))
            )
            said = [
                s
                for step in sheet_of(result, unit).steps
                for s in step.sentences
                if f"the new {word} bows" in s.text
            ]
            points = [np.array(part.coords[0])]
            way = np.array(part.coords[-1]) - points[0]
            way = way / np.hypot(*way)
            square = np.array([way[1], -way[0]])
            ahead = shapely.Point(points[0] + way * 20.0 + square * 20.0)
            outward = -square if body.contains(ahead) else square
            if said:
                told = re.findall(rf"{number} from the corner {number} (out|in)side", said[0].text)
                facts = dict(said[0].measures)
                for i, (_, _, side) in enumerate(told, 1):
                    along, out = (
                        printed(facts[f"{k}_{i}_mm"], unit.name) for k in ("along", "out")
                    )
                    points.append(
                        points[0] + along * way + (1 if side == "out" else -1) * out * outward
                    )
            points.append(np.array(part.coords[-1]))
            drawn = shapely.LineString(points).segmentize(0.5)
            far = shapely.hausdorff_distance(drawn, part.segmentize(0.5))
            assert far <= allowed(unit), (upper, lower, word, far)
