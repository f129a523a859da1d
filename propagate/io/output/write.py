"""Write a folder, several files or one: all of it or nothing, over nobody's work."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath
from typing import BinaryIO

from propagate.errors import OutputError
from propagate.io.output.listing import LIST_NAME, digest_of, read_digest, read_list, render_list
from propagate.io.output.sources import Source, keep_sources
from propagate.io.output.standing import (
    check_place,
    check_plain_folder,
    kept_of_folder,
    present_files,
)
from propagate.io.output.work import Work, begin_work, lock_folder, put_right, sync_folder
from propagate.values import dataclass
from propagate.visible import quoted

__all__ = [
    "Written",
    "amend_file",
    "amend_files",
    "check_files",
    "check_folder",
    "open_file",
    "write_files",
    "write_folder",
]


@dataclass(frozen=True)
class Written:
    """What was written into a folder.

    Attributes
    ----------
    folder : Path
    files : tuple of str
        Names in the folder.
    kept : str or None
        The name under which a ``set.toml`` that somebody had changed was kept.
    """

    folder: Path
    files: tuple[str, ...]
    kept: str | None = None

    @property
    def kept_words(self) -> str:
        """What was kept, in a sentence."""
        return (
            f"set.toml in '{self.folder}' had been changed since it was written: what stood "
            f"there is kept as {self.kept}"
        )


def write_folder(
    target: str | Path,
    files: Mapping[str, bytes],
    *,
    replace: bool = False,
    sources: Sequence[Source] = (),
) -> Written:
    """Write a folder that holds these files, a list of them, and nothing else.

    An empty folder counts as free.

    Parameters
    ----------
    target : str or Path
        Its parent must exist.
    files : mapping of name (with ``/``) to content
    replace : bool
        Take the place of a set that this program wrote and that nobody changed since.  A
        ``set.toml`` that somebody changed is kept beside the new one.
    sources : sequence of path
        What was read to make this: the target must be, hold or lie in none of it.

    Raises
    ------
    OutputError
        The target must not be replaced, or cannot be written; nothing was changed.
    """
    with _tell_refusal(target):
        place = _real_place(target)
        _check_names(place, files, deep=True)
        check_folder(place, replace=replace, sources=sources, files=files)
        with begin_work(place.parent) as work:
            kept = kept_of_folder(place, files, replace=replace)
            _lay_ready(work.new / place.name, files)
            for name, path in kept.items():
                _write_synced(work.new / place.name / name, path.read_bytes())
            _sync_all(work.new)
            work.commit()
        edited = [name for name, path in kept.items() if path.name != name]
        return Written(place, tuple(files), edited[0] if edited else None)


def check_folder(
    target: str | Path,
    *,
    replace: bool = False,
    sources: Sequence[Source] = (),
    files: Mapping[str, bytes] | None = None,
) -> None:
    """Refuse what `write_folder` would refuse, and write nothing.

    Raises
    ------
    OutputError
    """
    with _tell_refusal(target):
        place = _real_place(target)
        keep_sources(place, sources, whole=True)
        check_place(place, folder=True)
        put_right(place.parent)
        put_right(place)
        kept_of_folder(place, files or {}, replace=replace)


def _lay_ready(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.mkdir()
    for name, content in files.items():
        _write_synced(folder / name, content)
    _write_synced(
        folder / LIST_NAME, render_list({n: digest_of(data) for n, data in files.items()})
    )


def write_files(
    folder: str | Path,
    files: Mapping[str, bytes],
    *,
    replace: bool = False,
    sources: Sequence[Source] = (),
    never_beside: Sequence[str] = (),
) -> None:
    """Write files that belong together into a folder: all of them or none.

    The folder is made when its parent exists; other files in it stay as they are.

    Parameters
    ----------
    files : mapping of name to content
    replace : bool
        Take the place of files that this program wrote and that nobody changed since.
    sources : sequence of path
        What was read to make this, none of which is written to.
    never_beside : sequence of str
        Names of files that would be read with these and do not belong to them: one that is
        to be replaced goes with what it belonged to, any other is a reason to refuse.

    Raises
    ------
    OutputError
        A file must not be replaced, or cannot be written; nothing was changed.
    """
    with _tell_refusal(folder):
        place = _real_place(folder)
        _check_names(place, files, deep=False)
        check_files(
            place, [*files, *_find_beside(place, never_beside)], replace=replace, sources=sources
        )
        home = place if place.is_dir() else place.parent
        with begin_work(home) as work:
            stale: list[str] = []
            if home == place:
                stale = _find_beside(place, never_beside)
                _lay_files(work, place, files, stale, replace=replace)
            elif os.path.lexists(place):
                raise OutputError(
                    f"'{place}' was made by another run just now and stays as it is; try again"
                )
            else:
                _lay_ready(work.new / place.name, files)
            _sync_all(work.new)
            work.commit(stale)


def _find_beside(folder: Path, names: Sequence[str]) -> list[str]:
    """Those of the names that a folder holds, spelled as it does."""
    return sorted({path.name for path in folder.iterdir()} & set(names)) if folder.is_dir() else []


def check_files(
    folder: str | Path,
    names: Iterable[str],
    *,
    replace: bool = False,
    sources: Sequence[Source] = (),
) -> None:
    """Refuse what `write_files` would refuse, and write nothing.

    Raises
    ------
    OutputError
    """
    with _tell_refusal(folder):
        place, wanted = _real_place(folder), list(names)
        for name in wanted:
            keep_sources(place / name, sources, whole=False)
        check_place(place, folder=True)
        put_right(place)
        if place.is_dir():
            present_files(place, wanted, check_plain_folder(place), replace=replace)


def _lay_files(
    work: Work, place: Path, files: Mapping[str, bytes], stale: Sequence[str], *, replace: bool
) -> None:
    """Lay files ready, with the list of the folder that they join."""
    own = check_plain_folder(place)
    present_files(place, [*files, *stale], own, replace=replace)
    for name, content in files.items():
        _write_synced(work.new / name, content)
    own = {name: digest for name, digest in own.items() if name not in stale}
    own |= {name: digest_of(content) for name, content in files.items()}
    _lay_list_ready(work, place, own)


def _lay_list_ready(work: Work, place: Path, own: Mapping[str, str]) -> None:
    there = {n: d for n, d in own.items() if (work.new / n).exists() or (place / n).exists()}
    _write_synced(work.new / LIST_NAME, render_list(there))


@contextmanager
def open_file(
    path: str | Path, *, replace: bool = False, sources: Sequence[Source] = ()
) -> Iterator[BinaryIO]:
    """Open a file to write; it takes its name when the block ends without an error.

    Parameters
    ----------
    replace : bool
        Take the place of a file that this program wrote and that nobody changed since.
    sources : sequence of path
        What was read to make this, none of which is written to.

    Raises
    ------
    OutputError
        The file must not be replaced, or cannot be written; nothing was changed.
    """
    with _tell_refusal(path):
        target = _real_place(path)
        folder, name = target.parent, target.name
        keep_sources(target, sources, whole=False)
        check_place(target, folder=False)
        with lock_folder(folder) as sure:
            work = Work(folder, clear=sure)
            # Files in the same folder may be written at once: it is locked at the end again.
        try:
            present_files(folder, [name], check_plain_folder(folder), replace=replace)
            with (work.new / name).open("xb") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            with lock_folder(folder):
                own = check_plain_folder(folder)
                present_files(folder, [name], own, replace=replace)
                _lay_list_ready(work, folder, {**own, name: read_digest(work.new / name)})
                _sync_all(work.new)
                work.commit()
        finally:
            work.end()


def amend_file(path: str | Path, old: bytes, new: bytes) -> None:
    """Put `new` in the place of `old`, the content of a file that was read as such.

    When the file is as this program wrote it, the list in its folder follows.

    Raises
    ------
    OutputError
        The file holds something else by now, or cannot be written.
    """
    with _tell_refusal(path):
        place = _real_place(path)
        _amend_together(place.parent, {place.name: (old, new)})


def amend_files(folder: str | Path, changes: Mapping[str, tuple[bytes | None, bytes]]) -> None:
    """Change files in a folder and in folders of it: all of them or none.

    Parameters
    ----------
    changes : mapping of name (with ``/``) to what the file was read as, and its new content
        None where there was no file.

    Raises
    ------
    OutputError
        One holds something else by now, or cannot be written; nothing was changed.
    """
    with _tell_refusal(folder):
        _amend_together(_real_place(folder), changes)


def _amend_together(folder: Path, changes: Mapping[str, tuple[bytes | None, bytes]]) -> None:
    for name in changes:
        if (folder / name).parent.exists():
            check_place(folder / name, folder=False)
    with begin_work(folder) as work:
        own = read_list(folder) or {}
        listed = dict(own)
        for name, (old, new) in changes.items():
            place = folder / name
            if (place.read_bytes() if os.path.lexists(place) else None) != old:
                raise OutputError(
                    f"'{place}' was changed while it was worked on, and was left as it "
                    "is; try again"
                )
            (work.new / name).parent.mkdir(parents=True, exist_ok=True)
            _write_synced(work.new / name, new)
            if old is not None and own.get(name) == digest_of(old):
                listed[name] = digest_of(new)
        if listed != own:
            _write_synced(work.new / LIST_NAME, render_list(listed))
        _sync_all(work.new)
        work.commit(deep=True)


@contextmanager
def _tell_refusal(target: str | Path) -> Iterator[None]:
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


def _real_place(path: str | Path) -> Path:
    """The place that a path leads to; devices, pipes and sockets are refused."""
    with suppress(FileNotFoundError, NotADirectoryError):
        mode = Path(path).stat().st_mode
        if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
            raise OutputError(f"'{path}' is no ordinary file; choose another name")
    return Path(os.path.realpath(path))


def _check_names(folder: Path, files: Mapping[str, bytes], *, deep: bool) -> None:
    """Refuse names that do not lie in the folder; `deep`: or in a folder below it."""
    for name in files:
        parts = PurePosixPath(name).parts
        bad = not parts or name.startswith("/") or ".." in parts or "\\" in name
        if bad or name == LIST_NAME or (not deep and name != PurePosixPath(name).name):
            raise OutputError(
                f"'{folder}': found the file name {quoted(name)}, expected a name inside the folder"
            )


def _write_synced(path: Path, content: bytes) -> None:
    """Write a new file to the disk, with the folders that it lies in."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _sync_all(folder: Path) -> None:
    """Bring the names in a folder, and in all folders below it, to the disk."""
    for path in (folder, *(sub for sub in folder.rglob("*") if sub.is_dir())):
        sync_folder(path)
