"""Compare two corpora: which files differ, and how the first of them do."""

from __future__ import annotations

import re
import zlib
from collections import Counter
from difflib import unified_diff
from itertools import takewhile
from pathlib import Path

__all__ = ["compare"]

_STREAM = re.compile(rb"stream\r?\n(.*?)\r?\nendstream", re.DOTALL)
_WIDEST = 160
_LINES = 60


def compare(old: Path, new: Path, *, shown: int = 5) -> int:
    """Print what differs; return 0 when nothing does, else 1."""
    theirs, ours = _files(old), _files(new)
    both = [name for name in theirs if name in ours]
    differ = [name for name in both if theirs[name].read_bytes() != ours[name].read_bytes()]
    lone = {
        f"only in {old}": [name for name in theirs if name not in ours],
        f"only in {new}": [name for name in ours if name not in theirs],
    }
    for head, names in {**lone, "differ": differ}.items():
        for name in names:
            print(f"{head}: {name}")
    for name in differ[:shown]:
        print(f"\n--- {old / name}\n+++ {new / name}")
        print("\n".join(_difference(theirs[name].read_bytes(), ours[name].read_bytes())))
    counts = Counter(name.partition("/")[0] for name in differ)
    groups = ", ".join(f"{group} {count}" for group, count in sorted(counts.items()))
    alone = ", ".join(f"{len(names)} {head}" for head, names in lone.items() if names)
    told = [text for text in (groups and f"{len(differ)} differ ({groups})", alone) if text]
    print(f"{len(both)} files in both: " + ("; ".join(told) or "all equal"))
    if not both:
        print("nothing was compared")
    return 1 if told or not both else 0


def _files(folder: Path) -> dict[str, Path]:
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path for path in found}


def _difference(old: bytes, new: bytes) -> list[str]:
    """A short unified diff, long lines cut to where they differ."""
    left, right = _lines(old), _lines(new)
    start = _alike(left, right)
    end = min(_alike(left[::-1], right[::-1]), min(len(left), len(right)) - start)
    left, right = (x[max(start - 1, 0) : len(x) - end + 1][:_LINES] for x in (left, right))
    column = 0
    for one, other in zip(left, right, strict=False):
        if one != other:
            column = _alike(one, other)
            break
    lines = list(unified_diff(left, right, lineterm="", n=1))[2:]
    return [f"(from line {start + 1})", *(_cut(line, column) for line in lines[:_LINES])]


def _lines(data: bytes) -> list[str]:
    """A file as lines; the streams of a PDF unpacked."""
    if data.startswith(b"%PDF"):
        data = _STREAM.sub(lambda found: _unpacked(found[1]), data)
    return data.decode("utf-8", errors="replace").split("\n")


def _unpacked(stream: bytes) -> bytes:
    try:
        return zlib.decompress(stream)
    except zlib.error:
        return stream


def _alike(one: str | list[str], other: str | list[str]) -> int:
    """How much two texts or lists share from their start."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def _cut(line: str, column: int) -> str:
    if len(line) <= _WIDEST:
        return line
    begin = max(column - 40, 0)
    return f"{line[0]}...{line[1 + begin : 1 + begin + _WIDEST]}..."
