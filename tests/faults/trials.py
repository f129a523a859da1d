"""Trials in which a write is broken off; each returns what it saw, or raises."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from propagate.errors import OutputError
from propagate.io.output import write_files
from tests.faults.writes import (
    KILLED,
    KINDS,
    MISSED,
    Files,
    Kind,
    forked,
    judged,
    left,
    prepared,
    start,
)

Seen = dict[str, int]


class Fault(AssertionError):
    """A trial that ended as it must not."""


@contextmanager
def room() -> Iterator[Path]:
    """An empty folder."""
    memory = Path("/dev/shm")  # where nothing waits for a disk
    with tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as folder:
        yield Path(folder).resolve()


def _check(place: Path, kind: Kind, allowed: list[Files | None], what: str) -> None:
    wrong = judged(place, kind, allowed)
    if wrong:
        raise Fault(f"{what}: {wrong}")


def _next_run(place: Path, kind: Kind, what: str) -> None:
    """The next write there succeeds and takes away what was left."""
    kind.write(place, kind.then, replace=True)
    _check(place, kind, [kind.then], f"{what}, then the next run")
    if left(place):
        raise Fault(f"{what}: {left(place)} is left after the next run")


def _next_run_elsewhere(place: Path, kind: Kind, old: Files | None, what: str) -> None:
    """A write of something else into the same folder puts things right as well."""
    write_files(place if kind.name == "folder" else place / "out", {"else.svg": b"<svg/>"})
    path = place / ("else.svg" if kind.name == "folder" else "out/else.svg")
    path.unlink()
    _check(place, kind, [old, kind.then], f"{what}, then another run")
    if left(place):
        raise Fault(f"{what}: {left(place)} is left after another run")


def killed_everywhere(kind: Kind, replace: bool, step: int = 1) -> Seen:
    """Kill a write before each of its file operations in turn."""
    seen = {"killed": 0, "old": 0, "new": 0, "put right by the next run": 0}
    at = 1
    while True:
        what = f"{kind.name}, replace {replace}, killed before operation {at}"
        with room() as place:
            old = prepared(place, kind, replace=replace)
            status = forked(place, kind, replace=replace, kill=at)
            if status == 0:
                return seen
            if status != KILLED:
                raise Fault(f"{what}: exit status {status}")
            seen["killed"] += 1
            whole = not judged(place, kind, [old, kind.then])
            seen["put right by the next run"] += not whole
            if whole:
                seen["new" if kind.found(place) == kind.then else "old"] += 1
            if at % 2:
                _next_run_elsewhere(place, kind, old, what)
            _next_run(place, kind, what)
        at += step


def full_everywhere(kind: Kind, replace: bool) -> Seen:
    """Let each file operation in turn fail for want of room: refused in words, or done."""
    seen = {"refused": 0, "done all the same": 0}
    for at in range(1, 400):
        what = f"{kind.name}, replace {replace}, no room at operation {at}"
        with room() as place:
            old = prepared(place, kind, replace=replace)
            status = forked(place, kind, replace=replace, full=at)
            if status == MISSED:
                return seen
            if status not in (0, 2):
                raise Fault(f"{what}: exit status {status}")
            _check(place, kind, [old] if status else [kind.then], what)
            if status and left(place):
                raise Fault(f"{what}: {left(place)} is left")
            seen["refused" if status else "done all the same"] += 1
            _next_run(place, kind, what)
    raise Fault(f"{kind.name}: no end")


def full_disk(kind: Kind, replace: bool) -> Seen:
    """Write on to a file system that is really full, where one can be mounted."""
    seen = {"refused": 0, "could not be mounted": 0}
    with room() as place:
        mount = ["mount", "-t", "tmpfs", "-o", "size=128k", "tmpfs", str(place)]
        try:
            mounted = subprocess.run(mount, capture_output=True, check=False).returncode == 0
        except FileNotFoundError:
            mounted = False
        if not mounted:
            return {**seen, "could not be mounted": 1}
        try:
            old = prepared(place, kind, replace=replace)
            with (place / "filler").open("wb", buffering=0) as stream:
                try:
                    while stream.write(b"0" * 4096):
                        pass
                except OSError:
                    pass
            try:
                kind.write(place, kind.then, replace=replace)
            except OutputError as error:
                seen["refused"] += 1
                if "No space left" not in str(error) or str(place) not in str(error):
                    raise Fault(f"{kind.name}: said only: {error}") from error
            else:
                raise Fault(f"{kind.name}: was written on to a full disk")
            _check(place, kind, [old], "a full disk")
            if left(place):
                raise Fault(f"{kind.name}: {left(place)} is left on a full disk")
            (place / "filler").unlink()
            _next_run(place, kind, "a full disk")
        finally:
            subprocess.run(["umount", str(place)], check=True)
    return seen


def interrupted(kind: Kind, replace: bool, times: int, seed: int) -> Seen:
    """Send SIGINT at random times."""
    seen = {"interrupted": 0, "done before": 0, "old": 0, "new": 0}
    chance = random.Random(seed)
    for count in range(times):
        what = f"{kind.name}, replace {replace}, SIGINT {count} of seed {seed}"
        with room() as place:
            old = prepared(place, kind, replace=replace)
            child = start(place, kind, replace=replace, slow=0.004)
            while child.poll() is None and not left(place):
                time.sleep(0.001)
            time.sleep(chance.random() * 0.2)
            child.send_signal(signal.SIGINT)
            _, said = child.communicate(timeout=60)
            if child.returncode not in (0, 130, -signal.SIGINT):
                raise Fault(f"{what}: exit status {child.returncode}: {said[-400:]}")
            seen["interrupted" if child.returncode else "done before"] += 1
            _next_run_elsewhere(place, kind, old, what)
            seen["new" if kind.found(place) == kind.then else "old"] += 1
            _next_run(place, kind, what)
    return seen


def two_at_once(kind: Kind, replace: bool, times: int) -> Seen:
    """Two writers of the same place: what stands in the end is whole and of one of them."""
    seen = {"pairs": 0, "both done": 0, "one refused": 0}
    for count in range(times):
        what = f"{kind.name}, replace {replace}, two at once"
        with room() as place:
            prepared(place, kind, replace=replace)
            slow = (0.0, 0.002)[count % 2]
            runs = [start(place, kind, replace=replace, slow=slow, mark=m) for m in ("1", "2")]
            said = [run.communicate(timeout=120)[1] for run in runs]
            status = sorted(run.returncode for run in runs)
            if status not in ([0, 0], [0, 2]) or (replace and status != [0, 0]):
                raise Fault(f"{what}: exit statuses {status}: {said}")
            whole = [{n: data + m for n, data in kind.then.items()} for m in (b"1", b"2")]
            _check(
                place,
                kind,
                [f for f, run in zip(whole, runs, strict=True) if not run.returncode],
                what,
            )
            if left(place):
                raise Fault(f"{what}: {left(place)} is left")
            seen["pairs"] += 1
            seen["both done" if status == [0, 0] else "one refused"] += 1
    return seen


def living_is_left_alone() -> Seen:
    """A run that writes one file long is no dead one: others do not clear its work."""
    kind = KINDS["one file"]
    with room() as place:
        prepared(place, kind, replace=True)
        child = start(place, kind, replace=True, slow=0.05)
        while child.poll() is None and not left(place):
            time.sleep(0.001)
        others = 0
        while child.poll() is None:
            write_files(place / "out", {f"{others}.svg": b""})
            others += 1
        _, said = child.communicate(timeout=60)
        if child.returncode:
            raise Fault(f"a living run was disturbed: {said}")
        for number in range(others):
            (place / "out" / f"{number}.svg").unlink()
        _check(place, kind, [kind.then], "a living run")
        return {"others meanwhile": others}
