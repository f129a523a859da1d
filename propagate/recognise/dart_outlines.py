"""Find darts that an outline runs around: in along one leg to the tip, back along the other.

Sewn, the two legs lie on each other and the edge runs on across the mouth, so that is how
the dart is kept: the edge goes straight over the mouth, and the tip is a point inside.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

import numpy as np

from propagate.geometry.corner import turn_between
from propagate.geometry.polyline import as_pair, chord_distances, locate
from propagate.pattern.dart_shape import (
    AT_CORNER_MM,
    DRAWN_LEGS_MM,
    MOUTH_SHARE,
    SLASH_MM,
    leg_lengths,
    take_ring_stretch,
    turned_back,
)
from propagate.pattern.model import (
    Array,
    Dart,
    Edge,
    Landmark,
    Mark,
    SizedPiece,
    frozen_points,
)
from propagate.recognise.joined_edges import chain_edges, put_on_one_edge
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["DrawnDart", "drawn_darts", "join_dart", "match_darts", "notches_at"]

ACROSS_DEG = 50.0
"""The edge comes to the mouth, and leaves it, in about the direction across it."""
SAME_TIP_MM = 0.1
"""A drill mark this near to the tip says nothing that the tip does not."""
STRAIGHT = 0.03
"""A leg leaves its chord by less than this share of its length, or a millimetre."""


@dataclass(frozen=True)
class DrawnDart:
    """A dart in the outline of a piece in one size.

    Attributes
    ----------
    edges : tuple of str
        From the edge that comes to the mouth to the one that leaves it.
    begin, tip, end : int
        Vertices of the outline.
    place : (float, float)
        Of the tip, mm.
    legs : (float, float)
        Lengths along the outline, mm.
    mouth : float
        From leg to leg, mm.
    against : str
        Why it is none; empty where nothing speaks against it.
    """

    edges: tuple[str, ...]
    begin: int
    tip: int
    end: int
    place: tuple[float, float]
    legs: tuple[float, float]
    mouth: float
    against: str


def drawn_darts(piece: SizedPiece, keep: Collection[str] = ()) -> list[DrawnDart]:
    """Return what looks like a dart in the outline, in its order.

    Parameters
    ----------
    piece : SizedPiece
    keep : collection of str
        Edges that have names of their own and stay.
    """
    ring = piece.outline
    found = [_judge_run(piece, ring, *ends, keep) for ends in turned_back(ring)]
    return [one for one in found if one is not None]


def _judge_run(
    piece: SizedPiece, ring: Array, begin: int, tip: int, end: int, keep: Collection[str]
) -> DrawnDart | None:
    legs = take_ring_stretch(ring, begin, tip), take_ring_stretch(ring, tip, end)
    lengths = leg_lengths(ring, begin, tip, end)
    across = ring[end] - ring[begin]
    mouth = float(np.hypot(*across))
    starts, names, count = _find_starts(piece), piece.edge_names, len(ring)
    # The edge that comes to a corner is the one that holds the chord before it.
    first, last = (
        int(np.searchsorted(starts, at % count, side="right")) - 1 for at in (begin - 1, end)
    )
    steps = (last - first) % len(names)
    all_round = steps == 0 and (end - begin) % count > (end - starts[first]) % count
    if all_round or steps + 1 >= len(names):
        return None
    edges = tuple(names[(first + k) % len(names)] for k in range(steps + 1))
    comes, leaves = ring[begin] - ring[begin - 1], ring[(end + 1) % len(ring)] - ring[end]
    bend = max(
        abs(float(np.degrees(turn_between(*ways)))) for ways in ((comes, across), (across, leaves))
    )
    rest = sum(piece.edge(name).length for name in edges) - sum(lengths)
    named = ", ".join(name for name in edges if name in keep)
    apart = abs(lengths[0] - lengths[1])
    bow = max(float(chord_distances(leg).max()) for leg in legs)
    reasons = {
        f"its legs differ by {apart:.1f} mm": apart > DRAWN_LEGS_MM,
        f"it is {mouth:.1f} mm wide, as a slash is": mouth < SLASH_MM,
        f"its mouth is {mouth / (rest + mouth):.0%} of the edge": mouth / (rest + mouth)
        > MOUTH_SHARE,
        f"its legs bend by {bow:.1f} mm": bow > max(1.0, STRAIGHT * min(lengths)),
        f"the edge turns by {bend:.0f} degrees at its mouth": bend > ACROSS_DEG,
        f"the drawing has names for the edges there ({named})": bool(named),
    }
    against = next((words for words, holds in reasons.items() if holds), "")
    return DrawnDart(edges, begin, tip, end, as_pair(ring[tip]), lengths, mouth, against)


def _find_starts(piece: SizedPiece) -> list[int]:
    """The outline's vertices at which its edges begin."""
    sizes = [len(edge.points) - 1 for edge in piece.edges]
    return [0, *np.cumsum(sizes[:-1]).tolist()]


def join_dart(
    piece: SizedPiece, drawn: DrawnDart, name: str, notches: tuple[str | None, str | None]
) -> SizedPiece:
    """Let the edge run over the mouth of a dart.

    Parameters
    ----------
    piece : SizedPiece
    drawn : DrawnDart
    name : str
        Of the dart.
    notches : (str or None, str or None)
        The notches at the ends of its legs; a leg without one is called after the dart.

    Returns
    -------
    SizedPiece
        With one edge for all that the dart divided, called as the first of them.  Notches
        on the legs, which lie inside now, are drill marks.
    """
    ring = piece.outline
    whole = chain_edges([piece.edge(name) for name in drawn.edges])
    first = _find_starts(piece)[piece.edge_names.index(drawn.edges[0])]
    begin, end = ((at - first) % len(ring) for at in (drawn.begin, drawn.end))
    gone = end - begin - 1
    turns = sorted({begin, end, *whole.turns})
    edge = Edge(
        whole.name,
        frozen_points(np.concatenate([whole.points[: begin + 1], whole.points[end:]])),
        tuple(t - (gone if t >= end else 0) for t in turns if 0 < t <= begin or t >= end),
    )
    tip = as_pair(ring[drawn.tip])
    legs = notches[0] or f"{name}_a", notches[1] or f"{name}_b"
    ends = dict(zip(legs, (as_pair(ring[drawn.begin]), as_pair(ring[drawn.end])), strict=True))
    landmarks, drills = (
        [],
        [
            mark
            for mark in piece.drills
            if float(np.hypot(*np.subtract(mark.point, tip))) > SAME_TIP_MM
        ],
    )
    for mark in piece.landmarks:
        if mark.name in ends:
            landmarks.append(Landmark(mark.name, edge.name, ends.pop(mark.name), "dart leg"))
        elif mark.edge not in drawn.edges:
            landmarks.append(mark)
        elif locate(edge.points, mark.point)[1] <= ON_LINE_MM:
            landmarks.append(replace(mark, edge=edge.name))
        else:
            drills.append(Mark(mark.name, mark.point))
    landmarks += [Landmark(leg, edge.name, at, "dart leg") for leg, at in ends.items()]
    changed = replace(piece, landmarks=tuple(landmarks), drills=tuple(drills))
    dart = Dart(name, edge.name, legs, tip)
    return put_on_one_edge(changed, edge, drawn.edges[1:], dart)


def match_darts(drawn: Mapping[str, list[DrawnDart]], base: str) -> list[dict[str, DrawnDart]]:
    """Darts with their counterparts: the same edges, as many times in every size."""
    found: list[dict[str, DrawnDart]] = []
    for key in dict.fromkeys(one.edges for one in drawn[base]):
        own = {size: [one for one in listed if one.edges == key] for size, listed in drawn.items()}
        if len({len(listed) for listed in own.values()}) == 1:
            found += [
                {size: listed[k] for size, listed in own.items()} for k in range(len(own[base]))
            ]
    return found


def notches_at(piece: SizedPiece, drawn: DrawnDart) -> tuple[str | None, str | None]:
    """The notches that stand at the ends of the legs."""
    found: list[str | None] = []
    for at in (drawn.begin, drawn.end):
        end = piece.outline[at]
        near = [
            (float(np.hypot(*np.subtract(mark.point, end))), mark.name)
            for mark in piece.landmarks
            if mark.kind == "notch" and mark.edge in drawn.edges and mark.name not in found
        ]
        gap, name = min(near, default=(np.inf, None))
        found.append(name if gap <= AT_CORNER_MM else None)
    return found[0], found[1]
