"""``propagate sheet``: the work sheet for people who work on paper, as PDF."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.output import warn_missing
from propagate.cli.reading import load_record, load_set

if TYPE_CHECKING:
    pass

__all__ = ["command"]


@click.command("sheet")
@click.argument("path", metavar="RESULT")
@click.option("-o", "--out", metavar="FILE", required=True, help="The PDF to write.")
@click.option(
    "--paper", metavar="PAPER", default="a4", show_default=True, help="a4 or letter, upright."
)
@click.option(
    "--print",
    "printed",
    metavar="FILE",
    help="Also print the pieces of RESULT, with the letters of the sheet and names of edges and "
    "levels, on the same paper: another PDF in the same folder.",
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
    printed: str | None,
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
    from propagate.cli.print import print_with_progress
    from propagate.counts import say_count
    from propagate.errors import FormatError
    from propagate.io.output import read_from
    from propagate.io.result_folder import has_record, has_revision
    from propagate.report.check_words import checks_counted, reached_kinds
    from propagate.report.layout import wrap_sentence
    from propagate.report.pdf.fonts import FontBook
    from propagate.report.printing.plan import PrintOptions
    from propagate.report.printing.print_text import print_plain
    from propagate.report.units import unit_of
    from propagate.report.worksheet.derive import work_sheet
    from propagate.report.worksheet.value import sheet_plain
    from propagate.report.worksheet.write import sheet_paper, write_sheet

    chosen = sheet_paper(paper)
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
    result = load_record(path, size)
    sheet = work_sheet(result, unit_of(unit))
    missing, told = set[str](), {}
    with _open_both(out, printed, replace=replace, sources=[read_from(path), *fonts]) as streams:
        summary = write_sheet(result, sheet, streams[0], chosen, fonts=FontBook(fonts))
        missing.update(summary.missing)
        for stream in streams[1:]:
            options = PrintOptions(chosen, unit_of(unit), names=True)
            pieces = print_with_progress(result, stream, options, fonts)
            missing.update(pieces.missing)
            told = {"print": {"file": printed, **print_plain(pieces, options)}}
    warn_missing(sorted(missing))
    if as_json:
        say_json(
            {
                "command": "sheet",
                "file": out,
                "paper": chosen.name,
                "pages": summary.pages,
                "missing_characters": list(summary.missing),
                **told,
                **sheet_plain(sheet),
            }
        )
        return 0
    words = (
        f"{out}: {say_count(summary.pages, 'page')} of {chosen.name}; "
        f"{say_count(len(sheet.steps), 'step')}, "
        f"{say_count(len(sheet.pieces), 'piece')} to change, "
        f"{checks_counted(reached_kinds(result.record))}"
    )
    lines = [f"{printed}: {say_count(one['pages'], 'page')} of pieces" for one in told.values()]
    say_lines([*wrap_sentence(words), *lines, "", *wrap_sentence(LIMITS)])
    return 0


@contextmanager
def _open_both(
    out: str, printed: str | None, *, replace: bool, sources: Sequence[str | Path]
) -> Iterator[list[BinaryIO]]:
    """The file of the sheet, and that of the pieces where it is asked for: both or none."""
    from propagate.io.output import check_files, open_file, write_files

    if printed is None:
        with open_file(out, replace=replace, sources=sources) as stream:
            yield [stream]
        return
    folder, names = Path(out).parent, [Path(out).name, Path(printed).name]
    if Path(printed).parent.resolve() != folder.resolve() or names[0] == names[1]:
        raise click.BadParameter(
            f"found '{printed}', expected another file in the folder of '{out}', because both "
            "are written or none",
            param_hint="--print",
        )
    check_files(folder, names, replace=replace, sources=sources)
    streams = [BytesIO(), BytesIO()]
    yield [*streams]
    files = {name: stream.getvalue() for name, stream in zip(names, streams, strict=True)}
    write_files(folder, files, replace=replace, sources=sources)
