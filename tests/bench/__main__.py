"""Measure the speed of the main job: ``python -m tests.bench``.

Prints a table and never passes or fails.  Times are wall-clock medians with the
smallest and largest in brackets; processor time of this process is given beside it
where the machine may be busy with other things.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import propagate
from propagate.engine.graph import relation_graph
from tests.bench.tiling import tile


def _measure(work: Callable[[], object], runs: int) -> tuple[list[float], list[float]]:
    wall, cpu = [], []
    for _ in range(runs):
        w, c = time.perf_counter(), time.process_time()
        work()
        wall.append((time.perf_counter() - w) * 1e3)
        cpu.append((time.process_time() - c) * 1e3)
    return wall, cpu


def _line(what: str, wall: list[float], cpu: list[float] | None = None) -> None:
    text = f"{statistics.median(wall):8.1f} ms  [{min(wall):.1f} .. {max(wall):.1f}]"
    if cpu is not None:
        text += f"   processor {statistics.median(cpu):.1f}, least {min(cpu):.1f}"
    print(f"{what:<44}{text}")


def _command(*arguments: str) -> Callable[[], object]:
    return lambda: subprocess.run(
        [sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL
    )


def main() -> None:
    """Print the table."""
    path = propagate.demo_path("slant_trouser")
    pattern = propagate.load(path)
    edit = propagate.Blend({"waist": "42", "hip": "48"})
    for _ in range(5):
        propagate.blend(pattern, edit)
    print(f"slant_trouser, {len(pattern.pieces)} pieces, {len(pattern.sizes)} sizes\n")
    _line("load and check the set", *_measure(lambda: propagate.load(path), 5))
    _line("blend and propagate, warm", *_measure(lambda: propagate.blend(pattern, edit), 40))
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "out")
        command = _command(
            "-m", "propagate", "blend", str(path), "--size", "waist=42", "--size", "hip=48",
            "-o", out, "--replace",
        )  # fmt: skip
        _line("cold command: blend, written to disk", _measure(command, 5)[0])
    bare = _measure(_command("-c", "import click"), 15)[0]
    helped = _measure(_command("-m", "propagate", "--help"), 15)[0]
    _line("bare Python importing click", bare)
    _line("propagate --help", helped)
    ratio = statistics.median(helped) / statistics.median(bare)
    print(f"{'':<44}{ratio:8.2f} times bare Python importing click\n")
    for copies in (1, 10, 100, 1000):
        tiled = tile(pattern, copies)
        start = time.perf_counter()
        relation_graph(tiled)
        built = (time.perf_counter() - start) * 1e3
        propagate.blend(tiled, edit)
        wall, cpu = _measure(lambda tiled=tiled: propagate.blend(tiled, edit), 10)
        _line(f"{copies:>5} copies, one edit (graph once {built:.0f} ms)", wall, cpu)


if __name__ == "__main__":
    main()
