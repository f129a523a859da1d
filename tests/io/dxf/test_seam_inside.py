"""The seam line inside a cut line: where its fold lies, by plain arithmetic."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest

from propagate.engine.finish import allowances
from propagate.io.dxf import ReadOptions, WriteOptions, read, write
from tests.io.dxf.hand import METRIC, line, piece, save, style


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
    assert set(allowances(found, info).values()) == {10.0}
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
