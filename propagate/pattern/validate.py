"""Check a set against the rules of the model and name every problem at once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from typing import get_args

import numpy as np

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
from propagate.pattern.relations import CornerStyle, Girth, PieceInfo
from propagate.pattern.silhouette_checks import (
    check_assemblies,
    check_blend,
    check_openings,
    check_stacks,
)
from propagate.pattern.strips import sides_of_strip
from propagate.pattern.titles import titled_names

__all__ = ["check_set", "find_problems"]

SMALLEST_SET_MM = 20.0  # the largest piece of a set in millimetres is larger ...
LARGEST_SET_MM = 5000.0  # ... and smaller than this
USUAL_PIECE_MM = 600.0  # about what the largest piece of a garment measures
GIRTH_RATIO = 4.0  # the silhouettes at a girth measure this many times more or less: a unit
PLAIN_ALLOWANCE_MM = 25.4  # up to here an allowance may be wider than a strip it is on
# mm in one unit; the fractions are what programs write that count in whole numbers
UNITS: Mapping[str, float] = {
    "inches": 25.4,
    "centimetres": 10.0,
    "metres": 1000.0,
    "tenths of a millimetre": 0.1,
    "hundredths of a millimetre": 0.01,
    "thousandths of a millimetre": 0.001,
}
_CORNERS = get_args(CornerStyle)


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
        *_unit_problems(pattern, drawn),
        *_piece_problems(pattern),
        *(line for item in drawn for line in item.problems),
        *(
            line
            for name, info in pattern.info.items()
            for line in _info_problems(name, info, by_piece.get(name, []), names)
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


def _unit_problems(pattern: PatternSet, drawn: Sequence[Drawn]) -> Iterator[str]:
    sound = [item for item in drawn if item.sound]
    if not sound:
        return
    largest = max(sound, key=lambda item: float(np.max(item.high - item.low)))
    extent = float(np.max(largest.high - largest.low))
    if not SMALLEST_SET_MM <= extent <= LARGEST_SET_MM:
        unit = _likely_unit(extent / USUAL_PIECE_MM)
        yield (
            f"set '{pattern.name}': found that the largest piece ('{largest.piece}', size "
            f"'{largest.size}') measures {extent:.4g}, expected {SMALLEST_SET_MM:g} to "
            f"{LARGEST_SET_MM:g} mm; it looks like {unit}: "
            f"multiply the geometry by {UNITS[unit]:g}"
        )
        return
    of_size = {(item.piece, item.size): item for item in sound}
    base_first = sorted(pattern.sizes, key=lambda size: size != pattern.base)
    for girth, size in product(pattern.relations.girths.values(), base_first):
        measured = _rough_girth(pattern, of_size, girth, size) * girth.times
        body = pattern.chart.get(girth.chart or "", {}).get(size, 0.0)
        if measured <= 0.0 or body <= 0.0:
            continue
        ratio = measured / body
        if not 1 / GIRTH_RATIO <= ratio <= GIRTH_RATIO:
            where = "" if size == pattern.base else f", size '{size}'"
            row = f"chart row '{girth.chart}'{f' in size {size!r}' if where else ''}"
            unit = _likely_unit(ratio)
            coarse = {name: abs(math.log(mm / ratio)) for name, mm in UNITS.items() if mm > 1.0}
            of_chart = min(coarse, key=coarse.__getitem__)  # nobody measures a body in tenths
            likely = f"the geometry (or the chart) looks like {unit}"
            if coarse[of_chart] < abs(math.log(ratio * UNITS[unit])):
                likely = (
                    f"the {row} looks like {of_chart}: write it in millimetres, or with its unit"
                )
            yield (
                f"set '{pattern.name}', girth '{girth.name}'{where}: found silhouettes of about "
                f"{measured:.4g} in all for a body of {body:.4g} mm, expected the same order; "
                f"{likely}"
            )
            return


def _likely_unit(ratio: float) -> str:
    """Return the unit that explains that lengths come out `ratio` times what they should."""
    return min(UNITS, key=lambda unit: abs(math.log(max(ratio, 1e-300) * UNITS[unit])))


def _rough_girth(
    pattern: PatternSet, of_size: Mapping[tuple[str, str], Drawn], girth: Girth, size: str
) -> float:
    """Sum of the widths of the silhouettes' leads in one size, mm; 0 where one is not drawn."""
    assemblies = pattern.relations.assemblies
    leads = [assemblies[s].lead if s in assemblies else s for s in girth.silhouettes]
    drawn = [of_size.get((lead, size)) for lead in leads]
    widths = [_rough_width(item, girth.level) for item in drawn if item is not None]
    return sum(widths) if len(widths) == len(leads) else 0.0


def _rough_width(item: Drawn, level: str | None) -> float:
    """Width of a piece on a level; the shorter side of its box where it has no such level.

    The box of a trouser is half as wide again as its hip: of the crotch's extension.
    """
    grain = np.subtract(item.sized.grain.end, item.sized.grain.start)
    size = float(np.hypot(*grain))
    if level is not None and level in item.sized.levels and size > 0.0:
        outline = (item.sized.outline - np.asarray(item.sized.levels[level])) / size
        along, across = outline @ grain, outline @ np.array([grain[1], -grain[0]])
        steps = np.roll(along, -1) - along
        crossed = (along > 0.0) != (np.roll(along, -1) > 0.0)
        if crossed.any():
            shares = -along[crossed] / steps[crossed]
            found = across[crossed] + shares * (np.roll(across, -1) - across)[crossed]
            return float(np.ptp(found))
    return float(np.min(item.high - item.low))


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


def _info_problems(
    name: str, info: PieceInfo, drawn: Sequence[Drawn], names: Names
) -> Iterator[str]:
    """Check fold, anchors and allowance of a piece against its edges."""
    sized = names.measure(name)
    if sized is None:
        return
    where = f"piece '{name}'"
    edges = sized.edge_names

    def unknown(edge: str, of: str) -> Iterator[str]:
        if edge not in edges:
            yield f"{where}, {of}: {UnknownName('edge', edge, edges, where)}"

    if info.cut < 1:
        yield f"{where}, cut: found {info.cut}, expected at least 1"
    if info.fold is not None:
        yield from unknown(info.fold, "fold")
    yield from _strip_problems(where, name, info, edges, names)
    notches = [mark.name for mark in sized.landmarks if mark.kind == "notch"]
    for mark in info.double_notches:
        if mark not in notches:
            yield f"{where}, double_notches: {UnknownName('notch', mark, notches, where)}"
    for edge in (*info.allowance.edges, *sorted(info.allowance.turned)):
        yield from unknown(edge, "allowance")
    after = dict(zip(edges, (*edges[1:], edges[0]), strict=True))
    for corner, style in info.allowance.corners.items():
        first, _, second = corner.partition("/")
        if style not in _CORNERS:
            yield f"{where}, corner '{corner}': found '{style}', expected {' or '.join(_CORNERS)}"
        if first not in edges or second not in edges:
            for edge in (first, second):
                yield from unknown(edge, f"corner '{corner}'")
        elif after[first] != second:
            yield (
                f"{where}, corner '{corner}': found edges that do not follow each other, "
                f"expected '{first}/{after[first]}': the edge that ends there, then the next"
            )
    marks = {mark.name: mark for mark in sized.landmarks}
    for landmark, anchor in info.anchors.items():
        place = f"{where}, anchor of '{landmark}'"
        edge, _, end = anchor.rpartition(".")
        if landmark not in marks:
            yield f"{place}: {UnknownName('landmark', landmark, list(marks), where)}"
        elif end not in ("start", "end") or edge != marks[landmark].edge:
            expected = marks[landmark].edge
            yield f"{place}: found '{anchor}', expected '{expected}.start' or '{expected}.end'"
    yield from _allowance_problems(where, info, edges, drawn)


def _strip_problems(
    where: str, name: str, info: PieceInfo, edges: Sequence[str], names: Names
) -> Iterator[str]:
    """Check that a strip has two sides, and that no seam of it has a hold."""
    if not info.strip:
        return
    missing = [edge for edge in info.strip if edge not in edges]
    for edge in missing:
        yield f"{where}, strip: {UnknownName('edge', edge, edges, where)}"
    if missing:
        return
    if sides_of_strip(edges, info.strip) is None:
        yield (
            f"{where}, strip: found {quote_names(info.strip)}, expected the edges of its two long "
            "sides, with a short end between them at either end"
        )
    for seam in names.pattern.relations.seams.values():
        if seam.hold is not None and any(span.piece == name for span in seam.follow):
            yield (
                f"{where}, strip: found hold = '{seam.hold}' on seam '{seam.name}' that it follows "
                "in, expected none; a strip is made longer all along"
            )


def _allowance_problems(
    where: str, info: PieceInfo, edges: Sequence[str], drawn: Sequence[Drawn]
) -> Iterator[str]:
    """Find allowances below zero, and those that swallow a piece in its smallest size."""
    sides = [float(np.min(item.high - item.low)) for item in drawn if item.sound]
    limit = max(min(sides, default=math.inf) / 2, PLAIN_ALLOWANCE_MM)
    for edge in edges:
        allowance = info.allowance.of(edge)
        if not 0.0 <= allowance < math.inf:
            text = f"found an allowance of {allowance:g} mm, expected 0 or more"
            yield f"{where}, edge '{edge}': {text}"
        elif allowance > limit:
            yield (
                f"{where}, edge '{edge}': found an allowance of {allowance:g} mm on a piece "
                f"{min(sides):.4g} mm wide, expected at most {limit:.4g} mm; is the unit right?"
            )
