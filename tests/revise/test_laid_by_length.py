"""How a revised drawing is laid: by the length that agrees, and as it lies where that is equal.

The drawings lie in the set's own frame, so the truth is known: nothing was turned.
"""

from __future__ import annotations

import numpy as np
import pytest

from propagate.engine.revising.register import register
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, SizedPiece


def front(drop: float, turn: float = 0.0) -> SizedPiece:
    """A trouser front whose waist is lowered at the centre, with its mouth a straight slant."""
    side = np.array([[200.0, 0.0], [215.0, 400.0], [222.0, 620.0], [212.0, 760.0], [203.0, 832.0]])
    side[1:, 0] += 6.0 * np.sin(side[1:, 1] / 160.0)
    steps = np.linspace(0.0, 1.0, 60)
    side = np.column_stack([np.interp(steps, np.linspace(0, 1, 5), side[:, k]) for k in (0, 1)])
    moved = 1.0 - np.clip((832.0 - side[:, 1]) / 200.0, 0.0, 1.0)
    side = side - np.outer(moved**2, [0.0, 0.14 * drop])
    mouth_top = np.array([162.0, side[-1, 1] + 160.0])
    centre_top = np.array([22.0, 990.0 - drop])
    crotch = np.array([-52.0, 782.0])
    centre = np.array([centre_top, [20.0, 850.0], [0.0, 800.0], crotch])
    corners = [
        ("hem", np.array([[10.0, 0.0], [200.0, 0.0]])),
        ("side", side),
        ("mouth", np.array([side[-1], mouth_top])),
        ("waist", np.array([mouth_top, centre_top])),
        ("centre", centre),
        ("inseam", np.array([crotch, [-20.0, 500.0], [10.0, 0.0]])),
    ]
    c, s = np.cos(turn), np.sin(turn)
    spin = np.array([[c, -s], [s, c]])
    edges = tuple(Edge(name, points @ spin.T) for name, points in corners)
    a, b = (np.array([[80.0, 200.0], [80.0, 700.0]]) @ spin.T).tolist()
    return SizedPiece(edges, Grain(tuple(a), tuple(b)))


@pytest.mark.parametrize("turn", [0.0, 0.7])
@pytest.mark.parametrize("drop", [2.0, 4.0, 6.0, 7.0, 8.0, 10.0, 15.0, 20.0, 30.0])
def test_a_lowered_waist_is_laid_by_hem_and_inseam(drop: float, turn: float) -> None:
    """Whether the mouth kept its length or not, most of the outline did not move."""
    found = register(front(0.0), front(drop, turn))
    says = dict(found.statuses)
    assert (says["hem"], says["inseam"]) == ("same", "same")
    assert says["mouth"] == "moved"
    for edge, truth in zip(found.piece.edges, front(drop).edges, strict=True):
        assert np.abs(edge.points[[0, -1]] - truth.points[[0, -1]]).max() < 0.01


def plain(top: float, bottom: float, start: int = 0) -> SizedPiece:
    """A rectangle between two heights."""
    at = np.array([[0.0, bottom], [300.0, bottom], [300.0, top], [0.0, top]])
    names = ("hem", "right", "waist", "left")
    edges = [Edge(n, np.array([at[i], at[(i + 1) % 4]])) for i, n in enumerate(names)]
    return SizedPiece(tuple(edges[start:] + edges[:start]), Grain((90.0, -90.0), (90.0, -10.0)))


@pytest.mark.parametrize("start", [0, 1, 2, 3])
@pytest.mark.parametrize("by", [-35.0, -8.0, -0.4, 0.4, 1.0, 8.0, 20.0, 120.0])
def test_a_rectangle_is_changed_where_it_was_drawn(by: float, start: int) -> None:
    """Lowered or raised at the hem, or at the top: the other edge lies where it lay."""
    old = plain(0.0, -200.0)
    for sent, kept, gone in (
        (plain(0.0, -200.0 - by, start), "waist", "hem"),
        (plain(by, -200.0, start), "hem", "waist"),
    ):
        found = register(old, sent)
        says = dict(found.statuses)
        assert says[kept] == "same"
        assert says[gone] == "moved"
        moved = found.piece.edge(gone).points - old.edge(gone).points
        assert np.abs(moved).max() == pytest.approx(abs(by), abs=1e-6)
