"""Options that several commands share, and how what is typed behind them is read."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import click

from propagate.cli.group import JSON_KEY
from propagate.cli.output import say_any_lines, say_json, say_lines, say_warning
from propagate.visible import shell_word

if TYPE_CHECKING:
    from propagate.pattern.patternset import PatternSet

__all__ = [
    "corners_option",
    "follow_option",
    "json_option",
    "next_lines",
    "read_length",
    "read_hold",
    "read_level_texts",
    "read_pairs",
    "read_piece_names",
    "read_rise",
    "read_side",
    "say_lines",
    "say_json",
    "say_any_lines",
    "unit_option",
    "say_warning",
    "was_typed",
]

UpperOrLower = Literal["upper", "lower"]
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


def read_length(text: str, option: str, least: float = -math.inf) -> float:
    """Read a length, mm; raises click.BadParameter."""
    from propagate.lengths import LENGTH_FORMS, parse_length

    length = parse_length(text, bare="mm")
    if length is None or length < least:
        raise click.BadParameter(f"found '{text}', expected {LENGTH_FORMS}", param_hint=option)
    return length


def read_piece_names(texts: Iterable[str]) -> dict[str, str]:
    """Read names for pieces: the new name to the one that a piece was read with."""
    from propagate.io.checks import NAME_RULE, is_name

    names = read_pairs(texts, "--piece", "NEW=OLD, such as front=piece_1")
    for name in names:
        if not is_name(name):
            raise click.BadParameter(
                f"found '{name}', expected a name: {NAME_RULE}", param_hint="--piece"
            )
    return names


def read_level_texts(texts: tuple[str, ...]) -> dict[str, dict[str, str]]:
    """Read levels through landmarks: level name to a mapping of piece to landmark."""
    from propagate.io.checks import is_name

    found: dict[str, dict[str, str]] = {}
    for text in texts:
        name, _, place = text.partition("=")
        piece, _, mark = place.partition(".")
        if not (name and piece and mark) or not is_name(name):
            raise click.BadParameter(
                f"found '{text}', expected NAME=PIECE.LANDMARK", param_hint="--level"
            )
        found.setdefault(name, {})[piece] = mark
    return found


def read_pairs(texts: Iterable[str], option: str, example: str) -> dict[str, str]:
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


def read_side(pattern: PatternSet, word: str, option: str) -> UpperOrLower:
    """Read which level's size is meant: upper or lower, or the name of the level."""
    plan = pattern.relations.blend
    words: dict[str, UpperOrLower] = {"upper": "upper", "lower": "lower"}
    if plan is not None:
        words = {plan.upper: "upper", plan.lower: "lower", **words}
    if word not in words:
        known = ", ".join(f"'{name}'" for name in words)
        raise click.BadParameter(f"found '{word}', expected one of {known}", param_hint=option)
    return words[word]


def read_rise(pattern: PatternSet, text: str) -> UpperOrLower | float:
    """Read whose height the top has, or how high it is, mm."""
    from propagate.lengths import LENGTH_FORMS, parse_length

    mm = parse_length(text, bare="mm")
    if mm is None:
        try:
            return read_side(pattern, text, "--rise")
        except click.BadParameter as error:
            raise click.BadParameter(
                f"{error.message}, or a length such as {LENGTH_FORMS}", param_hint="--rise"
            ) from None
    if mm <= 0.0:
        raise click.BadParameter(f"found {text}, expected a length above 0", param_hint="--rise")
    return mm


def read_hold(pattern: PatternSet, text: str | None) -> str | float | None:
    """Read a level of the set by its name, else a length; other words are left to the edit."""
    from propagate.lengths import parse_length

    if text is None:
        return None
    if not text.strip():
        raise click.BadParameter(
            f"found '{text}', expected the name of a level or a length", param_hint="--hold"
        )
    size = pattern.base
    levels = {n for piece in pattern.pieces.values() for n in piece.at(size).levels}
    if text in levels:
        return text
    mm = parse_length(text, bare="mm")
    return text if mm is None else mm


def was_typed(name: str) -> bool:
    """Whether an option of the command that runs was typed."""
    source = click.get_current_context().get_parameter_source(name)
    return source is click.core.ParameterSource.COMMANDLINE


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
