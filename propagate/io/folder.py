"""A set as a folder: load it with everything checked, save it completely or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from propagate.errors import FormatError, InvalidSet, OutputError
from propagate.io import geometry_json, set_toml
from propagate.io.atomic import MARKER, left_behind, write_folder
from propagate.io.authored import Authored
from propagate.io.checks import UnreadableFile, is_name
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet

__all__ = ["load", "save"]


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
    """
    from propagate.pattern.validate import problems

    file = _relations_file(Path(path))
    source = _read(file)
    head = set_toml.parse(_decoded(source, str(file)), str(file))
    pattern = PatternSet(
        name=head.name,
        sizes=head.sizes,
        base=head.base,
        lay_on=head.lay_on,
        pieces=_load_pieces(file.parent / head.geometry, list(head.info)),
        info=Authored(head.name, head.info, source),
        relations=head.relations,
        chart=head.chart,
    )
    found = problems(pattern)
    if found:
        raise InvalidSet(pattern.name, found)
    return pattern


def save(
    pattern: PatternSet,
    path: str | Path,
    *,
    replace: bool = False,
    extra: Mapping[str, bytes] | None = None,
) -> None:
    """Write a set as a folder, completely or not at all.

    What was loaded and not edited is written byte for byte as it was read.

    Parameters
    ----------
    pattern : PatternSet
    path : str or Path
        The folder to write; its parent must exist.
    replace : bool
        Take the place of a set that stands there already.
    extra : mapping of file name to content
        Further files, such as the record.

    Raises
    ------
    OutputError
        See `write_folder`; also a piece whose name cannot name a file, or an extra file
        that would take the place of one of the set's.
    """
    text, geometry = _relations_source(pattern)
    files = {MARKER: text}
    for name in pattern.pieces:
        if not is_name(name):
            raise OutputError(
                f"set '{pattern.name}': found the piece name {name!r}, which cannot name a file"
            )
        files[f"{geometry}/{name}.json"] = _piece_source(pattern.pieces[name])
    for name, content in (extra or {}).items():
        if name in files:
            raise OutputError(f"set '{pattern.name}': the file '{name}' belongs to the set itself")
        files[name] = content
    write_folder(Path(path), files, replace=replace)


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
    old = left_behind(path)
    cure = (
        f"an interrupted write left the old set in '{old[0]}'; rename it back"
        if old
        else f"expected the folder of a set, or its {MARKER}"
    )
    raise FormatError(f"there is no '{path}'; {cure}")


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise UnreadableFile([f"{file}: cannot be read ({error.strerror})"]) from error


def _decoded(source: bytes, name: str) -> str:
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = source.count(b"\n", 0, error.start) + 1
        raise UnreadableFile(
            [f"{name}: line {line}: found byte 0x{source[error.start]:02x}, expected UTF-8 text"]
        ) from error


def _load_pieces(folder: Path, order: list[str]) -> dict[str, Piece]:
    """Load every geometry file: first the pieces named in `order`, then the others."""
    if not folder.is_dir():
        raise UnreadableFile([f"{folder}: there is no such folder, expected the geometry here"])
    files = {
        file.stem: file for file in sorted(folder.glob("*.json")) if not file.name.startswith(".")
    }
    names = [name for name in order if name in files]
    names += [name for name in files if name not in order]
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


def _load_piece(file: Path) -> Piece:
    name = f"{file.parent.name}/{file.name}"
    source = _read(file)
    piece = geometry_json.loads(_decoded(source, name), name)
    if piece.name != file.stem:
        raise UnreadableFile(
            [f"{name}: piece: found '{piece.name}', expected '{file.stem}', the file's own name"]
        )
    return Piece(piece.name, Authored(piece.name, piece.nest, source))


# ------------------------------------------------------------------------------- writing


def _piece_source(piece: Piece) -> bytes:
    if isinstance(piece.nest, Authored) and piece.nest.name == piece.name:
        return piece.nest.source
    return geometry_json.dumps(piece).encode()


def _relations_source(pattern: PatternSet) -> tuple[bytes, str]:
    """Return the bytes of the relations file and the name of its geometry folder.

    The authored text, with its comments, is kept as long as it says what the set says.
    """
    if isinstance(pattern.info, Authored):
        source = pattern.info.source
        head = set_toml.parse(_decoded(source, MARKER), MARKER)
        says = (head.name, head.sizes, head.base, head.lay_on, head.relations, head.chart)
        if says == (
            pattern.name,
            pattern.sizes,
            pattern.base,
            pattern.lay_on,
            pattern.relations,
            pattern.chart,
        ):
            return source, head.geometry
    return set_toml.render(pattern).encode(), set_toml.DEFAULT_GEOMETRY
