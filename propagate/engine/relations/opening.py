"""Lay a rigid opening on the new silhouette: the pin, the swing, the landing.

The end on the crossing edge keeps its distance from the *side* corner; the line swings
about it, as on a pin, until its other end touches the new side seam.
"""

from __future__ import annotations

import numpy as np
import shapely

from propagate.engine.laying import starts_at
from propagate.engine.record import ChangeKind, Notice
from propagate.engine.reshape import Edited, rounded
from propagate.engine.rows import OpeningRow
from propagate.engine.state import LaidOpening, Split, State
from propagate.engine.tape import Silhouette
from propagate.errors import EditError
from propagate.geometry.crossing import circle_crossings
from propagate.geometry.directions import wrap_angle
from propagate.geometry.motion import IDENTITY, from_two_points
from propagate.geometry.polyline import locate, locate_all, point_at
from propagate.pattern.model import Array
from propagate.pattern.relations import Opening
from propagate.pattern.titles import say_turn
from propagate.tolerances import OPENING_LENGTH_MM, RESTS_MM, STEP_MM, SWING_WARN_DEG

__all__ = ["apply", "swing_to", "tell_outside"]


_OUTSIDE_MM = 0.05
"""An opening outside its silhouette by less is as good as on the line."""


def apply(state: State, opening: Opening, cause: str) -> bool:
    """Lay the opening; returns whether it moved.

    Raises
    ------
    EditError
        When the side is out of reach, with the millimetres that are missing.
    """
    if opening.piece in state.given.pieces:
        return True
    edited = state.silhouette(opening.silhouette)
    source = state.taped(opening.silhouette, state.job.pocket)
    if state.job.pocket == state.job.size:
        resting = _find_resting(edited, opening)
        if resting is not None:
            _keep_joints(state, opening, edited, resting)
            return False
    line = source.sized[opening.piece].edge(opening.edge).points
    if opening.across_end == "end":
        line = line[::-1]
    turn = source.base.grain.turn_to(edited.base.base.grain)
    across, side = edited.edge(opening.across).points, edited.edge(opening.side).points
    at_start = _starts_at_side(edited, opening)
    inset = _measure_inset(source, opening, line[0])
    radius = float(np.hypot(*(line[-1] - line[0])))
    old_angle = _measure_angle(line) + turn.angle

    slid, pin, hit = _find_landing(state, opening, edited, inset, at_start, radius, old_angle)
    pin_point = rounded(point_at(across, pin))
    low_point = rounded(point_at(side, hit))
    motion = from_two_points(line[[0, -1]], np.array([pin_point, low_point]))
    points = rounded(motion.apply(line))
    points[0], points[-1] = pin_point, low_point
    swing = wrap_angle(_measure_angle(points) - old_angle)
    if opening.across_end == "end":
        points = points[::-1]
    laid = LaidOpening(
        motion=motion,
        source=source,
        points=points,
        across=Split(pin, pin_point),
        side=Split(hit, low_point),
        swing_deg=float(np.degrees(swing)),
        moved_mm=2 * radius * abs(float(np.sin(swing / 2))),
        slid_mm=slid,
    )
    _keep_joints(state, opening, edited, laid)
    _note_opening(state, opening, laid, cause)
    tell_outside(state, opening, edited, laid.points)
    return True


def swing_to(line: Array, pin: Array, radius: float, angle: float) -> float | None:
    """Distance along a line at which another one, swung about a pin, touches it.

    Where it does so in several places, it is turned the least from its angle, radians; None where
    it would turn by 90 degrees or more.
    """
    best, least = None, np.pi / 2
    for hit in circle_crossings(line, pin, radius).tolist():
        gap = point_at(line, hit) - pin
        swing = abs(wrap_angle(float(np.arctan2(gap[1], gap[0])) - angle))
        if swing < least:
            best, least = hit, swing
    return best


def tell_outside(state: State, opening: Opening, edited: Edited, line: Array) -> None:
    """Say that an opening runs outside the silhouette, for the main piece and every layer.

    Its two ends lie on the outline; between them a rigid line may bulge through it.  What has
    the opening as an edge sticks out there with it; what backs it ends at the outline.
    """

    def tell() -> list[Notice]:
        out = shapely.LineString(line).difference(edited.area.buffer(_OUTSIDE_MM))
        if out.is_empty:
            return []
        ring = shapely.LinearRing(edited.outline)
        places = shapely.get_coordinates(shapely.segmentize(out, STEP_MM))
        far = max(shapely.distance(shapely.points(places), ring).tolist())
        stack = state.pattern.relations.stack_of.get(opening.name)
        layers = [f"'{layer.piece}'" for layer in stack.layers] if stack is not None else []
        behind = f", nor behind it on {', '.join(layers)}" if layers else ""
        text = (
            f"the opening runs outside the outline of '{opening.silhouette}' for "
            f"{out.length:.0f} mm, by up to {far:.1f} mm: there is no cloth for it there{behind}"
        )
        do = "choose nearer sizes or the other pocket size, or redraw the opening"
        return [Notice(opening.name, text, do)]

    state.notices.append(tell)


def _keep_joints(state: State, opening: Opening, edited: Edited, laid: LaidOpening) -> None:
    state.openings[opening.name] = laid
    for edge, split in ((opening.across, laid.across), (opening.side, laid.side)):
        owners = [segment.span.piece for segment in edited.base.segments[edge]]
        joint = min(owners.index(opening.piece), len(owners) - 2)
        state.splits.setdefault((opening.silhouette, edge), {})[joint] = split


def _find_resting(edited: Edited, opening: Opening) -> LaidOpening | None:
    """Early cut-off: the opening still lies where it should, so it is not touched."""
    source = edited.base
    line = source.sized[opening.piece].edge(opening.edge).points
    if opening.across_end == "end":
        line = line[::-1]
    splits = []
    for name, point in ((opening.across, line[0]), (opening.side, line[-1])):
        along, gap = locate(edited.edge(name).points, point)
        if gap > RESTS_MM:
            return None
        splits.append(Split(along, point))
    inset = _measure_inset(edited, opening, splits[0].point)
    if abs(inset - _measure_inset(source, opening, line[0])) > RESTS_MM:
        return None
    points = line if opening.across_end == "start" else line[::-1]
    return LaidOpening(IDENTITY, source, points, splits[0], splits[1], 0.0, 0.0, 0.0)


def _starts_at_side(silhouette: Silhouette | Edited, opening: Opening) -> bool:
    """Whether the crossing edge starts at the side corner."""
    across, side = silhouette.edge(opening.across), silhouette.edge(opening.side)
    return starts_at(across.points, side.points)


def _measure_inset(silhouette: Silhouette | Edited, opening: Opening, end: Array) -> float:
    """Distance of the opening's end from the side corner along the crossing edge, mm."""
    across = silhouette.edge(opening.across)
    along, _ = locate(across.points, end)
    return along if _starts_at_side(silhouette, opening) else across.length - along


def _measure_angle(line: Array) -> float:
    return float(np.arctan2(*(line[-1] - line[0])[::-1]))


def _find_landing(
    state: State,
    opening: Opening,
    edited: Edited,
    inset: float,
    at_start: bool,
    radius: float,
    old_angle: float,
) -> tuple[float, float, float]:
    """Find (slide, distance of the pin on across, distance of the landing on side)."""
    across, side = edited.edge(opening.across), edited.edge(opening.side)

    def pin_at(distance: float) -> float:
        return distance if at_start else across.length - distance

    def landing(distance: float) -> float | None:
        return swing_to(side.points, point_at(across.points, pin_at(distance)), radius, old_angle)

    if 0 < inset < across.length:
        hit = landing(inset)
        if hit is not None:
            return 0.0, pin_at(inset), hit
    for step in np.arange(0.25, opening.slide + 1e-9, 0.25).tolist():
        for distance in (inset - step, inset + step):
            hit = landing(distance) if 0 < distance < across.length else None
            if hit is not None:
                state.notice(
                    opening.name,
                    f"the end on '{opening.across}' slid by {step:.2f} mm so that the opening "
                    f"reaches '{opening.side}'",
                    "look at its line, else take the pocket of another size",
                    about=("end slid", opening.across),
                )
                return distance - inset, pin_at(distance), hit
    raise EditError(_out_of_reach(state, opening, edited, pin_at(inset), radius))


def _out_of_reach(state: State, opening: Opening, edited: Edited, pin: float, radius: float) -> str:
    across, side = edited.edge(opening.across), edited.edge(opening.side)
    where = f"set '{state.pattern.name}', opening '{opening.name}', size '{state.job.name}'"
    if not 0 < pin < across.length:
        over = max(-pin, pin - across.length)
        return (
            f"{where}: its end lies {over:.1f} mm beyond edge '{opening.across}' "
            f"({across.length:.1f} mm); choose the other pocket size"
        )
    point = point_at(across.points, pin)
    _, gap = locate_all(side.points, point[None, :])
    far = np.hypot(*(side.points - point).T).max()
    miss = gap[0] - radius if gap[0] > radius else radius - far
    return (
        f"{where}: a line of {radius:.1f} mm from '{opening.across}' does not reach "
        f"'{opening.side}' by {max(float(miss), 0.0):.1f} mm (limit of sliding "
        f"{opening.slide:g} mm); take the pocket in the other size, or raise 'slide' in set.toml"
    )


def _note_opening(state: State, opening: Opening, laid: LaidOpening, cause: str) -> None:
    node = f"{opening.piece}.{opening.edge}"
    state.change(
        node,
        ChangeKind.OPENING_LAID,
        f"opening '{opening.name}' (size {state.job.pocket}) turned {say_turn(laid.swing_deg)} so "
        f"that its end touches the new '{opening.side}'; its end moved {laid.moved_mm:.1f} mm",
        cause,
    )
    old = laid.source.sized[opening.piece].edge(opening.edge).length
    new = float(np.hypot(*np.diff(laid.points, axis=0).T).sum())
    edited = state.silhouette(opening.silhouette)
    gaps = [
        locate(edited.edge(edge).points, split.point)[1]
        for edge, split in ((opening.across, laid.across), (opening.side, laid.side))
    ]
    state.opening_rows.append(
        OpeningRow(
            opening=opening.name,
            piece=opening.piece,
            edge=opening.edge,
            size=state.job.pocket,
            before_mm=old,
            after_mm=new,
            difference_mm=new - old,
            swing_deg=laid.swing_deg,
            moved_mm=laid.moved_mm,
            slid_mm=laid.slid_mm,
            across_gap_mm=gaps[0],
            side_gap_mm=gaps[1],
            ok=abs(new - old) <= OPENING_LENGTH_MM,
        )
    )
    if abs(laid.swing_deg) > SWING_WARN_DEG:
        state.notice(
            opening.name,
            f"the opening turned {say_turn(laid.swing_deg)}, more than {SWING_WARN_DEG:g}°",
            "look at the line it makes when worn, else take the pocket of another size",
            about=("opening swung",),
        )
