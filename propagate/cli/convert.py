"""``propagate convert``: the same style in another form."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from propagate.cli.options import json_option, say_json, say_lines
from propagate.cli.reading import headed_lines, reading_options, wishes_of

__all__ = ["command"]

FORMS = ("set", "svg", "svg-folder", "dxf", "dxf-rules", "dxf-as-read", "json")


@click.command("convert")
@click.argument("source", metavar="IN")
@click.argument("target", metavar="OUT")
@click.option(
    "--to",
    "form",
    type=click.Choice(FORMS),
    help="Form to write; told from the name of OUT when left out.",
)
@click.option(
    "--decimals", type=int, help="Decimals of a millimetre to write (SVG 6, DXF 3 by default)."
)
@click.option(
    "--onto",
    metavar="DXF",
    help="The DXF that IN came from: what did not change comes back letter for letter.",
)
@click.option("--replace", is_flag=True, help="Replace what stands there already.")
@reading_options
@json_option
def command(
    source: str,
    target: str,
    form: str | None,
    decimals: int | None,
    onto: str | None,
    replace: bool,
    as_json: bool,
    **values: Any,
) -> int:
    """Convert IN to OUT: a set, SVG, DXF (nested, or with a rule file) or JSON.

    OUT.svg is one drawing with a group for each size, OUT.dxf a nested DXF, or the set's own
    DXF with only what changed drawn anew; a name without an ending is a set folder. What
    OUT cannot carry is listed; IN is never changed.
    """
    from propagate.counts import say_count
    from propagate.io.begin import read_style
    from propagate.io.convert import has_drawing, write_style
    from propagate.io.output import read_from
    from propagate.pattern.validate import check_set
    from propagate.report.layout import wrap_sentence

    if decimals is not None and not 0 <= decimals <= 9:
        raise click.BadParameter(f"found {decimals}, expected 0 to 9", param_hint="--decimals")
    wishes = wishes_of(values)
    suffix = Path(target).suffix.lower()
    chosen = form or {".svg": "svg", ".dxf": "dxf", "": "set"}.get(suffix)
    if chosen is None:
        raise click.BadParameter(
            f"found the ending '{suffix}', expected .svg, .dxf or none (a set folder); "
            "or say the form with --to",
            param_hint="OUT",
        )
    pattern, reading = read_style([source], wishes)
    if form is None and chosen == "dxf" and (onto is not None or has_drawing(pattern)):
        chosen = "dxf-as-read"
    if onto is not None and chosen != "dxf-as-read":
        raise click.BadParameter(
            f"found the form '{chosen}', expected a DXF that is written back (dxf-as-read)",
            param_hint="--onto",
        )
    check_set(pattern)
    writing = write_style(
        pattern,
        Path(target),
        chosen,
        decimals=decimals,
        replace=replace,
        onto=None if onto is None else Path(onto),
        wishes=wishes,
        sources=[read_from(source), *([] if wishes.rules is None else [wishes.rules])],
    )
    if as_json:
        say_json(
            {
                "command": "convert",
                "from": reading.format,
                "to": chosen,
                "reading": reading.plain(),
                "writing": writing.plain(),
            }
        )
        return 0
    lines = wrap_sentence(
        f"'{pattern.name}', {len(pattern.pieces)} pieces in {len(pattern.sizes)} sizes, converted "
        f"from {reading.format} to {chosen}: {say_count(len(writing.files), 'file')}"
    )
    shown = ", ".join(writing.files[:8]) + (" ..." if len(writing.files) > 8 else "")
    lines += wrap_sentence(shown, 2)
    say_lines([*lines, *headed_lines(reading, "reading"), *headed_lines(writing, "writing")])
    return 0
