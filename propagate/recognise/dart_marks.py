"""Find darts that two notches and a drill mark tell.

With corners at the notches the outline falls into three edges there.  Without them that is
weaker: a drill mark may as well give the place of a pocket.  So the mark must then lie in the
middle between two notches, in every size, and no other mark or notch may fit as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import as_pair
from propagate.pattern.dart_shape import (
    AT_CORNER_MM,
    LEG_MM,
    LEGS_MM,
    MOUTH_MM,
    OFF_AXIS,
    SLASH_MM,
)
from propagate.pattern.model import Array, Dart, Edge, Landmark, SizedPiece, frozen_points
from propagate.values import dataclass

__all__ = ["CornerDart", "MarkedDart", "corner_dart", "marked", "marked_darts", "one_edge"]

MOST_LINES = 4
"""What is told of a piece about drill marks that are no darts."""
BESIDE = 1.0
"""A drill mark within this many mouths of the middle is near enough to be spoken of."""


# ------------------------------------------------------------------ corners at the notches


@dataclass(frozen=True)
class CornerDart:
    """Three edges in a row, the notches at the middle one's ends, and the drill mark."""

    edges: tuple[str, str, str]
    legs: tuple[str, str]
    drill: str


def corner_dart(pieces: Mapping[str, SizedPiece], base: str) -> CornerDart | None:
    """The first dart that every size shows."""
    for candidate in _candidates(pieces[base]):
        if all(_is_dart(piece, candidate) for piece in pieces.values()):
            return candidate
    return None


def _candidates(piece: SizedPiece) -> Iterator[CornerDart]:
    count = len(piece.edges)
    if count < 5:  # three edges in a row and at least two more close an outline
        return
    tips = np.array([drill.point for drill in piece.drills]).reshape(-1, 2)
    at_start = _notches_at(piece, np.array([edge.points[0] for edge in piece.edges]))
    for i, mouth in enumerate(piece.edges):
        before, after = piece.edges[i - 1], piece.edges[(i + 1) % count]
        legs = at_start[i], at_start[(i + 1) % count]
        if legs[0] is None or legs[1] is None or mouth.length > MOUTH_MM:
            continue
        ends = mouth.points[[0, -1]]
        legs_to = np.hypot(*(tips[:, None] - ends).transpose(2, 0, 1))
        for index in np.flatnonzero(np.abs(legs_to[:, 0] - legs_to[:, 1]) <= LEGS_MM).tolist():
            drill = piece.drills[index]
            yield CornerDart(
                (before.name, mouth.name, after.name), (legs[0].name, legs[1].name), drill.name
            )


def _notches_at(piece: SizedPiece, points: Array) -> list[Landmark | None]:
    """The first notch at each corner."""
    notches = [mark for mark in piece.landmarks if mark.kind == "notch"]
    if not notches:
        return [None] * len(points)
    apart = points[:, None] - np.array([mark.point for mark in notches])
    near = np.hypot(apart[:, :, 0], apart[:, :, 1]) <= AT_CORNER_MM
    return [notches[int(row.argmax())] if row.any() else None for row in near]


def _is_dart(piece: SizedPiece, candidate: CornerDart) -> bool:
    """Legs of the same length, longer than the mouth is wide, on the inner side of it."""
    mouth = piece.edge(candidate.edges[1])
    ends = mouth.points[[0, -1]]
    marks = [piece.landmark(name).point for name in candidate.legs]
    if float(np.hypot(*(ends - np.array(marks)).T).max()) > AT_CORNER_MM:
        return False
    tip = np.array(next(m.point for m in piece.drills if m.name == candidate.drill))
    legs = np.hypot(*(tip - ends).T)
    chord = ends[1] - ends[0]
    inward = np.array([-chord[1], chord[0]])  # the outline runs counter-clockwise
    return bool(
        0 < mouth.length <= MOUTH_MM
        and abs(float(legs[0] - legs[1])) <= LEGS_MM
        and legs.min() > np.hypot(*chord)
        and (tip - ends[0]) @ inward > 0
    )


def one_edge(piece: SizedPiece, candidate: CornerDart, name: str) -> SizedPiece:
    """Make one edge of three, with the dart on it."""
    parts = [piece.edge(edge) for edge in candidate.edges]
    edge = _chained(parts, candidate.edges[0])
    first, *others = candidate.edges
    edges = tuple(edge if e.name == first else e for e in piece.edges if e.name not in others)
    points = dict(zip(candidate.legs, (parts[1].points[0], parts[1].points[-1]), strict=True))
    landmarks = tuple(
        Landmark(mark.name, edge.name, as_pair(points[mark.name]), "dart leg")
        if mark.name in points
        else (replace(mark, edge=edge.name) if mark.edge in others else mark)
        for mark in piece.landmarks
    )
    tip = next(mark.point for mark in piece.drills if mark.name == candidate.drill)
    return replace(
        piece,
        edges=edges,
        landmarks=landmarks,
        drills=tuple(mark for mark in piece.drills if mark.name != candidate.drill),
        darts=(
            *(replace(d, edge=edge.name) if d.edge in candidate.edges else d for d in piece.darts),
            Dart(name, edge.name, candidate.legs, tip),
        ),
    )


def _chained(parts: list[Edge], name: str) -> Edge:
    points = [parts[0].points]
    turns = list(parts[0].turns)
    done = len(parts[0].points) - 1
    for part in parts[1:]:
        turns += [done, *(done + turn for turn in part.turns)]
        points.append(part.points[1:])
        done += len(part.points) - 1
    return Edge(name, frozen_points(np.concatenate(points)), tuple(turns))


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
    looked = [_looked_at(nest, pair, drill, base) for pair, drill in _near(nest[base])]
    good = [one for one in looked if not one.against]
    clear: list[MarkedDart] = []
    for one in good:
        rivals = [o for o in good if o is not one and _shares(o, one)]
        clear.append(replace(one, against=_rival(one, rivals[0])) if rivals else one)
    darts = [one for one in clear if not one.against]
    told: dict[str, MarkedDart] = {}
    taken = {name for one in darts for name in (*one.legs, one.drill)}
    doubtful = [*(one for one in clear if one.against), *(one for one in looked if one.against)]
    for one in sorted(doubtful, key=lambda one: (one in looked, one.beside / one.mouth)):
        if not taken & {*one.legs, one.drill}:
            told.setdefault(one.drill, one)
    return [*darts, *list(told.values())[:MOST_LINES]]


def _shares(a: MarkedDart, b: MarkedDart) -> bool:
    return a.drill == b.drill or bool({*a.legs} & {*b.legs})


def _rival(one: MarkedDart, other: MarkedDart) -> str:
    if other.legs == one.legs:
        return f"drill mark '{other.drill}' fits as well"
    return f"notches '{other.legs[0]}' and '{other.legs[1]}' fit as well"


def _pairs(piece: SizedPiece) -> Iterator[tuple[Landmark, Landmark]]:
    """Notches near each other along the outline; those of neighbouring edges too."""
    notches: list[tuple[float, Landmark]] = []
    done = 0.0
    for edge in piece.edges:
        on = [m for m in piece.landmarks_on(edge.name) if m.kind == "notch"]
        notches += sorted(
            ((done + piece.landmark_distances[m.name], m) for m in on), key=lambda item: item[0]
        )
        done += edge.length
    for i, (at, mark) in enumerate(notches):
        for along, other in notches[i + 1 : i + 4]:
            if along - at <= 1.5 * MOUTH_MM:
                yield mark, other


def _near(piece: SizedPiece) -> Iterator[tuple[tuple[Landmark, Landmark], str]]:
    """Pairs of notches with the drill marks that lie inside of them and not far away."""
    pairs = list(_pairs(piece))
    if not pairs or not piece.drills:
        return
    tips = np.array([drill.point for drill in piece.drills])
    for pair in pairs:
        a, b = np.array(pair[0].point), np.array(pair[1].point)
        mouth = float(np.hypot(*(b - a)))
        if not SLASH_MM / 2 <= mouth <= MOUTH_MM:
            continue
        along = (tips - (a + b) / 2) @ (b - a) / mouth
        to = tips - a
        inside = (b - a)[0] * to[:, 1] - (b - a)[1] * to[:, 0] > 0  # of a counter-clockwise line
        near = np.abs(along) <= max(BESIDE * mouth, LEGS_MM)
        legs = np.minimum(np.hypot(*(tips - a).T), np.hypot(*(tips - b).T))
        for index in np.flatnonzero(inside & near & (legs <= LEG_MM)).tolist():
            yield pair, piece.drills[index].name


def _looked_at(
    nest: Mapping[str, SizedPiece], pair: tuple[Landmark, Landmark], drill: str, base: str
) -> MarkedDart:
    """Look at two notches and a drill mark in every size."""
    legs = pair[0].name, pair[1].name
    mouth, beside, first, second = _sizes_of(nest[base], legs, drill)
    against = ""
    if pair[0].edge != pair[1].edge:
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
        }
        words = next((text for text, holds in reasons.items() if holds), "")
        against = f"{words} in size {size}" if words else ""
    return MarkedDart(legs, drill, mouth, beside, (first, second), against)


def _sizes_of(
    piece: SizedPiece, legs: tuple[str, str], drill: str
) -> tuple[float, float, float, float]:
    """The mouth, how far the mark lies beside its middle, and both legs, mm."""
    tip = np.array(next(mark.point for mark in piece.drills if mark.name == drill))
    a, b = (np.array(piece.landmark(name).point) for name in legs)
    mouth = float(np.hypot(*(b - a)))
    along = float((tip - (a + b) / 2) @ (b - a)) / max(mouth, 1e-9)
    return mouth, abs(along), float(np.hypot(*(tip - a))), float(np.hypot(*(tip - b)))


def marked(piece: SizedPiece, found: MarkedDart, name: str) -> SizedPiece:
    """Take two notches for the legs of a dart and the drill mark for its tip."""
    tip = next(mark.point for mark in piece.drills if mark.name == found.drill)
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
