"""Sizes of a piece laid on each other for a blend by level; places of pieces without a level."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from propagate.engine.job import Job
from propagate.engine.record import EDIT, Change, ChangeKind
from propagate.errors import EditError
from propagate.geometry.crossing import line_crossings
from propagate.geometry.fade import smoothstep
from propagate.geometry.polyline import point_at
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import level_node
from propagate.pattern.relations import Place, Span
from propagate.tolerances import DRAWN_MM
from propagate.values import dataclass

__all__ = ["LaidSizes", "lay_sizes", "level_changes", "with_places"]


@dataclass(frozen=True)
class LaidSizes:
    """A piece in the sizes that it is blended from, laid on each other.

    Attributes
    ----------
    levels : tuple of (height, size)
        Ascending, along the grain of the piece in the size of the job.
    pieces : mapping of size to (piece, (2,) shift into the frame of the job's size)
    by_centre : bool
        Laid by the centre; else by the middle of the width.
    """

    levels: tuple[tuple[float, str], ...]
    pieces: Mapping[str, tuple[SizedPiece, Array]]
    by_centre: bool = True

    def shares(self, heights: Array) -> dict[str, Array]:
        """How much of each size a point at a height has: smoothly from level to level."""
        at = np.array([height for height, _ in self.levels])
        found = {size: np.zeros(len(heights)) for _, size in self.levels}
        cell = np.searchsorted(at, heights, side="right")
        for k, (_, size) in enumerate(self.levels):
            weight = np.zeros(len(heights))
            if k > 0:
                inside = cell == k
                weight[inside] = smoothstep((heights[inside] - at[k - 1]) / (at[k] - at[k - 1]))
            else:
                weight[cell == 0] = 1.0
            if k + 1 < len(at):
                inside = cell == k + 1
                weight[inside] = 1.0 - smoothstep((heights[inside] - at[k]) / (at[k + 1] - at[k]))
            else:
                weight[cell == k + 1] = 1.0
            found[size] += weight
        return found

    def whole(self, heights: Array) -> str | None:
        """The one size that everything at some heights has; None where there are several."""
        found = [size for size, share in self.shares(heights).items() if (share == 1.0).all()]
        return found[0] if found else None


def lay_sizes(pattern: PatternSet, name: str, sizes: Mapping[str, str], size: str) -> LaidSizes:
    """Lay the sizes that a piece is blended from on that of the job, by centre and lay level.

    Raises
    ------
    EditError
        When the grain of one lies at an angle to that of another.
    """
    base = pattern.sized(name, size)
    grain = base.grain.direction
    levels = sorted(
        (float(np.dot(base.levels[level], grain)), given)
        for level, given in sizes.items()
        if level in base.levels
    )
    used = dict.fromkeys([size, *(given for _, given in levels)])
    lay = pattern.lay_on if pattern.lay_on in base.levels else None
    lay = lay or next((level for level in sizes if level in base.levels), None)
    if lay is None:
        return LaidSizes((), {})
    centre = _find_centre(pattern, name)
    own = _find_anchor(pattern, name, size, lay, centre)
    pieces = {}
    for other in used:
        piece = pattern.sized(name, other)
        x, y = piece.grain.direction
        if abs(float(x * grain[1] - y * grain[0])) > _GRAIN:
            raise EditError(
                f"set '{pattern.name}', piece '{name}': found the grain of size '{other}' at an "
                f"angle to that of size '{size}', expected them alike; turn one of the two"
            )
        pieces[other] = (piece, own - _find_anchor(pattern, name, other, lay, centre))
    return LaidSizes(tuple(levels), pieces, centre is not None)


_GRAIN = 1e-3
"""Radians; grains that differ by more are not drawn alike."""
_UPRIGHT = 0.985
"""An edge within 10 degrees of the grain may be a centre."""


def _find_centre(pattern: PatternSet, name: str) -> str | None:
    """The edge on which the sizes are laid: the fold, else the longest on the grain, a free one.

    Of two that are alike, as of a pocket or a panel of a bag, neither is a centre.
    """
    info, piece = pattern.info[name], pattern.sized(name, pattern.base)
    if info.fold is not None:
        return info.fold
    sewn = {
        span.key
        for seam in pattern.relations.seams.values()
        if not seam.mirror
        for span in (*seam.lead, *seam.follow)
    }
    found = []
    for edge in piece.edges:
        chord = edge.points[-1] - edge.points[0]
        along, far = abs(float(chord @ piece.grain.direction)), float(np.hypot(*chord))
        free = f"{name}.{edge.name}" not in sewn
        # One that a band or a zip is sewn to is a centre where it is drawn straight on the grain.
        if along >= _UPRIGHT * far if free else along >= edge.length * (1.0 - _GRAIN**2):
            found.append((free, far, edge.name))
    best = sorted(found)[-2:]
    alike = len(best) == 2 and best[0][0] == best[1][0] and best[1][1] - best[0][1] <= DRAWN_MM
    return None if alike or not best else best[-1][2]


def _find_anchor(pattern: PatternSet, name: str, size: str, lay: str, centre: str | None) -> Array:
    """(2,) place by which a size is laid: the centre, or the middle, on the lay level."""
    piece = pattern.sized(name, size)
    grain = piece.grain.direction
    square = np.array([-grain[1], grain[0]])
    at = np.asarray(piece.levels[lay])
    height = float(at @ grain)
    outline = np.vstack([piece.outline, piece.outline[:1]])
    line = outline if centre is None else piece.edge(centre).points
    hits = [point_at(line, hit) for hit in line_crossings(line, at, square)]
    if not hits:  # the level lies beyond the edge: its nearer end
        ends = line[[0, -1]]
        hits = [ends[int(np.abs(ends @ grain - height).argmin())]]
    across = [float(hit @ square) for hit in hits]
    return np.asarray((min(across) + max(across)) / 2.0 * square + height * grain)


def level_changes(job: Job) -> list[Change]:
    """What it changed that levels were given sizes of their own, as nodes of the graph."""
    return [
        Change(level_node(level), ChangeKind.LEVEL_SIZE, f"size {size} at level '{level}'", EDIT)
        for level, size in job.levels.items()
        if size != job.size
    ]


def with_places(pattern: PatternSet, sizes: Mapping[str, str], size: str) -> PatternSet:
    """Return the set with a place for each piece without a level: the level of what it is sewn to.

    A collar on its stand, a cuff on its sleeve goes with that piece.  Where the set says a place
    itself, that holds; for a piece with levels none does.  A derived piece is taken in the size of
    its main piece.
    """
    laid = {name: lay_sizes(pattern, name, sizes, size) for name in pattern.pieces}
    said = pattern.relations.places
    places = {name: one for name, one in said.items() if not laid[one.piece].levels}
    known = {one.piece for one in places.values()}
    for name, one in laid.items():
        if not one.levels and name not in known and name not in pattern.relations.derived:
            level = _level_sewn_to(pattern, name, laid, sizes, size)
            if level is not None:
                places[name] = Place(name, level)
    left = laid.keys() - {name for name, one in laid.items() if one.levels}
    left -= pattern.relations.derived.keys()
    while True:
        levels = {one.piece: one.level for one in places.values()}
        sewn = {name: _level_placed(pattern, name, levels, size) for name in left - levels.keys()}
        more = {name: Place(name, level) for name, level in sewn.items() if level is not None}
        if not more:
            break
        places |= {name: more[name] for name in laid if name in more}
    return replace(pattern, relations=replace(pattern.relations, places=places))


def _level_sewn_to(
    pattern: PatternSet,
    name: str,
    laid: Mapping[str, LaidSizes],
    sizes: Mapping[str, str],
    size: str,
) -> str | None:
    """The level nearest to the middle of what a piece is sewn to; None where it is to nothing."""
    found: list[tuple[float, str]] = []
    for span in _list_sewn_to(pattern, name):
        piece = pattern.sized(span.piece, size)
        if not laid[span.piece].levels:
            continue
        edge = piece.edge(span.edge)
        middle = point_at(edge.points, edge.length / 2.0)
        for level in sizes:
            if level in piece.levels:
                away = float(
                    np.dot(middle - np.asarray(piece.levels[level]), piece.grain.direction)
                )
                found.append((abs(away), level))
    return min(found)[1] if found else None


def _level_placed(
    pattern: PatternSet, name: str, levels: Mapping[str, str], size: str
) -> str | None:
    """The level of the pieces that have a place, to which most of a piece is sewn; else None."""
    sewn: dict[str, float] = {}
    for span in _list_sewn_to(pattern, name):
        if span.piece in levels:
            level = levels[span.piece]
            long = pattern.sized(span.piece, size).edge(span.edge).length
            sewn[level] = sewn.get(level, 0.0) + long
    return max(sewn, key=lambda level: (sewn[level], level)) if sewn else None


def _list_sewn_to(pattern: PatternSet, name: str) -> list[Span]:
    """What a piece is sewn to, by seams and as a band."""
    relations = pattern.relations
    joins = [(seam.lead, seam.follow) for seam in relations.seams.values()]
    for band in relations.bands.values():
        runs = tuple(span for zone in band.zones for span in zone.run)
        joins.append((runs, (Span(band.piece, band.sewn),)))
    sides = [side for lead, follow in joins for side in ((lead, follow), (follow, lead))]
    return [span for ours, theirs in sides if name in {s.piece for s in ours} for span in theirs]
