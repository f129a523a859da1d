"""From what is drawn on a sheet to pieces in all sizes.

`read_sheet` is what a reader of prints calls: it takes a `DrawnSheet` and what the user wished,
adds what it found and took for granted to the notes, and returns the set.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import shapely

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.io.chain import Chain
from propagate.io.clean_names import clean_name
from propagate.io.drawn_lines import DrawnLine, DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes, told_once
from propagate.io.sheet.borrowing import borrow_lines
from propagate.io.sheet.inner_lines import put_together
from propagate.io.sheet.left_out import (
    same_rings,
    what_else,
    what_is_none,
    without_frames,
)
from propagate.io.sheet.nest import match_outlines, place_said, tell_missing
from propagate.io.sheet.outlines import Outlines, outlines_of
from propagate.io.sheet.piece_marks import hand_out_marks, is_drawn_again
from propagate.io.sheet.piece_words import name_pieces, tell_allowance_words
from propagate.io.sheet.seams import allowance_between, seam_inside, seam_to_fold
from propagate.io.sheet.sizes import SizedLines, lines_of_sizes
from propagate.io.sheet.texts import without_circled
from propagate.io.svg.files import choose_base, sorted_sizes
from propagate.io.svg.read import SizeSheet, outlines_are, pattern_of_sheets
from propagate.io.svg.rings import Ring, find_outermost, is_mark
from propagate.pattern.patternset import PatternSet

__all__ = ["read_sheet"]

NESTED_SHARE = 0.6
"""What covers so much of a piece is another size of it, and no pocket drawn on it."""
MOST_LINES = 60_000
JOIN_MM = 0.1
LARGEST_FILLED_MM = 20.0
"""A larger filled area is a picture, a watermark or a letter, no mark."""


@dataclass(eq=False)
class _Found:
    """What is known of a sheet so far.

    Attributes
    ----------
    rings : mapping of size to outlines
    shared : list of Ring
        Outlines of lines that are of no size.
    left : mapping of size to lines on no outline
        With the key None for those of no size.
    made_of : mapping of the identity of a ring to the lines that it was put together of
    """

    rings: dict[str, list[Ring]] = field(default_factory=dict)
    shared: list[Ring] = field(default_factory=list)
    left: dict[str | None, list[Chain]] = field(default_factory=dict)
    made_of: dict[int, tuple[Chain, ...]] = field(default_factory=dict)


def read_sheet(sheet: DrawnSheet, options: ReadOptions, notes: ReportNotes) -> PatternSet:
    """Read the pieces that are drawn on a sheet, in all sizes.

    Parameters
    ----------
    sheet : DrawnSheet
    options : ReadOptions
        What the user wished; `join` closes gaps, `notch` is the longest notch.
    notes : ReportNotes
        What was found, taken for granted and left out is added here.

    Returns
    -------
    PatternSet
        It has no relations and is not validated.

    Raises
    ------
    FormatError
        The sizes cannot be told apart, no outline is closed, or a size lacks a piece: the
        message says which, where, and what to do.
    """
    if len(sheet.lines) > MOST_LINES:
        raise FormatError(
            f"{sheet.source}: found {len(sheet.lines)} lines, expected at most {MOST_LINES}; take "
            "hatchings and pictures out"
        )
    told = ReportNotes()
    options = replace(options, notch=options.notch + 0.01)  # one of that length, to its digits
    drawn, filled = _without_pictures(sheet, told)
    by_size = lines_of_sizes(drawn, options, told)
    sizes = sorted_sizes(list(by_size.sizes), options, told)
    found = _collect_outlines(by_size, sizes, options, told, sheet.source)
    pieces = _collect_pieces(found, sizes, drawn, options, told)
    base = choose_base(sizes, options, told)
    for size, lines in found.left.items():
        found.left[size] = without_circled(lines, sheet.texts)
    on_pieces = hand_out_marks(pieces, found.left, filled, sizes, options, told, sheet.source)
    name_pieces(on_pieces, sheet.texts, sizes, base, told, sheet.source)
    told.add("assumed", outlines_are(options), option="--boundary", file=sheet.source)
    sheets = {
        size: SizeSheet(sheet.source, [one[size] for one in on_pieces], tuple(sheet.texts))
        for size in sizes
    }
    name = options.name or clean_name(Path(sheet.source).stem) or "pattern"
    pattern = pattern_of_sheets(name, sheets, sizes, base, options, told)
    notes.extend(told_once(told.lines, pattern.sizes))
    return pattern


def _without_pictures(sheet: DrawnSheet, notes: ReportNotes) -> tuple[DrawnSheet, list[DrawnLine]]:
    """The sheet without filled areas, and the small ones that may be marks."""
    lines, small = [], []
    pictures = 0
    for one in sheet.lines:
        if not one.look.filled:
            lines.append(one)
            continue
        points = one.chain.points
        if float((points.max(axis=0) - points.min(axis=0)).max()) <= LARGEST_FILLED_MM:
            small.append(one)
        else:
            pictures += 1
    if pictures:
        notes.add("ignored", "a filled area", file=sheet.source, count=pictures)
    return replace(sheet, lines=tuple(lines)), small


# --------------------------------------------------------------------------------- outlines


def _collect_outlines(
    by_size: SizedLines,
    sizes: Sequence[str],
    options: ReadOptions,
    notes: ReportNotes,
    source: str,
) -> _Found:
    """The closed lines of every size, and what is on none of them."""
    found = _Found()
    common = [one.chain for one in by_size.common]
    shared = outlines_of(common, options.join, options.notch)
    open_common = [line for line in shared.left if not line.closed]
    own = {size: [one.chain for one in by_size.sizes[size]] for size in sizes}
    used_common: set[int] = set()
    for size in sizes:
        first = outlines_of([*own[size], *open_common], options.join, options.notch)
        others = [line for other in sizes if other != size for line in own[other]]
        loose = _own_left(first, own[size])
        more, taken = borrow_lines(loose, first.rings, others, options.join, options.notch)
        if taken:
            notes.add(
                "assumed",
                "where its lines end on the line of another size, both run on that line",
                file=source, size=size, count=taken,
            )  # fmt: skip
        rings, twice = same_rings([*first.rings, *more.rings])
        found.rings[size] = [ring for ring in rings if not is_mark(ring)]
        used = first.used | more.used
        used_common |= used
        found.made_of |= {**first.made_of, **more.made_of}
        found.left[size] = [line for line in own[size] if id(line) not in used]
        found.left[size] += [ring.parts[0][0] for ring in rings if is_mark(ring)]
        doubled = first.doubled + more.doubled + twice
        if doubled:
            notes.add("repaired", "a line that is drawn twice", file=source, count=doubled)
    all_shared, _ = same_rings(shared.rings)
    found.shared = [ring for ring in all_shared if not is_mark(ring)]
    found.left[None] = [line for line in shared.left if id(line) not in used_common]
    found.left[None] += [ring.parts[0][0] for ring in all_shared if is_mark(ring)]
    return found


def _own_left(found: Outlines, own: Sequence[Chain]) -> list[Chain]:
    """Lines of a size that are on no outline, and do not run along one."""
    mine = {id(line) for line in own}
    left = [line for line in found.left if id(line) in mine]
    rims = [ring.polygon.exterior for ring in found.rings]
    tree = shapely.STRtree(rims)
    return [line for line in left if not is_drawn_again(line, rims, tree)]


def _collect_pieces(
    found: _Found,
    sizes: Sequence[str],
    sheet: DrawnSheet,
    options: ReadOptions,
    notes: ReportNotes,
) -> list[dict[str, Ring]]:
    """The outlines that are pieces, each in every size."""
    rings, frames = without_frames(found.rings, sheet.texts)
    shared = list(found.shared)
    if shared:
        everything = {**rings, "": shared}
        cleaned, more = without_frames(everything, sheet.texts)
        shared = [r for r in cleaned[""] if not _holds_sized(r, rings)]
        frames += more + [r for r in cleaned[""] if _holds_sized(r, rings)]
        rings = {size: cleaned[size] for size in sizes}
    for _ in frames:
        notes.add("ignored", "a frame around pieces", file=sheet.source)
    top = {size: find_outermost(rings[size]) for size in sizes}
    if not any(top.values()):
        raise FormatError(
            f"{sheet.source}: found no outline, expected lines that meet end to end; a larger "
            "--join closes gaps"
        )
    pieces = match_outlines(top)
    whole = [piece for piece in pieces if len(piece) == len(sizes)]
    cut: list[Ring] = []
    if options.boundary != "cut":  # else the seam line inside is asked for later
        whole, cut = _seams_for_cuts(whole, rings, found, sheet.source, notes)
        if not cut:
            tell_allowance_words(sheet.words or [t.text for t in sheet.texts], sheet.source, notes)
    kept = {id(ring) for piece in pieces for ring in piece.values()} | set(map(id, cut))
    kept |= {id(ring) for piece in whole for ring in piece.values()}
    _keep_inner(found, rings, kept)
    single = [piece for piece in pieces if len(piece) == 1 < len(sizes)]
    for piece in pieces:
        if 1 < len(piece) < len(sizes):
            raise FormatError(tell_missing(piece, sizes, sheet.source))
    alone = [next(iter(piece.values())) for piece in single]
    once = [ring for ring in shared if not _in_any(ring, whole)]
    # Lines of no size that close inside a piece are lines on it in all sizes.
    apart = {id(ring) for ring in once}
    found.left[None] += [ring.parts[0][0] for ring in shared if id(ring) not in apart]
    if len(sizes) == 1:
        others = [r for r in rings[sizes[0]] if id(r) not in kept]
        seam_inside_cut = 1 if options.boundary == "cut" else 0
        _refuse_nested(whole, others, seam_inside_cut, sheet.source)
        return _leave_out_boxes(whole, sizes[0], sheet, notes)
    return whole + _drawn_once(alone + once, whole, sizes, sheet, notes)


def _refuse_nested(
    pieces: Sequence[Mapping[str, Ring]], others: Sequence[Ring], expected: int, source: str
) -> None:
    """Refuse sizes inside each other that are all drawn alike; to take one of them is a guess."""
    most = 0
    held = 0
    for piece in pieces:
        (own,) = (ring.polygon for ring in piece.values())
        near = [r.polygon for r in others if r.polygon.intersects(own)]
        inside = sum(poly.intersection(own).area >= NESTED_SHARE * own.area for poly in near)
        held += inside > expected
        most = max(most, inside)
    if 2 * held > len(pieces):
        raise FormatError(
            f"{source}: found up to {most + 1} outlines inside each other, all in one look of "
            "line and without layers: which size is which cannot be told; expected a layer, a "
            "colour or a kind of dash for each size, or a file for each: save the sizes one by one "
            "and give all files"
        )


def _leave_out_boxes(
    pieces: Sequence[dict[str, Ring]], size: str, sheet: DrawnSheet, notes: ReportNotes
) -> list[dict[str, Ring]]:
    """Of one size, the pieces without test squares and pictures; a box may be a piece."""
    rings = [piece[size] for piece in pieces]
    kept = []
    for piece, ring in zip(pieces, rings, strict=True):
        words = what_else(ring, sheet.texts, [other for other in rings if other is not ring])
        if words is None or words.startswith("a box"):
            kept.append(piece)
        else:
            notes.add("ignored", f"{words} at {place_said(ring)}", file=sheet.source)
    return kept


def _holds_sized(ring: Ring, rings: Mapping[str, Sequence[Ring]]) -> bool:
    """Whether a line of no size runs around an outline of a size, or across one."""
    for own in rings.values():
        for other in own:
            around = ring.polygon.contains(other.polygon)
            across = ring.polygon.exterior.crosses(other.polygon.exterior)
            if (around or across) and not other.polygon.contains(ring.polygon):
                return True
    return False


def _in_any(ring: Ring, pieces: Sequence[Mapping[str, Ring]]) -> bool:
    """Whether an outline lies inside a piece."""
    return any(
        other.polygon.buffer(0.1).contains(ring.polygon)
        for piece in pieces
        for other in piece.values()
    )


def _seams_for_cuts(
    pieces: Sequence[dict[str, Ring]],
    rings: Mapping[str, Sequence[Ring]],
    drawn: _Found,
    source: str,
    notes: ReportNotes,
) -> tuple[list[dict[str, Ring]], list[Ring]]:
    """The pieces with their seam line where a cut line runs around it, and these cut lines."""
    found: list[dict[str, Ring]] = []
    cut: list[Ring] = []
    inside = [{s: seam_inside(ring, rings[s]) for s, ring in piece.items()} for piece in pieces]
    open_lines: dict[str, list[Chain]] = {}
    if any(seam is not None for seams in inside for seam in seams.values()):
        open_lines = {
            size: [line for line in put_together(drawn.left[size], JOIN_MM) if not line.closed]
            for size in rings
        }
    for piece, seams in zip(pieces, inside, strict=True):
        for size, lines in open_lines.items():
            seams[size] = seams[size] or seam_to_fold(piece[size], lines)
        inner = {size: seam for size, seam in seams.items() if seam is not None}
        if len(inner) < len(piece):
            found.append(piece)
            continue
        found.append(inner)
        cut += piece.values()
        gaps = [allowance_between(inner[size], ring) for size, ring in piece.items()]
        low, high = min(gap[0] for gap in gaps), max(gap[1] for gap in gaps)
        notes.add(
            "assumed",
            f"of two lines around the piece at {place_said(next(iter(piece.values())))}, "
            f"{low:.0f} to {high:.0f} mm apart, the inner one is the seam line; the outer one, "
            "the cut line, is left out: say the allowances in set.toml",
            option="--boundary cut",
            file=source,
        )
    return found, cut


def _keep_inner(found: _Found, rings: Mapping[str, Sequence[Ring]], kept: set[int]) -> None:
    """Outlines inside others are lines on the piece, as they were drawn."""
    for size, own in rings.items():
        for ring in own:
            if id(ring) not in kept:
                found.left[size] += found.made_of.get(id(ring), (ring.parts[0][0],))


def _drawn_once(
    rings: Sequence[Ring],
    whole: Sequence[Mapping[str, Ring]],
    sizes: Sequence[str],
    sheet: DrawnSheet,
    notes: ReportNotes,
) -> list[dict[str, Ring]]:
    """Pieces that are the same in all sizes, and told what is no piece."""
    drawn = [next(iter(piece.values())) for piece in whole]
    none = what_is_none(rings, sheet.texts, drawn)
    pieces = []
    for ring in rings:
        words = none.get(id(ring))
        if words is not None:
            notes.add("ignored", f"{words} at {place_said(ring)}", file=sheet.source)
        else:
            pieces.append(dict.fromkeys(sizes, ring))
            notes.add(
                "assumed",
                f"the piece at {place_said(ring)} is drawn once and is the same in all sizes",
                file=sheet.source,
            )
    if pieces and len(pieces) > 3 * max(len(whole), 1):
        raise FormatError(
            f"{sheet.source}: found {say_count(len(whole), 'piece')} in all sizes and "
            f"{say_count(len(pieces), 'outline')} in one, expected each piece in every size; are "
            "the sizes told apart rightly? See --sizes"
        )
    return pieces
