"""Titles for what the set does not have: pieces, assemblies, and what lies on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.errors import UnknownName, nearest_names
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import titled_names

__all__ = ["WAITING", "review_titles"]

WAITING = "title misspelt"
"""Of a title that an edit may have left without its mark: it is told of a set as it was written."""


def review_titles(pattern: PatternSet) -> Iterator[Finding]:
    """Find titles of what lies on no piece of the set, and those whose mark is spelt otherwise.

    A mark or a dart that an edit took away may come back: its title waits.  So an unknown mark is
    told only where the name that is most like it has no title of its own.
    """
    relations = pattern.relations
    known: dict[str, list[str]] = defaultdict(list)
    zones = (f"{band.name}.{zone.name}" for band in relations.bands.values() for zone in band.zones)
    for full in (*titled_names(pattern), *zones):
        of, _, name = full.partition(".")
        known[of].append(name)
    holders = [*pattern.pieces, *relations.assemblies, *relations.bands]
    for title in relations.titles:
        of, dot, name = title.partition(".")
        where = f"titles, '{title}'"
        if dot and of not in holders:
            yield Finding(
                "title for nothing", where, _quote_typed(str(UnknownName("piece", of, holders)))
            )
            continue
        edge, _, end = name.rpartition(".")
        is_end = end in ("start", "end") and edge in known[of]
        if dot and name not in known[of] and not is_end:
            near = nearest_names(name, known[of], 1)
            if near and f"{of}.{near[1:-1]}" not in relations.titles:
                text = (
                    f"no edge or mark '{name}' on '{of}'; did you mean {_quote_typed(near)}? "
                    "Where an edit took it away, its title waits for it"
                )
                yield Finding(WAITING, where, text, (of,) if of in pattern.pieces else ())


def _quote_typed(text: str) -> str:
    """Put what is to be typed between double quotes, in which no report says it otherwise."""
    return text.replace("'", '"')
