"""Labels of every picture lie on no line, mark or other label, by the metrics of a real font."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

import propagate
from propagate.demo import demo_names
from propagate.pattern.titles import name_title
from propagate.report.draw import numbered_picture
from propagate.report.scene.items import Role, Scene, Text, areas_of, make_line, make_text
from propagate.report.scene.labels import Labels
from propagate.report.scene.spots import Taken
from tests.report.label_check import collisions, drawn_in_scene, drawn_in_svg
from tests.shared import demo, main_job

SQUARE = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)])


@pytest.mark.parametrize("name", demo_names())
def test_no_label_of_a_result_lies_on_anything(name: str) -> None:
    result = main_job(name)
    for piece in result.pattern.pieces:
        drawn = drawn_in_svg(propagate.draw(result, piece))
        assert drawn.labels, piece
        assert collisions(drawn) == [], piece


@pytest.mark.parametrize("name", demo_names())
def test_every_edge_of_a_result_is_named_with_its_length(name: str) -> None:
    result = main_job(name)
    named = whole = 0
    for piece in result.pattern.pieces:
        said = [words for words, _ in drawn_in_svg(propagate.draw(result, piece)).labels]
        for edge in result.pattern.sized(piece, result.record.size).edges:
            whole += 1
            title = name_title(result.pattern, edge.name, piece)
            named += any(words.startswith(f"{title} {edge.length:.1f}") for words in said)
    assert named >= 0.97 * whole


@pytest.mark.parametrize("name", ["slant_trouser", "lined_skirt"])
def test_no_label_of_a_numbered_piece_or_of_a_nest_lies_on_anything(name: str) -> None:
    pattern = demo(name)
    for piece in pattern.pieces:
        assert collisions(drawn_in_svg(numbered_picture(pattern, piece))) == [], piece
        nest = drawn_in_svg(propagate.draw(pattern, piece))
        assert collisions(nest) == [], piece


def test_the_check_sees_a_text_on_a_line_and_on_a_text() -> None:
    crossed = Scene((make_line(Role.SEAM, [(0, 0), (50, 0)]), make_text((10, 0), "side", 4.0)))
    assert collisions(drawn_in_scene(crossed)) == ["'side' lies on seam"]
    twice = Scene((make_text((10, 5), "side", 4.0), make_text((12, 6), "hem", 4.0)))
    assert collisions(drawn_in_scene(twice)) == ["'side' lies on 'hem'"]
    clear = Scene((make_line(Role.SEAM, [(0, 0), (50, 0)]), make_text((10, 4), "side", 4.0)))
    assert collisions(drawn_in_scene(clear)) == []


def square_piece() -> Scene:
    ring = [make_line(Role.SEAM, SQUARE[[i, (i + 1) % 4]], str(i)) for i in range(4)]
    return Scene((*areas_of(Role.FACE, shapely.Polygon(SQUARE)), *ring))


def test_a_text_lies_inside_where_it_can_else_tied_from_outside() -> None:
    labels = Labels(square_piece())
    assert labels.along(SQUARE[:2], make_text((0, 0), "hem", 5.0))
    (inside,) = labels.items
    assert isinstance(inside, Text)
    assert shapely.Polygon(SQUARE).contains(shapely.Point(inside.at))
    # A text as wide as the piece has no room inside, and goes below it.
    assert labels.along(SQUARE[:2], make_text((0, 0), "a name that is far too long for it", 8.0))
    outside = labels.items[-1]
    assert isinstance(outside, Text)
    assert outside.at[1] < 0.0


def test_what_is_hatched_is_left_free_where_there_is_room_beside_it() -> None:
    hatched = shapely.box(0, 0, 100, 5)
    labels = Labels(square_piece() + Scene(tuple(areas_of(Role.TAPE_ON, hatched))))
    assert labels.along(SQUARE[:2], make_text((0, 0), "hem", 4.0))
    ((_, box),) = drawn_in_scene(labels.scene).labels
    assert not box.intersects(hatched)


def test_places_that_are_taken_are_those_that_a_search_through_everything_finds() -> None:
    rng = np.random.default_rng(7)
    taken = Taken()
    shapes = [shapely.LineString(rng.uniform(0, 1000, (2, 2))) for _ in range(20)]
    for shape in shapes:
        taken.add(shape)
    free = 0
    for _ in range(400):
        low = rng.uniform(-50, 1050, 2)
        wide, high = rng.uniform(2, 300), rng.uniform(2, 40)
        box = shapely.affinity.rotate(
            shapely.box(low[0], low[1], low[0] + wide, low[1] + high), float(rng.uniform(-90, 90))
        )
        hit = any(box.intersects(shape) for shape in shapes)
        assert taken.hit(box) == hit
        if not hit:
            shapes.append(box)
            taken.add(box)
            free += 1
    assert free > 40
