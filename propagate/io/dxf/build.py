"""Drafts of one piece in all sizes to a piece: the same edges and names in every size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.io.dxf.draft import Draft
from propagate.io.dxf.place_names import darts, drill_marks, label, landmarks, levels
from propagate.io.dxf.reports import Notes
from propagate.io.words import counted
from propagate.pattern.model import Array, Edge, InternalLine, Mark, SizedPiece, frozen_points

__all__ = ["align", "rename", "sized_pieces"]


def align(drafts: Mapping[str, Draft], base: str, notes: Notes, where: str) -> None:
    """Let the edges of every size begin at the corner that the base size begins at."""
    first = drafts[base]
    for size, other in drafts.items():
        if other is first:
            continue
        count = len(first.edges)
        if len(other.edges) != count:
            notes.warn(
                f"size {size} has {len(other.edges)} edges, the base size {base} has {count}; "
                "the sizes cannot be used together until their corners agree",
                where=where,
            )
            continue
        if all(first.names) and set(first.names) == set(other.names):
            shift = other.names.index(first.names[0])
        else:
            shift = _best_shift(first, other, notes, f"{where}, size {size}")
        _roll(other, shift)


def _corners(draft: Draft) -> Array:
    """(k, 2) where edges begin, about their middle, the grain along x."""
    corners = np.array([edge[0] for edge in draft.edges])
    x, y = draft.grain.direction
    turned: Array = (corners - corners.mean(axis=0)) @ np.array([[x, -y], [y, x]])
    return turned


def _lengths(draft: Draft) -> Array:
    """(k,) lengths of the edges, mm."""
    outline = draft.outline
    steps = np.roll(outline, -1, axis=0) - outline
    starts = np.cumsum([0, *(len(edge) - 1 for edge in draft.edges[:-1])])
    return np.asarray(np.add.reduceat(np.hypot(steps[:, 0], steps[:, 1]), starts))


def _best_shift(first: Draft, other: Draft, notes: Notes, where: str) -> int:
    a, b = _corners(first), _corners(other)
    lengths_a, lengths_b = _lengths(first), _lengths(other)
    shifted = (np.arange(len(a))[:, None] + np.arange(len(a))) % len(a)
    costs = ((b[shifted] - a) ** 2).sum(axis=(1, 2))
    costs += ((lengths_b[shifted] - lengths_a) ** 2).sum(axis=1)
    best = int(np.argmin(costs))
    if len(costs) > 1:
        second = np.delete(costs, best).min()
        if second < 1.2 * costs[best] + 1.0:
            notes.warn(
                "two ways of laying its corners on those of the base size fit nearly as well; "
                "the better one was taken",
                where=where,
            )
    return best


def _roll(draft: Draft, shift: int) -> None:
    if not shift:
        return
    count = len(draft.edges)
    for name in ("edges", "turns", "names"):
        values = getattr(draft, name)
        setattr(draft, name, [*values[shift:], *values[:shift]])
    for notch in draft.notches:
        notch.edge = (notch.edge - shift) % count
    if draft.fold is not None:
        draft.fold = (draft.fold - shift) % count


def sized_pieces(
    drafts: Mapping[str, Draft], base: str, notes: Notes, where: str
) -> dict[str, SizedPiece]:
    """Name what is on the edges alike in every size and build the pieces."""
    names = _edge_names(drafts[base])
    _notch_names(drafts, base, notes, where)
    return {
        size: _sized(draft, names, notes, f"{where}, size {size}") for size, draft in drafts.items()
    }


def _edge_names(draft: Draft) -> list[str]:
    """Keep given names; number the other edges by their place in the outline."""
    taken = set(draft.names)
    found = []
    for index, name in enumerate(draft.names):
        neutral = f"edge_{index + 1}"
        while neutral in taken:
            neutral += "_"
        found.append(name or neutral)
    return found


def _notch_names(drafts: Mapping[str, Draft], base: str, notes: Notes, where: str) -> None:
    """Number the notches of each type in outline order; they must agree in every size."""
    for draft in drafts.values():
        draft.notches.sort(key=lambda notch: (notch.edge, notch.along))
    expected = [(notch.word, notch.edge) for notch in drafts[base].notches]
    differ: dict[int, list[str]] = {}
    for size, draft in drafts.items():
        found = [(notch.word, notch.edge) for notch in draft.notches]
        if found != expected and sorted(found) != sorted(expected):
            differ.setdefault(len(found), []).append(size)
        counts: dict[str, int] = {}
        for notch in draft.notches:
            counts[notch.word] = counts.get(notch.word, 0) + 1
            notch.name = f"{notch.word}_{counts[notch.word]}"
    for number, sizes in differ.items():
        said = f"size {sizes[0]} has" if len(sizes) == 1 else f"sizes {', '.join(sizes)} have"
        notes.warn(
            f"{said} {counted(number, 'notch')} where the base size {base} has {len(expected)}, or "
            f"{'has' if len(sizes) == 1 else 'have'} them on other edges",
            where=where,
        )


def _sized(draft: Draft, names: Sequence[str], notes: Notes, where: str) -> SizedPiece:
    if len(names) != len(draft.edges):
        names = [f"edge_{index + 1}" for index in range(len(draft.edges))]
    edges = tuple(
        Edge(name, frozen_points(points), turns)
        for name, points, turns in zip(names, draft.edges, draft.turns, strict=True)
    )
    tips = {item.at for item in draft.ours.of("dart")}
    return SizedPiece(
        edges=edges,
        grain=draft.grain,
        landmarks=landmarks(draft, edges, notes, where),
        darts=darts(draft.ours),
        lines=_lines(draft),
        drills=tuple(Mark(name, point) for name, point in drill_marks(draft) if point not in tips),
        levels=levels(draft.ours),
        label=label(draft.ours),
    )


def _lines(draft: Draft) -> tuple[InternalLine, ...]:
    named = {item.at: item.names[0] for item in draft.ours.of("line")}
    counts: dict[str, int] = {}
    found = []
    for word, points in draft.lines:
        name = named.pop((float(points[0][0]), float(points[0][1])), "")
        if not name:
            counts[word] = counts.get(word, 0) + 1
            name = f"{word}_{counts[word]}"
        found.append(InternalLine(name, frozen_points(points)))
    return tuple(found)


def rename(piece: SizedPiece, names: Mapping[str, str]) -> SizedPiece:
    """Return a piece with its edges renamed; what stands on them follows."""
    from dataclasses import replace

    return replace(
        piece,
        edges=tuple(replace(edge, name=names.get(edge.name, edge.name)) for edge in piece.edges),
        landmarks=tuple(
            replace(mark, edge=names.get(mark.edge, mark.edge)) for mark in piece.landmarks
        ),
        darts=tuple(replace(dart, edge=names.get(dart.edge, dart.edge)) for dart in piece.darts),
    )
