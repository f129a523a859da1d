"""Pleats and tucks: folds with parallel legs, between marks on an edge that is sewn with them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from typing import Literal

import numpy as np

from propagate.pattern.model import Array, Piece, Pleat, SizedPiece
from propagate.pattern.runs import Run, Span
from propagate.pattern.spans import dart_mouths, span_ends
from propagate.pattern.told import told
from propagate.tolerances import WALK_MM
from propagate.values import dataclass

__all__ = ["FoldedRun", "PleatMarks", "Pleats", "folded_run", "pleated_part", "with_pleats"]


@dataclass(frozen=True)
class PleatMarks:
    """One pleat or tuck: its marks along the edge."""

    name: str = field(metadata=told("name", "what the pleat is called"))
    marks: tuple[str, ...] = field(
        metadata=told(
            "texts",
            "its landmarks in their order: two, fold and placement (knife pleat, tuck); three, the "
            "outer ones folded on to the middle (inverted pleat); four, the outer two at each end "
            "folded on to each other (box pleat)",
        )
    )


@dataclass(frozen=True)
class Pleats:
    """Pleats or tucks in an edge, which is sewn with them closed."""

    name: str = field(metadata=told("name", "what they are called"))
    run: Run = field(metadata=told("run", "the span in which they lie"))
    pleats: tuple[PleatMarks, ...] = field(
        metadata=told("rows", "each of them", of=PleatMarks, label="pleat")
    )
    fold: Literal["pleat", "tuck"] = field(
        default="pleat",
        metadata=told("choice", "what one is called in reports", choices=("pleat", "tuck")),
    )
    depth: float | None = field(
        default=None,
        metadata=told(
            "length",
            "how deep each fold is, half of the cloth that it takes up; as drawn where nothing is "
            "said",
        ),
    )
    keep: Literal["depth", "ratio"] = field(
        default="depth",
        metadata=told(
            "choice",
            "when the edge becomes longer or shorter: the depth stays and the room between them "
            "takes it, or both take it in proportion",
            choices=("depth", "ratio"),
        ),
    )
    tolerance: float = field(
        default=WALK_MM,
        metadata=told("length", "how far the check lets the closed length be off"),
    )


def with_pleats(
    pieces: Mapping[str, Piece],
    told: Iterable[Pleats],
    by_size: Mapping[str, Mapping[str, Sequence[Pleat]]],
) -> Mapping[str, Piece]:
    """Pieces that know their pleats; the mapping itself where they do already.

    A pleat whose marks a piece does not have is left out: the check of the set tells it.

    Parameters
    ----------
    pieces : mapping of name to Piece
    told : iterable of Pleats
        The same in every size.
    by_size : mapping of piece to a mapping of size to pleats
        Those that a size may have alone.
    """
    by_piece: dict[str, list[Pleat]] = {}
    for one in told:
        if len(one.run) == 1:
            by_ratio = one.keep == "ratio" and one.depth is None
            by_piece.setdefault(one.run[0].piece, []).extend(
                Pleat(one.run[0].edge, row.marks, by_ratio) for row in one.pleats
            )
    found: dict[str, Piece] = {}
    for name in dict.fromkeys([*by_piece, *by_size]):
        nest: dict[str, SizedPiece] = {}
        for size, sized in pieces[name].nest.items() if name in pieces else ():
            on = {mark.name: mark.edge for mark in sized.landmarks}
            pleats = (*by_piece.get(name, ()), *by_size.get(name, {}).get(size, ()))
            own = tuple(
                pleat
                for pleat in pleats
                if 2 <= len(pleat.marks) <= 4 and {on.get(m) for m in pleat.marks} == {pleat.edge}
            )
            nest[size] = sized if sized.pleats == own else replace(sized, pleats=own)
        if any(nest[size] is not pieces[name].nest[size] for size in nest):
            found[name] = Piece(name, nest)
    return {**pieces, **found} if found else pieces


# ----------------------------------------------------------------------- as it is folded


@dataclass(frozen=True, eq=False)
class FoldedRun:
    """A span with its pleats, as it lies open.

    Attributes
    ----------
    open_mm : float
        Its length.
    folds : (n, 2) array
        Where each fold begins and ends, mm from the start of the span, in that order.
    marks : tuple of (name, fold, share)
        Each mark with the number of its fold and where in it it lies: 0 is its begin, 1 its end.
    """

    open_mm: float
    folds: Array
    marks: tuple[tuple[str, int, float], ...]

    @property
    def taken_up(self) -> Array:
        """(n,) cloth that each fold takes up, mm."""
        return np.asarray(self.folds[:, 1] - self.folds[:, 0])

    @property
    def closed_at(self) -> Array:
        """(n,) where each fold lies on the closed run, mm from its start."""
        return np.asarray(self.folds[:, 0] - np.cumsum(self.taken_up) + self.taken_up)

    @property
    def closed_mm(self) -> float:
        """Length of the run with all of them closed."""
        return float(self.open_mm - self.taken_up.sum())


def folded_run(piece: SizedPiece, pleats: Pleats) -> FoldedRun:
    """How the pleats of a relation lie on a piece."""
    span = pleats.run[0]
    begin, end = span_ends(piece, span)
    way = 1.0 if begin <= end else -1.0
    folds: list[tuple[float, float]] = []
    marks: list[tuple[str, int, float]] = []
    for row in pleats.pleats:
        at = sorted((way * (piece.distance(span.edge, m) - begin), m) for m in row.marks)
        for first, last in Pleat(span.edge, row.marks).folds:
            low, high = at[first][0], at[last][0]
            wide = max(high - low, 1e-12)
            marks += [(m, len(folds), (x - low) / wide) for x, m in at[first : last + 1]]
            folds.append((low, high))
    order = sorted(range(len(folds)), key=lambda k: folds[k])
    place = {k: i for i, k in enumerate(order)}
    return FoldedRun(
        abs(end - begin),
        np.array([folds[k] for k in order]).reshape(-1, 2),
        tuple((name, place[k], share) for name, k, share in marks),
    )


def pleated_part(piece: SizedPiece, span: Span) -> tuple[float, float]:
    """How the closed length of a span follows from its open one: a part of it, less an amount.

    Pleats that keep their depth take up that much however long the span becomes; those that go
    with its length leave their part of it.

    Returns
    -------
    part : float
        Of the open length, 1 where no pleat goes with it.
    amount : float
        mm.
    """
    kept = taken = 0.0
    low, high = sorted(span_ends(piece, span))
    darts = dart_mouths(piece, span.edge)
    long = high - low - sum(max(min(b, high) - max(a, low), 0.0) for a, b in darts)
    for pleat in piece.pleats:
        if pleat.edge != span.edge:
            continue
        at = sorted(piece.distance(span.edge, mark) for mark in pleat.marks)
        for first, last in pleat.folds:
            inside = max(min(at[last], high) - max(at[first], low), 0.0)
            if pleat.by_ratio:
                taken += inside
            else:
                kept += inside
    part = 1.0 - taken / long if taken else 1.0
    return part, kept
