"""Divide a dart into two on the same edge, whose mouths are together as wide as the one was."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.remarking import BareEdge, Mouth, bare_edge, marked_anew, tip_above
from propagate.engine.edits.dart_edit import DartAt, DartEdit, check_clear, dart_drawn, says_bend
from propagate.engine.job import Drawn, Job
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.names import free_name
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["DivideDart"]


@dataclass(frozen=True, kw_only=True)
class DivideDart(DartEdit):
    """The edit: a dart becomes two.

    Attributes
    ----------
    dart : str
    apart : Amount
        From the middle of one mouth to the middle of the other; the two stand on both sides
        of where the one stood.  A share is of the width of the mouth.
    share : Amount
        Of the width, for the dart that keeps the name: the one that is nearer to the centre,
        or lower.
    called : str
        Name of the other; empty takes the dart's with a number.

    Notes
    -----
    Both are as deep as the one was.  To divide a dart between two edges, swing a share of it
    (`SwingDart`).
    """

    word: ClassVar[str] = "divide-dart"
    every_size: ClassVar[bool] = True

    apart: Amount = field(
        metadata=told(
            "amount", "from middle to middle of the two; a share is of the width of the mouth"
        )
    )
    share: Amount = field(
        default=Amount(share=0.5),
        metadata=told(
            "amount", "how much of the width the one near the centre keeps; half when left out"
        ),
    )
    called: str = field(default="", metadata=told("name", "name of the other dart"))

    def drawn(self, job: Job, at: DartAt) -> Drawn:
        """Mark the two darts; raises EditError."""
        self.refuse_sign(job, "apart", self.apart)
        apart = self.of_width(job, at, self.apart)
        bare = bare_edge(at.piece, at.dart)
        kept = self.of_width(job, at, self.share)
        if not 0.0 < kept < bare.width:
            raise at.refuse(
                f"found {kept:.1f} mm for the first dart, expected more than 0 and less than the "
                f"{bare.width:.1f} mm that there are; 50% makes the two alike"
            )

        def places(mm: float) -> list[tuple[float, float]]:
            return [(low, high) for _, _, low, high in _place_darts(at, bare, self, kept, mm)]

        check_clear(at, bare, places, apart, "between the middles of the two", least=0.0)
        mouths = [
            Mouth(name, legs, low, high, tip_above(bare, low, high))
            for name, legs, low, high in _place_darts(at, bare, self, kept, apart)
        ]
        new = marked_anew(bare, mouths, at.lie)
        said = f"dart {self.dart} divided into two, {amount_words(self.apart)} apart"
        return dart_drawn(at, new, said, self.words(job, [at.name]), says_bend(bare))


def _place_darts(
    at: DartAt, bare: BareEdge, edit: DivideDart, kept: float, apart: float
) -> list[tuple[str, tuple[str, str], float, float]]:
    """The two darts in their order along the edge: names, legs, and where those stand."""
    other = free_name(edit.called or f"{at.dart.name}_2", [d.name for d in at.piece.darts])
    names = [at.dart.name, other]
    legs = [legs_along(at.piece, at.dart), (f"{other}_leg_a", f"{other}_leg_b")]
    widths = [kept, bare.width - kept]
    ends = bare.at(bare.low), bare.at(bare.high)
    if at.lie.folded(at.piece, at.dart, ends) == "end":
        names, legs, widths = names[::-1], legs[::-1], widths[::-1]
    middle = (bare.low + bare.high) / 2
    found = []
    for name, own, width, way in zip(names, legs, widths, (-0.5, 0.5), strict=True):
        low = middle + way * apart - width / 2
        found.append((name, own, low, low + width))
    return found
