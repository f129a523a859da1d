"""How the pieces are joined, as far as their geometry tells: what is proposed, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import (
    in_sentence,
    in_words,
    list_words,
    make_readable,
    piece_title,
)
from propagate.report.layout import wrap_sentence
from propagate.suggesting import Suggestions, choose
from propagate.suggesting.nest import MOST_ENDS

__all__ = ["added_lines", "suggest_lines", "suggest_plain"]


def suggest_lines(found: Suggestions, pattern: PatternSet, least: float) -> Iterator[str]:
    """What is proposed down to a score, with its evidence, in the words of the set's titles."""

    def say_all(pieces: Sequence[str]) -> str:
        return list_words([in_sentence(piece_title(pattern, piece)) for piece in pieces])

    for garment in found.garments:
        cast = ", ".join(
            _say_role(in_sentence(piece_title(pattern, one.piece)), make_readable(role))
            for role, one in garment.cast.items()
        )
        yield from wrap_sentence(f"The pieces look like those of {garment.kind.name}: {cast}.")
        if garment.cut_short:
            yield from wrap_sentence("There are more ways to lay it on the pieces than were tried.")
    for piece, of in found.copies.items():
        yield from wrap_sentence(
            f"{piece_title(pattern, piece)} is {in_sentence(piece_title(pattern, of))} again: "
            "what is sewn to the one is said once."
        )
    if found.garments or found.copies:
        yield ""
    shown = 0
    for group in found.groups:
        members = [one for one in group if one.score >= least]
        shown += len(members)
        if len(members) > 1:
            yield "In each other's way:"
        for one in members:
            indent = "  " if len(members) > 1 else ""
            at = len(indent)
            yield from wrap_sentence(f"{one.score:.3f}  {in_words(pattern, str(one))}", at, 7)
            for sign, texts in (("+", one.evidence), ("-", one.against)):
                for text in texts:
                    yield from wrap_sentence(f"{sign} {in_words(pattern, text)}", at + 7, 2)
        if members:
            yield ""
    hidden = len(found.proposals) - shown
    yield f"{shown} proposals shown, {hidden} with a score below {least:g} left out."
    if found.crowded:
        yield (
            f"Found more than {MOST_ENDS} marks on "
            f"{list_words([in_words(pattern, edge) for edge in found.crowded])}: only the whole "
            "edge was compared there, no part of it."
        )
    if found.left_out:
        yield (
            f"Found {found.left_out} more pairs of runs of like lengths: each run was compared "
            "with those alone whose lengths are nearest."
        )
    if found.alone:
        yield from wrap_sentence(f"Sewn to nothing that was found: {say_all(found.alone)}.")
    yield "A score weighs what was measured; only the person who drew the set knows."


def _say_role(title: str, role: str) -> str:
    return title if title == role else f"{title} as its {role}"


def added_lines(found: Suggestions, level: float, count: int, text: str) -> Iterator[str]:
    """What was added to the set, and what was not."""
    choice = choose(found, level)
    if not text:
        yield f"Nothing was added: no new proposal scores {level:g} or more."
    else:
        yield f"Added {count} proposals at or above {level:g} to set.toml, with their evidence."
    rivals = sum(len(group) for group in choice.rivals)
    if rivals:
        yield f"{rivals} more are in each other's way; they were added as comments, to choose from."
    if choice.known:
        yield f"{len(choice.known)} were left out: the set joins these edges already."


def suggest_plain(found: Suggestions, level: float | None, count: int) -> dict[str, Any]:
    """What is proposed, as plain data; with the level from which it was added, how much was."""
    numbers = {id(one): k for k, one in enumerate(found.proposals)}
    proposals = [
        {
            "kind": one.kind,
            "name": one.name,
            "score": one.score,
            "runs": [[str(span) for span in run] for run in one.runs],
            "evidence": list(one.evidence),
            "against": list(one.against),
            "conflicts": [numbers[id(other)] for other in found.rivals(one)],
        }
        for one in found.proposals
    ]
    plain: dict[str, Any] = {
        "proposals": proposals,
        "crowded": list(found.crowded),
        "left_out": found.left_out,
        "garments": [
            {
                "kind": garment.kind.name,
                "pieces": {role: one.piece for role, one in garment.cast.items()},
            }
            for garment in found.garments
        ],
        "copies": dict(found.copies),
        "sewn_to_nothing": list(found.alone),
    }
    if level is not None:
        plain |= {"level": level, "added": count}
    return plain
