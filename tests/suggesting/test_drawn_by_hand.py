"""Small sets drawn for one question each; the answers follow from how they are drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.pattern.ease import Ease
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Seam
from propagate.suggesting import choose, suggest

SIZES = ("S", "M", "L")


def polygon(points: Sequence[tuple[float, float]], marks: Sequence[Landmark] = ()) -> SizedPiece:
    ring = [*points, points[0]]
    edges = tuple(
        Edge(f"e{k + 1}", np.array([ring[k], ring[k + 1]], dtype=float)) for k in range(len(points))
    )
    return SizedPiece(edges, Grain((0.0, 0.0), (0.0, 50.0)), landmarks=tuple(marks))


def drawn(pieces: Mapping[str, Sequence[SizedPiece]]) -> PatternSet:
    return PatternSet(
        "by hand",
        SIZES,
        "M",
        "none",
        {name: Piece(name, dict(zip(SIZES, nest, strict=True))) for name, nest in pieces.items()},
        {name: PieceInfo(name) for name in pieces},
    )


def yoked() -> PatternSet:
    """A back cut in two across, so that yoke and lower back together meet the front's side."""
    front, back, yoke = [], [], []
    for k in range(3):
        wide, high, cut = 200.0 + 11 * k, 400.0 + 7 * k**1.3, 290.0 + 4 * k
        lean = 25.0
        at = wide + lean * cut / high
        back.append(polygon([(0, 0), (wide, 0), (at, cut), (0, cut)]))
        yoke.append(polygon([(0, cut), (at, cut), (wide + lean, high), (0, high)]))
        front.append(polygon([(0, 0), (0, high), (-wide - 30 - lean, high), (-wide - 30, 0)]))
    return drawn({"p1": back, "p2": yoke, "p3": front})


def test_a_side_made_of_yoke_and_back_is_found() -> None:
    found = suggest(yoked())
    yoke_seam = next(p for p in found.proposals if p.edges == {"p1.e3", "p2.e1"})
    assert yoke_seam.score > 0.9
    side = next(p for p in found.proposals if {"p1.e2", "p2.e2", "p3.e3"} == p.edges)
    assert side.score > 0.9
    lead, follow = side.runs
    longer = max(lead, follow, key=len)
    # One line: the joint of the two spans is the yoke seam's end.
    assert {(s.piece, s.begin, s.end) for s in longer} in (
        {("p1", "start", "end"), ("p2", "start", "end")},
        {("p1", "end", "start"), ("p2", "end", "start")},
    )


def test_equal_lengths_in_one_size_alone_are_no_seam() -> None:
    """Two edges of 300 mm in the base size that are graded differently."""
    a = [polygon([(0, 0), (300 + 10 * (k - 1), 0), (280, 90), (10, 80)]) for k in range(3)]
    b = [polygon([(0, 0), (300 + 3 * (k - 1), 0), (250, 170), (40, 160)]) for k in range(3)]
    found = suggest(drawn({"p1": a, "p2": b}))
    scores = [p.score for p in found.proposals if p.edges == {"p1.e1", "p2.e1"}]
    assert all(score < 0.1 for score in scores)


def test_uneven_steps_that_agree_outweigh_an_even_length() -> None:
    """The partner is 8 mm longer in every size (ease) but graded with the same uneven steps."""
    steps = (0.0, 9.0, 23.0)
    a = [polygon([(0, 0), (300 + s, 0), (281, 97), (13, 83)]) for s in steps]
    eased = [polygon([(0, 0), (308 + s, 0), (250, 171), (41, 160)]) for s in steps]
    even = [polygon([(0, 0), (309.0, 0), (222, 141), (71, 133)]) for _ in steps]
    found = suggest(drawn({"p1": a, "p2": eased, "p3": even}))
    named = [p for p in found.of_edge("p1.e1") if isinstance(p.relations[-1], Seam)]
    first = next(p for p in named if not p.kind.startswith("mirror"))
    assert first.edges == {"p1.e1", "p2.e1"}
    seam = first.relations[0]
    assert isinstance(seam, Seam)
    assert abs(abs(seam.ease) - 8.0) < 0.05


def test_notches_tell_the_direction() -> None:
    """Two straight edges of one length: the notches meet only when one runs back."""

    def piece(along: float, k: int, bend: float) -> SizedPiece:
        long = 300.0 + 7 * k**1.5
        mark = Landmark("n1", "e1", (along, 0.0), "notch")
        return polygon([(0, 0), (long, 0), (long - bend, 120), (bend, 140)], [mark])

    a = [piece(100.0, k, 31.0) for k in range(3)]
    back = [piece(200.0 + 7 * k**1.5, k, 17.0) for k in range(3)]
    same = [piece(100.0, k, 17.0) for k in range(3)]
    for other, turned in ((back, True), (same, False)):
        found = suggest(drawn({"p1": a, "p2": other}))
        one = next(p for p in found.proposals if p.edges == {"p1.e1", "p2.e1"})
        begins = {span.begin for run in one.runs for span in run}
        assert (begins == {"start", "end"}) is turned


def test_notches_meet_where_the_ease_lies_between_them_or_is_spread() -> None:
    """A cap is eased in over its top: below its notches it is as long as the armhole."""

    def piece(ease: float, k: int, bend: float, *, spread: bool) -> SizedPiece:
        plain = 300.0 + 7 * k**1.5
        long = plain + ease
        low, high = 90.0 + k, 80.0 + 2 * k
        places = (low, long - high)
        if spread:
            places = (low * long / plain, long - high * long / plain)
        marks = [Landmark(f"n{i}", "e1", (at, 0.0), "notch") for i, at in enumerate(places)]
        return polygon([(0, 0), (long, 0), (long - bend, 120), (bend, 140)], marks)

    for spread in (True, False):
        a = [piece(0.0, k, 31.0, spread=spread) for k in range(3)]
        b = [piece(12.0, k, 17.0, spread=spread) for k in range(3)]
        found = suggest(drawn({"p1": a, "p2": b}))
        one = next(p for p in found.proposals if p.edges == {"p1.e1", "p2.e1"})
        assert any("notches meet within 0.01 mm" in text for text in one.evidence)
        (seam,) = one.relations
        assert isinstance(seam, Seam)
        if spread:
            assert abs(seam.ease) == 12.0
        else:
            assert isinstance(seam.ease, Ease)
            assert [abs(eased) for _, eased in seam.ease.zones] == [0.0, 12.0, 0.0]


def test_three_runs_of_one_length_are_not_chosen_between() -> None:
    """Three equal edges: whatever the scores, nothing is written for them."""
    nest = [[(0.0, 0.0), (300.0 + 9 * k, 0.0), (283.0, 90.0), (11.0, 80.0)] for k in range(3)]
    pieces = {
        f"p{i}": [
            polygon([*(points[:2]), (points[2][0] - 13 * i, 90 + 21 * i), points[3]])
            for points in nest
        ]
        for i in range(3)
    }
    found = suggest(drawn(pieces))
    group = next(g for g in found.groups if len(g) > 1)
    assert len([p for p in group if p.kind == "seam"]) == 3
    assert not [p for p in choose(found, 0.3).taken if p.edges & {"p0.e1", "p1.e1", "p2.e1"}]


def test_a_set_of_one_plain_piece_gives_nothing_to_accept() -> None:
    square = [polygon([(0, 0), (50 + k, 0), (50 + k, 50), (0, 50)]) for k in range(3)]
    found = suggest(drawn({"p1": square}))
    assert choose(found).taken == ()
