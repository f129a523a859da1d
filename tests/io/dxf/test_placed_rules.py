"""A block with grade rules that is inserted moved, turned, mirrored or scaled keeps its rules.

What is written is read by ezdxf; rules are applied, and blocks placed, by plain arithmetic.
"""

from __future__ import annotations

import re
from pathlib import Path

import ezdxf
import numpy as np
import numpy.typing as npt
import pytest

from propagate.io.dxf import WriteOptions, read, write
from propagate.io.origin import source_of
from tests.io.dxf.hand import METRIC, block, insert, line, piece, points, polyline, save, style
from tests.io.dxf.test_rules import CORNERS, NUMBERS, OUTLINE, RULES
from tests.io.dxf.test_write_back import moved_top

Array = npt.NDArray[np.float64]
CASES = {
    "shifted": ({}, np.eye(2)),
    "turned": ({"_50": 90.0}, np.array([[0.0, -1.0], [1.0, 0.0]])),
    "mirrored": ({"_41": -1.0, "_42": 1.0}, np.diag([-1.0, 1.0])),
    "larger": ({"_41": 2.0, "_42": 2.0}, 2.0 * np.eye(2)),
    "uneven": ({"_41": 1.5, "_42": 0.5}, np.diag([1.5, 0.5])),
    "tilted": (
        {"_50": 30.0, "_41": 1.0, "_42": -1.0},
        np.array([[np.sqrt(0.75), 0.5], [0.5, -np.sqrt(0.75)]]),
    ),
}
SHIFT = np.array([37.0, -212.5])


def rules_of(path: Path) -> dict[str, Array]:
    found = {}
    for number, body in re.findall(r"RULE: DELTA (\d+)\n([^RE]+)", path.read_text("ascii")):
        found[number] = np.array([float(word) for word in re.findall(r"-?[\d.]+", body)])
    return {number: values.reshape(-1, 2) for number, values in found.items()}


def drawn_by_rules(folder: Path, matrix: Array) -> tuple[dict[str, Array], Array]:
    """Corners with rules in every size, where the drawing has them, and the block's own."""
    document = ezdxf.readfile(folder / "out.dxf")
    own = document.blocks["front-38"]
    (axis,) = (item for item in own.query("LINE") if item.dxf.layer == "5")
    ahead = np.array([axis.dxf.end.x - axis.dxf.start.x, axis.dxf.end.y - axis.dxf.start.y])
    x, y = ahead / np.hypot(*ahead)
    frame = np.array([[x, -y], [y, x]])
    rules = rules_of(folder / "out.rul")
    texts = [t for t in own.query("TEXT") if t.dxf.text.startswith("#") and t.dxf.layer == "2"]
    places = np.array([[t.dxf.insert.x, t.dxf.insert.y] for t in texts])
    moves = np.array([rules[t.dxf.text.lstrip("# ")] for t in texts])
    sizes = ("34", "36", "38", "40")
    return {
        size: (places + moves[:, index] @ frame.T) @ matrix.T + SHIFT
        for index, size in enumerate(sizes)
    }, places


@pytest.mark.parametrize("case", CASES)
def test_an_edited_piece_keeps_its_rules_wherever_it_is_inserted(case: str, tmp_path: Path) -> None:
    codes, matrix = CASES[case]
    own = piece(
        *NUMBERS,
        line("5", (50, 50), (150, 50)),
        line("7", (100, 100), (100, 300)),
        boundary=piece_outline(),
    )
    save(tmp_path / "in.rul", RULES)
    at = (float(SHIFT[0]), float(SHIFT[1]))
    path = save(tmp_path / "in.dxf", style([own], METRIC, insert("front-38", at, **codes)))
    pattern, _ = read(path)
    by_hand = {"34": (-20.0, -8.0), "38": (0.0, 0.0), "40": (10.0, 4.0)}
    for size, delta in by_hand.items():  # rule 3 at (300, 500)
        wanted = matrix @ (np.array([300.0, 500.0]) + delta) + SHIFT
        assert np.hypot(*(pattern.sized("front", size).outline - wanted).T).min() < 1e-6
    edited = moved_top(pattern, "front", 3.0)
    options = WriteOptions(kind="as read", validation="none")
    report = write(edited, tmp_path / "out.dxf", options, source=source_of(pattern))
    assert report.ruled == ("front",)
    assert not report.nested
    graded, places = drawn_by_rules(tmp_path, matrix)
    assert len(places) >= 4
    for size, corners in graded.items():
        truth = edited.sized("front", size).outline
        gaps = np.hypot(*(corners[:, None] - truth[None]).transpose(2, 0, 1)).min(axis=1)
        assert gaps.max() < 0.01
    again, _ = read(tmp_path / "out.dxf")
    for size in edited.sizes:
        a, b = again.sized("front", size).outline, edited.sized("front", size).outline
        assert np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1)).min(axis=1).max() < 0.01


def piece_outline() -> str:
    return polyline("1", OUTLINE) + points("2", CORNERS)


def test_deltas_of_a_block_inside_that_is_scaled_are_told(tmp_path: Path) -> None:
    inner = piece(*NUMBERS, boundary=piece_outline())
    outer = block("whole", insert("front-38", (0, 0), _41=2, _42=2))
    save(tmp_path / "s.rul", RULES)
    path = save(tmp_path / "s.dxf", style([inner, outer], METRIC, insert("whole")))
    _, report = read(path)
    assert any(
        "scaled or mirrored and has rule numbers" in note.text for note in report.of("warning")
    )
