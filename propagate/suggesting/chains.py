"""Which ends of edges come to lie on each other once the likely relations are sewn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from propagate.pattern.relations import Run, Seam, Span
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Proposal
from propagate.suggesting.rows import Joint

if TYPE_CHECKING:
    import networkx as nx


__all__ = ["Meeting", "Place", "place"]

Place = tuple[str, str | int]
"""A piece with the number of a corner, or with a landmark."""


class Meeting:
    """Places that meet: corners and landmarks, joined by openings and seams."""

    def __init__(self, nest: Nest, joints: Iterable[Joint], seams: Sequence[Proposal]) -> None:
        self._nest = nest
        import networkx as nx  # takes longer to load than most edits take

        self._met: nx.utils.UnionFind[Place] = nx.utils.UnionFind()
        self._parts: set[tuple[str, str, frozenset[str]]] = set()
        for joint in joints:
            a = self.place(joint.first, at_begin=False)
            b = self.place(joint.second, at_begin=True)
            self._met.union(a, b)
            self._parts |= {_key_part(joint.first), _key_part(joint.second)}
        for proposal in seams:
            for seam in proposal.relations:
                if isinstance(seam, Seam) and seam.follow:
                    for first in (True, False):
                        self._met.union(self._end(seam.lead, first), self._end(seam.follow, first))

    def _end(self, run: Run, first: bool) -> Place:
        return self.place(run[0 if first else -1], at_begin=first)

    def place(self, span: Span, *, at_begin: bool) -> Place:
        """The corner or landmark at an end of a span."""
        return place(self._nest, span, at_begin=at_begin)

    def closed(self, run: Run) -> bool:
        """Every span is a whole edge, or the part that a joint leaves of it."""
        return all({s.begin, s.end} == {"start", "end"} or _key_part(s) in self._parts for s in run)

    def meet(self, before: Span, after: Span) -> bool:
        """Tell whether one span ends where the other begins."""
        a, b = self.place(before, at_begin=False), self.place(after, at_begin=True)
        return bool(self._met[a] == self._met[b])


def _key_part(span: Span) -> tuple[str, str, frozenset[str]]:
    return span.piece, span.edge, frozenset((span.begin, span.end))


def place(nest: Nest, span: Span, *, at_begin: bool) -> Place:
    """The corner or landmark at an end of a span."""
    mark = span.begin if at_begin else span.end
    if mark not in ("start", "end"):
        return span.piece, mark
    names = nest.outline_names(span.piece)
    index = names.index(span.edge)
    return span.piece, (index - 1) % len(names) if mark == "start" else index
