"""Write one file as a stream: complete or absent, nothing overwritten unasked."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from propagate.errors import OutputError

__all__ = ["open_target"]


@contextmanager
def open_target(path: str | Path, *, replace: bool = False) -> Iterator[BinaryIO]:
    """Open a file to write; it takes its name when the block ends without an error.

    Until then it lies beside the target under a hidden name, and goes away when anything
    interrupts the block.

    Raises
    ------
    OutputError
        The target exists and is not to be replaced, or cannot be written.
    """
    target = Path(path)
    _check(target, replace=replace)
    partial = target.with_name(f".{target.name[:100]}.{secrets.token_hex(4)}.partial")
    try:
        with partial.open("xb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        partial.replace(target)
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        reason = error.strerror or str(error)
        raise OutputError(
            f"'{target}' cannot be written ({reason}); nothing was changed; "
            "choose another file or make room"
        ) from error
    finally:
        with contextlib.suppress(OSError):
            partial.unlink(missing_ok=True)


def _check(target: Path, *, replace: bool) -> None:
    if not target.name or target.is_dir():
        raise OutputError(f"'{target}' is a folder, expected a file; name a file inside it")
    if not target.absolute().parent.is_dir():
        raise OutputError(f"'{target.absolute().parent}' is not a folder; make it first")
    if target.exists() and not target.is_file():
        raise OutputError(f"'{target}' is no ordinary file; choose another name")
    if target.exists() and not replace:
        raise OutputError(
            f"'{target}' exists already and was left as it is; "
            "choose another name, or replace it with --replace"
        )
