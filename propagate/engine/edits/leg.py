"""The leg from a third size: an edit of its own, with its own hold.

Above the hold (the thigh) everything is the lower size's; below the level (the knee) it
is the leg size's, laid level on level and middle on middle.  Between them each edge goes
over from one to the other smoothly: it starts along the first and ends along the second.
Lengths of edges that are sewn together change alike: what is left over is moved along
the follower's own direction at its free end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.laying import level_crossing, level_height, on_vertex
from propagate.engine.reshape import Edited, Region, Source, Stretch, rounded
from propagate.engine.tape import Silhouette, edge_from_parts, tape
from propagate.errors import EditError
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import fade_end, smoothstep
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, between, length, point_at, points_at, unit
from propagate.pattern.model import Array, Edge
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import run_nodes, silhouette_node
from propagate.pattern.relations import BlendPlan, LegPlan
from propagate.tolerances import FADE_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["blend_leg"]


@dataclass(frozen=True)
class _Frame:
    """A main in the lower size, its leg in another, and where the one goes over to the other.

    `hold` and `knee` are heights along the grain; `down` is +1 where the leg lies above them.
    """

    pattern: PatternSet
    plan: LegPlan
    old: Edited
    other: Silhouette
    hold: float
    knee: float
    lift: float

    @classmethod
    def of(cls, pattern: PatternSet, plan: LegPlan, old: Edited, other: Silhouette) -> _Frame:
        """Lay the two sizes level on level."""
        lay, name = pattern.lay_on, pattern.name
        lift = level_height(old.base, lay, name) - level_height(other, lay, name)
        hold = level_height(old.base, plan.hold, name)
        return cls(
            pattern, plan, old, other, hold, level_height(other, plan.level, name) + lift, lift
        )

    @property
    def grain(self) -> Array:
        """(2,) direction of the grain of the main."""
        return self.old.base.base.grain.direction

    @property
    def down(self) -> float:
        """+1 or -1: which way along the grain the leg lies."""
        return 1.0 if self.knee > self.hold else -1.0

    def turn_downward(self, points: Array) -> tuple[Array, bool]:
        """An edge from its upper to its lower end, and whether that is against the outline."""
        flipped = self.down * float((points[-1] - points[0]) @ self.grain) < 0
        return (points[::-1] if flipped else points), flipped

    def crossing(self, edge: str, points: Array, height: float) -> float:
        """Distance at which a downward edge last crosses a height; raises EditError."""
        hit = level_crossing(points, height * self.grain, self.grain)
        if hit is None or not 1.0 < hit < length(points) - 1.0:
            raise EditError(
                f"set '{self.pattern.name}', edge '{edge}': level '{self.plan.level}' or the hold "
                f"'{self.plan.hold}' does not cross it; expected both between the ends of the edge"
            )
        return on_vertex(points, hit)


@dataclass(frozen=True)
class _Leg:
    """One edge of a leg, downwards: kept down to `hold`, the other size's from `knee`."""

    name: str
    flipped: bool
    points: Array
    hold_here: float
    knee: float
    old_hold: float
    old_knee: float
    other_knee: float
    other_length: float
    old_length: float


def blend_leg(
    pattern: PatternSet, plan: BlendPlan, edited: Mapping[str, Edited], size: str
) -> dict[str, Edited]:
    """Give every main the leg of another size.

    Parameters
    ----------
    edited : mapping of silhouette name to Edited
        In the lower size.
    size : str
        Size that gives the leg.

    Raises
    ------
    EditError
        When the hold or the level does not cross an edge of the leg.
    """
    leg = plan.leg
    if leg is None:
        raise EditError(f"set '{pattern.name}' has no [blend.leg] section")
    found: dict[str, tuple[_Frame, Source, list[_Leg]]] = {}
    for name, old in edited.items():
        frame = _Frame.of(pattern, leg, old, tape(pattern, name, size))
        source = Source(frame.other, size, _lay_leg(frame))
        found[name] = frame, source, [_draw_transition(frame, source, e) for e in leg.edges]
    gains = _find_gains(pattern, found)
    return {
        name: _compose_main(frame, source, legs, gains)
        for name, (frame, source, legs) in found.items()
    }


def _lay_leg(frame: _Frame) -> Motion:
    """Lay the leg's size: level on level, the middle of the leg on the middle."""
    turn = frame.other.base.grain.turn_to(frame.old.base.base.grain)
    middles = []
    for silhouette, motion, height in (
        (frame.old, Motion(), frame.knee),
        (frame.other, turn, frame.knee - frame.lift),
    ):
        points = []
        for name in frame.plan.edges:
            edge, _ = frame.turn_downward(motion.apply(silhouette.edge(name).points))
            points.append(point_at(edge, frame.crossing(name, edge, height)))
        middles.append(np.mean(points, axis=0))
    return Motion(turn.turn, complex(*(middles[0] - middles[1])))


def _draw_transition(frame: _Frame, source: Source, name: str) -> _Leg:
    """Go over from one size to the other between the hold and the level."""
    mine, flipped = frame.turn_downward(frame.old.edge(name).points)
    theirs, _ = frame.turn_downward(source.motion.apply(source.silhouette.edge(name).points))
    hold, knee, other_hold, other_knee = (
        frame.crossing(name, line, height)
        for line in (mine, theirs)
        for height in (frame.hold, frame.knee)
    )
    if knee - hold < 50.0:
        raise EditError(
            f"set '{frame.pattern.name}', edge '{name}': only {knee - hold:.0f} mm between the "
            f"hold '{frame.plan.hold}' and level '{frame.plan.level}', expected at least 50 mm"
        )
    first = densify_smoothly(between(mine, hold, knee), STEP_MM)
    share = arc_lengths(first) / arc_lengths(first)[-1]
    second = densify_smoothly(between(theirs, other_hold, other_knee), STEP_MM)
    second = points_at(second, share * length(second))
    middle = rounded(first + smoothstep(share)[:, None] * (second - first))
    held = between(mine, 0.0, hold)
    below = rounded(between(theirs, other_knee, length(theirs)))
    start = length(held)
    return _Leg(
        name,
        flipped,
        np.vstack([held, middle[1:-1], below]),
        start,
        start + length(np.vstack([held[-1:], middle[1:-1], below[:1]])),
        hold,
        knee,
        other_knee,
        length(theirs),
        length(mine),
    )


def _find_gains(
    pattern: PatternSet, found: Mapping[str, tuple[_Frame, Source, Sequence[_Leg]]]
) -> dict[str, float]:
    """Length that each follower's leg must gain to change as much as its lead's, mm.

    By the node of the silhouette edge.
    """
    change = {
        silhouette_node(name, item.name): length(item.points) - frame.old.edge(item.name).length
        for name, (frame, _, legs) in found.items()
        for item in legs
    }
    gains = {}
    for seam in pattern.relations.seams.values():
        if not (seam.check or seam.mirror):
            lead, follow = (
                next(
                    (
                        node
                        for span in run
                        for node in run_nodes(pattern, (span,))
                        if node in change
                    ),
                    "",
                )
                for run in (seam.lead, seam.follow)
            )
            if lead and follow and lead != follow:
                gains[follow] = change[lead] - change[follow]
    return gains


def _compose_main(
    frame: _Frame, source: Source, legs: Sequence[_Leg], gains: Mapping[str, float]
) -> Edited:
    """Put the edges of one main together; the edges beyond the level are the leg's."""
    old, edges = frame.old, dict[str, Edge]()
    stretches: dict[str, tuple[Stretch, ...]] = {}
    for item in legs:
        points = item.points
        gain = gains.get(silhouette_node(old.base.name, item.name), 0.0)
        if abs(gain) > 1e-9:
            points = _lengthen_edge(points, gain, length(points) - item.knee)
        laid = rounded(source.motion.apply(source.silhouette.edge(item.name).turn_points))
        edges[item.name] = edge_from_parts(
            item.name,
            [points[::-1] if item.flipped else points],
            np.vstack([old.edge(item.name).turn_points, laid]),
        )
        stretches[item.name] = _tell_stretches(item, length(points))
    for edge in old.edges:
        laid = source.motion.apply(source.silhouette.edge(edge.name).points)
        beyond = (frame.down * (laid @ frame.grain - frame.knee) > 0).all()
        if edge.name not in edges and beyond:
            new = Edge(edge.name, rounded(laid), source.silhouette.edge(edge.name).turns)
            edges[edge.name] = new
            whole = (0.0, new.length)
            stretches[edge.name] = (Stretch("leg", whole, whole, kept=True),)
    region = Region("leg", frame.knee, frame.down)
    return old.with_edges(_join_edges(old, edges), stretches, {"leg": source}, region)


def _lengthen_edge(points: Array, gain: float, over: float) -> Array:
    """Lengthen a downward edge at its lower end, along its own direction."""
    direction = unit(end_direction(points, "end"))
    wanted, reach, new = length(points) + gain, gain, points
    for _ in range(8):
        new = rounded(fade_end(points, points[-1] + reach * direction, over, STEP_MM * 4))
        miss = wanted - length(new)
        if abs(miss) < 1e-5:
            break
        reach += miss
    return new


def _tell_stretches(item: _Leg, size: float) -> tuple[Stretch, ...]:
    """Kept above the hold, gone over, then the other size's; in outline direction."""
    parts = [
        Stretch("lower", (0.0, item.hold_here), (0.0, item.old_hold), True),
        Stretch("lower", (item.hold_here, item.knee), (item.old_hold, item.old_knee), False),
        Stretch("leg", (item.knee, size), (item.other_knee, item.other_length), True),
    ]
    if not item.flipped:
        return tuple(parts)
    totals = {"lower": item.old_length, "leg": item.other_length}
    return tuple(
        replace(
            part,
            here=(size - part.here[1], size - part.here[0]),
            there=(totals[part.source] - part.there[1], totals[part.source] - part.there[0]),
        )
        for part in reversed(parts)
    )


def _join_edges(old: Edited, edges: Mapping[str, Edge]) -> list[Edge]:
    """Share corners: an edge of the leg gives way to one that keeps a part of the old one."""
    order = [edges.get(edge.name, edge) for edge in old.edges]
    count = len(order)
    for i in range(count):
        j = (i + 1) % count
        if (order[i].points[-1] == order[j].points[0]).all():
            continue
        same = order[i].points[[0, -1]] == old.edge(order[i].name).points[[0, -1]]
        give, at_end = (j, False) if same.all(axis=1).any() else (i, True)
        edge = order[give]
        corner = order[j].points[0] if at_end else order[i].points[-1]
        points = edge.points if at_end else edge.points[::-1]
        moved = rounded(fade_end(points, corner, min(FADE_MM, length(points) / 3), STEP_MM * 4))
        moved[-1] = corner
        parts = [moved if at_end else moved[::-1]]
        order[give] = edge_from_parts(edge.name, parts, edge.turn_points)
    return order
