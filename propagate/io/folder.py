"""A set as a folder: load it with everything checked, save it completely or not at all."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.errors import FormatError, InvalidSet, OutputError
from propagate.io import geometry_json, set_toml
from propagate.io.authored import Authored
from propagate.io.checks import UnreadableFile, is_name
from propagate.io.drawing import DrawnInfo, drawing_of
from propagate.io.geometry_toml import LevelsThrough
from propagate.io.levels import with_levels, without_levels
from propagate.io.limits import MOST_BYTES, MOST_PIECES, MOST_TOML_BYTES, read_limited
from propagate.io.report import ReadingReport
from propagate.io.words import quoted
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo

if TYPE_CHECKING:
    from propagate.io.output import Written
    from propagate.io.output.sources import Source

__all__ = ["MARKER", "built", "load", "reading_of", "save", "set_files"]

MARKER = "set.toml"


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
    source = _read(file, MOST_TOML_BYTES)
    head = set_toml.parse(_decoded(source, str(file)), str(file))
    return built(head, *_geometry(file, head, source))


def built(
    head: set_toml.SetHead, pieces: Mapping[str, Piece], info: Authored[PieceInfo]
) -> PatternSet:
    """Put a set together and check it.

    Parameters
    ----------
    head : SetHead
        What its relations file says.
    pieces : mapping of name to Piece
        As they were read; the levels that the file gives are put on them.
    info : Authored
        The information about the pieces, with its source.

    Raises
    ------
    InvalidSet
        The set breaks rules of the model; carries every problem.
    """
    from propagate.pattern.validate import problems

    pattern = PatternSet(
        name=head.name,
        sizes=head.sizes,
        base=head.base,
        lay_on=head.lay_on,
        pieces=_with_levels(pieces, head),
        info=info,
        relations=head.relations,
        chart=head.chart,
    )
    found = problems(pattern)
    if found:
        raise InvalidSet(pattern.name, _of_the_drawing(head, found))
    return pattern


_UNIT_WORDS = re.compile(
    r"(; it looks like [^:;]*: multiply the geometry by [^;]*| looks like .*)$"
)


def _of_the_drawing(head: set_toml.SetHead, found: tuple[str, ...]) -> tuple[str, ...]:
    """Say of a DXF in a wrong unit what cures it: its unit is what the set says, not drawn."""
    if not head.drawn:
        return found
    stated = head.dxf.get("unit")
    cure = (
        f'; the set says [dxf] unit = "{stated}", probably another than that of the drawing: take '
        "it out (the DXF then says it) or write the drawing's"
        if stated is not None
        else "; probably the DXF says a wrong unit, or none: write its own in the set, such as "
        '[dxf] unit = "cm"'
    )
    return tuple(
        _UNIT_WORDS.sub("", line) + cure if _UNIT_WORDS.search(line) else line for line in found
    )


def reading_of(pattern: PatternSet) -> ReadingReport | None:
    """Return what was found and taken for granted in the DXF of a set.

    None when the geometry of the set is our own form, which leaves nothing open.
    """
    drawing = drawing_of(pattern)
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
    pattern : PatternSet
    path : str or Path
        The folder to write; its parent must exist.
    replace : bool
        Take the place of a set that this program wrote there and that nobody changed
        since.  A ``set.toml`` that somebody changed is kept as ``set.toml.1``, ``.2``, ...
    extra : mapping of file name to content
        Further files, such as the record.
    sources : sequence of path
        Files and folders that were read to make this; they are never written to.

    Returns
    -------
    Written
        Names of the files written, and of the ``set.toml`` that was kept.

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


# ------------------------------------------------------------------------------- reading


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


def _read(file: Path, most: int) -> bytes:
    try:
        return read_limited(file, most)
    except FormatError as error:
        raise UnreadableFile([str(error)]) from error


def _decoded(source: bytes, name: str) -> str:
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = source.count(b"\n", 0, error.start) + 1
        raise UnreadableFile(
            [f"{name}: line {line}: found byte 0x{source[error.start]:02x}, expected UTF-8 text"]
        ) from error


def _geometry(
    file: Path, head: set_toml.SetHead, source: bytes
) -> tuple[dict[str, Piece], Authored[PieceInfo]]:
    """The pieces, and their information with what it was read from."""
    if not head.drawn:
        pieces = _load_pieces(file.parent / head.geometry, list(head.info))
        return pieces, Authored(head.name, head.info, source)
    from propagate.io.drawn_set import read_drawing

    pieces, drawing = read_drawing(file.parent / head.geometry, head, str(file))
    return pieces, DrawnInfo(head.name, head.info, source, drawing)


def _with_levels(pieces: Mapping[str, Piece], head: set_toml.SetHead) -> dict[str, Piece]:
    """The pieces with the levels of the relations file; they still know their files."""
    nests, wrong = with_levels(pieces, head.levels)
    if wrong:
        raise InvalidSet(head.name, tuple(wrong))
    return {name: _renested(piece, nests.get(name)) for name, piece in pieces.items()}


def _renested(piece: Piece, nest: Mapping[str, SizedPiece] | None) -> Piece:
    if nest is None:
        return piece
    old = piece.nest
    if isinstance(old, Authored):
        return Piece(piece.name, Authored(old.name, nest, old.source))
    from propagate.io.dxf.nest import DxfNest

    if isinstance(old, DxfNest):
        return Piece(piece.name, DxfNest(old.name, nest, old.source))
    return Piece(piece.name, nest)


def _load_pieces(folder: Path, order: list[str]) -> dict[str, Piece]:
    """Load every geometry file: first the pieces named in `order`, then the others."""
    if not folder.is_dir():
        raise UnreadableFile([f"{folder}: there is no such folder, expected the geometry here"])
    files = {
        file.stem: file
        for file in sorted(folder.iterdir())  # a glob would find nothing where reading is refused
        if file.suffix == ".json" and not file.name.startswith(".")
    }
    _check_amount(folder, files)
    names = [name for name in order if name in files]
    named = set(names)
    names += [name for name in files if name not in named]
    pieces: dict[str, Piece] = {}
    faults: list[str] = []
    for name in names:
        try:
            pieces[name] = _load_piece(files[name])
        except UnreadableFile as error:
            faults.extend(error.problems)
    if faults:
        raise UnreadableFile(faults)
    return pieces


def _check_amount(folder: Path, files: Mapping[str, Path]) -> None:
    """Refuse more geometry than a set has before any of it is read."""
    if len(files) > MOST_PIECES:
        raise UnreadableFile(
            [f"{folder}: found {len(files)} pieces, expected at most {MOST_PIECES}"]
        )
    size = sum(file.stat().st_size for file in files.values())
    if size > 4 * MOST_BYTES:
        raise UnreadableFile(
            [
                f"{folder}: found {size / 1e6:.0f} MB of geometry, expected at most "
                f"{4 * MOST_BYTES / 1e6:.0f} MB; write fewer points or decimals"
            ]
        )


def _load_piece(file: Path) -> Piece:
    name = f"{file.parent.name}/{file.name}"
    source = _read(file, MOST_BYTES)
    piece = geometry_json.loads(_decoded(source, name), name)
    if piece.name != file.stem:
        raise UnreadableFile(
            [f"{name}: piece: found '{piece.name}', expected '{file.stem}', the file's own name"]
        )
    return Piece(piece.name, Authored(piece.name, piece.nest, source))


# ------------------------------------------------------------------------------- writing


def set_files(pattern: PatternSet) -> dict[str, bytes]:
    """Return the files of a set by their names in its folder.

    The authored text, with its comments, is kept as long as it says what the set says.
    """
    head = _authored_head(pattern)
    if head is not None and isinstance(pattern.info, Authored):
        text = pattern.info.source
        if not head.drawn:
            return {MARKER: text, **_piece_files(pattern, head)}
        from propagate.io.drawn_set import drawing_files

        drawn = drawing_files(pattern, head)
        if drawn is not None:
            return {MARKER: text, **drawn}
    return {MARKER: set_toml.render(pattern).encode(), **_piece_files(pattern, None)}


def _piece_files(pattern: PatternSet, head: set_toml.SetHead | None) -> dict[str, bytes]:
    """The geometry as our own form; without the levels that the authored text gives."""
    folder = set_toml.DEFAULT_GEOMETRY if head is None else head.geometry
    given = {piece for places in _levels_said(pattern).values() for piece in places}
    files = {}
    for name, piece in pattern.pieces.items():
        # A text written anew gives no levels, so its pieces draw them themselves.
        keep = head is not None or name not in given
        if keep and isinstance(piece.nest, Authored) and piece.nest.name == name:
            files[f"{folder}/{name}.json"] = piece.nest.source
        else:
            bare = without_levels(piece, {} if head is None else head.levels)
            files[f"{folder}/{name}.json"] = geometry_json.dumps(bare).encode()
    return files


@lru_cache(maxsize=2)  # asked for several times while one set is written
def _head_of(source: bytes) -> set_toml.SetHead:
    return set_toml.parse(_decoded(source, MARKER), MARKER)


def _levels_said(pattern: PatternSet) -> LevelsThrough:
    """Levels that the authored text of a set gives."""
    if not isinstance(pattern.info, Authored):
        return {}
    return _head_of(pattern.info.source).levels


def _authored_head(pattern: PatternSet) -> set_toml.SetHead | None:
    """What the authored text says; None when there is none, or the set says otherwise."""
    if not isinstance(pattern.info, Authored):
        return None
    head = _head_of(pattern.info.source)
    says = (head.name, head.sizes, head.base, head.lay_on, head.relations, head.chart)
    mine = (
        pattern.name,
        pattern.sizes,
        pattern.base,
        pattern.lay_on,
        pattern.relations,
        pattern.chart,
    )
    return head if says == mine else None
