"""An opening on the outline that its pieces make when they are taped: where its ends can lie."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.edits.nearest import largest_share
from propagate.engine.job import Job
from propagate.engine.laying import starts_at
from propagate.engine.marks_on_lines import kept_place, nearest_place, put_mark
from propagate.engine.relations.cut import cut_segment
from propagate.engine.relations.given_layer import put_motion
from propagate.engine.relations.opening import swing_to
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.state import Split
from propagate.engine.tape import Silhouette, edge_from_parts, tape
from propagate.errors import EditError
from propagate.geometry.crossing import line_crossings
from propagate.geometry.polyline import locate, locate_all, point_at
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.pattern.relations import Opening
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["LEAST_MM", "OpeningAt"]

LEAST_MM = 5.0
"""An opening's end stays so far from the corners of the outline, and an opening is as long."""
_STEPS = 200
_HALVINGS = 50


@dataclass(frozen=True)
class OpeningAt:
    """An opening on the outline as it is, taped together.

    Attributes
    ----------
    opening : Opening
    where : str
        For messages.
    base : Silhouette
    piece : SizedPiece
        The main piece.
    line : (n, 2) array
        The opening, from the crossing edge to the side, on the silhouette.
    inset : float
        Distance of its end on the crossing edge from the side's corner, mm.
    at_start : bool
        Whether the crossing edge begins at that corner.
    most : (float, float)
        How far from that corner its ends may lie, on the crossing edge and on the side, mm: as
        far as every layer behind it reaches.
    """

    opening: Opening
    where: str
    base: Silhouette
    piece: SizedPiece
    line: Array
    inset: float
    at_start: bool
    most: tuple[float, float]

    @classmethod
    def of(cls, job: Job, opening: Opening, where: str) -> OpeningAt:
        """The opening of a set in the size of a job."""
        base = tape(job.pattern, opening.silhouette, job.size)
        piece = base.sized[opening.piece]
        line = base.motions[opening.piece].apply(piece.edge(opening.edge).points)
        line = line if opening.across_end == "start" else line[::-1]
        across, side = base.edge(opening.across), base.edge(opening.side)
        at_start = starts_at(across.points, side.points)
        along, _ = locate(across.points, line[0])
        inset = along if at_start else across.length - along
        most = (
            _measure_reach(job, opening, base, across, at_start),
            _measure_reach(job, opening, base, side, starts_at(side.points, across.points)),
        )
        return cls(opening, where, base, piece, line, inset, at_start, most)

    @property
    def across(self) -> Edge:
        """The crossing edge of the silhouette."""
        return self.base.edge(self.opening.across)

    @property
    def side(self) -> Edge:
        """The side of the silhouette."""
        return self.base.edge(self.opening.side)

    @property
    def _from_corner(self) -> bool:
        """Whether the side begins at its corner with the crossing edge."""
        return starts_at(self.side.points, self.across.points)

    @property
    def radius(self) -> float:
        """From end to end, mm."""
        return float(np.hypot(*(self.line[-1] - self.line[0])))

    @property
    def angle(self) -> float:
        """Direction from the crossing edge to the side, radians."""
        return float(np.arctan2(*(self.line[-1] - self.line[0])[::-1]))

    @property
    def steeper(self) -> float:
        """+1 or -1: the sense in which it turns to run more like the side."""
        corner = self.across.points[0 if self.at_start else -1]
        to_corner, to_side = corner - self.line[0], self.line[-1] - self.line[0]
        cross = to_side[0] * to_corner[1] - to_side[1] * to_corner[0]
        return -1.0 if cross > 0 else 1.0

    def pin(self, inset: float) -> Split:
        """The end on the crossing edge at a distance from the side's corner."""
        distance = inset if self.at_start else self.across.length - inset
        return Split(distance, rounded(point_at(self.across.points, distance)))

    def checked(self, inset: float) -> float:
        """A place on the crossing edge; raises EditError for one beyond it."""
        low, high = LEAST_MM, self.most[0] - LEAST_MM
        if low <= inset <= high:
            return inset
        near = min(max(inset, low), high)
        raise EditError(
            f"{self.where}: its end would lie {inset:.1f} mm from the side along "
            f"'{self.opening.across}', expected {low:.1f} to {high:.1f} mm; the nearest is "
            f"along = {near - self.inset:.1f} mm"
        )

    def swung(self, inset: float, radius: float) -> tuple[Split, Split]:
        """Swing it about its end on the crossing edge until it touches the side."""
        pin = self.pin(inset)
        hit = swing_to(self.side.points, pin.point, radius, self.angle)
        if hit is not None and self._reached(hit):
            return pin, self._on_side(hit)
        _, least = locate(self.side.points, pin.point)
        raise self._no_end(pin, least if radius < least else None)

    def _no_end(self, pin: Split, least: float | None = None) -> EditError:
        """A refusal that names the length nearest to what was asked for."""
        scale = self.piece.edge(self.opening.edge).length / self.radius
        can = least or float(np.hypot(*(self._last().point - pin.point)))
        side = self.opening.side
        return EditError(
            f"{self.where}: its end would lie off '{side}', or beyond where the layers behind it "
            f"end there; from this place on '{self.opening.across}' the nearest possible is "
            f"{can * scale:.1f} mm"
        )

    def _last(self) -> Split:
        """The last place on the side that every layer reaches."""
        far = self.most[1] - LEAST_MM
        return self._on_side(far if self._from_corner else self.side.length - far)

    def aimed(self, inset: float, angle: float) -> tuple[Split, Split]:
        """Run it from the crossing edge in a direction up to the side."""
        pin = self.pin(inset)
        hit = self._hit(pin, angle)
        if hit is None or not self._reached(hit):
            raise self._no_end(pin)
        return pin, self._on_side(hit)

    def slid(self, radius: float, angle: float, turn: float) -> tuple[Split, Split]:
        """Turn it, and slide it along the crossing edge until it is as long as asked."""
        found = self._inset_for(radius, angle)
        if found is None:
            share = largest_share(
                lambda share: (
                    self._inset_for(
                        radius, self.angle + share * self.steeper * float(np.radians(turn))
                    )
                    is not None
                )
            )
            raise EditError(
                f"{self.where}: turned by {turn:g}° a line of its length has no place between "
                f"'{self.opening.across}' and '{self.opening.side}'; the nearest possible is "
                f"{share * turn:.1f}°"
            )
        return self.aimed(found, angle)

    def _inset_for(self, radius: float, angle: float) -> float | None:
        """The place on the crossing edge from which the side is so far in a direction."""
        places = np.linspace(LEAST_MM, self.most[0] - LEAST_MM, _STEPS)
        misses = [self._miss(place, radius, angle) for place in places.tolist()]
        roots = []
        for k in range(len(places) - 1):
            first, second = misses[k], misses[k + 1]
            if first is None or second is None or first * second > 0:
                continue
            low, high = float(places[k]), float(places[k + 1])
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                miss = self._miss(middle, radius, angle)
                if miss is None or (miss > 0) == (second > 0):
                    high = middle
                else:
                    low = middle
            roots.append((low + high) / 2)
        return min(roots, key=lambda place: abs(place - self.inset), default=None)

    def _miss(self, inset: float, radius: float, angle: float) -> float | None:
        pin = self.pin(inset)
        hit = self._hit(pin, angle)
        if hit is None or not self._reached(hit):
            return None
        return float(np.hypot(*(point_at(self.side.points, hit) - pin.point))) - radius

    def _hit(self, pin: Split, angle: float) -> float | None:
        """Where the side is met from an end in a direction, the nearest of several."""
        ahead = np.array([np.cos(angle), np.sin(angle)])
        hits = line_crossings(self.side.points, pin.point, ahead).tolist()
        far = [(float((point_at(self.side.points, hit) - pin.point) @ ahead), hit) for hit in hits]
        return next((hit for reach, hit in sorted(far) if reach > 0.0), None)

    def _on_side(self, hit: float) -> Split:
        return Split(hit, rounded(point_at(self.side.points, hit)))

    def _reached(self, hit: float) -> bool:
        """Whether a place on the side is clear of its corner and within every layer."""
        away = hit if self._from_corner else self.side.length - hit
        return LEAST_MM <= away <= self.most[1] - LEAST_MM

    def piece_with(self, pin: Split, landing: Split) -> tuple[SizedPiece, list[tuple[str, str]]]:
        """The main piece with the opening between two places, what was found and what to do."""
        home = self.base.motions[self.opening.piece].inverse()
        z = (self.line - self.line[0]) @ np.array([1.0, 1j])
        z = z * (complex(*(landing.point - pin.point)) / z[-1])
        line = np.column_stack([z.real, z.imag]) + pin.point
        line[0], line[-1] = pin.point, landing.point
        line = rounded(home.apply(line))
        old = self.piece.edge(self.opening.edge)
        points = line if self.opening.across_end == "start" else line[::-1]
        edges = {old.name: Edge(old.name, points, old.turns)}
        for name, split in ((self.opening.across, pin), (self.opening.side, landing)):
            fresh = self._beside(name, split)
            edges[fresh.name] = fresh
        shared = share_corners(
            [edges.get(edge.name, edge) for edge in self.piece.edges], self.piece.edges
        )
        new, marks, told_marks = replace(self.piece, edges=shared), [], []
        for mark in self.piece.landmarks:
            edge = new.edge(mark.edge)
            if kept_place(edge, mark, ON_LINE_MM) is None:
                mark = put_mark(mark, edge, nearest_place(edge, mark.point))
                found = (
                    f"'{mark.name}' lay on the stretch of edge '{mark.edge}' that is cut off; it "
                    "is put at the end of the opening"
                )
                told_marks.append((found, "move it if it belongs elsewhere"))
            marks.append(mark)
        return replace(new, landmarks=tuple(marks)), told_marks

    def _beside(self, name: str, split: Split) -> Edge:
        """The edge of the main piece beside an end of the opening, cut from the outline."""
        outline = self.base.edge(name)
        segment = next(
            one for one in self.base.segments[name] if one.span.piece == self.opening.piece
        )
        begin, end = segment.on_edge
        ends = [Split(begin, point_at(outline.points, begin)), split]
        at_pin = self.line[0 if name == self.opening.across else -1]
        joint, _ = locate(outline.points, at_pin)
        if abs(joint - begin) < abs(joint - end):
            ends = [split, Split(end, point_at(outline.points, end))]
        if not ends[1].distance - ends[0].distance > LEAST_MM:
            raise EditError(
                f"{self.where}: nothing would be left of edge '{segment.span.edge}' of "
                f"'{self.opening.piece}'; ask for less"
            )
        home = self.base.motions[self.opening.piece].inverse()
        part = home.apply(cut_segment(outline.points, ends[0], ends[1]))
        turns = home.apply(outline.turn_points)
        if segment.on_piece[0] > segment.on_piece[1]:
            part = part[::-1]
        old = self.piece.edge(segment.span.edge)
        own = part.copy()
        for k in (0, -1):  # its far corner is the very point that it was
            if np.hypot(*(own[k] - old.points[k])) <= ON_LINE_MM:
                own[k] = old.points[k]
        return edge_from_parts(old.name, [own], turns)


def _measure_reach(
    job: Job, opening: Opening, base: Silhouette, edge: Edge, from_start: bool
) -> float:
    """How far from its corner every layer behind an opening lies along an edge, mm."""
    found = [edge.length]
    main = base.sized[opening.piece]
    for stack in job.pattern.relations.stacks.values():
        for layer in stack.layers if stack.opening == opening.name else ():
            piece = job.pattern.sized(layer.piece, job.size)
            place = base.motions[opening.piece].after(put_motion(layer, piece, main)[0])
            for own, rides_on in layer.ride.items():
                if rides_on != edge.name:
                    continue
                ends, _ = locate_all(edge.points, place.apply(piece.edge(own).points[[0, -1]]))
                away = ends if from_start else edge.length - ends
                found.append(float(away.max()))
    return min(found)
