"""Marks drawn on the seam line, notches and drill marks, inside a cut line that is drawn alone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely

from propagate.io.begin import read_style
from propagate.io.dxf import WriteOptions, write
from propagate.io.options import ReadOptions
from propagate.io.report import ReadingReport
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import check_set
from tests.io.cut_drawings import own_cut_line
from tests.io.dxf.hand import METRIC, Xy, piece, points, polyline, save, style
from tests.io.test_cut_boundary import said_of
from tests.shared import demo

WISHES = ReadOptions(boundary="cut", allowances=("10mm", "hem=40mm"))
"""Of a cut line of 300 x 500: the seam line runs from (10, 40) to (290, 490)."""
CORNERS: tuple[Xy, ...] = ((10, 40), (290, 40), (290, 490), (10, 490))


def read(
    folder: Path, *marks: str, wishes: ReadOptions = WISHES
) -> tuple[PatternSet, ReadingReport]:
    return read_style([save(folder / "s.dxf", style([piece(*marks)], METRIC))], wishes)


@pytest.mark.parametrize(
    ("at", "edge"),
    [
        ((150, 40), "hem"),
        ((15, 40), "hem"),  # nearer to the cut line of the side than to its own
        ((283, 40), "hem"),
        ((10, 200), "left"),
        ((290, 45), "right"),
        ((100, 490), "top"),
        ((12.5, 490), "top"),
        ((200, 0), "hem"),  # on the cut line, as notches are
        ((0, 300), "left"),
    ],
)
def test_a_notch_on_the_seam_line_stays_there_on_its_edge(
    at: Xy, edge: str, tmp_path: Path
) -> None:
    pattern, report = read(tmp_path, points("4", [at]))
    (mark,) = pattern.sized("front", "38").landmarks
    inside = (max(10, at[0]), {0: 40}.get(at[1], at[1]))  # type: ignore[call-overload]
    assert mark.edge == edge
    assert mark.point == pytest.approx(inside, abs=1e-9)
    told = [line.text for line in report.lines if "on the seam line inside" in line.text]
    assert len(told) == (min(at) > 0)
    assert not [line for line in report.of("warning") if "notch" in line.text]


@pytest.mark.parametrize(
    ("at", "place", "edge", "gap"),
    [
        ((5, 200), (10, 200), "left", "5.0"),
        ((20, 43), (20, 40), "hem", "43.0"),  # 3 mm off the hem's seam line, 10 off the side's
        ((20, 300), (10, 300), "left", "20.0"),
    ],
)
def test_a_notch_on_neither_line_is_told(
    at: Xy, place: Xy, edge: str, gap: str, tmp_path: Path
) -> None:
    pattern, report = read(tmp_path, points("4", [at]))
    (mark,) = pattern.sized("front", "38").landmarks
    assert mark.edge == edge
    assert mark.point == pytest.approx(place)
    (line,) = [line for line in report.of("warning") if "notch" in line.text]
    assert f"'notch_1' lies {gap} mm inside the cut line in size 38" in line.text


def test_drill_marks_at_the_corners_of_the_seam_line_are_kept(tmp_path: Path) -> None:
    pattern, report = read(tmp_path, points("13", [*CORNERS, (150, 300)]))
    sized = pattern.sized("front", "38")
    assert [mark.point for mark in sized.drills] == [*CORNERS, (150, 300)]
    assert any(line.text.startswith("4 drill marks at corners") for line in report.lines)
    check_set(pattern)


def test_drill_marks_beside_the_corners_tell_of_another_allowance(tmp_path: Path) -> None:
    wishes = ReadOptions(boundary="cut", allowances=("10mm", "hem=39mm"))
    _, report = read(tmp_path, points("13", CORNERS), wishes=wishes)
    beside = [line.text for line in report.of("warning") if "beside a corner" in line.text]
    assert len(beside) == 2
    assert all("1.00 mm beside a corner of the seam line" in text for text in beside)


def draw_marks(pattern: PatternSet, folder: Path) -> Path:
    """Cut lines alone, by ezdxf; notches on the seam line, drill marks at its turn points."""
    write(pattern, folder / "whole.dxf", WriteOptions(kind="nested", names=False, notches="seam"))
    document = ezdxf.readfile(folder / "whole.dxf")
    for block in document.blocks:
        turns = [tuple(item.dxf.location) for item in block if item.dxf.layer == "2"]
        for seam in [item for item in block if item.dxf.layer == "14"]:
            own = np.array([tuple(vertex.dxf.location) for vertex in seam.vertices])
            for turn in turns:
                if np.hypot(*(own - turn).T[:2]).min() <= 1e-3:
                    block.add_point(turn, dxfattribs={"layer": "13"})
        for item in [item for item in block if item.dxf.layer in ("14", "84", "87")]:
            block.delete_entity(item)
    document.saveas(folder / "marks.dxf")
    return folder / "marks.dxf"


def nearest(own: Sequence[Xy], wanted: Sequence[Xy]) -> float:
    gaps = np.array(own)[:, None] - np.array(wanted)[None]
    return float(np.hypot(*gaps.transpose(2, 0, 1)).min(axis=0).max())


def test_all_marks_of_a_draft_are_where_it_has_them(tmp_path: Path) -> None:
    draft = demo("scoop_skirt")
    file = draw_marks(draft, tmp_path)
    drawn, _ = read_style([file])
    wishes = ReadOptions(boundary="cut", allowances=said_of(draft, drawn))
    found, report = read_style([file], wishes)
    check_set(found)
    assert not [
        line for line in report.of("warning") if "notch" in line.text or "drill" in line.text
    ]
    for name in draft.pieces:
        for size in draft.sizes:
            old, new = draft.sized(name, size), found.sized(name, size)
            cut = own_cut_line(draft, name, size).points
            shift = drawn.sized(name, size).outline.min(axis=0) - cut.min(axis=0)
            marks = [tuple(np.array(mark.point) - shift) for mark in new.landmarks]
            wanted = [mark.point for mark in old.landmarks if mark.kind == "notch"]
            if wanted:
                assert nearest(marks, wanted) <= 0.005, (name, size)  # as near to its line
            corners = [tuple(edge.points[0] + shift) for edge in old.edges]
            assert nearest([mark.point for mark in new.drills], corners) <= 0.0015, (name, size)


@pytest.mark.parametrize("peak", [3.0, 8.0])
def test_the_legs_of_a_dart_are_the_corners_of_the_seam_line(peak: float, tmp_path: Path) -> None:
    """Its notches stand at the corners of the cut line, by shapely's mitred parallel."""
    legs = [(150.0, 400.0), (130.0, 400.0)]
    mouth = [legs[0], (140.0, 400.0 + peak), legs[1]]
    seam = shapely.Polygon([(0, 0), (250, 0), (250, 400), *mouth, (0, 400)])
    cut = shapely.get_coordinates(seam.buffer(10, join_style="mitre", mitre_limit=10).exterior)[:-1]
    ends = [tuple(cut[np.hypot(*(cut - leg).T).argmin()]) for leg in legs]
    drawn = piece(points("4", ends), points("13", [(140, 300)]), boundary=polyline("1", cut))
    pattern, _ = read_style(
        [save(tmp_path / "s.dxf", style([drawn], METRIC))],
        ReadOptions(boundary="cut", allowances=("10mm",)),
    )
    sized = pattern.sized("front", "38")
    (dart,) = sized.darts
    assert nearest([sized.landmark(leg).point for leg in dart.legs], legs) <= 1e-6
    assert dart.tip == (140, 300)
    assert len(sized.edges) == 4
    ring = shapely.LinearRing(sized.outline)
    assert ring.hausdorff_distance(seam.exterior) <= 1e-6
