"""Tell how far a long task is, once it has taken two seconds."""

from __future__ import annotations

import sys
import time

from propagate.visible import visible

__all__ = ["Progress"]

_AFTER_S = 2.0
_EVERY_S = 1.0


class Progress:
    """Writes to the error stream: one line that changes on a terminal, else new lines.

    Call it with what is done, how much of it, and how much there is (0 when unknown).
    """

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._next = self._start + _AFTER_S
        self._shown = False

    def __call__(self, what: str, done: int, total: int) -> None:
        """Note progress; it is shown once a second at most."""
        now = time.monotonic()
        if now < self._next:
            return
        self._next = now + _EVERY_S
        text = visible(f"{what}: {done} of {total}" if total else f"{what}: {done}")
        if sys.stderr.isatty():
            sys.stderr.write(f"\r{text:<60}")
            self._shown = True
        else:
            sys.stderr.write(f"{text}\n")
        sys.stderr.flush()

    def end(self) -> None:
        """Take the line away again."""
        if self._shown:
            sys.stderr.write(f"\r{'':<60}\r")
            sys.stderr.flush()
