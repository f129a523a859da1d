"""A chain of a hundred followers costs what its length does: counted, not timed."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.effort import calls_of

CORNERS = {"hem": ((0, 0), (120, 0)), "right": ((120, 0), (100, 600))}
CORNERS |= {"top": ((100, 600), (20, 600)), "left": ((20, 600), (0, 0))}


def gore(**moved: tuple[tuple[float, float], tuple[float, float]]) -> SizedPiece:
    lines = {name: np.array(ends, dtype=float) for name, ends in {**CORNERS, **moved}.items()}
    edges = tuple(Edge(name, points) for name, points in lines.items())
    return SizedPiece(edges=edges, grain=Grain((60.0, 100.0), (60.0, 500.0)))


def gored_skirt(count: int) -> PatternSet:
    """Gores, each of which leads the next one."""
    names = [f"gore_{i:03d}" for i in range(count)]
    seams = {
        f"seam_{i:03d}": Seam(
            f"seam_{i:03d}", parse_run(f"{first}.right"), parse_run(f"{second}.left reversed")
        )
        for i, (first, second) in enumerate(pairwise(names))
    }
    return PatternSet(
        name="gores",
        sizes=("M",),
        base="M",
        lay_on="",
        pieces={name: Piece(name, {"M": gore()}) for name in names},
        info={name: PieceInfo(title=name, cut=1, fabric="cloth") for name in names},
        relations=Relations(seams=seams),
    )


def revised(pattern: PatternSet) -> Revised:
    low = (118.0, -12.0)
    first = gore(hem=((0, 0), low), right=(low, (100, 600)))
    return revise(pattern, {"gore_000": Piece("gore_000", {"M": first})})


@pytest.mark.parametrize("count", [10, 100])
def test_every_gore_of_the_chain_takes_the_length_of_the_one_before(count: int) -> None:
    found = revised(gored_skirt(count))
    assert found.sews and len(found.records["M"].pieces) == count
    last = found.pattern.sized(f"gore_{count - 1:03d}", "M").edge("left").length
    assert last == pytest.approx(float(np.hypot(18.0, 612.0)), abs=1e-5)


def test_ten_times_as_many_followers_cost_ten_times_as_much() -> None:
    """But for a little that sorting adds."""
    few, many = gored_skirt(10), gored_skirt(100)
    revised(replace(few, name="once"))  # what is loaded only once
    assert calls_of(lambda: revised(many)) < 12 * calls_of(lambda: revised(few))
