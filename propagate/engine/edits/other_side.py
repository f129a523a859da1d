"""The edge on the other side of a seam, and where on it a place of this side lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from propagate.engine.edits.edge_of_set import (
    EdgeOfSet,
    edge_of_set,
    edge_place,
    has_place,
    whole_edges,
)
from propagate.engine.edits.moving import Moved
from propagate.engine.job import Job
from propagate.engine.reshape import share_corners
from propagate.errors import EditError
from propagate.pattern.relations import Run
from propagate.pattern.spans import span_ends
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["OtherSide", "after_first", "other_side"]


@dataclass(frozen=True)
class OtherSide:
    """The edge that another one is sewn to.

    Attributes
    ----------
    of, own : EdgeOfSet
        The edge, and the one that it is sewn to.
    against : bool
        The two are drawn in opposite directions, so that the start of one meets the other's end.
    on_own, on_of : (float, float) or None
        What of each edge is sewn to the other, mm from its start, where that is a part of one: in
        the order of the seam.
    """

    of: EdgeOfSet
    own: EdgeOfSet
    against: bool
    on_own: tuple[float, float] | None = None
    on_of: tuple[float, float] | None = None

    def place(self, place: str, own_mm: float) -> float:
        """Distance from the start of the edge, mm, of a place that lies `own_mm` along the other.

        A level or a mark that both pieces have is taken where it is; any other place lies
        across the seam.
        """
        if place not in ("start", "end") and has_place(self.of, place):
            return edge_place(self.of, place)
        if self.on_own is not None and self.on_of is not None:
            (begin, end), (first, last) = self.on_own, self.on_of
            return first + (own_mm - begin) / (end - begin) * (last - first)
        part = own_mm / self.own.edge.length
        return self.of.edge.length * (1.0 - part if self.against else part)


def other_side(job: Job, own: EdgeOfSet, places: Sequence[float] = ()) -> OtherSide:
    """Find the one edge that an edge is sewn to, where it is changed.

    Parameters
    ----------
    job : Job
    own : EdgeOfSet
    places : sequence of float
        Between which it is changed, mm from its start; everywhere when there is none.

    Raises
    ------
    EditError
        When there is not one.
    """
    relations = job.pattern.relations
    whole = whole_edges(job.pattern)
    keys = _list_keys(own)
    found: dict[str, tuple[Run, Run]] = {}
    for seam in relations.seams.values():
        for mine, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            if keys & {span.key for span in mine} and not seam.mirror:
                mates = {whole.get(span.key, span.key) for span in theirs} - keys
                found.update(dict.fromkeys(mates, (mine, theirs)))
    if len(found) > 1 and own.taped is None and len(places) > 1:
        found = {
            name: runs
            for name, runs in found.items()
            if _covers_places(_part_of(job, own, runs[0]), places)
        } or found
    if not found:
        raise EditError(
            f"{own.where}: nothing is sewn to edge '{own.edge.name}', expected one edge for "
            "'both'; leave 'both' out"
        )
    if len(found) > 1:
        names = ", ".join(sorted(found))
        raise EditError(
            f"{own.where}: found {names} sewn to edge '{own.edge.name}', expected one edge for "
            "'both'; give each edge an edit of its own"
        )
    ((name, (mine, theirs)),) = found.items()
    of = edge_of_set(job.pattern, name, job.size)
    against = _runs_with(job, own, mine) != _runs_with(job, of, theirs)
    parts = _part_of(job, own, mine), _part_of(job, of, theirs)
    whole_edge = all(
        part is None or _covers_places(part, (0.0, side.edge.length))
        for part, side in zip(parts, (own, of), strict=True)
    )
    if whole_edge or None in parts:
        return OtherSide(of, own, against)
    return OtherSide(of, own, against, *parts)


def _part_of(job: Job, of: EdgeOfSet, run: Run) -> tuple[float, float] | None:
    """What of an edge a run takes, in its own order; None for a line that is taped together."""
    if of.taped is not None:
        return None
    spans = [span for span in run if span.key == of.key]
    piece = job.pattern.sized(of.owner, job.size)
    return span_ends(piece, spans[0])[0], span_ends(piece, spans[-1])[1]


def _covers_places(part: tuple[float, float] | None, places: Sequence[float]) -> bool:
    if part is None:
        return False
    low, high = min(part) - ON_LINE_MM, max(part) + ON_LINE_MM
    return all(low <= place <= high for place in places)


def after_first(mate: OtherSide, moved: Moved) -> OtherSide:
    """The other side as it lies once the first one was moved, where both are on one piece.

    A gore that is cut six times is sewn to itself: what crosses both sides is cut off at both
    ends.  Raises EditError where the two lie on one outline that is taped together.
    """
    of = mate.of
    if of.owner != mate.own.owner:
        return mate
    if of.taped is not None:
        raise EditError(
            f"{of.where}: found '{of.edge.name}' sewn to '{mate.own.edge.name}' of the same taped "
            "outline, expected two outlines for 'both'; give each edge an edit of its own"
        )
    edges = share_corners([moved.edges.get(edge.name, edge) for edge in of.edges], of.edges)
    edge = next(one for one in edges if one.name == of.edge.name)
    return replace(mate, of=replace(of, edges=edges, edge=edge))


def _list_keys(of: EdgeOfSet) -> set[str]:
    """The edge and the edges of pieces that it is taped together of."""
    if of.taped is None:
        return {of.key}
    return {of.key, *(segment.span.key for segment in of.taped.segments[of.edge.name])}


def _runs_with(job: Job, of: EdgeOfSet, run: Run) -> bool:
    """Whether an edge is drawn in the direction in which a run is written."""
    span = next(span for span in run if span.key in _list_keys(of))
    begin, end = span_ends(job.pattern.sized(span.piece, job.size), span)
    if of.taped is None:
        return begin < end
    segment = next(s for s in of.taped.segments[of.edge.name] if s.span.key == span.key)
    return (begin < end) == (segment.on_piece[0] < segment.on_piece[1])
