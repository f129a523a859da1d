"""``propagate begin``: a set from bare geometry."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from propagate.cli.options import (
    json_option,
    read_level_texts,
    read_piece_names,
    say_json,
    say_lines,
)
from propagate.cli.reading import reading_lines, reading_options, tell_kept, wishes_of

if TYPE_CHECKING:
    pass

__all__ = ["command"]


@click.command("begin")
@click.argument("files", metavar="FILES...", nargs=-1, required=True)
@click.option("-o", "--out", metavar="SET", required=True, help="Folder of the set to write.")
@click.option(
    "--like",
    metavar="SET",
    help="Find the pieces of this set, take over names, levels and whatever relations fit.",
)
@click.option(
    "--piece",
    "pieces",
    metavar="NEW=OLD",
    multiple=True,
    help="Call the piece that is read as OLD by the name NEW; repeatable.",
)
@click.option(
    "--level",
    "levels",
    metavar="NAME=PIECE.LANDMARK",
    multiple=True,
    help="Draw a level through a landmark, such as hip=front.side.start; repeatable.",
)
@click.option(
    "--relations",
    metavar="FILE",
    help="Take this set.toml, with its relations, for the set; nothing else is written in it.",
)
@click.option(
    "--keep-dxf",
    is_flag=True,
    help="Keep the DXF and its rule file, byte for byte, as the geometry of the set.",
)
@click.option("--replace", is_flag=True, help="Replace a set that stands there already.")
@reading_options
@json_option
def command(
    files: tuple[str, ...],
    out: str,
    like: str | None,
    pieces: tuple[str, ...],
    levels: tuple[str, ...],
    relations: str | None,
    keep_dxf: bool,
    replace: bool,
    as_json: bool,
    **values: Any,
) -> int:
    """Make a set folder from bare geometry: SVG, PDF, DXF with its rule file, or JSON.

    Pieces, sizes and corners are found, edges are named by place and role. Written are the
    geometry, a picture of each piece with its edges numbered, and set.toml with
    commented blocks in which relations can be written. What was taken for granted is told.
    With --like a style that is drawn like another gets its names and its relations.
    """
    from dataclasses import replace as with_values

    from propagate.cli.like import begin_like
    from propagate.io.begin import read_style, with_relations
    from propagate.io.begin_toml import commented_toml
    from propagate.io.folder import load, save
    from propagate.io.geometry_toml import draw_levels
    from propagate.io.origin import origin_of
    from propagate.io.output import read_from
    from propagate.io.report import ReadingReport, ReportNotes, rename_places
    from propagate.pattern.validate import check_set
    from propagate.recognise.renaming import rename_pieces
    from propagate.report.begin_text import begun_lines, begun_plain, next_step_lines
    from propagate.report.draw import numbered_picture

    wishes, through = wishes_of(values), read_level_texts(levels)
    notes = ReportNotes()
    if keep_dxf:
        if like is not None or pieces:
            raise click.UsageError(
                f"--keep-dxf and {'--piece' if pieces else '--like'} exclude each other: the names "
                "in a kept DXF are its own"
            )
        from propagate.io.begin_drawn import begin_drawn

        taken = None if relations is None else Path(relations)
        pattern, report = begin_drawn([Path(file) for file in files], wishes, through, taken)
        notes.extend(report.lines)
    else:
        pattern, report = read_style(files, wishes)
        names = read_piece_names(pieces)
        notes.extend(rename_places(report.lines, names))
        if names and pattern.relations != type(pattern.relations)():
            raise click.UsageError("--piece names pieces of bare geometry; this set has relations")
        pattern = rename_pieces(pattern, names) if names else pattern
        if like is not None:
            pattern = begin_like(
                pattern, load(like), notes, said=list(names), carries=relations is None
            )
        pattern = draw_levels(pattern, through)
        if relations is not None:
            pattern = with_relations(pattern, Path(relations))
    read = [read_from(path) for path in (*files, like) if path]
    read += [Path(file) for file in (values["rules"], relations) if file]
    check_set(pattern)
    pictures = {
        f"pictures/{name}.svg": numbered_picture(pattern, name).encode() for name in pattern.pieces
    }
    origin = origin_of(pattern)
    if origin.text is None and pattern.relations == type(pattern.relations)():
        text = commented_toml(pattern).encode()
        pattern = with_values(pattern, origin=with_values(origin, text=text))
    tell_kept(save(pattern, Path(out), replace=replace, extra=pictures, sources=read))
    report = ReadingReport(report.format, report.files, notes.lines)
    if as_json:
        say_json(
            {"command": "begin", "set": out, **begun_plain(pattern), "reading": report.plain()}
        )
        return 0
    say_lines([*begun_lines(pattern, out), *reading_lines(report), *next_step_lines(pattern, out)])
    return 0
