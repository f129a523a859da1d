"""Pieces read of sheets whose outlines and notches are known, judged by shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from propagate.demo import demo_names
from propagate.errors import FormatError
from propagate.io.options import ReadOptions
from propagate.io.report import ReadingLine, ReportNotes
from propagate.io.sheet.read import read_sheet
from propagate.pattern.patternset import PatternSet
from tests.examples import part_of
from tests.io.sheet.sheets import Drawing, Drawn, sheet_of
from tests.shared import APRON, demo, demo_in_few

WITHIN_MM = 0.05
SETS = (*demo_names(), APRON)
WAYS = (
    Drawing(by="layer"),
    Drawing(by="layer", seed=3, frame=True),
    Drawing(by="dash", seed=5, doubled=0.4, frame=True),
    Drawing(by="colour", seed=7, doubled=0.4, hair=0.02),
    Drawing(by="width", whole=True, frame=True),
)


def read(drawn: Drawn, options: ReadOptions | None = None) -> tuple[PatternSet, list[ReadingLine]]:
    """The set, and what was told."""
    notes = ReportNotes()
    pattern = read_sheet(drawn.sheet, options or ReadOptions(), notes)
    return pattern, list(notes.lines)


def differences(pattern: PatternSet, drawn: Drawn) -> list[str]:
    """What is not as it was drawn: pieces, outlines within 0.05 mm, notches."""
    found = []
    by_title = {title: name for name, title in drawn.titles.items()}
    read_names = {by_title.get(pattern.info[name].title): name for name in pattern.pieces}
    for name, sizes in drawn.outlines.items():
        if name not in read_names:
            found.append(f"{name} is missing")
            continue
        for size, area in sizes.items():
            sized = pattern.pieces[read_names[name]].at(size)
            off = shapely.LinearRing(sized.outline).hausdorff_distance(area.exterior)
            if off > WITHIN_MM:
                found.append(f"{name} {size} is off by {off:.3f} mm")
            marks = np.array([m.point for m in sized.landmarks]).reshape(-1, 2)
            found += [
                f"{name} {size} lacks a notch at {notch}"
                for notch in drawn.notches[name][size]
                if not len(marks) or np.hypot(*(marks - notch).T).min() > WITHIN_MM
            ]
    found += [f"{name} is no piece" for title, name in read_names.items() if title is None]
    return found


@pytest.mark.parametrize(
    ("name", "how"),
    part_of([(name, how) for name in SETS for how in WAYS], 3),
    ids=lambda value: value if isinstance(value, str) else f"{value.by}-{value.seed}",
)
def test_outlines_and_notches_are_as_drawn(name: str, how: Drawing) -> None:
    pattern = demo_in_few(name)
    drawn = sheet_of(pattern, how)
    found, _ = read(drawn)
    assert found.sizes == pattern.sizes
    assert len(found.pieces) == len(pattern.pieces)
    assert differences(found, drawn) == []


def test_looks_without_a_legend_are_asked_for() -> None:
    drawn = sheet_of(demo("puddle_pinafore"), Drawing(by="dash", legend=False))
    with pytest.raises(FormatError, match=r"7 looks of line.*--sizes SIZE1,SIZE2") as error:
        read(drawn)
    assert "dashes 6-2" in str(error.value)
    sizes = demo("puddle_pinafore").sizes
    found, told = read(drawn, ReadOptions(sizes=sizes))
    assert differences(found, drawn) == []
    assert any("smallest outlines first" in line.text for line in told)


def test_what_is_no_piece_is_told() -> None:
    drawn = sheet_of(demo("puddle_pinafore"), Drawing(by="dash", frame=True))
    _, told = read(drawn)
    ignored = [line.text for line in told if line.kind == "ignored"]
    assert any("frame around pieces" in text for text in ignored)
    assert any("test square of 50.0 × 50.0 mm" in text for text in ignored)


@pytest.mark.parametrize("by", ["layer", "dash", "colour"])
def test_sizes_that_are_not_asked_for_are_left_out_and_told(by: str) -> None:
    drawn = sheet_of(demo("puddle_pinafore"), Drawing(by=by))
    wanted = demo("puddle_pinafore").sizes[1:3]
    found, told = read(drawn, ReadOptions(sizes=wanted))
    assert found.sizes == wanted
    assert len(found.pieces) == len(drawn.titles)
    whole, _ = read(drawn)
    for name, piece in found.pieces.items():
        for size in wanted:
            area = shapely.Polygon(piece.at(size).outline)
            other = shapely.Polygon(whole.pieces[name].at(size).outline)
            assert area.symmetric_difference(other).area < 1.0
    assert any("does not name are left out" in line.text for line in told)
