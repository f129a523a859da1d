"""Change an opening: its length, its angle, its place.

The one edit that may.  Both ends of a mouth on the outline stay on the outline as it is; the main
piece is cut anew beside them, and the layers behind the opening follow.  A welt opening lies on an
inner line (`propagate.engine.edits.welt_at`), and what is sewn to it becomes as long as it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field
from typing import ClassVar

import numpy as np

from propagate.engine.compare import drawn_changes
from propagate.engine.edits.opening_at import LEAST_MM, OpeningAt
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.edits.welt_at import open_welt, with_length
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import Notice
from propagate.engine.state import Split
from propagate.errors import EditError, UnknownName
from propagate.pattern.amount import Amount
from propagate.pattern.patternset import PatternSet
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["ChangeOpening"]


@dataclass(frozen=True, kw_only=True)
class ChangeOpening(SizedEdit):
    """The edit: an opening lies otherwise.

    What is not said stays: its place where its length or nothing else changes, its length where
    its angle does.

    Attributes
    ----------
    opening : str
    to : Amount or None
        Its length along the line; a share is of the length it has.
    along : Amount or None
        How far its end on the crossing edge goes, away from the side; below 0 towards it.  A welt
        opening goes along its own line, away from the second edge that it is measured from.
    turn : float
        Degrees; above 0 it runs more like the side, below 0 more like the crossing edge.  Of a
        welt opening the far end goes away from the edge that it is measured from first.
    down : Amount or None
        Of a welt opening: how far it goes away from the edge that it is measured from first.
    """

    word: ClassVar[str] = "open"

    opening: str = field(metadata=told("name", "the opening"))
    to: Amount | None = field(
        default=None, metadata=told("amount", "its new length; the old one when left out")
    )
    along: Amount | None = field(
        default=None,
        metadata=told(
            "amount",
            "how far its end on the crossing edge goes away from the side, below 0 towards it; a "
            "welt opening along its line, away from the second edge it is measured from",
        ),
    )
    turn: float = field(
        default=0.0,
        metadata=told(
            "angle",
            "degrees by which it is turned; above 0 it runs more like the side, below 0 more like "
            "the crossing edge; of a welt opening the far end goes down above 0",
        ),
    )
    down: Amount | None = field(
        default=None,
        metadata=told(
            "amount",
            "of a welt opening, how far it goes away from the edge it is measured from first; "
            "below 0 towards it",
        ),
    )

    def on_set(self, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
        """Say the new length of a welt opening whose length the set says."""
        return with_length(self, pattern, sizes)

    def draw(self, job: Job) -> Drawn:
        """Lay the opening, and cut its main piece beside it; raises UnknownName, EditError."""
        openings = job.pattern.relations.openings
        where = f"set '{job.pattern.name}', opening '{self.opening}', size '{job.size}'"
        welts = job.pattern.relations.welt_openings
        if self.opening not in openings and self.opening not in welts:
            known = [*openings, *welts]
            raise UnknownName("opening", self.opening, known, f"set '{job.pattern.name}'")
        if self.opening not in openings:
            return open_welt(self, job, welts[self.opening], where)
        if self.down is not None:
            raise EditError(
                f"{where}: found 'down', which is for openings on an inner line; this one ends on "
                f"'{openings[self.opening].across}' and '{openings[self.opening].side}', expected "
                "'to', 'along' or 'turn'"
            )
        if self.to is None and self.along is None and not self.turn:
            raise EditError(f"{where}: expected one of 'to', 'along' and 'turn'")
        if self.to is not None and self.along is not None and self.turn:
            raise EditError(
                f"{where}: found 'to', 'along' and 'turn' at once, expected two of them at most; "
                "the third follows"
            )
        laying = OpeningAt.of(job, openings[self.opening], where)
        pin, landing = self._ends(job, laying)
        new, notices = laying.piece_with(pin, landing)
        was, now = (p.edge(laying.opening.edge).length for p in (laying.piece, new))
        moved = [
            float(np.hypot(*(end - old)))
            for end, old in zip((pin.point, landing.point), laying.line[[0, -1]], strict=True)
        ]
        said = f"opening '{self.opening}' {was:.1f} mm to {now:.1f} mm"
        text = f"{said}, its ends moved by {moved[0]:.1f} and {moved[1]:.1f} mm"
        owner = laying.opening.piece
        return Drawn(
            said=said,
            words=self.words(job, [owner]),
            changes=tuple(drawn_changes(owner, laying.piece, new, text)),
            given=Given({owner: new}, loose=frozenset({owner}), openings=frozenset({self.opening})),
            notices=tuple(Notice(owner, *told) for told in notices),
        )

    def _ends(self, job: Job, laying: OpeningAt) -> tuple[Split, Split]:
        """Where its ends come to lie on the crossing edge and on the side; raises EditError."""

        def length(size: str) -> float:
            return job.pattern.sized(laying.opening.piece, size).edge(laying.opening.edge).length

        old = length(job.size)
        wanted = old if self.to is None else self.amount(job, self.to, length)
        if wanted < LEAST_MM:
            raise EditError(
                f"{laying.where}: found a length of {wanted:g} mm, expected at least "
                f"{LEAST_MM:g} mm; it is {old:.1f} mm long"
            )
        radius = laying.radius * wanted / old
        along = 0.0 if self.along is None else self.amount(job, self.along, length)
        inset = laying.inset + along
        if not self.turn:
            return laying.swung(laying.checked(inset), radius)
        angle = laying.angle + laying.steeper * float(np.radians(self.turn))
        if self.along is not None:
            return laying.aimed(laying.checked(inset), angle)
        return laying.slid(radius, angle, self.turn)
