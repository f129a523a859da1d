"""A piece and its copy: which way round their seams lie, told by all seams of the two.

The copy is a motion of the piece, so every seam between them is judged by that motion: the two
ends of the one run have to lie on the two ends of the other.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.io import set_toml
from propagate.pattern.grain import Grain
from propagate.pattern.model import Array, Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Run, Seam
from propagate.pattern.spans import span_points
from propagate.suggesting import ACCEPT, Suggestions, accepted, choose, suggest

SIZES = ("S", "M", "L")
HEM, SIDE, WAIST, CENTRE = "e1", "e2", "e3", "e4"

Motion = tuple[float, bool, tuple[float, float]]
"""Turn in degrees, whether mirrored first, shift in mm."""


def moved(points: Array, motion: Motion) -> Array:
    angle, mirrored, shift = motion
    turn = np.radians(angle)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return np.asarray((points * [-1.0 if mirrored else 1.0, 1.0]) @ matrix + shift)


def skirt(k: int, motion: Motion, *, bow: float = 14.0) -> SizedPiece:
    """A half skirt on the fold.

    Its hem and waist are straight and their corners nearly square, 91.8 degrees at the side
    and 90 at the fold: crosswise they add up to 180 within what the trade accepts.
    """
    wide, high = 230.0 + 11.0 * k, 600.0 + 6.0 * k**1.2
    lean = 600.0 * np.tan(np.radians(1.8))
    t = np.linspace(0.0, 1.0, 25)[:, None]
    hem = np.array([[0.0, 0.0], [wide + lean, 0.0]])
    top = np.array([wide, high])
    side = hem[1] + (top - hem[1]) * t + np.array([bow, 0.0]) * np.sin(2 * np.pi * t) * t
    side[-1] = top
    waist = np.array([top, [0.0, high - 9.0]])
    centre = np.array([waist[1], hem[0]])
    lines = [moved(line, motion) for line in (hem, side, waist, centre)]
    names = [HEM, SIDE, WAIST, CENTRE]
    if motion[1]:
        lines, names = [line[::-1] for line in reversed(lines)], names[::-1]
    edges = tuple(
        Edge(name, np.array(line, dtype=float)) for name, line in zip(names, lines, strict=True)
    )
    notch = moved(side[[6]], motion)[0]
    mark = Landmark("notch", SIDE, (float(notch[0]), float(notch[1])), "notch")
    return SizedPiece(edges, Grain((0.0, 0.0), (0.0, 50.0)), landmarks=(mark,))


def lined(motion: Motion) -> PatternSet:
    own: Motion = (0.0, False, (0.0, 0.0))
    nests = {"p1": own, "p2": motion}
    return PatternSet(
        "lined",
        SIZES,
        "M",
        "none",
        {
            name: Piece(name, {size: skirt(k, way) for k, size in enumerate(SIZES)})
            for name, way in nests.items()
        },
        {name: PieceInfo(name, fold=CENTRE) for name in nests},
    )


def written(found: Suggestions, pattern: PatternSet) -> dict[str, Seam]:
    text = set_toml.render_set(pattern) + "\n" + accepted(found)
    seams = set_toml.parse_set(text, "set.toml").relations.seams
    return {seam.lead[0].edge: seam for seam in seams.values()}


def ends(pattern: PatternSet, run: Run) -> Array:
    points = span_points(pattern.sized(run[0].piece, "L"), run[0])
    return np.asarray(points[[0, -1]])


MOTIONS: list[Motion] = [
    (0.0, False, (900.0, 0.0)),
    (180.0, False, (300.0, 200.0)),
    (90.0, False, (-700.0, 0.0)),
    (0.0, True, (-40.0, 0.0)),
    (33.0, True, (500.0, 900.0)),
]


@pytest.mark.parametrize("motion", MOTIONS)
def test_the_seams_of_a_copy_lie_as_the_copy_does(motion: Motion) -> None:
    pattern = lined(motion)
    seams = written(suggest(pattern), pattern)
    assert set(seams) == {HEM, SIDE, WAIST}
    for edge, seam in seams.items():
        assert seam.follow[0].edge == edge
        own, theirs = ends(pattern, seam.lead), ends(pattern, seam.follow)
        to_copy = moved(own, motion) if seam.lead[0].piece == "p1" else own
        of_copy = theirs if seam.lead[0].piece == "p1" else moved(theirs, motion)
        assert np.abs(to_copy - of_copy).max() < 1e-6, edge
        assert not seam.crossing  # the edges beside it are sewn to each other


@pytest.mark.parametrize("motion", MOTIONS[:4])
def test_what_told_the_direction_is_among_the_evidence(motion: Motion) -> None:
    found = suggest(lined(motion))
    for edge in (HEM, WAIST):
        one = next(p for p in found.of_edge(f"p1.{edge}") if p.kind == "seam")
        assert any("p1.e2 = p2.e2: both seams meet there" in text for text in one.evidence)


def test_an_edge_on_the_fold_is_sewn_to_nothing() -> None:
    found = suggest(lined(MOTIONS[0]))
    assert not [p for p in found.proposals if {f"p1.{CENTRE}", f"p2.{CENTRE}"} & p.edges]
    whole = lined(MOTIONS[0])
    whole = replace(whole, info={name: PieceInfo(name) for name in whole.pieces})
    assert [p for p in suggest(whole).proposals if {f"p1.{CENTRE}", f"p2.{CENTRE}"} <= p.edges]


@pytest.mark.parametrize("narrower", [-30.0, 30.0])
def test_a_piece_is_never_sewn_to_itself_with_a_twist(narrower: float) -> None:
    """A tapered tube, as a sleeve: laid the wrong way round its corners would add up to 180.

    Sewn with both edges along the outline the piece would have one side: the two ends of the one
    edge would meet those of the other crosswise, and the ring at the wrist would be joined to the
    one at the arm.
    """

    def tube(k: int) -> SizedPiece:
        wide, high = 320.0 + 14.0 * k, 410.0 + 17.0 * k**1.5
        wrist = wide - 2 * (narrower + 3.0 * k)
        left = (wide - wrist) / 2
        ring = np.array([[left, 0.0], [left + wrist, 0.0], [wide, high], [0.0, high], [left, 0.0]])
        edges = tuple(Edge(f"e{i + 1}", np.array(ring[i : i + 2])) for i in range(4))
        return SizedPiece(edges, Grain((0.0, 0.0), (0.0, 50.0)))

    pieces = {"p1": Piece("p1", {size: tube(k) for k, size in enumerate(SIZES)})}
    found = suggest(PatternSet("tube", SIZES, "M", "none", pieces, {"p1": PieceInfo("p1")}))
    sides = [p for p in found.proposals if p.kind == "seam" and p.edges == {"p1.e2", "p1.e4"}]
    assert len(sides) == 1
    (seam,) = sides[0].relations
    assert isinstance(seam, Seam)
    piece = pieces["p1"].at("M")
    lead, follow = (span_points(piece, run[0]) for run in (seam.lead, seam.follow))
    # Wrist meets wrist: both ends that meet are at one height.
    assert lead[0][1] == pytest.approx(follow[0][1])
    assert lead[-1][1] == pytest.approx(follow[-1][1])


def test_a_direction_that_nothing_tells_stays_below_the_level() -> None:
    """Two strips that grow alike: whatever else fits, they can be laid either way round."""

    def strip(k: int, high: float) -> SizedPiece:
        wide = 300.0 + 17.0 * k**1.5
        ring = np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high], [0.0, 0.0]])
        edges = tuple(Edge(f"e{i + 1}", np.array(ring[i : i + 2])) for i in range(4))
        middle = Landmark("middle", "e1", (wide / 2, 0.0), "notch")
        return SizedPiece(edges, Grain((0.0, 0.0), (0.0, 50.0)), landmarks=(middle,))

    def pattern(*heights: float) -> PatternSet:
        pieces = {
            f"p{i}": Piece(f"p{i}", {size: strip(k, high) for k, size in enumerate(SIZES)})
            for i, high in enumerate(heights)
        }
        return PatternSet("strips", SIZES, "M", "none", pieces, {n: PieceInfo(n) for n in pieces})

    found = suggest(pattern(40.0, 71.0))
    seams = [p for p in found.proposals if p.kind == "seam"]
    assert any("notches meet" in text for one in seams for text in one.evidence)
    for one in seams:
        assert one.score < ACCEPT
        alone = len({span.piece for run in one.runs for span in run}) == 1
        words = "not certain that the piece is sewn to itself" if alone else "direction is not cer"
        assert any(words in text for text in one.against)
    assert not [p for p in choose(found).taken if p.kind == "seam"]


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_hems_of_a_front_and_a_back_are_not_sewn_together(mirrored: bool) -> None:
    """Equal hems beside a sewn side are common (common practice, no source)."""
    whole = lined((0.0, mirrored, (900.0, 0.0)))
    nest = {}
    for size, sized in whole.pieces["p2"].nest.items():
        # The back's waist lies 15 mm higher at the centre.
        low = sized.edge(WAIST).points[0 if mirrored else -1]
        top = np.array([low[0], low[1] + 15.0])
        edges = tuple(
            replace(
                edge, points=np.where((edge.points == low).all(axis=1)[:, None], top, edge.points)
            )
            for edge in sized.edges
        )
        nest[size] = replace(sized, edges=edges)
    pattern = replace(whole, pieces={**whole.pieces, "p2": Piece("p2", nest)})
    assert set(written(suggest(pattern), pattern)) == {SIDE}
    hems = [one for one in suggest(pattern).proposals if one.edges == {f"p1.{HEM}", f"p2.{HEM}"}]
    assert any("close the corner" in words for one in hems for words in one.against)


@pytest.mark.parametrize("motion", MOTIONS[1:])
def test_two_bags_are_not_sewn_along_their_mouth(motion: Motion) -> None:
    """Two pieces that are sewn together all round hold no hand (common practice, no source)."""

    def bag(way: Motion) -> SizedPiece:
        t = np.linspace(0.0, 1.0, 41)[:, None]
        mouth = np.array([[0.0, 150.0], [-6.0, 80.0], [0.0, 0.0]])
        round_ = np.hstack([150.0 * np.sin(np.pi * t), 75.0 - 75.0 * np.cos(np.pi * t)])
        round_ = round_ - [0.0, 30.0] * np.sin(np.pi * t) * t
        lines = [moved(line, way) for line in (mouth, round_)]
        if way[1]:
            lines = [line[::-1] for line in lines]
        edges = tuple(Edge(n, np.array(p)) for n, p in zip(("mouth", "round"), lines, strict=True))
        return SizedPiece(edges, Grain((0.0, 0.0), (0.0, 50.0)))

    ways = {"p1": (0.0, False, (0.0, 0.0)), "p2": motion}
    pattern = PatternSet(
        "bags",
        SIZES,
        "M",
        "none",
        {n: Piece(n, dict.fromkeys(SIZES, bag(way))) for n, way in ways.items()},
        {n: PieceInfo(n) for n in ways},
    )
    found = suggest(pattern)
    assert set(written(found, pattern)) == {"round"}
    mouths = [one for one in found.proposals if one.edges == {"p1.mouth", "p2.mouth"}]
    assert any("closed all round" in words for one in mouths for words in one.against)
