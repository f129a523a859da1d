"""Put a size between two of a nest into the set, so that edits can take it like any other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from propagate.engine.carry import carry_all
from propagate.engine.compare import edge_moved_mm, refuse_crossing
from propagate.engine.job import SizeMade
from propagate.engine.record import EDIT, Notice, Record
from propagate.engine.walk import walk
from propagate.pattern.between import BetweenSize, relations_with_size, size_asked
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = ["record_with_made", "with_between_size", "with_sizes_asked"]

_NO_JOINS = ("corner", "girth")
"""Checks that are no joins: what they say does not tell whether a size sews."""


def with_between_size(pattern: PatternSet, where: str) -> PatternSet:
    """Return the set with one more size, drawn between two that stand in it.

    Everything on a piece goes straight from one neighbour to the other: edges, landmarks,
    darts, lines, drill marks, levels, grain; so do the chart and the eases that are said for
    each size.  Where that does not sew as its neighbours do, it is settled.

    Parameters
    ----------
    pattern : PatternSet
    where : str
        The size, as `propagate.pattern.between.size_asked` reads it.

    Returns
    -------
    PatternSet
        The set itself where the size stands in it.

    Raises
    ------
    UnknownName, EditError
        For what is no size, or one too far beyond the nest.
    Conflict
        When the size cannot be made to sew.
    """
    return with_sizes_asked(pattern, [where])[0]


def with_sizes_asked(
    pattern: PatternSet, asked: Iterable[str]
) -> tuple[PatternSet, dict[str, str], tuple[SizeMade, ...]]:
    """Return the set with every size that is asked for, how each is called, and what was made.

    Raises
    ------
    UnknownName, EditError, Conflict
        As `with_between_size`.
    """
    called: dict[str, str] = {}
    made: dict[str, SizeMade] = {}
    found = pattern
    for text in asked:
        size = size_asked(pattern.sizes, text, f"set '{pattern.name}'")
        called[text] = size if isinstance(size, str) else size.name
        if not isinstance(size, str) and size.name not in made:
            found, made[size.name] = _with_size(pattern, found, size)
    return found, called, tuple(made.values())


def record_with_made(record: Record, made: Sequence[SizeMade]) -> Record:
    """Return the record with the sizes that were made for it; itself where there are none.

    The edit says where they lie, and a warning tells of those beyond the nest.
    """
    if not made:
        return record
    words = "".join(f"; {one.size.name} lies {one.size.words}" for one in made)
    notices = (
        Notice(
            f"size {one.size.name}",
            f"nobody drew it: it lies {one.size.words}",
            "look at its lengths and its fit before it is cut",
        )
        for one in made
        if one.size.beyond
    )
    return replace(
        record,
        edit={
            **record.edit,
            "between": {
                one.size.name: {
                    "first": one.size.first,
                    "second": one.size.second,
                    "share": one.size.share,
                    "settled_mm": one.settled_mm,
                }
                for one in made
            },
        },
        changes=tuple(
            replace(change, what=change.what + words) if change.id == EDIT else change
            for change in record.changes
        ),
        warnings=(*notices, *record.warnings),
    )


def _with_size(
    drawn: PatternSet, pattern: PatternSet, size: BetweenSize
) -> tuple[PatternSet, SizeMade]:
    """Put a size between two of those that were drawn into a set that may have others already."""
    from propagate.engine.piece_between import piece_between  # most blends take drawn sizes

    pieces = {}
    for name, piece in pattern.pieces.items():
        new = piece_between(piece.at(size.first), piece.at(size.second), size.share)
        refuse_crossing(name, size.name, new)
        pieces[name] = Piece(name, {**piece.nest, size.name: new})
    chart = {
        row: {
            **values,
            size.name: values[size.first] + size.share * (values[size.second] - values[size.first]),
        }
        for row, values in pattern.chart.items()
    }
    raw = replace(
        pattern,
        sizes=_order_sizes(drawn, pattern, size),
        pieces=pieces,
        relations=relations_with_size(pattern.relations, size),
        chart=chart,
    )
    off = _off_joins(raw, size)
    if not off:
        return raw, SizeMade(size)
    from propagate.engine.edits.settle import Settle
    from propagate.engine.revised import merged_sizes

    edit = Settle(size.name, off)
    job = edit.job(raw)
    settled = merged_sizes(raw, {size.name: carry_all(job, edit.draw(job))})
    moved = (
        edge_moved_mm(was, now)
        for name in raw.pieces
        for was, now in zip(
            raw.sized(name, size.name).edges, settled.sized(name, size.name).edges, strict=True
        )
        if was != now
    )
    return settled, SizeMade(size, max(moved, default=0.0))


def _order_sizes(drawn: PatternSet, pattern: PatternSet, size: BetweenSize) -> tuple[str, ...]:
    """The sizes in the order of the nest, with one more."""

    def place(name: str) -> float:
        found = size_asked(drawn.sizes, name, "")
        if isinstance(found, str):
            return float(drawn.sizes.index(found))
        return drawn.sizes.index(found.first) + found.share

    own = drawn.sizes.index(size.first) + size.share
    before = [name for name in pattern.sizes if place(name) < own]
    return (*before, size.name, *pattern.sizes[len(before) :])


def _off_joins(pattern: PatternSet, size: BetweenSize) -> frozenset[str]:
    """Seams, and zones of bands, of a size that are farther off than in both of its neighbours."""
    here, *others = (
        {
            (check.kind, check.name, check.sides): check
            for check in walk(pattern, name, cut_lines=False).checks
            if check.kind not in _NO_JOINS
        }
        for name in (size.name, size.first, size.second)
    )
    return frozenset(
        f"{check.relation}.{check.part}" if check.part else check.relation
        for key, check in here.items()
        if abs(check.difference)
        > max(abs(other[key].difference) if key in other else 0.0 for other in others)
        + SEAM_LENGTH_MM
    )
