"""Write several files into a folder: all of them or none, nothing overwritten unasked."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from propagate.errors import OutputError
from propagate.io.words import quoted

__all__ = ["write_files"]


def write_files(folder: Path, files: Mapping[str, bytes], *, replace: bool = False) -> None:
    """Write files into a folder, which is made when its parent exists.

    Other files in the folder stay as they are.

    Raises
    ------
    OutputError
        One of the files exists and is not to be replaced, a name does not lie in the
        folder, or the folder cannot be written.
    """
    _check(folder, files, replace=replace)
    made = not folder.exists()
    mark = secrets.token_hex(4)
    partial = {name: folder / f".{name}.{mark}.partial" for name in files}
    try:
        folder.mkdir(exist_ok=True)
        for name, content in files.items():
            with partial[name].open("xb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
        for name in files:
            partial[name].replace(folder / name)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(
            f"'{folder}' cannot be written ({reason}); choose another folder or make room"
        ) from error
    finally:
        for path in partial.values():
            with contextlib.suppress(OSError):
                path.unlink(missing_ok=True)
        if made:
            with contextlib.suppress(OSError):
                folder.rmdir()  # only when nothing came into it


def _check(folder: Path, files: Mapping[str, bytes], *, replace: bool) -> None:
    for name in files:
        if not name or name != Path(name).name or "\\" in name:
            raise OutputError(
                f"'{folder}': found the file name {quoted(name)}, expected a name inside the folder"
            )
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"'{folder}' is a file, expected a folder or nothing; choose another")
    if not folder.exists() and not folder.absolute().parent.is_dir():
        raise OutputError(f"'{folder.absolute().parent}' is not a folder; make it first")
    present = [name for name in files if (folder / name).exists()]
    if present and not replace:
        names = ", ".join(f"'{name}'" for name in present[:5])
        more = f" and {len(present) - 5} more" if len(present) > 5 else ""
        stayed, them = (
            ("stayed as it is", "it") if len(present) == 1 else ("stayed as they are", "them")
        )
        raise OutputError(
            f"'{folder}' holds {names}{more} already, which {stayed}; "
            f"choose another folder, or replace {them} with --replace"
        )
