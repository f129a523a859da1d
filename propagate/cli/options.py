"""Options and small helpers that several commands share."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

from propagate.cli.group import JSON_KEY
from propagate.cli.output import say, say_json, tell, warn
from propagate.visible import shell_word

__all__ = [
    "corners_option",
    "follow_option",
    "json_option",
    "next_lines",
    "pairs",
    "say",
    "say_json",
    "tell",
    "unit_option",
    "warn",
]

Function = TypeVar("Function", bound=Callable[..., Any])


def _note_json(ctx: click.Context, _param: click.Parameter, value: bool) -> bool:
    ctx.meta[JSON_KEY] = value
    return value


def json_option(function: Function) -> Function:
    """Add ``--json``; also tells the group that errors are wanted as JSON."""
    return click.option(
        "--json",
        "as_json",
        is_flag=True,
        is_eager=True,
        callback=_note_json,
        help="Print plain JSON instead of text.",
    )(function)


def unit_option(function: Function) -> Function:
    """Add ``--unit``."""
    return click.option(
        "--unit",
        type=click.Choice(["mm", "in"]),
        default="mm",
        show_default=True,
        help="Unit of the printed lengths.",
    )(function)


def follow_option(function: Function) -> Function:
    """Add ``--follow``, for what is carried across seams that the edit did not match itself."""
    return click.option(
        "--follow",
        type=click.Choice(["shape", "length"]),
        default="length",
        show_default=True,
        help="The other side of a seam takes the shape too, or keeps its own and takes the length.",
    )(function)


def corners_option(default: str) -> Callable[[Function], Function]:
    """Add ``--corners``, for lines that no longer run on across a seam."""
    return click.option(
        "--corners",
        type=click.Choice(["trued", "left"]),
        default=default,
        show_default=True,
        help="A line that ran on smoothly across a seam and no longer does is trued, or left.",
    )


def pairs(texts: Iterable[str], option: str, example: str) -> dict[str, str]:
    """Read ``KEY=VALUE`` texts, several in one when commas part them.

    Raises
    ------
    click.BadParameter
        For text of another form, or a key given twice.
    """
    found: dict[str, str] = {}
    for text in (part for whole in texts for part in whole.split(",")):
        key, sign, value = (word.strip() for word in text.partition("="))
        if not (key and sign and value):
            raise click.BadParameter(f"found '{text}', expected {example}", param_hint=option)
        if key in found:
            raise click.BadParameter(f"'{key}' was given twice", param_hint=option)
        found[key] = value
    return found


def next_lines(out: str, piece: str | None = None) -> list[str]:
    """What to do with a result next, as commands that can be given as they stand.

    A line is not wrapped, however long the folder's name is: a command is one line.
    """
    folder, beside = shell_word(out), str(Path(out))
    commands = [
        f"propagate {name} {folder} -o {shell_word(beside + ending)}"
        for name, ending in (
            ("report", ".html"),
            ("sheet", "_sheet.pdf"),
            ("print", ".pdf"),
            ("draw", "_pictures"),
        )
    ]
    if piece is not None:
        commands.append(f"propagate why {folder} {shell_word(piece)}")
    return [f"  {'next: ' if not i else '      '}{words}" for i, words in enumerate(commands)]
