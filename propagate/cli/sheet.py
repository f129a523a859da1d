"""``propagate sheet``: the work sheet for people who work on paper, as PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, say, say_json, unit_option, warn

if TYPE_CHECKING:
    from propagate.engine.run import Result

__all__ = ["command"]


@click.command("sheet")
@click.argument("path", metavar="RESULT")
@click.option("-o", "--out", metavar="FILE", required=True, help="The PDF to write.")
@click.option(
    "--paper", metavar="PAPER", default="a4", show_default=True, help="a4 or letter, upright."
)
@click.option("--size", help="Size of a revised set; the base size when left out.")
@click.option(
    "--font",
    "fonts",
    metavar="FILE",
    multiple=True,
    help="Font for characters that the built-in one lacks; repeatable.",
)
@click.option("--replace", is_flag=True, help="Replace a file of that name.")
@unit_option
@json_option
def command(
    path: str,
    out: str,
    paper: str,
    size: str | None,
    fonts: tuple[str, ...],
    replace: bool,
    unit: str,
    as_json: bool,
) -> int:
    """Write RESULT as a work sheet for changing paper pieces by hand.

    What to take out, a step for each piece with its figure and measures, the other way by
    tracing, and what to walk at the end. Inches are written to 1/16.
    """
    from propagate.io.output import open_file, read_from
    from propagate.report.layout import sentence
    from propagate.report.pdf.fonts import FontBook
    from propagate.report.units import unit_of
    from propagate.report.worksheet.derive import work_sheet
    from propagate.report.worksheet.plain import sheet_plain
    from propagate.report.worksheet.write import sheet_paper, write_sheet

    chosen = sheet_paper(paper)
    result = _result(path, size)
    sheet = work_sheet(result, unit_of(unit))
    book = FontBook(fonts)
    with open_file(out, replace=replace, sources=[read_from(path), *fonts]) as stream:
        summary = write_sheet(result, sheet, stream, chosen, fonts=book)
    if summary.missing:
        shown = " ".join(f"{c} (U+{ord(c):04X})" for c in summary.missing[:8])
        more = f" and {len(summary.missing) - 8} more" if len(summary.missing) > 8 else ""
        warn(
            f"warning: no font has {shown}{more}; they print as empty boxes; give a font that "
            "has them with --font"
        )
    if as_json:
        say_json(
            {
                "command": "sheet",
                "file": out,
                "paper": chosen.name,
                "pages": summary.pages,
                "missing_characters": list(summary.missing),
                **sheet_plain(sheet),
            }
        )
        return 0
    words = (
        f"{out}: {summary.pages} pages of {chosen.name}; {len(sheet.steps)} steps, "
        f"{len(sheet.pieces)} pieces to change, {len(sheet.checks)} checks"
    )
    say([*sentence(words), "", *sentence(LIMITS)])
    return 0


def _result(path: str, size: str | None) -> Result:
    """Load a result; a set without a record is told how it gets one."""
    from propagate.cli.reading import load_set, tell_reading
    from propagate.errors import FormatError
    from propagate.io.result_folder import has_record, has_revision, load_result

    if not (has_record(path) or has_revision(path)):
        load_set(path)  # which tells what is wrong with a path that is no set at all
        raise FormatError(
            f"'{path}' is a set without a record, which means that nothing changed in it: if "
            "'propagate revise' wrote it, the drawing was the same as the set within its "
            "tolerance, so there is nothing to work on and every piece is cut as drawn; expected "
            "the folder of a result in which something changed: write one with 'propagate blend "
            "SET --size LEVEL=SIZE ... -o RESULT' or 'propagate revise SET --from DRAWING "
            "-o RESULT', then give RESULT"
        )
    result = load_result(path, size)
    tell_reading(result.pattern, path)
    return result
