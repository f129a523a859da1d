"""Texts on a crowded piece: what they are held against does not grow with the piece."""

from __future__ import annotations

import math

import numpy as np
import shapely

from propagate.report.scene.items import Role, Scene, areas_of, make_text
from propagate.report.scene.labels import MOST_TRIES, Labels


def notched(count: int) -> str:
    """An oval of 300 by 500 mm with notches all round it."""
    corner = [(200 + 150 * math.cos(k / 50), 300 + 250 * math.sin(k / 50)) for k in range(314)]
    lines = [f'<path id="front" d="M{" L".join(f"{x:.4f} {y:.4f}" for x, y in corner)}Z"/>']
    for k in range(count):
        turn = math.tau * (k + 0.3) / count
        x, y = 200 + 150 * math.cos(turn), 300 + 250 * math.sin(turn)
        lines.append(
            f'<path id="notch_{k}" d="M{x:.4f} {y:.4f}l{-5 * math.cos(turn):.4f} '
            f'{-5 * math.sin(turn):.4f}"/>'
        )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="700mm" '
        f'viewBox="0 0 500 700">{"".join(lines)}</svg>'
    )


def test_no_place_is_looked_for_without_end() -> None:
    """A drawing with thousands of marks takes no longer than one with hundreds."""
    face = areas_of(Role.FACE, shapely.box(0, 0, 50, 50))
    labels = Labels(Scene(tuple(face)))
    edge = np.array([[0.0, 0.0], [50.0, 0.0]])
    name = make_text((0.0, 0.0), "a name of some length", 4.0)
    found = [labels.along(edge, name) for _ in range(3000)]
    assert labels.tries <= MOST_TRIES
    assert found[0]
    assert not found[-1]
