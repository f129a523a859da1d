"""Kinds of write, what stands before and after each, and a child that breaks off in one.

The child is a Python of its own.  With ``kill`` it ends, as by ``kill -9``, before the
Nth thing it does to files below the folder of the trial; with ``full`` that thing fails
for want of room; with ``slow`` it rests before each, so that signals and other runs fall
in between.  What is on the disk is judged with plain Python alone.
"""

from __future__ import annotations

import errno
import io
import json
import os
import subprocess
import sys
import time
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from propagate.io import output

Files = dict[str, bytes]
ROOT = Path(__file__).resolve().parent.parent.parent
KILLED, MISSED = 99, 98
"""Exit statuses: killed as asked; done before there was an operation of that number."""
_FILE_EVENTS = {"open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link"}


def _content(mark: str, names: tuple[str, ...]) -> Files:
    return {name: f"{mark} {name}\n".encode() * 50 for name in names}


@dataclass(frozen=True)
class Kind:
    """A way to write: what is written at first, what then, and into what."""

    name: str
    first: Files
    then: Files
    target: str
    """Of a folder or several files: the folder; of one file: the file."""

    def write(self, room: Path, files: Files, *, replace: bool) -> None:
        path, sources = room / self.target, [room / "input"]
        if self.name == "folder":
            output.write_folder(path, files, replace=replace, sources=sources)
        elif self.name == "one file":
            with output.open_file(path, replace=replace, sources=sources) as stream:
                for content in files.values():
                    stream.write(content)
        else:
            beside = ("b.rul",) if "b.rul" not in files else ()
            output.write_files(path, files, replace=replace, sources=sources, never_beside=beside)

    def found(self, room: Path) -> Files | None:
        """What stands at the target; None for nothing."""
        path = room / self.target
        if self.name == "one file":
            return {path.name: path.read_bytes()} if path.exists() else None
        if not path.is_dir():
            return None
        hidden = (output.LIST_NAME, "somebody.txt")
        files = {
            str(p.relative_to(path)): p.read_bytes()
            for p in path.rglob("*")
            if p.is_file()
            and p.name not in hidden
            and not p.relative_to(path).parts[0].startswith(".propagate-")
        }
        return files or None


SET_1 = _content("old", ("set.toml", "geometry/a.json", "geometry/b.json", "record.json"))
SET_2 = _content("new", ("set.toml", "geometry/a.json", "c/d.svg"))
DXF_1, DXF_2 = (_content(mark, ("b.dxf", "b.rul")) for mark in ("old", "new"))
KINDS = {
    kind.name: kind
    for kind in (
        Kind("folder", SET_1, SET_2, "out"),
        Kind("several files", DXF_1, DXF_2, "out"),
        Kind("drawing alone", DXF_1, {"b.dxf": DXF_2["b.dxf"]}, "out"),
        Kind("one file", _content("old", ("x.pdf",)), _content("new", ("x.pdf",)), "out/x.pdf"),
    )
}
INPUT = _content("input", ("set.toml", "geometry/a.json"))


def prepared(room: Path, kind: Kind, *, replace: bool) -> Files | None:
    """Make the folder of a trial, with input and what stands at first; returns the latter."""
    for name, content in INPUT.items():
        path = room / "input" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    if kind.name != "folder":
        (room / "out").mkdir()
        (room / "out" / "somebody.txt").write_bytes(b"mine")
    (room / ".propagate-mine.partial").write_bytes(b"a file of somebody's")
    if replace:
        kind.write(room, kind.first, replace=False)
    return kind.found(room)


def judged(room: Path, kind: Kind, allowed: list[Files | None]) -> str:
    """What is wrong in the folder of a trial; nothing when nothing is."""
    if kind.found(room) not in allowed:
        return f"{kind.name}: neither old nor new: {sorted(kind.found(room) or {})}"
    for name, content in INPUT.items():
        if (room / "input" / name).read_bytes() != content:
            return f"input {name} was changed"
    if sorted(p.name for p in (room / "input").rglob("*")) != ["a.json", "geometry", "set.toml"]:
        return "something was written beside the input"
    if (room / ".propagate-mine.partial").read_bytes() != b"a file of somebody's":
        return "a file of somebody's was taken away"
    if kind.name != "folder" and (room / "out" / "somebody.txt").read_bytes() != b"mine":
        return "a file beside was taken away"
    return ""


def left(room: Path) -> list[Path]:
    """Hidden folders of writes that are under way or were killed."""
    return [path for path in room.rglob(".propagate-*.partial") if path.is_dir()]


# ------------------------------------------------------------------------------ the child


def start(room: Path, kind: Kind, *, replace: bool, **how: Any) -> subprocess.Popen[str]:
    """Start a child that writes the second content of a kind."""
    words = json.dumps({"room": str(room), "kind": kind.name, "replace": replace, **how})
    return subprocess.Popen(
        [sys.executable, "-m", "tests.faults.writes", words],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
    )


def forked(room: Path, kind: Kind, *, replace: bool, **how: Any) -> int:
    """Do the same in a fork of this process, which takes no time to start; its exit status."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads, which it does not use
        child = os.fork()
    if child == 0:  # nothing of the parent's may run any more
        status = 70
        sys.stderr = io.StringIO()
        try:
            status = _run({"room": str(room), "kind": kind.name, "replace": replace, **how})
        finally:
            os._exit(status)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _run(how: dict[str, Any]) -> int:
    from propagate.errors import OutputError

    room, kind = Path(how["room"]), KINDS[how["kind"]]
    content = {name: data + how.get("mark", "").encode() for name, data in kind.then.items()}
    watch = _Watch(room, how)
    sys.addaudithook(watch)
    try:
        kind.write(room, content, replace=how["replace"])
    except OutputError as error:
        sys.stderr.write(str(error))
        return 2
    except KeyboardInterrupt:
        return 130
    return MISSED if watch.count < how.get("full", 0) else 0


class _Watch:
    """Counts what is done to files below a folder, and breaks off at one of them."""

    def __init__(self, room: Path, how: dict[str, Any]) -> None:
        self.room, self.how, self.count = str(room), how, 0

    def __call__(self, event: str, args: tuple[Any, ...]) -> None:
        if event not in _FILE_EVENTS or not str(args[0]).startswith(self.room):
            return
        self.count += 1
        if self.count == self.how.get("kill"):
            os._exit(KILLED)
        writes = event != "open" or (isinstance(args[1], str) and args[1][0] in "wxa")
        if self.count == self.how.get("full") and writes and event != "os.remove":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        time.sleep(self.how.get("slow", 0.0))


def cases() -> Iterator[tuple[Kind, bool]]:
    """Every kind of write, to a free place and in the place of an older one."""
    for kind in KINDS.values():
        for replace in (False, True):
            yield kind, replace


if __name__ == "__main__":
    sys.exit(_run(json.loads(sys.argv[1])))
