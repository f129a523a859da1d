"""A set whose file says another unit than its DXF is drawn in."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import propagate
from propagate.demo import demo_path
from propagate.errors import InvalidSet


@pytest.mark.parametrize("unit", ["in", "cm"])
def test_the_line_that_says_the_unit_is_named(unit: str, tmp_path: Path) -> None:
    """The drawing is in millimetres: read as inches or centimetres it is 16 m or 7 m tall."""
    folder = tmp_path / "gilet"
    shutil.copytree(demo_path("workshop_gilet"), folder)
    file = folder / "set.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("[dxf]", f'[dxf]\nunit = "{unit}"', 1), encoding="utf-8")
    with pytest.raises(InvalidSet) as caught:
        propagate.load(folder)
    (line,) = caught.value.problems
    assert f'[dxf] unit = "{unit}"' in line
    assert "multiply" not in line  # the set's file is what is to be mended, not the drawing
