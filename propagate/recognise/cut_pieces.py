"""A piece whose outline is its cut line as the piece that is sewn, with its allowances."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from propagate.geometry.beside import find_squares
from propagate.geometry.crossing import crossings
from propagate.geometry.polyline import as_pair, locate, point_at
from propagate.pattern.model import Array, Edge, Landmark, SizedPiece
from propagate.pattern.relations import Allowance, CornerStyle
from propagate.recognise.drawn_seams import as_drawn
from propagate.recognise.seam_lines import Finishes, seam_lines
from propagate.tolerances import DECIMALS, ON_LINE_MM
from propagate.values import dataclass

__all__ = ["TakenBack", "finished_allowance", "marks_on", "take_to_seam_line"]

_SQUARE: Final = 0.003
"""Cosine of an angle at which a mitre and the image beyond a turned edge are the same line."""
_LEG_ON_MM: Final = 50.0


@dataclass(frozen=True, eq=False)
class TakenBack:
    """A piece on its seam line in all sizes.

    Attributes
    ----------
    nest : mapping of size to SizedPiece
    allowance : Allowance
        With which the cut line of the piece is as it was drawn.
    added : tuple of str
        Edges of the cut line that a finish added and the seam line does not have.
    lapped : mapping of size to names of edges
        See `SeamLines`.
    unlike : tuple of str
        Sizes in which the drawn seam line has other corners than the cut line.
    """

    nest: Mapping[str, SizedPiece]
    allowance: Allowance
    added: tuple[str, ...]
    lapped: Mapping[str, tuple[str, ...]]
    unlike: tuple[str, ...] = ()


def take_to_seam_line(
    piece: str,
    nest: Mapping[str, SizedPiece],
    widths: Mapping[str, float],
    fold: str | None,
    *,
    along_legs: bool,
    seam: str | None = None,
) -> TakenBack:
    """Take a piece that is drawn by its cut line back to its seam line.

    Parameters
    ----------
    piece : str
        Named in errors.
    nest : mapping of size to SizedPiece
    widths : mapping of edge name to mm
        Allowance of every edge; that of the fold is 0 unless the fold has one too.
    fold : str or None
        The edge on the fold.
    along_legs : bool
        Dart legs are drawn as lines and run on straight; else they are marked as notches are.
    seam : str or None
        The line inside the piece that is its seam line, as `drawn_seams.drawn_seam` finds it.

    Returns
    -------
    TakenBack
        Notches and marks are carried square across to the seam line; what lies inside stays.

    Raises
    ------
    FormatError
        As `seam_lines`.
    """
    found = seam_lines(piece, nest, widths)
    names = next(iter(nest.values())).edge_names
    sized, unlike = {}, []
    for size, old in nest.items():
        edges = found.edges[size]
        if seam is not None:
            ring = next(line.points for line in old.lines if line.name == seam)
            drawn = as_drawn(edges, ring)
            unlike += [size] if drawn is None else []
            edges = edges if drawn is None else drawn
        sized[size] = replace(
            old,
            edges=edges,
            landmarks=marks_on(old, edges, along_legs=along_legs),
            darts=tuple(
                replace(dart, edge=_edge_for(edges, dart.edge, dart.tip)) for dart in old.darts
            ),
            lines=tuple(line for line in old.lines if line.name != seam),
        )
    allowance = finished_allowance(names, found.edges, found.finishes, widths, fold)
    added = tuple(names[i] for i in sorted(found.finishes.jogs))
    lapped = found.lapped if seam is None else dict.fromkeys(nest, ())
    return TakenBack(sized, allowance, added, lapped, tuple(unlike))


# -------------------------------------------------------------------------------- allowances


def finished_allowance(
    names: Sequence[str],
    edges: Mapping[str, Sequence[Edge]],
    finishes: Finishes,
    widths: Mapping[str, float],
    fold: str | None,
) -> Allowance:
    """The allowances of a piece and how its corners are finished, as a set says them."""
    kept = [name for i, name in enumerate(names) if i not in finishes.jogs]
    sewn = [widths[name] for name in kept if name != fold or widths[name] > 0.0]
    default = Counter(sewn).most_common(1)[0][0] if sewn else 0.0
    own = {
        name: widths[name]
        for name in kept
        if (widths[name] != default if name != fold else widths[name] > 0.0)
    }
    known = {(names[a], names[b]): kind for (a, b), kind in finishes.kinds.items()}
    turned = {first for (first, _), kind in known.items() if kind == "turned"}
    turned |= {second for (_, second), kind in known.items() if kind == "turned second"}
    corners: dict[str, CornerStyle] = {
        f"{first}/{second}": kind
        for (first, second), kind in known.items()
        if (kind == "square" or kind == "square second") and not {first, second} & turned
    }
    for before, after in zip(kept, [*kept[1:], kept[0]], strict=True):
        beside = {before, after}
        if len(beside & turned) != 1 or (before, after) in known or fold in beside:
            continue
        for sized in edges.values():
            lines = {edge.name: edge.points for edge in sized}
            a, b = lines[before][-1] - lines[before][-2], lines[after][1] - lines[after][0]
            if abs(float(a @ b)) > _SQUARE * float(np.hypot(*a) * np.hypot(*b)):
                corners[f"{before}/{after}"] = "mitre"
    return Allowance(default, own, frozenset(turned), corners)


# ------------------------------------------------------------------------------------- marks


def marks_on(old: SizedPiece, edges: Sequence[Edge], *, along_legs: bool) -> tuple[Landmark, ...]:
    """Carry the marks of a piece square across from its cut line to the edges of its seam line."""
    tips = {leg: dart.tip for dart in old.darts for leg in dart.legs} if along_legs else {}
    lines = [edge.points for edge in edges]
    found = []
    for mark in old.landmarks:
        name = _edge_for(edges, mark.edge, mark.point)
        index = next(i for i, edge in enumerate(edges) if edge.name == name)
        place = np.array(mark.point)
        point = _answering_turn(old, mark, edges[index])
        if (
            point is None and tips.get(mark.name, mark.point) != mark.point
        ):  # a leg runs on straight to the seam line
            tip = np.array(tips[mark.name])
            on = _LEG_ON_MM / float(np.hypot(*(place - tip))) * (place - tip)
            met = crossings(np.vstack([tip, place + on]), lines[index])
            hits = [point_at(lines[index], along) for _, along in met.tolist()]
            point = min(hits, key=lambda hit: float(np.hypot(*(hit - place))), default=None)
        if point is None:
            along, gap = locate(lines[index], place)
            foot = None
            if gap > ON_LINE_MM / 2:  # else it lies on the seam line already
                foot = find_squares(lines, index, edges[index].turns).foot(place, gap)
            point = place if gap == 0.0 else point_at(lines[index], along if foot is None else foot)
        x, y = (round(float(value), DECIMALS) for value in point)
        found.append(replace(mark, edge=name, point=(x, y)))
    return tuple(found)


def _answering_turn(old: SizedPiece, mark: Landmark, edge: Edge) -> Array | None:
    """The corner inside an edge that answers to that of the cut line, where a dart's leg is one.

    Square across from the corner of a cut line lies no corner of the seam line.
    """
    drawn = old.edge(mark.edge)
    if mark.kind != "dart leg" or edge.name != drawn.name or len(edge.turns) != len(drawn.turns):
        return None
    for before, after in zip(drawn.turns, edge.turns, strict=True):
        if as_pair(drawn.points[before]) == mark.point:
            at: Array = edge.points[after]
            return at
    return None


def _edge_for(edges: Sequence[Edge], name: str, point: tuple[float, float]) -> str:
    """The edge of a mark; of an edge that went with a finish the nearest that stayed."""
    if any(edge.name == name for edge in edges):
        return name
    return min(edges, key=lambda edge: locate(edge.points, point)[1]).name
