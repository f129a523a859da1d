"""What is no number where a coordinate or a delta belongs.

It is refused by name: left out, another line or a neighbour's rule would take its place
in one size.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from propagate.errors import FormatError
from propagate.io.dxf import read
from tests.io.dxf.hand import (
    METRIC,
    SQUARE,
    Xy,
    light,
    line,
    piece,
    point,
    points,
    polyline,
    save,
    style,
    text,
)

SEAM: tuple[Xy, ...] = ((10, 10), (290, 10), (290, 490), (10, 490))
GOOD = piece(polyline("14", SEAM) + points("2", SEAM))


def with_size(entities: str, **more: str) -> list[str]:
    return [GOOD, piece(entities, size="40", **more)]


@pytest.mark.parametrize("value", ["nan", "inf", "-Infinity", "1e308", "1.#QNAN"])
@pytest.mark.parametrize("draw", [polyline, light])
def test_a_seam_line_that_is_no_number_in_one_size_is_refused(
    value: str, draw: object, tmp_path: Path
) -> None:
    bad = [*SEAM[:2], (290, value), *SEAM[3:]]
    path = save(tmp_path / "s.dxf", style(with_size(draw("14", bad)), METRIC))  # type: ignore[operator]
    with pytest.raises(FormatError) as caught:
        read(path)
    said = str(caught.value)
    assert said.startswith("s.dxf, piece 'front', size 40: the seam line on layer 14, vertex 3:")
    assert f"found '{value}' for its y, expected a number" in said


def test_a_cut_line_that_is_no_number_is_not_told_as_a_missing_size(tmp_path: Path) -> None:
    bad = polyline("1", [(0, 0), ("nan", 0), *SQUARE[2:]])  # type: ignore[list-item]
    path = save(tmp_path / "s.dxf", style(with_size(polyline("14", SEAM), boundary=bad), METRIC))
    with pytest.raises(FormatError, match=r"size 40: the boundary on layer 1, vertex 2: .*its x"):
        read(path)


@pytest.mark.parametrize(
    ("entity", "what"),
    [
        (point("4", (10, "nan")), "a notch on layer 4: found 'nan' for its y"),  # type: ignore[arg-type]
        (line("6", (0, 0), ("inf", 500)), "the mirror line on layer 6, vertex 2: found 'inf'"),  # type: ignore[arg-type]
        (text("1", (0, "nan"), "# 2"), "a rule number on layer 1: found 'nan' for its y"),  # type: ignore[arg-type]
        (
            polyline("1", SQUARE, bulges=(0, "nan", 0, 0)),  # type: ignore[arg-type]
            "the boundary on layer 1, vertex 2: found 'nan' for its bulge",
        ),
    ],
    ids=["notch", "fold", "rule number", "arc"],
)
def test_whatever_a_piece_is_made_of_is_refused_by_name(
    entity: str, what: str, tmp_path: Path
) -> None:
    path = save(tmp_path / "s.dxf", style(with_size(entity), METRIC))
    with pytest.raises(FormatError, match=re.escape(f"piece 'front', size 40: {what}")):
        read(path)


def test_what_is_no_part_of_a_piece_is_still_kept(tmp_path: Path) -> None:
    odd = point("99", ("nan", 0)) + text("15", ("nan", 0), "see above")  # type: ignore[arg-type]
    pattern, report = read(save(tmp_path / "s.dxf", style([piece(odd)], METRIC)))
    assert list(pattern.pieces) == ["front"]
    assert sum("kept as it is" in str(note) for note in report.of("warning")) >= 2


TABLE = "UNITS: METRIC\nSIZE LIST: 36 38 40\nSAMPLE SIZE: 38\nRULE: DELTA 7\n{}\nEND\n"


@pytest.mark.parametrize(
    "value", ["nan", "NaN", "-inf", "Infinity", "1.#INF", "-nan(ind)", "1e400"]
)
@pytest.mark.parametrize(
    ("place", "size", "axis"), [(0, "36", "x"), (3, "38", "y"), (5, "40", "y")]
)
def test_a_delta_that_is_no_number_is_refused(
    value: str, place: int, size: str, axis: str, tmp_path: Path
) -> None:
    numbers = ["-1.0", "2.0", "0.0", "0.0", "1.0", "-2.0"]
    numbers[place] = value
    body = "  ".join(f"{x}, {y}" for x, y in zip(numbers[0::2], numbers[1::2], strict=True))
    save(tmp_path / "s.rul", TABLE.format(body))
    path = save(tmp_path / "s.dxf", style([piece(text("2", (0, 0), "# 7"))], METRIC))
    wanted = f"s.rul: rule 7, size {size}: found '{value}' for its {axis}, expected a finite number"
    with pytest.raises(FormatError, match=re.escape(wanted)):
        read(path)
