"""Revisions of 0.1 to 2 mm, of any edge, are followed as large ones are.

A part of all that ``python -m tests.bench.tiny`` tries.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from propagate.engine.revise import revise
from propagate.engine.tape import tape
from propagate.pattern.model import Piece
from tests.examples import part_of
from tests.revise.tiny_edits import Tiny, drawn, every_edit, outcome_of, sets
from tests.shared import demo, demo_in_few

_EVERY = {
    "slant_trouser": 167,
    "scoop_skirt": 83,
    "workshop_gilet": 139,
    "garden_apron": 41,
    "lined_skirt": 101,
    "ferry_shirt": 139,
    "quay_jeans": 211,
    "concert_dress": 89,
    "market_bag": 113,
    "puddle_pinafore": 83,
}
"""Of all revisions of a set every so-maniest: a prime, so that edges, kinds and amounts mix.

Every third of them in the suite."""

FOLDED = [
    ("slant_trouser", Tiny("facing", "waist", "bump", 1.0)),
    ("slant_trouser", Tiny("facing", "waist", "parallel", 0.3)),
    ("slant_trouser", Tiny("facing", "lower", "across", 0.3)),
    ("scoop_skirt", Tiny("pocket_facing", "inner", "along", 0.3)),
    ("scoop_skirt", Tiny("pocket_facing", "top", "parallel", 1.0)),
]
"""The facing, sent alone, misses the mouth by a little; its corner led back over the front's."""


@pytest.mark.parametrize("name", sets())
def test_a_tiny_revision_of_any_edge_is_followed(name: str) -> None:
    pattern = demo_in_few(name)
    chosen = part_of(list(every_edit(pattern))[:: _EVERY[name]], 3)
    found = [outcome_of(pattern, edit) for edit in chosen]
    assert len(found) > 5
    assert [f"{one.edit}: {one.refused}" for one in found if one.refused] == []
    assert [f"{one.edit}: {one.faults}" for one in found if one.faults] == []


@pytest.mark.parametrize(("name", "edit"), FOLDED, ids=str)
def test_a_facing_that_misses_its_mouth_by_a_little_makes_no_fold(name: str, edit: Tiny) -> None:
    outcome = outcome_of(demo_in_few(name), edit)
    assert outcome.refused == ""
    assert outcome.faults == ()


@pytest.mark.parametrize(("name", "edit"), FOLDED, ids=str)
def test_parts_that_miss_their_joint_are_taped_without_a_way_back(name: str, edit: Tiny) -> None:
    """Every chord of a taped edge goes on by less than a right angle from the one before."""
    pattern = demo(name)
    nest = {size: drawn(one, edit) for size, one in pattern.pieces[edit.piece].nest.items()}
    pieces = {**pattern.pieces, edit.piece: Piece(edit.piece, nest)}
    sent = replace(pattern, pieces=pieces)
    (name,) = [
        owner
        for owner, assembly in pattern.relations.assemblies.items()
        if edit.piece in {part.piece for part in assembly.parts}
    ]
    for size in pattern.sizes:
        for edge in tape(sent, name, size).edges:
            chords = np.diff(edge.points, axis=0)
            assert ((chords[1:] * chords[:-1]).sum(axis=1) > 0.0).all(), (size, edge.name)


@pytest.mark.parametrize(
    ("name", "edit"),
    [
        ("slant_trouser", Tiny("front", "side", "bump", 0.3)),
        ("slant_trouser", Tiny("front", "waist", "across", -1.0)),
        ("scoop_skirt", Tiny("skirt_front", "flank", "parallel", 0.3)),
        ("workshop_gilet", Tiny("upper_front", "shoulder", "bump", -0.3)),
    ],
    ids=str,
)
def test_the_old_piece_sent_again_brings_the_set_back(name: str, edit: Tiny) -> None:
    """Seams are matched within 0.05 mm, once on the way there and once on the way back."""
    pattern = demo_in_few(name)
    old = pattern.pieces[edit.piece]
    there = revise(
        pattern, {edit.piece: Piece(edit.piece, {pattern.base: drawn(old.at(pattern.base), edit)})}
    )
    back = revise(there.pattern, {edit.piece: old}).pattern
    for piece in pattern.pieces:
        for size in pattern.sizes:
            for was, now in zip(
                pattern.sized(piece, size).edges, back.sized(piece, size).edges, strict=True
            ):
                off = shapely.hausdorff_distance(
                    shapely.LineString(was.points), shapely.LineString(now.points)
                )
                assert off <= 0.1 + 0.05, (piece, size, was.name)
