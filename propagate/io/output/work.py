"""A write under way: a hidden folder beside what it changes, a lock, and a way back.

::

    .propagate-1a2b3c4d.partial/
      owner      says what this folder is
      new/       what is written; it reaches the disk before anything is moved
      journal    names and checksums, from the first move to the last
      old/       what the new takes the place of

A journal means that moves are under way: unless every name has left ``new``, they are
undone.  Without one, nothing was moved, or all of it.  The folder is locked as long as
its run lives, so that the next run in that place can tell who is dead.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import shutil
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from propagate.errors import OutputError
from propagate.io.output.listing import parse_list, read_digest, render_list

__all__ = ["Work", "begin_work", "left_behind", "lock_folder", "put_right", "sync_folder"]

_NAME = re.compile(r"\.propagate-[0-9a-f]{8}\.partial")
_OWNER = "owner"
_NEW, _OLD, _JOURNAL, _DRAFT = "new", "old", "journal", "journal.part"
_LAYOUT = {_OWNER, _NEW, _OLD, _JOURNAL, _DRAFT}
_WORDS = b"A write of propagate under way. If none is running, it was interrupted:\nthe next write to the same place puts things right and takes this folder away.\n"  # noqa: E501
_PATIENCE_S = 30.0
_FOLDER, _GONE = "0" * 64, "f" * 64
"""Stand in the journal for the checksum of a folder, and of a file that only goes."""


@contextmanager
def lock_folder(folder: Path) -> Iterator[bool]:
    """Keep other runs from changing a folder; False where there are no such locks.

    Raises
    ------
    OutputError
        Another run holds it for very long.
    """
    handle = _open_folder(folder)
    try:
        end = time.monotonic() + _PATIENCE_S
        while (held := _try_lock(handle)) is None:
            if time.monotonic() > end:
                raise OutputError(
                    f"another run is writing in '{folder}'; nothing was changed; wait for it to "
                    "end, then try again"
                )
            time.sleep(0.02)
        yield held
    finally:
        _close_folder(handle)


def _open_folder(folder: Path) -> int:
    """A handle on a folder; -1 where folders cannot be opened."""
    return os.open(folder, os.O_RDONLY) if os.name == "posix" else -1


def _close_folder(handle: int) -> None:
    if handle >= 0:
        os.close(handle)


def _try_lock(handle: int) -> bool | None:
    """True when it is ours, None when another run has it, False where there are no locks."""
    if sys.platform == "win32" or handle < 0:
        return False
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return None if error.errno in (errno.EAGAIN, errno.EACCES) else False
    return True


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk."""
    handle = _open_folder(folder)
    try:
        if handle >= 0:
            os.fsync(handle)
    finally:
        _close_folder(handle)


class Work:
    """The hidden folder of one write in `folder`, made while that is locked.

    Parameters
    ----------
    folder : Path
        Where names are going to change.
    clear : bool
        Put right what killed runs left there before.

    Attributes
    ----------
    new : Path
        Where the new files and folders are laid ready.
    """

    def __init__(self, folder: Path, *, clear: bool) -> None:
        if clear:
            _clear_left(folder)
        self._folder = folder
        self._path = folder / f".propagate-{secrets.token_hex(4)}.partial"
        self.new = self._path / _NEW
        self._path.mkdir()
        self._handle = -1
        try:
            self._handle = _open_folder(self._path)
            _try_lock(self._handle)
            (self._path / _OWNER).write_bytes(_WORDS)
            self.new.mkdir()
        except BaseException:
            self.end()
            raise

    def commit(self, gone: Iterable[str] = (), *, deep: bool = False) -> None:
        """Move all that lies ready to its place, or nothing; the folder has to be locked.

        Parameters
        ----------
        gone : iterable of str
            Names of files in the folder that go when the new ones come.
        deep : bool
            Folders that lie ready stand there already: the files in them take their places.
        """
        try:
            ready = self.new.rglob("*") if deep else self.new.iterdir()
            names = sorted(
                path.relative_to(self.new).as_posix()
                for path in ready
                if not (deep and path.is_dir())
            )
            leave = sorted(gone)
            _write_journal(self._path, names, leave)
            for name in leave:
                (self._folder / name).replace(self._path / _OLD / name)
            for name in names:
                place = self._folder / name
                if deep:
                    place.parent.mkdir(exist_ok=True)
                if os.path.lexists(place):
                    _set_aside(place, self._path / _OLD / name)
                (self.new / name).replace(place)
        except BaseException:
            _undo_moves(self._path, self._folder)
            raise
        with suppress(OSError):  # all is in place; it is only not yet on the disk
            for folder in {(self._folder / name).parent for name in names} | {self._folder}:
                sync_folder(folder)
        _settle_moves(self._path, self._folder)

    def end(self) -> None:
        """Take the hidden folder away, unless something in it still has to go back."""
        try:
            if not (self._path / _JOURNAL).exists():
                _remove_work(self._path)
        finally:
            _close_folder(self._handle)


@contextmanager
def begin_work(folder: Path) -> Iterator[Work]:
    """Lock a folder for one write, whose hidden folder goes when the block ends."""
    with lock_folder(folder) as sure:
        work = Work(folder, clear=sure)
        try:
            yield work
        finally:
            work.end()


def _write_journal(work: Path, names: list[str], gone: list[str]) -> None:
    digests = {
        name: _FOLDER if (path := work / _NEW / name).is_dir() else read_digest(path)
        for name in names
    } | dict.fromkeys(gone, _GONE)
    (work / _OLD).mkdir()
    for name in names:
        (work / _OLD / name).parent.mkdir(parents=True, exist_ok=True)
    with (work / _DRAFT).open("xb") as stream:
        stream.write(render_list(digests))
        stream.flush()
        os.fsync(stream.fileno())
    (work / _DRAFT).replace(work / _JOURNAL)
    sync_folder(work)


def _set_aside(place: Path, aside: Path) -> None:
    """Give a file a second name, so that its own is never without one; else move it."""
    if place.is_dir() and not place.is_symlink():
        place.replace(aside)
        return
    try:
        os.link(place, aside, follow_symlinks=False)
    except (OSError, NotImplementedError):
        place.replace(aside)


def _undo_moves(work: Path, folder: Path) -> None:
    try:
        _settle_moves(work, folder)
    except OutputError:
        raise
    except OSError as error:
        raise OutputError(
            f"a write to '{folder}' broke off and could not be undone yet ({error.strerror}); "
            f"what stood there is in '{work / _OLD}', and the next write there puts it back"
        ) from error


def _settle_moves(work: Path, folder: Path) -> None:
    """Undo moves that did not all happen; then the journal goes."""
    digests: Mapping[str, str] | None = None
    with suppress(FileNotFoundError):
        digests = parse_list((work / _JOURNAL).read_bytes())
    if digests is None:
        return
    if any(os.path.lexists(work / _NEW / name) for name in digests):
        for name in digests:
            _take_back(work, folder, name, digests)
    (work / _JOURNAL).unlink()


def _take_back(work: Path, folder: Path, name: str, digests: Mapping[str, str]) -> None:
    """Undo one move; done twice, or broken off and begun again, it is done once."""
    place, new, old = folder / name, work / _NEW / name, work / _OLD / name
    if digests[name] == _GONE:
        if os.path.lexists(old) and not os.path.lexists(place):
            old.replace(place)
        return
    if not os.path.lexists(new) and os.path.lexists(place):
        if place.is_symlink() or not place.is_file() or read_digest(place) != digests[name]:
            raise _changed(place, work)
        _set_aside(place, new)
    if not os.path.lexists(place):
        if os.path.lexists(old):
            old.replace(place)
    elif os.path.lexists(new) and _same(place, new):
        if os.path.lexists(old):
            old.replace(place)
        else:
            place.unlink()
    elif os.path.lexists(old) and not _same(place, old):
        raise _changed(place, work)


def _same(one: Path, other: Path) -> bool:
    return os.path.samestat(one.lstat(), other.lstat())


def _changed(place: Path, work: Path) -> OutputError:
    return OutputError(
        f"'{place}' was changed after a write to it was interrupted; what stood there before is "
        f"in '{work / _OLD}': keep which one you want, then delete '{work}' and try again"
    )


def put_right(folder: Path) -> None:
    """Undo and take away what runs that are no more left in a folder."""
    if folder.is_dir():
        with lock_folder(folder) as sure:
            if sure:
                _clear_left(folder)


def _clear_left(folder: Path) -> None:
    """Put right what runs that are no more left in a folder."""
    for work in sorted(folder.glob(".propagate-*.partial")):
        if not _is_ours(work):
            continue
        handle = _open_folder(work)
        try:
            if _try_lock(handle):
                _settle_moves(work, folder)
                _remove_work(work)
        finally:
            _close_folder(handle)


def _is_ours(work: Path) -> bool:
    """By its name, and by what it holds: nothing yet, or nothing but what we lay there."""
    if not _NAME.fullmatch(work.name) or work.is_symlink() or not work.is_dir():
        return False
    names = {path.name for path in work.iterdir()}
    return not names or (_OWNER in names and names <= _LAYOUT)


def _remove_work(work: Path) -> None:
    """Delete a hidden folder; what tells that it is ours goes last, so that none is lost."""
    with suppress(OSError):
        for name in (_NEW, _OLD):
            if (work / name).exists():
                shutil.rmtree(work / name)
        (work / _DRAFT).unlink(missing_ok=True)
        (work / _OWNER).unlink(missing_ok=True)
        work.rmdir()


def left_behind(target: Path) -> list[Path]:
    """Return what a killed write set aside of a `target` that is missing now."""
    folder = target.parent
    if os.path.lexists(target) or not folder.is_dir():
        return []
    works = (work for work in sorted(folder.glob(".propagate-*.partial")) if _is_ours(work))
    return [old for work in works if os.path.lexists(old := work / _OLD / target.name)]
