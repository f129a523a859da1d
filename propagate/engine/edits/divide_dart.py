"""Divide a dart into two on the same edge, whose mouths are together as wide as the one was."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.remarking import BareEdge, Mouth, bare_edge, marked_anew, tip_above
from propagate.engine.edits.dart_edit import (
    DartAt,
    check_clear,
    dart_at,
    dart_drawn,
    job_in_one_size,
    says_bend,
)
from propagate.engine.job import Drawn, Job
from propagate.pattern.naming import free_name
from propagate.pattern.patternset import PatternSet

__all__ = ["DivideDart"]


@dataclass(frozen=True)
class DivideDart:
    """The edit: a dart becomes two.

    Attributes
    ----------
    piece, dart : str
    apart_mm : float
        From the middle of one mouth to the middle of the other; the two stand on both sides
        of where the one stood.
    share : float
        Of the width, for the dart that keeps the name: the one that is nearer to the centre,
        or lower.
    name : str or None
        Of the other; None takes the dart's with a number.
    size : str or None
        None takes the base size.

    Notes
    -----
    Both are as deep as the one was.  To divide a dart between two edges, swing a share of it
    (`SwingDart`).
    """

    piece: str
    dart: str
    apart_mm: float
    share: float = 0.5
    name: str | None = None
    size: str | None = None

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName."""
        return job_in_one_size(pattern, self.size)

    def draw(self, job: Job) -> Drawn:
        """Mark the two darts; raises UnknownName, EditError."""
        at = dart_at(job, self.piece, self.dart)
        if not 0.0 < self.share < 1.0:
            raise at.refuse(
                f"found a share of {self.share:g} for the first dart, expected one between 0 and "
                "1; 0.5 makes the two alike"
            )
        if not np.isfinite(self.apart_mm):
            raise at.refuse(f"found {self.apart_mm:g} mm between the two, expected a length")
        bare = bare_edge(at.piece, at.dart)
        check_clear(
            at,
            bare,
            lambda apart: [(low, high) for _, _, low, high in _places(at, bare, self, apart)],
            self.apart_mm,
            "between the middles of the two",
            least=0.0,
        )
        mouths = [
            Mouth(name, legs, low, high, tip_above(bare, low, high))
            for name, legs, low, high in _places(at, bare, self, self.apart_mm)
        ]
        new = marked_anew(bare, mouths, at.lie)
        said = f"dart '{self.dart}' of '{self.piece}' divided into two, {self.apart_mm:g} mm apart"
        words = {
            "kind": "divide dart",
            "piece": self.piece,
            "dart": self.dart,
            "apart_mm": self.apart_mm,
            "share": self.share,
            "names": sorted(mouth.name for mouth in mouths),
        }
        return dart_drawn(job, at, new, said, words, says_bend(bare))


def _places(
    at: DartAt, bare: BareEdge, edit: DivideDart, apart: float
) -> list[tuple[str, tuple[str, str], float, float]]:
    """The two darts in their order along the edge: names, legs, and where those stand."""
    other = free_name(edit.name or f"{edit.dart}_2", [d.name for d in at.piece.darts])
    names = [edit.dart, other]
    legs = [legs_along(at.piece, at.dart), (f"{other}_leg_a", f"{other}_leg_b")]
    widths = [edit.share * bare.width, (1.0 - edit.share) * bare.width]
    ends = bare.at(bare.low), bare.at(bare.high)
    if at.lie.folded(at.piece, at.dart, ends) == "end":
        names, legs, widths = names[::-1], legs[::-1], widths[::-1]
    middle = (bare.low + bare.high) / 2
    found = []
    for name, own, width, way in zip(names, legs, widths, (-0.5, 0.5), strict=True):
        low = middle + way * apart - width / 2
        found.append((name, own, low, low + width))
    return found
