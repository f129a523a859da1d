"""Take in or let out an edge, all along or with a taper to where nothing changes.

By hand the amount is measured at one place, a smooth line is drawn from there to the hold,
and the edge that is crossed is cut off, or drawn on, at the new corner.
"""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar, Literal

from propagate.engine.edits.edge_darts import mouths_on
from propagate.engine.edits.edge_of_set import (
    EdgeOfSet,
    drawn_edges,
    edge_of_set,
    edge_place,
    ends_on_fold,
    refuse_opening,
)
from propagate.engine.edits.moving import Moved, Node, move_edge
from propagate.engine.edits.other_side import OtherSide, after_first, other_side
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Job
from propagate.errors import EditError
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.names import quote_names
from propagate.pattern.patternset import PatternSet
from propagate.pattern.told import told
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["LetOut", "TakeIn"]


@dataclass(frozen=True, kw_only=True)
class TakeIn(SizedEdit):
    """The edit: an edge goes into the piece by an amount.

    Attributes
    ----------
    edge : str
        ``PIECE.EDGE``, or ``ASSEMBLY.EDGE`` for a line that is taped together.
    by : Amount
        At an end of the edge it is measured along the edge that is crossed there.
    at : str
        Place of the whole amount; empty: all along, unless it tapers.
    to : tuple of str
        Places on one or both sides of `at` where nothing changes any more.
    both : bool
        The other side of the seam too, by as much.
    """

    word: ClassVar[str] = "take-in"
    verb: ClassVar[str] = "taken in"

    edge: str = field(metadata=told("edge", "the edge that is moved"))
    by: Amount = field(metadata=told("amount", "how much, at the place of the whole amount"))
    at: str = field(
        default="",
        metadata=told("place", "where the whole amount is; everywhere when nothing is said"),
    )
    to: tuple[str, ...] = field(
        default=(),
        metadata=told("places", "where it tapers off to nothing, on one side or on both"),
    )
    both: bool = field(
        default=False, metadata=told("flag", "the other side of the seam is changed by as much")
    )
    taper: Literal["smooth", "straight"] = field(
        default="smooth",
        metadata=told("choice", "how it tapers off", choices=("smooth", "straight")),
    )

    def draw(self, job: Job) -> Drawn:
        """Draw the edge, and what it crosses; raises UnknownName, EditError."""
        self.refuse_sign(job, "by", self.by)
        own = edge_of_set(job.pattern, self.edge, job.size)
        refuse_opening(job.pattern, own)
        moved = [(own, self._moved(job, own))]
        if self.both:
            mate = after_first(other_side(job, own, self._places(own)), moved[0][1])
            moved.append((mate.of, self._moved(job, own, mate)))
        found = [of for of, _ in moved]
        text = f"{self.verb} by {amount_words(self.by)}"
        return drawn_edges(
            job,
            moved,
            f"{' and '.join(of.key for of in found)} {text}{self._taper_words()}",
            {"kind": self.word, **self.said()},
            lambda edge: text if edge in {of.edge.name for of in found} else "ends at a new corner",
        )

    def _way(self, pattern: PatternSet, of: EdgeOfSet) -> float:
        """+1 into the piece, -1 out of it."""
        del pattern, of
        return 1.0

    def _taper_words(self) -> str:
        if not self.to:
            return " all along: no 'to' says where it comes to nothing" if self.at else ""
        return f" at {self.at}, to nothing at {' and '.join(self.to)}"

    def _moved(self, job: Job, own: EdgeOfSet, mate: OtherSide | None = None) -> Moved:
        """The edge, or the one that it is sewn to, drawn anew."""
        of = own if mate is None else mate.of
        mm = self.amount(
            job, self.by, lambda size: edge_of_set(job.pattern, of.key, size).edge.length
        )
        nodes = self._nodes(own, mm * self._way(job.pattern, of), mate)
        return move_edge(
            of.edges,
            of.edge.name,
            nodes,
            of.where,
            smooth=self.taper == "smooth",
            mouths=mouths_on(job.pattern, of),
            folds=ends_on_fold(job.pattern, of),
        )

    def _places(self, own: EdgeOfSet) -> list[float]:
        """Between which the edge is changed, mm from its start; none where it is all along."""
        if not self.at or not self.to:
            return []
        at = edge_place(own, self.at)
        return [at, *(edge_place(own, place, beyond=at) for place in self.to)]

    def _nodes(self, own: EdgeOfSet, inward: float, mate: OtherSide | None) -> list[Node]:
        of = own if mate is None else mate.of
        length = of.edge.length
        if not self.at:
            if self.to:
                raise EditError(
                    f"{of.where}: found 'to' without 'at', expected the place of the whole "
                    'amount too, such as at = "waist"'
                )
            return [Node(0.0, inward), Node(length, inward)]
        at_own = edge_place(own, self.at)
        at = at_own if mate is None else mate.place(self.at, at_own)
        holds = [edge_place(own, place, beyond=at_own) for place in self.to]
        if mate is not None:
            holds = [mate.place(p, mm) for p, mm in zip(self.to, holds, strict=True)]
        holds.sort()
        if len(holds) > 2 or any(abs(hold - at) <= SAME_POINT_MM for hold in holds):
            raise EditError(
                f"{of.where}: found the taper from '{self.at}' to "
                f"{quote_names(self.to, ' and ')}, expected one place on each side of it at most, "
                "and none at it"
            )
        for hold in holds:
            if not -SAME_POINT_MM <= hold <= length + SAME_POINT_MM:
                raise EditError(
                    f"{of.where}: the taper ends {max(-hold, hold - length):.1f} mm beyond edge "
                    f"'{of.edge.name}', expected a hold on it; it is {length:.1f} mm long"
                )
        if len(holds) == 2 and not holds[0] < at < holds[1]:
            raise EditError(
                f"{of.where}: found both holds of edge '{of.edge.name}' on one side of "
                f"'{self.at}', expected one on each"
            )
        nodes = [Node(hold, 0.0) for hold in holds if hold < at]
        if not nodes and at > SAME_POINT_MM:
            nodes = [Node(0.0, inward)]
        nodes.append(Node(at, inward))
        nodes += [Node(hold, 0.0) for hold in holds if hold > at]
        if nodes[-1].inward and at < length - SAME_POINT_MM:
            nodes.append(Node(length, inward))
        return nodes


@dataclass(frozen=True, kw_only=True)
class LetOut(TakeIn):
    """The edit: an edge goes out of the piece by an amount; the fields are those of `TakeIn`."""

    word: ClassVar[str] = "let-out"
    verb: ClassVar[str] = "let out"

    def _way(self, pattern: PatternSet, of: EdgeOfSet) -> float:
        del pattern, of
        return -1.0
