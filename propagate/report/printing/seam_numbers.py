"""Matching numbers: one for every seam, on both of its runs."""

from __future__ import annotations

from collections.abc import Collection

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.pattern.titles import name_title, piece_title
from propagate.values import dataclass

__all__ = ["SeamNumber", "numbers_on", "seam_numbers"]


@dataclass(frozen=True)
class SeamNumber:
    """A number with the two runs that carry it."""

    number: int
    title: str
    lead: Run
    follow: Run

    @property
    def spans(self) -> tuple[Span, ...]:
        """Every span that carries the number, each once."""
        return tuple(dict.fromkeys((*self.lead, *self.follow)))

    def words(self, pattern: PatternSet) -> str:
        """The seam's title and the titles of the pieces that it joins."""
        titles = dict.fromkeys(piece_title(pattern, span.piece) for span in self.spans)
        return f"{self.title}: {', '.join(titles)}"


def seam_numbers(pattern: PatternSet, pieces: Collection[str]) -> list[SeamNumber]:
    """Number the seams that concern some pieces, then the zones of their bands.

    The numbers are those of the whole set, so that a piece printed alone carries the same
    ones.
    """
    found: list[tuple[str, Run, Run]] = [
        (name_title(pattern, seam.name), seam.lead, seam.follow)
        for seam in pattern.relations.seams.values()
    ]
    for band in pattern.relations.bands.values():
        for zone in (zone for zone in band.zones if zone.run):
            title = f"{name_title(pattern, band.name)}, {name_title(pattern, zone.name, band.name)}"
            own = Span(band.piece, band.sewn, zone.begin, zone.end)
            found.append((title, zone.run, (own,)))
    numbered = [SeamNumber(i + 1, *entry) for i, entry in enumerate(found)]
    return [entry for entry in numbered if any(span.piece in pieces for span in entry.spans)]


def numbers_on(numbers: list[SeamNumber], piece: str) -> list[tuple[Span, int]]:
    """Return spans of a piece with the number that each carries."""
    return [
        (span, entry.number) for entry in numbers for span in entry.spans if span.piece == piece
    ]
