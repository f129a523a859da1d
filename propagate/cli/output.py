"""The one place through which everything printed goes: safe to show, whoever sent the names."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from propagate.errors import OutputError
from propagate.visible import json_text, visible

__all__ = [
    "ReaderGone",
    "let_go_of_stdout",
    "open_streams",
    "say_lines",
    "say_json",
    "say_any_lines",
    "say_warning",
    "warn_missing",
]


class ReaderGone(Exception):
    """Whoever read the output went away."""


def say_lines(lines: Iterable[str]) -> None:
    """Print lines of text; what cannot be seen in them is shown by its number."""
    _write_out("\n".join(visible(line) for line in lines))


def say_any_lines(lines: Sequence[str]) -> None:
    """Print lines of text, and nothing, not even an empty line, for none."""
    if lines:
        say_lines(lines)


def say_json(value: Mapping[str, Any]) -> None:
    """Print plain JSON: keys in a fixed order, floats with six decimals at most."""
    from propagate.engine.record import as_plain

    _write_out(json_text(as_plain({"format": 1, **value})))


def say_warning(*lines: str) -> None:
    """Print lines on the error stream; nobody has to read it."""
    with contextlib.suppress(OSError):
        click.echo("\n".join(visible(line) for line in lines), err=True)


def warn_missing(missing: Sequence[str]) -> None:
    """Warn of characters that no font has."""
    if missing:
        shown = " ".join(f"{c} (U+{ord(c):04X})" for c in missing[:8])
        more = f" and {len(missing) - 8} more" if len(missing) > 8 else ""
        say_warning(
            f"warning: no font has {shown}{more}; they print as empty boxes; give a font that "
            "has them with --font"
        )


def _write_out(text: str) -> None:
    try:
        click.echo(text)
    except BrokenPipeError as error:
        raise ReaderGone from error
    except OSError as error:
        let_go_of_stdout()
        raise OutputError(
            f"the output cannot be written ({error.strerror}); make room, or give another output"
        ) from error


def open_streams() -> None:
    """Put nowhere in the place of an output that was closed before the start (``>&-``)."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            nowhere = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 - until the end
            setattr(sys, name, nowhere)


def let_go_of_stdout() -> None:
    """Keep the interpreter from complaining when it flushes at its end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
