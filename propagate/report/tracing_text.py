"""What is asked of a piece that lies on another as if traced from it, in words."""

from __future__ import annotations

from collections.abc import Iterable

from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, list_words, name_title, piece_title
from propagate.report.layout import lay_entries, wrap_sentence
from propagate.report.units import MILLIMETRES
from propagate.suggesting.tracing import Tracing

__all__ = ["tracing_lines"]


def tracing_lines(pattern: PatternSet, found: Tracing, left: int) -> list[str]:
    """Lay out the question at 80 columns, with what was measured."""
    derived = found.derived
    title, main = piece_title(pattern, derived.piece), piece_title(pattern, derived.of)

    def say(names: Iterable[str], piece: str) -> str:
        return list_words([in_sentence(name_title(pattern, name, piece)) for name in names])

    lies = (
        f"{say(found.on, derived.piece)}, within {MILLIMETRES.said(found.apart)} in all "
        f"{len(pattern.sizes)} sizes{', face down' if derived.face_down else ''}"
    )
    entries = [("lies on it", lies)]
    for one in derived.edges:
        if one.edge in found.widths:
            own, line = say([one.edge], derived.piece), say([one.on], derived.of)
            entries.append(
                ("parallel", f"{own}, {MILLIMETRES.said(found.widths[one.edge])} inside of {line}")
            )
    if found.free:
        entries.append(("as drawn", f"{say(found.free, derived.piece)}, turned with its ends"))
    head = f"{title} ({left} left). Is it traced from {in_sentence(main)}, and does it follow it?"
    return ["", *wrap_sentence(head), *lay_entries(entries)]
