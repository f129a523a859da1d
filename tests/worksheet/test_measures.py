"""Measures against shapely: widest places, offsets, kept parts, corners, openings, marks."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import shapely
from shapely.ops import substring

import propagate
from propagate.report.units import INCHES, MILLIMETRES
from propagate.report.worksheet.value import EdgeWork, Widest
from tests.shared import main_job
from tests.worksheet.conftest import (
    Outlines,
    on_blends,
    on_half_of_the_blends,
    outlines_of,
    sheet_of,
)
from tests.worksheet.rebuild import spot

_FROM = re.compile(r"^(?:at|(?P<mm>[\d.]+) mm from) the corner of (?P<a>\w+) and (?P<b>\w+)$")


def check_place(work: EdgeWork, widest: Widest, outlines: Outlines) -> None:
    """The words name the nearer corner of the edge, and how far from it."""
    total = outlines.old[work.edge].length
    at_start = widest.along_mm <= total / 2
    far = widest.along_mm if at_start else total - widest.along_mm
    said = _FROM.match(widest.place)
    assert said is not None, widest.place
    index = outlines.names.index(work.edge)
    first = outlines.names[index - 1] if at_start else work.edge
    second = outlines.names[(outlines.names.index(first) + 1) % len(outlines.names)]
    assert (said["a"], said["b"]) == (first, second)
    assert said["mm"] == f"{far:.1f}" if said["mm"] else far <= 1.0


def gaps_to(
    line: shapely.LineString, part: tuple[float, float], other: shapely.LineString
) -> npt.NDArray[np.float64]:
    """How far a part of a line lies off another, at short steps."""
    points = shapely.get_coordinates(shapely.segmentize(substring(line, *part), 0.2))
    return np.asarray(shapely.distance(shapely.points(points), other))


@on_half_of_the_blends
def test_the_widest_measure_and_its_place(result: propagate.Result) -> None:
    sheet = sheet_of(result)
    for work in sheet.edges:
        outlines = outlines_of(result, work.piece)
        old, new = outlines.old[work.edge], outlines.new[work.edge]
        if work.trimmed is not None:
            places = shapely.points(shapely.get_coordinates(shapely.segmentize(old, 0.5)))
            most = shapely.distance(places, outlines.new_area).max()
            assert abs(most - work.trimmed.mm) <= 0.05
            there = old.interpolate(work.trimmed.along_mm)
            assert abs(there.distance(outlines.new_area) - work.trimmed.mm) <= 0.05
            check_place(work, work.trimmed, outlines)
        if work.added is not None:
            places = shapely.points(shapely.get_coordinates(shapely.segmentize(new, 0.5)))
            gaps = shapely.distance(places, outlines.old_area)
            assert abs(gaps.max() - work.added.mm) <= 0.05
            near = places[gaps >= gaps.max() - 0.05]
            assert min(abs(old.project(p) - work.added.along_mm) for p in near) <= 0.5
            check_place(work, work.added, outlines)


@on_half_of_the_blends
def test_rows_lie_on_the_new_line(result: propagate.Result) -> None:
    for unit in (MILLIMETRES, INCHES):
        for work in sheet_of(result, unit).edges:
            outlines = outlines_of(result, work.piece)
            total, new = outlines.old[work.edge].length, outlines.new[work.edge]
            index = outlines.names.index(work.edge)
            at_end = f"{work.edge} and {outlines.names[(index + 1) % len(outlines.names)]}"
            for row in work.offsets:
                from_end = str(work.offsets_from).endswith(at_end)
                along = total - row.along_mm if from_end else row.along_mm
                point = shapely.Point(spot(outlines.old[work.edge], along, row.out_mm))
                # The old line is within 0.05 mm of the new one where it stays.
                loose = {"old line": 0.11, "corner": 0.06}
                assert point.distance(new) < loose.get(row.at, 0.01)
                if row.at == "corner":
                    corner = min(point.distance(shapely.Point(new.coords[i])) for i in (0, -1))
                    assert corner < 0.06
                if abs(row.out_mm) > 0.2 and 2.0 < along < total - 2.0:
                    inside = outlines.old_area.contains(point)
                    assert inside == (row.out_mm < 0)


@on_blends
def test_the_old_line_stays_as_far_as_is_said(result: propagate.Result) -> None:
    for work in sheet_of(result).edges:
        outlines = outlines_of(result, work.piece)
        old, new = outlines.old[work.edge], outlines.new[work.edge]
        total = old.length
        start, end = work.kept_start_mm, total - work.kept_end_mm
        for kept, beyond in (
            ((0.0, start), (start, min(start + 3.0, total))),
            ((end, total), (max(end - 3.0, 0.0), end)),
        ):
            if kept[1] - kept[0] > 0.0:
                assert gaps_to(old, kept, new).max() <= 0.0501
                if beyond[1] - beyond[0] > 0.5 and start + work.kept_end_mm < total - 0.5:
                    assert gaps_to(old, beyond, new).max() > 0.0499


@on_blends
def test_new_corners_and_inner_points(result: propagate.Result) -> None:
    sheet = sheet_of(result)
    for piece in sheet.pieces:
        outlines = outlines_of(result, piece.piece)
        names = outlines.names
        for corner in piece.corners:
            said = re.search(r"the corner of (\w+) and (\w+)", str(corner.name))
            assert said is not None
            first = said[1]
            new = shapely.Point(outlines.new[first].coords[-1])
            old = shapely.Point(outlines.old[first].coords[-1])
            if corner.square:
                edge = re.search(r"along the old (\w+) from", corner.text)
                assert edge is not None and edge[1] in (said[1], said[2])
                line = outlines.old[edge[1]]
                if line.project(old) > line.length / 2:
                    line = line.reverse()
                assert abs(line.project(new) - corner.first_mm) < 0.01
                assert abs(line.distance(new) - corner.second_mm) < 0.01
                if "square into" in corner.text:
                    assert outlines.old_area.contains(new)
                if "square out" in corner.text:
                    assert not outlines.old_area.contains(new)
            else:
                assert abs(old.distance(new) - corner.first_mm) < 1e-9
                ends = [shapely.Point(outlines.old[n].coords[-1]) for n in names]
                assert min(abs(e.distance(new) - corner.second_mm) for e in ends) < 1e-9
        now = result.pattern.sized(piece.piece, result.record.size)
        corners = [shapely.Point(e.points[-1]) for e in now.edges]
        for point in piece.inside:
            spots = [d.tip for d in now.darts] + [d.point for d in now.drills]
            spots += [tuple(p) for line in now.lines for p in (line.points[0], line.points[-1])]
            legs = [shapely.Point(now.landmark(leg).point) for d in now.darts for leg in d.legs]
            far = [
                sorted(shapely.Point(spot).distance(c) for c in (*corners, *legs)) for spot in spots
            ]
            assert any(
                np.abs(np.array(f) - point.first_mm).min() < 1e-9
                and np.abs(np.array(f) - point.second_mm).min() < 1e-9
                for f in far
            )


@on_blends
def test_opening_ends_and_marks_along_the_new_edges(result: propagate.Result) -> None:
    """The ends of the opening, measured on the piece that fills the corner, not on the lead."""
    sheet, pattern, size = sheet_of(result), result.pattern, result.record.size
    told = {
        name: value for s in sheet.steps for said in s.sentences for name, value in said.measures
    }
    if "across_mm" in told:
        opening = next(iter(pattern.relations.openings.values()))
        assembly = pattern.relations.assemblies[opening.silhouette]
        for key, edge in (("across_mm", opening.across), ("side_mm", opening.side)):
            span = next(s for s in assembly.edges[edge] if s.piece != assembly.lead)
            part = pattern.sized(span.piece, size)
            line = shapely.LineString(part.edge(span.edge).points)
            inner = span.begin if span.begin not in ("start", "end") else span.end
            along = line.project(shapely.Point(part.landmark(inner).point))
            beyond = along if span.begin == "start" else line.length - along
            assert abs(beyond - told[key]) < 0.02
    for piece in sheet.pieces:
        now = pattern.sized(piece.piece, size)
        for mark in piece.marks:
            line = shapely.LineString(now.edge(mark.edge).points)
            along = line.project(shapely.Point(now.landmark(mark.name).point))
            end = re.search(rf"of {mark.edge} and ", mark.origin)
            wanted = line.length - along if end else along
            assert abs(wanted - mark.along_mm) < 0.01


def test_the_corner_beyond_the_opening() -> None:
    """Two straight distances from the old ends of the mouth, against the facing's own corner."""
    result = main_job("slant_trouser")
    step = next(s for s in sheet_of(result).steps if s.title == "Redraw Front")
    said = next(s for s in step.sentences if "beyond the opening" in s.text)
    facing = result.pattern.sized("facing", "42/48")
    front = result.pattern.sized("front", "42/48")
    put = [facing.landmark("mouth_top").point, facing.landmark("mouth_low").point]
    mouth = front.edge("mouth").points[[0, -1]]
    corner = complex(*facing.edge("waist").points[-1])
    a, b = (complex(*p) for p in put)
    c, d = (complex(*p) for p in mouth)
    laid = c + (corner - a) * (d - c) / (b - a)  # the similarity that lays landmark on landmark
    old = next(p for p in result.record.pieces if p.piece == "front").before["mouth"]
    measures = dict(said.measures)
    assert abs(abs(laid - complex(*old[0])) - measures["first_mm"]) < 0.01
    assert abs(abs(laid - complex(*old[-1])) - measures["second_mm"]) < 0.01
