"""True an edge: it runs on smoothly across the seams that it crosses.

How it is bent is told in `propagate.engine.edits.joints`.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import ClassVar, Literal

from propagate.engine.edits.edge_of_set import EdgeOfSet, edge_of_set, whole_edges
from propagate.engine.edits.joints import Joint, Truing, find_joint
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Job
from propagate.errors import EditError
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["TrueEdge"]


@dataclass(frozen=True, kw_only=True)
class TrueEdge(SizedEdit):
    """The edit: an edge runs on smoothly across its seams.

    Attributes
    ----------
    edge : str
        ``PIECE.EDGE``, or ``ASSEMBLY.EDGE`` for a line that is taped together.
    at : "both", "start" or "end"
        Which of its corners.
    to : str
        Place at which the bend has faded out; empty: the next dart or corner inside the edge,
        at most half of it.
    alone : bool
        Only this edge is bent, not the one that it runs on to; else each by half.
    """

    word: ClassVar[str] = "true"

    edge: str = field(metadata=told("edge", "the edge that is to run on across its seams"))
    at: Literal["both", "start", "end"] = field(
        default="both",
        metadata=told("choice", "which of its corners", choices=("both", "start", "end")),
    )
    to: str = field(
        default="",
        metadata=told(
            "place", "where the bend has faded out; the next dart, at most half of the edge"
        ),
    )
    alone: bool = field(
        default=False,
        metadata=told("flag", "only this edge is bent; else the one that it runs on to as well"),
    )

    def draw(self, job: Job) -> Drawn:
        """Draw the edge, and those that it runs on to; raises UnknownName, EditError."""
        of = edge_of_set(job.pattern, self.edge, job.size)
        truing = Truing()
        for joint in self._joints(job, of):
            stay = (lambda at: at.key != of.key) if self.alone else (lambda _: False)
            truing.add(joint, {of.key: self.to}, stay)
        across = truing.across_words()
        done = f"trued across {across}" if across else "runs on smoothly already"
        return truing.drawn(
            job,
            f"{' and '.join(truing.bends) or of.key} {done}, size {job.size}",
            {"kind": self.word, **self.said()},
        )

    def _joints(self, job: Job, of: EdgeOfSet) -> list[Joint]:
        """The corners that are asked for and that are meant to run on."""
        whole, asked = whole_edges(job.pattern), []
        for seam in job.pattern.relations.seams.values():
            for end, keys in seam.crossing.items():
                if of.key not in {whole.get(key, key) for key in keys}:
                    continue
                joint = find_joint(job, seam, end)
                if joint is None:
                    continue
                own = [side for side in joint.sides if side[0].key == of.key]
                others = [side for side in joint.sides if side[0].key != of.key]
                if own and (self.at == "both" or self.at in [at for _, at in own]):
                    asked.append(replace(joint, sides=(*own, *others)))
        found = [joint for joint in asked if joint.end not in joint.seam.peak]
        if found:
            return found
        where = "" if self.at == "both" else f" at its {self.at}"
        if asked:
            raise EditError(
                f"{of.where}: found a peak meant where edge '{of.edge.name}' crosses seam "
                f"'{asked[0].seam.name}'{where}, expected a line that runs on; take the end out of "
                "the seam's 'peak', or leave the corner as it is"
            )
        raise EditError(
            f"{of.where}: found no seam across which edge '{of.edge.name}' runs on{where}, "
            "expected one that names it in its 'crossing'; add it to the seam in set.toml"
        )
