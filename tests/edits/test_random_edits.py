"""Random edits, and pairs of them, on every demo set; see `tests.edits.random_edits`."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate.engine.edits.kinds import EDITS
from tests.edits.random_edits import (
    SETS,
    drawn_lot,
    edit_of,
    sound,
    tried,
    wrong_in_order,
    wrong_on_disk,
    wrong_undone,
    wrong_with,
)
from tests.examples import examples

MENDED = [
    # Lowered at the side, the back's hem went along at one end; raised again it sank as a whole.
    ("puddle_pinafore", "lower edge=front.hem by=1.1mm at=end to=start taper=straight"),
    ("puddle_pinafore", "lower edge=front.hem by=6mm at=end to=start taper=smooth"),
    # A notch on the far side of a strip lay 0.011 mm beside it, and the set was refused.
    ("market_bag", "let-out edge=front.left by=5.4mm at=end to=upper both=true"),
]
"""What long runs found, and is mended."""


@pytest.mark.parametrize("name", SETS)
@examples(3, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_whatever_is_edited_sews_or_is_told_and_goes_back(name: str, seed: int) -> None:
    counts: Counter[str] = Counter()
    assert tried(name, seed, disk=seed % 3 == 0, counts=counts) == []


@pytest.mark.parametrize(("name", "words"), MENDED)
def test_what_was_found_stays_mended(name: str, words: str) -> None:
    old = sound(name)
    result = propagate.run(old, edit_of(words.split()), corners="left")
    assert wrong_with(old, result, words.split(), old) == []
    assert wrong_undone(old, result, words.split()) == []
    assert wrong_on_disk(result) == []


def test_the_lots_are_of_every_kind_and_most_can_be_done() -> None:
    """Else the property above would hold of nothing."""
    counts: Counter[str] = Counter()
    for seed in range(200):
        words = drawn_lot(sound("slant_trouser"), random.Random(seed))
        counts[words[0]] += 1
    drawn = {word for word, kind in EDITS.items() if not kind.load().every_size}
    assert drawn - set(counts) == set(), "give it a lot in tests/edits/random_edits.py"


def test_a_fault_would_be_seen() -> None:
    """A set that comes back otherwise than it was, and one that is off, are told."""
    old = sound("slant_trouser")
    words = ["let-out", "edge=full_front.side", "by=5mm", "both=true"]
    result = propagate.run(old, edit_of(words), corners="left")
    other = propagate.run(
        old, edit_of(["let-out", "edge=full_front.side", "by=6mm", "both=true"]), corners="left"
    )
    assert wrong_undone(old, result, words) == []
    assert wrong_undone(old, other, words)
    off = propagate.run(old, edit_of(["let-out", "edge=back.side", "by=5mm"]), corners="left")
    crossed = propagate.Result(off.pattern, result.record)
    assert wrong_with(old, crossed, words, old)
    assert wrong_in_order(old, ["lower", "edge=back.hem", "by=5mm"], words) == []
