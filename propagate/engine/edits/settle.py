"""No edit at all: every relation is visited as if all its edges had changed."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.graph import joined_edges, silhouette_node
from propagate.engine.job import Drawn, Job
from propagate.engine.reshape import Edited, start_edit
from propagate.engine.tape import tape
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Settle", "every_edge"]


@dataclass(frozen=True)
class Settle:
    """Propagate without an edit.

    Attributes
    ----------
    size : str or None
        None takes the base size.
    asked : frozenset of str
        Seams, and zones of bands as ``BAND.ZONE``, that are matched although they were off
        before.
    """

    size: str | None = None
    asked: frozenset[str] = frozenset()

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName."""
        return Job.in_one_size(pattern, pattern.base if self.size is None else self.size)

    def draw(self, job: Job) -> Drawn:
        """Every silhouette as it is."""
        relations = job.pattern.relations
        names = dict.fromkeys(relations.assemblies)
        if relations.blend is not None:
            names.update(dict.fromkeys(main.silhouette for main in relations.blend.mains))
        edited = {n: start_edit(tape(job.pattern, n, job.size), job.size) for n in names}
        return Drawn(
            said="propagation without an edit",
            words={"kind": "settle", "size": job.size},
            edited=edited,
            visit=every_edge(job.pattern, edited),
            asked=self.asked,
            trued=False,
        )


def every_edge(pattern: PatternSet, edited: Mapping[str, Edited]) -> tuple[str, ...]:
    """Nodes of every edge of some silhouettes and of every edge that something is joined to."""
    outlines = (silhouette_node(n, e.name) for n, s in edited.items() for e in s.edges)
    return (*outlines, *sorted(joined_edges(pattern)))
