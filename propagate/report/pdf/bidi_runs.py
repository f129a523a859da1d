"""Cut a line of text into runs of one direction, in the order in which they are read on paper."""

from __future__ import annotations

import unicodedata
from typing import Any

from bidi import algorithm
from bidi.mirror import MIRRORED

from propagate.values import dataclass

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
    for char, level in _find_levels(text):
        if runs and runs[-1][0] == level:
            runs[-1] = (level, runs[-1][1] + char)
        else:
            runs.append((level, char))
    ordered = _reorder_runs(runs)
    return [DirectedRun(chars, level % 2 == 1) for level, chars in ordered]


def _find_levels(text: str) -> list[tuple[str, int]]:
    storage: dict[str, Any] = algorithm.get_empty_storage()
    base = algorithm.get_base_level(text)
    storage["base_level"] = base
    storage["base_dir"] = ("L", "R")[base]
    algorithm.get_embedding_levels(text, storage)
    for char in storage["chars"]:
        if not char["type"]:  # not in the Unicode version that Python knows
            char["type"] = char["orig"] = "L"
    algorithm.explicit_embed_and_overrides(storage)
    algorithm.resolve_weak_types(storage)
    for run in storage["runs"]:
        first = run["start"]
        _resolve_brackets(storage["chars"][first : first + run["length"]], run["sor"])
    algorithm.resolve_neutral_types(storage, False)
    algorithm.resolve_implicit_levels(storage, False)
    return [(char["ch"], char["level"]) for char in storage["chars"]]


def _resolve_brackets(chars: list[dict[str, Any]], before: str) -> None:
    """Give brackets the direction of what they enclose, or of what goes before (rule N0).

    Parameters
    ----------
    chars : list
        The characters of a run of one level, changed in place.
    before : "L" or "R"
        Direction at the start of the run.
    """
    if not chars:
        return
    own = "LR"[chars[0]["level"] % 2]
    for first, last in _pair_brackets(chars):
        inside = {_find_direction(char) for char in chars[first + 1 : last]} - {None}
        if not inside:
            continue
        direction = own
        if own not in inside:
            leading = (_find_direction(char) for char in reversed(chars[:first]))
            context = next((found for found in leading if found), before)
            direction = context if context != own else own
        chars[first]["type"] = chars[last]["type"] = direction


def _pair_brackets(chars: list[dict[str, Any]]) -> list[tuple[int, int]]:
    """Return brackets that belong together, in the order in which they open."""
    found: list[tuple[int, int]] = []
    opened: list[tuple[str, int]] = []
    for i, char in enumerate(chars):
        if char["type"] != "ON":
            continue
        kind = unicodedata.category(char["ch"])
        if kind == "Ps" and char["ch"] in MIRRORED:
            opened.append((MIRRORED[char["ch"]], i))
        elif kind == "Pe":
            matches = [k for k, (closing, _) in enumerate(opened) if closing == char["ch"]]
            if matches:
                found.append((opened[matches[-1]][1], i))
                del opened[matches[-1] :]
    return sorted(found)


def _find_direction(char: dict[str, Any]) -> str | None:
    """Return direction of a character; numbers count as written to the left."""
    kind = char["type"]
    return kind if kind in ("L", "R") else "R" if kind in ("EN", "AN") else None


def _reorder_runs(runs: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """Reverse what is above each level, from the highest down to the lowest odd one (rule L2)."""
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
