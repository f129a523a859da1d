"""The cap of a dart: the line of the edge over its mouth, cut with the dart folded.

A dart is folded to one side before it is sewn into the edge.  Cut off along the edge there,
and opened again, the cloth shows a peak between the legs.  By hand it is folded and cut; here
the edge is mirrored at one leg and turned to the other, as the fold does.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from propagate.geometry.arrays import Array, cross_product
from propagate.geometry.polyline import is_straight
from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Lie", "cap_between", "lie_of"]

Side = Literal["start", "end"]

_PARALLEL_DEG = 0.5
_UPRIGHT = 0.7
"""Cosine between a dart and the grain above which the dart is folded to the centre."""


def cap_between(before: Array, after: Array, tip: Array, towards: Side) -> Array:
    """Return vertices of an edge between the two legs of a dart, without the legs.

    Parameters
    ----------
    before, after : (n, 2) arrays, mm
        The edge up to the first leg, and from the second leg on.
    tip : (2,) array
        As far from one leg as from the other.
    towards : "start" or "end"
        To which side of the edge the dart is folded.

    Returns
    -------
    (k, 2) array
        Empty where the edge is too short for the folded dart to lie on: the mouth is
        straight then.
    """
    if towards == "end":
        return cap_between(after[::-1], before[::-1], tip, "start")[::-1]
    z = (before[::-1] - tip) @ np.array([1.0, 1j])  # from the leg on, seen from the tip
    other = complex(*(after[0] - tip))
    angle = float(np.angle(other / z[0]))
    # Seen from the first leg, the fold's axis lies on the edge at half the angle.
    seen = np.unwrap(np.angle(z / z[0])) * -np.sign(angle)
    half = abs(angle) / 2
    past = np.flatnonzero(seen >= half)
    if not len(past) or past[0] == 0 or (np.diff(seen[: past[0] + 1]) <= 0.0).any():
        return np.empty((0, 2))
    i = int(past[0])
    axis = z[0] / abs(z[0]) * np.exp(-1j * np.sign(angle) * half)
    step = z[i] - z[i - 1]
    share = -(z[i - 1] / axis).imag / (step / axis).imag
    line = np.append(z[1:i], z[i - 1] + share * step)
    unit = z[0] / abs(z[0])
    mirrored = unit * (line / unit).conj()
    turned = line[:-1] * np.exp(1j * angle)
    whole = np.concatenate([mirrored, turned[::-1]])
    return np.column_stack([whole.real, whole.imag]) + tip


@dataclass(frozen=True)
class Lie:
    """How a piece hangs: which edge is its centre, and which way is up.

    Attributes
    ----------
    centre : str or None
        The fold; else the centre that the set names for blending; else the longest straight
        edge on the grain.
    up : (float, float)
        From the lower level of the blend to the upper one; where the piece has not both, the
        way in which its grain line was drawn.
    """

    centre: str | None
    up: tuple[float, float]

    def is_upright(self, dart: Dart, legs: tuple[Array, Array]) -> bool:
        """Tell whether a dart stands along the grain and not across it."""
        axis = np.asarray(dart.tip) - (legs[0] + legs[1]) / 2
        return abs(float(axis @ np.array(self.up))) > _UPRIGHT * float(np.hypot(*axis))

    def folded(self, piece: SizedPiece, dart: Dart, legs: tuple[Array, Array]) -> Side:
        """Tell to which side of its edge a dart is folded (common practice, no source).

        An upright dart is folded to the centre, one that lies across is folded down.

        Parameters
        ----------
        legs : ((2,) array, (2,) array)
            In their order along the edge.
        """
        if self.is_upright(dart, legs) and self.centre not in (None, dart.edge):
            points = piece.edge(str(self.centre)).points
            middle = (points[0] + points[-1]) / 2
            away = [float(np.hypot(*(leg - middle))) for leg in legs]
            return "start" if away[0] <= away[1] else "end"
        return "start" if float((legs[1] - legs[0]) @ np.array(self.up)) >= 0.0 else "end"


def lie_of(pattern: PatternSet, name: str, piece: SizedPiece) -> Lie:
    """Find how a piece of a set hangs."""
    up = piece.grain.direction
    plan = pattern.relations.blend
    if plan is not None and {plan.upper, plan.lower} <= set(piece.levels):
        rise = np.subtract(piece.levels[plan.upper], piece.levels[plan.lower]) @ up
        up = up if rise >= 0.0 else -up
    return Lie(_find_centre(pattern, name, piece), (float(up[0]), float(up[1])))


def _find_centre(pattern: PatternSet, name: str, piece: SizedPiece) -> str | None:
    info = pattern.info.get(name)
    if info is not None and info.fold in piece.edge_names:
        return info.fold
    plan = pattern.relations.blend
    for main in plan.mains if plan is not None else ():
        if main.silhouette == name:
            return main.centre
        assembly = pattern.relations.assemblies.get(main.silhouette)
        if assembly is not None and assembly.lead == name:
            return next((s.edge for s in assembly.edges[main.centre] if s.piece == name), None)
    grain = piece.grain.direction
    along = []
    for edge in piece.edges:
        chord = edge.points[-1] - edge.points[0]
        lean = abs(cross_product(chord, grain)) / np.sin(np.radians(_PARALLEL_DEG))
        if lean <= np.hypot(*chord) and is_straight(edge.points):
            along.append(edge)
    return max(along, key=lambda edge: edge.length).name if along else None
