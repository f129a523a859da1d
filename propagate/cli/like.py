"""What ``begin --like`` takes from a set before: names, levels and relations; and what it tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from propagate.errors import PropagateError

if TYPE_CHECKING:
    from propagate.engine.taking_over import Fitted
    from propagate.io.report import ReportNotes
    from propagate.pattern.patternset import PatternSet
    from propagate.recognise.levels_like import Drawn
    from propagate.recognise.matched import Matched
    from propagate.recognise.named_like import Named

__all__ = ["begin_like"]

_PIECE = "--piece NEW=OLD"


def begin_like(
    pattern: PatternSet,
    old: PatternSet,
    notes: ReportNotes,
    *,
    said: Sequence[str] = (),
    carries: bool = True,
) -> PatternSet:
    """Return a set with the names of one before, and with its levels and relations.

    Parameters
    ----------
    pattern, old : PatternSet
    notes : ReportNotes
        Takes what was found, what not, and what was taken for granted.
    said : sequence of str
        Pieces whose names were said by hand.
    carries : bool
        Carry levels and relations too.
    """
    from propagate.engine.taking_over import take_over_what_fits
    from propagate.recognise.levels_like import draw_levels_like
    from propagate.recognise.named_like import name_like

    if pattern.relations != type(pattern.relations)():
        raise PropagateError(
            "found relations in the files and --like, expected bare geometry: their names are "
            "those of their relations"
        )
    named = name_like(pattern, old, said)
    _tell_names(named, old, notes)
    if not carries:
        return named.pattern
    sure = [one.old for one in named.matched.matches]
    found, drawn = draw_levels_like(
        named.pattern, old, {name: named.pattern.sized(name, pattern.base) for name in sure}
    )
    _tell_levels(drawn, old, notes)
    fitted = take_over_what_fits(found, old, sure)
    _tell_relations(fitted, old, notes)
    return replace(found, relations=fitted.carried.relations)


def _tell_names(named: Named, old: PatternSet, notes: ReportNotes) -> None:
    matched = named.matched
    called = [f"'{one.new}' is '{one.old}'" for one in matched.matches if one.new != one.old]
    words = f"{len(matched.matches)} of the {len(old.pieces)} pieces of set '{old.name}' are found"
    notes.add("found", f"{words} by their shape{': ' if called else ''}{', '.join(called)}")
    if matched.strange:
        said = ", ".join(f"'{one.new}' like '{one.old}'" for one in matched.strange)
        notes.add(
            "warning",
            f"most pieces are not those of set '{old.name}', so nothing is taken from a piece "
            f"that looks like one of it: {said}",
            option=_PIECE,
        )
    _tell_alike(matched, old, notes)
    _tell_doubts(matched, old, notes)
    _tell_without_match(named, old, notes)
    _tell_taken(named, old, notes)


def _tell_alike(matched: Matched, old: PatternSet, notes: ReportNotes) -> None:
    """Say which pieces were turned over, and which no drawing tells apart."""
    from propagate.pattern.names import quote_names

    to_be = {one.new: one.old for one in matched.matches}
    for name in matched.turned:
        words = (
            f"is the mirror image of '{to_be[name]}' of set '{old.name}', which is cut alike from "
            "either face, and was turned over"
        )
        notes.add("assumed", words, piece=to_be[name])
    for names in matched.alike:
        said = quote_names(names)
        taken = [name for name in names if name in to_be]
        olds = quote_names([to_be[name] for name in taken])
        words = f"they are called {olds}"
        if len(taken) < len(names):
            first = quote_names(taken)
            words = f"{first} {'is' if len(taken) == 1 else 'are'} called {olds}, no other is"
        notes.add(
            "assumed",
            f"{said} look the same in every size, so each may be the other; {words}",
            option=_PIECE,
        )


def _tell_doubts(matched: Matched, old: PatternSet, notes: ReportNotes) -> None:
    """Say of which pieces it is not sure what they are, and what can be done about it."""
    from propagate.pattern.names import quote_names

    for doubt in matched.doubts:
        olds = quote_names(doubt.olds, " or ")
        if doubt.turned_over:
            words = (
                f"looks like the mirror image of {olds} of set '{old.name}'; names and relations "
                "go over to a piece that is drawn with the same face up, so turn it over in the "
                "drawing"
            )
        elif len(doubt.olds) > 1:
            words = f"may be {olds} of set '{old.name}', so nothing is carried to it"
        else:
            words = (
                f"may be {olds} of set '{old.name}', but its edges may be taken for those in more "
                "than one way, so nothing is carried to it"
            )
        several = not doubt.turned_over and len(doubt.olds) > 1
        notes.add("warning", words, piece=doubt.new, option=_PIECE if several else None)


def _tell_without_match(named: Named, old: PatternSet, notes: ReportNotes) -> None:
    """Say which pieces of either set the other one lacks."""
    from propagate.pattern.names import quote_names

    if named.missing:
        said = quote_names(named.missing)
        notes.add("warning", f"pieces of set '{old.name}' that are not found: {said}")
    if named.others:
        said = quote_names(named.others)
        notes.add("warning", f"pieces that are none of set '{old.name}': {said}")


def _tell_taken(named: Named, old: PatternSet, notes: ReportNotes) -> None:
    """Say what was taken from the set before: edges, darts, marks and what is said of cutting."""
    from propagate.pattern.names import quote_names

    for piece, groups in named.joined.items():
        for names in groups:
            words = f"{', '.join(names)} are one edge, as in set '{old.name}'"
            notes.add("found", words, piece=piece)
    for item in named.carried:
        for warning in item.warnings:
            notes.add("warning", warning, piece=item.piece)
    for piece, darts in named.darts.items():
        said = quote_names(darts)
        words = f"two notches and a drill mark are taken for a dart, as in set '{old.name}': {said}"
        notes.add("assumed", words, piece=piece)
    for piece, marks in named.drawn.items():
        said = ", ".join(f"'{mark}' {where}" for mark, where in marks.items())
        words = f"marks that the file does not show are drawn where set '{old.name}' has them"
        notes.add("assumed", f"{words}: {said}", piece=piece)
    for piece, unsaid in named.unsaid.items():
        for what in unsaid:
            words = "how often and of what it is cut" if what == "cutting" else "its allowances"
            verb = "is" if what == "cutting" else "are"
            notes.add("assumed", f"{words} {verb} as in set '{old.name}'", piece=piece)


def _tell_levels(drawn: Sequence[Drawn], old: PatternSet, notes: ReportNotes) -> None:
    by_level: dict[str, list[Drawn]] = {}
    for one in drawn:
        by_level.setdefault(one.level, []).append(one)
    for level, places in by_level.items():
        said = ", ".join(f"on '{one.piece}' {one.by}" for one in places)
        words = f"level '{level}' is drawn where set '{old.name}' has it: {said}"
        notes.add("assumed", words, option=f"--level {level}=PIECE.LANDMARK")


def _tell_relations(fitted: Fitted, old: PatternSet, notes: ReportNotes) -> None:
    from propagate.pattern.kinds import KINDS, relations_of

    carried = fitted.carried
    counts = {
        (kind.kept or key).replace("_", " "): len(relations_of(carried.relations, key))
        for key, kind in KINDS.items()
    }
    counts["blend"] = int(carried.relations.blend is not None)
    number = sum(counts.values())
    whole = sum(len(relations_of(old.relations, key)) for key in KINDS)
    whole += int(old.relations.blend is not None)
    told = ", ".join(f"{word} {count}" for word, count in counts.items() if count)
    words = f"{number} of the {whole} relations of set '{old.name}' are carried over"
    notes.add("found", f"{words}{': ' if told else ''}{told}")
    for one in carried.left_out:
        name = f"{one.kind.replace('_', ' ')} '{one.name}'" if one.name else f"[{one.kind}]"
        notes.add("warning", f"{name} is not carried over: {'; '.join(one.why)}")
    if carried.without:
        said = ", ".join(f"'{one.name}'" for one in carried.without)
        notes.add(
            "warning",
            f"carried over without the row of the body chart that they are compared with: {said}; "
            "write the measures of the new sizes under [chart] in set.toml",
        )
    for check, size in fitted.off:
        off = f"{abs(check.difference):.1f}{'°' if check.kind == 'corner' else ' mm'}"
        # Some checks count: how many buttons there are, and how many there should be.
        apart = "" if off.startswith("0.0") else f" is off by {off}"
        notes.add(
            "warning",
            f"{check.kind.replace('_', ' ')} '{check.relation or check.name}' is carried over and "
            f"does not sew yet: {check.what}{apart} in size {size}, see 'propagate walk'",
        )
