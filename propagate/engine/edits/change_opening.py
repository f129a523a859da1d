"""Change an opening: its length, its angle, its place along the crossing edge.

The one edit that may.  Both ends stay on the outline as it is; the main piece is cut anew beside
them, and the layers behind the opening follow.
"""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

import numpy as np

from propagate.engine.edits.opening_at import LEAST_MM, OpeningAt
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import EDIT, Change, ChangeKind, Notice
from propagate.engine.state import Split
from propagate.errors import EditError, UnknownName
from propagate.pattern.amount import Amount
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
        How far its end on the crossing edge goes, away from the side; below 0 towards it.
    turn : float
        Degrees; above 0 it runs more like the side, below 0 more like the crossing edge.
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
            "how far its end on the crossing edge goes away from the side, below 0 towards it",
        ),
    )
    turn: float = field(
        default=0.0,
        metadata=told(
            "angle",
            "degrees by which it is turned; above 0 it runs more like the side, below 0 more like "
            "the crossing edge",
        ),
    )

    def draw(self, job: Job) -> Drawn:
        """Lay the opening, and cut its main piece beside it; raises UnknownName, EditError."""
        openings = job.pattern.relations.openings
        where = f"set '{job.pattern.name}', opening '{self.opening}', size '{job.size}'"
        if self.opening not in openings:
            raise UnknownName("opening", self.opening, list(openings), f"set '{job.pattern.name}'")
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
        changed = [e.name for e in new.edges if e != laying.piece.edge(e.name)]
        return Drawn(
            said=said,
            words={"kind": self.word, **self.said(), "pieces": [owner], "follow": job.follow},
            changes=tuple(
                Change(f"{owner}.{edge}", ChangeKind.DRAWN, text, EDIT) for edge in changed
            ),
            given=Given({owner: new}, loose=frozenset({owner}), openings=frozenset({self.opening})),
            notices=tuple(Notice(owner, line) for line in notices),
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
