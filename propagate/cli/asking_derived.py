"""Asking in the terminal which pieces follow another one that they were traced from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from propagate.cli.asking import write_set
from propagate.cli.options import say_lines
from propagate.cli.questions import ask_for

if TYPE_CHECKING:
    from propagate.cli.asking import Sitting

__all__ = ["ask_derived"]

_WORDS: dict[str, Literal["yes", "no"]] = {"y": "yes", "yes": "yes", "n": "no", "no": "no"}


def ask_derived(sitting: Sitting) -> None:
    """Ask of one piece after the other; a yes is written at once."""
    from propagate.errors import InvalidSet
    from propagate.io.folder import load
    from propagate.report.layout import wrap_sentence
    from propagate.report.tracing_text import tracing_lines
    from propagate.suggesting.tracing import find_tracings

    refused: set[str] = set()
    while True:
        pattern = load(sitting.path)
        found = [one for one in find_tracings(pattern) if one.derived.piece not in refused]
        if not found:
            return
        say_lines(tracing_lines(pattern, found[0], len(found)))
        said = ask_for("y yes, n no, s stop", _WORDS.get)
        if said == "stop":
            return
        refused.add(found[0].derived.piece)
        if said == "yes":
            try:
                write_set(sitting.path, found[0].put_on(pattern))
                sitting.walk_seams(found[0].walked)
            except InvalidSet as error:
                say_lines(["", *wrap_sentence(f"That cannot be written: {error}")])
