"""``propagate why``: the chain of causes behind a change."""

from __future__ import annotations

import click

from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.reading import load_record

__all__ = ["command"]


@click.command("why")
@click.argument("path", metavar="RESULT")
@click.argument("target", metavar="PIECE[.EDGE]")
@click.option("--size", help="Size of a revised set; the base size when left out.")
@unit_option
@json_option
def command(path: str, target: str, size: str | None, unit: str, as_json: bool) -> int:
    """Tell why a piece of RESULT changed, cause by cause back to the edit."""
    from propagate.report.units import unit_of
    from propagate.report.why import why_lines, why_plain

    result = load_record(path, size)
    if as_json:
        say_json({"command": "why", **why_plain(result, target)})
    else:
        say_lines(why_lines(result, target, unit_of(unit)))
    return 0
