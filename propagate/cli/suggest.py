"""``propagate suggest``: how the pieces are joined, as far as their geometry tells."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from propagate.cli.asking import (
    Drawer,
    Sitting,
    add_relations,
    ask,
    ask_allowances,
    ask_blending,
    write_page,
)
from propagate.cli.options import json_option, say, say_json
from propagate.cli.reading import load_set

if TYPE_CHECKING:
    from propagate.suggesting import Proposal, Suggestions

__all__ = ["command"]

SHOWN = 0.3


class _Share(click.FloatRange):
    """0 to 1; "nan" is a number to click, and lies between any two."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or fail as for one out of range."""
        number = float(super().convert(value, param, ctx))
        if math.isnan(number):
            self.fail(f"{value} is not in the range 0 to 1.", param, ctx)
        return number


_SHARE = _Share(0.0, 1.0)


@click.command("suggest")
@click.argument("path", metavar="SET")
@click.option(
    "--accept",
    "level",
    type=_SHARE,
    metavar="LEVEL",
    help="Add the proposals at or above this score (0.9 suits most sets) to the set's set.toml.",
)
@click.option(
    "--least",
    type=_SHARE,
    default=SHOWN,
    show_default=True,
    metavar="SCORE",
    help="Show proposals down to this score.",
)
@click.option(
    "--like", metavar="SET", help="Look for the seams of this set on pieces that are like its own."
)
@click.option("--ask", "asks", is_flag=True, help="Ask about one proposal after the other.")
@click.option(
    "--answers",
    metavar="FILE",
    help="Take over the answers that were saved from a page of --html.",
)
@click.option(
    "--pictures", metavar="FOLDER", help="With --ask: draw each question there before it is asked."
)
@click.option(
    "--html", "page", metavar="PAGE", help="Write a page to answer in a browser, for --answers."
)
@click.option("--replace", is_flag=True, help="With --html: replace a page of the same name.")
@json_option
def command(
    path: str,
    level: float | None,
    least: float,
    like: str | None,
    asks: bool,
    answers: str | None,
    pictures: str | None,
    page: str | None,
    replace: bool,
    as_json: bool,
) -> int:
    """Propose which edges of SET are sewn to which, with the evidence.

    Also openings, pocket layers and bands. Lengths in all sizes, notches, corner angles and
    shapes are compared. Proposals that are in each other's way are shown together and never
    chosen between. With --ask you confirm them one by one, the best known first, and set.toml
    is written with what you confirmed.
    """
    from propagate.io.garments import known_kinds
    from propagate.suggesting import accepted, choose, suggest
    from propagate.suggesting.like import kind_of

    confirms = asks or answers is not None or page is not None
    _check_options(level, asks=asks, confirms=confirms, pictures=pictures, as_json=as_json)
    pattern = load_set(path)
    kinds = known_kinds() if like is None else (kind_of(load_set(like)), *known_kinds())
    if confirms:
        sitting = Sitting(path, pattern, least, kinds)
        if asks or answers is not None:
            _confirm(sitting, asks=asks, answers=answers, pictures=pictures)
        if page is not None:
            write_page(sitting, page, replace=replace)
        return 0
    found = suggest(pattern, kinds=kinds)
    count, text = 0, ""
    if level is not None:
        text, count = accepted(found, level), len(choose(found, level).taken)
        if text:
            add_relations(path, lambda old: f"{old.rstrip(chr(10))}\n\n{text}")
    if as_json:
        say_json({"command": "suggest", **_plain(found, level, count)})
        return 0
    say(_lines(found, least))
    if level is not None:
        say(_told(found, level, count, text))
    return 0


def _check_options(
    level: float | None,
    *,
    asks: bool,
    confirms: bool,
    pictures: str | None,
    as_json: bool,
) -> None:
    if confirms and (level is not None or as_json):
        raise click.UsageError(
            "found --ask, --answers or --html with --accept or --json, expected either to confirm "
            "one by one, or to take over by score"
        )
    if pictures is not None and not asks:
        raise click.UsageError("found --pictures without --ask, expected both")


def _confirm(
    sitting: Sitting,
    *,
    asks: bool,
    answers: str | None,
    pictures: str | None,
) -> None:
    """Take answers over, ask, and write what was confirmed."""
    from propagate.io.answers import read_answers
    from propagate.report.asking_text import state_lines
    from propagate.report.layout import wrap_sentence

    if sitting.forgotten:
        say(
            wrap_sentence(
                f"{sitting.forgotten} answered before were changed in set.toml since; what stands "
                "there holds."
            )
        )
    if answers is not None:
        found = read_answers(Path(answers), sitting.asking.pattern.name)
        sitting.keep(sitting.asking.told(one for one in found if one.word != "later"))
    if asks:
        ask(sitting, None if pictures is None else Drawer(Path(pictures), sitting.path))
    changed = sitting.finish()
    say(["", *state_lines(sitting.asking)])
    written = "written to set.toml" if changed else "set.toml stays as it is"
    say(wrap_sentence(f"What was confirmed: {written}. The answers are kept in {sitting.kept}."))
    if asks and sitting.asking.question is None:
        ask_blending(sitting.path)
        ask_allowances(sitting.path)


# ---------------------------------------------------------------------------------- words


def _lines(found: Suggestions, least: float) -> Iterator[str]:
    from propagate.suggesting.nest import MOST_ENDS

    yield from _recognised(found)
    shown = 0
    for group in found.groups:
        members = [one for one in group if one.score >= least]
        shown += len(members)
        if len(members) > 1:
            yield "In each other's way:"
        for one in members:
            yield from _proposal(one, "  " if len(members) > 1 else "")
        if members:
            yield ""
    hidden = len(found.proposals) - shown
    yield f"{shown} proposals shown, {hidden} with a score below {least:g} left out."
    if found.crowded:
        yield (
            f"Found more than {MOST_ENDS} marks on {', '.join(found.crowded)}: only the whole "
            "edge was compared there, no part of it."
        )
    if found.left_out:
        yield (
            f"Found {found.left_out} more pairs of runs of like lengths: each run was compared "
            "with those alone whose lengths are nearest."
        )
    yield from _left_alone(found)
    yield "A score weighs what was measured; only the person who drew the set knows."


def _recognised(found: Suggestions) -> Iterator[str]:
    """Which garments the pieces look like, and which piece is what of them."""
    from propagate.report.layout import wrap_sentence

    for garment in found.garments:
        cast = ", ".join(
            f"{role.replace('_', ' ')} '{one.piece}'" for role, one in garment.cast.items()
        )
        yield from wrap_sentence(f"The pieces look like those of {garment.kind.name}: {cast}.")
        if garment.cut_short:
            yield from wrap_sentence("There are more ways to lay it on the pieces than were tried.")
    for piece, of in found.copies.items():
        yield from wrap_sentence(
            f"'{piece}' is '{of}' again: what is sewn to the one is said once."
        )
    if found.garments or found.copies:
        yield ""


def _left_alone(found: Suggestions) -> Iterator[str]:
    """Pieces of which no edge has a likely partner."""
    from propagate.report.layout import wrap_sentence

    if found.alone:
        yield from wrap_sentence(f"Sewn to nothing that was found: {', '.join(found.alone)}.")


def _proposal(one: Proposal, indent: str) -> Iterator[str]:
    yield f"{indent}{one.score:.3f}  {one}"
    for text in one.evidence:
        yield f"{indent}       + {text}"
    for text in one.against:
        yield f"{indent}       - {text}"


def _told(found: Suggestions, level: float, count: int, text: str) -> Iterator[str]:
    from propagate.suggesting import choose

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


def _plain(found: Suggestions, level: float | None, count: int) -> dict[str, Any]:
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
