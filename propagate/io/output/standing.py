"""What stands where something is to be written: nothing, our own work, or somebody's."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from propagate.errors import OutputError
from propagate.io.output.listing import LIST_NAME, read_digest, read_list
from propagate.pattern.names import quote_names

__all__ = ["EDITED", "check_place", "check_plain_folder", "kept_of_folder", "present_files"]

EDITED = "set.toml"
"""The one file that people are meant to write in: it is kept beside, never dropped."""
_KEPT = re.compile(re.escape(EDITED) + r"\.([1-9][0-9]{0,8})")
_DESKTOP_NAMES = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
_SHOWN = 5


def check_place(target: Path, *, folder: bool) -> None:
    """Refuse a target that is of another kind, or whose folder is not there.

    Raises
    ------
    OutputError
    """
    if not target.name:
        raise OutputError(f"'{target}' cannot be written; choose a folder inside it")
    if not target.parent.is_dir():
        raise OutputError(f"'{target.parent}' is not a folder; make it first")
    if not os.path.lexists(target):
        return
    mode = target.lstat().st_mode
    if stat.S_ISDIR(mode) and not folder:
        raise OutputError(f"'{target}' is a folder, expected a file; name a file inside it")
    if stat.S_ISREG(mode) and folder:
        raise OutputError(f"'{target}' is a file, expected a folder or nothing; choose another")
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        raise OutputError(f"'{target}' is no ordinary file; choose another name")


def kept_of_folder(target: Path, files: Mapping[str, bytes], *, replace: bool) -> dict[str, Path]:
    """Return what has to be kept of the folder that `files` take the place of.

    Raises
    ------
    OutputError
        It is not to be replaced, or not all of it is what this program wrote there.

    Returns
    -------
    dict of str to Path
        Names in the new folder to files of the old one: ``set.toml`` when somebody changed
        it, under the next free name, and those that were kept before.
    """
    if not target.exists() or not any(target.iterdir()):
        return {}
    if not replace:
        raise OutputError(
            f"'{target}' exists already and was left as it is; "
            "choose another folder, or replace it with --replace"
        )
    own = read_list(target)
    if own is None or EDITED not in own:
        raise OutputError(
            f"'{target}' holds no list ({LIST_NAME}) that says this program wrote a set there, "
            "as a folder by hand or of an older version does not, so it is not replaced; move it "
            "away or delete it yourself, or choose another folder"
        )
    strange: list[str] = []
    changed: list[str] = []
    kept: dict[str, Path] = {}
    for name, path in _list_content(target, own):
        plain = path.is_file() and not path.is_symlink()
        if plain and _KEPT.fullmatch(name):
            kept[name] = path
        elif not plain or name not in own:
            strange.append(name)
        elif read_digest(path) != own[name]:
            changed.append(name)
    if EDITED in changed:
        changed.remove(EDITED)
        if (target / EDITED).read_bytes() != files.get(EDITED):
            taken = [int(name.removeprefix(f"{EDITED}.")) for name in kept]
            kept[f"{EDITED}.{max(taken, default=0) + 1}"] = target / EDITED
    _refuse_files(target, strange, "which would be lost")
    _refuse_files(target, changed, "changed since this program wrote it, which would be lost")
    return kept


def _list_content(folder: Path, own: Mapping[str, str]) -> Iterator[tuple[str, Path]]:
    """Every file below a folder by its name in it, and folders that hold nothing of ours."""
    ours = {str(parent) for name in own for parent in Path(name).parents}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        inner = path.is_dir() and not path.is_symlink()
        if inner and name in ours:
            continue
        if any(str(parent) not in ours for parent in Path(name).parents):
            continue  # told by the name of its folder
        if not inner and (path.name in _DESKTOP_NAMES or name == LIST_NAME):
            continue
        yield name, path


def _refuse_files(folder: Path, names: list[str], why: str) -> None:
    if names:
        raise OutputError(
            f"'{folder}' holds {_show_names(names)}, {why}, and was left as it is; "
            "move them away, or choose another folder"
        )


def _show_names(names: list[str]) -> str:
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return quote_names(names[:_SHOWN]) + more


def check_plain_folder(folder: Path) -> dict[str, str]:
    """Return the list of a folder into which single files are written; empty without one.

    Raises
    ------
    OutputError
        The folder is a set that this program wrote, which holds nothing but the set.
    """
    own = read_list(folder) or {}
    if EDITED in own:
        raise OutputError(
            f"'{folder}' is a set, which holds nothing but its own files; choose a place outside it"
        )
    return own


def present_files(
    folder: Path, names: Collection[str], own: Mapping[str, str], *, replace: bool
) -> None:
    """Check files that stand where files of those names are to be written.

    Raises
    ------
    OutputError
        One is not to be replaced, or not as this program wrote it.
    """
    for name in names:
        check_place(folder / name, folder=False)
    present = [name for name in names if (folder / name).exists()]
    if present and not replace:
        said = (
            f"'{folder / present[0]}' exists already and was left as it is"
            if len(names) == 1
            else f"'{folder}' holds {_show_names(present)} already and was left as it is"
        )
        them = "it" if len(present) == 1 else "them"
        raise OutputError(f"{said}; choose another name, or replace {them} with --replace")
    for name in present:
        if own.get(name) != read_digest(folder / name):
            why = (
                "was changed since this program wrote it"
                if name in own
                else f"is not in a list ({LIST_NAME}) of what this program wrote there"
            )
            raise OutputError(
                f"'{folder / name}' {why}, so it may be somebody's work and is not replaced; "
                "move it away or delete it yourself, or choose another name"
            )
