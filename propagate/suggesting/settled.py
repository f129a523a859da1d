"""What a person has said already, for the next proposing: relations that hold, and that do not.

A run that is sewn is taken: nothing else is proposed for a part of it.  The very same run may be
sewn once more, as a third layer (a fly's shield, a lining), to what nothing is sewn to; that is
less likely and is asked last.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property

from propagate.pattern.answers import Joining, Question, question_of, reverse_run
from propagate.pattern.relations import Assembly, Band, Opening, Run, Seam, Span
from propagate.pattern.spans import span_ends
from propagate.suggesting.claims import Claimed, claim_relations, claim_spans
from propagate.suggesting.directions import Laid
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact, Proposal
from propagate.suggesting.rows import Row
from propagate.values import dataclass

__all__ = ["NOTHING", "Known", "Settled"]

AGAIN = -1.5
"""Log-odds of what is sewn already being sewn to one more."""
_CERTAIN = 20.0
"""Log-odds of a direction that a person said."""


@dataclass(frozen=True)
class Known:
    """What is known before anything is measured.

    Attributes
    ----------
    relations : tuple
        They hold.
    refused : frozenset of Question
        They do not hold, either way round.
    turned : frozenset of Question
        Seams to be proposed the other way round than the likelier one.
    """

    relations: tuple[Joining, ...] = ()
    refused: frozenset[Question] = frozenset()
    turned: frozenset[Question] = frozenset()


NOTHING = Known()


class Settled:
    """What is known, measured on a nest.

    Attributes
    ----------
    seams, openings : tuple of Proposal
        What holds, as certain proposals: it stands beside those that are found.
    """

    def __init__(self, nest: Nest, known: Known = NOTHING) -> None:
        self._nest, self._known = nest, known
        self._taken = Claimed([list(claim_relations(nest, known.relations))])
        seams, openings = [], []
        runs: list[Run] = []
        assemblies = {one.name: one for one in known.relations if isinstance(one, Assembly)}
        for one in known.relations:
            if isinstance(one, Seam):
                runs += [one.lead, one.follow] if one.follow else [one.lead]
                if one.follow:
                    sides = one.lead, one.follow
                    seams.append(Proposal("seam", one.name, sides, math.inf, (), (one,)))
            elif isinstance(one, Band):
                runs += [(Span(one.piece, one.sewn),), *(z.run for z in one.zones if z.run)]
            elif isinstance(one, Opening) and one.silhouette in assemblies:
                both = assemblies[one.silhouette], one
                line: Run = (Span(one.piece, one.edge),)
                openings.append(Proposal("opening", one.name, (line,), math.inf, (), both))
        self.seams, self.openings = tuple(seams), tuple(openings)
        self._runs = frozenset(map(_forget_direction, runs))

    @cached_property
    def laid(self) -> tuple[Laid, ...]:
        """Seams whose direction speaks for their neighbours', both runs along their outlines."""
        found = []
        for seam in self._known.relations:
            if isinstance(seam, Seam) and len(seam.lead) == len(seam.follow) == 1:
                along, back = [], []
                for run in (seam.lead, seam.follow):
                    first, last = span_ends(self._nest.in_base(run[0].piece), run[0])
                    back.append(first > last)
                    along.append(reverse_run(run) if first > last else run)
                turned = back[0] != back[1]
                found.append(Laid(along[0], along[1], {turned: _CERTAIN, not turned: 0.0}, 1.0))
        return tuple(found)

    # ---------------------------------------------------------------- before weighing

    def takes(self, row: Row) -> bool:
        """Whether a row is sewn already, as it is."""
        return bool(self._runs) and _forget_direction(row.run) in self._runs

    def allows(self, a: Row, b: Row) -> bool:
        """Whether two rows can still be asked about as a seam."""
        known = self._known
        if not (known.relations or known.refused):
            return True
        if known.refused and question_of("seam", (a.run, b.run)) in known.refused:
            return False
        return self._has_room((a.run, b.run))

    def _has_room(self, runs: tuple[Run, ...]) -> bool:
        """Whether both runs are free, or one is and the other is sewn just as it is."""
        free = [not self._taken.over(claim_spans(self._nest, run)) for run in runs]
        return all(free) or (
            any(free) and any(_forget_direction(run) in self._runs for run in runs)
        )

    def judge_taken(self, a: Row, b: Row) -> list[Fact]:
        """What it says against a pair that one of the two is sewn already."""
        return [
            Fact(AGAIN, f"'{' + '.join(map(str, row.run))}' is sewn to another already")
            for row in (a, b)
            if self.takes(row)
        ]

    def turns(self, kind: str, runs: tuple[Run, ...]) -> bool:
        """Whether a seam or a pocket is wanted the other way round."""
        turned = self._known.turned
        return bool(turned) and question_of(kind, runs) in turned

    # ----------------------------------------------------------------- after weighing

    def leave_out(self, found: Iterable[Proposal]) -> list[Proposal]:
        """Proposals less those that were refused or are in the way of what holds."""
        return [
            one for one in found if one.question not in self._known.refused and self._is_free(one)
        ]

    def _is_free(self, one: Proposal) -> bool:
        if one.kind == "seam":
            return self._has_room(one.runs)
        # Of a band only its own edge: what is sewn to it may be sewn to another as well.
        own = claim_spans(self._nest, one.runs[0]) if one.kind == "band" else one.claims
        return not self._taken.over(own)


def _forget_direction(run: Run) -> Run:
    """The same value for a run from either end."""
    return min(run, reverse_run(run), key=str)
