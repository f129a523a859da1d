"""Where a mark lies on a run of two pieces, counted by hand on straight edges."""

from __future__ import annotations

import numpy as np
import pytest

from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.pattern.relations import parse_run
from propagate.pattern.spans import distance_on_run


def strip(long: float, **marks: float) -> SizedPiece:
    """A strip whose edge 'side' runs upwards from the origin, with marks at heights."""
    at = np.array([[0.0, 0.0], [0.0, long], [-40.0, long], [-40.0, 0.0]])
    names = ("side", "top", "inner", "foot")
    edges = tuple(Edge(n, np.array([at[i], at[(i + 1) % 4]])) for i, n in enumerate(names))
    landmarks = tuple(Landmark(n, "side", (0.0, y), "notch") for n, y in marks.items())
    return SizedPiece(edges, Grain((-20.0, 1.0), (-20.0, long - 1.0)), landmarks)


@pytest.mark.parametrize(
    ("height", "expected"),
    [(150.0, 50.0), (60.0, 140.0), (50.0, 150.0), (49.0, 151.0), (10.0, 190.0)],
)
def test_a_mark_on_a_facing_below_the_opening_is_measured_under_the_front(
    height: float, expected: float
) -> None:
    """The run goes down the facing for 150 mm and then 400 mm down the front."""
    pieces = {
        "facing": strip(200.0, low=50.0, notch=height),
        "front": strip(400.0, own=390.0),
    }
    run = parse_run(["facing.side from end to low", "front.side reversed"])
    assert distance_on_run(pieces.__getitem__, run, "facing", "notch") == pytest.approx(expected)
    assert distance_on_run(pieces.__getitem__, run, "front", "own") == pytest.approx(160.0)
    # Written from the other end it lies as far from there.
    back = parse_run(["front.side", "facing.side from low to end"])
    found = distance_on_run(pieces.__getitem__, back, "facing", "notch")
    assert found == pytest.approx(550.0 - expected)


def test_a_mark_beyond_the_end_of_a_run_is_not_on_it() -> None:
    pieces = {"facing": strip(200.0, low=50.0, high=150.0, notch=180.0, deep=10.0)}
    alone = parse_run(["facing.side from high to low"])
    for mark in ("notch", "deep"):
        assert distance_on_run(pieces.__getitem__, alone, "facing", mark) is None
