"""A silhouette under edit: new edges, and where each stretch of them came from.

Every stretch of a new edge names its source (a silhouette in some size, with the
motion that laid it here) and the part of the source's edge that it stands for, so that
landmarks keep their identity whatever was redrawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.tape import Silhouette
from propagate.geometry.crossing import line_crossings
from propagate.geometry.motion import IDENTITY, Motion
from propagate.geometry.polyline import point_at
from propagate.pattern.model import Edge
from propagate.tolerances import DECIMALS, DRAWN_MM, ON_LINE_MM
from propagate.values import dataclass

__all__ = [
    "Edited",
    "Placed",
    "Region",
    "Source",
    "Stretch",
    "rounded",
    "share_corners",
    "start_edit",
]

Array = npt.NDArray[np.float64]

_SLACK_MM = 1e-3


def rounded(points: npt.ArrayLike) -> Array:
    """Round coordinates made here to a nanometre; minus zero becomes zero."""
    return np.asarray(np.asarray(points, dtype=np.float64).round(DECIMALS) + 0.0)


def share_corners(edges: Sequence[Edge], old: Sequence[Edge] | None = None) -> tuple[Edge, ...]:
    """Give neighbours the same corner, digit for digit; a changed edge gives way.

    Parameters
    ----------
    edges : sequence of Edge
        Round the outline.
    old : sequence of Edge or None
        Those that are still these very objects are unchanged; None: all have changed.
        Of two changed ones the second takes the end of the first.
    """
    shared, count = list(edges), len(edges)
    for i in range(count):
        j = (i + 1) % count
        if shared[i].points[-1].tolist() == shared[j].points[0].tolist():
            continue
        first_gives = old is not None and shared[j] is old[j] and shared[i] is not old[i]
        give, at, point = (
            (i, -1, shared[j].points[0]) if first_gives else (j, 0, shared[i].points[-1])
        )
        points = shared[give].points.copy()
        points[at] = point
        shared[give] = Edge(shared[give].name, points, shared[give].turns)
    return tuple(shared)


@dataclass(frozen=True)
class Source:
    """A silhouette in one size and the motion that laid it into the edit's frame."""

    silhouette: Silhouette
    size: str
    motion: Motion = IDENTITY


@dataclass(frozen=True)
class Stretch:
    """A part of a new edge and the part of a source's edge that it stands for.

    Attributes
    ----------
    source : str
        Key into `Edited.sources`.
    here, there : (begin, end)
        Distances along the new edge and along the source's edge, mm, both ascending.
    kept : bool
        The stretch is the source's, digit for digit.
    """

    source: str
    here: tuple[float, float]
    there: tuple[float, float]
    kept: bool = False

    def carry(self, distance: float) -> float | None:
        """Distance here for a distance there; None when it lies outside.

        A mark drawn within the precision of a drawing of a hold is on the side that was kept.
        """
        first, last = self.there
        slack = DRAWN_MM if self.kept else _SLACK_MM
        if not first - slack <= distance <= last + slack:
            return None
        share = (distance - first) / max(last - first, 1e-12)
        if self.kept:
            return self.here[0] + (distance - first)
        return self.here[0] + min(max(share, 0.0), 1.0) * (self.here[1] - self.here[0])


@dataclass(frozen=True)
class Region:
    """Where what lies inside the pieces comes from another source.

    Attributes
    ----------
    source : str
    height : float
        Position along the grain, mm.
    side : +1 or -1
        The region lies where ``side * (position - height) > 0``.
    stays : frozenset of str
        Levels that are the lower size's wherever they lie.
    """

    source: str
    height: float
    side: float
    stays: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Placed:
    """Where a landmark lies after an edit, and the source it came from.

    `kept` says that it lies where the lower size has it, on an edge that was not redrawn there.
    """

    edge: str
    distance: float
    point: Array
    source: str
    kept: bool = False


@dataclass(frozen=True)
class Edited:
    """A silhouette under edit.

    Attributes
    ----------
    base : Silhouette
        The silhouette that was edited (the lower size); its frame holds.
    edges : tuple of Edge
        New edges, counter-clockwise, same names as the base's.
    stretches : mapping of edge name to stretches in edge order
    sources : mapping of key to Source
        ``lower`` is always there.
    changed : frozenset of edge names
    regions : tuple of Region
        Darts, internal lines, drill marks and levels inside a region follow its source.
    """

    base: Silhouette
    edges: tuple[Edge, ...]
    stretches: Mapping[str, tuple[Stretch, ...]]
    sources: Mapping[str, Source]
    changed: frozenset[str] = frozenset()
    regions: tuple[Region, ...] = ()

    @cached_property
    def _index(self) -> dict[str, Edge]:
        return {edge.name: edge for edge in self.edges}

    def edge(self, name: str) -> Edge:
        """Return a new edge by name."""
        return self._index[name]

    @cached_property
    def outline(self) -> Array:
        """(n, 2) closed outline without the repeated last point, mm."""
        return np.concatenate([edge.points[:-1] for edge in self.edges])

    @cached_property
    def area(self) -> shapely.Polygon:
        """What the outline encloses."""
        return shapely.polygons(self.outline)

    @cached_property
    def crosses_itself(self) -> bool:
        """Whether the outline is none that could be cut out."""
        return not self.area.is_valid

    def sizes_between(self, edge: str, begin: float, end: float) -> set[str]:
        """Sizes that give an edge between two distances along it, mm, in either order."""
        low, high = sorted((begin, end))
        return {
            self.sources[stretch.source].size
            for stretch in self.stretches[edge]
            if min(high, stretch.here[1]) - max(low, stretch.here[0]) > ON_LINE_MM
        }

    def with_edges(
        self,
        edges: Iterable[Edge],
        stretches: Mapping[str, tuple[Stretch, ...]],
        sources: Mapping[str, Source],
        region: Region | None,
    ) -> Edited:
        """Replace edges; those equal to the base's do not count as changed."""
        new = {edge.name: edge for edge in edges}
        merged = tuple(new.get(edge.name, edge) for edge in self.edges)
        changed = {edge.name for edge in merged if edge != self.base.edge(edge.name)}
        return replace(
            self,
            edges=merged,
            stretches={**self.stretches, **stretches},
            sources={**self.sources, **sources},
            changed=frozenset(changed),
            regions=self.regions if region is None else (*self.regions, region),
        )

    def place(self, piece: str, landmark: str, *, anchor: str | None = None) -> Placed | None:
        """Where a landmark of a piece lies after the edit.

        Parameters
        ----------
        piece, landmark : str
        anchor : "start", "end" or None
            End of the *silhouette edge* from which it keeps the distance it has in the
            size that this end came from.

        Returns
        -------
        Placed or None
            None when the landmark does not lie on the silhouette.
        """
        key = (piece, landmark, anchor)
        if key not in self._places:
            self._places[key] = self._find_place(piece, landmark, anchor)
        return self._places[key]

    @cached_property
    def _places(self) -> dict[tuple[str, str, str | None], Placed | None]:
        return {}

    def _find_place(self, piece: str, landmark: str, anchor: str | None) -> Placed | None:
        if anchor is not None:
            found = self._anchored(piece, landmark, anchor)
            if found is not None:
                return found
        fallback: tuple[str, float] | None = None
        # What is kept speaks first: a notch on the hold is the lower size's.
        for kept in (True, False):
            on_level = None if kept else self._on_level(piece, landmark)
            if on_level is not None:
                return on_level
            for key, source in self.sources.items():
                there = source.silhouette.place(piece, landmark)
                if there is None:
                    continue
                edge, distance = there
                for stretch in self.stretches[edge]:
                    if stretch.source != key or stretch.kept is not kept:
                        continue
                    here = stretch.carry(distance)
                    if here is not None:
                        point = self._point(edge, here, stretch, source, piece, landmark)
                        return Placed(edge, here, point, key, kept and key == "lower")
                if key == "lower":
                    fallback = there
        if fallback is None:
            return None
        edge, distance = fallback
        here = self._beside_kept(edge, distance)
        return Placed(edge, here, rounded(point_at(self.edge(edge).points, here)), "lower")

    def _on_level(self, piece: str, landmark: str) -> Placed | None:
        """Where an edge that was drawn anew meets the level that its mark lay on.

        Only of levels that stay the lower size's: a notch at the hip marks that hip.
        """
        there = self.base.place(piece, landmark)
        names = {name for region in self.regions for name in region.stays}
        if there is None or there[0] not in self.changed or not names:
            return None
        lead, edge = self.base.base, there[0]
        grain = lead.grain.direction
        own = self.base.motions[piece].apply(self.base.sized[piece].landmark(landmark).point)
        heights = [float(np.dot(lead.levels[n], grain)) for n in sorted(names & set(lead.levels))]
        for height in heights:
            if abs(float(own @ grain) - height) > DRAWN_MM:
                continue
            points = self.edge(edge).points
            across = np.array([-grain[1], grain[0]])
            hits = line_crossings(points, height * grain, across)
            if len(hits):
                near = float(hits[np.abs(hits - self._beside_kept(*there)).argmin()])
                return Placed(edge, near, rounded(point_at(points, near)), "lower")
        return None

    def _beside_kept(self, edge: str, distance: float) -> float:
        """Distance of a mark of the lower size that lies where the edge was drawn anew.

        It keeps its distance from the stretch that was kept, wherever the edge begins.
        """
        kept = [s for s in self.stretches[edge] if s.kept and s.source == "lower"]
        size = self.edge(edge).length
        if not kept:
            return min(distance, size)
        near = min(kept, key=lambda s: max(s.there[0] - distance, distance - s.there[1]))
        end = 0 if distance < near.there[0] else 1
        return min(max(near.here[end] + distance - near.there[end], 0.0), size)

    def _point(
        self, edge: str, here: float, stretch: Stretch, source: Source, piece: str, landmark: str
    ) -> Array:
        if stretch.kept and source.motion is IDENTITY:
            own = source.silhouette.sized[piece].landmark(landmark).point
            return source.silhouette.motions[piece].apply(own)
        return rounded(point_at(self.edge(edge).points, here))

    def _anchored(self, piece: str, landmark: str, anchor: str) -> Placed | None:
        base = self.base.place(piece, landmark)
        if base is None:
            return None
        edge = base[0]
        stretch = self.stretches[edge][0 if anchor == "start" else -1]
        source = self.sources[stretch.source]
        there = source.silhouette.place(piece, landmark)
        if there is None:
            return None
        distance = there[1]
        if anchor == "end":
            from_end = source.silhouette.edge(edge).length - distance
            distance = self.edge(edge).length - from_end
        point = rounded(point_at(self.edge(edge).points, distance))
        kept = stretch.kept and stretch.source == "lower"
        kept = kept and stretch.carry(there[1]) is not None
        return Placed(edge, distance, point, stretch.source, kept)


def start_edit(base: Silhouette, size: str) -> Edited:
    """Begin an edit: every edge is kept as it is."""
    stretches = {
        edge.name: (Stretch("lower", (0.0, edge.length), (0.0, edge.length), kept=True),)
        for edge in base.edges
    }
    return Edited(base, base.edges, stretches, {"lower": Source(base, size)})
