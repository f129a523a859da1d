"""What blending sizes needs to know, as far as the seams and notches of a joined set tell it.

The mains are the two silhouettes of a side seam: at its upper end an edge goes across the grain
from it to the centre on both, and is sewn to something.  The hip is a level that is drawn, a pair
of notches on that seam, or as far below the waist along the side as somebody says.  Where a second
seam of the two begins at the centre, that is the crotch, on which the sizes are laid, else they
are laid on the hip (common practice, no source).  A level goes round the body, so on the other
main waist and crotch lie as far from the hip, wherever its corners are.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.pattern.answers import Question, question_of, reverse_run
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain, BlendPlan, Girth, Place, Run, Span
from propagate.pattern.turning import turned_seam
from propagate.suggesting.hips import list_hips
from propagate.suggesting.legs import find_leg
from propagate.suggesting.levels import Point, put_levels, round_point
from propagate.suggesting.side_seams import (
    HIP,
    WAIST,
    SideWay,
    find_end,
    find_sides,
    find_tops,
    sort_ways,
)
from propagate.values import dataclass

Array = npt.NDArray[np.float64]

__all__ = ["CROTCH", "Blending", "find_blendings"]

CROTCH = "crotch"
SHARED_MM = 0.05
"""Sizes of a piece that differ by no more are drawn once for all."""


@dataclass(frozen=True)
class Blending:
    """What blending the sizes of a set would go by; a person says whether it is so.

    Attributes
    ----------
    plan : BlendPlan
    levels : mapping of level name to a mapping of piece to a point for each size, mm
        Those that the pieces lack.
    lay_on : str
    anchors : mapping of piece to a mapping of landmark to the end that it is measured from
        Marks at which the other side of a seam ends, as that of a fly.
    girths : tuple of Girth
    places : tuple of Place
        Pieces that are joined to nothing that tells their size.
    walked : tuple of str
        Seams to a part of a centre that stays as long as it is: their followers stay as drawn.
    hip : mapping of piece to (landmark or None, mm below the top of its centre in the base size)
    hip_along : float or None
        How far the hip lies below the waist along the side, mm, where no landmark is meant.
    runs : (Run, Run)
        Of both mains, the first one's first: along the waist from the centre, then down the side
        to the mark of the hip, if it has one.
    shared : tuple of str
        Seams of the two mains: one side of each follows the other when that is changed.
    knee : mapping of piece to a notch, or None where the level is drawn
        Empty where no third size can give the leg.
    turned : bool
        The first main leads, but follows in the set as it is: these seams are turned.
    """

    plan: BlendPlan
    levels: Mapping[str, Mapping[str, Mapping[str, Point]]]
    lay_on: str
    anchors: Mapping[str, Mapping[str, str]]
    girths: tuple[Girth, ...]
    places: tuple[Place, ...]
    walked: tuple[str, ...]
    hip: Mapping[str, tuple[str | None, float]]
    hip_along: float | None
    runs: tuple[Run, Run]
    shared: tuple[str, ...]
    knee: Mapping[str, str | None]
    turned: bool = False

    @property
    def question(self) -> Question:
        """What is asked, the same whichever side leads."""
        return question_of("blending", self.runs)

    def turn(self) -> Blending:
        """The same with the other main as the one from which a change comes."""
        first, second = self.runs
        plan = replace(self.plan, mains=self.plan.mains[::-1])
        return replace(self, plan=plan, runs=(second, first), turned=not self.turned)

    def put_on(self, pattern: PatternSet) -> PatternSet:
        """The set with all this; what it has already stays."""
        info = dict(pattern.info)
        for name, own in self.anchors.items():
            info[name] = replace(info[name], anchors={**own, **info[name].anchors})
        relations = pattern.relations
        seams = {
            name: replace(one, check=True) if name in self.walked else one
            for name, one in relations.seams.items()
        }
        if self.turned:
            seams |= {name: turned_seam(seams[name]) for name in self.shared}
        seam = seams[self.plan.seam]
        if seam.hold is None:
            seams[seam.name] = replace(seam, hold=self.plan.lower)
        relations = replace(
            relations,
            blend=self.plan,
            seams=seams,
            girths={**{one.name: one for one in self.girths}, **relations.girths},
            places={**{one.piece: one for one in self.places}, **relations.places},
        )
        laid = put_levels(pattern, self.levels)
        return replace(laid, info=info, lay_on=self.lay_on, relations=relations)


def find_blendings(
    pattern: PatternSet,
    hip_along: float | None = None,
    no_waist: frozenset[str] = frozenset(),
) -> tuple[Blending, ...]:
    """Every way in which a joined set can be blended, the likeliest first.

    Parameters
    ----------
    pattern : PatternSet
    hip_along : float or None
        How far the hip lies below the waist along the side, mm; else it is a pair of notches.
    no_waist : set of ``PIECE.EDGE``
        Edges that are known to lie at no waist, such as a hem.
    """
    if pattern.relations.blend is not None:
        return ()
    return tuple(
        found
        for way in sort_ways(pattern, no_waist)
        for found in _list_blendings(pattern, way, hip_along)
    )


# ------------------------------------------------------------------------------- one way


def _list_blendings(
    pattern: PatternSet, way: SideWay, hip_along: float | None
) -> Iterator[Blending]:
    """One for each place where the hip may be, the likeliest first."""
    tops = find_tops(way)
    if tops is None:
        return
    crotch, inseam = _find_crotch(pattern, way)
    parts = _find_parts(pattern, way)
    lead = way.sides[0].lead
    plan = BlendPlan(
        WAIST,
        HIP,
        tuple(
            BlendMain(side.silhouette.name, way.across(side), way.centre(side), side.edge, HIP, HIP)
            for side in way.sides
        ),
        way.seam.name,
    )
    runs = tuple(
        tuple(part.span for part in side.silhouette.segments[way.across(side)])
        for side in way.sides
    )
    names = tuple(side.silhouette.name for side in way.sides)
    girths = (Girth(WAIST, runs=runs), Girth(HIP, level=HIP, silhouettes=names))
    anchors: dict[str, dict[str, str]] = {}
    for span in parts.values():  # the mark of a part is measured from the end it is sewn up to
        mark, end = span.begin, span.end
        if mark in ("start", "end"):
            mark, end = end, mark
        anchors.setdefault(span.piece, {}).setdefault(mark, f"{span.edge}.{end}")
    for hip in list_hips(pattern, way, tops, hip_along):
        levels = {WAIST: _carry_level(pattern, way, tops[lead], hip.at), HIP: hip.at}
        if crotch is not None:
            levels[CROTCH] = _carry_level(pattern, way, crotch, hip.at)
        leg = None if crotch is None else find_leg(pattern, way, inseam, levels[CROTCH])
        if leg is not None:
            levels |= leg.levels
        lacking: dict[str, dict[str, Mapping[str, Point]]] = {}
        for name, on in levels.items():
            for piece, at in on.items():
                if name not in pattern.sized(piece, pattern.base).levels:
                    lacking.setdefault(name, {})[piece] = at
        yield Blending(
            plan if leg is None else replace(plan, leg=leg.plan),
            lacking,
            HIP if crotch is None else CROTCH,
            anchors,
            girths,
            tuple(_list_places(pattern, way, parts)),
            tuple(parts),
            {piece: (mark, hip.below[piece]) for piece, mark in hip.marks.items()},
            hip.along,
            _cut_runs(way, hip.marks),
            tuple(_list_shared(pattern, way)),
            {} if leg is None else leg.marks,
        )


def _cut_runs(way: SideWay, marks: Mapping[str, str | None]) -> tuple[Run, Run]:
    """Both sides, the lead's first: along the waist and down the side to the mark of the hip."""
    found = []
    for run, side in zip((way.seam.lead, way.seam.follow), way.sides, strict=True):
        down, name = run if way.at_begin else reverse_run(run), marks[side.lead]
        if name is not None:
            edge = f"{side.lead}.{side.silhouette.base.landmark(name).edge}"
            at = next(k for k, span in enumerate(down) if span.key == edge)
            down = (*down[:at], replace(down[at], end=name))
        waist = tuple(part.span for part in side.silhouette.segments[way.across(side)])
        before = way.at_begin != side.turned
        found.append((*(waist if before else reverse_run(waist)), *down))
    return found[0], found[1]


def _list_shared(pattern: PatternSet, way: SideWay) -> Iterator[str]:
    """Seams that lead from the first main to the second, the side seam among them."""
    first, second = (frozenset(side.silhouette.motions) for side in way.sides)
    for name, seam in pattern.relations.seams.items():
        if seam.check or seam.mirror:
            continue
        if {s.piece for s in seam.lead} <= first and {s.piece for s in seam.follow} <= second:
            yield name


def _carry_level(
    pattern: PatternSet, way: SideWay, mark: str, hip: Mapping[str, Mapping[str, Point]]
) -> dict[str, dict[str, Point]]:
    """A level through a landmark of the first main, as far from the hip on the other."""
    found: dict[str, dict[str, Point]] = {side.lead: {} for side in way.sides}
    first = way.sides[0]
    for size in pattern.sizes:
        sized = pattern.sized(first.lead, size)
        at = np.asarray(hip[first.lead][size])
        drop = float((np.asarray(sized.landmark(mark).point) - at) @ way.up(first, sized))
        for side in way.sides:
            up = way.up(side, pattern.sized(side.lead, size))
            at_hip = np.asarray(hip[side.lead][size])
            found[side.lead][size] = round_point(at_hip + drop * up)
    return found


def _find_crotch(pattern: PatternSet, way: SideWay) -> tuple[str | None, dict[str, str]]:
    """The landmark of the first main at which a second seam of the two begins at its centre.

    With the edge of that seam on each silhouette.
    """
    mains = {side.silhouette.name: way.centre(side) for side in way.sides}
    first = way.sides[0].silhouette
    for seam in pattern.relations.seams.values():
        sides = find_sides(pattern, seam) if seam.name != way.seam.name else None
        if sides is None or {side.silhouette.name for side in sides} != set(mains):
            continue
        own = next(side for side in sides if side.silhouette.name == first.name)
        for at_begin in (True, False):
            if all(s.beside(1, at_begin=at_begin) == mains[s.silhouette.name] for s in sides):
                edges = {side.silhouette.name: side.edge for side in sides}
                return find_end(first, own.edge, mains[first.name]), edges
    return None, {}


def _find_parts(pattern: PatternSet, way: SideWay) -> dict[str, Span]:
    """Seams to a part of a centre, from a mark to an end of it, as a fly has them."""
    centres = {
        part.span.key for side in way.sides for part in side.silhouette.segments[way.centre(side)]
    }
    return {
        name: seam.lead[0]
        for name, seam in pattern.relations.seams.items()
        if len(seam.lead) == 1
        and seam.lead[0].key in centres
        and len({seam.lead[0].begin, seam.lead[0].end} & {"start", "end"}) == 1
    }


def _list_places(pattern: PatternSet, way: SideWay, walked: Collection[str]) -> Iterator[Place]:
    """Pieces that nothing carries a change to; one that all sizes share needs no place."""
    held = pattern.relations
    carried = {piece for side in way.sides for piece in side.silhouette.motions}
    carried |= held.derived.keys()
    carried |= {layer.piece for stack in held.stacks.values() for layer in stack.layers}
    seams = [one for name, one in held.seams.items() if not one.check and name not in walked]
    while True:  # what follows a piece that nothing is carried to stays with it
        more = {
            span.piece
            for seam in seams
            if any(span.piece in carried for span in seam.lead)
            for span in seam.follow
        }
        more |= {
            band.piece
            for band in held.bands.values()
            if any(span.piece in carried for zone in band.zones for span in zone.run)
        }
        if more <= carried:
            break
        carried |= more
    for name in pattern.pieces:
        if name in carried or name in held.places:
            continue
        outlines = [pattern.sized(name, size).outline for size in pattern.sizes]
        own = [points - points.min(axis=0) for points in outlines]
        if any(
            one.shape != own[0].shape or float(np.abs(one - own[0]).max()) > SHARED_MM
            for one in own[1:]
        ):
            yield Place(name, WAIST)
