"""``propagate show``: what a set holds and how its pieces are joined."""

from __future__ import annotations

import click

from propagate.cli.options import json_option, say, say_json, unit_option

__all__ = ["command"]


@click.command("show")
@click.argument("path", metavar="SET")
@unit_option
@json_option
def command(path: str, unit: str, as_json: bool) -> int:
    """Tell what SET holds: sizes, pieces, how they are joined, the chart."""
    from propagate.io.folder import load
    from propagate.report.set_text import set_lines, set_plain
    from propagate.report.units import unit_of

    pattern = load(path)
    if as_json:
        say_json({"command": "show", **set_plain(pattern)})
    else:
        say(set_lines(pattern, unit_of(unit)))
    return 0
