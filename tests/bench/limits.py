"""Measure files at the limits of the readers: ``python -m tests.bench.limits [WORD ...]``.

Each file is made in a folder of its own, read in a process of its own, and measured: seconds
by the clock and of the processor, the largest memory of the process, and how it ended.  With
words, only the files whose names hold one of them.  The aim: a report or a clear error,
within 10 seconds and 1 GB, never a traceback.  The exit code is the number of files that miss
it.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

MOST_SECONDS = 10.0
MOST_MB = 1000.0
STOP_SECONDS = 40.0
STOP_BYTES = 6_000_000_000


def read_any(path: Path) -> str:
    """Read a file as `propagate` does; says what was read."""
    if path.suffix == ".dxf":
        from propagate.io.dxf import read

        pattern, report = read(path)
        return f"read, {len(pattern.pieces)} pieces, {len(report.notes)} notes"
    if path.suffix == ".svg":
        from propagate.io.svg.read import read_drawings

        pattern, drawn = read_drawings([path])
        return f"read, {len(pattern.pieces)} pieces, {len(drawn.lines)} lines"
    if path.suffix == ".toml":
        from propagate.io.folder import load

        return f"read, {len(load(path).pieces)} pieces"

    from propagate.io.geometry_json import load_piece

    text = path.read_text(encoding="utf-8", errors="replace")
    return f"read, {len(load_piece(text, path.name).nest)} sizes"


def _read(path: Path) -> str:
    """Read a file; says how it ended."""
    from propagate.errors import PropagateError

    try:
        return read_any(path)
    except PropagateError as error:
        return f"refused: {str(error).splitlines()[0][:90]}"


def _peak() -> str:
    """Largest memory of this process, kB; that of `resource` counts its parent's too."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM"))


def _child(path: Path) -> tuple[float, float, float, str]:
    """Read in a process of its own: seconds, seconds of the processor, MB, how it ended."""
    start = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-m", "tests.bench.limits", "--read", str(path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as child:
        assert child.stdout is not None
        said = child.stdout.read()
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    seconds = time.perf_counter() - start
    lines = said.strip().splitlines() or [""]
    memory = usage.ru_maxrss
    if child.returncode == 0:
        memory = int(lines.pop())
        ended = lines[-1]
    else:
        ended = f"FAILED ({child.returncode}): {lines[-1][:110]}"
    return seconds, usage.ru_utime + usage.ru_stime, memory / 1024, ended


def main(arguments: list[str]) -> int:
    """Print the table."""
    if arguments[:1] == ["--read"]:
        resource.setrlimit(resource.RLIMIT_AS, (STOP_BYTES, STOP_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (int(STOP_SECONDS), int(STOP_SECONDS)))
        print(_read(Path(arguments[1])))
        print(_peak())
        return 0
    from tests.bench.limits_files import MAKERS

    missed = 0
    print(f"{'file':<50}{'MB':>6}{'s':>7}{'cpu s':>7}{'peak MB':>9}  end")
    for name, make in MAKERS.items():
        if arguments and not any(word in name for word in arguments):
            continue
        with tempfile.TemporaryDirectory() as folder:
            path = make(Path(folder))
            size = sum(file.stat().st_size for file in Path(folder).iterdir()) / 1e6
            seconds, cpu, memory, ended = _child(path)
        over = cpu > MOST_SECONDS or memory > MOST_MB or ended.startswith("FAILED")
        missed += over
        mark = "!" if over else " "
        print(
            f"{name:<50}{size:6.1f}{seconds:7.1f}{cpu:7.1f}{memory:9.0f}{mark} {ended}", flush=True
        )
    return missed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
