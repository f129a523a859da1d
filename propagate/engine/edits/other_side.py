"""The edge on the other side of a seam, and where on it a place of this side lies."""

from __future__ import annotations

from propagate.engine.edits.edge_of_set import (
    EdgeOfSet,
    edge_of_set,
    edge_place,
    has_place,
    whole_edges,
)
from propagate.engine.job import Job
from propagate.errors import EditError
from propagate.pattern.relations import Run
from propagate.pattern.spans import span_ends
from propagate.values import dataclass

__all__ = ["OtherSide", "other_side"]


@dataclass(frozen=True)
class OtherSide:
    """The edge that another one is sewn to.

    Attributes
    ----------
    of, own : EdgeOfSet
        The edge, and the one that it is sewn to.
    against : bool
        The two are drawn in opposite directions, so that the start of one meets the other's end.
    """

    of: EdgeOfSet
    own: EdgeOfSet
    against: bool

    def place(self, place: str, own_mm: float) -> float:
        """Distance from the start of the edge, mm, of a place that lies `own_mm` along the other.

        A level or a mark that both pieces have is taken where it is; any other place lies
        across the seam.
        """
        if place not in ("start", "end") and has_place(self.of, place):
            return edge_place(self.of, place)
        part = own_mm / self.own.edge.length
        return self.of.edge.length * (1.0 - part if self.against else part)


def other_side(job: Job, own: EdgeOfSet) -> OtherSide:
    """Find the one edge that an edge is sewn to; raises EditError when there is not one."""
    relations = job.pattern.relations
    whole = whole_edges(job.pattern)
    keys = _keys(own)
    found: dict[str, tuple[Run, Run]] = {}
    for seam in relations.seams.values():
        for mine, theirs in ((seam.lead, seam.follow), (seam.follow, seam.lead)):
            if keys & {span.key for span in mine} and not seam.mirror:
                mates = {whole.get(span.key, span.key) for span in theirs} - keys
                found.update(dict.fromkeys(mates, (mine, theirs)))
    if len(found) != 1:
        names = ", ".join(sorted(found)) or "none"
        raise EditError(
            f"{own.where}: found {names} sewn to edge '{own.edge.name}', expected one edge for "
            "'both'; give each edge an edit of its own"
        )
    ((name, (mine, theirs)),) = found.items()
    of = edge_of_set(job.pattern, name, job.size)
    return OtherSide(of, own, _runs_with(job, own, mine) != _runs_with(job, of, theirs))


def _keys(of: EdgeOfSet) -> set[str]:
    """The edge and the edges of pieces that it is taped together of."""
    if of.taped is None:
        return {of.key}
    return {of.key, *(segment.span.key for segment in of.taped.segments[of.edge.name])}


def _runs_with(job: Job, of: EdgeOfSet, run: Run) -> bool:
    """Whether an edge is drawn in the direction in which a run is written."""
    span = next(span for span in run if span.key in _keys(of))
    begin, end = span_ends(job.pattern.sized(span.piece, job.size), span)
    if of.taped is None:
        return begin < end
    segment = next(s for s in of.taped.segments[of.edge.name] if s.span.key == span.key)
    return (begin < end) == (segment.on_piece[0] < segment.on_piece[1])
