"""Cut a line of text into runs of one direction, in the order in which they are read on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bidi import algorithm

__all__ = ["DirectedRun", "directed_runs"]


@dataclass(frozen=True)
class DirectedRun:
    """Characters of one direction, in the order of speech."""

    text: str
    right_to_left: bool


def directed_runs(text: str) -> list[DirectedRun]:
    """Return the runs of a line from left to right as they appear on paper.

    Levels are those of the Unicode bidirectional algorithm (Unicode Standard Annex 9); the
    direction of the line is that of its first strong character.
    """
    if text.isascii():
        return [DirectedRun(text, False)] if text else []
    runs: list[tuple[int, str]] = []
    for char, level in _levels(text):
        if runs and runs[-1][0] == level:
            runs[-1] = (level, runs[-1][1] + char)
        else:
            runs.append((level, char))
    ordered = _reordered(runs)
    return [DirectedRun(chars, level % 2 == 1) for level, chars in ordered]


def _levels(text: str) -> list[tuple[str, int]]:
    storage: dict[str, Any] = algorithm.get_empty_storage()
    base = algorithm.get_base_level(text)
    storage["base_level"] = base
    storage["base_dir"] = ("L", "R")[base]
    algorithm.get_embedding_levels(text, storage)
    algorithm.explicit_embed_and_overrides(storage)
    algorithm.resolve_weak_types(storage)
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    return [(char["ch"], char["level"]) for char in storage["chars"]]


def _reordered(runs: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Rule L2: from the highest level down to the lowest odd one, reverse what is above it."""
    runs = list(runs)
    levels = [level for level, _ in runs]
    for level in range(max(levels, default=0), 0, -1):
        first = 0
        while first < len(runs):
            last = first
            while last < len(runs) and runs[last][0] >= level:
                last += 1
            runs[first:last] = runs[first:last][::-1]
            first = last + 1
    return runs
