"""Where a write goes, and its bytes on the disk; what the system refuses, in words."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from propagate.errors import OutputError
from propagate.io.output.listing import LIST_NAME
from propagate.io.output.work import sync_folder
from propagate.io.words import quoted

__all__ = ["check_names", "real_place", "sync_all", "tell_refusal", "write_synced"]


@contextmanager
def tell_refusal(target: str | Path) -> Iterator[None]:
    """Say in words what the system refused."""
    try:
        yield
    except OutputError:
        raise
    except OSError as error:
        raise OutputError(
            f"'{target}' cannot be written ({error.strerror or error}); nothing was changed; "
            "choose another place or make room"
        ) from error


def real_place(path: str | Path) -> Path:
    """The place that a path leads to; devices, pipes and sockets are refused."""
    with suppress(FileNotFoundError, NotADirectoryError):
        mode = Path(path).stat().st_mode
        if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
            raise OutputError(f"'{path}' is no ordinary file; choose another name")
    return Path(os.path.realpath(path))


def check_names(folder: Path, files: Mapping[str, bytes], *, deep: bool) -> None:
    """Refuse names that do not lie in the folder; `deep`: or in a folder below it."""
    for name in files:
        parts = PurePosixPath(name).parts
        bad = not parts or name.startswith("/") or ".." in parts or "\\" in name
        if bad or name == LIST_NAME or (not deep and name != PurePosixPath(name).name):
            raise OutputError(
                f"'{folder}': found the file name {quoted(name)}, expected a name inside the folder"
            )


def write_synced(path: Path, content: bytes) -> None:
    """Write a new file to the disk, with the folders that it lies in."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def sync_all(folder: Path) -> None:
    """Bring the names in a folder, and in all folders below it, to the disk."""
    for path in (folder, *(sub for sub in folder.rglob("*") if sub.is_dir())):
        sync_folder(path)
