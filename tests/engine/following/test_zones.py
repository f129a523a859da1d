"""A seam is met stretch by stretch between the notches that it pairs.

A sleeve set in an armhole of front and back, with a notch on each and none of the ease below
the notches (common practice, no source); its cap is one edge or four.  Lengths are measured
by shapely, along the lines between the notches.

        nf ___top___ nb          front: underarm, n, shoulder tip
          /         \\           back:  shoulder tip, n, underarm
         /  sleeve   \\
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.ops import substring

from propagate.engine.revise import revise
from propagate.geometry.motion import Motion
from propagate.pattern.ease import Ease
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.engine.following.test_independence import laid
from tests.engine.test_corners_that_follow import bodice, length, sleeve
from tests.examples import examples

GROW = 12.0
UP = {"front": 90.0, "back": 98.0}
"""Where the notches lie on the armholes, from the underarm, mm."""
CROWN = 24.0
"""The ease between the notches, over the shoulder; below them there is none."""
MEETS_MM = 0.05
CAP = [f"cap_{k}" for k in range(4)]


def marked(piece: SizedPiece, edge: str, name: str, at: float) -> SizedPiece:
    point = shapely.LineString(piece.edge(edge).points).interpolate(at)
    mark = Landmark(name, edge, (point.x, point.y), "notch")
    return replace(piece, landmarks=(*piece.landmarks, mark))


def front(moved: dict[str, tuple[float, float]] | None = None) -> SizedPiece:
    return marked(bodice(GROW, moved or {}, 22.0), "armhole", "n", UP["front"])


def back() -> SizedPiece:
    return marked(bodice(GROW, {"tip": (6.0, 8.0)}, 16.0), "armhole", "n", UP["back"])


def cap(ease: float) -> SizedPiece:
    """The sleeve with its notches, and a mark at the top."""
    sizes = [length(piece, "armhole") for piece in (front(), back())]
    whole = sleeve(sum(sizes) + ease)
    top = sizes[0] + ease * (sizes[0] - UP["front"]) / (sum(sizes) - sum(UP.values()))
    for name, at in (("nf", UP["front"]), ("top", top), ("nb", sum(sizes) + ease - UP["back"])):
        whole = marked(whole, "cap", name, at)
    return whole


def in_four(piece: SizedPiece) -> SizedPiece:
    """The cap cut into four edges at its marks; the notches are ends of edges then."""
    line = shapely.LineString(piece.edge("cap").points)
    at = [0.0, *(piece.distance("cap", name) for name in ("nf", "top", "nb")), line.length]
    parts = [
        Edge(name, np.array(substring(line, a, b).coords))
        for name, a, b in zip(CAP, at, at[1:], strict=False)
    ]
    marks = [piece.landmark("nf"), piece.landmark("nb")]
    return replace(
        piece,
        edges=(*parts, *(edge for edge in piece.edges if edge.name != "cap")),
        landmarks=tuple(replace(m, edge=e) for m, e in zip(marks, ("cap_0", "cap_2"), strict=True)),
    )


def garment(
    edges: int = 1, flipped: bool = False, crown: float | Ease = CROWN, extra: float = 0.0
) -> PatternSet:
    """The set; `flipped` writes both runs from their other end, `extra` shifts a notch."""
    pieces = {"front": front(), "back": back(), "sleeve": cap(CROWN)}
    if extra:
        at = pieces["sleeve"].distance("cap", "nf") + extra
        bare = replace(pieces["sleeve"], landmarks=pieces["sleeve"].landmarks[1:])
        pieces["sleeve"] = marked(bare, "cap", "nf", at)
    if edges == 4:
        pieces["sleeve"] = in_four(pieces["sleeve"])
    lead = parse_run(["front.armhole", "back.armhole reversed"])
    follow = parse_run([f"sleeve.{edge}" for edge in (CAP if edges == 4 else ["cap"])])
    zones = (("front.n", 0.0), ("back.n", crown), ("end", 0.0))
    if flipped:
        lead, follow = (
            tuple(replace(s, begin=s.end, end=s.begin) for s in reversed(run))
            for run in (lead, follow)
        )
        zones = (("back.n", 0.0), ("front.n", crown), ("end", 0.0))
    notches = (("back.n", "sleeve.nb"), ("front.n", "sleeve.nf"))
    seam = Seam("cap", lead, follow, ease=Ease(zones=zones), notches=notches)
    return PatternSet(
        name="blouse",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": piece}) for name, piece in pieces.items()},
        info={name: PieceInfo(name) for name in pieces},
        relations=Relations(seams={"cap": seam}),
    )


def outward(piece: SizedPiece, first: float, last: float, by: float) -> SizedPiece:
    """The armhole pushed out between two distances along it, its ends and the notch kept."""
    line = piece.edge("armhole").points
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    share = np.clip((along - first) / (last - first), 0.0, 1.0)
    way = np.gradient(line, along, axis=0)
    normal = np.column_stack([way[:, 1], -way[:, 0]]) / np.hypot(*way.T)[:, None]
    new = line + normal * (by * np.sin(np.pi * share) ** 2)[:, None]
    return replace(
        piece,
        edges=tuple(Edge("armhole", new) if e.name == "armhole" else e for e in piece.edges),
    )


def bumped(low: float, high: float) -> SizedPiece:
    """The front with its armhole changed below and above the notch."""
    piece = front()
    piece = outward(piece, UP["front"] + 6.0, length(piece, "armhole"), high)
    return outward(piece, 0.0, UP["front"] - 6.0, low)


def followed(pattern: PatternSet, drawn: SizedPiece, **options) -> PatternSet:
    return revise(pattern, {"front": Piece("front", {"M": drawn})}, **options).pattern


def armhole_parts(piece: SizedPiece) -> tuple[float, float]:
    """Below and above the notch."""
    line = shapely.LineString(piece.edge("armhole").points)
    at = line.project(shapely.Point(piece.landmark("n").point))
    return at, line.length - at


def cap_parts(piece: SizedPiece) -> tuple[float, float, float]:
    """Before, between and behind the notches of the cap."""
    names = [edge for edge in piece.edge_names if edge.startswith("cap")]
    line = np.vstack([piece.edge(name).points for name in names])
    whole = shapely.LineString(line)
    at = [whole.project(shapely.Point(piece.landmark(name).point)) for name in ("nf", "nb")]
    return at[0], at[1] - at[0], whole.length - at[1]


def eases(pattern: PatternSet) -> np.ndarray:
    """The ease below the front's notch, over the crown and below the back's."""
    (low, high), (back_low, back_high) = (
        armhole_parts(pattern.sized(name, "M")) for name in ("front", "back")
    )
    parts = cap_parts(pattern.sized("sleeve", "M"))
    return np.array(parts) - (low, high + back_high, back_low)


CHANGES: dict[str, Callable[[], SizedPiece]] = {
    "above the notch": lambda: bumped(0.0, -8.0),
    "below the notch": lambda: bumped(-6.0, 0.0),
    "above it hollowed": lambda: bumped(0.0, 5.0),
    "on both sides": lambda: bumped(-5.0, -7.0),
    "one way and the other": lambda: bumped(-5.0, 6.0),
    "the underarm": lambda: front({"under": (4.0, -9.0)}),
    "the shoulder tip": lambda: front({"tip": (-6.0, 3.0)}),
    "both ends": lambda: front({"under": (5.0, -4.0), "tip": (-5.0, 3.0)}),
}


@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("edges", [1, 4])
def test_the_draft_has_its_ease_above_the_notches(edges: int, flipped: bool) -> None:
    assert eases(garment(edges, flipped)) == pytest.approx([0.0, CROWN, 0.0], abs=1e-9)


@pytest.mark.parametrize("follow", ["length", "shape"])
@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("edges", [1, 4])
@pytest.mark.parametrize("what", list(CHANGES))
def test_every_stretch_has_its_own_ease(what: str, edges: int, flipped: bool, follow: str) -> None:
    new = followed(garment(edges, flipped), CHANGES[what](), follow=follow)
    assert eases(new) == pytest.approx([0.0, CROWN, 0.0], abs=MEETS_MM)


@examples(20)
@given(
    low=st.floats(-8.0, 4.0),
    high=st.floats(-10.0, 6.0),
    edges=st.sampled_from([1, 4]),
    flipped=st.booleans(),
)
def test_any_change_between_notches_is_met_between_notches(low, high, edges, flipped) -> None:
    """The underarm corners of front and back stayed; so do those of the sleeve."""
    pattern = garment(edges, flipped)
    new = followed(pattern, bumped(low, high))
    assert eases(new) == pytest.approx([0.0, CROWN, 0.0], abs=MEETS_MM)
    before, after = (one.sized("sleeve", "M") for one in (pattern, new))
    for edge in ("left", "hem", "right"):
        assert before.edge(edge) == after.edge(edge)
    if edges == 4:
        assert max(_kinks(after)) < max(_kinks(before)) + 0.5


def _kinks(piece: SizedPiece) -> list[float]:
    """Angles, degrees, at which the edges of the cap meet."""
    found = []
    for first, second in pairwise(CAP):
        ways = [
            np.subtract(line[1], line[0])
            for line in (piece.edge(first).points[-2:], piece.edge(second).points[:2])
        ]
        cross, dot = ways[0][0] * ways[1][1] - ways[0][1] * ways[1][0], ways[0] @ ways[1]
        found.append(abs(float(np.degrees(np.arctan2(cross, dot)))))
    return found


@pytest.mark.parametrize("what", list(CHANGES)[:3])
def test_a_cap_in_four_edges_gets_the_line_that_a_cap_in_one_gets(what: str) -> None:
    lines = [
        shapely.LineString(
            np.vstack([piece.edge(name).points for name in piece.edge_names if name[:3] == "cap"])
        )
        for piece in (
            followed(garment(edges), CHANGES[what]()).sized("sleeve", "M") for edges in (1, 4)
        )
    ]
    assert lines[0].hausdorff_distance(lines[1]) < 0.1


@pytest.mark.parametrize("edges", [1, 4])
def test_what_lies_beyond_the_next_notch_keeps_every_digit(edges: int) -> None:
    pattern = garment(edges)
    new = followed(pattern, bumped(-6.0, 0.0))
    before, after = (one.sized("sleeve", "M") for one in (pattern, new))
    assert before.landmark("nb") == after.landmark("nb")
    if edges == 4:
        assert before.edge("cap_3") == after.edge("cap_3")
    else:
        beyond = before.edge("cap").points[before.edge("cap").arc > before.distance("cap", "nb")]
        assert (after.edge("cap").points[-len(beyond) :] == beyond).all()


def test_a_notch_that_was_moved_on_an_armhole_that_stayed_moves_its_mate_alone() -> None:
    pattern = garment()
    drawn = marked(bodice(GROW, {}, 22.0), "armhole", "n", UP["front"] + 10.0)
    new = followed(pattern, drawn)
    before, after = (one.sized("sleeve", "M") for one in (pattern, new))
    assert before.edges == after.edges
    assert cap_parts(after)[0] == pytest.approx(UP["front"] + 10.0, abs=MEETS_MM)
    assert eases(new) == pytest.approx([0.0, CROWN, 0.0], abs=MEETS_MM)


def test_what_a_pair_was_apart_before_stays() -> None:
    """The cap's notch was set 0.4 mm too far; the change above it does not mend or double that."""
    pattern = garment(extra=0.4)
    assert eases(pattern) == pytest.approx([0.4, CROWN - 0.4, 0.0], abs=1e-9)
    new = followed(pattern, bumped(0.0, -8.0))
    assert eases(new) == pytest.approx([0.4, CROWN - 0.4, 0.0], abs=MEETS_MM)


@pytest.mark.parametrize("edges", [1, 4])
def test_a_share_of_a_stretch_grows_with_the_stretch(edges: int) -> None:
    """The ease over the crown is a share of the armholes above the notches."""
    above = sum(armhole_parts(piece)[1] for piece in (front(), back()))
    new = followed(garment(edges, crown=Ease(share=CROWN / above)), bumped(-6.0, -9.0))
    longer = sum(armhole_parts(new.sized(name, "M"))[1] for name in ("front", "back"))
    assert longer > above + 3.0
    assert eases(new) == pytest.approx([0.0, CROWN * longer / above, 0.0], abs=MEETS_MM)


@pytest.mark.parametrize("edges", [1, 4])
def test_within_its_range_a_stretch_is_left_alone_and_beyond_it_the_nearer_end_is_met(
    edges: int,
) -> None:
    drawn = bumped(-6.0, -8.0)
    more = armhole_parts(drawn)[1] - armhole_parts(front())[1]
    wide = garment(edges, crown=Ease(between=(CROWN - more - 1.0, CROWN + 1.0)))
    new = followed(wide, drawn)
    assert eases(new) == pytest.approx([0.0, CROWN - more, 0.0], abs=MEETS_MM)
    narrow = garment(edges, crown=Ease(between=(CROWN - more + 2.0, CROWN + 1.0)))
    new = followed(narrow, drawn)
    assert eases(new) == pytest.approx([0.0, CROWN - more + 2.0, 0.0], abs=MEETS_MM)


TURN = Motion(complex(np.cos(0.7), np.sin(0.7)), complex(310.0, -55.0))
MIRROR = Motion(complex(np.cos(-1.1), np.sin(-1.1)), complex(-20.0, 400.0), face_down=True)


@pytest.mark.parametrize("motion", [TURN, MIRROR], ids=["turned", "mirrored"])
@pytest.mark.parametrize("edges", [1, 4])
@pytest.mark.parametrize("what", list(CHANGES))
def test_the_cap_is_the_same_however_the_set_is_written(
    what: str, edges: int, motion: Motion
) -> None:
    """From the other ends, in another order, the sleeve turned or drawn face down."""
    plain = followed(garment(edges), CHANGES[what]()).sized("sleeve", "M")
    other = garment(edges, flipped=True)
    seam = other.relations.seams["cap"]
    if motion.face_down:
        swap = {"start": "end", "end": "start"}
        follow = tuple(replace(s, begin=swap[s.begin], end=swap[s.end]) for s in seam.follow)
        seam = replace(seam, follow=follow)
    pieces = dict(reversed(other.pieces.items()))
    pieces["sleeve"] = Piece("sleeve", {"M": laid(other.sized("sleeve", "M"), motion, 1)})
    seam = replace(seam, notches=tuple(reversed(seam.notches)))
    written = replace(other, pieces=pieces, relations=Relations(seams={"cap": seam}))
    again = followed(written, CHANGES[what]()).sized("sleeve", "M")
    for edge in plain.edges:
        line = shapely.LineString(motion.apply(edge.points))
        gap = line.hausdorff_distance(shapely.LineString(again.edge(edge.name).points))
        assert gap < 2e-5, edge.name
    for name in ("nf", "nb"):
        place = motion.apply(np.array([plain.landmark(name).point]))[0]
        assert again.landmark(name).point == pytest.approx(place.tolist(), abs=1e-4)
