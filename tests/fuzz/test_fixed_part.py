"""A short fixed part of what goes on without end, and proof that it finds what is there."""

from __future__ import annotations

import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.examples import part_of
from tests.fuzz import bases, trial, worker
from tests.fuzz.choose import choose_job
from tests.fuzz.jobs import Job
from tests.fuzz.judge import Unsound, judge_set

SEEDS = range(1, 41)
BATCH = 20


@pytest.fixture(autouse=True)
def _stopped_in_time() -> Iterator[None]:
    before = signal.signal(signal.SIGPROF, worker.raise_too_long)
    yield
    signal.signal(signal.SIGPROF, before)


@pytest.mark.parametrize("first", part_of(SEEDS[::BATCH], 2))
def test_changed_inputs_end_well(first: int) -> None:
    for seed in range(first, first + BATCH):
        ended = worker.try_within(choose_job(seed))
        assert ended.how in ("done", "refused"), f"seed {seed}\n{ended.trace}"


def test_a_seed_is_one_job_and_the_jobs_are_of_every_kind() -> None:
    jobs = [choose_job(seed) for seed in range(80)]
    assert [job.text() for job in jobs[:40]] == [choose_job(seed).text() for seed in range(40)]
    kinds = Counter(job.kind for job in jobs)
    assert min(kinds[kind] for kind in ("set", "drawing", "edit", "command")) > 4


@pytest.mark.parametrize("base", bases.SETS)
def test_a_set_that_nobody_changed_is_done(base: str) -> None:
    assert worker.try_within(Job("set", base)).how == "done"


@pytest.mark.parametrize("base", [name for name in bases.DRAWINGS if "trouser" not in name])
def test_a_drawing_that_nobody_changed_is_done(base: str) -> None:
    ended = worker.try_within(Job("drawing", base))
    assert ended.how == "done", ended.trace


# ------------------------------------------------------------------------ planted faults


def _sets_with_base(size: str) -> Any:
    """A planted fault: sets with this base size raise what a bug would raise."""
    words = trial.set_lines

    def broken(pattern: Any) -> list[str]:
        if pattern.base == size:
            raise IndexError("planted")
        return words(pattern)

    return broken


def test_a_planted_fault_is_found_and_made_small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trial, "set_lines", _sets_with_base("40"))
    needed = ["put", ["set", "base"], "40"]
    idle = [["put", ["set", "name"], f"name {i}"] for i in range(6)]
    job = Job("set", "tiny", [*idle[:3], needed, *idle[3:]], [["convert", "json"]])
    ended = worker.try_within(job)
    assert ended.how == "found"
    assert ended.where.startswith("IndexError in ")
    small = worker.shrink(job, ended.where)
    assert (small.changes, small.steps) == ([needed], [])
    monkeypatch.undo()
    assert worker.try_within(small).how == "done"


def test_a_drawing_is_made_small_line_by_line(monkeypatch: pytest.MonkeyPatch) -> None:
    read = trial.read_style

    def broken(paths: Any, wishes: Any) -> Any:
        if "thimble" in (paths[0] / "a.rul").read_text(encoding="latin-1"):
            raise KeyError("planted")
        return read(paths, wishes)

    monkeypatch.setattr(trial, "read_style", broken)
    job = Job("drawing", "tiny.rules", [["a.rul", 40, 40, "thimble", 1], ["a.dxf", 5, 9, "", 1]])
    small = worker.shrink(job, worker.try_within(job).where)
    assert "thimble" in small.files["a.rul"]
    assert (small.files["a.rul"].count("\n"), small.files["a.dxf"]) == (1, "")


def test_what_takes_too_long_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(_: Any) -> list[str]:
        while True:
            pass

    monkeypatch.setattr(worker, "SECONDS", 0.05)
    monkeypatch.setattr(trial, "set_lines", endless)
    assert worker.try_within(Job("set", "tiny")).where.startswith("TooLong")


def test_what_is_accepted_and_wrong_in_itself_is_found(tmp_path: Path) -> None:
    with pytest.raises(Unsound, match="not valid"):
        judge_set(_crossed(), tmp_path)


def _crossed() -> Any:
    """Front and back, the front's hem drawn across itself in the smallest size."""
    from tests.builders import tiny_set, with_edge

    points = tiny_set().sized("front", "36").edge("hem").points
    x, y = points.mean(axis=0)
    wild = [points[0], (x, y + 300), (x - 90, y + 300), (x + 90, y + 100), points[-1]]
    return with_edge(tiny_set(), "front", "36", "hem", wild)
