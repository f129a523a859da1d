"""What is marked on a follower stays where it is when the follower is lengthened at its end.

The garment is that of `tests.engine.test_corners_that_follow`; lengths and places are judged
by shapely and plain distances.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.revise import revise
from propagate.pattern.model import Dart, Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import parse_run
from tests.engine.test_corners_that_follow import SIZES, bodice, garment, length, skirt
from tests.shared import demo


def at(piece: SizedPiece, edge: str, mm: float) -> tuple[float, float]:
    point = shapely.LineString(piece.edge(edge).points).interpolate(mm)
    return (point.x, point.y)


def marked(piece: SizedPiece, *marks: tuple[str, str, float]) -> SizedPiece:
    new = (Landmark(name, edge, at(piece, edge, mm), "notch") for name, edge, mm in marks)
    return replace(piece, landmarks=(*piece.landmarks, *new))


def with_dart(piece: SizedPiece) -> SizedPiece:
    """A skirt 20 mm wider at its waist, with that in a dart 100 mm long."""
    legs = tuple(
        Landmark(name, "waist", at(piece, "waist", mm), "dart leg")
        for name, mm in (("dart_1", 90.0), ("dart_2", 110.0))
    )
    x, y = at(piece, "waist", 100.0)
    dart = Dart("dart", "waist", ("dart_1", "dart_2"), (x, y - 100.0))
    return replace(piece, landmarks=(*piece.landmarks, *legs), darts=(dart,))


def changed(pattern: PatternSet, name: str, nest: dict[str, SizedPiece]) -> PatternSet:
    return replace(pattern, pieces={**pattern.pieces, name: Piece(name, nest)})


@pytest.mark.parametrize("follow", ["length", "shape"])
@pytest.mark.parametrize("by", [-14.0, 9.0])
def test_the_dart_of_a_follower_keeps_its_mouth_and_its_legs(by: float, follow: str) -> None:
    """A mouth that opens or closes changes the dart (common practice, no source)."""
    darted = {size: with_dart(skirt(200.0 + grow)) for size, grow in SIZES.items()}
    pattern = changed(garment(), "skirt_front", darted)
    drawn = bodice(SIZES["M"], {"waist": (by, 0.0)}, 22.0)
    found = revise(pattern, {"front": Piece("front", {"M": drawn})}, follow=follow)
    for size in SIZES:
        piece = found.pattern.sized("skirt_front", size)
        legs = [np.array(piece.landmark(name).point) for name in ("dart_1", "dart_2")]
        assert np.hypot(*(legs[1] - legs[0])) == pytest.approx(20.0, abs=0.05)
        sides = [float(np.hypot(*(leg - piece.darts[0].tip))) for leg in legs]
        assert sides[0] == pytest.approx(sides[1], abs=0.1)
        waist = length(piece, "waist") - 20.0
        assert waist == pytest.approx(length(found.pattern.sized("front", size), "waist"), abs=0.05)


@pytest.mark.parametrize("paired", [False, True])
def test_a_notch_that_met_its_mate_meets_it_when_the_hem_is_let_down(paired: bool) -> None:
    nests = {
        name: {
            size: marked(skirt(180.0 + grow), ("hip", "side", 400.0))
            for size, grow in SIZES.items()
        }
        for name in ("skirt_front", "skirt_back")
    }
    pattern = garment()
    for name, nest in nests.items():
        pattern = changed(pattern, name, nest)
    if paired:
        seams = dict(pattern.relations.seams)
        pair = (("skirt_front.hip", "skirt_back.hip"),)
        seams["skirt_side"] = replace(seams["skirt_side"], notches=pair)
        pattern = replace(pattern, relations=replace(pattern.relations, seams=seams))
    front = nests["skirt_front"]["M"]
    down = front.edge("side").points[1] - front.edge("side").points[0]
    low = front.edge("side").points[0] - 40.0 * down / np.hypot(*down)
    side = np.vstack([low, front.edge("side").points])
    hem = np.array([front.edge("hem").points[0], low])
    edges = tuple(
        Edge(e.name, {"side": side, "hem": hem}.get(e.name, e.points)) for e in front.edges
    )
    sent = replace(front, edges=edges)
    found = revise(pattern, {"skirt_front": Piece("skirt_front", {"M": sent})})
    for size in SIZES:
        from_waist = []
        for name in ("skirt_front", "skirt_back"):
            piece = found.pattern.sized(name, size)
            line = shapely.LineString(piece.edge("side").points)
            from_waist.append(
                line.length - line.project(shapely.Point(piece.landmark("hip").point))
            )
        assert from_waist[0] == pytest.approx(from_waist[1], abs=0.2), size


def test_each_end_of_a_cap_gives_what_its_own_armhole_changed() -> None:
    """The armholes of front and back get longer by as much: so do both halves of the cap."""
    pattern = garment()
    backs = {size: bodice(grow, {}, 22.0) for size, grow in SIZES.items()}  # as the front's
    pattern = changed(pattern, "back", backs)
    seams = dict(pattern.relations.seams)
    ease = length(pattern.sized("sleeve", "M"), "cap") - 2 * length(backs["M"], "armhole")
    seams["armholes"] = replace(
        seams["armholes"], lead=parse_run(["front.armhole", "back.armhole reversed"]), ease=ease
    )
    pattern = replace(pattern, relations=replace(pattern.relations, seams=seams))
    drawn = bodice(SIZES["M"], {}, 30.0)
    sent = {name: Piece(name, {"M": drawn}) for name in ("front", "back")}
    found = revise(pattern, sent)
    old, new = pattern.sized("sleeve", "M"), found.pattern.sized("sleeve", "M")
    moved = [
        float(np.hypot(*(new.edge("cap").points[i] - old.edge("cap").points[i]))) for i in (0, -1)
    ]
    assert moved[0] > 1.0
    assert moved[0] == pytest.approx(moved[1], abs=0.1)
    assert length(new, "left") == pytest.approx(length(new, "right"), abs=0.1)


@pytest.mark.parametrize(("waist", "hip"), [("90", "102"), ("90", "118"), ("110", "96")])
def test_the_corner_mark_of_a_pocket_stays_at_the_pockets_place(waist: str, hip: str) -> None:
    gilet = demo("workshop_gilet")

    def gap(piece: SizedPiece) -> float:
        line = next(line for line in piece.lines if line.name == "pocket_place")
        mark = next(mark for mark in piece.drills if mark.name == "pocket_corner")
        return shapely.LineString(line.points).distance(shapely.Point(mark.point))

    result = propagate.blend(gilet, propagate.Blend({"waist": waist, "hip": hip}))
    size = result.record.size
    blended = result.pattern.sized("lower_front", size)
    assert gap(blended) == pytest.approx(gap(gilet.sized("lower_front", hip)), abs=1e-6)
