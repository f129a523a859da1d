"""From cut lines to seam lines: a piece whose outline is the cut line, in all its sizes.

Every edge moves inwards by its allowance.  The corners of the seam line are where neighbours, run
on, meet; what a finish added at a corner of the cut line, a square end or the image beyond a turned
edge, is no edge of its own and goes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from propagate.errors import FormatError
from propagate.geometry.corner import turn_between
from propagate.geometry.inward import Inward, Meeting, inward_line, is_sound, meet_inside, trim_line
from propagate.geometry.polyline import length, locate, split
from propagate.pattern.model import Array, Edge, SizedPiece, frozen_points
from propagate.recognise.corner_finishes import Finish, FinishKind, finish_at, finish_of_jog
from propagate.tolerances import DECIMALS
from propagate.values import dataclass

__all__ = ["Finishes", "SeamLines", "seam_lines"]

_REACH: Final = 4.0
_RUN_ON_MM: Final = 20.0
_GONE_MM: Final = 0.05
"""An edge whose seam line is no longer is none: it belongs to a finish of the corner."""
_LAPPED_DEG: Final = 2.0
_ALONE: Final = 3.0
"""In a hollow that is tighter than its allowance the cut line turns at once, by so many degrees
at least, and so many times as much as beside it."""
_JOG_WIDTHS: Final = 2.2
"""What stands at a corner of a cut line is at most so many allowances long."""


@dataclass(frozen=True)
class Finishes:
    """What stands at the corners of a cut line, alike in every size.

    Attributes
    ----------
    jogs : frozenset of int
        Edges of the cut line that a finish added; they are none of the seam line.
    kinds : mapping of (edge before, edge after) to FinishKind
        Corners of the seam line that are no mitre, by the numbers of the cut line's edges.
    """

    jogs: frozenset[int]
    kinds: Mapping[tuple[int, int], FinishKind]


@dataclass(frozen=True, eq=False)
class SeamLines:
    """The seam lines of a piece in all sizes.

    Attributes
    ----------
    edges : mapping of size to tuple of Edge
        With the names that they had on the cut line.
    finishes : Finishes
    lapped : mapping of size to names of edges
        Where the allowance lapped over itself in a hollow: what the seam line does there the
        cut line does not tell.
    """

    edges: Mapping[str, tuple[Edge, ...]]
    finishes: Finishes
    lapped: Mapping[str, tuple[str, ...]]


class _Gone(Exception):
    """An edge that the allowances of its neighbours swallow."""

    def __init__(self, edge: int, words: str) -> None:
        self.edge = edge
        super().__init__(words)


def seam_lines(
    piece: str, nest: Mapping[str, SizedPiece], widths: Mapping[str, float]
) -> SeamLines:
    """Take the outline of a piece, which is its cut line, back to the seam line.

    Parameters
    ----------
    piece : str
        Named in errors.
    nest : mapping of size to SizedPiece
        The same edges in every size.
    widths : mapping of edge name to mm
        Allowance of every edge.

    Raises
    ------
    FormatError
        The sizes have different edges, or an allowance is wider than the piece has room for.
    """
    first = next(iter(nest.values()))
    for size, sized in nest.items():
        if sized.edge_names != first.edge_names:
            raise FormatError(
                f"piece '{piece}', size '{size}': found the edges {', '.join(sized.edge_names)}, "
                f"expected {', '.join(first.edge_names)} as in size '{next(iter(nest))}': cut "
                "lines are taken back alike in every size; name the edges in the drawing"
            )
    names = first.edge_names
    wide = [widths[name] for name in names]
    lines = {size: [edge.points for edge in sized.edges] for size, sized in nest.items()}
    if len(names) == 1:
        return _draw_ring_seam(piece, nest, wide[0])
    jogs: set[int] = set()
    while True:
        finishes, at = _read_finishes(lines, wide, frozenset(jogs))
        try:
            found = {
                size: _draw_seam_lines(
                    f"piece '{piece}', size '{size}'", sized, wide, finishes, at[size]
                )
                for size, sized in nest.items()
            }
        except _Gone as gone:
            left = len(names) - len(finishes.jogs)
            around = [wide[(gone.edge + step) % len(wide)] for step in (-1, 0, 1)]
            long = max(length(own[gone.edge]) for own in lines.values())
            # An edge so short in every size may belong to a finish.
            if gone.edge < 0 or left <= 2 or long > _JOG_WIDTHS * max(around):
                raise FormatError(str(gone)) from None
            jogs.add(gone.edge)
            continue
        lapped = {
            size: _find_lapped(sized, wide, finishes, at[size]) for size, sized in nest.items()
        }
        return SeamLines(found, finishes, lapped)


def _find_lapped(
    sized: SizedPiece,
    widths: Sequence[float],
    finishes: Finishes,
    at: Mapping[tuple[int, int], Finish],
) -> tuple[str, ...]:
    """Edges whose cut line turns inwards at once, as no parallel of a curve does."""
    kept = [i for i in range(len(widths)) if i not in finishes.jogs]
    found = []
    for i, (main, skipped) in _without_finishes(sized, kept, at).items():
        if widths[i] == 0.0:
            continue
        chords = np.diff(main, axis=0)
        turn = np.degrees(turn_between(chords[:-1], chords[1:]))
        beside = np.pad(np.abs(turn), 1)
        alone = _ALONE * np.maximum(beside[:-2], beside[2:])
        sharp = np.flatnonzero((turn < -_LAPPED_DEG) & (-turn > alone)) + 1 + skipped
        if set(sharp.tolist()) - set(sized.edges[i].turns):
            found.append(sized.edges[i].name)
    return tuple(found)


# --------------------------------------------------------------------------------- finishes


def _read_finishes(
    lines: Mapping[str, Sequence[Array]], widths: Sequence[float], jogs: frozenset[int]
) -> tuple[Finishes, Mapping[str, Mapping[tuple[int, int], Finish]]]:
    """The finish of every corner, decided for all sizes together, and how each size shows it."""
    count = len(widths)
    gone = set(jogs)
    kinds: dict[tuple[int, int], FinishKind] = {}
    for i in range(count):
        a, b = (i - 1) % count, (i + 1) % count
        if count - len(gone) <= 3 or {a, b} & gone:
            continue
        seen = [
            finish_of_jog(own[a], own[i], own[b], (widths[a], widths[b])) for own in lines.values()
        ]
        said = Counter(finish.kind for finish in seen if finish is not None)
        if 2 * sum(said.values()) >= len(lines) and said:
            gone.add(i)
            kinds[a, b] = said.most_common(1)[0][0]
    kept = [i for i in range(count) if i not in gone]
    at: dict[str, dict[tuple[int, int], Finish]] = {size: {} for size in lines}
    for a, b in zip(kept, [*kept[1:], kept[0]], strict=True):
        if (a + 1) % count != b:
            continue
        found = {
            size: finish
            for size, own in lines.items()
            if (finish := finish_at(own[a], own[b], (widths[a], widths[b]))) is not None
        }
        if found:
            kind = Counter(finish.kind for finish in found.values()).most_common(1)[0][0]
            kinds[a, b] = kind
            for size, finish in found.items():
                if finish.kind == kind:
                    at[size][a, b] = finish
    return Finishes(frozenset(gone), kinds), at


# ------------------------------------------------------------------------------- seam lines


def _draw_seam_lines(
    where: str,
    sized: SizedPiece,
    widths: Sequence[float],
    finishes: Finishes,
    at: Mapping[tuple[int, int], Finish],
) -> tuple[Edge, ...]:
    """The edges of the seam line in one size."""
    kept = [i for i in range(len(widths)) if i not in finishes.jogs]
    mains = _without_finishes(sized, kept, at)
    inside = {i: inward_line(main, widths[i]) for i, (main, _) in mains.items()}
    corners: dict[int, Meeting] = {}
    names = sized.edge_names
    for a, b in zip(kept, [*kept[1:], kept[0]], strict=True):
        near = (mains[a][0][-1] + mains[b][0][0]) / 2.0
        reach = _REACH * max(widths[a], widths[b]) + _RUN_ON_MM
        try:
            corners[b] = meet_inside(inside[a].points, inside[b].points, near, reach)
        except ValueError as error:
            raise _Gone(
                min((a, b), key=lambda i: length(mains[i][0])),
                f"{where}, corner '{names[a]}/{names[b]}': found allowances of {widths[a]:g} and "
                f"{widths[b]:g} mm, with which {error}; expected narrower ones: is each edge's "
                "right?",
            ) from None
    return _make_edges(where, sized, (kept, widths), (mains, inside), corners)


def _without_finishes(
    sized: SizedPiece, kept: Sequence[int], at: Mapping[tuple[int, int], Finish]
) -> dict[int, tuple[Array, int]]:
    """Each edge of the cut line without what finishes added, and how many points that took."""
    mains = {i: (sized.edges[i].points, 0) for i in kept}
    for (a, b), finish in at.items():
        before, skipped = mains[a]
        mains[a] = (
            before[: len(before) - (len(sized.edges[a].points) - len(finish.before))],
            skipped,
        )
        gone = len(sized.edges[b].points) - len(finish.after)
        after, skipped = mains[b]
        mains[b] = after[gone:], skipped + gone
    return mains


def _make_edges(
    where: str,
    sized: SizedPiece,
    own: tuple[Sequence[int], Sequence[float]],
    lines: tuple[Mapping[int, tuple[Array, int]], Mapping[int, Inward]],
    corners: Mapping[int, Meeting],
) -> tuple[Edge, ...]:
    (kept, widths), (mains, inside) = own, lines
    found: list[Edge] = []
    worst: tuple[float, int] | None = None
    for i, after in zip(kept, [*kept[1:], kept[0]], strict=True):
        edge = sized.edges[i]
        line = np.vstack([corners[i].ahead, inside[i].points, corners[after].beyond])
        points, begin, stop = trim_line(line, corners[i].corner, corners[after].corner)
        if stop - begin <= _GONE_MM and (worst is None or stop - begin < worst[0]):
            worst = stop - begin, i
        points = np.round(points, DECIMALS)
        places = np.round(inside[i].points, DECIMALS)
        turns: set[int] = set()
        for index in (turn - mains[i][1] for turn in edge.turns):
            if 0 < index < len(inside[i].places) - 1:
                same = (points == places[inside[i].places[index]]).all(axis=1)
                turns |= {k for k in np.flatnonzero(same).tolist() if 0 < k < len(points) - 1}
        found.append(Edge(edge.name, frozen_points(points), tuple(sorted(turns))))
    sound = worst is None and is_sound([edge.points for edge in found])
    if worst is not None or not sound:
        i = worst[1] if worst is not None else max(kept, key=lambda k: widths[k])
        raise _Gone(
            i if worst is not None else -1,
            f"{where}, edge '{sized.edges[i].name}': found an allowance of {widths[i]:g} mm and "
            f"a cut line {sized.edges[i].length:.1f} mm long, with which no seam line is left, "
            "expected narrower allowances than the piece; is the unit right?",
        )
    return tuple(found)


def _draw_ring_seam(piece: str, nest: Mapping[str, SizedPiece], width: float) -> SeamLines:
    """The seam line of an outline of one edge: cut in two, so that each part has two ends."""
    found: dict[str, tuple[Edge, ...]] = {}
    for size, sized in nest.items():
        edge = sized.edges[0]
        half = split(edge.points, edge.length / 2.0)
        own = [inward_line(part, width) for part in half]
        where = f"piece '{piece}', size '{size}'"
        try:
            reach = _REACH * width + _RUN_ON_MM
            start = meet_inside(own[1].points, own[0].points, edge.points[0], reach).corner
            middle = meet_inside(own[0].points, own[1].points, half[0][-1], reach).corner
        except ValueError as error:
            raise FormatError(
                f"{where}: found an allowance of {width:g} mm, with which {error}; expected a "
                "narrower one"
            ) from None
        parts = [
            trim_line(own[0].points, start, middle)[0],
            trim_line(own[1].points, middle, start)[0],
        ]
        if not is_sound(parts):
            raise FormatError(
                f"{where}: found an allowance of {width:g} mm, with which no seam line is left, "
                "expected a narrower allowance than the piece; is the unit right?"
            )
        keep = locate(parts[0], middle)[1] > 0.0
        whole = np.vstack([parts[0], parts[1][1:]]) if not keep else np.vstack(parts)
        found[size] = (Edge(edge.name, frozen_points(np.round(whole, DECIMALS))),)
    return SeamLines(found, Finishes(frozenset(), {}), dict.fromkeys(nest, ()))
