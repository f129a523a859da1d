"""What is asked of a piece that lies on another as if traced from it, in words."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_sentence, list_words, name_title, piece_title
from propagate.report.asking_text import LETTERS, Asked
from propagate.report.units import MILLIMETRES
from propagate.suggesting.tracing import Tracing

__all__ = ["asked_of_tracing"]


def asked_of_tracing(pattern: PatternSet, found: Tracing) -> Asked:
    """Put in words what was measured of a piece that may follow another one, as a question."""
    title, main = (piece_title(pattern, name) for name in (found.derived.piece, found.derived.of))
    words = (
        f"{title}: is it traced from {in_sentence(main)}, so that it follows whatever is changed "
        "there?"
    )
    head = f"{title} and {in_sentence(main)}"
    return Asked(head, words, tuple(_say_sides(pattern, found)), (), (), (), None, False)


def _say_sides(pattern: PatternSet, found: Tracing) -> Iterator[tuple[str, str]]:
    derived = found.derived
    for letter, one in zip(LETTERS, derived.edges, strict=False):
        own = in_sentence(name_title(pattern, one.edge, derived.piece))
        line = in_sentence(name_title(pattern, one.on, derived.of))
        if one.edge in found.widths:
            yield letter, f"{own}, {MILLIMETRES.said(found.widths[one.edge])} inside of {line}"
        else:
            yield letter, f"{own}, which lies on {line}"
    apart = f"within {MILLIMETRES.said(found.apart)} in all {len(pattern.sizes)} sizes"
    yield "lies on it", f"{apart}{', face down' if derived.face_down else ''}"
    if found.free:
        free = list_words(
            [in_sentence(name_title(pattern, name, derived.piece)) for name in found.free]
        )
        yield "as drawn", f"{free}, turned with its ends"
