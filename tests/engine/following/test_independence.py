"""An answer depends on no name, order, direction or frame.

A frock whose sleeve cap is one edge, sewn to two armholes by halves up to a notch.  It is
written in other ways (runs from their other ends, other names, pieces turned and mirrored,
outlines that start at another edge), the same change is made, and the answers are laid over
each other again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.ops import substring

from propagate.engine.revise import revise
from propagate.geometry.motion import Motion
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, Span, parse_run
from tests.engine.test_corners_that_follow import SIZES, bodice, garment
from tests.examples import part_of

MOVES = {
    "a longer shoulder": ({"tip": (-7.0, 2.5)}, 22.0),
    "a lower armhole": ({"under": (4.0, -9.0)}, 22.0),
    "a waist let down": ({"waist": (0.0, -12.0)}, 22.0),
    "a deeper armhole between its ends": ({}, 27.0),
    "everything": ({"under": (5.0, -4.0), "tip": (-5.0, 3.0), "waist": (6.0, 0.0)}, 25.0),
}


def by_halves(pattern: PatternSet) -> PatternSet:
    """The cap sewn by halves up to a notch, and a shoulder seam."""
    nest = {}
    for size, sleeve in pattern.pieces["sleeve"].nest.items():
        front = pattern.sized("front", size).edge("armhole").length
        cap = sleeve.edge("cap")
        along = (front + 12.0) / cap.length
        point = shapely.LineString(cap.points).interpolate(along, normalized=True)
        mark = Landmark("top", "cap", (point.x, point.y), "notch")
        nest[size] = replace(sleeve, landmarks=(mark,))
    seams = {n: s for n, s in pattern.relations.seams.items() if n != "armholes"}
    for name, lead, follow in (
        ("cap_front", "front.armhole", "sleeve.cap to top"),
        ("cap_back", "back.armhole reversed", "sleeve.cap from top"),
    ):
        lengths = [
            sum(
                abs(np.subtract(*(p.distance(s.edge, m) for m in (s.begin, s.end))))
                for s in parse_run(text)
                for p in [nest["M"] if s.piece == "sleeve" else pattern.sized(s.piece, "M")]
            )
            for text in (lead, follow)
        ]
        ease = float(lengths[1] - lengths[0])
        seams[name] = Seam(name, parse_run(lead), parse_run(follow), ease=ease)
    front, back = (pattern.sized(n, "M").edge("shoulder").length for n in ("front", "back"))
    lead, follow = parse_run("front.shoulder"), parse_run("back.shoulder")
    seams["shoulder"] = Seam("shoulder", lead, follow, ease=back - front)
    return replace(
        pattern,
        pieces={**pattern.pieces, "sleeve": Piece("sleeve", nest)},
        relations=Relations(seams=seams),
    )


def laid(piece: SizedPiece, motion: Motion, start: int) -> SizedPiece:
    """A piece in another frame, its outline starting at another edge."""

    def put(point: tuple[float, float]) -> tuple[float, float]:
        x, y = motion.apply(np.array([point]))[0]
        return (float(x), float(y))

    edges = [Edge(e.name, motion.apply(e.points)) for e in piece.edges]
    if motion.face_down:
        edges = [Edge(e.name, e.points[::-1]) for e in reversed(edges)]
    return SizedPiece(
        tuple(edges[start:] + edges[:start]),
        Grain(put(piece.grain.start), put(piece.grain.end)),
        tuple(replace(mark, point=put(mark.point)) for mark in piece.landmarks),
    )


def renamed(pattern: PatternSet, name: Callable[[str], str]) -> PatternSet:
    def run(spans: tuple[Span, ...]) -> tuple[Span, ...]:
        return tuple(replace(span, piece=name(span.piece)) for span in spans)

    seams = {
        name(s.name): replace(s, name=name(s.name), lead=run(s.lead), follow=run(s.follow))
        for s in reversed(pattern.relations.seams.values())
    }
    return replace(
        pattern,
        pieces={name(n): Piece(name(n), p.nest) for n, p in reversed(pattern.pieces.items())},
        info={name(n): PieceInfo(n) for n in reversed(pattern.pieces)},
        relations=Relations(seams=seams),
    )


def other_ends(pattern: PatternSet) -> PatternSet:
    def run(spans: tuple[Span, ...]) -> tuple[Span, ...]:
        return tuple(replace(s, begin=s.end, end=s.begin) for s in reversed(spans))

    seams = {
        s.name: replace(s, lead=run(s.lead), follow=run(s.follow))
        for s in pattern.relations.seams.values()
    }
    return replace(pattern, relations=Relations(seams=seams))


TURN = Motion(complex(np.cos(0.7), np.sin(0.7)), complex(310.0, -55.0))
MIRROR = Motion(complex(np.cos(-1.1), np.sin(-1.1)), complex(-20.0, 400.0), face_down=True)


def in_frames(pattern: PatternSet) -> tuple[PatternSet, Mapping[str, Motion]]:
    """Followers turned and mirrored; a mirrored outline runs the other way round."""
    motions = {"back": MIRROR, "sleeve": TURN, "skirt_front": MIRROR}
    pieces = dict(pattern.pieces)
    mirrored = {name for name, motion in motions.items() if motion.face_down}
    for k, (name, motion) in enumerate(motions.items()):
        nest = pattern.pieces[name].nest
        pieces[name] = Piece(name, {s: laid(p, motion, k + 1) for s, p in nest.items()})

    def span(one: Span) -> Span:
        if one.piece not in mirrored:
            return one
        turned = {"start": "end", "end": "start"}
        return replace(
            one, begin=turned.get(one.begin, one.begin), end=turned.get(one.end, one.end)
        )

    seams = {
        s.name: replace(s, lead=tuple(map(span, s.lead)), follow=tuple(map(span, s.follow)))
        for s in pattern.relations.seams.values()
    }
    return replace(pattern, pieces=pieces, relations=Relations(seams=seams)), motions


def answer(pattern: PatternSet, front: str, moved, hollow: float, follow: str) -> PatternSet:
    drawn = {size: bodice(grow, moved, hollow) for size, grow in SIZES.items()}
    return revise(pattern, {front: Piece(front, drawn)}, follow=follow).pattern


def assert_alike(first: SizedPiece, second: SizedPiece, motion: Motion | None) -> None:
    for edge in first.edges:
        line = edge.points if motion is None else motion.apply(edge.points)
        other = second.edge(edge.name).points
        gap = shapely.LineString(line).hausdorff_distance(shapely.LineString(other))
        assert gap < 2e-5, edge.name


@pytest.mark.parametrize(
    ("what", "follow"),
    [*((what, "length") for what in MOVES), *((what, "shape") for what in part_of(MOVES, 3))],
)
def test_the_answer_is_the_same_however_the_set_is_written(what: str, follow: str) -> None:
    moved, hollow = MOVES[what]
    pattern = by_halves(garment())
    plain = answer(pattern, "front", moved, hollow, follow)
    name = {
        n: f"{chr(ord('z') - k)}_{n}"
        for k, n in enumerate([*pattern.pieces, *pattern.relations.seams])
    }
    named = answer(renamed(pattern, name.__getitem__), name["front"], moved, hollow, follow)
    turned = answer(other_ends(pattern), "front", moved, hollow, follow)
    framed, motions = in_frames(pattern)
    laid_over = answer(framed, "front", moved, hollow, follow)
    for piece in pattern.pieces:
        for size in SIZES:
            own = plain.sized(piece, size)
            assert_alike(own, named.sized(name[piece], size), None)
            assert_alike(own, turned.sized(piece, size), None)
            assert_alike(own, laid_over.sized(piece, size), motions.get(piece))


@pytest.mark.parametrize("what", list(MOVES))
def test_every_seam_is_met_and_twice_is_once(what: str) -> None:
    """Lengths by shapely; a second revision with the same drawing changes nothing."""
    moved, hollow = MOVES[what]
    pattern = by_halves(garment())
    once = answer(pattern, "front", moved, hollow, "length")
    for size in SIZES:
        for seam in pattern.relations.seams.values():
            sides = []
            for run in (seam.lead, seam.follow):
                total = 0.0
                for span in run:
                    piece = once.sized(span.piece, size)
                    ends = [piece.distance(span.edge, mark) for mark in (span.begin, span.end)]
                    line = shapely.LineString(piece.edge(span.edge).points)
                    total += substring(line, min(ends), max(ends)).length
                sides.append(total)
            own = 0.0 if size == "M" or seam.ease == 0.0 else 0.5
            assert abs(sides[1] - sides[0] - seam.ease) < 0.05 + own, (size, seam.name)
    again = answer(once, "front", moved, hollow, "length")
    for piece in once.pieces:
        for size in SIZES:
            assert once.sized(piece, size) == again.sized(piece, size)
