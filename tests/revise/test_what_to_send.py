"""A pocket's front and its layers are one line: what a refusal asks to be sent too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.engine.revise import revise
from propagate.errors import Conflict
from propagate.pattern.model import Edge, Piece, SizedPiece
from tests import builders


def raised(piece: SizedPiece, by: float) -> SizedPiece:
    """The waist moved up by so much; its neighbours reach up to it."""
    names, n = piece.edge_names, len(piece.edges)
    points = [edge.points.copy() for edge in piece.edges]
    i = names.index("waist")
    points[i][:, 1] += by
    points[(i + 1) % n][0], points[i - 1][-1] = points[i][-1], points[i][0]
    edges = tuple(Edge(name, p) for name, p in zip(names, points, strict=True))
    marks = tuple(
        replace(m, point=(m.point[0], m.point[1] + by)) if m.edge == "waist" else m
        for m in piece.landmarks
    )
    return replace(piece, edges=edges, landmarks=marks)


def with_mouth(piece: SizedPiece, by: float) -> SizedPiece:
    """The facing with its lower opening mark farther down the side."""
    line = shapely.LineString(piece.edge("side").points)
    mark = piece.landmark("mouth_low")
    here = line.interpolate(line.project(shapely.Point(mark.point)) - by)
    marks = tuple(replace(m, point=(here.x, here.y)) if m is mark else m for m in piece.landmarks)
    return replace(piece, landmarks=marks)


def apart(piece: SizedPiece) -> float:
    ends = [piece.landmark(name).point for name in ("mouth_low", "mouth_top")]
    return float(np.hypot(*np.subtract(*ends)))


@pytest.mark.parametrize("by", [5.0, 20.0])
def test_front_and_back_raised_without_the_facing_ask_for_the_facing(by: float) -> None:
    pattern = builders.pocket_set()
    sent = {
        name: Piece(name, {size: raised(pattern.sized(name, size), by) for size in pattern.sizes})
        for name in ("front", "back")
    }
    with pytest.raises(Conflict, match="'facing', which carries the rest of that line") as refused:
        revise(pattern, sent)
    assert "send 'facing' too" in str(refused.value)


def test_sides_without_a_part_beyond_an_opening_ask_for_nothing_more() -> None:
    pattern = builders.tiny_set()
    base = pattern.base
    sent = {
        "front": Piece("front", {base: raised(pattern.sized("front", base), 5.0)}),
        "back": Piece("back", {base: raised(pattern.sized("back", base), 12.0)}),
    }
    with pytest.raises(Conflict) as refused:
        revise(pattern, sent)
    assert "not sent" not in str(refused.value)


@pytest.mark.parametrize("by", [-12.0, 4.0, 12.0])
def test_a_facing_alone_with_another_mouth_asks_for_the_front(by: float) -> None:
    pattern = builders.pocket_set()
    old = pattern.sized("facing", pattern.base)
    drawn = with_mouth(old, by)
    with pytest.raises(Conflict, match="send 'front' with it") as refused:
        revise(pattern, {"facing": Piece("facing", {pattern.base: drawn})})
    said = f"{apart(drawn):.1f} mm apart, but 'front', which leads, has them {apart(old):.1f} mm"
    assert said in refused_in_base(drawn)
    assert refused.value.distance_mm > 1.0


def refused_in_base(facing: SizedPiece) -> str:
    """What the set of the base size alone says."""
    pattern = builders.pocket_set()
    base = pattern.base
    pieces = {name: Piece(name, {base: piece.at(base)}) for name, piece in pattern.pieces.items()}
    alone = replace(pattern, sizes=(base,), pieces=pieces)
    with pytest.raises(Conflict) as refused:
        revise(alone, {"facing": Piece("facing", {base: facing})})
    return str(refused.value)
