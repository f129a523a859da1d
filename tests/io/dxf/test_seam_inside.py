"""The seam line inside a cut line, against shapely's own offset with mitred corners."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.geometry.parallel import seam_inside
from propagate.io.dxf import ReadOptions, WriteOptions, read, write
from tests.examples import examples
from tests.io.dxf.hand import METRIC, line, piece, save, style

Array = npt.NDArray[np.float64]


def skirt(bulge: float, step: float, dip: float) -> tuple[Array, list[int]]:
    """A half skirt, 250 x 600 mm: its waist is hollow, its side round above the hip."""
    side_at = np.linspace(0.0, 1.0, max(3, int(200 / step)))
    side = np.column_stack(
        [240.0 - 40.0 * side_at + bulge * np.sin(np.pi * side_at), 400.0 + 200.0 * side_at]
    )
    waist_at = np.linspace(0.0, 1.0, max(3, int(200 / step)))
    waist = np.column_stack([200.0 - 200.0 * waist_at, 600.0 - dip * np.sin(np.pi / 2 * waist_at)])
    points = np.vstack([[[0.0, 0.0], [240.0, 0.0]], side, waist[1:]])
    return points, [0, 1, 1 + len(side), len(points) - 1]


@examples(60)
@given(
    bulge=st.floats(-4.0, 6.0),
    step=st.floats(1.5, 40.0),
    dip=st.floats(0.0, 25.0),
    width=st.floats(1.0, 25.0),
)
def test_it_is_the_offset_that_shapely_finds(
    bulge: float, step: float, dip: float, width: float
) -> None:
    cut, corners = skirt(bulge, step, dip)
    seam, became = seam_inside(cut, width)
    mine = shapely.Polygon(seam)
    wanted = shapely.Polygon(cut).buffer(-width, join_style="mitre", mitre_limit=50.0)
    assert mine.is_valid
    assert mine.symmetric_difference(wanted).area < 1e-3 * wanted.length
    # The corners are still corners, each `width` inside both of its edges.
    for corner in corners:
        point = shapely.Point(seam[became[corner]])
        assert shapely.Polygon(cut).exterior.distance(point) == pytest.approx(width, abs=0.01)
    assert len({became[corner] for corner in corners}) == len(corners)


def test_a_chord_shorter_than_the_allowance_does_not_run_backwards() -> None:
    """7 mm chords beside a right angle, 10 mm inside: the first of them is swallowed."""
    cut = np.array(
        [[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [93.0, 100.0], [86.0, 100.0], [0.0, 100.0]]
    )
    seam, became = seam_inside(cut, 10.0)
    assert seam[became[2]].tolist() == pytest.approx([90.0, 90.0])
    assert shapely.Polygon(seam).area == pytest.approx(80.0 * 80.0)
    assert became[3] == became[2]


def test_an_edge_on_the_fold_stays() -> None:
    cut = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    seam, _ = seam_inside(cut, 10.0, [3, 0])
    assert sorted(map(tuple, seam.round(9).tolist())) == [
        (0.0, 10.0), (0.0, 90.0), (90.0, 10.0), (90.0, 90.0),
    ]  # fmt: skip


@pytest.mark.parametrize("ends", [((10, 0), (10, 500)), ((10, 490), (10, 10))])
def test_a_fold_inside_the_cut_line_is_kept(
    ends: tuple[tuple[float, float], tuple[float, float]], tmp_path: Path
) -> None:
    """300 x 500 mm, cut 10 mm outside on every side, the fold included: by plain arithmetic."""
    path = save(tmp_path / "s.dxf", style([piece(line("6", *ends))], METRIC))
    pattern, report = read(path, ReadOptions(dxf={"boundary": "cut", "allowance": "10 mm"}))
    found, info = pattern.sized("front", "38"), pattern.info["front"]
    assert info.fold is not None
    assert sorted(map(tuple, found.edge(info.fold).points.tolist())) == [
        (10.0, 10.0),
        (10.0, 490.0),
    ]
    assert info.allowance.default == 10.0
    assert not info.allowance.edges
    assert any("10 mm inside the cut line" in note.text for note in report.lines)
    # What is written has the mirror line where it was, as ezdxf reads it.
    write(pattern, tmp_path / "out.dxf", WriteOptions(kind="nested"))
    document = ezdxf.readfile(tmp_path / "out.dxf")
    block = next(b for b in document.blocks if not b.name.startswith(("*", "$")))
    mirrors = [item for item in block if item.dxf.layer == "6"]
    assert [
        sorted((round(p.x, 6), round(p.y, 6)) for p in (m.dxf.start, m.dxf.end)) for m in mirrors
    ] == [[(10.0, 10.0), (10.0, 490.0)]]


def test_a_half_that_cannot_be_unfolded_is_told(tmp_path: Path) -> None:
    path = save(tmp_path / "s.dxf", style([piece(line("6", (10, 0), (10, 500)))], METRIC))
    options = ReadOptions(dxf={"boundary": "cut", "allowance": "10 mm", "mirror": "unfold"})
    pattern, report = read(path, options)
    assert pattern.info["front"].fold is not None
    assert any("was not unfolded" in note.text for note in report.of("warning"))


def test_a_mirror_line_elsewhere_is_no_fold(tmp_path: Path) -> None:
    path = save(tmp_path / "s.dxf", style([piece(line("6", (12, 0), (12, 500)))], METRIC))
    pattern, report = read(path, ReadOptions(dxf={"boundary": "cut", "allowance": "10 mm"}))
    assert pattern.info["front"].fold is None
    assert any("taken as whole" in note.text for note in report.of("warning"))
