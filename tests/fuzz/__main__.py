"""Try inputs that were changed at random: ``python -m tests.fuzz --minutes 5 --seed 1``.

Sets, drawings, rule files, edits and command lines are changed with knowledge of what they
hold (see DEVELOPERS.md).  A case that is found is made small and kept in ``tests/fuzz/cases``,
one for each place that it comes from; the figures are printed at the end.  The exit status is
the number of places.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import re
import signal
import sys
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from tests.fuzz.choose import choose_job
from tests.fuzz.worker import limit_memory, rows_of_workers, shrink, try_within

CASES = Path(__file__).parent / "cases"


def main(arguments: list[str]) -> int:
    """Try jobs until the time or the count is over; returns how many places failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1, help="the first one")
    parser.add_argument("--count", type=int, default=10**9, help="inputs to try at most")
    parser.add_argument("--keep", type=Path, default=CASES, help="folder for what is found")
    parser.add_argument("--work", action="store_true", help=argparse.SUPPRESS)
    chosen = parser.parse_args(arguments)
    if chosen.work:
        return _work(chosen)
    figures = Figures()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # in the background it is ignored
    with contextlib.suppress(KeyboardInterrupt):  # by hand: the figures so far
        for row in _rows(chosen):
            figures.add(row)
    print("\n".join(figures.lines()))
    return min(len(figures.places), 100)


class Figures:
    """What came of it."""

    def __init__(self) -> None:
        self.ended: Counter[tuple[str, str]] = Counter()
        self.places: Counter[str] = Counter()
        self.first: dict[str, int] = {}
        self.slowest: list[tuple[float, int]] = []
        self.largest: list[tuple[float, int]] = []
        self.seconds = 0.0

    def add(self, row: dict[str, Any]) -> None:
        """Count one job."""
        self.ended[row["kind"], row["how"]] += 1
        if row["how"] == "found":
            if row["where"] not in self.first:
                print(f"seed {row['seed']}: {row['where']}\n{row['trace']}", flush=True)
            self.places[row["where"]] += 1
            self.first.setdefault(row["where"], row["seed"])
        self.seconds += row["seconds"]
        self.slowest = sorted([*self.slowest, (row["seconds"], row["seed"])])[-3:]
        self.largest = sorted([*self.largest, (row["megabytes"], row["seed"])])[-3:]

    def lines(self) -> list[str]:
        """The figures in words."""
        count = self.ended.total()
        lines = [f"{count} inputs, {self.seconds:.0f} s of processor time"]
        for kind in sorted({kind for kind, _ in self.ended}):
            ends = ", ".join(f"{self.ended[kind, h]} {h}" for h in ("done", "refused", "found"))
            lines.append(f"  {kind:<10}{ends}")
        slow = ", ".join(f"{s:.1f} s (seed {seed})" for s, seed in reversed(self.slowest))
        large = ", ".join(f"{mb:.0f} MB (seed {seed})" for mb, seed in reversed(self.largest))
        lines += [f"slowest: {slow}", f"largest: {large}", f"{len(self.places)} places failed"]
        for where, times in self.places.most_common():
            lines.append(f"  {times:>5} times, first seed {self.first[where]}: {where}")
        return lines


def _rows(chosen: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """The rows of workers; where one was ended, that is what was found."""
    last, end = chosen.seed + chosen.count, time.monotonic() + 60 * chosen.minutes

    def words(seed: int) -> list[str] | None:
        left = (end - time.monotonic()) / 60
        told = [f"--minutes={left}", f"--seed={seed}", f"--count={last - seed}"]
        return [*told, f"--keep={chosen.keep}"] if left > 0 else None

    for row in rows_of_workers("tests.fuzz", chosen.seed, last, words):
        if "ended" not in row:
            yield row
            continue
        where = f"the process was ended ({row['ended']})"
        yield {
            "seed": row["seed"], "kind": choose_job(row["seed"]).kind, "how": "found",
            "where": where, "trace": "", "seconds": 0.0, "megabytes": 0.0,
        }  # fmt: skip


def _work(chosen: argparse.Namespace) -> int:
    """Try jobs in this process, a line of JSON for each."""
    warnings.simplefilter("error")
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # stopped by hand, without a word
    limit_memory()
    out, known = sys.stdout, set()
    sys.stdout = sys.stderr
    end = time.monotonic() + 60 * chosen.minutes
    for seed in range(chosen.seed, chosen.seed + chosen.count):
        if time.monotonic() >= end:
            break
        job = choose_job(seed)
        ended = try_within(job)
        print(json.dumps({"seed": seed, "kind": job.kind, **asdict(ended)}), file=out, flush=True)
        if ended.how == "found" and ended.where not in known:
            known.add(ended.where)
            _keep(replace(shrink(job, ended.where), what=ended.where), chosen.keep)
    return 0


def _keep(job: Any, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    name = re.sub(r"\W+", "_", job.what).strip("_").lower()[:80]
    (folder / f"{name}.json").write_text(job.text(), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
