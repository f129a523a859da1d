"""Which way round seams lie, as far as the other seams of the same two pieces tell.

Where two seams of the same two pieces end at one corner on both pieces, the corner of the
one piece meets the corner of the other.  Laid the other way round, a seam would carry its
corner to the far end of its partner: the corners would be matched crosswise.  The most
certain direction is settled first and speaks for its neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

from propagate.pattern.relations import Run
from propagate.suggesting.nest import Nest, Place
from propagate.suggesting.proposal import LIKELY, Fact
from propagate.values import dataclass

__all__ = ["Laid", "Link", "link_neighbours"]

SPEAKS = 2.0
"""Log-odds by which a certain neighbour speaks for one way, and against the other."""


@dataclass(frozen=True)
class Laid:
    """Two runs that may be sewn together.

    Attributes
    ----------
    lead, follow : Run
        Both along their outlines.
    weights : mapping of bool to float
        What speaks for laying the follower against its outline (True) or along it.
    score : float
        Of the better way.
    """

    lead: Run
    follow: Run
    weights: Mapping[bool, float]
    score: float

    @property
    def keys(self) -> frozenset[str]:
        """``PIECE.EDGE`` of both sides."""
        return frozenset(span.key for span in (*self.lead, *self.follow))

    def __str__(self) -> str:
        return f"{self.lead[0].key} = {self.follow[0].key}"


@dataclass(frozen=True)
class Link:
    """What a neighbour says of one way of laying two runs.

    Attributes
    ----------
    end : str or None
        The end of the lead, ``start`` or ``end``, that meets the neighbour; None where the
        neighbour speaks against this way.
    weight : float
        For the choice between the two ways.
    fact : Fact
    """

    end: str | None
    weight: float
    fact: Fact


def link_neighbours(nest: Nest, laid: Sequence[Laid]) -> list[dict[bool, tuple[Link, ...]]]:
    """For each pair of runs and each way of laying them, what the neighbouring seams say."""
    groups: dict[tuple[str, str], list[int]] = {}
    for index, one in enumerate(laid):
        if len(one.lead) == len(one.follow) == 1 and one.lead[0].piece != one.follow[0].piece:
            groups.setdefault((one.lead[0].piece, one.follow[0].piece), []).append(index)
    found: list[dict[bool, tuple[Link, ...]]] = [{True: (), False: ()} for _ in laid]
    for group in groups.values():
        if len(group) > 1:
            _settle_seams(nest, laid, group, found)
    return found


def _settle_seams(
    nest: Nest,
    laid: Sequence[Laid],
    group: Sequence[int],
    found: list[dict[bool, tuple[Link, ...]]],
) -> None:
    """Settle the likely seams of two pieces one after the other, the most certain first."""
    # Each place of a lead with that of its follower that it meets, to the lead's end.
    meets: dict[tuple[int, bool], dict[tuple[Place, Place], str]] = {}
    for i, turned in product(group, (True, False)):
        lead, follow = laid[i].lead[0], laid[i].follow[0]
        meets[i, turned] = {
            (
                nest.end_of(lead, at_begin=end == "start"),
                nest.end_of(follow, at_begin=(end == "start") != turned),
            ): end
            for end in ("start", "end")
        }
    weights = {i: dict(laid[i].weights) for i in group}
    likeliest: list[int] = []  # the likeliest seam of each edge
    for i in sorted(group, key=lambda i: (-laid[i].score, i)):
        if laid[i].score >= LIKELY and not any(laid[i].keys & laid[j].keys for j in likeliest):
            likeliest.append(i)
    while likeliest:
        j = max(likeliest, key=lambda i: (abs(weights[i][True] - weights[i][False]), -i))
        likeliest.remove(j)
        way = weights[j][True] > weights[j][False]
        for i in group:
            if laid[i].keys & laid[j].keys:
                continue
            for turned in (True, False):
                for corner in sorted(meets[i, turned].keys() & meets[j, way].keys(), key=str):
                    link, other = _say_links(corner, meets[i, turned][corner], laid[j])
                    for of, one in ((turned, link), (not turned, other)):
                        found[i][of] += (one,)
                        weights[i][of] += one.weight


def _say_links(corner: tuple[Place, Place], end: str, other: Laid) -> tuple[Link, Link]:
    """What a settled neighbour says of the way that meets its corner, and of the other."""
    pieces = " and ".join(f"'{piece}'" for piece, _ in corner)
    weight = SPEAKS * other.score
    agrees = f"it ends at the same corner of {pieces} as {other}: both seams meet there"
    crosses = f"laid this way, its corners are crosswise to those of {other}"
    return Link(end, weight, Fact(0.3, agrees)), Link(None, -weight, Fact(-1.0, crosses))
