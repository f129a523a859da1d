"""Which size each line of a sheet is of: by its layer, else by its look."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, permutations

import shapely

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnLine, DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.sheet.left_out import is_test
from propagate.io.sheet.looks import (
    LookKey,
    key_of,
    sizes_at_lines,
    sizes_in_legend,
    sizes_that_share,
    tell_look,
)
from propagate.io.sheet.marks_by_size import ENDS_ON_MM, LONGEST_MARK
from propagate.io.sheet.outlines import outlines_of
from propagate.io.sheet.seams import are_seams_in_cuts
from propagate.io.sheet.size_ranges import is_range, list_sizes_within
from propagate.io.svg.files import ONE_SIZE, sorted_sizes
from propagate.io.svg.rings import Ring, find_outermost
from propagate.io.svg.sorting import size_named
from propagate.pattern.titles import list_words
from propagate.values import dataclass

__all__ = ["SizedLines", "lines_of_sizes"]

NESTED = 0.3
"""Outlines of two sizes have at least this share of their area in common."""


@dataclass(frozen=True, eq=False)
class SizedLines:
    """The lines of every size, and those that all sizes share.

    Attributes
    ----------
    sizes : mapping of size to lines
    common : tuple of DrawnLine
    """

    sizes: Mapping[str, tuple[DrawnLine, ...]]
    common: tuple[DrawnLine, ...]


def lines_of_sizes(sheet: DrawnSheet, options: ReadOptions, notes: ReportNotes) -> SizedLines:
    """Sort the lines of a sheet by size.

    Raises
    ------
    FormatError
        The sizes cannot be told apart: names the looks that were found and what to type.
    """
    sheet = _without_other_sizes(sheet, options, notes)
    return _by_layer(sheet, options, notes) or _by_look(sheet, options, notes)


def _without_other_sizes(sheet: DrawnSheet, options: ReadOptions, notes: ReportNotes) -> DrawnSheet:
    """Leave out sizes that ``--sizes`` does not name: their lines belong to no other size."""
    wanted = options.sizes
    if not wanted:
        return sheet
    layers = {one.layer: one.layer.strip() for one in sheet.lines if one.layer is not None}
    legend = sizes_in_legend(sheet.lines, sheet.texts, ())
    other_layers, other_looks = dict[str, str](), dict[LookKey, str]()
    if any(size_named(name, wanted) for name in layers.values()):
        named = {layer: size_named(name) for layer, name in layers.items()}
        other_layers = {layer: size for layer, size in named.items() if size}
        other_layers = {a: b for a, b in other_layers.items() if not size_named(layers[a], wanted)}
    elif any(size in wanted for size in legend):
        other_looks = {key: size for size, key in legend.items() if size not in wanted}
    left_out = _order_sizes({*other_layers.values(), *other_looks.values()})
    if not left_out:
        return sheet
    words = f"sizes that --sizes does not name are left out: {', '.join(left_out)}"
    notes.add("ignored", words, option="--sizes", file=sheet.source)
    return replace(
        sheet,
        lines=tuple(
            one
            for one in sheet.lines
            if one.layer not in other_layers and key_of(one.look) not in other_looks
        ),
        texts=tuple(one for one in sheet.texts if one.layer not in other_layers),
    )


def _by_layer(sheet: DrawnSheet, options: ReadOptions, notes: ReportNotes) -> SizedLines | None:
    layers = {one.layer for one in sheet.lines if one.layer is not None}
    sizes = {layer: s for layer in layers if (s := size_named(layer.strip(), options.sizes))}
    if not sizes or _tell_ranges(sheet, sizes, options, notes):
        return None
    shared_by = _find_ranges(layers, sizes, options)
    sizes = {layer: size for layer, size in sizes.items() if layer not in shared_by}
    found: dict[str, list[DrawnLine]] = {size: [] for size in _order_sizes(set(sizes.values()))}
    common = []
    for one in sheet.lines:
        layer = one.layer or ""
        own = [sizes[layer]] if layer in sizes else shared_by.get(layer, [])
        if not own or own == list(found):
            common.append(one)
        else:
            for size in own:
                found[size].append(one)
    for layer, some in sorted(shared_by.items()):
        words = f"what the layer '{layer}' holds belongs to the sizes {', '.join(some)}"
        notes.add("assumed", words, option="--sizes", file=sheet.source)
    others = sorted({repr(layer) for layer in layers if layer not in sizes.keys() | shared_by})
    shared = f"; {', '.join(others)} and what is in no layer belong to all" if common else ""
    notes.add(
        "found",
        f"a layer for each size: {', '.join(_order_sizes(found))}{shared if others else ''}",
        option="--sizes",
        file=sheet.source,
    )
    return SizedLines({size: tuple(lines) for size, lines in found.items()}, tuple(common))


def _find_ranges(
    layers: Iterable[str], sizes: Mapping[str, str], options: ReadOptions
) -> dict[str, list[str]]:
    """Layers that are called by the first and the last of some sizes, and these sizes."""
    order = _order_sizes(set(sizes.values()))
    names = {layer: sizes.get(layer, layer.strip()) for layer in layers}
    within = {
        layer: list_sizes_within(name, sizes.values(), order)
        for layer, name in names.items()
        if name not in options.sizes
    }
    return {layer: some for layer, some in within.items() if some}


def _tell_ranges(
    sheet: DrawnSheet, sizes: Mapping[str, str], options: ReadOptions, notes: ReportNotes
) -> bool:
    """Whether layers are no sizes but ranges of them, told apart by the looks of their lines.

    Raises
    ------
    FormatError
        Several ranges have sizes in the same looks.
    """
    if not all(is_range(size) and size not in options.sizes for size in sizes.values()):
        return False
    nested: dict[str, list[LookKey]] = {}
    for layer in sorted(sizes):
        lines = tuple(one for one in sheet.lines if one.layer == layer)
        rings = _rings_of_looks(_lines_by_look(lines), sheet, options)
        looks = _find_nested(rings)
        if len(looks) > 2 or (
            len(looks) == 2
            and not any(are_seams_in_cuts(rings[a], rings[b]) for a, b in permutations(looks))
        ):
            nested[layer] = looks
    if not nested:
        return False
    said = ", ".join(repr(layer) for layer in sorted(nested))
    every = [look for looks in nested.values() for look in looks]
    if len(set(every)) < len(every):
        raise FormatError(
            f"{sheet.source}: found several sizes in each of the layers {said}, in the same looks "
            "of line, expected a layer or a look of its own for each size; give the sizes of one "
            "layer another colour"
        )
    notes.add(
        "assumed",
        f"ranges of sizes, not sizes, are the layers {said}: the looks of their lines tell them",
        option="--sizes",
        file=sheet.source,
    )
    return True


def _find_nested(rings: Mapping[LookKey, Sequence[Ring]]) -> list[LookKey]:
    """The looks whose outlines lie in the place of those of another one."""
    pairs = [p for p in combinations(sorted(rings), 2) if _lie_on(rings[p[0]], rings[p[1]])]
    return sorted({key for pair in pairs for key in pair})


def _lines_by_look(lines: Sequence[DrawnLine]) -> dict[LookKey, list[DrawnLine]]:
    found: dict[LookKey, list[DrawnLine]] = {}
    for one in lines:
        if not one.look.filled:
            found.setdefault(key_of(one.look), []).append(one)
    return found


def _order_sizes(sizes: Iterable[str]) -> tuple[str, ...]:
    """Sizes as they are told: by number, by letter, else by name."""
    return sorted_sizes(sorted(sizes), ReadOptions(), ReportNotes())


# ------------------------------------------------------------------------------------ looks


def _by_look(sheet: DrawnSheet, options: ReadOptions, notes: ReportNotes) -> SizedLines:
    by_key = _lines_by_look(sheet.lines)
    legend = sizes_in_legend(sheet.lines, sheet.texts, options.sizes)
    if legend:
        words = "; ".join(f"{size}: {tell_look(legend[size])}" for size in _order_sizes(legend))
        notes.add("found", f"sizes by the legend on the sheet: {words}", file=sheet.source)
        return _sorted_by(sheet, legend, options)
    rings = _rings_of_looks(by_key, sheet, options)
    nested = _find_nested(rings)
    if len(nested) < 2:
        return _one_size(sheet, options, notes)
    chains = {key: [one.chain for one in by_key[key]] for key in nested}
    written = sizes_at_lines(chains, sheet.texts, options.sizes)
    if len(written) == len(nested):
        words = "; ".join(f"{size}: {tell_look(written[size])}" for size in _order_sizes(written))
        notes.add("assumed", f"sizes by what is written at the lines: {words}", file=sheet.source)
        return _sorted_by(sheet, written, options)
    areas = {key: round(sum(float(ring.polygon.area) for ring in rings[key]), 3) for key in nested}
    order = sorted(nested, key=lambda key: (areas[key], key))
    if len(order) == 2 > len(options.sizes) and are_seams_in_cuts(*(rings[k] for k in order)):
        seam, cut = (tell_look(key) for key in order)
        words = f"two looks of line, taken as the cut line ({cut}) and the seam line ({seam})"
        notes.add("assumed", words, option="--sizes", file=sheet.source)
        return _one_size(sheet, options, notes)
    if len(options.sizes) != len(order):
        raise FormatError(_ask_order(sheet, order, options))
    told = dict(zip(options.sizes, order, strict=True))
    words = "; ".join(f"{size}: {tell_look(key)}" for size, key in told.items())
    notes.add(
        "assumed", f"looks of lines taken as sizes, the smallest outlines first: {words}",
        option="--sizes", file=sheet.source,
    )  # fmt: skip
    return _sorted_by(sheet, told, options)


def _sorted_by(sheet: DrawnSheet, looks: Mapping[str, LookKey], options: ReadOptions) -> SizedLines:
    """Lines by the look of their size; marks whose colour alone is that of one size are its own."""
    of_key = {key: size for size, key in looks.items()}
    found: dict[str, list[DrawnLine]] = {size: [] for size in looks}
    others: list[DrawnLine] = []
    for one in sheet.lines:
        size = of_key.get(key_of(one.look))
        (others if size is None else found[size]).append(one)
    by_colour = {key[1]: size for key, size in of_key.items()}
    if len(by_colour) < len(looks):  # sizes share a colour: it tells nothing
        by_colour = {}
    common: list[DrawnLine] = []
    figures = {
        size: shapely.MultiLineString([one.chain.points for one in lines])
        for size, lines in found.items()
    }
    # what every size has in its own colour, such as a dashed seam line, the black one has, too
    colours: dict[tuple[object, ...], set[tuple[float, ...]]] = {}
    for one in others:
        dash, colour, *rest = key_of(one.look)
        if dash:
            colours.setdefault((dash, *rest), set()).add(colour)
    of_each = {look for look, found_in in colours.items() if found_in >= set(by_colour)}
    for one in others:
        dash, colour, *rest = key_of(one.look)
        size = by_colour.get(colour)
        mine = size is not None and not one.look.filled
        mine = mine and ((dash, *rest) in of_each or _is_of(str(size), one, figures, options))
        (found[size] if size is not None and mine else common).append(one)
    return SizedLines({size: tuple(lines) for size, lines in found.items()}, tuple(common))


def _is_of(
    size: str,
    one: DrawnLine,
    figures: Mapping[str, shapely.MultiLineString],
    options: ReadOptions,
) -> bool:
    """Whether a line in the colour of a size is drawn for it.

    What all sizes share is often black or grey, and so may one size be: of those the lines as
    short as a mark are its own, and those that end on its lines and on no other size's.
    """
    colour = key_of(one.look)[1]
    if len(set(colour)) > 1 or one.chain.length <= LONGEST_MARK * options.notch:
        return True
    ends = shapely.MultiPoint([one.chain.start, one.chain.end])
    met = [other for other, figure in figures.items() if figure.dwithin(ends, ENDS_ON_MM)]
    return not one.chain.closed and met == [size]


def _rings_of_looks(
    by_key: Mapping[LookKey, Sequence[DrawnLine]], sheet: DrawnSheet, options: ReadOptions
) -> Mapping[LookKey, Sequence[Ring]]:
    """The outlines that the lines of each look make, alone or with those of one other look.

    Edges that all sizes have in common may have a look of their own; it is the one with
    which most outlines close.  Test squares may lie on one another and tell nothing.
    """
    chains = {key: [one.chain for one in lines] for key, lines in by_key.items()}
    alone = {
        key: find_outermost(outlines_of(found, options.join, options.notch).rings)
        for key, found in chains.items()
    }
    best, most = alone, sum(map(len, alone.values()))
    for common in sorted(chains):
        with_it = {
            key: find_outermost(
                outlines_of([*found, *chains[common]], options.join, options.notch).rings
            )
            for key, found in chains.items()
            if key != common
        }
        number = sum(map(len, with_it.values())) - len(alone[common]) * len(with_it)
        if number > most:
            best, most = with_it, number
    pieces = {key: [r for r in own if not is_test(r, sheet.texts)] for key, own in best.items()}
    return pieces if any(pieces.values()) else best


def _lie_on(own: Sequence[Ring], theirs: Sequence[Ring]) -> bool:
    """Whether most outlines of one look have one of the other in the same place."""
    if not own or not theirs:
        return False
    tree = shapely.STRtree([ring.polygon for ring in theirs])
    met = 0
    for ring in own:
        near = [theirs[int(i)].polygon for i in tree.query(ring.polygon, predicate="intersects")]
        met += any(
            ring.polygon.intersection(other).area >= NESTED * max(ring.polygon.area, other.area)
            for other in near
        )
    return 2 * met >= min(len(own), len(theirs))


def _one_size(sheet: DrawnSheet, options: ReadOptions, notes: ReportNotes) -> SizedLines:
    if len(options.sizes) > 1:
        raise FormatError(
            f"{sheet.source}: found one outline of each piece, expected {len(options.sizes)} sizes "
            f"({', '.join(options.sizes)}); leave --sizes out, or give the file in which they are"
        )
    size = options.sizes[0] if options.sizes else ONE_SIZE
    if not options.sizes:
        notes.add(
            "assumed",
            f"the drawing is of one size, called '{size}' since nothing names another",
            option="--sizes",
            file=sheet.source,
        )
    return SizedLines({size: sheet.lines}, ())


def _ask_order(sheet: DrawnSheet, order: Sequence[LookKey], options: ReadOptions) -> str:
    looks = "; ".join(f"{number}: {tell_look(key)}" for number, key in enumerate(order, start=1))
    given = f", and {say_count(len(options.sizes), 'size')} in --sizes" if options.sizes else ""
    shared = sizes_that_share(sheet.lines, sheet.texts)
    legend = (
        f"a legend that shows {list_words(shared)} in one look, whose lines nobody can tell apart"
        if shared
        else "no legend that names their sizes"
    )
    return (
        f"{sheet.source}: found outlines in {len(order)} looks of line, one inside the other"
        f"{given}, and {legend}; from the smallest: {looks}; type their sizes in "
        f"this order, as in --sizes {','.join(f'SIZE{i}' for i in range(1, len(order) + 1))}"
    )
