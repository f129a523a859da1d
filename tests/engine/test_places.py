"""Pieces that are taken in the size of their place, and sewn besides.

A strip as long as an edge of the front, and as wide as its size says, so that every stretch
of it tells from which size it came: by closed form 30, 40 or 50 mm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.pattern.grain import Grain
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, PieceInfo, Place, Seam, Zone, parse_run
from tests import builders

WIDTH = {"36": 30.0, "38": 40.0, "40": 50.0}
PAIRS = [("36", "40"), ("40", "36")]


def strip(long: float, wide: float) -> SizedPiece:
    corners = [(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)]
    names = ("sewn", "end", "far", "begin")
    edges = (
        builders.edge(n, a, b)
        for n, a, b in zip(names, corners, np.roll(corners, -1, 0), strict=True)
    )
    mark = Landmark("middle", "sewn", (long / 2, 0.0), "notch")
    return SizedPiece(tuple(edges), Grain((0.0, 5.0), (long, 5.0)), landmarks=(mark,))


def garment(edge: str, names: tuple[str, str] = ("strip", "guard")) -> PatternSet:
    """The small skirt, a strip along an edge of the front, and a guard along the strip."""
    plain, (first, second) = builders.tiny_set(), names
    nest = {
        size: strip(plain.sized("front", size).edge(edge).length, WIDTH[size])
        for size in builders.SIZES
    }
    seams = {
        **plain.relations.seams,
        "along": Seam("along", parse_run(f"front.{edge}"), parse_run(f"{first}.sewn")),
        "guarded": Seam("guarded", parse_run(f"{first}.far"), parse_run(f"{second}.sewn")),
    }
    return replace(
        plain,
        pieces={**plain.pieces, **{name: Piece(name, nest) for name in names}},
        info={**plain.info, **{name: PieceInfo(name, cut=1) for name in names}},
        relations=replace(plain.relations, seams=seams, places={first: Place(first, "waist")}),
    )


def blend(pattern: PatternSet, upper: str, lower: str) -> propagate.Result:
    return propagate.blend(pattern, propagate.Blend({"waist": upper, "hip": lower}))


def new_piece(result: propagate.Result, name: str) -> SizedPiece:
    return result.pattern.sized(name, result.record.size)


def ruled(piece: SizedPiece, edge: str) -> float:
    """Length of an edge by a library that shares nothing with the engine."""
    return float(shapely.LineString(piece.edge(edge).points).length)


@pytest.mark.parametrize(("upper", "lower"), PAIRS)
@pytest.mark.parametrize("edge", ["side", "hem", "waist"])
def test_a_placed_piece_is_matched_in_the_size_of_its_place(
    edge: str, upper: str, lower: str
) -> None:
    result = blend(garment(edge), upper, lower)
    assert result.sews
    front, placed, guard = (new_piece(result, name) for name in ("front", "strip", "guard"))
    assert ruled(placed, "sewn") == pytest.approx(ruled(front, edge), abs=0.05)
    assert ruled(guard, "sewn") == pytest.approx(ruled(placed, "far"), abs=0.05)
    assert {ruled(placed, name) for name in ("begin", "end")} == {WIDTH[upper]}
    assert {ruled(guard, name) for name in ("begin", "end")} == {WIDTH[lower]}
    told = {change.piece: (change.size, change.also) for change in result.record.pieces}
    assert told["strip"] == (upper, ())
    for change in result.record.chain("strip.sewn") or result.record.chain("strip.*"):
        assert change.cause is not None or change.id == "edit"


def test_a_placed_piece_that_fits_in_its_size_keeps_every_digit() -> None:
    pattern = garment("waist")
    result = blend(pattern, "36", "40")
    assert new_piece(result, "strip") == pattern.sized("strip", "36")


@pytest.mark.parametrize("names", [("a", "b"), ("y", "z"), ("z", "a")])
def test_the_answer_depends_on_no_name_and_no_order(names: tuple[str, str]) -> None:
    wanted = blend(garment("hem"), "36", "40")
    pattern = garment("hem", names)
    pattern = replace(
        pattern,
        relations=replace(pattern.relations, seams=dict(reversed(pattern.relations.seams.items()))),
    )
    found = blend(pattern, "36", "40")
    for was, now in zip(("strip", "guard"), names, strict=True):
        assert new_piece(found, now) == new_piece(wanted, was)


@pytest.mark.parametrize(("upper", "lower"), PAIRS)
def test_a_band_with_a_place_is_fitted_in_the_size_of_its_place(upper: str, lower: str) -> None:
    """It is placed at the hip, where it would be taken in the size of the top without."""
    pattern = garment("waist")
    zone = Zone("all", "start", "end", parse_run("front.waist"))
    relations = replace(
        pattern.relations,
        seams={"side_seam": pattern.relations.seams["side_seam"]},
        bands={"fit": Band("fit", "strip", "sewn", "far", (zone,))},
        places={"strip": Place("strip", "hip"), "guard": Place("guard", "waist")},
    )
    result = blend(replace(pattern, relations=relations), upper, lower)
    placed = new_piece(result, "strip")
    assert ruled(placed, "sewn") == pytest.approx(
        ruled(new_piece(result, "front"), "waist"), abs=0.05
    )
    assert ruled(placed, "end") == WIDTH[lower]
    told = {change.piece: change.size for change in result.record.pieces}
    assert told["strip"] == lower


def test_a_main_of_two_sizes_says_both() -> None:
    result = blend(builders.tiny_set(), "36", "40")
    told = {change.piece: (change.size, change.also) for change in result.record.pieces}
    assert told == {"front": ("40", ("36",)), "back": ("40", ("36",))}


def test_a_layer_tells_the_other_size_only_where_it_has_a_stretch_of_it() -> None:
    """Facing and bag have the size of the pocket and end above the hip: nothing of the other."""
    for pocket, size in (("upper", "36"), ("lower", "40")):
        edit = propagate.Blend({"waist": "36", "hip": "40"}, pocket=pocket)  # type: ignore[arg-type]
        result = propagate.blend(builders.pocket_set(), edit)
        told = {change.piece: (change.size, change.also) for change in result.record.pieces}
        other = () if size == "36" else ("36",)
        assert told["facing"] == told["top_bag"] == (size, other)


def test_a_place_of_a_piece_that_is_recut_is_not_used_and_said() -> None:
    pattern = builders.pocket_set()
    places = {**pattern.relations.places, "facing": Place("facing", "waist")}
    said = replace(pattern, relations=replace(pattern.relations, places=places))
    edit = propagate.Blend({"waist": "36", "hip": "40"}, pocket="lower")
    found, plain = propagate.blend(said, edit), propagate.blend(pattern, edit)
    assert new_piece(found, "facing") == new_piece(plain, "facing")
    assert any(
        w.where == "facing" and "its place was not used" in w.text for w in found.record.warnings
    )
    assert not any("its place was not used" in w.text for w in plain.record.warnings)


def in_three(piece: SizedPiece) -> SizedPiece:
    """The facing with its inner edge, a straight line, in three edges of one length."""
    first, last = piece.edge("inner").points[[0, -1]]
    cuts = [first + (last - first) * share for share in (0.0, 1 / 3, 2 / 3, 1.0)]
    names = ("inner_top", "middle", "inner_low")
    parts = (
        builders.edge(name, tuple(a), tuple(b))
        for name, a, b in zip(names, cuts[:-1], cuts[1:], strict=True)
    )
    return replace(piece, edges=(*(e for e in piece.edges if e.name != "inner"), *parts))


@pytest.mark.parametrize(("upper", "lower"), PAIRS)
def test_what_is_sewn_to_an_edge_of_a_layer_that_did_not_change_has_its_size(
    upper: str, lower: str
) -> None:
    """A stay along the middle of the facing, which is in the size of the pocket."""
    plain = builders.pocket_set()
    facing = {size: in_three(piece) for size, piece in plain.pieces["facing"].nest.items()}
    stay = {s: strip(p.edge("middle").length, WIDTH[s]) for s, p in facing.items()}
    pieces = {**plain.pieces, "facing": Piece("facing", facing), "stay": Piece("stay", stay)}
    sewn = Seam("stayed", parse_run("facing.middle"), parse_run("stay.sewn"))
    relations = replace(plain.relations, seams={**plain.relations.seams, "stayed": sewn})
    info = {**plain.info, "stay": PieceInfo("stay", cut=1)}
    pattern = replace(plain, pieces=pieces, info=info, relations=relations)
    result = blend(pattern, upper, lower)
    middle, found = new_piece(result, "facing"), new_piece(result, "stay")
    assert ruled(middle, "middle") == pytest.approx(facing[upper].edge("middle").length, abs=0.01)
    assert ruled(found, "sewn") == pytest.approx(ruled(middle, "middle"), abs=0.05)
    assert ruled(found, "end") == WIDTH[lower]
    assert result.record.chain("stay.sewn")[-1].id == "edit"
