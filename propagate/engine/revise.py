"""Receive revised main pieces: find what changed, carry it to all sizes and companions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Literal

import shapely

from propagate.engine.compare import edge_moved_mm
from propagate.engine.darts.changes import DartChange, dart_changes
from propagate.engine.edits.replace import Replace
from propagate.engine.job import Given
from propagate.engine.record import Notice, as_plain
from propagate.engine.result import Result
from propagate.engine.revised import (
    Carried,
    Revised,
    RevisedEdge,
    SizedDart,
    SizedMark,
    merged_sizes,
)
from propagate.engine.revising.carried import Carry, carry_piece
from propagate.engine.revising.layers import find_following_layers
from propagate.engine.revising.marks import RevisedMark
from propagate.engine.revising.matches import find_rounding
from propagate.engine.revising.opening import seat_openings
from propagate.engine.revising.register import Registered, register
from propagate.engine.revising.usable import check_usable
from propagate.engine.run import run
from propagate.engine.truing import Corners, true_sizes
from propagate.errors import MOST_TOLD, EditError, PartsApart, UnknownName
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.named_marks import named_landmarks
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from propagate.tolerances import SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["revise"]


def revise(
    pattern: PatternSet,
    revised: Mapping[str, Piece],
    *,
    tolerance: float | None = None,
    carry: Carry = "millimetres",
    follow: Literal["shape", "length"] = "length",
    corners: Corners = "left",
) -> Revised:
    """Put revised pieces into a set and carry the change to every companion.

    Parameters
    ----------
    pattern : PatternSet
    revised : mapping of piece name to Piece
        In frames of their own; a piece that has only the base size is carried to the
        other sizes.
    tolerance : float, optional
        mm within which an edge counts as the same; when left out 0.05, or the step that
        coordinates of the drawing are rounded to where that is more.
    carry : "millimetres" or "proportion"
        How a change of the base size is carried: by the same millimetres, or in
        proportion to the length of each edge.
    follow : "shape" or "length"
        The mate across a seam takes the shape that its lead got, or keeps its own and
        takes the length alone.
    corners : "trued" or "left"
        Where a line that ran on smoothly across a seam no longer does, the line of the piece that
        was not sent takes all of the miss, or is left: a drawing says how its lines are to run.

    Returns
    -------
    Revised

    Raises
    ------
    UnknownName
        For a piece or size that the set does not have.
    EditError
        When a piece cannot be laid on the old one, its corners came or went, or what was
        revised breaks what the set says of it.
    Conflict
        When both sides of a seam were revised and disagree.
    """
    coarse = _find_coarse(pattern, revised) if tolerance is None else {}
    if tolerance is None:
        tolerance = max([_SAME_MM, *coarse.values()])
    same_mm = tolerance
    found = {
        name: _register_piece(pattern, name, revised[name], same_mm) for name in sorted(revised)
    }
    found |= {name: _tell_coarse(found[name], step) for name, step in coarse.items()}

    def run_in(size: str, items: Sequence[_Sized], pieces: Mapping[str, SizedPiece]) -> Result:
        shown = {item.piece: item.shown for item in items}
        within = same_mm if same_mm > SEAM_LENGTH_MM else 0.0
        if any(item.changed and item.carried != "as drawn" for item in items):
            within = max(within, _CARRIED_MM)  # nobody drew those that were carried
        given = Given(pieces, within, shown=shown)
        said = tuple(notice for item in items for notice in item.notices)
        edit = Replace(size, given, follow, _say_words(items, carry, same_mm), said)
        try:
            return run(pattern, edit, corners="left")
        except PartsApart as error:
            raise _no_room(pattern, size, items, error) from error

    def in_size(size: str, follows: frozenset[str]) -> list[_Sized]:
        return [
            _in_size(pattern, name, size, found[name], carry, same_mm, name in follows)
            for name in found
        ]

    base = in_size(pattern.base, frozenset())
    follows = frozenset[str]()
    if any(size not in own for own in found.values() for size in pattern.sizes):
        follows = find_following_layers(
            pattern, _take_changed(base), lambda pieces: run_in(pattern.base, base, pieces)
        )
    sizes = {
        size: base if size == pattern.base else in_size(size, follows) for size in pattern.sizes
    }
    notices = {
        size: tuple(notice for item in items for notice in item.notices)
        for size, items in sizes.items()
    }
    results = {
        size: run_in(size, items, _take_changed(items))
        for size, items in sizes.items()
        if any(item.changed for item in items)
    }
    every = sorted(
        (item for items in sizes.values() for item in items),
        key=lambda item: (item.piece, pattern.sizes.index(item.size)),
    )
    done, records = merged_sizes(pattern, results), {s: r.record for s, r in results.items()}
    if corners == "trued":
        kept = frozenset(f"{edge.piece}.{edge.edge}" for item in every for edge in item.edges)
        done, records = true_sizes(pattern, done, records, kept=kept, follow=follow)
    if results:
        _check_made(pattern, done, sorted({item.piece for item in every if item.changed}))
    return Revised(
        done,
        tuple(edge for item in every for edge in item.edges),
        records,
        tuple(SizedMark(i.piece, i.size, i.carried, mark) for i in every for mark in i.marks),
        tuple(SizedDart(i.piece, i.size, i.carried, dart) for i in every for dart in i.darts),
        {size: items for size, items in notices.items() if items},
        same_mm,
    )


def _check_made(old: PatternSet, made: PatternSet, pieces: Sequence[str]) -> None:
    """Refuse a drawing that leaves a set which could not be loaded again."""
    found = find_problems(made)
    if found:  # what was wrong before is no fault of the drawing
        known = find_problems(old)
        found = tuple(line for line in found if line not in known)
    if found:
        names = ", ".join(f"'{name}'" for name in pieces)
        more = [f"and {len(found) - MOST_TOLD} more"] if len(found) > MOST_TOLD else []
        raise EditError(
            f"set '{old.name}': what was revised of {names} breaks what the set says of it: "
            f"{'; '.join([*found[:MOST_TOLD], *more])}; correct the drawing, or what the set says"
        )


def _no_room(
    pattern: PatternSet, size: str, items: Sequence[_Sized], error: PartsApart
) -> EditError:
    """The error for a size in which the parts no longer meet: the set itself was in order."""
    changed = [item for item in items if item.changed]
    names = ", ".join(f"'{item.piece}'" for item in changed)
    if any(item.carried == "as drawn" for item in changed):
        return EditError(
            f"set '{pattern.name}': what was revised of {names} leaves what is taped to it behind: "
            f"{error.found}; send the other parts of the assembly too, or change less"
        )
    return EditError(
        f"set '{pattern.name}': the change of {names} in size '{pattern.base}', carried to size "
        f"'{size}', has no room there: {error.found}; nothing was drawn in size '{size}': send it "
        "too, with what is taped to it, or change less"
    )


def _take_changed(items: Sequence[_Sized]) -> dict[str, SizedPiece]:
    return {item.piece: item.new for item in items if item.changed}


_SAME_MM = 0.05
_CARRIED_MM = 0.1
"""The same change on curves that differ from size to size adds lengths that differ by less."""
_ALL_RESHAPED = (
    "no edge of the drawing is as it was in the set",
    "look whether the drawing shows the seam line, as the set does, or the cut line, and how it "
    "was read",
)
_ANOTHER = 0.1
_ANOTHER_MM = 20.0
_ANOTHER_PIECE = (
    "its outline and the old one part over {share:.0%} of the piece",
    "look whether the drawing shows this piece, and lies the right way round",
)


@dataclass(frozen=True)
class _Sized:
    """A revised piece in one size of the set."""

    piece: str
    size: str
    new: SizedPiece
    carried: Carried
    changed: bool
    edges: tuple[RevisedEdge, ...]
    marks: tuple[RevisedMark, ...]
    darts: tuple[DartChange, ...]
    notices: tuple[Notice, ...]
    shown: frozenset[str]


def _in_size(
    pattern: PatternSet,
    name: str,
    size: str,
    found: Mapping[str, Registered],
    carry: Carry,
    within: float,
    follows: bool,
) -> _Sized:
    """Take a piece as drawn in a size, or carry the base size's change to it.

    One that follows by itself is left as it is there.
    """
    mine = pattern.sized(name, size)
    source = found.get(size) or found[pattern.base]
    if follows and size not in found:
        same = tuple(RevisedEdge(name, size, edge, "same", carry) for edge, _ in source.statuses)
        return _Sized(name, size, mine, carry, False, same, (), (), (), frozenset())
    if size in found:
        new = source.piece
        said: Carried = "as drawn"
        notices = [Notice(name, *told) for told in source.notices]
        statuses = [status for _, status in source.statuses]
        if statuses.count("reshaped") == len(statuses):
            notices.append(Notice(name, *_ALL_RESHAPED))
        was, now = (shapely.Polygon(piece.outline) for piece in (mine, new))
        share = float(was.symmetric_difference(now).area / was.area)
        pairs = zip(mine.edges, new.edges, strict=True)
        if share > _ANOTHER and max(edge_moved_mm(*pair) for pair in pairs) > _ANOTHER_MM:
            notices.append(Notice(name, _ANOTHER_PIECE[0].format(share=share), _ANOTHER_PIECE[1]))
        base = found.get(pattern.base)
        if base is not None and base.changed and not source.changed:
            notices.append(
                Notice(
                    name,
                    f"the drawing holds it in size {size} as it was, though size {pattern.base} "
                    "changed",
                    "send the base size alone and the change is carried",
                )
            )
    else:
        new, said, notices = mine, carry, []
        if source.changed:
            where = (
                f"set '{pattern.name}', piece '{name}': its change in size '{pattern.base}', "
                f"carried to size '{size}'"
            )
            cure = (
                f"the drawing itself is in order, but size '{size}' has no room for its change; "
                f"send size '{size}' too"
            )
            base_size = pattern.sized(name, pattern.base)
            new = carry_piece(base_size, source, mine, carry, where=where, cure=cure)
            new = seat_openings(pattern, name, size, source, new, within)
            check_usable(new, where, cure)
    marks = source.marks
    edges = tuple(
        RevisedEdge(
            name,
            size,
            edge,
            status,
            said,
            0.0 if status == "same" else edge_moved_mm(mine.edge(edge), new.edge(edge)),
        )
        for edge, status in source.statuses
    )
    darts = source.darts if size in found else dart_changes(mine, new, within)
    changed, said_of = source.changed, tuple(notices)
    return _Sized(name, size, new, said, changed, edges, marks, darts, said_of, source.shown)


def _say_words(items: Sequence[_Sized], carry: Carry, tolerance: float) -> dict[str, Any]:
    """What the record says of the edit in one size."""
    return {
        "within_mm": tolerance,
        "carry": carry,
        "edges": [as_plain(edge) for item in items for edge in item.edges if edge.status != "same"],
        "marks": [
            {"piece": item.piece, "carried": item.carried, **as_plain(mark)}
            for item in items
            for mark in item.marks
        ],
        "darts": [
            {"piece": item.piece, "carried": item.carried, **as_plain(dart)}
            for item in items
            for dart in item.darts
        ],
    }


def _find_coarse(pattern: PatternSet, revised: Mapping[str, Piece]) -> dict[str, float]:
    """Pieces whose coordinates are rounded so far that more than usual is the same: steps, mm."""
    found = {}
    for name, piece in revised.items():
        old = pattern.pieces[name].nest if name in pattern.pieces else {}
        steps = [find_rounding(old[size], new) for size, new in piece.nest.items() if size in old]
        if max(steps, default=0.0) > _SAME_MM:
            found[name] = max(steps)
    return found


def _tell_coarse(found: Mapping[str, Registered], step: float) -> dict[str, Registered]:
    told = (
        f"its coordinates are rounded to {step:.3g} mm, so what lies within as much was taken to "
        "be the same",
        "send it with more decimals, or say by --within how close an edge must lie",
    )
    return {size: replace(one, notices=(told, *one.notices)) for size, one in found.items()}


def _register_piece(
    pattern: PatternSet, name: str, piece: Piece, tolerance: float
) -> dict[str, Registered]:
    if name not in pattern.pieces:
        raise UnknownName("piece", name, list(pattern.pieces), f"set '{pattern.name}'")
    found = {}
    named = named_landmarks(pattern, name)
    for size in piece.nest:
        if size not in pattern.sizes:
            raise UnknownName("size", size, pattern.sizes, f"revised piece '{name}'")
        where = f"set '{pattern.name}', piece '{name}', size '{size}'"
        found[size] = register(
            pattern.sized(name, size), piece.at(size), tolerance=tolerance, where=where, named=named
        )
    missing = [size for size in pattern.sizes if size not in found]
    if missing and pattern.base not in found:
        raise EditError(
            f"set '{pattern.name}', revised piece '{name}': sizes {', '.join(missing)} are missing "
            f"and so is the base size '{pattern.base}', from which they could be carried; send "
            "the base size or all sizes"
        )
    return found
