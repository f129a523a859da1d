"""Find darts that two notches and a drill mark tell.

With corners at the notches the outline falls into three edges there, or into four where the mouth
is shaped as it is folded and has a peak.  Without them that is weaker: a drill mark may as well
give the place of a pocket.  So the mark must then lie in the middle between two notches, in
every size, and no other mark or notch may fit as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from propagate.geometry.corner import turn_between
from propagate.pattern.dart_shape import (
    AT_CORNER_MM,
    LEG_MM,
    LEGS_MM,
    MOUTH_MM,
    OFF_AXIS,
    SLASH_MM,
)
from propagate.pattern.model import Array, Dart, Edge, Landmark, SizedPiece
from propagate.recognise.joined_edges import chain_edges, put_on_one_edge
from propagate.values import dataclass

__all__ = ["CornerDart", "MarkedDart", "corner_dart", "mark_dart", "marked_darts", "one_edge"]

MOST_LINES = 4
"""What is told of a piece about drill marks that are no darts."""
AT_CORNER = 0.05
"""Beside a wide mouth that turns by more, as a share of it."""
RUNS_ON_DEG = 30.0
"""Beside a closed dart an edge has no corner that turns by more; common practice, no source."""
PLEAT_SLOPE_DEG = 5.0
"""An edge that runs closer along a mouth gives a pleat no peak that could be seen."""
PARALLEL = 0.2
"""Fold lines of a pleat come together by no more of what they are apart."""
BESIDE = 1.0
"""A drill mark within this many mouths of the middle is near enough to be spoken of."""


# ------------------------------------------------------------------ corners at the notches


@dataclass(frozen=True)
class CornerDart:
    """Edges in a row, the notches at the ends of the mouth, and the drill mark.

    Attributes
    ----------
    edges : tuple of str
        The edge before the mouth, the mouth's one or two, and the edge after it.
    legs : (str, str)
        The notches.
    drill : str
    """

    edges: tuple[str, ...]
    legs: tuple[str, str]
    drill: str


def corner_dart(pieces: Mapping[str, SizedPiece], base: str) -> CornerDart | None:
    """The first dart that every size shows."""
    piece = pieces[base]
    count = len(piece.edges)
    notches = [mark for mark in piece.landmarks if mark.kind == "notch"]
    # Three edges in a row and at least two more close an outline.
    if count < 5 or not notches:
        return None
    tips = np.array([drill.point for drill in piece.drills]).reshape(-1, 2)
    corners = np.array([edge.points[0] for edge in piece.edges])
    apart = corners[:, None] - np.array([mark.point for mark in notches])
    far = np.hypot(apart[:, :, 0], apart[:, :, 1])
    at_start = [notches[k] for k in far.argmin(axis=1).tolist()]
    off = far.min(axis=1)
    for i, parts in product(range(count), (1, 2)):
        after = (i + parts) % count
        first, second = at_start[i], at_start[after]
        reach = _reach_at_corner(corners[i], corners[after])
        if max(float(off[i]), float(off[after])) > reach or count < parts + 4:
            continue
        edges = tuple(piece.edges[(i + k) % count].name for k in range(-1, parts + 1))
        legs = np.hypot(*(tips[:, None] - corners[[i, after]]).transpose(2, 0, 1))
        level = np.flatnonzero(np.abs(legs[:, 0] - legs[:, 1]) <= LEGS_MM)
        # Of two on the axis the nearer is drilled short of the tip; common practice, no source.
        for index in sorted(level.tolist(), key=lambda k: (legs[k, 0] > LEG_MM, -legs[k, 0])):
            found = CornerDart(edges, (first.name, second.name), piece.drills[index].name)
            if all(_is_dart(sized, found) for sized in pieces.values()):
                return found
    return None


def _is_dart(piece: SizedPiece, candidate: CornerDart) -> bool:
    """Legs of the same length, longer than the mouth is wide, on the inner side of it."""
    before, *mouth, after = (piece.edge(name) for name in candidate.edges)
    ends = np.array([mouth[0].points[0], mouth[-1].points[-1]])
    marks = [piece.landmark(name).point for name in candidate.legs]
    if float(np.hypot(*(ends - np.array(marks)).T).max()) > _reach_at_corner(*ends):
        return False
    tip = np.array(_find_drill(piece, candidate.drill))
    legs = np.hypot(*(tip - ends).T)
    chord = ends[1] - ends[0]
    inward = np.array([-chord[1], chord[0]])  # the outline runs counter-clockwise
    long = sum(edge.length for edge in mouth)
    return bool(
        0 < long <= MOUTH_MM
        and abs(float(legs[0] - legs[1])) <= LEGS_MM
        and legs.min() > np.hypot(*chord)
        and (tip - ends[0]) @ inward > 0
        and (len(mouth) == 1 or _is_folded(before, mouth, after, tip))
        and not _has_parallel_lines(piece, ends)
        and (len(mouth) == 1 or not _is_pleat(before, mouth, after, tip))
    )


def _reach_at_corner(first: Array, second: Array) -> float:
    """How far a notch may stand from the end of a mouth, mm."""
    return max(AT_CORNER_MM, AT_CORNER * float(np.hypot(*(second - first))))


def _is_folded(before: Edge, mouth: Sequence[Edge], after: Edge, tip: Array) -> bool:
    """Whether a mouth with a peak is that of a dart, and no point that a piece ends with.

    Both halves lie on each other when the dart is folded, and the edges beside it run on when it
    is closed.
    """
    if abs(mouth[0].length - mouth[1].length) > LEGS_MM:
        return False
    first, second = mouth[0].points[0] - tip, mouth[-1].points[-1] - tip
    into = before.points[-1] - before.points[-2]
    leaving = after.points[1] - after.points[0]
    turn = turn_between(into, leaving) - turn_between(first, second)
    return bool(abs(np.degrees(turn + np.pi) % 360.0 - 180.0) <= RUNS_ON_DEG)


def _is_pleat(before: Edge, mouth: Sequence[Edge], after: Edge, tip: Array) -> bool:
    """Whether a mouth with a peak is shaped as a pleat is folded: on parallel lines.

    Folded to one side, a half of the mouth is the image of the edge beside it, in the leg of a
    dart or in the fold line of a pleat, which is square to the mouth.  Closed, the edges on both
    sides run on: those of a dart are turned by its angle, those of a pleat are only moved.  On an
    edge that runs along the mouth a pleat has no peak.
    """
    ends = np.array([mouth[0].points[0], mouth[-1].points[-1]])
    chord = ends[1] - ends[0]
    into, leaving = before.points[-1] - before.points[-2], after.points[1] - after.points[0]
    slopes = np.degrees([turn_between(chord, into), turn_between(chord, leaving)])
    if np.abs(slopes).min() < PLEAT_SLOPE_DEG or slopes[0] * slopes[1] < 0:
        return False
    # Where it is folded to, the edge and its image lie on one side of the mouth.
    fold = np.array([chord[1], -chord[0]])
    rises = (mouth[0].points[-1] - ends[0]) @ fold > 0
    first = rises == (slopes[0] > 0)
    at, beside = (ends[0], -into) if first else (ends[1], leaving)
    half = mouth[0].points[1] - at if first else mouth[-1].points[-2] - at
    image = _measure_fold(beside, half)
    angle = abs(np.degrees(turn_between(ends[0] - tip, ends[1] - tip)))
    turned = np.degrees(turn_between(into, leaving))
    off_dart = abs(abs(turned) - angle) + _measure_off(image, at - tip)
    off_pleat = abs(turned) + _measure_off(image, fold)
    return bool(off_pleat < off_dart / 2.0)


def _measure_fold(one: Array, other: Array) -> Array:
    """The direction of the line in which one direction is the image of another."""
    return np.asarray(one / np.hypot(*one) + other / np.hypot(*other))


def _measure_off(one: Array, other: Array) -> float:
    """The angle between two lines, whichever way they run, degrees."""
    off = abs(float(np.degrees(turn_between(one, other))))
    return min(off, 180.0 - off)


def _has_parallel_lines(piece: SizedPiece, ends: Array) -> bool:
    """Whether lines begin at both ends of a mouth and run as far apart as these: fold lines."""
    first, second = (
        [
            points[-1] - points[0]
            for line in piece.lines
            for points in (line.points, line.points[::-1])
            if np.hypot(*(points[0] - end)) <= AT_CORNER_MM
        ]
        for end in ends
    )
    within = PARALLEL * float(np.hypot(*(ends[1] - ends[0])))
    return any(np.hypot(*(one - other)) <= within for one in first for other in second)


def _find_drill(piece: SizedPiece, name: str) -> tuple[float, float]:
    return next(mark.point for mark in piece.drills if mark.name == name)


def one_edge(piece: SizedPiece, candidate: CornerDart, name: str) -> SizedPiece:
    """Make one edge of those in a row, with the dart on it."""
    edge = chain_edges([piece.edge(edge) for edge in candidate.edges])
    mouth = piece.edge(candidate.edges[1]).ends[0], piece.edge(candidate.edges[-2]).ends[1]
    ends = dict(zip(candidate.legs, mouth, strict=True))
    landmarks = tuple(
        Landmark(mark.name, edge.name, ends[mark.name], "dart leg")
        if mark.name in ends
        else (replace(mark, edge=edge.name) if mark.edge in candidate.edges else mark)
        for mark in piece.landmarks
    )
    drills = tuple(mark for mark in piece.drills if mark.name != candidate.drill)
    dart = Dart(name, edge.name, candidate.legs, _find_drill(piece, candidate.drill))
    changed = replace(piece, landmarks=landmarks, drills=drills)
    return put_on_one_edge(changed, edge, candidate.edges[1:], dart)


# ------------------------------------------------------------------------------ on one edge


@dataclass(frozen=True)
class MarkedDart:
    """Two notches and a drill mark.

    Attributes
    ----------
    legs : (str, str)
        Notches, in the order of the outline.
    drill : str
    mouth, beside : float
        From notch to notch, and the mark from the middle between them, mm in the base size.
    lengths : (float, float)
        Of the legs in the base size, mm.
    against : str
        Why it is none; empty where nothing speaks against it.
    """

    legs: tuple[str, str]
    drill: str
    mouth: float
    beside: float
    lengths: tuple[float, float]
    against: str


def marked_darts(nest: Mapping[str, SizedPiece], base: str) -> list[MarkedDart]:
    """Return drill marks that lie inside of two notches, each with the notches that fit best.

    Those that are darts do not share a notch or a mark with each other.
    """
    looked = [_judge_triple(nest, *triple, base) for triple in _list_triples(nest[base])]
    good = [one for one in looked if not one.against]
    clear: list[MarkedDart] = []
    for one in good:
        rivals = [
            other
            for other in good
            if other is not one
            and (other.drill == one.drill or not {*other.legs}.isdisjoint(one.legs))
        ]
        if rivals and rivals[0].legs == one.legs:
            one = replace(one, against=f"drill mark '{rivals[0].drill}' fits as well")
        elif rivals:
            a, b = rivals[0].legs
            one = replace(one, against=f"notches '{a}' and '{b}' fit as well")
        clear.append(one)
    darts = [one for one in clear if not one.against]
    told: dict[str, MarkedDart] = {}
    taken = {name for one in darts for name in (*one.legs, one.drill)}
    doubtful = [*(one for one in clear if one.against), *(one for one in looked if one.against)]
    for one in sorted(doubtful, key=lambda one: (one in looked, one.beside / one.mouth)):
        if not taken & {*one.legs, one.drill}:
            told.setdefault(one.drill, one)
    return [*darts, *list(told.values())[:MOST_LINES]]


def _list_triples(piece: SizedPiece) -> Iterator[tuple[Landmark, Landmark, str]]:
    """Notches near each other, also of neighbouring edges, with the drill marks inside of them."""
    notches: list[tuple[float, Landmark]] = []
    done = 0.0
    for edge in piece.edges:
        on = [mark for mark in piece.landmarks_on(edge.name) if mark.kind == "notch"]
        along_edge = ((done + piece.landmark_distances[mark.name], mark) for mark in on)
        notches += sorted(along_edge, key=lambda item: item[0])
        done += edge.length
    tips = np.array([drill.point for drill in piece.drills]).reshape(-1, 2)
    for i, (at, first) in enumerate(notches):
        for place, second in notches[i + 1 : i + 4]:
            a, b = np.array(first.point), np.array(second.point)
            mouth = float(np.hypot(*(b - a)))
            if place - at > 1.5 * MOUTH_MM or not SLASH_MM / 2 <= mouth <= MOUTH_MM:
                continue
            along = (tips - (a + b) / 2) @ (b - a) / mouth
            to = tips - a
            inside = (b - a)[0] * to[:, 1] - (b - a)[1] * to[:, 0] > 0  # counter-clockwise
            near = np.abs(along) <= max(BESIDE * mouth, LEGS_MM)
            legs = np.minimum(np.hypot(*(tips - a).T), np.hypot(*(tips - b).T))
            for index in np.flatnonzero(inside & near & (legs <= LEG_MM)).tolist():
                yield first, second, piece.drills[index].name


def _judge_triple(
    nest: Mapping[str, SizedPiece], notch: Landmark, other: Landmark, drill: str, base: str
) -> MarkedDart:
    """Look at two notches and a drill mark in every size."""
    legs = notch.name, other.name
    mouth, beside, first, second = _sizes_of(nest[base], legs, drill)
    against = ""
    if notch.edge != other.edge:
        against = "a corner lies between the notches"
    for size, piece in nest.items():
        if against:
            break
        m, off, a, b = _sizes_of(piece, legs, drill)
        reasons = {
            f"its legs differ by {abs(a - b):.1f} mm": abs(a - b) > LEGS_MM,
            f"the mark lies {off:.1f} mm beside the middle": off > OFF_AXIS * m + 0.5,
            f"the notches are {m:.1f} mm apart, as double notches are": m < SLASH_MM,
            f"its mouth is {m:.0f} mm wide": m > MOUTH_MM,
            "its legs are shorter than its mouth is wide": min(a, b) <= m,
            "lines run parallel from the notches, as those of a pleat": _has_parallel_lines(
                piece, np.array([piece.landmark(name).point for name in legs])
            ),
        }
        words = next((text for text, holds in reasons.items() if holds), "")
        against = f"{words} in size {size}" if words else ""
    return MarkedDart(legs, drill, mouth, beside, (first, second), against)


def _sizes_of(
    piece: SizedPiece, legs: tuple[str, str], drill: str
) -> tuple[float, float, float, float]:
    """The mouth, how far the mark lies beside its middle, and both legs, mm."""
    tip = np.array(_find_drill(piece, drill))
    a, b = (np.array(piece.landmark(name).point) for name in legs)
    mouth = float(np.hypot(*(b - a)))
    along = float((tip - (a + b) / 2) @ (b - a)) / max(mouth, 1e-9)
    return mouth, abs(along), float(np.hypot(*(tip - a))), float(np.hypot(*(tip - b)))


def mark_dart(piece: SizedPiece, found: MarkedDart, name: str) -> SizedPiece:
    """Take two notches for the legs of a dart and the drill mark for its tip."""
    tip = _find_drill(piece, found.drill)
    edge = piece.landmark(found.legs[0]).edge
    return replace(
        piece,
        landmarks=tuple(
            replace(mark, kind="dart leg") if mark.name in found.legs else mark
            for mark in piece.landmarks
        ),
        drills=tuple(mark for mark in piece.drills if mark.name != found.drill),
        darts=(*piece.darts, Dart(name, edge, found.legs, tip)),
    )
