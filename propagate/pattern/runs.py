"""Spans and runs: what of an edge is sewn, and in which direction."""

from __future__ import annotations

from propagate.errors import FormatError
from propagate.values import dataclass

__all__ = ["Run", "Span", "parse_run", "parse_span", "run_words"]


@dataclass(frozen=True)
class Span:
    """An edge, or the part of it between two landmarks, with a direction.

    Written ``PIECE.EDGE [from LANDMARK] [to LANDMARK] [reversed]``.  ``start`` and
    ``end`` are the edge's own ends.  When `begin` comes after `end` along the edge
    the span runs against the outline.
    """

    piece: str
    edge: str
    begin: str = "start"
    end: str = "end"

    def __str__(self) -> str:
        text = f"{self.piece}.{self.edge}"
        if (self.begin, self.end) == ("start", "end"):
            return text
        if (self.begin, self.end) == ("end", "start"):
            return f"{text} reversed"
        return f"{text} from {self.begin} to {self.end}"

    @property
    def key(self) -> str:
        """``PIECE.EDGE``, the node of the span in the relation graph."""
        return f"{self.piece}.{self.edge}"


Run = tuple[Span, ...]


def run_words(run: Run) -> str:
    """A run as it is written."""
    return " + ".join(str(span) for span in run)


def parse_span(text: str) -> Span:
    """Read one span; raises FormatError with the expected spelling."""
    words = text.split()
    piece, dot, edge = words[0].partition(".") if words else ("", "", "")
    rest = words[1:]
    begin, end, reverse = "start", "end", False
    while rest:
        if rest[0] == "reversed":
            reverse, rest = True, rest[1:]
        elif rest[0] in ("from", "to") and len(rest) > 1:
            if rest[0] == "from":
                begin = rest[1]
            else:
                end = rest[1]
            rest = rest[2:]
        else:
            break
    if rest or not (piece and dot and edge) or "." in edge:
        raise FormatError(
            f"span '{text}' cannot be read; "
            "expected 'PIECE.EDGE [from LANDMARK] [to LANDMARK] [reversed]'"
        )
    if reverse:
        begin, end = ("end" if begin == "start" else begin), ("start" if end == "end" else end)
    return Span(piece, edge, begin, end)


def parse_run(texts: str | list[str]) -> Run:
    """Read a run: one span or several, sewn as one continuous line."""
    return tuple(parse_span(text) for text in ([texts] if isinstance(texts, str) else texts))
