"""``propagate walk``: does everything that is sewn together fit."""

from __future__ import annotations

import click

from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.reading import load_set

__all__ = ["command"]


@click.command("walk")
@click.argument("path", metavar="SET")
@click.option("--size", help="Size to walk; the base size when left out.")
@click.option("--all-sizes", is_flag=True, help="Walk every size of the nest.")
@unit_option
@json_option
def command(path: str, size: str | None, all_sizes: bool, unit: str, as_json: bool) -> int:
    """Walk every seam of SET: lengths, notches, openings, girths, corners, bands.

    First it tells what looks like a mistake in the set, such as a size that jumps.
    Ends with exit status 1 when something does not sew together.
    """
    from propagate.engine.review.run import review
    from propagate.engine.walk import walk
    from propagate.report.set_text import free_lines
    from propagate.report.units import unit_of
    from propagate.report.walk_text import walk_lines, walk_plain, walks_lines

    if size is not None and all_sizes:
        raise click.UsageError("--size and --all-sizes exclude each other; give one of them")
    pattern = load_set(path)
    sizes = pattern.sizes if all_sizes else (size or pattern.base,)
    walks = [walk(pattern, one) for one in sizes]
    findings = review(pattern)
    if as_json:
        plain = [walk_plain(one) for one in walks]
        say_json({"command": "walk", "review": list(findings), "walks": plain})
    elif len(walks) > 1:
        say_lines(walks_lines(walks, unit_of(unit), findings, pattern) + free_lines(pattern))
    else:
        say_lines(walk_lines(walks[0], unit_of(unit), findings, pattern) + free_lines(pattern))
    sews = all(one.sews for one in walks) and all(one.sews for one in findings)
    return 0 if sews else 1
