"""Edges that a recognised garment has and leaves free, or sews to others.

The hems of a front and a back are as long as each other in every size; a shirt is known without a
seam of the two.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from propagate.pattern.relations import Run
from propagate.suggesting.copies import Likeness, say_of_first
from propagate.suggesting.garments import Garment
from propagate.suggesting.proposal import Proposal, rank_proposals

__all__ = ["hold_unknown"]

STRANGE = -2.0
"""What a garment, two seams of which fit, is known without."""


def hold_unknown(
    found: Iterable[Proposal], garments: Iterable[Garment], copies: Mapping[str, Likeness]
) -> list[Proposal]:
    """Hold back what joins edges that a garment knows and does not sew to each other in any way."""
    edges = [_Edges(garment, copies) for garment in garments]
    held = []
    for one in found:
        for known in edges:
            if any(known.are_strange(one.runs[0], run) for run in one.runs[1:]):
                words = f"{known.name} is known without such a {one.kind}"
                one = one.hold_back(words, STRANGE if known.sure else 0.0)
        held.append(one)
    return rank_proposals(held)


class _Edges:
    """Which edges of a garment are known, and which of them it may sew to each other."""

    def __init__(self, garment: Garment, copies: Mapping[str, Likeness]) -> None:
        self.name, self._copies = garment.kind.name, copies
        self.sure = sum(1 for fit in garment.fits if fit.follow) > 1
        self._known = {
            f"{cast.piece}.{name}": (role, edge)
            for role, cast in garment.cast.items()
            for edge, side in cast.sides.items()
            for name in side.edges
        }
        self._sewn = {
            frozenset([(a.piece, a.edge), (b.piece, b.edge)])
            for join in garment.kind.joins
            for a in join.lead
            for b in join.follow
        }

    def are_strange(self, lead: Run, follow: Run) -> bool:
        """Whether all edges of two runs are known, and no join sews one of them to the other."""
        sides = [self._name_edges(run) for run in (lead, follow)]
        if not all(sides):
            return False
        return not any(frozenset([a, b]) in self._sewn for a in sides[0] for b in sides[1])

    def _name_edges(self, run: Run) -> Sequence[tuple[str, str]]:
        """The edges of a run by their roles; none where one has no role."""
        firsts = [say_of_first((span,), self._copies)[0] for span in run]
        told = [
            self._known.get(own.key, self._known.get(first.key))
            for own, first in zip(run, firsts, strict=True)
        ]
        found = [edge for edge in told if edge is not None]
        return found if len(found) == len(told) else ()
