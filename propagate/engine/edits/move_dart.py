"""Move a dart along its edge, as it is: its legs and its tip go together.

The outline stays but for the caps.  The mouth is closed straight where the dart was and marked
anew where it goes, so that what is sewn of the edge is as long as before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.remarking import Mouth, bare_edge, marked_anew, tip_above
from propagate.engine.edits.dart_edit import (
    check_clear,
    dart_at,
    dart_drawn,
    job_in_one_size,
    says_bend,
)
from propagate.engine.job import Drawn, Job
from propagate.pattern.patternset import PatternSet

__all__ = ["MoveDart"]


@dataclass(frozen=True)
class MoveDart:
    """The edit: a dart stands elsewhere on its edge.

    Attributes
    ----------
    piece, dart : str
    by_mm : float
        Along the edge, towards its end; below 0 towards its start.
    size : str or None
        None takes the base size.

    Notes
    -----
    To leave the tip where it is and turn the dart about it, swing it to another place of its
    own edge (`SwingDart`).
    """

    piece: str
    dart: str
    by_mm: float
    size: str | None = None

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName."""
        return job_in_one_size(pattern, self.size)

    def draw(self, job: Job) -> Drawn:
        """Mark the dart in its new place; raises UnknownName, EditError."""
        at = dart_at(job, self.piece, self.dart)
        if not (np.isfinite(self.by_mm) and self.by_mm != 0.0):
            raise at.refuse(
                f"found {self.by_mm:g} mm to move it by, expected a length other than 0; below 0 "
                "moves it towards the start of its edge"
            )
        bare = bare_edge(at.piece, at.dart)

        def places(by: float) -> list[tuple[float, float]]:
            return [(bare.low + by, bare.high + by)]

        check_clear(at, bare, places, self.by_mm, "to move it by")
        ((low, high),) = places(self.by_mm)
        legs, tip = legs_along(at.piece, at.dart), tip_above(bare, low, high)
        new = marked_anew(bare, [Mouth(self.dart, legs, low, high, tip)], at.lie)
        said = (
            f"dart '{self.dart}' of '{self.piece}' moved by {self.by_mm:+g} mm along "
            f"'{at.dart.edge}'"
        )
        words = {
            "kind": "move dart",
            "piece": self.piece,
            "dart": self.dart,
            "by_mm": self.by_mm,
        }
        return dart_drawn(job, at, new, said, words, says_bend(bare))
