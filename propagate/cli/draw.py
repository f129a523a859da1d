"""``propagate draw``: one SVG for every piece, at true scale."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from propagate.cli.app import LIMITS
from propagate.cli.options import json_option, say_json, say_lines, unit_option
from propagate.cli.reading import load_changed, load_source

if TYPE_CHECKING:
    from propagate.engine.run import Result
    from propagate.pattern.patternset import PatternSet

__all__ = ["command", "draw_all", "lead_name"]


@click.command("draw")
@click.argument("path", metavar="SET_OR_RESULT")
@click.option("-o", "--out", metavar="FOLDER", required=True, help="Where to write the pictures.")
@click.option("--size", help="Size to draw; of a set the whole nest when left out.")
@click.option("--all-sizes", is_flag=True, help="The nest of a set that was changed.")
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
    all_sizes: bool,
    names: tuple[str, ...],
    replace: bool,
    unit: str,
    as_json: bool,
) -> int:
    """Draw every piece of SET_OR_RESULT as SVG at true scale.

    Of a result or a changed set: the seam line before and now, paper to tape on and to trim,
    and changes.svg, which shows all that changed small. Of a set: one size, or all sizes laid
    over each other. Print at 100 % and measure the test square.
    """
    from propagate.counts import say_count
    from propagate.io.output import read_from
    from propagate.report.layout import wrap_sentence

    if all_sizes and size is not None:
        raise click.UsageError("found --size and --all-sizes, expected one of them")
    source, records = (load_source(path), {}) if all_sizes else load_changed(path, size)
    written = draw_all(
        source,
        Path(out),
        size=size,
        changed=max(len(records), 1),
        names=names,
        replace=replace,
        unit=unit,
        sources=[read_from(path)],
    )
    if as_json:
        say_json({"command": "draw", "pictures": written})
        return 0
    true = [row for row in written if row["piece"] is not None]
    lines = [f"{say_count(len(true), 'picture')} in {out}, at true scale:"]
    lines += wrap_sentence(", ".join(str(row["file"]) for row in true), 2)
    if len(true) < len(written):
        lines += wrap_sentence(f"{written[0]['file']} shows all pieces that changed, small.")
    lines += ["", *wrap_sentence("Print at 100 % and measure the 50 mm test square. " + LIMITS)]
    say_lines(lines)
    return 0


def draw_all(
    source: PatternSet | Result,
    folder: Path,
    *,
    size: str | None = None,
    changed: int = 1,
    names: tuple[str, ...] = (),
    replace: bool = False,
    unit: str = "mm",
    sources: Sequence[str | Path] = (),
) -> list[dict[str, object]]:
    """Draw pieces into a folder; returns piece, file, width and height of each picture.

    The first picture of a result shows all that changed, in one of the `changed` sizes that
    did, unless pieces are named; its piece is None.
    """
    from propagate.engine.run import Result
    from propagate.io.output import write_files
    from propagate.report.draw import draw, lead_picture, picture_size
    from propagate.report.units import unit_of

    pattern = source.pattern if isinstance(source, Result) else source
    pieces = list(dict.fromkeys(names)) or list(pattern.pieces)
    pictures: dict[str | None, str] = {}
    lead = None
    if isinstance(source, Result) and not names:
        lead = lead_picture(source, unit_of(unit), changed)
    if lead is not None:
        pictures[None] = lead
    pictures |= {piece: draw(source, piece, size, unit=unit) for piece in pieces}
    file_of = {piece: f"{piece or lead_name(pieces)}.svg" for piece in pictures}
    files = {file_of[piece]: text.encode() for piece, text in pictures.items()}
    write_files(folder, files, replace=replace, sources=sources)
    rows: list[dict[str, object]] = []
    for piece, text in pictures.items():
        measures = dict(zip(("width_mm", "height_mm"), picture_size(text), strict=True))
        rows.append({"piece": piece, "file": file_of[piece], **measures})
    return rows


def lead_name(pieces: Collection[str]) -> str:
    """The name of the picture of all that changed, which no piece has."""
    name = "changes"
    while name in {piece.lower() for piece in pieces}:
        name += "_"
    return name
