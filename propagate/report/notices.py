"""What the user should look at, and which pieces it concerns."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.record import Notice, Record
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_words, where_in_words
from propagate.report.units import MILLIMETRES, Unit, subtract_figures
from propagate.tolerances import GIRTH_MM
from propagate.values import dataclass

__all__ = [
    "ToldWarning",
    "changed_girths",
    "list_warnings",
    "notices_of",
    "pieces_of_girth",
    "say_notice",
    "say_notice_of",
]


@dataclass(frozen=True)
class ToldWarning:
    """What to look at, in the words of the set's titles.

    Attributes
    ----------
    places : tuple of str
        What it concerns, by name.
    where, text : str
        The same in words, and what is said of it.
    said : str
        The text with names.
    """

    places: tuple[str, ...]
    where: str
    text: str
    said: str


def list_warnings(pattern: PatternSet, record: Record, *, typed: bool = False) -> list[ToldWarning]:
    """Return everything to look at; the same text is said once.

    Parameters
    ----------
    pattern : PatternSet
    record : Record
    typed : bool
        Whether a key or an option that does it is told, as where somebody types.
    """
    alike: dict[str, list[Notice]] = {}
    for notice in record.warnings:
        alike.setdefault(say_notice(pattern, notice, typed=typed), []).append(notice)
    found = []
    for text, notices in alike.items():
        places = tuple(dict.fromkeys(notice.where for notice in notices))
        where = where_in_words(pattern, ", ".join(places))
        found.append(ToldWarning(places, where, text, notices[0].text))
    return found


def say_notice(pattern: PatternSet, notice: Notice, *, typed: bool = False) -> str:
    """Say a notice in words, with the key or option that does it where somebody types."""
    pieces = _find_pieces(pattern, notice.where)
    text = in_words(pattern, notice.text, next(iter(pieces)) if len(pieces) == 1 else "")
    return f"{text} ({notice.typed})" if typed and notice.typed else text


def changed_girths(records: Mapping[str, Record], unit: Unit = MILLIMETRES) -> list[Notice]:
    """Return girths that a revision or edits changed by more than is allowed, each with its sizes.

    Parameters
    ----------
    records : mapping of size to Record
        Those of a blend give nothing: a blend that misses a girth warns of it itself.

    Returns
    -------
    list of Notice
        One for each girth.
    """
    more = int(unit.name == "in")
    found: dict[str, list[str]] = {}
    for size, record in records.items():
        for row in record.girths if record.options.changes_girths else ():
            if not row.ok:
                before, now = unit.length(row.wanted_mm, more), unit.length(row.found_mm, more)
                said = f"size {size} {subtract_figures(now, before)} (before {before}, now {now})"
                found.setdefault(row.girth, []).append(said)
    allowed = f"{unit.length(GIRTH_MM, more)} {unit.name}"
    return [
        Notice(
            girth,
            f"the girth changed by more than {allowed}: {', '.join(sizes)}",
            "look whether that was wanted",
        )
        for girth, sizes in found.items()
    ]


def pieces_of_girth(pattern: PatternSet, name: str) -> set[str]:
    """Return pieces that a girth is measured on."""
    girth = pattern.relations.girths[name]
    pieces = {span.piece for run in girth.runs for span in run}
    for silhouette in girth.silhouettes:
        assembly = pattern.relations.assemblies.get(silhouette)
        pieces |= {silhouette} if assembly is None else set(assembly.pieces)
    return pieces


def notices_of(result: Result, piece: str) -> list[Notice]:
    """Find what concerns one piece: its own, its seams', its pocket's, its silhouette's."""
    found = {
        (notice.where, notice.text): notice
        for notice in result.record.warnings
        if piece in _find_pieces(result.pattern, notice.where)
    }
    return list(found.values())


def say_notice_of(pattern: PatternSet, piece: str, notice: Notice, *, typed: bool = False) -> str:
    """Say a notice beside a piece: it says what it is of, unless it is of the piece itself."""
    text = say_notice(pattern, notice, typed=typed)
    return text if notice.where == piece else f"{where_in_words(pattern, notice.where)}: {text}"


def _find_pieces(pattern: PatternSet, where: str) -> set[str]:
    """Return pieces behind a name: a piece, ``PIECE.EDGE``, ``SILHOUETTE/EDGE`` or a relation."""
    relations = pattern.relations
    name = where.partition("/")[0].partition(".")[0].strip()
    if name in pattern.pieces:
        return {name}
    if name in relations.assemblies:
        return set(relations.assemblies[name].pieces)
    if name in relations.seams:
        seam = relations.seams[name]
        return {span.piece for span in (*seam.lead, *seam.follow)}
    if name in relations.openings:
        return {relations.openings[name].piece}
    if name in relations.stacks:
        return {layer.piece for layer in relations.stacks[name].layers}
    on = relations.patches.get(name) or relations.welt_openings.get(name)
    if on is not None:
        return {on.on}
    band = relations.bands.get(name)
    return {band.piece} if band else set()
