"""True corners that an edit disturbed: the lines run on across their seams as before."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from propagate.engine.edits.edge_of_set import EdgeOfSet
from propagate.engine.edits.joints import Truing, find_joint
from propagate.engine.job import Drawn, Job
from propagate.engine.record import Notice
from propagate.engine.truing import Disturbed
from propagate.errors import EditError
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["TrueCorners"]


@dataclass(frozen=True)
class TrueCorners:
    """The edit: lines run on again where an edit left a peak or a dip.

    Attributes
    ----------
    size : str
    corners : tuple of Disturbed
    kept : frozenset of str
        ``PIECE.EDGE`` or ``ASSEMBLY.EDGE`` of the edges that stay as they were drawn.
    follow : "shape" or "length"
        A mate takes the shape that its lead got, or its length alone.
    told : tuple of Notice
        What is known of other corners already.
    """

    size: str
    corners: tuple[Disturbed, ...]
    kept: frozenset[str] = frozenset()
    follow: Literal["shape", "length"] = "length"
    told: tuple[Notice, ...] = ()

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size."""
        return Job.in_one_size(pattern, self.size, self.follow)

    def draw(self, job: Job) -> Drawn:
        """Bend the lines; a corner that cannot be trued is told and left."""
        truing, told = Truing(), list(self.told)
        for corner in self.corners:
            try:
                joint = find_joint(job, corner.seam, corner.end)
                if joint is not None:
                    truing.add(joint, stay=lambda at: self._stays(job, at))
                else:
                    why = "one of the lines goes on beyond the seam, expected an end there"
                    told.append(corner.left(f"{why}; draw it by hand"))
            except EditError as error:
                told.append(corner.left(str(error)))
        said = f"corners trued across {truing.across_words()}"
        drawn = truing.drawn(job, said, {"kind": "true", "size": self.size})
        return replace(drawn, notices=(*drawn.notices, *told))

    def _stays(self, job: Job, at: EdgeOfSet) -> bool:
        """Whether somebody drew a line, or a part of it, as it is to be."""
        if at.taped is None:
            return at.key in self.kept
        run = job.pattern.relations.assemblies[at.owner].edges[at.edge.name]
        return not self.kept.isdisjoint({at.key, *(span.key for span in run)})
