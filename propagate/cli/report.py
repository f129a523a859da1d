"""``propagate report``: one page to look at in a browser."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.reading import load_changed

__all__ = ["command"]

_MANY = 40
"""From so many pieces on it takes longer than a moment, and progress is shown."""


@click.command("report")
@click.argument("path", metavar="SET_OR_RESULT")
@click.option("-o", "--out", metavar="FILE", required=True, help="The page to write, PAGE.html.")
@click.option("--size", help="Size of a set to show; the base size when left out.")
@click.option("--replace", is_flag=True, help="Replace a page of the same name.")
@unit_option
@json_option
def command(path: str, out: str, size: str | None, replace: bool, unit: str, as_json: bool) -> int:
    """Write a page that shows SET_OR_RESULT in a browser, in one file.

    Of a result: what to look at first, the pieces before and after, every seam walked, and
    why each change was made. Of a set: its pieces and its walk. The page needs no network.
    """
    from propagate.engine.run import Result
    from propagate.errors import OutputError
    from propagate.io.output import open_file, read_from
    from propagate.report.layout import wrap_sentence
    from propagate.report.page import report_page

    if Path(out).is_dir():  # refused before anything is read
        raise OutputError(
            f"'{out}' is a folder, expected the name of the page to write; "
            f"name a file inside it, such as {Path(out) / 'page.html'}"
        )
    source, records = load_changed(path, size, whole=True)
    pattern = source.pattern if isinstance(source, Result) else source
    with click.progressbar(
        length=len(pattern.pieces),
        label="drawing the pieces",
        file=sys.stderr,
        hidden=len(pattern.pieces) < _MANY,
    ) as bar:
        text = report_page(
            source,
            size=size,
            unit=unit,
            records=records,
            progress=lambda done, _: bar.update(done - bar.pos),
        )
    page = text.encode("utf-8")
    with open_file(out, replace=replace, sources=[read_from(path)]) as stream:
        stream.write(page)
    if as_json:
        say_json({"command": "report", "file": out, "bytes": len(page)})
        return 0
    said = f"{out} ({len(page) / 1000:.0f} kB): open it in a browser; it needs no network."
    say_lines([*wrap_sentence(said), "", *wrap_sentence(LIMITS)])
    return 0
