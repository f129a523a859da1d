"""A top edge that is drawn as two edges of one piece is cut apart where its own size has it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.io import set_toml
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from tests.shared import demo

SPLIT = {
    '"waist/centre"': '"waist_centre/centre"',
    '["facing.waist", "back.waist"]': '["facing.waist", "back.waist_side"]',
    '["back.waist", "back.waist"]': '["back.waist_centre", "back.waist_centre"]',
    'run = ["back.waist"]': 'run = ["back.waist_side", "back.waist_centre"]',
    'run = ["back.waist reversed"]': (
        'run = ["back.waist_centre reversed", "back.waist_side reversed"]'
    ),
    '["back.waist"]]': '["back.waist_side", "back.waist_centre"]]',
    'silhouettes = ["full_front", "back"]': 'silhouettes = ["full_front", "full_back"]',
    '{ silhouette = "back"': '{ silhouette = "full_back"',
}
WHOLE = """
[[assembly]]
name = "full_back"
lead = "back"
parts = []
[assembly.edges]
"""


def in_two(piece: SizedPiece) -> SizedPiece:
    """The waist of a back as two edges: half way from the dart to the centre, at a vertex."""
    waist = piece.edge("waist")
    dart = max(piece.distance("waist", leg) for leg in piece.darts[0].legs)
    at = int(np.abs(waist.arc - (dart + waist.length) / 2).argmin())
    parts = (
        Edge("waist_side", waist.points[: at + 1], tuple(t for t in waist.turns if t < at)),
        Edge("waist_centre", waist.points[at:], tuple(t - at for t in waist.turns if t > at)),
    )
    edges = [e for edge in piece.edges for e in (parts if edge is waist else (edge,))]
    marks = tuple(
        replace(mark, edge="waist_side") if mark.edge == "waist" else mark
        for mark in piece.landmarks
    )
    darts = tuple(replace(dart, edge="waist_side") for dart in piece.darts)
    return replace(piece, edges=tuple(edges), landmarks=marks, darts=darts)


@pytest.fixture(scope="module")
def trousers() -> PatternSet:
    return demo("slant_trouser")


@pytest.fixture(scope="module")
def split(trousers: PatternSet) -> PatternSet:
    back = Piece("back", {size: in_two(p) for size, p in trousers.pieces["back"].nest.items()})
    text = (propagate.demo_path("slant_trouser") / "set.toml").read_text("utf-8")
    for old, new in SPLIT.items():
        assert old in text, old
        text = text.replace(old, new)
    names = back.at(trousers.base).edge_names
    rows = [n for n in names if n != "waist_centre"]
    lines = [
        'waist = ["back.waist_side", "back.waist_centre"]'
        if n == "waist_side"
        else f'{n} = ["back.{n}"]'
        for n in rows
    ]
    head = set_toml.parse_set(text + WHOLE + "\n".join(lines) + "\n", "set.toml")
    pieces = {**trousers.pieces, "back": back}
    made = replace(trousers, pieces=pieces, info=head.info, relations=head.relations)
    assert find_problems(made) == ()
    return made


@pytest.mark.parametrize(("upper", "lower"), [("42", "48"), ("50", "40")])
def test_the_parts_are_those_of_the_size_of_the_top(
    trousers: PatternSet, split: PatternSet, upper: str, lower: str
) -> None:
    edit = propagate.Blend({"waist": upper, "hip": lower})
    one, two = propagate.blend(trousers, edit), propagate.blend(split, edit)
    assert two.sews
    size = one.record.size
    whole, parts = one.pattern.sized("back", size), two.pattern.sized("back", size)
    joined = np.concatenate(
        [parts.edge("waist_side").points, parts.edge("waist_centre").points[1:]]
    )
    far = shapely.hausdorff_distance(
        shapely.LineString(whole.edge("waist").points), shapely.LineString(joined)
    )
    assert far <= 0.001
    # From the centre to the hold at the dart the waist is the upper size's, moved rigidly.
    wanted = split.sized("back", upper).edge("waist_centre").length
    assert parts.edge("waist_centre").length == pytest.approx(wanted, abs=0.001)
