"""Which sides of the mains a blend redraws, and which of them are sewn together.

A main has one side.  It has two where the edge that the plan names as its centre is sewn to
the side of another main as its side is: a back in one piece between a left and a right front.
"""

from __future__ import annotations

from dataclasses import replace

from propagate.engine.graph import run_nodes, silhouette_node
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain, BlendPlan, Seam
from propagate.values import dataclass

__all__ = ["MainSide", "SidePair", "main_sides", "other_side", "two_sided_mains"]


def other_side(main: BlendMain) -> BlendMain:
    """The same main, seen from the edge at the other end of its crossing edge."""
    return replace(
        main,
        side=main.centre,
        centre=main.side,
        side_hold=main.centre_hold,
        centre_hold=main.side_hold,
    )


@dataclass(frozen=True)
class MainSide:
    """A side of a main; `main` has it as its side also where the plan calls it the centre."""

    main: BlendMain
    two_sided: bool

    @property
    def node(self) -> str:
        """The side as a node of the relation graph."""
        return silhouette_node(self.main.silhouette, self.main.side)


@dataclass(frozen=True)
class SidePair:
    """Two sides that are sewn together, by their places in a list of sides."""

    seam: Seam
    lead: int
    follow: int


def main_sides(
    pattern: PatternSet, plan: BlendPlan
) -> tuple[tuple[MainSide, ...], tuple[SidePair, ...]]:
    """Every side that a blend redraws, and the pairs of them.

    Returns
    -------
    sides : tuple of MainSide
        Lead and follower of the plan's seam, then the others in the order of the plan.
    pairs : tuple of SidePair
        That of the plan's seam first, then by the name of the seam.
    """
    sewn = _find_sewn(pattern, plan)
    named = {silhouette_node(main.silhouette, main.side) for main in plan.mains}
    mates = {(a, b) for _, *nodes in sewn for a, b in (nodes, nodes[::-1])}
    found: dict[str, MainSide] = {}
    for main in plan.mains:
        ends = (main.side, main.centre)
        nodes = [silhouette_node(main.silhouette, edge) for edge in ends]
        two_sided = all(any((node, side) in mates for side in named) for node in nodes)
        both = (main, other_side(main)) if two_sided else (main,)
        for one in both:
            side = MainSide(one, two_sided)
            found.setdefault(side.node, side)
    sides = list(found.values())
    first = [node for seam, *nodes in sewn if seam.name == plan.seam for node in nodes]
    seam = pattern.relations.seams.get(plan.seam)
    if not set(first) <= {side.node for side in sides} or not first:
        parts = pattern.relations.parts_of
        leads = {parts.get(s.piece, s.piece) for s in seam.lead} if seam is not None else set()
        first = [side.node for side in sides if side.main.silhouette in leads]
    rank = {node: i for i, node in enumerate(dict.fromkeys(first))}
    order = tuple(sorted(sides, key=lambda side: rank.get(side.node, len(rank))))
    place = {side.node: i for i, side in enumerate(order)}
    paired: dict[frozenset[int], SidePair] = {}
    for joining, lead, follow in sewn:
        if lead in place and follow in place and lead != follow:
            pair = SidePair(joining, place[lead], place[follow])
            paired.setdefault(frozenset((pair.lead, pair.follow)), pair)
    pairs = list(paired.values())
    if seam is not None and len(order) > 1 and not any(p.seam is seam for p in pairs):
        pairs = [SidePair(seam, 0, 1), *(p for p in pairs if {p.lead, p.follow} != {0, 1})]
    return order, tuple(pairs)


def two_sided_mains(pattern: PatternSet, plan: BlendPlan) -> frozenset[str]:
    """Silhouettes that have a side at both ends of their crossing edge."""
    sides, _ = main_sides(pattern, plan)
    return frozenset(side.main.silhouette for side in sides if side.two_sided)


_Sewn = tuple[Seam, str, str]
"""A seam, and the nodes of its lead and its follower."""


def _find_sewn(pattern: PatternSet, plan: BlendPlan) -> list[_Sewn]:
    """Seams of the mains of which each run lies on one silhouette edge; the plan's first."""
    found = []
    relations = pattern.relations
    mains = [relations.assemblies.get(main.silhouette) for main in plan.mains]
    pieces = {main.silhouette for main in plan.mains}
    pieces |= {p for one in mains if one for p in one.pieces}
    seams = {seam.name: seam for piece in pieces for seam in relations.seams_on.get(piece, ())}
    for seam in sorted(seams.values(), key=lambda one: (one.name != plan.seam, one.name)):
        if seam.check or seam.mirror:
            continue
        lead, follow = (run_nodes(pattern, run) for run in (seam.lead, seam.follow))
        if len(lead) == len(follow) == 1:
            found.append((seam, lead[0], follow[0]))
    return found
