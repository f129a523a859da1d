"""What is sewn to an edge that followed its corner is matched too, and walked.

A bodice of front and back, a skirt below and a sleeve in both armholes.  The front leads:
its side moves the back's corners, so the back's waist and armhole change without a seam of
their own, and skirt and sleeve hang on them.  Lengths are judged by shapely.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate.engine.carry import carry_all
from propagate.engine.graph import order_of_work, relation_graph
from propagate.engine.job import Drawn, Job
from propagate.engine.record import EDIT
from propagate.engine.result import Result
from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Run, Seam, parse_run
from tests.examples import examples

SIZES = {"S": 0.0, "M": 12.0, "L": 24.0}
EASE = 24.0
AGREES_MM = 0.05


def _bent(a: tuple[float, float], b: tuple[float, float], depth: float) -> np.ndarray:
    """A parabola between two points that lies `depth` to the left of the chord in the middle."""
    if not depth:
        return np.array([a, b])
    t = np.linspace(0.0, 1.0, 61)[:, None]
    chord = np.subtract(b, a)
    left = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
    return np.asarray(a) + t * chord + 4 * t * (1 - t) * depth * left


def _piece(*edges: tuple[str, np.ndarray]) -> SizedPiece:
    return SizedPiece(
        tuple(Edge(name, points) for name, points in edges), Grain((40.0, 20.0), (40.0, 120.0))
    )


def bodice(grow: float, moved: dict[str, tuple[float, float]], hollow: float) -> SizedPiece:
    """A half bodice; `moved` displaces its corners, `hollow` is the depth of the armhole."""

    def at(name: str, x: float, y: float) -> tuple[float, float]:
        dx, dy = moved.get(name, (0.0, 0.0))
        return (x + dx, y + dy)

    waist, under = at("waist", 180 + grow, 0), at("under", 225 + grow, 190 + grow / 4)
    tip, neck = at("tip", 160 + grow / 2, 365 + grow / 2), (70.0 + grow / 4, 400.0 + grow / 2)
    centre = (0.0, 330.0 + grow / 4)
    return _piece(
        ("waist", _bent((0.0, 0.0), waist, 0.0)),
        ("side", _bent(waist, under, 0.0)),
        ("armhole", _bent(under, tip, hollow)),
        ("shoulder", _bent(tip, neck, 0.0)),
        ("neck", _bent(neck, centre, 30.0)),
        ("centre", np.array([centre, (0.0, 0.0)])),
    )


def skirt(width: float) -> SizedPiece:
    """A half skirt below a waist of some width."""
    low = (width + 60.0, -600.0)
    return _piece(
        ("hem", np.array([(0.0, -600.0), low])),
        ("side", _bent(low, (width, 0.0), -8.0)),
        ("waist", np.array([(width, 0.0), (0.0, 0.0)])),
        ("centre", np.array([(0.0, 0.0), (0.0, -600.0)])),
    )


def sleeve(cap_length: float) -> SizedPiece:
    """A sleeve whose cap has a length."""
    arch = _bent((300.0, 0.0), (0.0, 0.0), -130.0)
    arch = arch * cap_length / shapely.LineString(arch).length
    right, left = tuple(arch[0]), tuple(arch[-1])
    low_right, low_left = (right[0] - 30.0, -160.0), (left[0] + 30.0, -160.0)
    return _piece(
        ("cap", arch),
        ("left", np.array([left, low_left])),
        ("hem", np.array([low_left, low_right])),
        ("right", np.array([low_right, right])),
    )


def garment(flipped: bool = False) -> PatternSet:
    """The set; `flipped` writes every run from its other end."""
    fronts = {size: bodice(grow, {}, 22.0) for size, grow in SIZES.items()}
    backs = {size: bodice(grow, {"tip": (6.0, 8.0)}, 16.0) for size, grow in SIZES.items()}
    for size, back in backs.items():  # shoulders of one length
        assert abs(length(back, "side") - length(fronts[size], "side")) < 1e-9
    caps = {
        size: length(fronts[size], "armhole") + length(backs[size], "armhole") + EASE
        for size in SIZES
    }
    pieces = {
        "front": fronts,
        "back": backs,
        "skirt_front": {size: skirt(180.0 + grow) for size, grow in SIZES.items()},
        "skirt_back": {size: skirt(180.0 + grow) for size, grow in SIZES.items()},
        "sleeve": {size: sleeve(cap) for size, cap in caps.items()},
    }
    runs = {
        "side": (["front.side"], ["back.side"]),
        "waist_front": (["front.waist"], ["skirt_front.waist reversed"]),
        "waist_back": (["back.waist"], ["skirt_back.waist reversed"]),
        "skirt_side": (["skirt_front.side"], ["skirt_back.side"]),
        "armholes": (["front.armhole", "back.armhole reversed"], ["sleeve.cap"]),
    }
    seams = {}
    for name, (lead, follow) in runs.items():
        sides = [parse_run(text) for text in (lead, follow)]
        if flipped:
            sides = [_other_way(run) for run in sides]
        seams[name] = Seam(name, sides[0], sides[1], ease=EASE if name == "armholes" else 0.0)
    return PatternSet(
        name="frock",
        sizes=tuple(SIZES),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, nest) for name, nest in pieces.items()},
        info={name: PieceInfo(name) for name in pieces},
        relations=Relations(seams=seams),
    )


def _other_way(run: Run) -> Run:
    return tuple(replace(span, begin=span.end, end=span.begin) for span in reversed(run))


def length(piece: SizedPiece, edge: str) -> float:
    return float(shapely.LineString(piece.edge(edge).points).length)


def apart(pattern: PatternSet, size: str) -> dict[str, float]:
    """By how much every seam is off, by shapely."""
    off = {}
    for seam in pattern.relations.seams.values():
        lead, follow = (
            sum(length(pattern.sized(span.piece, size), span.edge) for span in run)
            for run in (seam.lead, seam.follow)
        )
        off[seam.name] = follow - lead - seam.ease
    return off


def revised(pattern: PatternSet, moved, hollow: float, **options) -> Revised:
    drawn = bodice(SIZES["M"], moved, hollow)
    return revise(pattern, {"front": Piece("front", {"M": drawn})}, **options)


def again(pattern: PatternSet, size: str) -> Result:
    """Propagate without an edit: every edge of the front counts as changed."""
    nodes = tuple(f"front.{name}" for name in pattern.sized("front", size).edge_names)
    drawn = Drawn("propagation without an edit", {"kind": "settle"}, visit=nodes)
    return carry_all(Job(pattern, size, size, size), drawn)


def assert_holds(pattern: PatternSet, result: Revised) -> None:
    """Everything that this file is about, on one result."""
    walks = {size: propagate.walk(result.pattern, size, cut_lines=False) for size in SIZES}
    assert result.sews == all(walk.sews for walk in walks.values())
    for size, walk in walks.items():
        assert max(map(abs, apart(result.pattern, size).values())) <= AGREES_MM, size
        if size in result.records:
            told = {row.name: row.difference for row in result.records[size].seams}
            found = {check.name: check.difference for check in walk.of("seam")}
            assert all(told[name] == pytest.approx(found[name], abs=1e-9) for name in told)
            assert_chains(result, size)
        second = again(result.pattern, size).pattern
        for name in pattern.pieces:
            assert second.pieces[name].at(size) is result.pattern.sized(name, size), (name, size)


def assert_chains(result: Revised, size: str) -> None:
    """Every change is led back to the edit, without going round."""
    causes = {change.id: change.cause for change in result.records[size].changes}
    for change in causes:
        seen, at = set(), change
        while causes[at] is not None:
            assert at not in seen, f"{change} goes round"
            seen.add(at)
            at = causes[at]
        assert at == EDIT


moves = st.tuples(st.floats(-14, 14), st.floats(-14, 14))


@examples(12)
@given(
    moved=st.fixed_dictionaries({}, optional={"waist": moves, "under": moves, "tip": moves}),
    hollow=st.floats(12, 32),
    follow=st.sampled_from(["length", "shape"]),
    flipped=st.booleans(),
)
def test_what_hangs_on_a_corner_follows_it(moved, hollow, follow, flipped):
    pattern = garment(flipped)
    assert_holds(pattern, revised(pattern, moved, hollow, follow=follow))


def test_the_garment_sews_before():
    for flipped in (False, True):
        pattern = garment(flipped)
        for size in SIZES:
            assert max(map(abs, apart(pattern, size).values())) < 1e-9


@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("follow", ["length", "shape"])
def test_the_skirt_follows_a_waist_that_no_seam_changed(flipped, follow):
    """A longer side of the front moves the back's corners, and so the back skirt's waist."""
    pattern = garment(flipped)
    result = revised(pattern, {"waist": (3.0, -12.0)}, 22.0, follow=follow)
    assert_holds(pattern, result)
    assert result.sews
    rows = {row.name for row in result.records["M"].seams}
    changed = {change.id for change in result.records["M"].changes}
    assert {"back.waist", "skirt_back.waist"} <= changed
    assert {"waist_back", "skirt_side"} <= rows


def test_a_cap_that_gets_much_shorter_gives_at_both_ends():
    """One end cannot give 34 mm: beyond some move along its tangent the arch grows again."""
    moved = {"under": (-7.0, 13.0), "tip": (-4.0, -14.0)}
    for flipped in (False, True):
        pattern = garment(flipped)
        result = revised(pattern, moved, 19.6)
        assert_holds(pattern, result)
        old, new = (p.sized("sleeve", "M") for p in (pattern, result.pattern))
        assert length(new, "cap") < length(old, "cap") - 30.0


def test_the_sleeve_is_matched_after_the_side():
    """The back's armhole follows the corner of its side, so the side comes first."""
    pattern = garment()
    order = order_of_work(pattern, ["front.side", "front.armhole"])
    assert order.index(("seam", "side")) < order.index(("seam", "armholes"))
    wide = order_of_work(pattern, ["front.side", "front.armhole"], wide=True)
    assert wide.index(("seam", "side")) < wide.index(("seam", "waist_back"))
    assert ("seam", "waist_back") not in order, "no relation but a corner leads there"


@pytest.mark.parametrize("flipped", [False, True])
def test_two_seams_that_write_each_others_leads_through_corners_settle(flipped):
    """Side and waist of the back each lead a skirt's edge, which share a corner there."""
    pattern = garment(flipped)
    seams = dict(pattern.relations.seams)
    seams["skirt_side"] = replace(
        seams["skirt_side"], lead=seams["skirt_side"].follow, follow=seams["skirt_side"].lead
    )
    pattern = replace(pattern, relations=Relations(seams=seams))
    relation_graph(pattern)  # not refused: only corners go round
    result = revised(pattern, {"waist": (9.0, -7.0), "under": (5.0, 4.0)}, 25.0)
    assert_holds(pattern, result)
    assert result.sews


def three_cornered(dx: float, end: float) -> SizedPiece:
    """A piece whose two lower edges meet at 178 degrees; `end` and `dx` lengthen them."""
    left, right = (-end, 0.0), (199.0 + dx, 3.0)
    return _piece(
        ("first", np.array([left, (100.0, 0.0)])),
        ("second", np.array([(100.0, 0.0), right])),
        ("top", np.array([right, (100.0, 150.0), left])),
    )


def test_a_flat_corner_that_two_seams_share_gives_no_length_to_both():
    """Each asks 6 mm of a corner at 178 degrees: to move it far aside is no answer."""
    seams = {
        "a": Seam("a", parse_run("lead.first reversed"), parse_run("mate.first reversed")),
        "b": Seam("b", parse_run("other.second"), parse_run("mate.second")),
    }
    names = ("lead", "other", "mate")
    pattern = PatternSet(
        name="flat",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": three_cornered(0.0, 0.0)}) for name in names},
        info={name: PieceInfo(name) for name in names},
        relations=Relations(seams=seams),
    )
    # The corner between the two edges is the one that moved, on both leads.
    sent = {
        "lead": _piece(
            ("first", np.array([(0.0, 0.0), (106.0, 0.0)])),
            ("second", np.array([(106.0, 0.0), (199.0, 3.0)])),
            ("top", np.array([(199.0, 3.0), (100.0, 150.0), (0.0, 0.0)])),
        ),
        "other": _piece(
            ("first", np.array([(0.0, 0.0), (94.0, 0.0)])),
            ("second", np.array([(94.0, 0.0), (199.0, 3.0)])),
            ("top", np.array([(199.0, 3.0), (100.0, 150.0), (0.0, 0.0)])),
        ),
    }
    result = revise(pattern, {name: Piece(name, {"M": piece}) for name, piece in sent.items()})
    assert result.sews == propagate.walk(result.pattern, "M", cut_lines=False).sews
    assert result.sews
    assert max(map(abs, apart(result.pattern, "M").values())) <= AGREES_MM
    mate = result.pattern.sized("mate", "M")
    # By hand: each edge gets its 6 mm at its own far end, along its own line.
    assert mate.edge("first").points[0] == pytest.approx([-6.0, 0.0], abs=0.3)
    assert mate.edge("second").points[-1] == pytest.approx([205.0, 3.2], abs=0.3)
