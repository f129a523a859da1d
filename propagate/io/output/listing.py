"""The list of what was written into a folder, as checksums.

It has the form that ``sha256sum`` of GNU coreutils writes, so that anybody can check it:
``sha256sum -c .written-by-propagate``.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping
from pathlib import Path

from propagate.errors import OutputError

__all__ = ["LIST_NAME", "digest_of", "read_list", "parse_list", "read_digest", "render_list"]

LIST_NAME = ".written-by-propagate"
_LINE = re.compile(r"(\\?)([0-9a-f]{64}) [ *](.+)")
_ESCAPES = {"\\": "\\\\", "\n": "\\n", "\r": "\\r"}
_LARGEST = 1 << 24
"""Bytes; a longer list is not one of ours."""


def digest_of(content: bytes) -> str:
    """SHA-256 of bytes, in hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def read_digest(path: Path) -> str:
    """SHA-256 of a file, in hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def render_list(digests: Mapping[str, str]) -> bytes:
    """Return the list of files (name to digest), in the order of their names."""
    lines = []
    for name in sorted(digests):
        safe = "".join(_ESCAPES.get(letter, letter) for letter in name)
        lines.append(f"{'' if safe == name else chr(92)}{digests[name]}  {safe}\n")
    return os.fsencode("".join(lines))


def parse_list(content: bytes) -> dict[str, str] | None:
    """Return the files of a list; None when it is not one."""
    found: dict[str, str] = {}
    for line in os.fsdecode(content).split("\n")[:-1]:
        match = _LINE.fullmatch(line)
        if match is None:
            return None
        name = match[3]
        if match[1]:
            name = re.sub(r"\\(.)", lambda m: {"n": "\n", "r": "\r"}.get(m[1], m[1]), name)
        found[name] = match[2]
    return found if content.endswith(b"\n") or not content else None


def read_list(folder: Path) -> dict[str, str] | None:
    """Return what the list of a folder says; None when it holds none.

    Raises
    ------
    OutputError
        What has its name is no list.
    """
    path = folder / LIST_NAME
    if not os.path.lexists(path):
        return None
    found = None
    if path.is_file() and not path.is_symlink() and path.stat().st_size <= _LARGEST:
        found = parse_list(path.read_bytes())
    if found is None:
        raise OutputError(
            f"'{path}' is not the list of written files that this program keeps there; "
            "move it away, or choose another folder"
        )
    return found
