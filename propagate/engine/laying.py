"""Lay the upper size of a main silhouette over the lower one.

Level on level and centre seam on centre seam: the upper size is turned only as far as
its grain line differs, then translated.  Everything returned lies in the lower size's
frame; polylines run upwards, or from the centre to the side.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.reshape import Edited, rounded
from propagate.engine.tape import Silhouette
from propagate.errors import EditError, UnknownName
from propagate.geometry.crossing import line_crossings
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import smoothstep
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, between, length, point_at
from propagate.pattern.relations import BlendMain
from propagate.tolerances import RESTS_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = [
    "Laid",
    "LaidCentre",
    "LayOptions",
    "across_hold",
    "hold_on",
    "lay_main",
    "level_crossing",
    "level_height",
    "on_vertex",
    "rise_of",
    "slide_along",
    "starts_at",
    "top_of",
    "turn_upward",
]

Array = npt.NDArray[np.float64]
_LITTLE_MM = 20.0
"""So far a top may slide whatever its rise is; else by a share of it, so that some is left."""


@dataclass(frozen=True)
class LayOptions:
    """What laying needs to know of the edit.

    Attributes
    ----------
    set_name, upper_size, lower_size : str
    lay_on, lower_level : str
        Level of laying, and the level that the hold must not lie above.
    hold : str, float or None
        As in `Blend.hold`.
    rise : "upper", "lower" or mm
        A length is that by which every top is raised from where it was drawn.
    """

    set_name: str
    upper_size: str
    lower_size: str
    lay_on: str
    lower_level: str
    hold: str | float | None
    rise: Literal["upper", "lower"] | float


@dataclass(frozen=True)
class LaidCentre:
    """The centre of a main: the top is laid along it and faded on to it.

    Attributes
    ----------
    line : (n, 2) array
        The lower size's edge, upwards.
    hold : float
        Distance along it at the hold, mm.
    upper : (n, 2) array
        The upper size's edge above the height of the hold, laid.
    foot : float
        Distance along the upper size's edge at that height, mm.
    """

    line: Array
    hold: float
    upper: Array
    foot: float


@dataclass(frozen=True)
class Laid:
    """One side of a main with the upper size laid over the lower.

    Attributes
    ----------
    main : BlendMain
        Its side is the side that is meant.
    lower : Edited
        The lower size (with another leg, when asked for).
    upper : Silhouette
        In its own frame; `motion` takes it here.
    side : (n, 2) array
        The lower size's side, upwards.
    hold_side : float
        Distance along it at the hold, mm.
    upper_side, across : (n, 2) arrays
        The upper size's edges, laid; `across` runs to this side.
    foot_side : float or None
        Distance along the upper size's side at the height of the hold, mm.
    across_hold : float
        Distance along `across` up to which the crossing edge stays as drawn, mm.
    centre : LaidCentre or None
        None where the edge at the other end of the crossing edge is a side too.
    """

    main: BlendMain
    lower: Edited
    upper: Silhouette
    motion: Motion
    side: Array
    hold_side: float
    upper_side: Array
    foot_side: float | None
    across: Array
    across_hold: float
    centre: LaidCentre | None = None

    @cached_property
    def across_direction(self) -> float:
        """Direction of the crossing edge at the side corner, radians."""
        return end_direction(self.across, "end")


def starts_at(edge: Array, other: Array) -> bool:
    """Whether an edge starts at one of the ends of another."""
    x, y = edge[0].tolist()
    ends = (other[0].tolist(), other[-1].tolist())
    return any(abs(x - a) <= SAME_POINT_MM and abs(y - b) <= SAME_POINT_MM for a, b in ends)


def turn_upward(silhouette: Silhouette | Edited, edge: str, across: str) -> Array:
    """Points of a centre or side edge from its far end up to the crossing edge."""
    found = silhouette.edge(edge)
    flipped = starts_at(found.points, silhouette.edge(across).points)
    return found.backward if flipped else found.points


def level_height(silhouette: Silhouette, level: str, set_name: str) -> float:
    """Position of a level along the grain direction, mm; raises UnknownName."""
    base = silhouette.base
    if level not in base.levels:
        raise UnknownName(
            "level", level, list(base.levels), f"piece '{silhouette.lead}' of set '{set_name}'"
        )
    return float(np.dot(base.levels[level], base.grain.direction))


def level_crossing(edge: Array, point: Array, grain: Array) -> float | None:
    """Distance at which an turn_upward edge last crosses the level through `point`, mm."""
    hits = line_crossings(edge, point, np.array([-grain[1], grain[0]]))
    return float(hits[-1]) if len(hits) else None


def lay_main(main: BlendMain, lower: Edited, upper: Silhouette, options: LayOptions) -> Laid:
    """Lay one main; see `Laid`.

    Raises
    ------
    EditError
        When a hold does not cross its edge, lies above the lower level, or when the
        crossing edge leaves no room to be trued.
    UnknownName
        For a level that the piece does not have.
    """
    grain, turn = lower.base.base.grain.direction, upper.base.grain.turn_to(lower.base.base.grain)
    side, centre = (
        turn_upward(lower, main.side, main.across),
        turn_upward(lower, main.centre, main.across),
    )
    own_centre = turn_upward(upper, main.centre, main.across)
    upper_centre = turn.apply(own_centre)
    hold_side = hold_on(main, main.side, main.side_hold, lower, side, options)
    # A hold that was asked for is the side's; below its own the centre turns to the crotch.
    own = replace(options, hold=None)
    hold_centre = hold_on(main, main.centre, main.centre_hold, lower, centre, own)

    lift = level_height(lower.base, options.lay_on, options.set_name) - level_height(
        upper, options.lay_on, options.set_name
    )
    hold_centre = _raise_hold(main, lower, upper, centre, hold_centre, lift, options)
    anchor = point_at(centre, hold_centre)
    foot = level_crossing(upper_centre, anchor - lift * grain, grain)
    if foot is None or foot > length(upper_centre) - 1.0:
        raise EditError(
            f"set '{options.set_name}', '{main.silhouette}', size '{options.upper_size}': edge "
            f"'{main.centre}' does not reach down to the hold of size '{options.lower_size}'; "
            "choose a hold nearer the top"
        )
    foot = on_vertex(upper_centre, foot)
    shift = anchor - point_at(upper_centre, foot)
    laid_centre = upper_centre + shift
    slide = slide_along(
        options,
        lower,
        (laid_centre[-1], centre[-1]),
        end_direction(laid_centre, "end"),
        length(upper_centre) / 2,
    )
    motion = Motion(turn.turn, complex(*(shift + slide)))
    top = between(upper_centre, foot, length(upper_centre)) + shift
    arc = arc_lengths(top)
    top = top + smoothstep(arc / arc[-1])[:, None] * slide
    points = upper.edge(main.across).points
    outward = np.abs(points[0] - own_centre[-1]).max() <= SAME_POINT_MM
    across = rounded(motion.apply(points if outward else points[::-1]))
    top[0], top[-1] = anchor, across[0]
    upper_side = motion.apply(turn_upward(upper, main.side, main.across))
    return Laid(
        main=main,
        lower=lower,
        upper=upper,
        motion=motion,
        side=side,
        hold_side=hold_side,
        upper_side=upper_side,
        foot_side=level_crossing(upper_side, point_at(side, hold_side), grain),
        across=across,
        # A dart leg is a vertex, from which rounding after the motion may have parted it.
        across_hold=on_vertex(across, across_hold(main, upper, bool(outward), options)),
        centre=LaidCentre(centre, hold_centre, top, foot),
    )


def hold_on(
    main: BlendMain, edge_name: str, level: str, lower: Edited, edge: Array, options: LayOptions
) -> float:
    """Distance along an turn_upward edge at which it crosses the hold."""
    grain = lower.base.base.grain.direction
    limit = level_height(lower.base, options.lower_level, options.set_name)
    upwards = 1.0 if float(edge[-1] @ grain) > limit else -1.0
    where = (
        f"set '{options.set_name}', '{main.silhouette}', size '{options.lower_size}', "
        f"edge '{edge_name}'"
    )
    if isinstance(options.hold, (int, float)):
        height = limit - upwards * float(options.hold)
        said = f"{options.hold:g} mm below level '{options.lower_level}'"
    else:
        level = options.hold or level
        height = level_height(lower.base, level, options.set_name)
        said = f"level '{level}'"
    if (height - limit) * upwards > SAME_POINT_MM:
        raise EditError(
            f"{where}: the hold ({said}) lies {abs(height - limit):.1f} mm above level "
            f"'{options.lower_level}', so its girth would not be kept; hold at that level or below"
        )
    hit = level_crossing(edge, height * grain, grain)
    if hit is None or not 1.0 < hit < length(edge) - 1.0:
        raise EditError(
            f"{where}: the hold ({said}) does not cross the edge; "
            "expected a level between its two ends"
        )
    return on_vertex(edge, hit)


def on_vertex(edge: Array, distance: float) -> float:
    """The distance of a vertex that lies there but for a rounding: no doubled points."""
    arc = arc_lengths(edge)
    nearest = float(arc[np.abs(arc - distance).argmin()])
    return nearest if abs(nearest - distance) <= RESTS_MM else distance


def _raise_hold(
    main: BlendMain,
    lower: Edited,
    upper: Silhouette,
    centre: Array,
    hold: float,
    lift: float,
    options: LayOptions,
) -> float:
    """Raise the centre hold to the upper size's own when that lies higher.

    Below its hold a centre seam may already curve towards the crotch: it is laid on the
    other where both are past that.  More of the lower size is kept, never less.
    """
    if main.centre_hold not in upper.base.levels:
        return hold
    grain = lower.base.base.grain.direction
    height = level_height(upper, main.centre_hold, options.set_name) + lift
    own = level_crossing(centre, height * grain, grain)
    if own is None or own <= hold or own > (hold + length(centre)) / 2:
        return hold
    return on_vertex(centre, own)


def top_of(silhouette: Silhouette | Edited, main: BlendMain, *, two_sided: bool) -> Array:
    """The centre of the top, (2,): where the centre meets it; its middle between two sides."""
    if two_sided:
        points = silhouette.edge(main.across).points
        return point_at(points, length(points) / 2)
    top: Array = turn_upward(silhouette, main.centre, main.across)[-1]
    return top


def rise_of(
    main: BlendMain, silhouette: Silhouette, lay_on: str, set_name: str, *, two_sided: bool = False
) -> float:
    """Distance from the lay level to the centre of the top, along the grain, mm."""
    top = top_of(silhouette, main, two_sided=two_sided)
    gap = float(top @ silhouette.base.grain.direction) - level_height(silhouette, lay_on, set_name)
    return abs(gap)


def slide_along(
    options: LayOptions, lower: Edited, tops: tuple[Array, Array], angle: float, room: float
) -> Array:
    """How far the top slides for the rise that was asked for, (2,) mm.

    Parameters
    ----------
    tops : (2,) arrays
        The centre of the upper size's top, laid, and of the lower's.
    angle : float
        Direction of sliding, radians.
    room : float
        Mm by which it may slide at most.

    Raises
    ------
    EditError
        When it would slide farther than it is likely that somebody asks for.
    """
    if options.rise == "upper":
        return np.zeros(2)
    grain = lower.base.base.grain.direction
    lay_height = level_height(lower.base, options.lay_on, options.set_name)
    top = float(tops[0] @ grain)
    upwards = 1.0 if top > lay_height else -1.0
    if options.rise == "lower":
        wanted = float(tops[1] @ grain)
    else:
        wanted = top + upwards * float(options.rise)
    along = np.array([np.cos(angle), np.sin(angle)])
    slide: Array = along * (wanted - top) / float(along @ grain)
    most = min(room, max(0.9 * abs(top - lay_height), _LITTLE_MM))
    if float(np.hypot(*slide)) > most:
        raise EditError(
            f"set '{options.set_name}': a rise of {abs(wanted - lay_height):.0f} mm moves the top "
            f"by {float(np.hypot(*slide)):.0f} mm, expected a rise near "
            f"{abs(top - lay_height):.0f} mm; check the unit"
        )
    return slide


def across_hold(main: BlendMain, upper: Silhouette, outward: bool, options: LayOptions) -> float:
    """Distance from the centre up to which the crossing edge stays as drawn."""
    total = upper.edge(main.across).length
    names = (
        [main.across_hold]
        if main.across_hold
        else [
            f"{piece}.{leg}"
            for piece, sized in upper.sized.items()
            for dart in sized.darts
            for leg in dart.legs
        ]
    )
    legs = []
    for name in names:
        piece, _, landmark = name.partition(".")
        if piece not in upper.sized:
            raise UnknownName("piece", piece, list(upper.sized), f"'{main.silhouette}'")
        place = upper.place(piece, landmark)
        if place is not None and place[0] == main.across:
            legs.append(place[1] if outward else total - place[1])
    hold = max(legs) if legs else total / 2
    if hold > total - 10.0:
        raise EditError(
            f"set '{options.set_name}', '{main.silhouette}', size '{options.upper_size}': the hold "
            f"on edge '{main.across}' lies {total - hold:.1f} mm from the side corner, expected at "
            "least 10 mm so that the edge can be trued; name another landmark in across_hold"
        )
    return hold
