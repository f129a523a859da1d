"""Curves drawn with few chords come back as they went, and their vertices are no corners."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Literal

import ezdxf
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.io.dxf import WriteOptions, read, write
from propagate.pattern.grain import Grain
from propagate.pattern.model import Array, Edge, InternalLine, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, PieceInfo
from tests.builders import tiny_set
from tests.examples import examples

SIZES = ("34", "36", "38", "40", "42")


@st.composite
def drawn_with_chords(draw: st.DrawFn) -> PatternSet:
    """A square-cornered piece whose right side is a coarse arc, out or in, in 2 to 5 sizes."""
    inward = draw(st.booleans())
    count = draw(st.integers(2, 4 if inward else 6))
    turns = draw(st.lists(st.floats(9.0, 20.0), min_size=count - 1, max_size=count - 1))
    bent = np.radians([0.0, *turns]).cumsum() * (-1.0 if inward else 1.0)
    angles = np.pi / 2 - bent[-1] / 2 + bent
    chords = np.array(draw(st.lists(st.floats(30.0, 80.0), min_size=count, max_size=count)))
    steps = chords[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    side = np.array([200.0, 0.0]) + np.vstack([np.zeros(2), steps.cumsum(axis=0)])
    sizes = SIZES[: draw(st.integers(2, 5))]
    seed = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    corner = draw(st.booleans()) and count > 2
    nest = {}
    for place, size in enumerate(sizes):
        own = side * (1.0 + 0.04 * place, 1.0 + 0.02 * place)
        own[1:-1] += seed.uniform(-0.5, 0.5, (count - 1, 2))
        nest[size] = piece_with_side(own, (count // 2,) if corner else ())
    allowance = Allowance(draw(st.sampled_from([0.0, 10.0])))
    return one_piece(nest, allowance, draw(st.sampled_from(sizes)))


def piece_with_side(side: Array, turns: tuple[int, ...]) -> SizedPiece:
    zero = np.zeros(2)
    top = np.array([0.0, side[-1, 1]])
    edges = (
        Edge("hem", np.array([zero, side[0]])),
        Edge("side", side, turns),
        Edge("top", np.array([side[-1], top])),
        Edge("centre", np.array([top, zero])),
    )
    return SizedPiece(edges, Grain((30.0, 10.0), (30.0, 40.0)))


def one_piece(nest: dict[str, SizedPiece], allowance: Allowance, base: str) -> PatternSet:
    return replace(
        tiny_set(),
        sizes=tuple(nest),
        base=base,
        pieces={"bag": Piece("bag", nest)},
        info={"bag": PieceInfo("Bag", allowance=allowance)},
        relations=Relations(),
        chart={},
    )


def corners_of(piece: SizedPiece, width: float) -> Array:
    """The corners of the seam line, and where its neighbours' parallels cross (closed form)."""
    corners = []
    for before, edge in zip((piece.edges[-1], *piece.edges[:-1]), piece.edges, strict=True):
        corners.append((before.points[-2], edge.points[0], edge.points[1]))
        corners += [tuple(edge.points[k - 1 : k + 2]) for k in edge.turns]
    found = [at for _, at, _ in corners]
    for low, at, high in corners if width else ():
        ahead = np.array([(at - low) / np.hypot(*(at - low)), (high - at) / np.hypot(*(high - at))])
        out = np.column_stack([ahead[:, 1], -ahead[:, 0]])
        found.append(at + width * out.sum(axis=0) / (1.0 + out[0] @ out[1]))
    return np.array(sorted(np.round(found, 6).tolist()))


def turn_points(path: Path, block: str) -> Array:
    """The points on layer 2 of a block, by ezdxf."""
    points = ezdxf.readfile(path).blocks[block].query("POINT[layer=='2']")
    return np.array(sorted([list(point.dxf.location)[:2] for point in points]))


def assert_comes_back(pattern: PatternSet, kind: Literal["nested", "rules"], path: Path) -> None:
    report = write(pattern, path, WriteOptions(kind=kind))
    assert path.with_suffix(".rul").exists() == (kind == "rules"), report.lines
    back, reading = read(path)
    assert not reading.of("warning"), [str(note) for note in reading.of("warning")]
    within = 0.0005 + 1e-9 if kind == "nested" else 0.001 + 1e-9
    for size in pattern.sizes:
        sent, found = pattern.sized("bag", size), back.sized("bag", size)
        assert sent.edge_names == found.edge_names
        for one, other in zip(sent.edges, found.edges, strict=True):
            assert one.points.shape == other.points.shape
            assert one.turns == other.turns
            assert np.abs(one.points - other.points).max() <= within


@examples(20)
@given(pattern=drawn_with_chords(), kind=st.sampled_from(["nested", "rules"]))
def test_edges_points_and_corners_come_back(
    pattern: PatternSet, kind: Literal["nested", "rules"]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "style.dxf"
        assert_comes_back(pattern, kind, path)
        width = pattern.info["bag"].allowance.default
        blocks = [b.name for b in ezdxf.readfile(path).blocks if b.name.lower().startswith("bag")]
        drawn = (pattern.base,) if kind == "rules" else pattern.sizes
        for block, size in zip(blocks, drawn, strict=True):
            expected = corners_of(pattern.sized("bag", size), width)
            found = turn_points(path, block)
            assert found.shape == expected.shape
            gaps = np.hypot(*(found[:, None] - expected[None]).transpose(2, 0, 1))
            assert gaps.min(axis=1).max() <= 0.001
            assert gaps.min(axis=0).max() <= 0.001


def arc(radius: float, chords: int) -> Array:
    """A quarter of a circle about (0, 0)."""
    angles = np.linspace(0.0, np.pi / 2, chords + 1)
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def quarter(radius: float, chords: int) -> SizedPiece:
    points = arc(radius, chords)
    edges = (
        Edge("rim", points),
        Edge("top", np.array([points[-1], [0.0, 0.0]])),
        Edge("hem", np.array([[0.0, 0.0], points[0]])),
    )
    return SizedPiece(edges, Grain((30.0, 20.0), (30.0, 80.0)))


@pytest.mark.parametrize("kind", ["nested", "rules"])
@pytest.mark.parametrize("width", [0.0, 10.0])
@pytest.mark.parametrize("off", [0.0, 0.02])
def test_an_inner_line_at_a_vertex_makes_no_corner_of_it(
    tmp_path: Path, kind: Literal["nested", "rules"], width: float, off: float
) -> None:
    """A line with a bend and an end at vertices of a coarse rim, or 0.02 mm beside them."""
    nest = {}
    for size, radius in (("36", 300.0), ("38", 320.0)):
        sized = quarter(radius, 6)
        rim = sized.edges[0].points
        line = np.array([[40.0, 40.0], rim[2] - off, [60.0, 20.0], rim[4] - off])
        nest[size] = replace(
            sized,
            lines=(InternalLine("line_1", line),),
            drills=(Mark("drill_1", (20.0, 20.0)),),
        )
    pattern = one_piece(nest, Allowance(width), "36")
    assert_comes_back(pattern, kind, tmp_path / "style.dxf")


def test_another_number_of_chords_in_a_size_is_no_grade_rule(tmp_path: Path) -> None:
    """Five chords of 18 degrees and ten of 9: each size keeps its own vertices."""
    nest = {"36": quarter(300.0, 10), "38": quarter(320.0, 5)}
    pattern = one_piece(nest, Allowance(0.0), "36")
    path = tmp_path / "style.dxf"
    report = write(pattern, path, WriteOptions(kind="rules"))
    assert report.nested == ("bag",)
    assert any("a curve drawn with few points" in note.text for note in report.lines)
    back, _ = read(path)
    for size, sized in nest.items():
        assert len(back.sized("bag", size).edges[0].points) == len(sized.edges[0].points)
