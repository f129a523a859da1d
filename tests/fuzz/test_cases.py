"""What was found once is not found again: every kept case is tried."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fuzz import bases, worker
from tests.fuzz.jobs import Job
from tests.fuzz.text import change_files
from tests.fuzz.tree import change_tree

CASES = sorted((Path(__file__).parent / "cases").glob("*.json"))


@pytest.fixture(autouse=True)
def _stopped_in_time() -> Iterator[None]:
    before = signal.signal(signal.SIGPROF, worker.raise_too_long)
    yield
    signal.signal(signal.SIGPROF, before)


def test_there_are_cases() -> None:
    assert CASES


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_kept_case_ends_well(path: Path) -> None:
    job = Job.read(path)
    assert job.what
    ended = worker.try_within(job)
    assert ended.how in ("done", "refused"), ended.trace


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_kept_case_is_still_the_one_that_was_found(path: Path) -> None:
    """Its changes can be made: the base did not move away under it."""
    job = Job.read(path)
    if job.kind in ("set", "edit"):
        document = bases.document(job.base)
        document["sent"] = dict(document["geometry"])
        changes = [change for change in job.changes if change[0] not in ("raw", "sent")]
        assert change_tree(document, changes) == len(changes)
    if job.kind == "drawing" and not job.files:
        sound = bases.drawing(job.base)
        assert all(change_files(sound, [change]) != sound for change in job.changes)
