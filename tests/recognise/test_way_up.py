"""Pieces that are turned in the drawing: what is said of their names, and that they stay."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, SizedPiece
from propagate.recognise.edge_names import turn_upright
from propagate.recognise.way_up import way_up
from tests.io.dxf import hand

RING = np.array([(0.0, 0.0), (240.0, 0.0), (200.0, 600.0), (0.0, 600.0)])
"""A skirt's half: its hem, at the bottom, is 240 mm and its waist 200 mm long."""


def turned(degrees: float, points: np.ndarray) -> np.ndarray:
    angle = np.radians(degrees)
    matrix = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return np.asarray(points @ matrix)


def block(name: str, degrees: float, outline: np.ndarray, decimals: int) -> str:
    def drawn(points: np.ndarray) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in np.round(turned(degrees, points), decimals)]

    ring, grain = drawn(outline), drawn(np.array([(80.0, 100.0), (80.0, 400.0)]))
    return hand.block(
        name,
        hand.words(f"Piece Name: {name}", "Size: 38", "Quantity: 1,1"),
        hand.polyline("1", ring),
        hand.points("2", ring),
        hand.line("7", *grain),
    )


def begun(
    folder: Path, *pieces: tuple[str, float], ring: np.ndarray = RING, decimals: int = 3
) -> tuple[str, propagate.PatternSet]:
    inserts = "".join(hand.insert(name) for name, _ in pieces)
    blocks = [block(*piece, ring, decimals) for piece in pieces]
    file = hand.save(folder / "style.dxf", hand.style(blocks, hand.METRIC, inserts))
    result = CliRunner().invoke(
        app.cli, ["begin", str(file), "-o", str(folder / "set"), "--replace"]
    )
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split()), propagate.load(folder / "set")


def test_a_piece_on_its_head_is_told(tmp_path: Path) -> None:
    said, pattern = begun(tmp_path, ("front", 0.0), ("back", 180.0), ("lining", 0.0))
    # Measured: what is called the top of the back is its hem.
    assert pattern.sized("front", "38").edge("top").length == pytest.approx(200.0, abs=0.01)
    assert pattern.sized("back", "38").edge("top").length == pytest.approx(240.0, abs=0.01)
    assert "are named by the drawing's way up" in said
    assert (
        "the grain of 'back' is drawn from end to end downwards, that of 'front', 'lining' "
        "upwards: if it stands on the head, 'top' and 'hem' are swapped"
    ) in said


def test_pieces_that_all_stand_alike_are_not_in_doubt(tmp_path: Path) -> None:
    for degrees in (0.0, 180.0):
        said, _ = begun(tmp_path, ("front", degrees), ("back", degrees))
        assert "are named by the drawing's way up" in said
        assert "from end to end" not in said


def test_a_grain_across_the_drawing_is_told(tmp_path: Path) -> None:
    said, pattern = begun(tmp_path, ("front", 0.0), ("back", 90.0))
    assert (
        "the grain of 'back' lies across the drawing: of 'top' and 'hem' the one to the right"
        in said
    )
    top = pattern.sized("back", "38").edge("top").points
    assert top[:, 0].min() > pattern.sized("back", "38").outline[:, 0].mean()


def test_nothing_is_said_where_no_name_depends_on_it() -> None:
    edges = tuple(
        Edge(f"edge_{k + 1}", np.array([RING[k], RING[(k + 1) % 4]], dtype=float)) for k in range(4)
    )
    piece = SizedPiece(edges, Grain((0.0, 0.0), (0.0, 9.0)))
    assert way_up({"front": piece}) == ("", ())
    named = replace(piece, edges=(replace(edges[0], name="hem"), *edges[1:]))
    assert way_up({"front": named})[0]


@pytest.mark.parametrize("degrees", [0.0, 37.0, 90.0, 180.0, 270.0])
def test_names_survive_reading_again(tmp_path: Path, degrees: float) -> None:
    """The piece comes back edited a little, drawn from another corner, and rounded."""
    change = np.array([(0, 0), (3, 0), (1, -2), (0, 0)])
    edited = np.roll(RING + change, 1, axis=0)
    _, first = begun(tmp_path, ("front", degrees))
    _, second = begun(tmp_path, ("front", degrees), ring=edited, decimals=2)
    for edge in first.sized("front", "38").edges:
        other = second.sized("front", "38").edge(edge.name)
        assert np.abs(other.points.mean(axis=0) - edge.points.mean(axis=0)).max() < 5.0


@pytest.mark.parametrize("tilt", [0.0, 1e-5, -1e-5, 2e-3, -2e-3])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_rounding_does_not_turn_a_grain_across_the_page(tilt: float, way: float) -> None:
    assert turn_upright(np.array([way, tilt]))[0] > 0.99
