"""A piece whose outline is its cut line as the piece that is sewn, with its allowances."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from propagate.geometry.beside import find_squares
from propagate.geometry.crossing import crossings
from propagate.geometry.polyline import locate, point_at
from propagate.pattern.model import Array, Edge, Landmark, SizedPiece
from propagate.pattern.relations import Allowance, CornerStyle
from propagate.recognise.drawn_seams import as_drawn
from propagate.recognise.seam_lines import Finishes, seam_lines
from propagate.tolerances import DECIMALS, ON_LINE_MM
from propagate.values import dataclass

__all__ = ["TakenBack", "finished_allowance", "marks_on", "taken_back"]

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


def taken_back(
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
    turned: set[str] = set()
    corners: dict[str, CornerStyle] = {}
    for (a, b), kind in finishes.kinds.items():
        if kind in ("turned", "turned second"):
            turned.add(names[a] if kind == "turned" else names[b])
    for (a, b), kind in finishes.kinds.items():
        if kind in ("square", "square second") and not {names[a], names[b]} & turned:
            corners[f"{names[a]}/{names[b]}"] = "square" if kind == "square" else "square second"
    known = {(names[a], names[b]) for a, b in finishes.kinds}
    for before, after in zip(kept, [*kept[1:], kept[0]], strict=True):
        beside = {before, after}
        if len(beside & turned) != 1 or (before, after) in known or fold in beside:
            continue
        if not all(_is_square(own_edges, before, after) for own_edges in edges.values()):
            corners[f"{before}/{after}"] = "mitre"
    return Allowance(default, own, frozenset(turned), corners)


def _is_square(edges: Sequence[Edge], before: str, after: str) -> bool:
    """Whether two edges meet at a right angle."""
    by_name = {edge.name: edge.points for edge in edges}
    a, b = by_name[before][-1] - by_name[before][-2], by_name[after][1] - by_name[after][0]
    return abs(float(a @ b)) <= _SQUARE * float(np.hypot(*a) * np.hypot(*b))


# ------------------------------------------------------------------------------------- marks


def marks_on(old: SizedPiece, edges: Sequence[Edge], *, along_legs: bool) -> tuple[Landmark, ...]:
    """Carry the marks of a piece from its cut line to the edges of its seam line."""
    tips = {leg: dart.tip for dart in old.darts for leg in dart.legs} if along_legs else {}
    lines = [edge.points for edge in edges]
    found = []
    for mark in old.landmarks:
        name = _edge_for(edges, mark.edge, mark.point)
        index = next(i for i, edge in enumerate(edges) if edge.name == name)
        place = np.array(mark.point)
        on = _on_leg(lines[index], np.array(tips[mark.name]), place) if mark.name in tips else None
        point = _square_back(lines, index, edges[index].turns, place) if on is None else on
        x, y = (round(float(value), DECIMALS) for value in point)
        found.append(replace(mark, edge=name, point=(x, y)))
    return tuple(found)


def _edge_for(edges: Sequence[Edge], name: str, point: tuple[float, float]) -> str:
    """The edge of a mark; of an edge that went with a finish the nearest that stayed."""
    if any(edge.name == name for edge in edges):
        return name
    return min(edges, key=lambda edge: locate(edge.points, point)[1]).name


def _square_back(lines: Sequence[Array], index: int, turns: Sequence[int], place: Array) -> Array:
    """The place on a seam line whose square goes through a place on the cut line."""
    along, gap = locate(lines[index], place)
    if gap <= ON_LINE_MM / 2:
        return place if gap == 0.0 else point_at(lines[index], along)
    foot = find_squares(lines, index, turns).foot(place, gap)
    return point_at(lines[index], along if foot is None else foot)


def _on_leg(line: Array, tip: Array, place: Array) -> Array | None:
    """Where a dart leg, run on straight, meets the seam line."""
    leg = place - tip
    long = float(np.hypot(*leg))
    if long == 0.0:
        return None
    ray = np.vstack([tip, place + _LEG_ON_MM / long * leg])
    hits = [point_at(line, t) for _, t in crossings(ray, line).tolist()]
    return min(hits, key=lambda hit: float(np.hypot(*(hit - place))), default=None)
