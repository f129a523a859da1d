"""What blending sizes needs to know, as far as the seams and notches of a joined set tell it.

The mains are the two silhouettes of a side seam: at its upper end an edge goes across the grain
from it to the centre on both, and is sewn to something.  The hip is a pair of notches on that
seam; where a second seam of the two begins at the centre, that is the crotch, on which the sizes
are laid, else they are laid on the hip (common practice, no source).  A level goes round the
body, so on the other main waist and crotch lie as far from the hip, wherever its corners are.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.review.taken import free_spans
from propagate.engine.tape import Silhouette, tape
from propagate.pattern.answers import backwards
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import BlendMain, BlendPlan, Girth, Place, Run, Seam, Span
from propagate.values import dataclass

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

__all__ = ["CROTCH", "HIP", "WAIST", "Blending", "blendings"]

WAIST, HIP, CROTCH = "waist", "hip", "crotch"
HIP_BELOW_MM = 205.0
"""How far the hip lies below the waist, mostly (common practice, no source)."""
_ACROSS = math.cos(math.radians(45.0))


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
    hip : mapping of piece to (landmark, mm below the top of its centre in the base size)
    """

    plan: BlendPlan
    levels: Mapping[str, Mapping[str, Mapping[str, Point]]]
    lay_on: str
    anchors: Mapping[str, Mapping[str, str]]
    girths: tuple[Girth, ...]
    places: tuple[Place, ...]
    walked: tuple[str, ...]
    hip: Mapping[str, tuple[str, float]]

    def put_on(self, pattern: PatternSet) -> PatternSet:
        """The set with all this; what it has already stays."""
        pieces, info = dict(pattern.pieces), dict(pattern.info)
        for name in pieces:
            drawn = {level: on[name] for level, on in self.levels.items() if name in on}
            if drawn:
                pieces[name] = _with_levels(pieces[name], drawn)
        for name, own in self.anchors.items():
            info[name] = replace(info[name], anchors={**own, **info[name].anchors})
        relations = self._added_to(pattern.relations)
        return replace(pattern, pieces=pieces, info=info, lay_on=self.lay_on, relations=relations)

    def _added_to(self, relations: Relations) -> Relations:
        seam = relations.seams[self.plan.seam]
        held = seam if seam.hold is not None else replace(seam, hold=self.plan.lower)
        seams = {
            name: replace(one, check=True) if name in self.walked else one
            for name, one in {**relations.seams, seam.name: held}.items()
        }
        return replace(
            relations,
            blend=self.plan,
            seams=seams,
            girths={**{one.name: one for one in self.girths}, **relations.girths},
            places={**{one.piece: one for one in self.places}, **relations.places},
        )


def _with_levels(piece: Piece, levels: Mapping[str, Mapping[str, Point]]) -> Piece:
    nest = {
        size: replace(sized, levels={**sized.levels, **{n: at[size] for n, at in levels.items()}})
        for size, sized in piece.nest.items()
    }
    return Piece(piece.name, nest)


@dataclass(frozen=True)
class _Side:
    """A side of a seam that is a whole edge of a silhouette; `turned` where it runs against it."""

    silhouette: Silhouette
    edge: str
    turned: bool

    def beside(self, steps: int, *, at_begin: bool) -> str:
        """The name of the edge so many steps on behind an end of the seam."""
        names = [edge.name for edge in self.silhouette.edges]
        on = -steps if at_begin != self.turned else steps
        return names[(names.index(self.edge) + on) % len(names)]


@dataclass(frozen=True)
class _Way:
    """A seam that may be the side seam, and which end of it is the upper one."""

    seam: Seam
    sides: tuple[_Side, _Side]
    at_begin: bool

    def across(self, side: _Side) -> str:
        return side.beside(1, at_begin=self.at_begin)

    def centre(self, side: _Side) -> str:
        return side.beside(2, at_begin=self.at_begin)

    def up(self, side: _Side, sized: SizedPiece) -> Array:
        """The direction along the grain of its piece, in any size, in which the upper end lies."""
        ends = (_corner(side, at_begin=at) for at in (not self.at_begin, self.at_begin))
        lower, upper = ends
        ahead = float((upper - lower) @ side.silhouette.base.grain.direction) > 0.0
        return np.asarray(sized.grain.direction) * (1.0 if ahead else -1.0)


def blendings(pattern: PatternSet) -> tuple[Blending, ...]:
    """Every way in which a joined set can be blended, the likeliest first."""
    if pattern.relations.blend is not None:
        return ()
    ways = sorted(_ways(pattern), key=lambda way: _unlikely(pattern, way))
    return tuple(found for way in ways for found in _of_way(pattern, way))


def _ways(pattern: PatternSet) -> Iterator[_Way]:
    for seam in pattern.relations.seams.values():
        sides = _sides(pattern, seam)
        if sides is None:
            continue
        for at_begin in (True, False):
            way = _Way(seam, sides, at_begin)
            if all(_looks_right(way, side) for side in sides):
                yield way


def _sides(pattern: PatternSet, seam: Seam) -> tuple[_Side, _Side] | None:
    if seam.mirror or seam.check:
        return None
    lead, follow = _side(pattern, seam.lead), _side(pattern, seam.follow)
    if lead is None or follow is None or lead.silhouette.name == follow.silhouette.name:
        return None
    return lead, follow


def _side(pattern: PatternSet, run: Run) -> _Side | None:
    """The silhouette and the edge of it that a run is."""
    assemblies = pattern.relations.assemblies
    for name, one in assemblies.items():
        for edge, own in one.edges.items():
            if own in (run, backwards(run)):
                return _Side(tape(pattern, name, pattern.base), edge, own != run)
    if len(run) != 1 or {run[0].begin, run[0].end} != {"start", "end"}:
        return None
    if any(one.lead == run[0].piece for one in assemblies.values()):
        return None
    return _Side(tape(pattern, run[0].piece, pattern.base), run[0].edge, run[0].begin == "end")


def _looks_right(way: _Way, side: _Side) -> bool:
    """Whether the side goes down, the edge at its upper end across, and one down beyond that."""
    if len(side.silhouette.edges) < 4:
        return False
    across, centre = way.across(side), way.centre(side)
    leans = [_along_grain(side.silhouette, edge) for edge in (side.edge, across, centre)]
    return leans[0] > _ACROSS and leans[1] < _ACROSS and leans[2] > _ACROSS


def _along_grain(silhouette: Silhouette, edge: str) -> float:
    points = silhouette.edge(edge).points
    chord = points[-1] - points[0]
    return abs(float(chord @ silhouette.base.grain.direction)) / float(np.hypot(*chord))


def _unlikely(pattern: PatternSet, way: _Way) -> tuple[bool, bool]:
    """What comes last: an upper edge that is sewn to nothing, and one that is drawn below."""
    free = free_spans(pattern)
    loose = [
        span.edge
        for side in way.sides
        for part in side.silhouette.segments[way.across(side)]
        for span in free.get(part.span.piece, ())
        if span.edge == part.span.edge
    ]
    first = way.sides[0]
    direction = first.silhouette.base.grain.direction
    return bool(loose), float(way.up(first, first.silhouette.base) @ direction) < 0.0


def _corner(side: _Side, *, at_begin: bool) -> Array:
    points = side.silhouette.edge(side.edge).points
    return np.asarray(points[0 if at_begin != side.turned else -1])


# ------------------------------------------------------------------------------- one way


def _of_way(pattern: PatternSet, way: _Way) -> Iterator[Blending]:
    tops = {}
    for side in way.sides:
        top = _landmark(side.silhouette, way.centre(side), way.across(side))
        if top is None:
            return
        tops[side.silhouette.lead] = top
    crotch, parts = _crotch(pattern, way), _parts_of_centres(pattern, way)
    found = [(marks, _below(way, marks, tops)) for marks in _notches(way)]
    lower = [(marks, mm) for marks, mm in found if min(mm.values()) > 0.0]
    lead = way.sides[0].silhouette.lead
    for marks, below in sorted(lower, key=lambda one: _far_from_hip(one[1])):
        hip = _points(pattern, marks)
        levels = {WAIST: _carried(pattern, way, tops[lead], hip), HIP: hip}
        if crotch is not None:
            levels[CROTCH] = _carried(pattern, way, crotch, hip)
        yield Blending(
            _plan(way),
            {name: bare for name, on in levels.items() if (bare := _not_drawn(pattern, name, on))},
            HIP if crotch is None else CROTCH,
            _anchors(parts),
            tuple(_girths(way)),
            tuple(_places(pattern, way, set(parts))),
            tuple(parts),
            {piece: (mark, below[piece]) for piece, mark in marks.items()},
        )


def _points(pattern: PatternSet, marks: Mapping[str, str]) -> dict[str, dict[str, Point]]:
    """Where landmarks are, by piece and size."""
    return {
        piece: {size: pattern.sized(piece, size).landmark(mark).point for size in pattern.sizes}
        for piece, mark in marks.items()
    }


def _carried(
    pattern: PatternSet, way: _Way, mark: str, hip: Mapping[str, Mapping[str, Point]]
) -> dict[str, dict[str, Point]]:
    """A level through a landmark of the first main, as far from the hip on the other."""
    found: dict[str, dict[str, Point]] = {side.silhouette.lead: {} for side in way.sides}
    first = way.sides[0]
    for size in pattern.sizes:
        sized = pattern.sized(first.silhouette.lead, size)
        at = np.asarray(hip[first.silhouette.lead][size])
        drop = float((np.asarray(sized.landmark(mark).point) - at) @ way.up(first, sized))
        for side in way.sides:
            name = side.silhouette.lead
            x, y = np.asarray(hip[name][size]) + drop * way.up(side, pattern.sized(name, size))
            found[name][size] = float(x), float(y)
    return found


def _plan(way: _Way) -> BlendPlan:
    mains = tuple(
        BlendMain(side.silhouette.name, way.across(side), way.centre(side), side.edge, HIP, HIP)
        for side in way.sides
    )
    return BlendPlan(WAIST, HIP, mains, way.seam.name)


def _landmark(silhouette: Silhouette, edge: str, beside: str) -> str | None:
    """The end of an edge at which another lies, as a landmark of the lead piece."""
    names = [one.name for one in silhouette.edges]
    first = names[(names.index(edge) - 1) % len(names)] == beside
    part = silhouette.segments[edge][0 if first else -1]
    if part.span.piece != silhouette.lead:
        return None
    mark = part.span.begin if first else part.span.end
    return f"{part.span.edge}.{mark}" if mark in ("start", "end") else mark


def _notches(way: _Way) -> Iterator[dict[str, str]]:
    """Pairs of notches on the side seam, each on the lead piece of its silhouette."""
    leads = [side.silhouette.lead for side in way.sides]
    for pair in way.seam.notches:
        found = dict(mark.split(".", 1) for mark in pair)
        if set(found) == set(leads):
            yield found


def _below(way: _Way, marks: Mapping[str, str], tops: Mapping[str, str]) -> dict[str, float]:
    """How far the notches lie below the tops of the centres, along the grain, mm."""
    found = {}
    for side in way.sides:
        base, lead = side.silhouette.base, side.silhouette.lead
        top, mark = (np.asarray(base.landmark(on[lead]).point) for on in (tops, marks))
        found[lead] = float((top - mark) @ way.up(side, base))
    return found


def _far_from_hip(below: Mapping[str, float]) -> float:
    return abs(sum(below.values()) / len(below) - HIP_BELOW_MM)


def _crotch(pattern: PatternSet, way: _Way) -> str | None:
    """The landmark of the first main at which a second seam of the two begins at its centre."""
    mains = {side.silhouette.name: way.centre(side) for side in way.sides}
    for seam in pattern.relations.seams.values():
        sides = _sides(pattern, seam) if seam.name != way.seam.name else None
        if sides is None or {side.silhouette.name for side in sides} != set(mains):
            continue
        for at_begin in (True, False):
            beside = [(side, side.beside(1, at_begin=at_begin)) for side in sides]
            if all(edge == mains[side.silhouette.name] for side, edge in beside):
                first = way.sides[0].silhouette
                own = next(side for side, _ in beside if side.silhouette.name == first.name)
                return _landmark(first, own.edge, mains[first.name])
    return None


def _parts_of_centres(pattern: PatternSet, way: _Way) -> dict[str, Span]:
    """Seams to a part of a centre, from a mark to an end of it, as a fly has them."""
    centres = {
        (part.span.piece, part.span.edge)
        for side in way.sides
        for part in side.silhouette.segments[way.centre(side)]
    }
    return {
        name: seam.lead[0]
        for name, seam in pattern.relations.seams.items()
        if len(seam.lead) == 1
        and (seam.lead[0].piece, seam.lead[0].edge) in centres
        and len({seam.lead[0].begin, seam.lead[0].end} & {"start", "end"}) == 1
    }


def _anchors(parts: Mapping[str, Span]) -> dict[str, dict[str, str]]:
    """The mark of each part, measured from the end that it is sewn up to."""
    found: dict[str, dict[str, str]] = {}
    for span in parts.values():
        mark, end = span.begin, span.end
        if mark in ("start", "end"):
            mark, end = end, mark
        found.setdefault(span.piece, {}).setdefault(mark, f"{span.edge}.{end}")
    return found


def _not_drawn(
    pattern: PatternSet, level: str, places: Mapping[str, Mapping[str, Point]]
) -> dict[str, Mapping[str, Point]]:
    return {
        piece: at
        for piece, at in places.items()
        if level not in pattern.sized(piece, pattern.base).levels
    }


def _girths(way: _Way) -> Iterator[Girth]:
    runs = tuple(
        tuple(part.span for part in side.silhouette.segments[way.across(side)])
        for side in way.sides
    )
    yield Girth(WAIST, runs=runs)
    yield Girth(HIP, level=HIP, silhouettes=tuple(side.silhouette.name for side in way.sides))


def _places(pattern: PatternSet, way: _Way, walked: Collection[str]) -> Iterator[Place]:
    """Pieces that nothing carries a change to; one that all sizes share needs no place."""
    held = pattern.relations
    carried = {piece for side in way.sides for piece in side.silhouette.motions}
    carried |= {band.piece for band in held.bands.values()}
    carried |= {layer.piece for stack in held.stacks.values() for layer in stack.layers}
    carried |= {
        span.piece
        for name, seam in held.seams.items()
        if not seam.check and name not in walked
        for span in seam.follow
    }
    carried |= set(held.places)
    for name in pattern.pieces:
        if name not in carried and _differs(pattern, name):
            yield Place(name, WAIST)


def _differs(pattern: PatternSet, name: str) -> bool:
    outlines = [pattern.sized(name, size).outline for size in pattern.sizes]
    own: Sequence[Array] = [points - points.min(axis=0) for points in outlines]
    return any(
        one.shape != own[0].shape or float(np.abs(one - own[0]).max()) > 0.05 for one in own[1:]
    )
