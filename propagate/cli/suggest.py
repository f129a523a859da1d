"""``propagate suggest``: how the pieces are joined, as far as their geometry tells."""

from __future__ import annotations

import math
from typing import Any

import click

from propagate.cli.amending import add_relations
from propagate.cli.asking import Sitting, confirm_answers, write_page
from propagate.cli.options import json_option, say_json, say_lines
from propagate.cli.reading import load_set

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
    "--sewn",
    multiple=True,
    metavar="B=A",
    help="Say what is sewn on to what: sleeve.cap=front.armhole+back.armhole, also from a MARK to "
    "a MARK. May be given more than once.",
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
    sewn: tuple[str, ...],
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
    from propagate.recognise.matched import give_roles
    from propagate.recognise.pieces_matched import match_pieces
    from propagate.report.suggest_text import added_lines, suggest_lines, suggest_plain
    from propagate.suggesting import accepted, choose, suggest
    from propagate.suggesting.like import kind_of

    confirms = asks or answers is not None or bool(sewn) or page is not None
    if confirms and (level is not None or as_json):
        raise click.UsageError(
            "found --ask, --answers, --sewn or --html with --accept or --json, expected either to "
            "confirm one by one, or to take over by score"
        )
    if pictures is not None and not asks:
        raise click.UsageError("found --pictures without --ask, expected both")
    pattern = load_set(path)
    kinds = known_kinds()
    if like is not None:
        old = load_set(like)
        kinds = (kind_of(old, give_roles(match_pieces(pattern, old))), *kinds)
    if confirms:
        sitting = Sitting(path, pattern, least, kinds)
        if asks or sewn or answers is not None:
            confirm_answers(sitting, asks=asks, answers=answers, pictures=pictures, sewn=sewn)
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
        say_json({"command": "suggest", **suggest_plain(found, level, count)})
        return 0
    say_lines(suggest_lines(found, pattern, least))
    if level is not None:
        say_lines(added_lines(found, level, count, text))
    return 0
