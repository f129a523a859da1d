"""Seams that are written from different ends on their two sides."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.levels import find_parted_levels, shared_levels
from propagate.engine.review.notches import find_faulty_notches, notch_places
from propagate.engine.review.ring import Joined, find_against_ring, list_joined
from propagate.engine.review.taken import level_place, pick_sizes, pieces_of, say_run
from propagate.geometry.motion import fit
from propagate.geometry.polyline import join
from propagate.geometry.profile import tangent_profile
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import run_length, span_ends, span_points
from propagate.tolerances import ON_LINE_MM

__all__ = ["review_seams"]

AGREE_MM, CROSS_MM = 3.0, 10.0
"""Marks that agree one way, and lie this far apart the other way, prove that way."""
LEVELS_MM = 20.0, 60.0
"""The same of levels, which shaping and a slanted side move along a seam."""
ALIKE_DEG, OTHER_DEG = 1.0, 4.0
"""The same of the shapes of two lines laid along each other."""
CORNER_DEG, CROSS_DEG = 2.0, 15.0
"""The same of the corners at their ends, which add up to 180 degrees, or are equal on layers."""
LEANS_DEG = 10.0
"""Corners that fit better by this the other way make the direction worth a look."""


def review_seams(pattern: PatternSet) -> Iterator[Finding]:
    """Find seams and zones written backwards; of the others, levels and notches that are off."""
    seams = [seam for seam in pattern.relations.seams.values() if not seam.mirror]
    proofs = {seam.name: _find_proof(pattern, seam) for seam in seams}
    turned = {name for name, (way, _) in proofs.items() if way < 0}
    for seam in seams:
        if seam.name in turned:
            yield Finding(
                "seam written backwards",
                f"seam '{seam.name}', size '{pattern.base}'",
                f"found that {say_run(seam.lead)} and {say_run(seam.follow)} do not begin at "
                f"the same end: {proofs[seam.name][1]}; expected both sides written from the "
                "same end. Probably the one side is written in the wrong direction: add "
                "'reversed' to one of them (or take it away)",
                pieces_of(seam.lead, seam.follow),
                sews=False,
            )
    cures = [
        one
        for one in find_against_ring(*list_joined(pattern))
        if one.seam is None or proofs[one.seam][0] <= 0
    ]
    if cures and not any(one.seam in turned for one in cures):
        yield _tell_against_ring(cures)
        turned |= {one.seam for one in cures if one.seam}
    else:
        for seam in seams:
            lean = None if proofs[seam.name][0] else _find_lean(pattern, seam)
            if lean is not None:
                yield lean
    yield from find_faulty_notches(pattern, without=turned)
    yield from find_parted_levels(pattern, without=turned)


def _tell_against_ring(cures: list[Joined]) -> Finding:
    names = " or ".join(dict.fromkeys(one.name for one in cures))
    zone = all(one.seam is None for one in cures)
    return Finding(
        "zone written backwards" if zone else "seam written backwards",
        names,
        "found that its ends meet crosswise: followed from corner to corner through the other "
        "seams, the start of the one side comes to the end of the other; expected both sides "
        "written from the same end. Probably "
        + ("one of them" if len(cures) > 1 else "the run" if zone else "one side")
        + " is written in the wrong direction: add 'reversed' (or take it away)",
        tuple(dict.fromkeys(piece for one in cures for piece in one.pieces)),
        sews=False,
    )


# --------------------------------------------------------------------------------- proofs


def _find_proof(pattern: PatternSet, seam: Seam) -> tuple[int, str]:
    """What proves the direction of a seam: +1 as written, -1 the other way, with its words."""
    for look in (_prove_by_marks, _prove_by_layers, _prove_by_shape):
        way, words = look(pattern, seam)
        if way:
            return way, words
    misfits = _corner_misfits(pattern, seam)
    if misfits is None:
        return 0, ""
    words = (
        f"the corners at the two ends are off by {misfits[0]:.0f}° as written, and fit within "
        f"{misfits[1]:.1f}° from the other end"
    )
    return _judge_fit(*misfits, CORNER_DEG, CROSS_DEG), words


def _judge_fit(off: float, other: float, agree: float, cross: float) -> int:
    """1 when it fits as written and not the other way, -1 the other way round, else 0."""
    if off <= agree and other >= cross:
        return 1
    return -1 if other <= agree and off >= cross else 0


def _prove_by_marks(pattern: PatternSet, seam: Seam) -> tuple[int, str]:
    """Notch pairs and levels that meet."""
    size, base = pattern.base, pick_sizes(pattern).index(pattern.base)
    total = run_length(pattern.in_size(size), seam.follow)
    notched, levelled = [], []
    for pair in seam.notches:
        both = notch_places(pattern, seam, pair)
        if both is not None:
            notched.append((float(both[0][base]), float(both[1][base]), f"notch '{pair[0]}'"))
    for level in shared_levels(pattern, seam):
        ours, theirs = (level_place(pattern, run, level, size) for run in (seam.lead, seam.follow))
        if ours is not None and theirs is not None:
            levelled.append((ours, theirs, f"level '{level}'"))
    for places, agree, cross in ((notched, AGREE_MM, CROSS_MM), (levelled, *LEVELS_MM)):
        if places:
            off = max(abs(a - b) for a, b, _ in places)
            way = _judge_fit(off, max(abs(a - (total - b)) for a, b, _ in places), agree, cross)
            a, b, what = max(places, key=lambda one: abs(one[0] - one[1]))
            if way:
                return way, (
                    f"{what} lies {a:.1f} mm from the start of the one and {b:.1f} mm of the other"
                )
    return 0, ""


def _prove_by_shape(pattern: PatternSet, seam: Seam) -> tuple[int, str]:
    """Two lines of the same shape, which is not the same from its other end."""
    profiles = []
    for run in (seam.lead, seam.follow):
        piece = pattern.sized(run[0].piece, pattern.base)
        edges = {span.edge for span in run}
        if len(pieces_of(run)) != 1 or any(dart.edge in edges for dart in piece.darts):
            return 0, ""
        profiles.append(tangent_profile(join([span_points(piece, span) for span in run])))
    a, b = profiles
    off, other = (
        min(float(np.sqrt(np.mean((a - sign * way) ** 2))) for sign in (1, -1))
        for way in (b, b[::-1])
    )
    words = "the shape of the one is that of the other from its other end"
    return _judge_fit(off, other, ALIKE_DEG, OTHER_DEG), words


def _measure_angles(pattern: PatternSet, run: Run) -> tuple[float, float] | None:
    """Interior angles at the start and the end of a run; None when it ends on the way."""
    found = []
    for span, at_begin in ((run[0], True), (run[-1], False)):
        piece = pattern.sized(span.piece, pattern.base)
        index = piece.edge_names.index(span.edge)
        place = span_ends(piece, span)[0 if at_begin else 1]
        if place <= ON_LINE_MM:
            first, second = index - 1, index
        elif place >= piece.edges[index].length - ON_LINE_MM:
            first, second = index, (index + 1) % len(piece.edges)
        else:
            return None
        before, after = piece.edges[first], piece.edges[second]
        found.append(before.angle_to(after))
    return found[0], found[1]


def _corner_misfits(pattern: PatternSet, seam: Seam) -> tuple[float, float] | None:
    """How far corners are from adding up to 180 degrees, or being equal: written, turned."""
    ours, theirs = _measure_angles(pattern, seam.lead), _measure_angles(pattern, seam.follow)
    if ours is None or theirs is None:
        return None
    misfits = []
    for way in (theirs, theirs[::-1]):
        sums = max(abs(a + b - 180.0) for a, b in zip(ours, way, strict=True))
        equal = max(abs(a - b) for a, b in zip(ours, way, strict=True))
        misfits.append(min(sums, equal))
    return misfits[0], misfits[1]


def _find_lean(pattern: PatternSet, seam: Seam) -> Finding | None:
    """A seam whose direction nothing proves and whose corners fit better the other way."""
    misfits = _corner_misfits(pattern, seam)
    if misfits is None or misfits[1] > CORNER_DEG * 2 or misfits[0] - misfits[1] < LEANS_DEG:
        return None
    return Finding(
        "direction not checked",
        f"seam '{seam.name}'",
        f"found no notch, level or shape that proves from which end {say_run(seam.follow)} is "
        f"sewn to {say_run(seam.lead)}, and its corners fit better the other way "
        f"({misfits[1]:.1f}° off instead of {misfits[0]:.0f}°); expected something that tells. "
        "Look at the two ends: if they do not meet as written add 'reversed' to one side (or take "
        "it away); a notch pair settles it",
        pieces_of(seam.lead, seam.follow),
    )


def _prove_by_layers(pattern: PatternSet, seam: Seam) -> tuple[int, str]:
    """Layers of one pocket, laid as they are sewn: their ends lie on each other."""
    for stack in pattern.relations.stacks.values():
        main = pattern.sized(pattern.relations.openings[stack.opening].piece, pattern.base)
        laid = {layer.piece: layer for layer in stack.layers}
        sides = []
        for run in (seam.lead, seam.follow):
            if len(pieces_of(run)) != 1 or run[0].piece not in laid:
                break
            layer = laid[run[0].piece]
            piece = pattern.sized(layer.piece, pattern.base)
            motion, _ = fit(
                [piece.landmark(own).point for own, _ in layer.put],
                [main.landmark(theirs).point for _, theirs in layer.put],
                face_down=layer.face_down,
            )
            ends = span_points(piece, run[0])[0], span_points(piece, run[-1])[-1]
            sides.append(motion.apply(np.array(ends)))
        else:
            off, other = (
                float(np.hypot(*(sides[0] - way).T).max()) for way in (sides[1], sides[1][::-1])
            )
            words = f"laid on each other in the pocket their starts are {off:.1f} mm apart"
            return _judge_fit(off, other, AGREE_MM, CROSS_MM), words
    return 0, ""
