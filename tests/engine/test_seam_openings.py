"""Openings in a seam: a pocket's mouth and a zip keep their lengths, or take one that is sold.

The yardstick is arithmetic on straight edges.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.errors import Conflict
from propagate.io.reading import UnreadableFile
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, SeamOpening, parse_run
from propagate.pattern.validate import find_problems

POCKET = SeamOpening(
    "pocket",
    (parse_run("front.side from top to low"), parse_run("back.side from top to low")),
)


def panel(long: float, top: float, low: float, *, left: bool = False) -> SizedPiece:
    """A rectangle 200 wide; its side goes up (or down at its left), marks from the top."""
    x = 0.0 if left else 200.0
    corners = np.array([(0.0, 0.0), (200.0, 0.0), (200.0, long), (0.0, long), (0.0, 0.0)])
    names = ("hem", "centre", "waist", "side") if left else ("hem", "side", "waist", "centre")
    edges = tuple(Edge(name, corners[i : i + 2]) for i, name in enumerate(names))
    marks = [Landmark(n, "side", (x, long - at), "notch") for n, at in (("top", top), ("low", low))]
    return SizedPiece(
        edges, Grain((50.0, 20.0), (50.0, 120.0)), tuple(marks), levels={"hip": (0.0, 50.0)}
    )


def the_set(opening: SeamOpening = POCKET, *, sewn: bool = True) -> PatternSet:
    pieces = {"front": panel(600.0, 40.0, 190.0), "back": panel(600.0, 40.0, 190.0, left=True)}
    seam = Seam(
        "side",
        parse_run("front.side reversed"),
        parse_run("back.side"),
        notches=(("front.top", "back.top"), ("front.low", "back.low")),
    )
    return PatternSet(
        name="skirt",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": one}) for name, one in pieces.items()},
        info={name: PieceInfo(name) for name in pieces},
        relations=Relations(
            seams={"side": seam} if sewn else {}, seam_openings={opening.name: opening}
        ),
    )


def places(pattern: PatternSet, name: str) -> tuple[float, float]:
    """Distances of the two marks from the top."""
    piece = pattern.sized(name, "M")
    top = max(piece.outline[:, 1])
    return (
        float(top - piece.landmark("top").point[1]),
        float(top - piece.landmark("low").point[1]),
    )


def longer(by: float) -> dict[str, Piece]:
    """Lengthened between the marks: the lower one sinks."""
    return {"front": Piece("front", {"M": panel(600.0 + by, 40.0, 190.0 + by)})}


def test_a_mouth_keeps_its_length_and_its_distance_from_the_top_on_both_sides() -> None:
    pattern = the_set()
    assert find_problems(pattern) == ()
    after = revise(pattern, longer(20.0)).pattern
    assert places(after, "front") == pytest.approx((40.0, 190.0), abs=0.01)
    assert places(after, "back") == pytest.approx((40.0, 190.0), abs=0.01)
    assert [c.difference for c in walk(after, cut_lines=False).of("seam_opening")] == pytest.approx(
        [0.0], abs=0.01
    )
    assert walk(after, cut_lines=False).sews


def test_a_mark_that_an_edit_moves_takes_the_opening_with_it() -> None:
    """The edge is as it was and its lower mark 20 mm lower: longer on purpose, on both sides."""
    sent = {"front": Piece("front", {"M": panel(600.0, 40.0, 210.0)})}
    after = revise(the_set(), sent).pattern
    assert places(after, "front") == pytest.approx((40.0, 210.0), abs=0.01)
    assert places(after, "back") == pytest.approx((40.0, 210.0), abs=0.01)
    lower = {"front": Piece("front", {"M": panel(600.0, 60.0, 210.0)})}
    after = revise(the_set(sewn=False), lower).pattern
    assert places(after, "back") == pytest.approx((60.0, 210.0), abs=0.01)
    zip_of = replace(POCKET, lengths=(130.0, 150.0, 180.0), change="nearest")
    after = revise(the_set(zip_of), sent).pattern
    assert places(after, "front") == pytest.approx((40.0, 220.0), abs=0.01)
    assert places(after, "back") == pytest.approx((40.0, 220.0), abs=0.01)


def test_one_that_stayed_keeps_every_digit() -> None:
    pattern = the_set()
    wider = panel(600.0, 40.0, 190.0)
    moved = [
        Edge(e.name, e.points + np.where(e.points == 0.0, [-5.0, 0.0], 0.0)) for e in wider.edges
    ]
    after = revise(pattern, {"front": Piece("front", {"M": replace(wider, edges=tuple(moved))})})
    assert after.pattern.sized("front", "M").landmarks == pattern.sized("front", "M").landmarks
    assert after.pattern.sized("back", "M") == pattern.sized("back", "M")


@pytest.mark.parametrize(("by", "now"), [(20.0, 170.0), (8.0, 150.0), (11.0, 170.0), (90.0, 170.0)])
def test_a_zip_takes_the_nearest_length_that_is_sold(by: float, now: float) -> None:
    zip_of = replace(POCKET, lengths=(130.0, 150.0, 170.0), change="nearest")
    result = revise(the_set(zip_of, sewn=False), longer(by))
    top, low = places(result.pattern, "front")
    assert (top, low - top) == pytest.approx((40.0, now), abs=0.01)
    told = [n.text for n in result.records["M"].warnings if n.where == "pocket"]
    assert any(f"{now:.1f} mm now" in text for text in told) == (now != 150.0)


def test_a_zip_of_one_length_is_a_conflict() -> None:
    zip_of = replace(POCKET, lengths=(150.0,), change="conflict")
    with pytest.raises(Conflict, match=r"'pocket' would be 170.0 mm long, and it is bought 150.0"):
        revise(the_set(zip_of, sewn=False), longer(20.0))


def test_a_mouth_that_finds_no_room_is_a_conflict() -> None:
    short = {"front": Piece("front", {"M": panel(180.0, 40.0, 100.0)})}
    with pytest.raises(Conflict, match=r"finds 180\.0 mm there"):
        revise(the_set(sewn=False), short)


def test_a_zip_that_is_not_sold_is_told() -> None:
    pattern = the_set(replace(POCKET, lengths=(160.0, 180.0)))
    check = walk(pattern, cut_lines=False).of("seam_opening")[-1]
    assert (check.first, check.second, check.verdict) == (160.0, 150.0, "does not sew")


def test_its_file_is_written_read_and_checked() -> None:
    pattern = the_set(replace(POCKET, lengths=(150.0, 152.5), change="nearest"))
    text = render_set(pattern)
    assert "lengths = [150, 152.5]" in text and 'change = "nearest"' in text
    assert parse_set(text, "set.toml").relations == pattern.relations
    with pytest.raises(UnreadableFile, match="lengths above 0"):
        parse_set(text.replace("[150, 152.5]", "[150, -1]"), "set.toml")
    wrong = replace(POCKET, sides=(parse_run("front.side"),), change="nearest")
    lines = "\n".join(find_problems(the_set(wrong)))
    assert "expected one span with a mark" in lines and "without lengths" in lines
