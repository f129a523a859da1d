"""What a command reads is never written to, by whatever name it is called.

Files and folders are told apart by device and inode, so that links, `..`, capitals on a
file system that does not know them, and a folder mounted at two places change nothing.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from propagate.errors import OutputError

__all__ = ["Source", "keep_sources", "read_from"]

Source = str | Path
_Mark = tuple[int, int]
_RULE_SUFFIXES = (".rul", ".RUL", ".Rul")
_DEPTH = 2
"""Levels of a folder that is read: those of a set, whose geometry lies in one below it."""


def read_from(path: Source) -> Path:
    """Return what a command reads that is given a set: its folder, also for its set.toml."""
    found = Path(path)
    return found.parent if found.suffix == ".toml" else found


def keep_sources(target: Path, sources: Iterable[Source], *, whole: bool) -> None:
    """Refuse a target that is read, that lies in a folder that is read, or that holds one.

    Parameters
    ----------
    sources : iterable of path
        Files and folders; nothing at all is written into these folders.  The rule file
        beside a DXF belongs to it.
    whole : bool
        The target is a folder that is replaced as a whole, so it must not hold a source.

    Raises
    ------
    OutputError
    """
    own = _mark_of(target)
    around = {mark for folder in target.parents if (mark := _mark_of(folder)) is not None}
    for source in map(Path, sources):
        paths = [source, *_find_below(source)]
        inside = {_mark_of(path) for path in paths}
        folders = {_mark_of(path) for path in paths if path.is_dir()}
        if own is not None and own in inside:
            raise OutputError(
                f"'{target}' is what this command reads ('{source}'), and that is never written "
                "to: it would be lost; choose another place"
            )
        if around & folders:
            raise OutputError(
                f"'{target}' lies in '{source}', which this command reads and which stays as it "
                "is; choose a place outside it"
            )
        # The folders that hold it by its name, and by where its links lead.
        named, real = Path(os.path.abspath(source)), Path(os.path.realpath(source))  # noqa: PTH100
        above = {_mark_of(folder) for folder in (*named.parents, *real.parents)} if whole else ()
        if own is not None and own in above:
            raise OutputError(
                f"'{target}' holds '{source}', which this command reads and which would be lost; "
                "choose another folder"
            )


def _mark_of(path: Path) -> _Mark | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _find_below(source: Path, depth: int = _DEPTH) -> Iterator[Path]:
    """What belongs to a source: the content of a folder, the rules of a drawing."""
    if not source.is_dir():
        if source.suffix.lower() == ".dxf":
            yield from (source.with_suffix(end) for end in _RULE_SUFFIXES)
        return
    if depth == 0:
        return
    try:
        content = sorted(source.iterdir())
    except OSError:
        return
    for path in content:
        yield path
        if path.is_dir():
            yield from _find_below(path, depth - 1)
