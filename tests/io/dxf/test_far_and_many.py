"""What is done by trees and tables of ends against plain search, and damaged rule files."""

from __future__ import annotations

import contextlib
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError
from propagate.geometry.polyline import locate_all
from propagate.io.dxf.build import _notch_names
from propagate.io.dxf.frame import BrokenFrame, Entity, RawFile, parse_file
from propagate.io.dxf.outline import find_loops
from propagate.io.dxf.rules import RuleTable, parse_rules
from propagate.io.dxf.shapes import Line
from propagate.io.report import ReportNotes
from tests.examples import examples
from tests.io.dxf.hand import METRIC, insert, piece, style
from tests.io.dxf.test_rules import RULES

NONE = Entity("", 0, 0)


@pytest.mark.parametrize("count", [10, 2000])
def test_nearest_places_agree_with_shapely(count: int) -> None:
    """Few points take the table of all pairs, many the tree."""
    angle = np.linspace(0.0, 6.0, 700)
    line = np.column_stack([angle * 40.0 * np.cos(angle), angle * 40.0 * np.sin(angle)])
    targets = np.random.default_rng(7).uniform(-250.0, 250.0, (count, 2))
    along, gaps = locate_all(line, targets)
    drawn, places = shapely.LineString(line), shapely.points(targets)
    assert np.abs(gaps - shapely.distance(drawn, places)).max() < 1e-9
    assert np.abs(along - shapely.line_locate_point(drawn, places)).max() < 1e-6


@examples(40)
@given(st.randoms(use_true_random=False), st.integers(3, 60))
def test_lines_in_any_order_and_direction_close(rng: object, count: int) -> None:
    """Beside them are lines that lead nowhere; the area is that of the ring (shapely)."""
    angle = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
    ring = 100.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    sides = [np.array([ring[k], ring[(k + 1) % count]]) for k in range(count)]
    sides = [side[::-1] if rng.random() < 0.5 else side for side in sides]  # type: ignore[attr-defined]
    sides += [np.array([[500.0 + 10 * k, 0.0], [505.0 + 10 * k, 0.0]]) for k in range(5)]
    rng.shuffle(sides)  # type: ignore[attr-defined]
    loops, rest = find_loops([Line("1", side, False, NONE) for side in sides])
    assert len(loops) == 1 and len(rest) == 5
    assert loops[0].area == pytest.approx(shapely.Polygon(ring).area)


@examples(60)
@given(
    st.integers(0, len(RULES) - 1),
    st.integers(0, 40),
    st.sampled_from(
        ["", "nan", "1e999", "-", ",", "9" * 5000, "\n", "RULE: DELTA", "\x00", "é", "#"]
    ),
)
def test_damaged_rule_files_are_read_or_refused(at: int, cut: int, word: str) -> None:
    text = RULES[:at] + word + RULES[at + cut :]
    table: RuleTable | None = None
    with contextlib.suppress(FormatError):  # anything else fails
        table = parse_rules(text, "x.rul")
    if table is None:
        with pytest.raises(FormatError, match=r"x\.rul"):
            parse_rules(text, "x.rul")
    else:
        assert table.sample in table.sizes
        assert all(np.isfinite(rule).all() for rule in table.rules.values())


def lines_of(file: RawFile) -> list[str]:
    return [text for pair in zip(file.codes, file.values, strict=True) for text in pair]


@examples(60)
@given(st.integers(1, 400), st.integers(0, 3))
def test_a_file_is_read_alike_by_any_stretch(stretch: int, left_out: int) -> None:
    content = style([piece()], METRIC, insert("front-38"))
    lines = content.rstrip("\n").split("\n")
    lines = lines[: len(lines) - left_out]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("propagate.io.dxf.frame._STRETCH", stretch)
        try:
            found = lines_of(parse_file("\n".join(lines) + "\n", "a.dxf"))
        except BrokenFrame:
            assert left_out == 1  # EOF without its group code
            return
    kept = [line.strip() for line in lines]
    assert [text.strip() for text in found] in (kept, kept[:-1], kept[:-2])
    assert left_out or len(found) == len(lines)


def test_sizes_that_differ_alike_are_told_in_one_line() -> None:
    def draft(count: int) -> SimpleNamespace:
        notches = [SimpleNamespace(word="notch", edge=0, along=10.0 * k) for k in range(count)]
        return SimpleNamespace(notches=notches)

    counts = {"36": 3, "38": 2, "40": 3, "42": 3, "44": 1}
    notes = ReportNotes()
    drafts = {size: draft(count) for size, count in counts.items()}
    _notch_names(drafts, "38", notes, "piece 'front'")  # type: ignore[arg-type]
    assert [line.text.partition(" where")[0] for line in notes.lines] == [
        "piece 'front': sizes 36, 40, 42 have 3 notches",
        "piece 'front': size 44 has 1 notch",
    ]
