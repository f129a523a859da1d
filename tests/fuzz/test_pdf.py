"""A part of the damaged PDF files that ``python -m tests.fuzz.pdf`` tries without end."""

from __future__ import annotations

import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.examples import part_of
from tests.fuzz.pdf import bases, damaged, try_file
from tests.fuzz.worker import SECONDS, raise_too_long

BATCH = 100


@pytest.fixture(autouse=True)
def _stopped_in_time() -> Iterator[None]:
    before = signal.signal(signal.SIGPROF, raise_too_long)
    yield
    signal.setitimer(signal.ITIMER_PROF, 0)
    signal.signal(signal.SIGPROF, before)


@pytest.mark.parametrize("first", part_of(range(1, 1201, BATCH), 3))
def test_damaged_files_are_read_or_refused(first: int, tmp_path: Path) -> None:
    ended: Counter[str] = Counter()
    for seed in range(first, first + BATCH):
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        ended[try_file(damaged(seed), tmp_path)] += 1
    assert ended["done"] > 10 and ended["refused"] > 10


def test_files_that_nobody_damaged_are_read(tmp_path: Path) -> None:
    assert [try_file(data, tmp_path) for data in bases()] == ["done"] * len(bases())
    assert damaged(7) == damaged(7)
