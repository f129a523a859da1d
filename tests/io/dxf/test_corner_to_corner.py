"""Corners of the seam line by those of the cut line: rules and turn points that stand beside.

The truth is a skirt front drafted here in every size; its cut line is offset edge by edge
with numpy, as the meeting points of the shifted lines.  Where senders put rule texts is from
memory.
"""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.geometry.beside import answering_corners
from propagate.io.dxf import read
from propagate.io.report import ReadingReport
from propagate.pattern.patternset import PatternSet
from tests.examples import examples
from tests.io.dxf.hand import METRIC, Xy, line, piece, points, polyline, save, style, text

Array = npt.NDArray[np.float64]
SIZES = ("36", "38", "40")
BASE = "38"
WIDTHS = {"hem": 40.0, "side": 12.0, "waist": 8.0, "centre": 0.0}


def front(size: str) -> dict[str, Array]:
    """Edges of a skirt front, 220 x 600 mm in the base size, counter-clockwise."""
    step = SIZES.index(size) - SIZES.index(BASE)
    hip, low = 220.0 + 10 * step, 250.0 + 16 * step
    tall, waist = 600.0 + 6 * step, 190.0 + 9 * step
    at = np.linspace(0.0, 1.0, 9)
    side = np.column_stack([hip - (hip - waist) * at**2, 400.0 + (tall - 400.0) * at])
    top = np.column_stack([waist * (1 - at), tall - (14.0 + 2 * step) * np.sin(np.pi / 2 * at)])
    return {
        "hem": np.array([[0.0, 0.0], [low, 5.0]]),
        "side": np.vstack([[low, 5.0], side]),
        "waist": top,
        "centre": np.array([top[-1], [0.0, 0.0]]),
    }


def ring(edges: dict[str, Array]) -> Array:
    return np.concatenate([edge[:-1] for edge in edges.values()])


def corners_of(edges: dict[str, Array]) -> list[int]:
    return np.cumsum([0, *(len(edge) - 1 for edge in edges.values())])[:-1].tolist()


def cut_of(edges: dict[str, Array], widths: dict[str, float]) -> Array:
    """Every chord shifted outward by its edge's width; neighbours meet where they cross."""
    points = ring(edges)
    width = np.concatenate([np.full(len(edges[name]) - 1, widths[name]) for name in edges])
    ahead = np.roll(points, -1, axis=0) - points
    out = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / np.hypot(*ahead.T)[:, None]
    reach = (out * points).sum(axis=1) + width
    return np.array(
        [
            np.linalg.solve(np.array([out[i - 1], out[i]]), [reach[i - 1], reach[i]])
            for i in range(len(points))
        ]
    )


def xy(points: Array) -> list[Xy]:
    return [(float(x), float(y)) for x, y in points]


def style_with_rules(
    folder: Path, seam_layer: str, *, numbered: tuple[int, ...] | None = None
) -> tuple[PatternSet, ReadingReport]:
    """Both lines with turn points; rules at every vertex of the cut line on layer 1.

    `numbered` are the vertices of the seam line that get a rule, None for all.
    """
    drawn = {size: front(size) for size in SIZES}
    seams = {size: ring(drawn[size]) for size in SIZES}
    cuts = {size: cut_of(drawn[size], WIDTHS) for size in SIZES}
    rules: list[Array] = []
    texts: list[str] = []

    def number(layer: str, lines: dict[str, Array], vertex: int) -> None:
        rules.append(np.array([lines[size][vertex] - lines[BASE][vertex] for size in SIZES]))
        texts.append(text(layer, xy(lines[BASE])[vertex], f"# {len(rules)}"))

    for vertex in range(len(cuts[BASE])):
        number("1", cuts, vertex)
    for vertex in range(len(seams[BASE])) if numbered is None else numbered:
        number(seam_layer, seams, vertex)
    starts = corners_of(drawn[BASE])
    block = piece(
        polyline("14", xy(seams[BASE])),
        points("2", xy(seams[BASE][starts])),
        line("5", (50, 50), (150, 50)),
        line("7", (50, 100), (50, 300)),
        *texts,
        boundary=polyline("1", xy(cuts[BASE])) + points("2", xy(cuts[BASE][starts])),
    )
    table = [f"UNITS: METRIC\nSIZE LIST: {' '.join(SIZES)}\nSAMPLE SIZE: {BASE}\n"]
    for index, moves in enumerate(rules):
        pairs_ = "  ".join(f"{x:.6f}, {y:.6f}" for x, y in moves)
        table.append(f"RULE: DELTA {index + 1}\n{pairs_}\n")
    save(folder / "s.rul", "".join(table) + "END\n")
    return read(save(folder / "s.dxf", style([block], METRIC)))


def worst(pattern: PatternSet) -> float:
    """Farthest that a vertex of the seam line lies from the truth in any size."""
    gaps = [0.0]
    for size in SIZES:
        found, truth = pattern.sized("front", size).outline, ring(front(size))
        start = int(np.hypot(*(found - truth[0]).T).argmin())
        gaps.append(float(np.hypot(*(np.roll(found, -start, axis=0) - truth).T).max()))
    return max(gaps)


@pytest.mark.parametrize("layer", ["1", "2", "14"])
def test_rule_texts_of_the_seam_line_count_on_the_boundary_s_layer_too(
    layer: str, tmp_path: Path
) -> None:
    pattern, report = style_with_rules(tmp_path, layer)
    assert worst(pattern) < 2e-6  # the table's decimals
    assert not any("without a rule number" in note.text for note in report.lines)


def test_corners_without_rules_move_as_the_corners_beside_in_order(tmp_path: Path) -> None:
    """By hand: each seam corner moves by the rule of its own corner on the cut line."""
    pattern, report = style_with_rules(tmp_path, "14", numbered=())
    base, edges = front(BASE), corners_of(front(BASE))
    for size in SIZES:
        by = cut_of(front(size), WIDTHS)[edges] - cut_of(base, WIDTHS)[edges]
        wanted = ring(base)[edges] + by
        found = np.array([edge.points[0] for edge in pattern.sized("front", size).edges])
        assert (
            np.hypot(*(found[:, None] - wanted[None]).transpose(2, 0, 1)).min(axis=1).max() < 1e-5
        )
    # what is left is how the corners' own angles change with the size
    assert worst(pattern) < 0.7
    said = next(note.text for note in report.of("warning") if "without a rule number" in note.text)
    assert said.startswith("s.dxf, piece 'front': 4 corners of the line on layer 14")
    (x, y), vertex = ring(base)[edges[1]], edges[1] + 1
    assert re.search(rf"\({x:.1f}, {y:.1f}\) as \([\d.]+, -?[\d.]+\), rule {vertex}\b", said)


def test_a_single_corner_without_a_rule_is_named(tmp_path: Path) -> None:
    edges = corners_of(front(BASE))
    count = len(ring(front(BASE)))
    numbered = tuple(vertex for vertex in range(count) if vertex != edges[2])
    pattern, report = style_with_rules(tmp_path, "2", numbered=numbered)
    assert worst(pattern) < 0.5
    said = [note.text for note in report.of("warning") if "without a rule number" in note.text]
    assert len(said) == 1
    assert said[0].startswith("s.dxf, piece 'front': 1 corner of")
    assert said[0].endswith(f"rule {edges[2] + 1}")


# ------------------------------------------------------------------------------ turn points


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize("start", [0, 5])
@pytest.mark.parametrize("flat", [0.05, 3.0])
def test_turn_points_on_the_cut_line_alone_give_the_seam_line_s_corners(
    start: int, flat: float, reverse: bool, tmp_path: Path
) -> None:
    """Also a corner that turns by 3 degrees at the most, which no angle would tell."""
    edges = front(BASE)
    side = edges.pop("side")
    knee = side[0] + (side[1] - side[0]) * 0.5 + [flat, 0.0]
    edges = {
        "hem": edges["hem"],
        "low": np.array([side[0], knee]),
        "side": np.vstack([knee, side[1:]]),
        "waist": edges["waist"],
        "centre": edges["centre"],
    }
    seam, cut, starts = ring(edges), cut_of(edges, {**WIDTHS, "low": 12.0}), corners_of(edges)

    def drawn(points_: Array) -> list[Xy]:
        turned = np.roll(points_, -start, axis=0)
        return xy(turned[::-1] if reverse else turned)

    block = piece(
        polyline("14", drawn(seam)),
        boundary=polyline("1", drawn(cut)) + points("2", xy(cut[starts])),
    )
    pattern, report = read(save(tmp_path / "s.dxf", style([block], METRIC)))
    found = {tuple(edge.points[0].round(6)) for edge in pattern.sized("front", BASE).edges}
    assert found == {tuple(at.round(6)) for at in seam[starts]}
    said = [note.text for note in report.lines if "stand on the cut line alone" in note.text]
    assert len(said) == 1
    assert "5 corners" in said[0]


def test_turn_points_of_its_own_come_first(tmp_path: Path) -> None:
    edges = front(BASE)
    seam, cut, starts = ring(edges), cut_of(edges, WIDTHS), corners_of(edges)
    block = piece(
        polyline("14", xy(seam)),
        points("2", xy(seam[starts[:3]])),
        boundary=polyline("1", xy(cut)) + points("2", xy(cut[starts])),
    )
    pattern, report = read(save(tmp_path / "s.dxf", style([block], METRIC)))
    assert len(pattern.sized("front", BASE).edges) == 3
    assert not any("cut line alone" in note.text for note in report.lines)


@examples(80)
@given(
    few=st.integers(1, 4),
    more=st.integers(0, 3),
    turn=st.integers(0, 6),
    seed=st.integers(0, 10_000),
    way=st.booleans(),
)
def test_corners_answer_in_order_at_the_least_cost(
    few: int, more: int, turn: int, seed: int, way: bool
) -> None:
    """Against every choice in order, one by one."""
    random = np.random.default_rng(seed)

    def loop(count: int) -> Array:
        angles = np.sort(random.uniform(0.0, 2 * np.pi, count + 3))
        return 20.0 * np.column_stack([np.cos(angles), np.sin(angles)])

    own, other = loop(few), np.roll(loop(few + more), turn, axis=0)
    a, b = list(range(few)), list(range(few + more))
    if not way:
        other = other[::-1]
    found = answering_corners(own, a, other, b)
    least = min(
        sum(float(((own[i] - other[j]) ** 2).sum()) for i, j in zip(a, chosen, strict=True))
        for some in itertools.combinations(b if way else b[::-1], few)
        for chosen in (some[k:] + some[:k] for k in range(few))
    )
    assert [i for i, _ in found] == a
    cost = sum(float(((own[i] - other[j]) ** 2).sum()) for i, j in found)
    assert cost == pytest.approx(least)
