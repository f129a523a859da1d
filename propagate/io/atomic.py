"""Write a folder completely or not at all.

Everything goes into a hidden folder beside the target first and reaches the disk; then
one rename puts it in place.  An old folder is moved aside, and removed only when the new
one stands.  Whatever interrupts the write, the old or the new folder is complete.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import tomllib
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from propagate.errors import OutputError
from propagate.io.words import quoted

__all__ = ["MARKER", "OWN_NAMES", "left_behind", "write_folder"]

MARKER = "set.toml"  # a folder without it is not one of ours
OWN_NAMES = frozenset({MARKER, "geometry", "record.json", "cut_lines.json", "revised.json"})
_PICTURES = "pictures"  # as `begin` writes them: nothing but drawings of the pieces
_RULE_SUFFIXES = (".rul", ".RUL", ".Rul")
_DESKTOP_NAMES = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
_SHOWN = 5


def write_folder(target: Path, files: Mapping[str, bytes], *, replace: bool = False) -> None:
    """Write `files` (name with ``/`` to content) as the whole content of `target`.

    An empty folder at `target` counts as free.

    Raises
    ------
    OutputError
        The target exists and is not to be replaced, or is not a set, or holds files that
        this program does not write; or it cannot be written.
    """
    target = target.resolve()
    _check_names(target, files)
    _check_free(target, files, replace=replace)
    mark = secrets.token_hex(4)
    partial = target.with_name(f".{target.name}.{mark}.partial")
    aside = target.with_name(f".{target.name}.{mark}.old")
    try:
        _write_all(partial, files)
        _swap(partial, target, aside)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(
            f"'{target}' cannot be written ({reason}); nothing was changed; "
            "choose another folder or make room"
        ) from error
    finally:
        _tidy(partial, target, aside)


def left_behind(target: Path) -> list[Path]:
    """Return complete old folders that a killed write left beside a missing `target`."""
    if target.exists() or not target.parent.is_dir():
        return []
    return sorted(p for p in target.parent.glob(f".{target.name}.*.old") if (p / MARKER).is_file())


def _check_names(target: Path, files: Mapping[str, bytes]) -> None:
    for name in files:
        parts = PurePosixPath(name).parts
        if not parts or name.startswith("/") or ".." in parts or "\\" in name:
            raise OutputError(
                f"'{target}': found the file name {quoted(name)}, expected a name inside the folder"
            )


def _check_free(target: Path, files: Mapping[str, bytes], *, replace: bool) -> None:
    if not target.name:
        raise OutputError(f"'{target}' cannot be written; choose a folder inside it")
    if not target.parent.is_dir():
        raise OutputError(f"'{target.parent}' is not a folder; make it first")
    if not target.exists():
        return
    if not target.is_dir():
        raise OutputError(f"'{target}' is a file, expected a folder or nothing; choose another")
    present = sorted(path.name for path in target.iterdir())
    if not present:
        return
    if not replace:
        raise OutputError(
            f"'{target}' exists already and was left as it is; "
            "choose another folder, or replace it with --replace"
        )
    if MARKER not in present:
        raise OutputError(
            f"'{target}' holds no {MARKER}, so it is not a set and is not replaced; "
            "choose another folder"
        )
    own = OWN_NAMES | _DESKTOP_NAMES | {PurePosixPath(name).parts[0] for name in files}
    own |= _geometry_names(target / MARKER) | _plain_pictures(target / _PICTURES)
    strange = [name for name in present if name not in own]
    if strange:
        names = ", ".join(f"'{name}'" for name in strange[:_SHOWN])
        more = f" and {len(strange) - _SHOWN} more" if len(strange) > _SHOWN else ""
        raise OutputError(
            f"'{target}' holds {names}{more}, which would be lost, and was left as it is; "
            "move them away, or choose another folder"
        )


def _geometry_names(marker: Path) -> set[str]:
    """Where the set that stands there says that its geometry is: a folder, or a DXF."""
    try:
        said = tomllib.loads(marker.read_text("utf-8-sig")).get("geometry")
    except (OSError, ValueError, RecursionError):
        return set()
    if not isinstance(said, str) or not said:
        return set()
    if not said.lower().endswith(".dxf"):
        return {said}
    return {said, *(str(PurePosixPath(said).with_suffix(end)) for end in _RULE_SUFFIXES)}


def _plain_pictures(folder: Path) -> set[str]:
    """The folder of pictures while it holds nothing that somebody else put there."""
    if folder.is_symlink() or not folder.is_dir():
        return set()
    own = all(
        path.name in _DESKTOP_NAMES or (path.suffix == ".svg" and path.is_file())
        for path in folder.iterdir()
    )
    return {folder.name} if own else set()


def _write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir()
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
    for path in (folder, *(sub for sub in folder.rglob("*") if sub.is_dir())):
        _sync_folder(path)


def _sync_folder(folder: Path) -> None:
    if os.name != "posix":  # a folder cannot be opened elsewhere
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _swap(partial: Path, target: Path, aside: Path) -> None:
    if target.is_dir() and any(target.iterdir()):
        target.replace(aside)
    elif target.is_dir():
        target.rmdir()
    partial.replace(target)
    with contextlib.suppress(OSError):  # the new folder stands; it is only not yet on the disk
        _sync_folder(target.parent)


def _tidy(partial: Path, target: Path, aside: Path) -> None:
    """Put the old folder back when the new one did not come; remove what is left over.

    Judged by what is on the disk, since an interrupt may fall between any two steps.
    """
    if aside.exists():
        if target.exists():
            shutil.rmtree(aside, ignore_errors=True)
        else:
            aside.replace(target)
    if partial.exists():
        shutil.rmtree(partial, ignore_errors=True)
