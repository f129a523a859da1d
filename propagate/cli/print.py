"""``propagate print``: pieces at true scale on paper, as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, BinaryIO

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, read_length, say_json, say_lines, unit_option
from propagate.cli.output import warn_missing
from propagate.cli.progress import Progress
from propagate.cli.reading import load_source

if TYPE_CHECKING:
    from propagate.engine.run import Result
    from propagate.pattern.patternset import PatternSet
    from propagate.report.printing.plan import PrintOptions
    from propagate.report.printing.print_file import PrintSummary

__all__ = ["command", "print_with_progress"]


@click.command("print")
@click.argument("path", metavar="SET_OR_RESULT")
@click.option("-o", "--out", metavar="FILE", required=True, help="The PDF to write.")
@click.option(
    "--paper",
    metavar="PAPER",
    default="a4",
    show_default=True,
    help="a4, letter, legal, a3, tabloid, a2, a1, a0, 36in-roll or a0-roll.",
)
@click.option(
    "--layout",
    type=click.Choice(["tiled", "sheets", "one"]),
    help="Pages that are put together; sheets with whole pieces; one page as large as needed. "
    "Left out: tiled up to a3 and tabloid, else sheets.",
)
@click.option(
    "--join",
    type=click.Choice(["overlap", "trim"]),
    default="overlap",
    show_default=True,
    help="Tiled pages lie over each other, or are cut along their frames.",
)
@click.option(
    "--overlap",
    metavar="LENGTH",
    default="10mm",
    show_default=True,
    help="What tiled pages share.",
)
@click.option("--size", "sizes", metavar="SIZE", multiple=True, help="Size to print; repeatable.")
@click.option("--all-sizes", is_flag=True, help="Print the whole nest, each size a layer.")
@click.option(
    "--piece", "pieces", metavar="PIECE", multiple=True, help="Only this piece; repeatable."
)
@click.option(
    "--names",
    is_flag=True,
    help="Write names of edges and levels, and the letters that the work sheet uses.",
)
@click.option("--nap", is_flag=True, help="Turn no piece upside down: the cloth has a nap.")
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
def command(out: str, path: str, replace: bool, as_json: bool, **asked: Any) -> int:
    """Print the pieces of SET_OR_RESULT at true scale as PDF.

    With test squares, page map, glue marks, matching numbers and allowance widths. Prints
    the base size unless sizes are asked for.
    """
    from propagate.io.output import open_file, read_from
    from propagate.report.layout import wrap_sentence
    from propagate.report.pdf.paper import paper_of
    from propagate.report.printing.plan import PrintOptions
    from propagate.report.printing.print_text import print_lines, print_plain
    from propagate.report.units import unit_of

    source = load_source(path)
    pattern = source if not hasattr(source, "pattern") else source.pattern
    if asked["sizes"] and asked["all_sizes"]:
        raise click.UsageError("--size and --all-sizes exclude each other; give one of them")
    options = PrintOptions(
        paper_of(asked["paper"]),
        unit_of(asked["unit"]),
        pattern.sizes if asked["all_sizes"] else asked["sizes"],
        asked["pieces"],
        asked["layout"],
        asked["join"],
        read_length(asked["overlap"], "--overlap"),
        asked["nap"],
        names=asked["names"],
    )
    sources = [read_from(path), *asked["fonts"]]
    with open_file(out, replace=replace, sources=sources) as stream:
        summary = print_with_progress(source, stream, options, asked["fonts"])
    warn_missing(summary.missing)
    if as_json:
        say_json({"command": "print", "file": out, **print_plain(summary, options)})
    else:
        lines = print_lines(out, summary, options)
        square = "Print at 100 % and measure the test squares on the first page. "
        say_lines([*lines, *wrap_sentence(square + LIMITS)])
    return 0


def print_with_progress(
    source: PatternSet | Result, stream: BinaryIO, options: PrintOptions, fonts: Sequence[str]
) -> PrintSummary:
    """Print pieces into a stream, and tell how far that is where it takes long."""
    from propagate.report.pdf.fonts import FontBook
    from propagate.report.printing.print_file import print_pieces

    progress = Progress()
    summary = print_pieces(source, stream, options, fonts=FontBook(fonts), progress=progress)
    progress.end()
    return summary
