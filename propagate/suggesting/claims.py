"""Stretches of edges that relations and proposals want for themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from propagate.pattern.answers import Joining
from propagate.pattern.relations import Band, Opening, Seam, SeamOpening, Span, Stack
from propagate.pattern.spans import span_ends
from propagate.suggesting.nest import Nest
from propagate.values import dataclass

__all__ = [
    "Claim",
    "Claimed",
    "claim_mouth",
    "claim_mouths",
    "claim_relations",
    "claim_spans",
    "claims_meet",
]


@dataclass(frozen=True)
class Claim:
    """A stretch of an edge, as distances in the base size, mm.

    Two proposals that claim the same stretch in the same role are in conflict.
    """

    role: Literal["sewn", "opening", "stack", "mouth"]
    piece: str
    edge: str
    low: float
    high: float


def _claims_overlap(a: Claim, b: Claim) -> bool:
    """Tell whether two claims on one edge share more than a millimetre."""
    return min(a.high, b.high) - max(a.low, b.low) > 1.0


def claims_meet(some: Iterable[Claim], others: Sequence[Claim]) -> bool:
    """Whether two proposals want more than a millimetre of the same edge in the same role."""
    return any(
        a.role == b.role and a.piece == b.piece and a.edge == b.edge and _claims_overlap(a, b)
        for a in some
        for b in others
    )


def claim_spans(nest: Nest, spans: Iterable[Span]) -> tuple[Claim, ...]:
    """Return the stretches that a relation sews."""
    claims = []
    for span in spans:
        low, high = sorted(span_ends(nest.in_base(span.piece), span))
        claims.append(Claim("sewn", span.piece, span.edge, low, high))
    return tuple(claims)


def claim_mouth(nest: Nest, piece: str, edge: str, role: Literal["opening", "stack"]) -> Claim:
    """Return the whole of an edge that is an opening, or has a stack of layers behind it."""
    length = float(nest.edges[f"{piece}.{edge}"].lengths[nest.base])
    return Claim(role, piece, edge, 0.0, length)


def claim_mouths(nest: Nest, spans: Iterable[Span]) -> Iterator[Claim]:
    """Yield the stretches that are mouths of pockets in seams: their edges are sewn as well."""
    for one in claim_spans(nest, spans):
        yield replace(one, role="mouth")


def _lies_on_mouth(span: Span, mouths: Iterable[SeamOpening]) -> bool:
    """Whether it is the part of an edge to which a bag is sewn, beside the seam of the edge."""
    return any(
        span.key == own.key and own.end in (span.begin, span.end)
        for mouth in mouths
        for side in mouth.sides
        for own in side
        if own.end not in ("start", "end")
    )


def claim_relations(nest: Nest, relations: Sequence[Joining]) -> Iterator[Claim]:
    """Yield the stretches that relations claim."""
    openings = {one.name: one for one in relations if isinstance(one, Opening)}
    mouths = [one for one in relations if isinstance(one, SeamOpening)]
    for one in relations:
        if isinstance(one, Seam):
            sewn = (s for s in (*one.lead, *one.follow) if not _lies_on_mouth(s, mouths))
            yield from claim_spans(nest, sewn)
        elif isinstance(one, SeamOpening):
            yield from claim_mouths(nest, [span for side in one.sides for span in side])
        elif isinstance(one, Band):
            spans = [Span(one.piece, one.sewn), *(s for zone in one.zones for s in zone.run)]
            yield from claim_spans(nest, spans)
        elif isinstance(one, Opening):
            yield claim_mouth(nest, one.piece, one.edge, "opening")
        elif isinstance(one, Stack):
            behind = openings[one.opening]
            yield claim_mouth(nest, behind.piece, behind.edge, "stack")


class Claimed:
    """What several proposals claim, by their edges; each gives its own claims."""

    def __init__(self, claims: Sequence[Iterable[Claim]]) -> None:
        self._on: dict[tuple[str, str, str], list[tuple[int, Claim]]] = {}
        for number, own in enumerate(claims):
            for claim in own:
                key = (claim.role, claim.piece, claim.edge)
                self._on.setdefault(key, []).append((number, claim))

    def over(self, claims: Iterable[Claim]) -> list[int]:
        """Numbers of those that want more than a millimetre of what is claimed."""
        found = {
            number
            for claim in claims
            for number, other in self._on.get((claim.role, claim.piece, claim.edge), ())
            if _claims_overlap(claim, other)
        }
        return sorted(found)

    def chains(self) -> Iterator[tuple[int, int]]:
        """Pairs that want the same stretch: as many as join all that do, through others."""
        for claims in self._on.values():
            farthest = None
            for number, claim in sorted(claims, key=lambda one: one[1].low):
                # Who reaches beyond its start overlaps the farthest, which does so too.
                if farthest is not None and _claims_overlap(farthest[1], claim):
                    yield farthest[0], number
                if farthest is None or claim.high > farthest[1].high:
                    farthest = number, claim
