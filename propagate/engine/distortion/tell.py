"""Tell what changed in shape, piece by piece, what nobody edited first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

from propagate.engine.distortion.inside import inside_changes, lines_off, marks_outside
from propagate.engine.distortion.outline import Told, outline_changes, width_changes
from propagate.engine.graph import joined_edges
from propagate.engine.record import Notice, PieceChange
from propagate.engine.strips_found import strip_of
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.pattern.spans import span_length

__all__ = ["tell_distortion"]

Rule = Callable[[SizedPiece, SizedPiece], Iterator[Told]]

RULES: tuple[Rule, ...] = (outline_changes, width_changes, inside_changes)
_SEEN_MM = 0.5


def tell_distortion(
    pattern: PatternSet,
    column: PatternSet,
    changes: Collection[PieceChange],
    edited: Collection[str],
    recut: Collection[str],
) -> tuple[Notice, ...]:
    """Warn of what changed in shape, of pieces that nobody edited.

    Parameters
    ----------
    pattern, column : PatternSet
        Before, and the resulting size.
    changes : collection of PieceChange
        Pieces that were reached.
    edited : collection of str
        Pieces that the edit itself changed: their shape was asked for.
    recut : collection of str
        Pocket layers and bands, which are re-cut from what they lie on by their own rules.
    """
    found: list[Notice] = []
    size = column.base
    for change in changes:
        if change.status == "same":
            continue
        old, new = pattern.sized(change.piece, change.size), column.sized(change.piece, size)
        told: list[Told] = []
        if change.piece not in edited and change.piece not in recut:
            for rule in RULES:
                told += rule(old, new)
        else:
            told += (*lines_off(old, new), *marks_outside(old, new))
        found += [Notice(change.piece, said, do, about=about) for said, do, about in told]
        if change.piece not in recut:
            found += _tell_unsewn(pattern, change, old, new)
    return tuple(found)


def _tell_unsewn(
    pattern: PatternSet, change: PieceChange, old: SizedPiece, new: SizedPiece
) -> Iterator[Notice]:
    """Warn of edges that became longer or shorter, darts closed, and that nothing is sewn to."""
    joined = joined_edges(pattern)
    for edge in change.edges:
        span = Span(change.piece, edge.edge)
        if edge.status != "reshaped" or span.key in joined:
            continue
        gain = span_length(new, span) - span_length(old, span)
        if abs(gain) <= _SEEN_MM or _is_free(pattern, change.piece, edge.edge):
            continue
        yield Notice(
            change.piece,
            f"'{span.key}' is {abs(gain):.1f} mm {'longer' if gain > 0 else 'shorter'} now, and "
            "nothing is sewn to it",
            "if something is, say so in the set, so that it follows",
            about=("changed and sewn to nothing", edge.edge),
        )


def _is_free(pattern: PatternSet, piece: str, edge: str) -> bool:
    """Tell whether the set says that an edge is free: on the fold, turned up, side of a strip."""
    info = pattern.info.get(piece)
    strip = strip_of(pattern, piece)
    if strip is not None and edge in (*strip.near, *strip.far):
        return True
    return info is not None and (info.fold == edge or edge in info.allowance.turned)
