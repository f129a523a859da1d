"""What a drawn line is on a pattern: said by its class, else by its name."""

from __future__ import annotations

import re
from typing import Literal, get_args

from propagate.io.svg.drawing import Shape

__all__ = ["Role", "role_of", "said_name", "tail_of"]

Role = Literal[
    "edge",
    "outline",
    "cut",
    "grain",
    "notch",
    "mark",
    "dart",
    "line",
    "drill",
    "level",
    "label",
    "fold",
    "unknown",
]
"""``unknown`` lines are sorted by their geometry: rings are outlines, short lines on them
are notches, small circles inside are drill marks, everything else is an internal line."""

_BY_WORD: dict[str, Role] = {
    "grain": "grain",
    "grainline": "grain",
    "notch": "notch",
    "drill": "drill",
    "punch": "drill",
    "level": "level",
    "cutline": "cut",
    "cutting": "cut",
    "cut": "cut",
    "dart": "dart",
    "fold": "fold",
    "foldline": "fold",
}
_WORD = re.compile(r"[a-z]+")


def tail_of(name: str | None) -> str | None:
    """The last part of a dotted name: ``38.front.side`` is ``side``."""
    return None if name is None else (name.rstrip(".").rpartition(".")[2] or None)


def said_name(shape: Shape) -> str | None:
    """What a line is called: by its ``data-name``, else by the last part of its name."""
    return shape.data.get("name") or tail_of(shape.name)


def role_of(shape: Shape) -> Role:
    """The role that the class or the name says; ``unknown`` when neither does."""
    for role in get_args(Role):
        if role in shape.words:
            return role  # type: ignore[no-any-return]
    if shape.tag == "text":
        return "label"
    tail = tail_of(shape.name)
    words = _WORD.findall(tail.lower()) if tail else []
    if not words and shape.name:  # nothing but a number after the dot
        words = _WORD.findall(shape.name.lower())
    for word in words:
        role = _BY_WORD.get(word) or _BY_WORD.get(word.removesuffix("s"))
        if role == "dart" and shape.chain.curved:
            continue
        if role in ("cut", "fold", "dart") and words[0] != word:
            continue
        if role is not None:
            return role
    return "unknown"
