"""The leg of a third size, where the knee is marked: blends agree with the drafts' own sets."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
import shapely.affinity

from propagate import Blend, blend
from propagate.engine.walk import walk
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import LegPlan
from propagate.report.asking_text import asked_of_blending
from propagate.suggesting.blending import Blending, find_blendings
from tests.shared import demo

AGREES_MM = 0.2
MOVES_MM = 2.0


def without_blend(real: PatternSet, *gone: str) -> PatternSet:
    """No levels, no blend, and no marks whose names begin so."""
    pieces = {}
    for name, piece in real.pieces.items():
        nest = {}
        for size, sized in piece.nest.items():
            kept = tuple(m for m in sized.landmarks if not (gone and m.name.startswith(gone)))
            nest[size] = replace(sized, levels={}, landmarks=kept)
        pieces[name] = Piece(name, nest)
    held = real.relations
    seams = {
        name: replace(
            one,
            notches=tuple(
                pair
                for pair in one.notches
                if not (gone and pair[0].rpartition(".")[2].startswith(gone))
            ),
        )
        for name, one in held.seams.items()
    }
    bare = replace(held, blend=None, seams=seams)
    return replace(real, pieces=pieces, relations=bare)


def found_of(pattern: PatternSet) -> Blending:
    return find_blendings(pattern)[0]


@pytest.mark.parametrize(
    ("name", "sizes"),
    [
        ("slant_trouser", ("42", "46", "40")),
        ("slant_trouser", ("44", "44", "48")),
    ],
)
def test_the_leg_is_that_of_the_drafts_own_set(name: str, sizes: tuple[str, str, str]) -> None:
    real = demo(name)
    bare = without_blend(real)
    way = found_of(bare)
    assert way.plan.leg == LegPlan("knee", "thigh", ("side", "inseam"))
    joined = way.put_on(bare)
    assert all(walk(joined, size).sews for size in joined.sizes)
    asked = Blend(dict(zip(("waist", "hip", "knee"), sizes, strict=True)))
    own, got = (blend(one, asked).pattern for one in (real, joined))
    plain = blend(joined, Blend({"waist": sizes[0], "hip": sizes[1]})).pattern
    for piece in ("front", "back"):
        rings = [
            shapely.LinearRing(one.sized(piece, one.base).outline) for one in (own, got, plain)
        ]
        middles = [ring.centroid for ring in rings[:2]]
        moved = shapely.affinity.translate(
            rings[1], middles[0].x - middles[1].x, middles[0].y - middles[1].y
        )
        assert shapely.hausdorff_distance(rings[0], moved) < AGREES_MM, piece
        assert shapely.hausdorff_distance(rings[1], rings[2]) > MOVES_MM


def test_the_question_says_the_knee() -> None:
    bare = without_blend(demo("slant_trouser"))
    told = dict(asked_of_blending(bare, found_of(bare)).sides)
    assert told["knee"].endswith("below it a third size may give the leg")


def test_without_a_mark_at_the_knee_there_is_no_leg() -> None:
    bare = without_blend(demo("slant_trouser"), "knee")
    way = found_of(bare)
    assert way.plan.leg is None and way.knee == {}
    assert "knee" not in dict(asked_of_blending(bare, way).sides)


def test_a_skirt_has_no_leg() -> None:
    way = found_of(without_blend(demo("lined_skirt")))
    assert way.plan.leg is None


def test_levels_are_written_as_a_person_would() -> None:
    """A point has the decimals of the drawing, six at most, and no tail as of a sum."""
    levels = found_of(without_blend(demo("slant_trouser"))).levels
    points = [point for on in levels.values() for sized in on.values() for point in sized.values()]
    assert points
    assert all(len(repr(x).partition(".")[2]) <= 6 for point in points for x in point)
