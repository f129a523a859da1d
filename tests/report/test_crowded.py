"""Texts on a crowded piece: what they are held against does not grow with the piece."""

from __future__ import annotations

import math

import numpy as np
import shapely

from propagate.report.labels import MOST_TRIES, Placer, box_at


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


def test_the_grid_finds_what_a_search_through_everything_finds() -> None:
    rng = np.random.default_rng(7)
    area = shapely.box(0, 0, 1000, 1000)
    lines = [rng.uniform(0, 1000, (2, 2)) for _ in range(20)]
    placer = Placer(area, area, lines)
    taken: list[shapely.Geometry] = [shapely.LineString(line) for line in lines]
    for _ in range(400):
        centre, angle = rng.uniform(-50, 1050, 2), float(rng.uniform(-90, 90))
        wide, high = rng.uniform(2, 300), rng.uniform(2, 40)
        box = box_at(centre, angle, wide, high)
        free = area.contains_properly(box) and not any(box.intersects(s) for s in taken)
        assert placer.fits(centre, angle, wide, high) == free
        if free:
            taken.append(box)
    assert len(taken) > 40


def test_no_place_is_looked_for_without_end() -> None:
    area = shapely.box(0, 0, 50, 50)
    placer = Placer(area, area)
    line = np.array([[0.0, 0.0], [50.0, 0.0]])
    found = [placer.along(line, "a name of some length", 4.0) for _ in range(3000)]
    assert placer.tries <= MOST_TRIES + 400
    assert found[0] is not None
    assert found[-1] is None
