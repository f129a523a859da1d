"""Check a set against the rules of the model and name every problem at once."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.errors import InvalidSet, UnknownName
from propagate.pattern.derived_checks import check_derived, check_seam_openings
from propagate.pattern.detail_checks import (
    check_alike,
    check_buttons,
    check_patches,
    check_pleats,
    check_welts,
)
from propagate.pattern.drawing_checks import check_sized, check_sizes
from propagate.pattern.info_checks import info_problems
from propagate.pattern.names import Names, find_repeated, quote_names
from propagate.pattern.outline_checks import Drawn, check_outlines
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_checks import (
    check_bands,
    check_cycles,
    check_girths,
    check_places,
    check_runs_of_others,
    check_seams,
    check_tapes,
)
from propagate.pattern.silhouette_checks import (
    check_assemblies,
    check_blend,
    check_openings,
    check_stacks,
)
from propagate.pattern.titles import titled_names
from propagate.pattern.unit_checks import unit_problems

__all__ = ["check_set", "find_problems"]


def check_set(pattern: PatternSet) -> None:
    """Refuse a set that breaks rules of the model: raises InvalidSet with every problem."""
    found = find_problems(pattern)
    if found:
        raise InvalidSet(pattern.name, found)


def find_problems(pattern: PatternSet) -> tuple[str, ...]:
    """Return every problem of a set, one clear line each; empty when it is sound.

    The order is that of the set itself: sizes and chart, units, pieces by size and edge,
    what is said of each piece, relations by kind.
    """
    drawn = [
        Drawn(name, size, piece.nest[size])
        for name, piece in pattern.pieces.items()
        for size in dict.fromkeys([*pattern.sizes, *piece.nest])
        if size in piece.nest
    ]
    check_outlines(drawn)
    by_piece: dict[str, list[Drawn]] = {}
    for item in drawn:
        check_sized(item)
        by_piece.setdefault(item.piece, []).append(item)
    for items in by_piece.values():
        check_sizes(items, pattern.base)
    names = Names(pattern, drawn)
    for check in (
        check_assemblies,
        check_seams,
        check_openings,
        check_stacks,
        check_bands,
        check_places,
        check_girths,
        check_runs_of_others,
        check_derived,
        check_seam_openings,
        check_patches,
        check_alike,
        check_buttons,
        check_pleats,
        check_tapes,
        check_welts,
        check_blend,
        check_cycles,
    ):
        check(names)
    found = [
        *_set_problems(pattern, names),
        *unit_problems(pattern, drawn),
        *_piece_problems(pattern),
        *(line for item in drawn for line in item.problems),
        *(
            line
            for name, info in pattern.info.items()
            for line in info_problems(name, info, by_piece.get(name, []), names)
        ),
        *names.lines,
    ]
    return tuple(dict.fromkeys(found))


# ------------------------------------------------------------------------------------ set


def _set_problems(pattern: PatternSet, names: Names) -> Iterator[str]:
    where = f"set '{pattern.name}'"
    if not pattern.sizes:
        yield f"{where}: found no size, expected at least one"
    for size in find_repeated(pattern.sizes):
        yield f"{where}: found size '{size}' twice, expected each size once"
    if pattern.base not in pattern.sizes:
        yield f"{where}, base: {UnknownName('size', pattern.base, pattern.sizes)}"
    levels = names.all_levels
    if levels and pattern.lay_on not in levels:
        yield f"{where}, lay_on: {UnknownName('level', pattern.lay_on, levels)}"
    for row, values in pattern.chart.items():
        for size in pattern.sizes:
            if size not in values:
                yield f"{where}, chart '{row}': found no value for size '{size}', expected one"
    if not pattern.pieces:
        yield f"{where}: found no piece, expected at least one"
    if titles := pattern.relations.titles:
        known = [*levels, *titled_names(pattern)]
        for name in titles:
            # What is on a piece comes and goes with edits, and its title waits: see the review.
            if name not in known and "." not in name:
                yield f"{where}, titles: {UnknownName('name', name, known)}"


# --------------------------------------------------------------------------------- pieces


def _piece_problems(pattern: PatternSet) -> Iterator[str]:
    for name in pattern.info:
        if name not in pattern.pieces:
            yield (
                f"piece '{name}': found it among the pieces of the set but no geometry of it; "
                "add its geometry, or take it out"
            )
    for name, piece in pattern.pieces.items():
        if name not in pattern.info:
            yield (
                f"piece '{name}': found geometry of a piece that the set does not list; "
                f"add [pieces.{name}], or take the geometry out"
            )
        if piece.name != name:
            yield f"piece '{name}': found the name '{piece.name}' in its geometry"
        missing = [size for size in pattern.sizes if size not in piece.nest]
        if missing:
            yield (
                f"piece '{name}': found no geometry in size {quote_names(missing)}, "
                "expected every size of the set"
            )
        for size in piece.nest:
            if size not in pattern.sizes:
                yield f"piece '{name}': {UnknownName('size', size, pattern.sizes, 'the set')}"
    spelt: dict[str, str] = {}
    for name in pattern.pieces:
        other = spelt.setdefault(name.casefold(), name)
        if other != name:
            yield (
                f"piece '{name}': found a piece '{other}' too, expected names that differ in more "
                "than capitals: on many disks their files would be one"
            )
