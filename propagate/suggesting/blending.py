"""What blending sizes needs to know, as far as the seams and notches of a joined set tell it.

The mains are the two silhouettes of a side seam: at its upper end an edge goes across the grain
from it to the centre on both, and is sewn to something.  The hip is a pair of notches on that
seam; where a second seam of the two begins at the centre, that is the crotch, on which the sizes
are laid, else they are laid on the hip (common practice, no source).  A level goes round the
body, so on the other main waist and crotch lie as far from the hip, wherever its corners are.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.review.taken import free_spans
from propagate.engine.tape import Silhouette, tape
from propagate.pattern.answers import reverse_run
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain, BlendPlan, Girth, Place, Run, Seam, Span
from propagate.suggesting.nest import measure_lean
from propagate.values import dataclass

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

__all__ = ["CROTCH", "HIP", "WAIST", "Blending", "find_blendings"]

WAIST, HIP, CROTCH = "waist", "hip", "crotch"
HIP_BELOW_MM = 205.0
"""How far the hip lies below the waist, mostly (common practice, no source)."""
SHARED_MM = 0.05
"""Sizes of a piece that differ by no more are drawn once for all."""
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
        for name, piece in pieces.items():
            drawn = {level: on[name] for level, on in self.levels.items() if name in on}
            if drawn:
                nest = {}
                for size, sized in piece.nest.items():
                    added = {level: at[size] for level, at in drawn.items()}
                    nest[size] = replace(sized, levels={**sized.levels, **added})
                pieces[name] = Piece(name, nest)
        for name, own in self.anchors.items():
            info[name] = replace(info[name], anchors={**own, **info[name].anchors})
        relations = pattern.relations
        seams = {
            name: replace(one, check=True) if name in self.walked else one
            for name, one in relations.seams.items()
        }
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
        return replace(pattern, pieces=pieces, info=info, lay_on=self.lay_on, relations=relations)


@dataclass(frozen=True)
class _Side:
    """A side of a seam that is a whole edge of a silhouette; `turned` where it runs against it."""

    silhouette: Silhouette
    edge: str
    turned: bool

    @property
    def lead(self) -> str:
        """The lead piece of the silhouette."""
        return self.silhouette.lead

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
        """The edge at the upper end of a side."""
        return side.beside(1, at_begin=self.at_begin)

    def centre(self, side: _Side) -> str:
        """The edge beyond that."""
        return side.beside(2, at_begin=self.at_begin)

    def up(self, side: _Side, sized: SizedPiece) -> Array:
        """The direction along the grain of its piece, in any size, in which the upper end lies."""
        points = side.silhouette.edge(side.edge).points
        chord = points[0] - points[-1] if self.at_begin != side.turned else points[-1] - points[0]
        ahead = float(chord @ side.silhouette.base.grain.direction) > 0.0
        return np.asarray(sized.grain.direction) * (1.0 if ahead else -1.0)


def find_blendings(pattern: PatternSet) -> tuple[Blending, ...]:
    """Every way in which a joined set can be blended, the likeliest first."""
    if pattern.relations.blend is not None:
        return ()
    free = {span.key for spans in free_spans(pattern).values() for span in spans}

    def rank(way: _Way) -> tuple[bool, bool]:
        """Last comes an upper edge that is sewn to nothing, and one that is drawn below."""
        parts = [part for s in way.sides for part in s.silhouette.segments[way.across(s)]]
        base = way.sides[0].silhouette.base
        below = float(way.up(way.sides[0], base) @ base.grain.direction) < 0.0
        return any(part.span.key in free for part in parts), below

    ways = sorted(_list_ways(pattern), key=rank)
    return tuple(found for way in ways for found in _list_blendings(pattern, way))


def _list_ways(pattern: PatternSet) -> Iterator[_Way]:
    """Seams of two silhouettes whose sides go down, across at the upper end, and down beyond."""
    for seam in pattern.relations.seams.values():
        sides = _find_sides(pattern, seam)
        if sides is None or any(len(side.silhouette.edges) < 4 for side in sides):
            continue
        for at_begin in (True, False):
            way = _Way(seam, sides, at_begin)
            leans = [
                measure_lean(
                    side.silhouette.edge(edge).points, side.silhouette.base.grain.direction
                )
                > _ACROSS
                for side in sides
                for edge in (side.edge, way.across(side), way.centre(side))
            ]
            if leans == [True, False, True] * 2:
                yield way


def _find_sides(pattern: PatternSet, seam: Seam) -> tuple[_Side, _Side] | None:
    if seam.mirror or seam.check:
        return None
    lead, follow = _find_side(pattern, seam.lead), _find_side(pattern, seam.follow)
    if lead is None or follow is None or lead.silhouette.name == follow.silhouette.name:
        return None
    return lead, follow


def _find_side(pattern: PatternSet, run: Run) -> _Side | None:
    """The silhouette and the edge of it that a run is."""
    assemblies = pattern.relations.assemblies
    for name, one in assemblies.items():
        for edge, own in one.edges.items():
            if own in (run, reverse_run(run)):
                return _Side(tape(pattern, name, pattern.base), edge, own != run)
    if len(run) != 1 or {run[0].begin, run[0].end} != {"start", "end"}:
        return None
    if any(one.lead == run[0].piece for one in assemblies.values()):
        return None
    return _Side(tape(pattern, run[0].piece, pattern.base), run[0].edge, run[0].begin == "end")


# ------------------------------------------------------------------------------- one way


def _list_blendings(pattern: PatternSet, way: _Way) -> Iterator[Blending]:
    """One for each pair of notches that may be the hip, the likeliest first."""
    tops: dict[str, str] = {}
    for side in way.sides:
        top = _find_end(side.silhouette, way.centre(side), way.across(side))
        if top is None:
            return
        tops[side.lead] = top
    crotch, parts = _find_crotch(pattern, way), _find_parts(pattern, way)
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
    for marks, below in _list_hips(way, tops):
        hip = {
            piece: {size: pattern.sized(piece, size).landmark(mark).point for size in pattern.sizes}
            for piece, mark in marks.items()
        }
        levels = {WAIST: _carry_level(pattern, way, tops[lead], hip), HIP: hip}
        if crotch is not None:
            levels[CROTCH] = _carry_level(pattern, way, crotch, hip)
        lacking: dict[str, dict[str, dict[str, Point]]] = {}
        for name, on in levels.items():
            for piece, at in on.items():
                if name not in pattern.sized(piece, pattern.base).levels:
                    lacking.setdefault(name, {})[piece] = at
        yield Blending(
            plan,
            lacking,
            HIP if crotch is None else CROTCH,
            anchors,
            girths,
            tuple(_list_places(pattern, way, parts)),
            tuple(parts),
            {piece: (mark, below[piece]) for piece, mark in marks.items()},
        )


def _list_hips(way: _Way, tops: Mapping[str, str]) -> list[tuple[dict[str, str], dict[str, float]]]:
    """Pairs of notches on the side seam, each on its lead piece, by how likely they are the hip.

    With how far they lie below the tops of the centres, along the grain, mm.
    """
    found = []
    for pair in way.seam.notches:
        marks = dict(mark.split(".", 1) for mark in pair)
        if set(marks) != set(tops):
            continue
        below = {}
        for side in way.sides:
            base, lead = side.silhouette.base, side.lead
            top, mark = (np.asarray(base.landmark(on[lead]).point) for on in (tops, marks))
            below[lead] = float((top - mark) @ way.up(side, base))
        if min(below.values()) > 0.0:
            found.append((marks, below))
    return sorted(found, key=lambda one: abs(sum(one[1].values()) / len(one[1]) - HIP_BELOW_MM))


def _carry_level(
    pattern: PatternSet, way: _Way, mark: str, hip: Mapping[str, Mapping[str, Point]]
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
            x, y = np.asarray(hip[side.lead][size]) + drop * up
            found[side.lead][size] = float(x), float(y)
    return found


def _find_end(silhouette: Silhouette, edge: str, beside: str) -> str | None:
    """The end of an edge at which another lies, as a landmark of the lead piece."""
    names = [one.name for one in silhouette.edges]
    first = names[(names.index(edge) - 1) % len(names)] == beside
    part = silhouette.segments[edge][0 if first else -1]
    if part.span.piece != silhouette.lead:
        return None
    mark = part.span.begin if first else part.span.end
    return f"{part.span.edge}.{mark}" if mark in ("start", "end") else mark


def _find_crotch(pattern: PatternSet, way: _Way) -> str | None:
    """The landmark of the first main at which a second seam of the two begins at its centre."""
    mains = {side.silhouette.name: way.centre(side) for side in way.sides}
    first = way.sides[0].silhouette
    for seam in pattern.relations.seams.values():
        sides = _find_sides(pattern, seam) if seam.name != way.seam.name else None
        if sides is None or {side.silhouette.name for side in sides} != set(mains):
            continue
        own = next(side for side in sides if side.silhouette.name == first.name)
        for at_begin in (True, False):
            if all(s.beside(1, at_begin=at_begin) == mains[s.silhouette.name] for s in sides):
                return _find_end(first, own.edge, mains[first.name])
    return None


def _find_parts(pattern: PatternSet, way: _Way) -> dict[str, Span]:
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


def _list_places(pattern: PatternSet, way: _Way, walked: Collection[str]) -> Iterator[Place]:
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
