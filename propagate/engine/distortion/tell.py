"""Tell what changed in shape, piece by piece, what nobody edited first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

from propagate.engine.distortion.inside import inside_changes, lines_off, marks_outside
from propagate.engine.distortion.levels import WIDTH_AT_LEVEL, tell_widths
from propagate.engine.distortion.outline import Told, outline_changes, width_changes
from propagate.engine.graph import joined_edges
from propagate.engine.record import Notice, PieceChange
from propagate.engine.strips_found import strip_of
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.pattern.spans import span_length

__all__ = ["retell_distortion", "tell_distortion"]

Rule = Callable[[SizedPiece, SizedPiece], Iterator[Told]]

RULES: tuple[Rule, ...] = (outline_changes, width_changes, inside_changes)
_SEEN_MM = 0.5
_UNSEWN = "changed and sewn to nothing"
_RETOLD = frozenset({"edge changed", "askew", "width changed", WIDTH_AT_LEVEL, _UNSEWN})
"""Whose figures, or whether they are so at all, a later edit can change."""


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


def retell_distortion(
    notices: Iterable[Notice],
    pattern: PatternSet,
    column: PatternSet,
    changes: Collection[PieceChange],
    edited: Collection[str],
) -> tuple[Notice, ...]:
    """Of several edits: what is so after the last of them, by its figures then.

    Parameters
    ----------
    notices : iterable of Notice
        Of all the edits, in their order.
    pattern, column : PatternSet
        Before the first edit, and the size as it is after the last.
    changes : collection of PieceChange
        Pieces that were reached, compared over all edits.
    edited : collection of str
        Pieces that one of the edits changed itself.
    """
    now = {
        _name_subject(notice): notice
        for notice in (
            *tell_distortion(pattern, column, changes, edited, ()),
            *tell_widths(pattern, column, changes),
        )
    }
    found: dict[Notice, None] = {}
    for notice in notices:
        kept = notice
        if notice.about[:1] and notice.about[0] in _RETOLD:
            if _name_subject(notice) not in now:
                continue
            kept = now[_name_subject(notice)]
        found[kept] = None
    return tuple(found)


def _name_subject(notice: Notice) -> tuple[str, ...]:
    """Name what a notice is about: of a level the pieces may be others after a later edit."""
    about = notice.about[:1] if notice.about[:1] == (WIDTH_AT_LEVEL,) else notice.about
    return notice.where, *about


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
            about=(_UNSEWN, edge.edge),
        )


def _is_free(pattern: PatternSet, piece: str, edge: str) -> bool:
    """Tell whether the set says that an edge is free: on the fold, turned up, side of a strip."""
    info = pattern.info.get(piece)
    strip = strip_of(pattern, piece)
    if strip is not None and edge in (*strip.near, *strip.far):
        return True
    return info is not None and (info.fold == edge or edge in info.allowance.turned)
