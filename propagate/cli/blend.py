"""``propagate blend``: blend sizes by level, and write the result."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import (
    corners_option,
    json_option,
    next_lines,
    pairs,
    say,
    say_json,
    tell,
    unit_option,
)
from propagate.cli.reading import load_set, tell_kept

if TYPE_CHECKING:
    from propagate.engine.edits.level_blend import BlendLevels
    from propagate.engine.job import Edit
    from propagate.engine.run import Result
    from propagate.engine.truing import Corners
    from propagate.pattern.chart import ChosenSizes
    from propagate.pattern.patternset import PatternSet
    from propagate.report.units import Unit

__all__ = ["command", "files_lines"]

UpperOrLower = Literal["upper", "lower"]


_EXAMPLES = """\b
Examples:
  propagate blend my_set --size waist=42 --size hip=48 -o my_result
  propagate blend my_set --size waist=43.5 --size hip=45 -o my_result
  propagate blend my_set --body waist=770mm,hip=1040mm -o my_result"""


@click.command("blend", epilog=_EXAMPLES)
@click.argument("path", metavar="SET")
@click.option(
    "--size",
    "sizes",
    metavar="LEVEL=SIZE",
    multiple=True,
    help="Size for a level; once for each level. Between two sizes: 43.5, or S+0.4.",
)
@click.option(
    "--body",
    metavar="NAME=LENGTH,...",
    multiple=True,
    help="Body measurements instead: by the chart, between two sizes where they lie between.",
)
@click.option(
    "--nearest", is_flag=True, help="With --body: the nearest size that was drawn for each."
)
@click.option("-o", "--out", metavar="FOLDER", help="Where to write the result.")
@click.option(
    "--follow",
    type=click.Choice(["shape", "length"]),
    default="shape",
    show_default=True,
    help="The other side of the seam takes the new shape, or keeps its own.",
)
@click.option(
    "--top",
    type=click.Choice(["trued", "traced"]),
    default="trued",
    show_default=True,
    help="The top edge runs smoothly across the side seam, or stays as drawn.",
)
@click.option(
    "--rise",
    default="upper",
    show_default=True,
    metavar="upper|lower|LENGTH",
    help="Height of the top: that of the upper or the lower level's size (a level's name does "
    "too), or a length.",
)
@click.option(
    "--pocket",
    default="upper",
    show_default=True,
    metavar="upper|lower",
    help="Whose size the pocket has; a level's name does too.",
)
@click.option(
    "--hold",
    metavar="LEVEL|LENGTH",
    help="Level beyond which nothing changes, or a length below the lower level.",
)
@corners_option("trued")
@click.option("--replace", is_flag=True, help="Take the place of a result that stands there.")
@unit_option
@json_option
def command(
    path: str,
    sizes: tuple[str, ...],
    body: tuple[str, ...],
    nearest: bool,
    out: str | None,
    follow: Literal["shape", "length"],
    top: Literal["trued", "traced"],
    rise: str,
    pocket: str,
    hold: str | None,
    corners: Corners,
    replace: bool,
    unit: str,
    as_json: bool,
) -> int:
    """Blend sizes of SET by level: the top of one, the rest of another.

    Every piece that is sewn to what changed follows. Without -o nothing is written.
    Ends with exit status 1 when something does not sew together (the result is written
    all the same, to be looked at), with 3 on a conflict (nothing is written).
    """
    from propagate.engine.edits.blend import Blend
    from propagate.engine.review.run import review
    from propagate.engine.run import run
    from propagate.io.output import read_from
    from propagate.io.result_folder import save
    from propagate.report.review_text import review_short_lines
    from propagate.report.units import unit_of

    given = pairs(sizes, "--size", "LEVEL=SIZE, such as waist=42")
    measured = pairs(body, "--body", "NAME=LENGTH, such as waist=770mm")
    pattern = load_set(path)
    if nearest and not measured:
        raise click.UsageError("--nearest goes with --body")
    chosen = _from_body(pattern, measured, given, nearest=nearest) if measured else None
    wanted = {**(chosen.sizes if chosen else {}), **given}
    edit: Edit = (
        _by_level(wanted)
        if pattern.relations.blend is None
        else Blend(
            sizes=wanted,
            follow=follow,
            top=top,
            rise=_rise(pattern, rise),
            pocket=_upper_or_lower(pattern, pocket, "--pocket"),
            hold=_hold(pattern, hold),
        )
    )
    result = run(pattern, edit, corners=corners)
    if out is not None:
        tell_kept(save(result, out, replace=replace, sources=[read_from(path)]))
    findings = review(pattern)
    if as_json:
        say_json({**_plain(result, chosen, out), "review": list(findings)})
    else:
        tell(review_short_lines(findings, path))
        _tell(result, chosen, out, unit_of(unit))
    return 0 if result.sews else 1


def _by_level(sizes: dict[str, str]) -> BlendLevels:
    """A blend of a set without a plan; what only a plan can answer to is refused."""
    from propagate.engine.edits.level_blend import BlendLevels

    context = click.get_current_context()
    for name in ("top", "rise", "pocket", "hold"):
        if context.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE:
            raise click.UsageError(
                f"--{name} needs the [blend] section of a set, which says what its top is; this "
                "set has none and is blended by level alone"
            )
    asked = context.get_parameter_source("follow") is click.core.ParameterSource.COMMANDLINE
    return BlendLevels(sizes, follow=context.params["follow"] if asked else "length")


def _plain(result: Result, chosen: ChosenSizes | None, out: str | None) -> dict[str, object]:
    from collections import Counter

    from propagate.engine.record import as_plain
    from propagate.report.check_words import reached_kinds

    record = as_plain(result.record)
    for piece in record["pieces"]:
        del piece["before"]  # the old outlines are in the result's record
    return {
        "command": "blend",
        "sews": result.sews,
        "checks": Counter(reached_kinds(result.record)),
        "written_to": out,
        "body": [] if chosen is None else list(chosen.choices),
        "record": record,
    }


def _tell(result: Result, chosen: ChosenSizes | None, out: str | None, unit: Unit) -> None:
    from propagate.report.blend_text import blend_lines, body_lines

    if chosen is not None:
        say(body_lines(chosen, unit))
    say(blend_lines(result, unit))
    say(files_lines(out, result))


def files_lines(out: str | None, result: Result) -> list[str]:
    """Where the files are, what to do next, and what the tool does not do."""
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence

    if out is None:
        lines = ["", *wrap_sentence("Nothing was written; add -o FOLDER to write the result.")]
    else:
        example = next((p.piece for p in result.record.pieces[::-1] if p.status != "same"), None)
        pairs_ = [
            (out, "the new size as a set: set.toml and geometry"),
            ("  record.json", "what changed, by how much, and why"),
            ("  cut_lines.json", "the cut line of every piece"),
        ]
        lines = (
            lay_heading("files")
            + lay_entries(pairs_, widest=40, whole=True)
            + next_lines(out, example)
        )
    return [*lines, "", *wrap_sentence(LIMITS)]


def _from_body(
    pattern: PatternSet, measured: dict[str, str], given: dict[str, str], *, nearest: bool
) -> ChosenSizes:
    from propagate.pattern.chart import sizes_from_body

    chosen = sizes_from_body(pattern, measured, nearest=nearest)
    for level in chosen.sizes:
        if level in given:
            raise click.UsageError(
                f"level '{level}' was given by --size and by --body; give one of them"
            )
    return chosen


def _upper_or_lower(pattern: PatternSet, word: str, option: str) -> UpperOrLower:
    plan = pattern.relations.blend
    words: dict[str, UpperOrLower] = {"upper": "upper", "lower": "lower"}
    if plan is not None:
        words = {plan.upper: "upper", plan.lower: "lower", **words}
    if word not in words:
        known = ", ".join(f"'{name}'" for name in words)
        raise click.BadParameter(f"found '{word}', expected one of {known}", param_hint=option)
    return words[word]


def _rise(pattern: PatternSet, text: str) -> UpperOrLower | float:
    from propagate.lengths import LENGTH_FORMS, parse_length

    mm = parse_length(text, bare="mm")
    if mm is None:
        try:
            return _upper_or_lower(pattern, text, "--rise")
        except click.BadParameter as error:
            raise click.BadParameter(
                f"{error.message}, or a length such as {LENGTH_FORMS}", param_hint="--rise"
            ) from None
    if mm <= 0.0:
        raise click.BadParameter(f"found {text}, expected a length above 0", param_hint="--rise")
    return mm


def _hold(pattern: PatternSet, text: str | None) -> str | float | None:
    """A level of the set by its name, else a length; other words are left to the edit."""
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
