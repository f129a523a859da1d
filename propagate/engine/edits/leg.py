"""The leg from a third size: an edit of its own, with its own hold.

Above the hold (the thigh) everything is the lower size's; below the level (the knee) it
is the leg size's, laid level on level and middle on middle.  Between them each edge goes
over from one to the other smoothly: it starts along the first and ends along the second.
Lengths of edges that are sewn together change alike: what is left over is moved along
the follower's own direction at its free end.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from propagate.engine.laying import level_crossing, level_height, on_vertex
from propagate.engine.reshape import Edited, Region, Source, Stretch, rounded
from propagate.engine.tape import Silhouette, edge_from_parts, tape
from propagate.errors import EditError
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import fade_end, smoothstep
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, between, length, point_at, unit
from propagate.pattern.model import Edge
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendPlan, LegPlan, Seam
from propagate.tolerances import FADE_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["blend_leg"]

Array = npt.NDArray[np.float64]


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
    found: dict[str, tuple[Edited, Source, list[_Leg]]] = {}
    for name, old in edited.items():
        source = _lay_size(pattern, leg, old, tape(pattern, name, size), size)
        legs = [_draw_transition(pattern, leg, old, source, edge) for edge in leg.edges]
        found[name] = (old, source, legs)
    gains = _find_gains(pattern, found)
    return {
        name: _compose_main(pattern, leg, old, source, legs, gains)
        for name, (old, source, legs) in found.items()
    }


def _find_heights(
    pattern: PatternSet, leg: LegPlan, old: Edited, other: Silhouette
) -> tuple[float, float]:
    """Heights of the hold and of the leg level along the grain, in the edit's frame."""
    lay = pattern.lay_on
    lift = level_height(old.base, lay, pattern.name) - level_height(other, lay, pattern.name)
    hold = level_height(old.base, leg.hold, pattern.name)
    return hold, level_height(other, leg.level, pattern.name) + lift


def _turn_downward(points: Array, grain: Array, down: float) -> tuple[Array, bool]:
    """An edge from its upper to its lower end, and whether that is against the outline."""
    flipped = down * float((points[-1] - points[0]) @ grain) < 0
    return (points[::-1] if flipped else points), flipped


def _last_crossing(
    pattern: PatternSet, leg: LegPlan, edge: str, points: Array, height: float, grain: Array
) -> float:
    hit = level_crossing(points, height * grain, grain)
    if hit is None or not 1.0 < hit < length(points) - 1.0:
        raise EditError(
            f"set '{pattern.name}', edge '{edge}': level '{leg.level}' or the hold '{leg.hold}' "
            "does not cross it; expected both between the ends of the edge"
        )
    return on_vertex(points, hit)


def _lay_size(
    pattern: PatternSet, leg: LegPlan, old: Edited, other: Silhouette, size: str
) -> Source:
    """Lay the leg's size: level on level, the middle of the leg on the middle."""
    grain = old.base.base.grain.direction
    spin = complex(*grain) / complex(*other.base.grain.direction)
    turn = Motion(1 + 0j if abs(spin - 1) < 1e-9 else spin / abs(spin))
    hold, knee = _find_heights(pattern, leg, old, other)
    lift = level_height(old.base, pattern.lay_on, pattern.name) - level_height(
        other, pattern.lay_on, pattern.name
    )
    down = 1.0 if knee > hold else -1.0
    middles = []
    for silhouette, motion, height in ((old, Motion(), knee), (other, turn, knee - lift)):
        points = []
        for name in leg.edges:
            edge, _ = _turn_downward(motion.apply(silhouette.edge(name).points), grain, down)
            hit = _last_crossing(pattern, leg, name, edge, height, grain)
            points.append(point_at(edge, hit))
        middles.append(np.mean(points, axis=0))
    return Source(other, size, Motion(turn.turn, complex(*(middles[0] - middles[1]))))


def _draw_transition(
    pattern: PatternSet, leg: LegPlan, old: Edited, source: Source, name: str
) -> _Leg:
    """Go over from one size to the other between the hold and the level."""
    grain = old.base.base.grain.direction
    hold_height, knee_height = _find_heights(pattern, leg, old, source.silhouette)
    down = 1.0 if knee_height > hold_height else -1.0
    mine, flipped = _turn_downward(old.edge(name).points, grain, down)
    theirs, _ = _turn_downward(
        source.motion.apply(source.silhouette.edge(name).points), grain, down
    )
    places = [
        _last_crossing(pattern, leg, name, line, height, grain)
        for line in (mine, theirs)
        for height in (hold_height, knee_height)
    ]
    hold, knee, other_hold, other_knee = places
    if knee - hold < 50.0:
        raise EditError(
            f"set '{pattern.name}', edge '{name}': only {knee - hold:.0f} mm between the hold "
            f"'{leg.hold}' and level '{leg.level}', expected at least 50 mm"
        )
    first = densify_smoothly(between(mine, hold, knee), STEP_MM)
    share = arc_lengths(first) / arc_lengths(first)[-1]
    second_line = densify_smoothly(between(theirs, other_hold, other_knee), STEP_MM)
    second_arc = arc_lengths(second_line)
    second = np.column_stack(
        [np.interp(share * second_arc[-1], second_arc, second_line[:, k]) for k in (0, 1)]
    )
    middle = rounded(first + smoothstep(share)[:, None] * (second - first))
    held = between(mine, 0.0, hold)
    below = rounded(between(theirs, other_knee, length(theirs)))
    points = np.vstack([held, middle[1:-1], below])
    start = length(held)
    return _Leg(
        name,
        flipped,
        points,
        start,
        start + length(np.vstack([held[-1:], middle[1:-1], below[:1]])),
        hold,
        knee,
        other_knee,
        length(theirs),
        length(mine),
    )


def _find_gains(
    pattern: PatternSet, found: Mapping[str, tuple[Edited, Source, Sequence[_Leg]]]
) -> dict[tuple[str, str], float]:
    """Length that each follower's leg must gain to change as much as its lead's, mm."""
    change = {
        (name, item.name): length(item.points) - old.edge(item.name).length
        for name, (old, _, legs) in found.items()
        for item in legs
    }
    gains = {}
    for seam in pattern.relations.seams.values():
        if not (seam.check or seam.mirror):
            lead, follow = _side_of(pattern, seam, 0, change), _side_of(pattern, seam, 1, change)
            if lead is not None and follow is not None and lead != follow:
                gains[follow] = change[lead] - change[follow]
    return gains


def _side_of(
    pattern: PatternSet, seam: Seam, which: int, known: Mapping[tuple[str, str], float]
) -> tuple[str, str] | None:
    """Silhouette edge of a seam's lead (0) or follower (1) that the leg changes."""
    relations = pattern.relations
    for span in (seam.lead, seam.follow)[which]:
        owner = relations.parts_of.get(span.piece, span.piece)
        assembly = relations.assemblies.get(owner)
        if assembly is None:
            edge: str | None = span.edge
        else:
            edge = next(
                (e for e, run in assembly.edges.items() if any(s.key == span.key for s in run)),
                None,
            )
        if edge is not None and (owner, edge) in known:
            return owner, edge
    return None


def _compose_main(
    pattern: PatternSet,
    leg: LegPlan,
    old: Edited,
    source: Source,
    legs: Sequence[_Leg],
    gains: Mapping[tuple[str, str], float],
) -> Edited:
    """Put the edges of one main together; the edges beyond the level are the leg's."""
    hold_height, knee = _find_heights(pattern, leg, old, source.silhouette)
    down = 1.0 if knee > hold_height else -1.0
    edges: dict[str, Edge] = {}
    stretches: dict[str, tuple[Stretch, ...]] = {}
    for item in legs:
        points = item.points
        gain = gains.get((old.base.name, item.name), 0.0)
        if abs(gain) > 1e-9:
            points = _lengthen_edge(points, gain, length(points) - item.knee)
        turns = [
            old.edge(item.name).turn_points,
            _lay_turns(source, item.name),
        ]
        edges[item.name] = edge_from_parts(
            item.name, [points[::-1] if item.flipped else points], np.vstack(turns)
        )
        stretches[item.name] = _tell_stretches(item, length(points))
    grain = old.base.base.grain.direction
    for edge in old.edges:
        laid = source.motion.apply(source.silhouette.edge(edge.name).points)
        beyond = (down * (laid @ grain - knee) > 0).all()
        if edge.name not in edges and beyond:
            new = Edge(edge.name, rounded(laid), source.silhouette.edge(edge.name).turns)
            edges[edge.name] = new
            stretches[edge.name] = (
                Stretch("leg", (0.0, new.length), (0.0, new.length), kept=True),
            )
    return old.with_edges(
        _join_edges(old, edges), stretches, {"leg": source}, Region("leg", knee, down)
    )


def _lay_turns(source: Source, name: str) -> Array:
    edge = source.silhouette.edge(name)
    return rounded(source.motion.apply(edge.turn_points))


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
        ("lower", (0.0, item.hold_here), (0.0, item.old_hold), True),
        ("lower", (item.hold_here, item.knee), (item.old_hold, item.old_knee), False),
        ("leg", (item.knee, size), (item.other_knee, item.other_length), True),
    ]
    if not item.flipped:
        return tuple(Stretch(*part) for part in parts)
    return tuple(
        Stretch(key, (size - here[1], size - here[0]), _mirrored_source(key, there, item), kept)
        for key, here, there, kept in reversed(parts)
    )


def _mirrored_source(key: str, there: tuple[float, float], item: _Leg) -> tuple[float, float]:
    total = item.other_length if key == "leg" else item.old_length
    return total - there[1], total - there[0]


def _join_edges(old: Edited, edges: Mapping[str, Edge]) -> list[Edge]:
    """Share corners: an edge of the leg gives way to the edges that were redrawn."""
    order = [edges.get(edge.name, edge) for edge in old.edges]
    count = len(order)
    for i in range(count):
        j = (i + 1) % count
        if (order[i].points[-1] == order[j].points[0]).all():
            continue
        first_is_leg = not _is_side(order[i], old)
        give, at_end = (i, True) if first_is_leg else (j, False)
        corner = order[j].points[0] if at_end else order[i].points[-1]
        points = order[give].points if at_end else order[give].points[::-1]
        moved = rounded(fade_end(points, corner, min(FADE_MM, length(points) / 3), STEP_MM * 4))
        moved[-1] = corner
        turns = order[give].turn_points
        order[give] = edge_from_parts(order[give].name, [moved if at_end else moved[::-1]], turns)
    return order


def _is_side(edge: Edge, old: Edited) -> bool:
    """Whether an edge keeps a part of the old one (a side or inseam of the leg)."""
    mine = old.edge(edge.name).points
    return bool((edge.points[0] == mine[0]).all() or (edge.points[-1] == mine[-1]).all())
