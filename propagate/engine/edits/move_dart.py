"""Move a dart along its edge, as it is: its legs and its tip go together.

The outline stays but for the caps.  The mouth is closed straight where the dart was and marked
anew where it goes, so that what is sewn of the edge is as long as before.
"""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar, Literal

from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.remarking import Mouth, bare_edge, marked_anew, tip_above
from propagate.engine.edits.dart_edit import DartAt, DartEdit, check_clear, dart_drawn, says_bend
from propagate.engine.job import Drawn, Job
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["MoveDart"]


@dataclass(frozen=True, kw_only=True)
class MoveDart(DartEdit):
    """The edit: a dart stands elsewhere on its edge.

    Attributes
    ----------
    dart : str
    by : Amount
        A share is of the width of the dart's mouth.
    towards : "start" or "end"

    Notes
    -----
    To leave the tip where it is and turn the dart about it, swing it to another place of its
    own edge (`SwingDart`).
    """

    word: ClassVar[str] = "move-dart"

    by: Amount = field(metadata=told("amount", "how far; a share is of the width of its mouth"))
    towards: Literal["start", "end"] = field(
        default="end",
        metadata=told("choice", "towards which end of its edge", choices=("start", "end")),
    )

    def drawn(self, job: Job, at: DartAt) -> Drawn:
        """Mark the dart in its new place; raises EditError."""
        self.refuse_sign(job, "by", self.by)
        by = self.of_width(job, at, self.by)
        bare = bare_edge(at.piece, at.dart)
        way = 1.0 if self.towards == "end" else -1.0

        def places(mm: float) -> list[tuple[float, float]]:
            return [(bare.low + way * mm, bare.high + way * mm)]

        check_clear(at, bare, places, by, f"to move it by towards the {self.towards}", least=0.0)
        ((low, high),) = places(by)
        legs, tip = legs_along(at.piece, at.dart), tip_above(bare, low, high)
        new = marked_anew(bare, [Mouth(at.dart.name, legs, low, high, tip)], at.lie)
        said = (
            f"dart {self.dart} moved by {amount_words(self.by)} towards the {self.towards} of "
            f"'{at.dart.edge}'"
        )
        return dart_drawn(at, new, said, self.words(job, [at.name]), says_bend(bare))
