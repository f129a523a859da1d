"""Measures against shapely: widest places, offsets, kept parts, corners, openings, marks."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely
from shapely.ops import substring

import propagate
from propagate.report.units import INCHES, MILLIMETRES
from tests.worksheet.conftest import (
    on_blends,
    on_half_of_the_blends,
    outlines_of,
    sheet_of,
)
from tests.worksheet.rebuild import spot

PENCIL_MM, KEPT_MM = 0.21, 0.1
"""What is not drawn, and how close the old line lies to the new one where it stays."""


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
        if work.added is not None:
            places = shapely.points(shapely.get_coordinates(shapely.segmentize(new, 0.5)))
            gaps = shapely.distance(places, outlines.old_area)
            assert abs(gaps.max() - work.added.mm) <= 0.05
            near = places[gaps >= gaps.max() - 0.05]
            assert min(abs(old.project(p) - work.added.along_mm) for p in near) <= 0.5


@on_half_of_the_blends
def test_rows_lie_on_the_new_line(result: propagate.Result) -> None:
    for unit in (MILLIMETRES, INCHES):
        for work in sheet_of(result, unit).edges:
            outlines = outlines_of(result, work.piece)
            total, new = outlines.old[work.edge].length, outlines.new[work.edge]
            from_end = work.offsets_from == work.letters[1]
            for row in work.offsets:
                along = total - row.along_mm if from_end else row.along_mm
                point = shapely.Point(spot(outlines.old[work.edge], along, row.out_mm))
                # What is finer than a pencil line is printed as nothing.
                loose = 0.01 if row.out_mm else PENCIL_MM
                assert point.distance(new) < loose
                if row.at == "corner":
                    corner = min(point.distance(shapely.Point(new.coords[i])) for i in (0, -1))
                    assert corner < loose + 0.06
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
                assert gaps_to(old, kept, new).max() <= KEPT_MM + 1e-4
                if beyond[1] - beyond[0] > 0.5 and start + work.kept_end_mm < total - 0.5:
                    assert gaps_to(old, beyond, new).max() > KEPT_MM - 1e-4


@on_blends
def test_inner_points(result: propagate.Result) -> None:
    for piece in sheet_of(result).pieces:
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
            # Corners have the first letters, each edge starts in its own.
            index = now.edge_names.index(mark.edge)
            start = mark.origin == "ABCDEFGHJKLMNPQRSTUVWXYZ"[index]
            assert abs((along if start else line.length - along) - mark.along_mm) < 0.01
