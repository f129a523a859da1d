"""``propagate show``: what a set holds and how its pieces are joined."""

from __future__ import annotations

import click

from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.reading import reading_lines

__all__ = ["command"]


@click.command("show")
@click.argument("path", metavar="SET")
@unit_option
@json_option
def command(path: str, unit: str, as_json: bool) -> int:
    """Tell what SET holds: sizes, pieces, how they are joined, the chart.

    Of a set whose geometry is a DXF, also what reading it took for granted. At the end
    stands what looks like a mistake.
    """
    from propagate.engine.review.run import review
    from propagate.io.folder import load, reading_of
    from propagate.report.layout import lay_heading
    from propagate.report.review_text import review_lines
    from propagate.report.set_plain import set_plain
    from propagate.report.set_text import set_lines
    from propagate.report.units import unit_of

    pattern = load(path)
    reading = reading_of(pattern)
    findings = review(pattern)
    if as_json:
        said = {} if reading is None else {"reading": reading.plain()}
        say_json({"command": "show", **set_plain(pattern), "review": list(findings), **said})
        return 0
    lines = set_lines(pattern, unit_of(unit))
    if reading is not None:
        lines += [*lay_heading(f"reading the {reading.format}"), *reading_lines(reading)]
    say_lines(lines + review_lines(findings, pattern))
    return 0
