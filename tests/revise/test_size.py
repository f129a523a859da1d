"""A revised piece in another unit, or far away in part, is refused before it is sampled."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from propagate.engine.revise import revise
from propagate.engine.revising import ways
from propagate.engine.revising.usable import check_size
from propagate.errors import EditError
from propagate.geometry import densify, polyline
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.shared import demo

Array = npt.NDArray[np.float64]


@pytest.fixture(scope="module")
def trousers() -> PatternSet:
    return demo("slant_trouser")


@pytest.fixture
def sampled_points(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many points were sampled from lines, call by call."""
    counts: list[int] = []

    def counting(points: Array, count: int) -> Array:
        counts.append(count)
        return polyline.sample_line(points, count)

    monkeypatch.setattr(ways, "sample_line", counting)
    return counts


def moved(piece: SizedPiece, move: Callable[[Array], Array]) -> SizedPiece:
    def pair(point: tuple[float, float]) -> tuple[float, float]:
        x, y = move(np.array([point]))[0]
        return float(x), float(y)

    return replace(
        piece,
        edges=tuple(Edge(e.name, move(e.points), e.turns) for e in piece.edges),
        landmarks=tuple(replace(m, point=pair(m.point)) for m in piece.landmarks),
        drills=tuple(replace(m, point=pair(m.point)) for m in piece.drills),
        darts=(),
        lines=(),
        grain=Grain(pair(piece.grain.start), pair(piece.grain.end)),
    )


def refusal(pattern: PatternSet, name: str, piece: SizedPiece) -> str:
    with pytest.raises(EditError) as caught:
        revise(pattern, {name: Piece(name, {pattern.base: piece})})
    return str(caught.value)


UNITS = [
    (25.4, "millimetres that was read in inches (--unit mm)"),
    (10.0, "millimetres that was read in centimetres (--unit mm)"),
    (2.54, "centimetres that was read in inches (--unit cm)"),
    (96 / 25.4, "px that was read in millimetres (--unit px)"),
    (25.4 / 96, "millimetres that was read in px (--unit mm)"),
    (72 / 25.4, "pt that was read in millimetres (--unit pt)"),
    (100.0, "hundredths of a millimetre"),
    (1000.0, "thousandths of a millimetre"),
    (1 / 25.4, "inches that was read in millimetres (--unit in)"),
    (1 / 10, "centimetres that was read in millimetres (--unit cm)"),
    (1 / 2.54, "inches that was read in centimetres (--unit in)"),
]
"""1 in = 25.4 mm exactly (international yard and pound agreement of 1959)."""


@pytest.mark.parametrize(("factor", "words"), UNITS)
@pytest.mark.parametrize("name", ["front", "waistband", "belt_loop"])
def test_another_unit_is_named_and_nothing_is_sampled(
    trousers: PatternSet, sampled_points: list[int], name: str, factor: float, words: str
) -> None:
    """Turned, shifted, mirrored and revised by a little too."""
    angle = 0.7
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    piece = moved(trousers.sized(name, "42"), lambda p: factor * (p * [1.0, 1.05]) @ turn + 300.0)
    said = refusal(trousers, name, piece)
    assert words in said
    assert f"piece '{name}', size '42'" in said
    stated = re.search(r"drawing is (1/)?([\d.e+]+) times as large", said)
    assert stated is not None
    times = 1 / float(stated[2]) if stated[1] else float(stated[2])
    assert times == pytest.approx(factor, rel=0.06)
    assert sampled_points == []


@pytest.mark.parametrize("factor", [30_000.0, 100_000.0, 1e9, 1e-7])
def test_what_no_unit_explains_is_refused_by_its_size(
    trousers: PatternSet, sampled_points: list[int], factor: float
) -> None:
    piece = moved(trousers.sized("front", "42"), lambda p: p * factor)
    assert "as large as the piece in the set" in refusal(trousers, "front", piece)
    assert sampled_points == []


@pytest.mark.parametrize("far", [2e4, 1e9, 1e15, 1e300])
def test_one_point_far_away_is_named(
    trousers: PatternSet, sampled_points: list[int], far: float
) -> None:
    front = trousers.sized("front", "42")
    edges = list(front.edges)
    at = next(i for i, e in enumerate(edges) if e.name == "hem")
    corner = np.array([edges[at].points[0, 0], edges[at].points[0, 1] - far])
    for i, end in ((at - 1, -1), (at, 0)):
        points = edges[i].points.copy()
        points[end] = corner
        edges[i] = Edge(edges[i].name, points, edges[i].turns)
    said = refusal(trousers, "front", replace(front, edges=tuple(edges)))
    assert "'hem'" in said or f"'{edges[at - 1].name}'" in said
    assert "correct the drawing there" in said
    assert sampled_points == []


@pytest.mark.parametrize("far", [3e6, 1e10])
def test_a_drawing_far_from_its_origin_is_refused(trousers: PatternSet, far: float) -> None:
    piece = moved(trousers.sized("front", "42"), lambda p: p + np.array([far, -far]))
    said = refusal(trousers, "front", piece)
    assert "origin" in said


def test_a_mark_beyond_all_measure_is_named(trousers: PatternSet) -> None:
    front = trousers.sized("front", "42")
    wild = Landmark("notch_9", "side", (1e300, 0.0), "notch")
    said = refusal(trousers, "front", replace(front, landmarks=(*front.landmarks, wild)))
    assert "'notch_9'" in said


@pytest.mark.parametrize("times", [0.5, 0.8, 1.6, 2.0])
def test_a_large_revision_is_no_other_unit(trousers: PatternSet, times: float) -> None:
    """A piece half as long or twice, as trousers that become shorts."""
    loop = trousers.sized("fly_shield", "42")
    grain = loop.grain.direction
    centre = loop.outline.mean(axis=0)

    def longer(points: Array) -> Array:
        along = (points - centre) @ grain
        return points + np.outer((times - 1.0) * along, grain)

    check_size(loop, moved(loop, longer), "here")


def test_a_piece_with_all_its_vertices_on_one_edge_is_as_large_as_it_was(
    trousers: PatternSet,
) -> None:
    """How densely an edge is drawn says nothing of a size."""
    loop = trousers.sized("belt_loop", "42")
    first = loop.edges[0]
    share = np.linspace(0.0, 1.0, 500)[:, None]
    dense = Edge(first.name, first.points[0] + share * (first.points[-1] - first.points[0]))
    check_size(loop, replace(loop, edges=(dense, *loop.edges[1:])), "here")


def test_what_is_sampled_has_a_bound_of_its_own() -> None:
    line = np.array([[0.0, 0.0], [1e12, 0.0], [1e12, 5.0]])
    assert len(densify.densify_smoothly(line, 2.0)) <= densify.MOST_POINTS + 3
    edge = (Edge("a", line),)
    samples = ways._Samples(edge, edge)
    assert sum(map(len, samples.new)) <= ways.MOST_SAMPLES + 1
