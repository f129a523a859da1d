"""The swing of an opening as it is drawn, against the outlines of the set and of the result.

The drawn lines are read back by svgelements.  Where an opening lay is not taken from the result:
it is the line of the piece in the set, in the size of the opening, seen with its grain upwards,
and a chord that turns by an angle moves its end by twice its length times the sine of half of it.
"""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from svgelements import Path as Drawing

import propagate
from propagate.demo import MAIN_JOBS, demo_names
from propagate.pattern.model import SizedPiece
from propagate.report.page import report_page
from tests.page.reader import Node, tree
from tests.shared import blend_edit, demo

OPENED = [name for name in demo_names() if demo(name).relations.openings]
ROUNDED_MM = 0.06
"""What rounding to 0.01 mm and leaving out points within 0.05 mm may move a line."""


def upright(piece: SizedPiece, edge: str) -> np.ndarray:
    """An edge as complex numbers, the grain along the imaginary axis."""
    grain = complex(*(np.array(piece.grain.end) - np.array(piece.grain.start)))
    points = np.array(piece.edge(edge).points)
    return (points[:, 0] + 1j * points[:, 1]) * 1j * abs(grain) / grain


def read_line(step: Node, kind: str) -> np.ndarray:
    """The line of a kind in a drawing, y up, as complex numbers."""
    points = list(Drawing(step.one("path", class_=kind).told["d"]).as_points())
    return np.array([complex(p.x, -p.y) for p in points])


def turn(one: complex, other: complex) -> float:
    """From one direction to the other, degrees, anticlockwise."""
    return math.degrees(np.angle(other / one))


@pytest.mark.parametrize("way", ["as it is", "turned"])
@pytest.mark.parametrize("name", OPENED)
def test_the_swing_is_that_of_the_outlines(name: str, way: str) -> None:
    sizes = MAIN_JOBS[name]
    if way == "turned":
        sizes = dict(zip(sizes, reversed(sizes.values()), strict=True))
    pattern = demo(name)
    result = propagate.run(pattern, blend_edit(pattern, sizes))
    openings = list(tree(report_page(result)).every("div", class_="opening"))
    assert len(openings) == len(pattern.relations.openings)
    for opening, part in zip(pattern.relations.openings.values(), openings, strict=True):
        facts = [fact.text for fact in part.every("dd")]
        old = upright(pattern.sized(opening.piece, facts[0]), opening.edge)
        new = upright(result.pattern.sized(opening.piece, result.record.size), opening.edge)
        if opening.across_end == "end":
            old, new = old[::-1], new[::-1]
        swing = turn(old[-1] - old[0], new[-1] - new[0])
        moved = 2 * abs(old[-1] - old[0]) * abs(math.sin(math.radians(swing) / 2))

        step = list(part.one("ol", class_="steps").every("li"))[1]
        before, now = read_line(step, "before"), read_line(step, "seam")
        assert np.allclose(now[[0, -1]], new[[0, -1]], atol=ROUNDED_MM)
        assert abs(before[0] - now[0]) < ROUNDED_MM, "the pin"
        chords = [line[-1] - line[0] for line in (before, now)]
        assert turn(*chords) == pytest.approx(swing, abs=0.05)
        assert abs(before[-1] - now[-1]) == pytest.approx(moved, abs=2 * ROUNDED_MM)
        assert chords[0] == pytest.approx(old[-1] - old[0], abs=2 * ROUNDED_MM)

        way_said = "clockwise" if swing < 0 else "anticlockwise"
        assert f"by {abs(swing):.1f}° {way_said}, until" in step.text
        assert re.search(rf"that end moves by {moved:.1f} mm\.", step.text)
