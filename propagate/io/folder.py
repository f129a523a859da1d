"""A set as a folder: load it with everything checked, save it completely or not at all."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace as replaced
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.errors import FormatError, InvalidSet, OutputError
from propagate.io import geometry_json, set_toml
from propagate.io.checks import is_name
from propagate.io.geometry_toml import tell_levels, with_levels, without_levels
from propagate.io.origin import Origin, origin_of
from propagate.io.reading import (
    MOST_BYTES,
    MOST_PIECES,
    MOST_TOML_BYTES,
    UnreadableFile,
    decode_text,
    read_limited,
)
from propagate.io.report import ReadingReport
from propagate.io.toml_in_place import changed_in_place
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.visible import quoted

if TYPE_CHECKING:
    from propagate.io.output import Written
    from propagate.io.output.sources import Source

__all__ = ["MARKER", "build_set", "load", "reading_of", "save", "set_files"]

MARKER = "set.toml"
_PARTS = ("name", "sizes", "base", "lay_on", "info", "relations", "chart")
"""What a set and its text both say."""


def load(path: str | Path) -> PatternSet:
    """Load a set and check it.

    Parameters
    ----------
    path : str or Path
        The set's folder, or its ``set.toml``.

    Raises
    ------
    FormatError
        A file cannot be read; all broken geometry files are reported together.
    InvalidSet
        The set breaks rules of the model; carries every problem.

    Notes
    -----
    What reading a DXF took for granted is told by `reading_of`.
    """
    file = _relations_file(Path(path))
    source = read_limited(file, MOST_TOML_BYTES)
    head = set_toml.parse_set(decode_text(source, file), str(file))
    geometry = file.parent / head.geometry
    if not head.drawn:
        pieces, files = _load_pieces(geometry, list(head.info))
        return build_set(head, pieces, Origin(text=source, files=files))
    from propagate.io.drawn_set import read_drawing

    pieces, drawing = read_drawing(geometry, head, str(file))
    return build_set(head, pieces, Origin(text=source, sources=(drawing.source,), drawing=drawing))


def build_set(head: set_toml.SetHead, pieces: Mapping[str, Piece], origin: Origin) -> PatternSet:
    """Put a set together and check it.

    Parameters
    ----------
    head : SetHead
        What its relations file says.
    pieces : mapping of name to Piece
        As they were read; the levels that the file gives are put on them.
    origin : Origin
        What was read; the pieces, as they are then, are put into it.

    Raises
    ------
    InvalidSet
        The set breaks rules of the model; carries every problem.
    """
    from propagate.pattern.validate import find_problems

    levelled, wrong = with_levels(pieces, head.levels)
    if wrong:
        raise InvalidSet(head.name, tuple(wrong))
    pattern = PatternSet(
        name=head.name,
        sizes=head.sizes,
        base=head.base,
        lay_on=head.lay_on,
        pieces=levelled,
        info=head.info,
        relations=head.relations,
        chart=head.chart,
    )
    found = find_problems(pattern)
    if found and head.drawn:  # a wrong unit is cured by what the set says: it is not drawn
        stated = head.dxf.get("unit")
        cure = (
            f'; the set says [dxf] unit = "{stated}", probably another than that of the drawing: '
            "take it out (the DXF then says it) or write the drawing's"
            if stated is not None
            else "; probably the DXF says a wrong unit, or none: write its own in the set, such as "
            '[dxf] unit = "cm"'
        )
        # A line without words on the unit stays as it is.
        bare = (_UNIT_WORDS.sub("", line) for line in found)
        found = tuple(a if a == b else b + cure for a, b in zip(found, bare, strict=True))
    if found:
        raise InvalidSet(pattern.name, found)
    return replaced(pattern, origin=replaced(origin, pieces=pattern.pieces))


_UNIT_WORDS = re.compile(
    r"(; it looks like [^:;]*: multiply the geometry by [^;]*| looks like .*)$"
)


def reading_of(pattern: PatternSet) -> ReadingReport | None:
    """Return what was found and taken for granted in the DXF of a set.

    None when the geometry of the set is our own form, which leaves nothing open.
    """
    drawing = origin_of(pattern).drawing
    return None if drawing is None else drawing.reading


def save(
    pattern: PatternSet,
    path: str | Path,
    *,
    replace: bool = False,
    extra: Mapping[str, bytes] | None = None,
    sources: Sequence[Source] = (),
) -> Written:
    """Write a set as a folder, completely or not at all.

    What was loaded and not edited is written byte for byte as it was read.  A set whose
    geometry is a DXF goes back into it while it has the sizes of the file; any other, such
    as the one size of a blend, is written with geometry of our own form.

    Parameters
    ----------
    path : str or Path
        The folder to write; its parent must exist.
    replace, sources
        See `propagate.io.result_folder.save`.
    extra : mapping of file name to content
        Further files, such as the record.

    Raises
    ------
    OutputError
        See `write_folder`; also a piece whose name cannot name a file, or an extra file
        that would take the place of one of the set's.
    """
    for name in pattern.pieces:
        if not is_name(name):
            raise OutputError(
                f"set '{pattern.name}': found the piece name {quoted(name)}, which "
                "cannot name a file"
            )
    files = set_files(pattern)
    for name, content in (extra or {}).items():
        if name in files:
            raise OutputError(f"set '{pattern.name}': the file '{name}' belongs to the set itself")
        files[name] = content
    from propagate.io.output import write_folder

    return write_folder(path, files, replace=replace, sources=sources)


def _relations_file(path: Path) -> Path:
    if path.is_dir():
        file = path / MARKER
        if not file.is_file():
            raise FormatError(f"'{path}' holds no {MARKER}; expected the folder of a set")
        return file
    if path.is_file():
        if path.suffix != ".toml":
            raise FormatError(f"'{path}' is not a set; expected a folder or its {MARKER}")
        return path
    from propagate.io.output.work import left_behind

    old = left_behind(path)
    cure = (
        f"an interrupted write left the old set in '{old[0]}'; write there again, or move it back"
        if old
        else f"expected the folder of a set, or its {MARKER}"
    )
    raise FormatError(f"there is no '{path}'; {cure}")


def _load_pieces(folder: Path, order: list[str]) -> tuple[dict[str, Piece], dict[str, bytes]]:
    """Load every geometry file, with its bytes: first the pieces named in `order`, then others."""
    if not folder.is_dir():
        raise UnreadableFile(f"{folder}: there is no such folder, expected the geometry here")
    files = {
        file.stem: file
        for file in sorted(folder.iterdir())  # a glob would find nothing where reading is refused
        if file.suffix == ".json" and not file.name.startswith(".")
    }
    if len(files) > MOST_PIECES:
        raise UnreadableFile(f"{folder}: found {len(files)} pieces, expected at most {MOST_PIECES}")
    bulk = sum(file.stat().st_size for file in files.values())
    if bulk > 4 * MOST_BYTES:
        raise UnreadableFile(
            f"{folder}: found {bulk / 1e6:.0f} MB of geometry, expected at most "
            f"{4 * MOST_BYTES / 1e6:.0f} MB; write fewer points or decimals"
        )
    names = dict.fromkeys([*(name for name in order if name in files), *files])
    pieces: dict[str, Piece] = {}
    sources: dict[str, bytes] = {}
    faults: list[str] = []
    for name in names:
        try:
            said = f"{folder.name}/{files[name].name}"
            sources[name] = read_limited(files[name], MOST_BYTES)
            piece = geometry_json.load_piece(decode_text(sources[name], said), said)
            if piece.name == name:
                pieces[name] = piece
            else:
                expected = f"expected '{name}', the file's own name"
                faults.append(f"{said}: piece: found '{piece.name}', {expected}")
        except UnreadableFile as error:
            faults.extend(error.problems)
    if faults:
        raise UnreadableFile(*faults)
    return pieces, sources


def set_files(pattern: PatternSet) -> dict[str, bytes]:
    """Return the files of a set by their names in its folder.

    What the set says as its origin says it is written as it was; in ``set.toml`` only what
    differs is changed.
    """
    origin = origin_of(pattern)
    said = None if origin.text is None else _parse_head(origin.text)
    if said is not None and said.drawn:
        from propagate.io.drawn_set import drawing_files

        levels = tell_levels(said.levels, pattern.pieces, origin.pieces)
        drawn = drawing_files(pattern, replaced(said, levels=levels))
        if drawn is not None:
            told = _write_text(pattern, said, replaced(said, levels=levels))
            return {MARKER: told, **drawn}
        kept = replaced(said, geometry=set_toml.DEFAULT_GEOMETRY, dxf={}, levels={})
    elif said is not None:
        # Levels through landmarks hold for a set of the same sizes, where they can be put anew.
        now = tell_levels(said.levels, pattern.pieces, pattern.pieces)
        bare = {name: without_levels(p, now) for name, p in pattern.pieces.items()}
        hold = pattern.sizes == said.sizes and not with_levels(bare, now)[1]
        kept = replaced(said, levels=now if hold else {})
    else:
        kept = None
    files = {MARKER: _write_text(pattern, said, kept)}
    levels, folder = (kept.levels, kept.geometry) if kept else ({}, set_toml.DEFAULT_GEOMETRY)
    for name, piece in pattern.pieces.items():
        # A piece that the text gives a level does not draw it in its own file.
        leveled = said is not None and any(name in places for places in said.levels.values())
        same = not leveled or (said is not None and said.levels == levels)
        if same and name in origin.files and origin.holds(piece):
            files[f"{folder}/{name}.json"] = origin.files[name]
        else:
            bare_piece = without_levels(piece, levels)
            files[f"{folder}/{name}.json"] = geometry_json.dump_piece(bare_piece).encode()
    return files


@lru_cache(maxsize=2)  # asked for several times while one set is written
def _parse_head(text: bytes) -> set_toml.SetHead:
    return set_toml.parse_set(decode_text(text, MARKER), MARKER)


def _write_text(
    pattern: PatternSet, said: set_toml.SetHead | None, kept: set_toml.SetHead | None
) -> bytes:
    """The relations file: the authored one, changed where the set says something else."""
    authored = origin_of(pattern).text
    if authored is None or said is None or kept is None:
        return set_toml.render_set(pattern).encode()
    wanted = replaced(kept, **{part: getattr(pattern, part) for part in _PARTS})
    if wanted == said:
        return authored
    new = changed_in_place(authored.decode(), said.rendered(), wanted.rendered()).encode()
    try:
        if _parse_head(new) == wanted:
            return new
    except FormatError:
        pass  # spelled in a way that cannot be followed: what it says goes before its comments
    return wanted.rendered().encode()
