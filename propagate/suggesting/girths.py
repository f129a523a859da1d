"""The girths of a garment that was recognised, once its pieces are joined, each with its figures.

A kind of garment knows its girths: along which edges, or across which pieces on which level, and
how often the garment has them.  A level that is drawn by its name goes before one that lies so far
below an end of an edge.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.levels import girth_length, level_crossings
from propagate.engine.tape import tape
from propagate.geometry.arrays import Array
from propagate.pattern.garments import EdgeEnd, GirthKnown, Role
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth, Run
from propagate.suggesting.copies import find_copies
from propagate.suggesting.garments import Garment
from propagate.suggesting.levels import LevelPoints, Point, put_levels, round_point
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.roles import Cast
from propagate.suggesting.side_seams import HIP, WAIST
from propagate.tolerances import WALK_MM
from propagate.values import dataclass

__all__ = ["FoundGirth", "find_girths", "list_no_tops", "list_no_waist", "put_girths"]


@dataclass(frozen=True)
class FoundGirth:
    """A girth that a set may be measured by; a person says whether it is so.

    Attributes
    ----------
    girth : Girth
    parts : tuple of (Run or silhouette, (sizes,) array of mm)
        What is added up, in the order in which the girth names it.
    body : (sizes,) array of mm, or None
        Its row of the chart, where the garment is nowhere smaller.
    levels : mapping of piece to a point for each size, mm
        Of its level, where the pieces lack it.
    below : float
        How far that lies below its place, mm.
    place : str
        What the place is on the body.
    """

    girth: Girth
    parts: tuple[tuple[Run | str, Array], ...]
    body: Array | None
    levels: LevelPoints
    below: float
    place: str

    @property
    def totals(self) -> Array:
        """The girth in each size, mm."""
        return np.asarray(self.girth.times * np.sum([mm for _, mm in self.parts], axis=0))


def put_girths(pattern: PatternSet, found: Iterable[FoundGirth]) -> PatternSet:
    """The set with girths and their levels; one that had no level is laid on the first of them."""
    girths = dict(pattern.relations.girths)
    for one in found:
        girths[one.girth.name] = one.girth
        pattern = _lay_girth(pattern, one.girth, one.levels)
    drawn = [name for piece in pattern.pieces for name in pattern.sized(piece, pattern.base).levels]
    if drawn and pattern.lay_on not in drawn:
        pattern = replace(pattern, lay_on=drawn[0])
    return replace(pattern, relations=replace(pattern.relations, girths=girths))


def find_girths(pattern: PatternSet, garments: Iterable[Garment]) -> tuple[FoundGirth, ...]:
    """Find the girths of garments that the set does not have yet; what is not sewn has none.

    A set that has others than what blending goes by was told its girths by somebody.
    """
    found: dict[str, FoundGirth] = {}
    with_girths = [one for one in garments if one.kind.girths]
    if not with_girths or pattern.relations.girths.keys() - {WAIST, HIP}:
        return ()
    copies: dict[str, list[str]] = {}
    for copy, like in find_copies(measure_nest(pattern), marks=False).items():
        copies.setdefault(like.piece, []).append(copy)
    known = [_measure_girth(pattern, one) for one in pattern.relations.girths.values()]
    for garment in with_girths:
        for wanted in garment.kind.girths:
            if wanted.name in found:
                continue
            one = _find_girth(pattern, garment, wanted, copies)
            if one is None or one.girth.name in pattern.relations.girths:
                continue
            if not any(np.abs(one.totals - mm).max() <= WALK_MM for mm in known):
                found[wanted.name] = one
    return tuple(found.values())


def list_no_waist(garments: Iterable[Garment]) -> frozenset[str]:
    """Edges of garments that are known and lie at no waist, such as a hem, as ``PIECE.EDGE``."""
    found = set()
    for garment in garments:
        girths = garment.kind.girths
        waist = {(s.piece, s.edge) for one in girths if one.name == WAIST for s in one.runs}
        for role, cast in garment.cast.items() if girths else ():
            for edge, side in cast.sides.items():
                if (role, edge) not in waist:
                    found |= {f"{cast.piece}.{name}" for name in side.edges}
    return frozenset(found)


def list_no_tops(garments: Iterable[Garment]) -> frozenset[str]:
    """Pieces of garments that are known by their girths and have no bust."""
    return frozenset[str]().union(
        *(
            one.pieces
            for one in garments
            if one.kind.girths and all(girth.name != "bust" for girth in one.kind.girths)
        )
    )


def _measure_girth(pattern: PatternSet, girth: Girth) -> Array:
    return np.array([girth_length(pattern, girth, size) for size in pattern.sizes])


def _find_girth(
    pattern: PatternSet,
    garment: Garment,
    wanted: GirthKnown,
    copies: Mapping[str, Sequence[str]],
) -> FoundGirth | None:
    """A girth of one garment; None where its pieces do not show it."""
    cast = garment.cast
    if any(role in cast for role in wanted.unless) or not all(
        role in cast and edge in cast[role].sides for role, edge in wanted.between
    ):
        return None
    if any(
        role not in cast or _lacks_part(pattern, garment.kind.role(role), cast[role])
        for role in wanted.roles
    ):
        return None
    if any(span.edge not in cast[span.piece].sides for span in wanted.runs):
        return None
    pieces = [cast[role].piece for role in wanted.roles]
    times = pattern.info[pieces[0]].cut if wanted.times is None else wanted.times
    if not _are_sewn(pattern, pieces) or (wanted.times is None and times < 2):
        return None
    drawn = [copies.get(piece, ()) for piece in pieces]
    if times == 2 and any(drawn):
        return None  # both halves are drawn: which is which is told by hand
    if wanted.runs:
        runs = tuple(_run_along(pattern, cast[span.piece], span.edge) for span in wanted.runs)
        return _tell_figures(pattern, Girth(wanted.name, runs=runs, times=times), wanted, {})
    return _find_level(pattern, cast, wanted, times)


def _lacks_part(pattern: PatternSet, role: Role, cast: Cast) -> bool:
    """Whether the piece ends at the mouth of a pocket, behind which nothing is taped to it yet."""
    leads = {one.lead for one in pattern.relations.assemblies.values()}
    return bool(role.opening & cast.sides.keys()) and cast.piece not in leads


def _are_sewn(pattern: PatternSet, pieces: Sequence[str]) -> bool:
    """Whether seams join the pieces to one round; one alone is sewn to itself."""
    groups = [{piece} for piece in dict.fromkeys(pieces)]
    held = pattern.relations
    joined = [
        ({span.piece for span in seam.lead}, {span.piece for span in seam.follow})
        for seam in held.seams.values()
        if not (seam.mirror or seam.check)
    ]
    if len(groups) == 1:
        return any(groups[0] <= lead & follow for lead, follow in joined)
    for lead, follow in joined:
        touched = [group for group in groups if group & (lead | follow)]
        rest = [group for group in groups if group not in touched]
        groups = [*rest, set[str]().union(*touched)] if touched else rest
    return len(groups) == 1


def _silhouette_of(pattern: PatternSet, piece: str) -> str:
    """What is edited as a whole: the assembly that a piece leads, else the piece."""
    held = pattern.relations.assemblies.items()
    return next((name for name, one in held if one.lead == piece), piece)


def _run_along(pattern: PatternSet, cast: Cast, edge: str) -> Run:
    """An edge of a role on its piece; of an assembly, with what is taped to it."""
    own = cast.spans(edge, back=cast.turned)
    taped = pattern.relations.assemblies.get(_silhouette_of(pattern, cast.piece))
    for run in () if taped is None else taped.edges.values():
        if {span.key for span in own} <= {span.key for span in run}:
            return run
    return own


def _find_level(
    pattern: PatternSet, cast: Mapping[str, Cast], wanted: GirthKnown, times: int
) -> FoundGirth | None:
    """A girth across pieces: on a level that is drawn, else below the place that is known."""
    pieces = [cast[role].piece for role in wanted.across]
    silhouettes = tuple(_silhouette_of(pattern, piece) for piece in pieces)
    words = (wanted.name, *wanted.called)
    drawn = {
        word: [piece for piece in pieces if word in pattern.sized(piece, pattern.base).levels]
        for word in words
    }
    for word in words:
        if len(drawn[word]) == len(pieces):
            girth = Girth(word, level=word, silhouettes=silhouettes, times=times)
            return _tell_figures(pattern, girth, wanted, {})
    ends = [(cast[role], end) for role, end in wanted.across.items() if end is not None]
    if any(drawn.values()) or len(ends) < len(pieces):
        return None
    word = next((one for one in words if one in pattern.chart), wanted.name)
    levels = {own.piece: _lay_level(pattern, own, end, wanted.below) for own, end in ends}
    if any(not _is_clear(pattern, own, end, word, levels) for own, end in ends):
        return None
    girth = Girth(word, level=word, silhouettes=silhouettes, times=times)
    return _tell_figures(pattern, girth, wanted, levels)


def _lay_level(pattern: PatternSet, cast: Cast, end: EdgeEnd, below: float) -> dict[str, Point]:
    """Points so far below an end of a role's edge, along the grain, in each size."""
    here, there = _name_ends(cast, end)
    base = pattern.sized(cast.piece, pattern.base)
    down = np.subtract(base.landmark(there).point, base.landmark(here).point)
    sign = 1.0 if float(down @ base.grain.direction) > 0.0 else -1.0
    found = {}
    for size in pattern.sizes:
        sized = pattern.sized(cast.piece, size)
        at = np.asarray(sized.landmark(here).point)
        found[size] = round_point(at + sign * below * np.asarray(sized.grain.direction))
    return found


def _name_ends(cast: Cast, end: EdgeEnd) -> tuple[str, str]:
    """The landmark of an end of a role's edge, and that of its other end."""
    edge, at = end
    spans = cast.spans(edge, back=at == "end")
    return f"{spans[0].edge}.{spans[0].begin}", f"{spans[-1].edge}.{spans[-1].end}"


def _is_clear(
    pattern: PatternSet, cast: Cast, end: EdgeEnd, level: str, levels: LevelPoints
) -> bool:
    """Whether a level crosses the outline of a piece twice in every size, once on its edge."""
    laid = put_levels(pattern, {level: levels})
    own = cast.sides[end[0]].edges
    for size in pattern.sizes:
        sized = laid.sized(cast.piece, size)
        outline = tape(laid, _silhouette_of(pattern, cast.piece), size).outline
        closed = np.vstack([outline, outline[:1]])
        on_edge = [level_crossings(sized, level, sized.edge(edge).points) for edge in own]
        if sum(map(len, on_edge)) != 1 or len(level_crossings(sized, level, closed)) != 2:
            return False
    return True


def _lay_girth(pattern: PatternSet, girth: Girth, levels: LevelPoints) -> PatternSet:
    """The set with the level of a girth on the pieces that lack it."""
    return pattern if girth.level is None else put_levels(pattern, {girth.level: levels})


def _tell_figures(
    pattern: PatternSet, girth: Girth, wanted: GirthKnown, levels: LevelPoints
) -> FoundGirth:
    """A girth with what it measures, and the row of the chart that it is compared with."""
    laid = _lay_girth(pattern, girth, levels)
    own: list[tuple[Run | str, Girth]] = []
    own += [(run, replace(girth, runs=(run,), times=1)) for run in girth.runs]
    own += [(one, replace(girth, silhouettes=(one,), times=1)) for one in girth.silhouettes]
    parts = tuple((what, _measure_girth(laid, one)) for what, one in own)
    below, place = (wanted.below, wanted.place) if levels else (0.0, "")
    found = FoundGirth(girth, parts, None, levels, below, place)
    row = next((one for one in (girth.name, *wanted.called) if one in pattern.chart), None)
    if row is None:
        return found
    body = np.array([pattern.chart[row][size] for size in pattern.sizes])
    if (found.totals < body - WALK_MM).any():
        return found  # compared with a larger body it would be told as too tight, each time
    return replace(found, girth=replace(girth, chart=row), body=body)
