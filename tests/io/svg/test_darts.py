"""Darts in vector drawings: the outline runs around them, or two notches and a small circle."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from propagate.pattern.relations import Span
from propagate.pattern.spans import span_length
from propagate.pattern.validate import find_problems
from tests.io.svg.drawings import only, read_text, svg

AROUND = [(0, 0), (138, 0), (150, 110), (162, 0), (240, 0), (265, 400), (0, 400)]
"""As drawn, y down: a skirt back whose waist at the top has a dart of 24 mm, 110 mm deep."""
GRAIN = '<line id="grain" x1="60" y1="350" x2="60" y2="100"/>'


def polygon(points: list[tuple[int, int]]) -> str:
    return '<polygon points="' + " ".join(f"{x},{y}" for x, y in points) + '"/>'


def test_a_dart_in_the_outline_lies_on_one_edge(tmp_path: Path) -> None:
    body = f'<g id="back">{polygon(AROUND)}{GRAIN}</g>'
    pattern, report = read_text(tmp_path, svg(body))
    piece = only(pattern)
    assert set(piece.edge_names) == {"top", "side", "hem", "centre"}
    (dart,) = piece.darts
    assert dart.edge == "top"
    assert dart.tip == pytest.approx((150.0, -110.0))
    assert span_length(piece, Span("back", "top")) == pytest.approx(240.0 - 24.0)
    drawn = shapely.Polygon(AROUND).area
    assert shapely.Polygon(piece.outline).area == pytest.approx(drawn + 24.0 * 110.0 / 2)
    assert not find_problems(pattern)
    leg = np.hypot(12.0, 110.0)
    (said,) = [line.text for line in report.of("assumed") if "dart" in line.text]
    assert f"legs of {leg:.1f} and {leg:.1f} mm" in said
    assert "mouth of 24.0 mm" in said


def test_notches_and_a_mark_are_a_dart(tmp_path: Path) -> None:
    plain = [point for point in AROUND if point[0] not in (138, 150, 162)]
    marks = '<path d="M138 0 V-5"/><path d="M162 0 V-5"/><circle cx="150" cy="100" r="1.5"/>'
    body = f'<g id="back">{polygon(plain)}{marks}{GRAIN}</g>'
    pattern, report = read_text(tmp_path, svg(body))
    piece = only(pattern)
    (dart,) = piece.darts
    assert dart.tip == pytest.approx((150.0, -100.0))
    assert span_length(piece, Span("back", dart.edge)) == pytest.approx(240.0 - 24.0)
    assert not find_problems(pattern)
    assert any("24.0 mm apart" in line.text for line in report.of("assumed"))


def test_edges_that_have_names_stay_and_the_dart_is_told(tmp_path: Path) -> None:
    names = ["waist_a", "leg_a", "leg_b", "waist_b", "flank", "lower", "middle"]
    ring = [*AROUND, AROUND[0]]
    lines = "".join(
        f'<line id="{name}" x1="{a[0]}" y1="{a[1]}" x2="{b[0]}" y2="{b[1]}"/>'
        for name, a, b in zip(names, ring, ring[1:], strict=False)
    )
    pattern, report = read_text(tmp_path, svg(f'<g id="back">{lines}{GRAIN}</g>'))
    assert set(only(pattern).edge_names) == set(names)
    assert not only(pattern).darts
    (said,) = [line.text for line in report.of("warning") if "dart" in line.text]
    assert "the drawing has names for the edges there" in said
