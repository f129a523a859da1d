"""However the same sheet is drawn, the same pieces come of it."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.io.drawn_lines import DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.sheet.read import read_sheet
from propagate.pattern.patternset import PatternSet
from tests.examples import examples
from tests.io.sheet.sheets import Drawing, mapped, sheet_of
from tests.shared import demo_in_few

WITHIN_MM = 0.05
NAMES = ("puddle_pinafore", "scoop_skirt", "workshop_gilet")


@cache
def plain(name: str) -> PatternSet:
    """What is read where every edge is one line, drawn once."""
    return read_sheet(sheet_of(demo_in_few(name), Drawing()).sheet, ReadOptions(), ReportNotes())


def turned(sheet: DrawnSheet, degrees: float, by: tuple[float, float]) -> DrawnSheet:
    """A sheet turned about its corner and moved."""
    a = math.radians(degrees)
    turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    lines = tuple(replace(x, chain=mapped(x.chain, turn, np.array(by))) for x in sheet.lines)
    texts = tuple(
        replace(t, at=tuple(turn @ t.at + by), angle=t.angle + degrees) for t in sheet.texts
    )
    return replace(sheet, lines=lines, texts=texts)


def assert_same(found: PatternSet, expected: PatternSet, back: np.ndarray, by: np.ndarray) -> None:
    """The same pieces with the same edges and marks, once they lie in the same place."""
    assert set(found.pieces) == set(expected.pieces)
    assert found.sizes == expected.sizes
    assert found.info == expected.info
    for name, piece in expected.pieces.items():
        for size, was in piece.nest.items():
            now = found.pieces[name].at(size)
            assert set(now.edge_names) == set(was.edge_names)
            for edge in was.edges:
                here = (now.edge(edge.name).points - by) @ back.T
                off = shapely.LineString(here).hausdorff_distance(shapely.LineString(edge.points))
                assert off <= WITHIN_MM, (name, size, edge.name)
            marks = np.array([m.point for m in now.landmarks]).reshape(-1, 2)
            for mark in was.landmarks:
                gaps = np.hypot(*((marks - by) @ back.T - mark.point).T)
                assert gaps.min() <= WITHIN_MM, (name, size, mark.name)
            assert len(now.landmarks) == len(was.landmarks)
            assert len(now.drills) == len(was.drills)
            assert len(now.lines) == len(was.lines)
            assert len(now.darts) == len(was.darts)


@examples(8)
@given(
    name=st.sampled_from(NAMES),
    by=st.sampled_from(["layer", "dash", "colour", "width"]),
    seed=st.integers(0, 10**6),
    doubled=st.floats(0.0, 0.6),
    hair=st.sampled_from([0.0, 0.01, 0.02]),
    frame=st.booleans(),
)
def test_split_doubled_shuffled_and_turned_round(
    name: str, by: str, seed: int, doubled: float, hair: float, frame: bool
) -> None:
    how = Drawing(by=by, seed=seed, doubled=doubled, hair=hair, frame=frame)
    sheet = sheet_of(demo_in_few(name), how).sheet
    found = read_sheet(sheet, ReadOptions(), ReportNotes())
    assert_same(found, plain(name), np.eye(2), np.zeros(2))


@examples(8)
@given(
    name=st.sampled_from(NAMES),
    degrees=st.floats(-40.0, 40.0),
    x=st.floats(-3000.0, 3000.0),
    y=st.floats(-3000.0, 3000.0),
)
def test_the_sheet_lies_in_any_way(name: str, degrees: float, x: float, y: float) -> None:
    sheet = turned(sheet_of(demo_in_few(name), Drawing()).sheet, degrees, (x, y))
    found = read_sheet(sheet, ReadOptions(), ReportNotes())
    a = math.radians(-degrees)
    back = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    assert_same(found, plain(name), back, np.array((x, y)))
