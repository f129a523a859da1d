"""Notches that the opening, or a layer's end, goes past: the pair stays together and is told.

The small pocket skirt with a notch on the front's side below the opening, or on the facing
above its end, and its mate on the back.  Places are measured with shapely: on the back from
the hem, on the front as well, on the facing from the waist down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely

import propagate
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from tests import builders

END = {"start": "end", "end": "start"}


def with_pair(own: str, height: float) -> PatternSet:
    """A notch on a piece of the front and its mate on the back, both at a height, on the chords."""
    pattern = builders.pocket_set()
    pieces = dict(pattern.pieces)
    for name, flip, shift in ((own, 1.0, 300.0 if own == "facing" else 0.0), ("back", -1.0, 0.0)):
        nest = {}
        for size, piece in pieces[name].nest.items():
            near = shapely.Point(flip * builders.side_x(size, height) + shift, height)
            line = shapely.LineString(piece.edge("side").points)
            here = line.interpolate(line.project(near))
            mark = Landmark("pair", "side", (here.x, here.y), "notch")
            nest[size] = replace(piece, landmarks=(*piece.landmarks, mark))
        pieces[name] = Piece(name, nest)
    return with_seam(pattern, pieces, notches=((f"{own}.pair", "back.pair"),))


def with_seam(pattern: PatternSet, pieces: dict[str, Piece], **changes: object) -> PatternSet:
    seam = replace(pattern.relations.seams["side_seam"], **changes)  # type: ignore[arg-type]
    relations = replace(pattern.relations, seams={"side_seam": seam})
    return replace(pattern, pieces=pieces, relations=relations)


def backwards(run: Run) -> Run:
    return tuple(Span(s.piece, s.edge, s.end, s.begin) for s in reversed(run))


def new(result: propagate.Result, piece: str) -> SizedPiece:
    return result.pattern.sized(piece, result.record.size)


def along(piece: SizedPiece) -> float:
    """Distance of the notch from the lower end of the side, mm."""
    points = piece.edge("side").points
    line = shapely.LineString(points if points[0][1] < points[-1][1] else points[::-1])
    return float(line.project(shapely.Point(piece.landmark("pair").point)))


def places(result: propagate.Result, own: str) -> tuple[float, float]:
    """Distances from the hem of the two notches, along the seam as it is sewn, mm."""
    place = along(new(result, own))
    if own == "facing":  # sewn with its waist corner on the back's
        whole = shapely.LineString(new(result, "back").edge("side").points).length
        side = shapely.LineString(new(result, "facing").edge("side").points).length
        place += whole - side
    return place, along(new(result, "back"))


def told(result: propagate.Result) -> Sequence[str]:
    return [w.text for w in result.record.warnings if "was put at that end" in w.text]


def blended(pattern: PatternSet, upper: str, lower: str, pocket: str = "upper") -> propagate.Result:
    edit = propagate.Blend({"waist": upper, "hip": lower}, pocket=pocket)  # type: ignore[arg-type]
    return propagate.blend(pattern, edit)


CASES = [
    ("front", -132.0, "40", "36"),  # the opening swings down, past the notch
    ("front", -134.0, "40", "36"),
    ("facing", -155.0, "36", "40"),  # the facing goes up with it and ends above the notch
    ("facing", -158.0, "36", "40"),
    ("facing", -158.0, "38", "40"),
    ("front", -150.0, "36", "40"),  # nothing is passed
    ("facing", -120.0, "40", "36"),
]


@pytest.mark.parametrize("pocket", ["upper", "lower"])
@pytest.mark.parametrize(("own", "height", "upper", "lower"), CASES)
def test_the_pair_stays_together(
    own: str, height: float, upper: str, lower: str, pocket: str
) -> None:
    result = blended(with_pair(own, height), upper, lower, pocket)
    first, second = places(result, own)
    assert first == pytest.approx(second, abs=0.05)
    assert result.sews


@pytest.mark.parametrize(("own", "height", "upper", "lower"), CASES[:5])
def test_what_was_passed_lies_at_the_end_and_is_told(
    own: str, height: float, upper: str, lower: str
) -> None:
    result = blended(with_pair(own, height), upper, lower)
    side = new(result, own).edge("side").points
    ends = shapely.MultiPoint(side[[0, -1]])
    assert ends.distance(shapely.Point(new(result, own).landmark("pair").point)) < 1e-6
    (text,) = told(result)
    assert "beyond the end of edge 'side'" in text
    assert "'back.pair', which it meets, went" in text
    assert any(c.id == "back.side" for c in result.record.changes)


@pytest.mark.parametrize(("own", "height", "upper", "lower"), CASES[5:])
def test_what_was_not_passed_is_not_told(own: str, height: float, upper: str, lower: str) -> None:
    assert not told(blended(with_pair(own, height), upper, lower))


@pytest.mark.parametrize(("own", "height", "upper", "lower"), CASES[:5])
def test_it_does_not_matter_from_which_end_the_seam_is_written(
    own: str, height: float, upper: str, lower: str
) -> None:
    pattern = with_pair(own, height)
    seam = pattern.relations.seams["side_seam"]
    crossing = {END[end]: pair for end, pair in seam.crossing.items()}
    turned = with_seam(
        pattern,
        dict(pattern.pieces),
        lead=backwards(seam.lead),
        follow=backwards(seam.follow),
        crossing=crossing,
    )
    one, other = (blended(p, upper, lower) for p in (pattern, turned))
    for name in (own, "back"):
        was, now = (new(result, name).landmark("pair").point for result in (one, other))
        assert now == pytest.approx(was, abs=1e-6)


@pytest.mark.parametrize(("own", "height", "upper", "lower"), CASES[:5])
def test_the_mate_follows_also_where_it_leads(
    own: str, height: float, upper: str, lower: str
) -> None:
    pattern = with_pair(own, height)
    seam = pattern.relations.seams["side_seam"]
    exchanged = with_seam(
        pattern,
        dict(pattern.pieces),
        lead=seam.follow,
        follow=seam.lead,
        notches=tuple((b, a) for a, b in seam.notches),
        crossing={end: (b, a) for end, (a, b) in seam.crossing.items()},
    )
    result = blended(exchanged, upper, lower)
    first, second = places(result, own)
    assert first == pytest.approx(second, abs=0.05)
    assert told(result)


def test_a_mate_that_cannot_follow_is_told_as_lost() -> None:
    """The mate ends the run of another seam: moving it would change what that one measures."""
    pattern = with_pair("front", -132.0)
    seams = pattern.relations.seams
    stay = replace(
        seams["side_seam"],
        name="stay",
        lead=(Span("back", "side", "end", "pair"),),
        follow=(Span("loop", "left"),),
        notches=(),
        crossing={},
        hold=None,
        check=True,
        tolerance=100.0,
    )
    relations = replace(pattern.relations, seams={**seams, "stay": stay})
    result = blended(replace(pattern, relations=relations), "40", "36")
    (text,) = told(result)
    assert "the pair is lost" in text
