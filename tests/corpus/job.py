"""One job of the corpus: a command line, and what stands ready for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["Job"]


@dataclass(frozen=True)
class Job:
    """One call of the program in the workshop, a folder that holds the demo sets.

    A job writes to names that begin with ``out``; these go to the corpus afterwards.  The
    program is known to the corpus by its command line and its files alone, so that code can
    move freely below.
    """

    name: str
    """The folder of its outputs, such as ``blend/slant_trouser/42-48``."""
    words: tuple[str, ...]
    quick: bool = False
    """Whether it is one of the few that are done in a hurry."""
    keep: str = ""
    """Where its output stays in the workshop, for later jobs."""
    ready: Callable[[], object] | None = None
    """What is to be done in the workshop before."""
