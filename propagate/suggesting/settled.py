"""What a person has said already, for the next proposing: relations that hold, and that do not.

A run that is sewn is taken: nothing else is proposed for a part of it.  The very same run may be
sewn once more, as a third layer (a fly's shield, a lining), to what nothing is sewn to; that is
less likely and is asked last.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

from propagate.pattern.answers import Joining, Question, backwards, question_of
from propagate.pattern.relations import Assembly, Band, Opening, Run, Seam, Span, Stack
from propagate.pattern.spans import span_ends
from propagate.suggesting.directions import Laid
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import SURE, Claim, Claimed, Fact, Proposal
from propagate.suggesting.rows import Row
from propagate.values import dataclass

__all__ = ["NOTHING", "Known", "Settled", "claims_of"]

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
        self.seams = tuple(self._certain_seams())
        self.openings = tuple(self._certain_openings())
        self._claims = tuple(claim for one in known.relations for claim in self._claims_of(one))
        self._taken = Claimed([self._claims])
        self._runs = frozenset(
            _unordered(run)
            for one in known.relations
            for run in _runs_of(one)
            if isinstance(one, Seam | Band)
        )

    @cached_property
    def laid(self) -> tuple[Laid, ...]:
        """Seams whose direction speaks for their neighbours', both runs along their outlines."""
        found = []
        for seam in self._known.relations:
            if isinstance(seam, Seam) and len(seam.lead) == len(seam.follow) == 1:
                (lead, lead_back), (follow, follow_back) = (
                    self._along(run[0]) for run in (seam.lead, seam.follow)
                )
                turned = lead_back != follow_back
                found.append(
                    Laid((lead,), (follow,), {turned: _CERTAIN, not turned: 0.0}, score=1.0)
                )
        return tuple(found)

    # ---------------------------------------------------------------- before weighing

    def takes(self, row: Row) -> bool:
        """Whether a row is sewn already, as it is."""
        return bool(self._runs) and _unordered(row.run) in self._runs

    def allows(self, a: Row, b: Row) -> bool:
        """Whether two rows can still be asked about as a seam."""
        known = self._known
        if not (known.relations or known.refused):
            return True
        if known.refused and question_of("seam", (a.run, b.run)) in known.refused:
            return False
        return self._has_room((a.run, b.run))

    def _has_room(self, runs: Sequence[Run]) -> bool:
        """Whether both runs are free, or one is and the other is sewn just as it is."""
        free = [not self._taken.over(claims_of(self._nest, run)) for run in runs]
        return all(free) or (any(free) and any(_unordered(run) in self._runs for run in runs))

    def facts(self, a: Row, b: Row) -> list[Fact]:
        """What it says against a pair that one of the two is sewn already."""
        return [
            Fact(AGAIN, f"'{' + '.join(map(str, row.run))}' is sewn to another already")
            for row in (a, b)
            if self.takes(row)
        ]

    def turns(self, lead: Run, follow: Run) -> bool:
        """Whether a seam is wanted the other way round."""
        return bool(self._known.turned) and question_of("seam", (lead, follow)) in (
            self._known.turned
        )

    # ----------------------------------------------------------------- after weighing

    def left(self, found: Iterable[Proposal]) -> list[Proposal]:
        """Proposals that were neither refused nor are in the way of what holds."""
        return [
            one
            for one in found
            if question_of(one.kind, one.runs) not in self._known.refused
            and (
                self._has_room(one.runs)
                if one.kind == "seam"
                else not self._taken.over(self._own_claims(one))
            )
        ]

    def _own_claims(self, one: Proposal) -> tuple[Claim, ...]:
        """Of a band only its own edge: what is sewn to it may be sewn to another as well."""
        if one.kind == "band":
            return claims_of(self._nest, one.runs[0])
        return one.claims

    # ---------------------------------------------------------------------- certain ones

    def _certain_seams(self) -> Iterable[Proposal]:
        for seam in self._known.relations:
            if isinstance(seam, Seam) and seam.follow:
                yield Proposal("seam", seam.name, (seam.lead, seam.follow), SURE, (), (), (seam,))

    def _certain_openings(self) -> Iterable[Proposal]:
        assemblies = {one.name: one for one in self._known.relations if isinstance(one, Assembly)}
        for one in self._known.relations:
            if isinstance(one, Opening) and one.silhouette in assemblies:
                run = (Span(one.piece, one.edge),)
                yield Proposal(
                    "opening", one.name, (run,), SURE, (), (), (assemblies[one.silhouette], one)
                )

    def _claims_of(self, one: Joining) -> tuple[Claim, ...]:
        if isinstance(one, Seam):
            return claims_of(self._nest, (*one.lead, *one.follow))
        if isinstance(one, Band):
            return claims_of(self._nest, (span for run in _runs_of(one) for span in run))
        if isinstance(one, Opening):
            return (self._mouth_claim(one, "opening"),)
        if isinstance(one, Stack):
            opening = next(o for o in self._known.relations if _is_opening(o, one.opening))
            return (self._mouth_claim(opening, "stack"),)
        return ()

    def _mouth_claim(self, opening: Joining, role: str) -> Claim:
        assert isinstance(opening, Opening)
        length = float(self._nest.edges[f"{opening.piece}.{opening.edge}"].lengths[self._nest.base])
        known: dict[str, Claim] = {
            "opening": Claim("opening", opening.piece, opening.edge, 0.0, length),
            "stack": Claim("stack", opening.piece, opening.edge, 0.0, length),
        }
        return known[role]

    def _along(self, span: Span) -> tuple[Span, bool]:
        """A span along its outline, and whether that turned it."""
        sized = self._nest.pattern.sized(span.piece, self._nest.pattern.base)
        first, last = span_ends(sized, span)
        return (span, False) if first <= last else (backwards((span,))[0], True)


def _is_opening(one: Joining, name: str) -> bool:
    return isinstance(one, Opening) and one.name == name


def _runs_of(one: Joining) -> Sequence[Run]:
    if isinstance(one, Seam):
        return [run for run in (one.lead, one.follow) if run]
    if isinstance(one, Band):
        own: Run = (Span(one.piece, one.sewn),)
        return [own, *(zone.run for zone in one.zones if zone.run)]
    return []


def _unordered(run: Run) -> Run:
    """The same value for a run from either end."""
    return min(run, backwards(run), key=str)


def claims_of(nest: Nest, spans: Iterable[Span]) -> tuple[Claim, ...]:
    """The stretches that a relation sews."""
    claims = []
    for span in spans:
        sized = nest.pattern.sized(span.piece, nest.pattern.base)
        low, high = sorted(span_ends(sized, span))
        claims.append(Claim("sewn", span.piece, span.edge, low, high))
    return tuple(claims)
