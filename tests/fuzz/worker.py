"""Try jobs within limits of time and memory, and make the cases that are found small."""

from __future__ import annotations

import json
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import FrameType
from typing import Any

from tests.fuzz.jobs import Job
from tests.fuzz.judge import Unsound
from tests.fuzz.trial import try_job

__all__ = [
    "Ended",
    "limit_memory",
    "raise_too_long",
    "rows_of_workers",
    "shrink",
    "try_within",
]

SECONDS = 10.0
HARD_SECONDS = 30
MEMORY = 1_000_000_000


class TooLong(BaseException):
    """More processor time than a person waits for; no handler of the project catches it."""


def rows_of_workers(
    module: str, first: int, last: int, words: Callable[[int], Sequence[str] | None]
) -> Iterator[dict[str, Any]]:
    """The rows of workers; one that the system ended is followed by another.

    `words` says what a worker is told that goes on from a seed, and None when no other is wanted.
    Of the seed at which one was ended the row has that status alone, under ``ended``.
    """
    seed = first
    while seed < last and (told := words(seed)) is not None:
        with subprocess.Popen(
            [sys.executable, "-m", module, *told, "--work"], stdout=subprocess.PIPE, text=True
        ) as worker:
            assert worker.stdout is not None
            for line in worker.stdout:
                row = json.loads(line)
                seed = row["seed"] + 1
                yield row
        if worker.returncode == 0:
            return
        yield {"seed": seed, "ended": worker.returncode}
        seed += 1


@dataclass(frozen=True)
class Ended:
    """How a job ended: "done", "refused" or "found", where, and what it took."""

    how: str
    where: str = ""
    trace: str = ""
    seconds: float = 0.0
    megabytes: float = 0.0


def limit_memory() -> None:
    """Hold this process to 1 GB of addresses, and let it be stopped by its time."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    signal.signal(signal.SIGPROF, raise_too_long)


def raise_too_long(_: int, __: FrameType | None) -> None:
    """End what runs, at SIGPROF."""
    raise TooLong(f"more than {SECONDS:g} s of processor time")


def try_within(job: Job) -> Ended:
    """Try a job; everything but success and an error of the project is a found case.

    A process that does not come back from a library is ended by the system after
    HARD_SECONDS.
    """
    folder = Path(tempfile.mkdtemp(prefix="fuzz_"))
    start = time.process_time()
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (int(start) + HARD_SECONDS, hard))
    _forget_peak()
    how, where, trace = "found", "", ""
    try:
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        how = try_job(job, folder)
    except (Exception, TooLong) as error:
        where, trace = _where(error), "".join(traceback.format_exception(error))[-2500:]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        seconds, peak = time.process_time() - start, _peak()
        shutil.rmtree(folder, ignore_errors=True)
        resource.setrlimit(resource.RLIMIT_CPU, (hard, hard))
    return Ended(how, where, trace, seconds, peak)


def _where(error: BaseException) -> str:
    """What is the same for two finds of one fault: the kind of error, and who raised it."""
    if isinstance(error, Unsound):
        words = str(error).rpartition(": ")[2]
        return f"Unsound: {words}"
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if "/propagate/" in f.filename] or frames
    if isinstance(error, TooLong):
        ours = [f for f in ours if "/cli/" not in f.filename][:1] or ours
    file = ours[-1].filename.rpartition("/propagate/")[2]
    return f"{type(error).__name__} in {file}: {ours[-1].name}"


def _forget_peak() -> None:
    """Let the system count the largest memory anew."""
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")


def _peak() -> float:
    """Largest memory since it was forgotten, MB; the system gives kB."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    line = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


# -------------------------------------------------------------------------- making small


def shrink(job: Job, where: str, seconds: float = 60.0) -> Job:
    """Leave out what can be left out while the job still ends in the same place."""
    end = time.process_time() + seconds

    def fails(smaller: Job) -> bool:
        return time.process_time() < end and try_within(smaller).where == where

    steps = _fewer(job.steps, lambda s: fails(replace(job, steps=s))) if _free(job) else job.steps
    job = replace(job, steps=steps)
    job = replace(job, changes=_fewer(job.changes, lambda c: fails(replace(job, changes=c))))
    return _smaller_files(job, fails) if job.kind == "drawing" else job


def _free(job: Job) -> bool:
    """Whether steps may be left out: a command is its first step."""
    return job.kind != "command"


def _smaller_files(job: Job, fails: Callable[[Job], bool]) -> Job:
    """A drawing that was changed, with all lines gone that need not be there."""
    from tests.fuzz.bases import drawing
    from tests.fuzz.text import change_files

    files = change_files(job.files or drawing(job.base), job.changes)
    job = replace(job, base="", changes=[], files=files)
    for name in sorted(files, key=lambda n: -len(files[n])):
        parts = _parts(name, job.files[name])

        def with_parts(kept: Sequence[str], name: str = name, job: Job = job) -> Job:
            return replace(job, files={**job.files, name: "".join(kept)})

        kept = _fewer(parts, lambda found, make=with_parts: fails(make(found)))  # type: ignore[misc]
        job = with_parts(kept)
    return job


def _parts(name: str, text: str) -> list[str]:
    """Entities of a DXF; else lines."""
    lines = text.splitlines(keepends=True)
    if not name.endswith(".dxf"):
        return lines
    parts: list[str] = []
    for number in range(0, len(lines), 2):
        pair = "".join(lines[number : number + 2])
        if lines[number].strip() == "0" or not parts:
            parts.append(pair)
        else:
            parts[-1] += pair
    return parts


def _fewer(items: Sequence[Any], fails: Callable[[list[Any]], bool]) -> list[Any]:
    """Leave out ever smaller parts (delta debugging, Zeller and Hildebrandt 2002; from memory)."""
    kept = list(items)
    size = len(kept)
    while size >= 1 and kept:
        at, gone = 0, False
        while at < len(kept):
            tried = kept[:at] + kept[at + size :]
            if fails(tried):
                kept, gone = tried, True
            else:
                at += size
        size = size if gone and size == 1 and len(kept) > 1 else size // 2
    return kept
