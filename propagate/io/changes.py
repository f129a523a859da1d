"""What was changed in files, whole lines at a time, and the files as they were before."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from difflib import SequenceMatcher

from propagate.errors import EditError
from propagate.pattern.answers import Change

__all__ = ["MOST_LETTERS", "list_changes", "put_back"]

_LINE = re.compile(r"[^\n]*\n|[^\n]+")
MOST_LETTERS = 1_000_000
"""Changes that are longer together are not kept."""


def list_changes(files: Mapping[str, tuple[bytes | None, bytes]]) -> tuple[Change, ...]:
    """Tell what differs in files, so that it can be put back.

    Parameters
    ----------
    files : mapping of name to content before and after
        None where there was no file.

    Returns
    -------
    tuple of Change
        Empty where not all of it can be told by lines: a new file, an empty one, or too much.
    """
    found: list[Change] = []
    for name, (before, after) in files.items():
        if before is None or not after:
            return ()
        try:
            found += _list_differences(name, before.decode(), after.decode())
        except UnicodeDecodeError:
            return ()
    letters = sum(len(one.before) + len(one.after) for one in found)
    return tuple(found) if letters <= MOST_LETTERS else ()


def _list_differences(name: str, before: str, after: str) -> Iterator[Change]:
    old, new = (_LINE.findall(text) for text in (before, after))
    places: list[tuple[int, int, int, int]] = []
    for tag, i, k, m, n in SequenceMatcher(None, old, new).get_opcodes():
        if tag == "equal":
            continue
        if m == n and m:  # lines that were taken out are known by the line above them
            i, m = i - 1, m - 1
        elif m == n:
            k, n = k + 1, n + 1
        if places and m < places[-1][3]:
            i, _, m, _ = places.pop()
        places.append((i, k, m, n))
    for i, k, m, n in places:
        lines = "".join(new[m:n])
        same = _find_places(lines, after)
        number = same.index(len("".join(new[:m]))) + 1
        yield Change(name, "".join(old[i:k]), lines, number, len(same))


def put_back(files: Mapping[str, bytes], changes: Iterable[Change]) -> dict[str, bytes]:
    """Return the files that were changed, as they were before; all else stays letter by letter.

    Raises
    ------
    EditError
        Some of what was written does not stand in them any more as it was.
    """
    found: dict[str, list[tuple[int, Change]]] = {}
    for one in changes:
        text = files.get(one.file, b"").decode(errors="replace")
        places = _find_places(one.after, text)
        if len(places) != one.of:
            line = next((line for line in one.after.splitlines() if line.strip()), "")
            raise EditError(
                f"'{one.file}' was changed since: expected the line '{line.strip()[:60]}' there "
                "and what follows it as it was written"
            )
        found.setdefault(one.file, []).append((places[one.number - 1], one))
    texts = {}
    for name, placed in found.items():
        text = files[name].decode()
        end = len(text)
        for start, one in sorted(placed, key=lambda pair: pair[0], reverse=True):
            if start + len(one.after) > end:
                raise EditError(f"'{name}' was changed since: two places that were written meet")
            text, end = text[:start] + one.before + text[start + len(one.after) :], start
        texts[name] = text.encode()
    return texts


def _find_places(lines: str, text: str) -> list[int]:
    """Where whole lines stand in a text."""
    places, at = [], text.find(lines)
    while at >= 0:
        ends = lines.endswith("\n") or at + len(lines) == len(text)
        if ends and (at == 0 or text[at - 1] == "\n"):
            places.append(at)
        at = text.find(lines, at + 1)
    return places
