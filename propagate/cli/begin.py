"""``propagate begin``: a set from bare geometry."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from propagate.cli.options import json_option, say, say_json
from propagate.cli.reading import reading_lines, reading_options, tell_kept, wishes_of

if TYPE_CHECKING:
    from propagate.io.options import ReadOptions
    from propagate.io.report import ReadingReport, ReportNotes
    from propagate.pattern.patternset import PatternSet

__all__ = ["command"]


@click.command("begin")
@click.argument("files", metavar="FILES...", nargs=-1, required=True)
@click.option("-o", "--out", metavar="SET", required=True, help="Folder of the set to write.")
@click.option(
    "--like",
    metavar="SET",
    help="Name edges and landmarks as in this set, where they lie in the same place.",
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
    """
    from propagate.io.begin import read_style
    from propagate.io.folder import load
    from propagate.io.report import ReadingReport, ReportNotes

    wishes, through = wishes_of(values), _levels(levels)
    notes = ReportNotes()
    if keep_dxf:
        if like is not None or pieces:
            raise click.UsageError(
                f"--keep-dxf and {'--piece' if pieces else '--like'} exclude each other: the names "
                "in a kept DXF are its own"
            )
        pattern, report = _kept(files, wishes, through, relations)
        notes.extend(report.lines)
    else:
        pattern, report = read_style(files, wishes)
        notes.extend(report.lines)
        pattern = _with_names(pattern, pieces)
        if like is not None:
            pattern = _like(pattern, load(like), notes)
        pattern = _with_levels(pattern, through)
        if relations is not None:
            pattern = _with_relations(pattern, Path(relations))
    _write(pattern, Path(out), _sources(files, values["rules"], like, relations), replace=replace)
    report = ReadingReport(report.format, report.files, notes.lines)
    if as_json:
        say_json({"command": "begin", "set": out, **_plain(pattern), "reading": report.plain()})
        return 0
    say([*_summary(pattern, out), *reading_lines(report), *_next(pattern, out)])
    return 0


def _sources(
    files: tuple[str, ...], rules: str | None, like: str | None, relations: str | None
) -> list[Path]:
    """All that was read; of a relations file nothing but the file itself."""
    from propagate.io.output import read_from

    sets = [*files, *([like] if like else [])]
    return [*map(read_from, sets), *(Path(file) for file in (rules, relations) if file)]


def _with_names(pattern: PatternSet, texts: tuple[str, ...]) -> PatternSet:
    """The pieces with the names that were asked for."""
    from propagate.cli.options import pairs
    from propagate.io.checks import NAME_RULE, is_name
    from propagate.recognise.renaming import rename_pieces

    names = pairs(texts, "--piece", "NEW=OLD, such as front=piece_1")
    for name in names:
        if not is_name(name):
            raise click.BadParameter(
                f"found '{name}', expected a name: {NAME_RULE}", param_hint="--piece"
            )
    if names and pattern.relations != type(pattern.relations)():
        raise click.UsageError("--piece names pieces of bare geometry; this set has relations")
    return rename_pieces(pattern, names) if names else pattern


def _like(pattern: PatternSet, old: PatternSet, notes: ReportNotes) -> PatternSet:
    from propagate.recognise.renaming import rename_like

    renamed, carried = rename_like(pattern, old)
    notes.add("found", f"edges and landmarks are named as in set '{old.name}'")
    for item in carried:
        if item.fresh:
            text = f"edges that the set before does not have: {', '.join(item.fresh)}"
            notes.add("warning", text, piece=item.piece)
        if item.gone:
            text = f"of the set before and not found again: {', '.join(item.gone)}"
            notes.add("warning", text, piece=item.piece)
    return renamed


def _levels(texts: tuple[str, ...]) -> dict[str, dict[str, str]]:
    """Levels through landmarks: level name to a mapping of piece to landmark."""
    from propagate.io.checks import is_name

    found: dict[str, dict[str, str]] = {}
    for text in texts:
        name, _, place = text.partition("=")
        piece, _, mark = place.partition(".")
        if not (name and piece and mark) or not is_name(name):
            raise click.BadParameter(
                f"found '{text}', expected NAME=PIECE.LANDMARK", param_hint="--level"
            )
        found.setdefault(name, {})[piece] = mark
    return found


def _kept(
    files: tuple[str, ...],
    wishes: ReadOptions,
    levels: dict[str, dict[str, str]],
    relations: str | None,
) -> tuple[PatternSet, ReadingReport]:
    """A set of which the DXF itself is the geometry."""
    from propagate.io.begin_drawn import begin_drawn

    taken = None if relations is None else Path(relations)
    return begin_drawn([Path(file) for file in files], wishes, levels, taken)


def _with_levels(pattern: PatternSet, levels: dict[str, dict[str, str]]) -> PatternSet:
    """Add levels through landmarks, in every size; they replace those of the same name."""
    from dataclasses import replace

    from propagate.pattern.model import Piece

    pieces = dict(pattern.pieces)
    for name, places in levels.items():
        for piece, mark in places.items():
            pattern.piece(piece)
            pieces[piece] = Piece(
                piece,
                {
                    size: replace(sized, levels={**sized.levels, name: sized.landmark(mark).point})
                    for size, sized in pieces[piece].nest.items()
                },
            )
    known = {level for piece in pieces.values() for level in piece.at(pattern.base).levels}
    lay_on = pattern.lay_on if pattern.lay_on in known or not levels else next(iter(levels))
    return replace(pattern, pieces=pieces, lay_on=lay_on)


def _with_relations(pattern: PatternSet, file: Path) -> PatternSet:
    """The pieces with the relations, sizes and names of a relations file."""
    from propagate.io.begin import with_relations

    return with_relations(pattern, file)


def _write(pattern: PatternSet, out: Path, sources: list[Path], *, replace: bool) -> None:
    """Check the set, then write it with its pictures; nothing is written of a bad one."""
    from dataclasses import replace as with_values

    from propagate.errors import InvalidSet
    from propagate.io.begin_toml import commented_toml
    from propagate.io.folder import save
    from propagate.io.origin import origin_of
    from propagate.pattern.validate import find_problems
    from propagate.report.draw import numbered_picture

    found = find_problems(pattern)
    if found:
        raise InvalidSet(pattern.name, found)
    pictures = {
        f"pictures/{name}.svg": numbered_picture(pattern, name).encode() for name in pattern.pieces
    }
    origin = origin_of(pattern)
    if origin.text is None:
        text = commented_toml(pattern).encode()
        pattern = with_values(pattern, origin=with_values(origin, text=text))
    tell_kept(save(pattern, out, replace=replace, extra=pictures, sources=sources))


def _plain(pattern: PatternSet) -> dict[str, Any]:
    return {
        "name": pattern.name,
        "sizes": list(pattern.sizes),
        "base": pattern.base,
        "pieces": [
            {
                "name": name,
                "edges": [
                    {"name": edge.name, "length_mm": edge.length}
                    for edge in piece.at(pattern.base).edges
                ],
                "landmarks": [mark.name for mark in piece.at(pattern.base).landmarks],
                "picture": f"pictures/{name}.svg",
            }
            for name, piece in pattern.pieces.items()
        ],
    }


def _summary(pattern: PatternSet, out: str) -> list[str]:
    from propagate.report.layout import lay_entries, lay_heading, wrap_sentence

    count, sizes = len(pattern.pieces), len(pattern.sizes)
    lines = wrap_sentence(
        f"set '{pattern.name}' in {out}: {count} piece{'' if count == 1 else 's'}, "
        f"{sizes} size{'' if sizes == 1 else 's'} ({' '.join(pattern.sizes)}; base "
        f"{pattern.base})"
    )
    pairs = [
        (name, " ".join(piece.at(pattern.base).edge_names))
        for name, piece in pattern.pieces.items()
    ]
    return [*lines, *lay_heading("edges, counter-clockwise"), *lay_entries(pairs)]


def _next(pattern: PatternSet, out: str) -> list[str]:
    from propagate.report.layout import lay_heading, wrap_sentence
    from propagate.visible import shell_word

    folder = out.rstrip("/")
    return [
        *lay_heading("next"),
        *wrap_sentence(
            f"Look at {folder}/pictures, compare a length with the drawing (the largest piece is "
            f"{_largest(pattern):.0f} mm long), then say how the pieces are sewn together, by "
            f"answering questions or in {folder}/set.toml:",
            2,
        ),
        f"  propagate suggest {shell_word(folder)} --ask",
        f"  propagate walk {shell_word(folder)}",
    ]


def _largest(pattern: PatternSet) -> float:
    """Longest side of the box around the largest piece in the base size, mm."""
    boxes = []
    for piece in pattern.pieces.values():
        outline = piece.at(pattern.base).outline
        boxes.append(float((outline.max(axis=0) - outline.min(axis=0)).max()))
    return max(boxes)
