"""A job: an input, the changes made to it, and what is done with it; JSON throughout."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

__all__ = ["Job"]

Json = Any


@dataclass(frozen=True)
class Job:
    """One trial.

    Attributes
    ----------
    kind : "set", "drawing", "edit" or "command"
    base : str
        The sound input, see `tests.fuzz.bases`; empty where `files` are given.
    changes : list
        Made to the input one after the other, see `tests.fuzz.tree` and `tests.fuzz.text`.
        Any of them may be left out, which is how a case is made small.
    steps : list of [name, value]
        What is done with the input, see `tests.fuzz.trial`.
    files : mapping of file name to content
        Of a drawing that was made small itself; bytes as latin-1 text.
    what : str
        What a kept case is, in one line.
    """

    kind: str
    base: str
    changes: list[Json] = field(default_factory=list)
    steps: list[Json] = field(default_factory=list)
    files: dict[str, str] = field(default_factory=dict)
    what: str = ""

    def text(self) -> str:
        """The job as the text of a kept case."""
        values = {"what": self.what}
        values |= {f.name: getattr(self, f.name) for f in fields(self) if getattr(self, f.name)}
        return json.dumps(values, indent=1) + "\n"

    @staticmethod
    def read(path: Path) -> Job:
        """Read a kept case."""
        return Job(**json.loads(path.read_text(encoding="utf-8")))
