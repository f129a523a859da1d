"""``propagate draw``: one SVG for every piece, at true scale."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, say, say_json, unit_option
from propagate.cli.reading import load_source

if TYPE_CHECKING:
    from propagate.engine.run import Result
    from propagate.pattern.patternset import PatternSet

__all__ = ["command", "draw_all"]


@click.command("draw")
@click.argument("path", metavar="SET_OR_RESULT")
@click.option("-o", "--out", metavar="FOLDER", required=True, help="Where to write the pictures.")
@click.option("--size", help="Size to draw; the whole nest when left out.")
@click.option(
    "--piece", "names", metavar="PIECE", multiple=True, help="Only this piece; repeatable."
)
@click.option("--replace", is_flag=True, help="Replace pictures of the same names.")
@unit_option
@json_option
def command(
    path: str,
    out: str,
    size: str | None,
    names: tuple[str, ...],
    replace: bool,
    unit: str,
    as_json: bool,
) -> int:
    """Draw every piece of SET_OR_RESULT as SVG at true scale.

    Of a result: the seam line before and now, paper to tape on and to trim. Of a set: one
    size, or all sizes laid over each other. Print at 100 % and measure the test square.
    """
    from propagate.io.output import read_from
    from propagate.report.layout import sentence

    source = load_source(path)
    written = draw_all(
        source,
        Path(out),
        size=size,
        names=names,
        replace=replace,
        unit=unit,
        sources=[read_from(path)],
    )
    if as_json:
        say_json({"command": "draw", "pictures": written})
        return 0
    lines = [f"{len(written)} picture{'' if len(written) == 1 else 's'} in {out}, at true scale:"]
    lines += sentence(", ".join(str(row["file"]) for row in written), 2)
    lines += ["", *sentence("Print at 100 % and measure the 50 mm test square. " + LIMITS)]
    say(lines)
    return 0


def draw_all(
    source: PatternSet | Result,
    folder: Path,
    *,
    size: str | None = None,
    names: tuple[str, ...] = (),
    replace: bool = False,
    unit: str = "mm",
    sources: Sequence[str | Path] = (),
) -> list[dict[str, object]]:
    """Draw pieces into a folder; returns piece, file, width and height of each picture."""
    from propagate.engine.run import Result
    from propagate.io.output import write_files
    from propagate.report.draw import draw, picture_size

    pattern = source.pattern if isinstance(source, Result) else source
    pieces = list(dict.fromkeys(names)) or list(pattern.pieces)
    pictures = {piece: draw(source, piece, size, unit=unit) for piece in pieces}
    files = {f"{piece}.svg": text.encode() for piece, text in pictures.items()}
    write_files(folder, files, replace=replace, sources=sources)
    rows = []
    for piece, text in pictures.items():
        width, height = picture_size(text)
        rows.append(
            {"piece": piece, "file": f"{piece}.svg", "width_mm": width, "height_mm": height}
        )
    return rows
