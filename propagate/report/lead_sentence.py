"""One sentence that says what an edit came to: the largest changes first, what stayed last.

It is made of rows of the record alone, never of the sentences in it, and of the figures as they
are printed elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from propagate.counts import say_count, say_range
from propagate.engine.record import Record
from propagate.engine.revised import Revised
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, list_words, name_title, piece_title, shorten_text
from propagate.report.units import MILLIMETRES, Unit
from propagate.values import dataclass

__all__ = ["largest_changes", "lead_sentence"]

_LONGEST = 200
"""Characters that the sentence should not exceed."""
_MOST = 3
"""Changes that are told."""
_NAME = 30
"""Characters of a title that are told."""
_ALIKE = 0.75
"""Alike changes are told together where none is less than this of the largest."""
_PAPER = 0.5
"""What a line that went elsewhere weighs against one of another length: it is seen less."""


@dataclass(frozen=True)
class _Seen:
    """What became of one thing in one size: ``waist``, ``shorter``, by 20.1 mm.

    `bare` is what needs no word of the piece it is on; `weight` is in mm.
    """

    piece: str
    of: str
    way: str
    figure: float
    unit: str
    weight: float
    bare: bool = False


_Change = tuple[_Seen, ...]
"""The same thing in all sizes in which it became so."""


def _weigh_change(change: _Change) -> float:
    return max(seen.weight for seen in change)


def lead_sentence(result: Result | Revised, unit: Unit = MILLIMETRES) -> str:
    """Say in one plain sentence what an edit came to.

    Parameters
    ----------
    result : Result or Revised
        Of a set in several sizes, figures that differ from size to size are told as a range.

    Returns
    -------
    str
        About 200 characters at most.
    """
    pattern, records = _records_of(result)
    groups = _told_together(pattern, _find_changes(result, unit))[:_MOST]
    changed = {p.piece for r in records.values() for p in r.pieces if p.status != "same"}
    if not groups:
        return "No seam line changed."
    where = ""  # in which sizes, where that is not told by there being one alone
    if isinstance(result, Revised) and len(pattern.sizes) > 1:
        where = f"in {len(records)} sizes: "
        if len(records) == len(pattern.sizes):
            where = "in every size: "
        elif len(records) == 1:
            where = f"in size {next(iter(records))}: "
    clauses = [_say_clause(pattern, group, len(records)) for group in groups]
    texts = []
    for count in range(len(groups), 0, -1):
        told = {one[0].piece for group in groups[:count] for one in group}
        for rest in _say_rest(pattern, changed, told):
            text = f"{where}{', '.join(clauses[:count])}{rest}."
            texts.append(text[:1].upper() + text[1:])
    return next((text for text in texts if len(text) <= _LONGEST), texts[-1])


def largest_changes(
    result: Result | Revised, unit: Unit = MILLIMETRES
) -> Mapping[str, Sequence[str]]:
    """Return the three largest figures of each piece that has any: ``waist 31 mm shorter``.

    Returns
    -------
    mapping of piece to sequence of str
        Largest first; fewer where less changed.
    """
    found: dict[str, list[str]] = {}
    for change in _find_changes(result, unit):
        told = found.setdefault(change[0].piece, [])
        if len(told) < _MOST:
            told.append(f"{change[0].of} {_say_figures([change])}")
    return found


def _records_of(result: Result | Revised) -> tuple[PatternSet, Mapping[str, Record]]:
    if isinstance(result, Revised):
        return result.pattern, result.records
    return result.pattern, {result.record.size: result.record}


# ------------------------------------------------------------------------------ changes


def _find_changes(result: Result | Revised, unit: Unit) -> list[_Change]:
    """Return everything that changed by a figure that is printed, the largest first."""
    pattern, records = _records_of(result)
    found: dict[tuple[str, str, str], list[_Seen]] = {}
    for size, record in records.items():
        widened = _widen_mouths(result, size)
        rows = [*_of_edges(pattern, record, widened, unit), *_of_openings(pattern, record)]
        for seen in (*rows, *_of_darts(result, size, unit)):
            found.setdefault((seen.piece, seen.of, seen.way), []).append(seen)
    return sorted(map(tuple, found.values()), key=lambda change: -_weigh_change(change))


def _of_edges(
    pattern: PatternSet, record: Record, widened: Mapping[tuple[str, str], float], unit: Unit
) -> Iterator[_Seen]:
    """Yield edges of another length, mouths of darts apart, or that went further than it tells."""
    for piece in record.pieces:
        for edge in piece.edges:
            if edge.status != "reshaped":
                continue
            of = in_sentence(name_title(pattern, edge.edge, piece.piece))
            before_mm = edge.before_mm + widened.get((piece.piece, edge.edge), 0.0)
            longer = float(unit.difference(before_mm, edge.after_mm))
            far_mm = max(edge.added_mm, edge.trimmed_mm)
            far, by = float(unit.length(far_mm)), abs(longer)
            if far * _PAPER > by:
                way = "further out" if edge.added_mm >= edge.trimmed_mm else "further in"
                yield _Seen(piece.piece, of, way, far, unit.name, far_mm * _PAPER)
            elif by:
                way = "longer" if longer > 0.0 else "shorter"
                yield _Seen(piece.piece, of, way, by, unit.name, by * unit.mm)


def _of_openings(pattern: PatternSet, record: Record) -> Iterator[_Seen]:
    for row in record.openings:
        turn = round(row.swing_deg, 1)
        if turn:
            of, way = (
                in_sentence(name_title(pattern, row.opening)),
                "clockwise" if turn < 0.0 else "anticlockwise",
            )
            yield _Seen(row.piece, of, way, abs(turn), "°", row.moved_mm, bare=True)


def _of_darts(result: Result | Revised, size: str, unit: Unit) -> Iterator[_Seen]:
    for item in result.darts if isinstance(result, Revised) else ():
        dart = item.dart
        wider = float(unit.difference(dart.before_mm, dart.after_mm))
        if item.size == size and wider:
            way = "wider" if wider > 0.0 else "narrower"
            way = {"came": "wide (new)", "went": "wide (taken out)"}.get(dart.what, way)
            of, mm = (
                in_sentence(name_title(result.pattern, dart.name, item.piece)),
                abs(wider) * unit.mm,
            )
            yield _Seen(item.piece, of, way, abs(wider), unit.name, mm)


def _widen_mouths(result: Result | Revised, size: str) -> Mapping[tuple[str, str], float]:
    """Map ``(PIECE, EDGE)`` to how much wider the mouths of its darts are, mm."""
    wider: dict[tuple[str, str], float] = {}
    for item in result.darts if isinstance(result, Revised) else ():
        if item.size == size:
            dart = item.dart
            for edge, mm in ((dart.was_on, -dart.before_mm), (dart.edge, dart.after_mm)):
                key = item.piece, edge
                wider[key] = wider.get(key, 0.0) + mm
    return wider


# -------------------------------------------------------------------------------- words


def _told_together(pattern: PatternSet, changes: Sequence[_Change]) -> list[list[_Change]]:
    """Group the same edge of several pieces as one thing to tell, and edges of the same pieces.

    If they changed the same way, by about as much.
    """

    def same_edge(group: Sequence[_Change]) -> object:
        seen = group[0][0]
        return seen.of, seen.way, seen.bare and seen.piece

    def same_pieces(group: Sequence[_Change]) -> object:
        seen = group[0][0]
        return {change[0].piece for change in group}, seen.way, seen.bare and seen.of

    groups: list[list[_Change]] = []
    for key in (same_edge, same_pieces):
        singles, groups = groups or [[change] for change in changes], []
        for single in singles:
            for group in groups:
                alike = _weigh_change(single[0]) >= _ALIKE * _weigh_change(group[0])
                if alike and key(single) == key(group):
                    group += single
                    break
            else:
                groups.append(list(single))
    order = {piece: place for place, piece in enumerate(pattern.pieces)}
    for group in groups:
        group.sort(key=lambda change: order.get(change[0].piece, len(order)))
    return groups


def _say_clause(pattern: PatternSet, group: Sequence[_Change], sizes: int) -> str:
    pieces = list(dict.fromkeys(change[0].piece for change in group))
    edges = list(dict.fromkeys(change[0].of for change in group))
    of = _say_names([shorten_text(edge, _NAME) for edge in edges], "edges")
    if not group[0][0].bare:
        of += f" of {_say_names([_say_piece(pattern, piece) for piece in pieces], 'pieces')}"
    each = " each" if len(group) > 1 else ""
    most = max(len(change) for change in group)
    where = f" in {most} of {sizes} sizes" if most < sizes else ""
    return f"{of}{each} {_say_figures(group)}{where}"


def _say_names(names: Sequence[str], what: str) -> str:
    return list_words(names) if len(names) <= _MOST else f"{len(names)} {what}"


def _say_figures(group: Sequence[_Change]) -> str:
    """Say ``20 to 22 mm shorter``, ``turned 7.1° clockwise``: over pieces and sizes."""
    seen = group[0][0]
    figures = [one.figure for change in group for one in change]
    ends = min(figures), max(figures)
    # For a glance: whole from 10 on, but for inches.
    places = [2 if seen.unit == "in" else int(end < 10.0) for end in ends]
    low, high = (f"{end:.{many}f}" for end, many in zip(ends, places, strict=True))
    range_ = say_range(low, high)
    if seen.unit == "°":
        return f"turned {range_}° {seen.way}"
    return f"{range_} {seen.unit} {seen.way}"


def _say_piece(pattern: PatternSet, piece: str) -> str:
    return shorten_text(in_sentence(piece_title(pattern, piece)), _NAME)


def _say_rest(pattern: PatternSet, changed: set[str], told: set[str]) -> list[str]:
    """Tell what else changed and what stayed: by name, else how many; the longest first."""
    also = [piece for piece in pattern.pieces if piece in changed - told]
    kept = [piece for piece in pattern.pieces if piece not in changed | told]

    def named(pieces: Sequence[str], what: str) -> str:
        titles = [_say_piece(pattern, piece) for piece in pieces]
        return f"; {list_words(titles)} {what}" if titles else ""

    def numbered(pieces: Sequence[str], what: str) -> str:
        return f"; {say_count(len(pieces), 'other piece')} {what}" if pieces else ""

    too, drawn = "changed too", "as drawn"
    return [
        named(also, too) + named(kept, drawn),
        named(also, too) + numbered(kept, drawn),
        numbered(also, too) + named(kept, drawn),
        numbered(also, too) + numbered(kept, drawn),
    ]
