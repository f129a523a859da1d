"""Slash and spread a piece for fullness, or widen it along a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, replace
from itertools import pairwise
from typing import ClassVar

import numpy as np
import shapely

from propagate.engine.compare import drawn_changes
from propagate.engine.darts.cap import lie_of
from propagate.engine.darts.changes import mouth_of
from propagate.engine.edits.edge_of_set import EdgeOfSet, edge_place, opening_on
from propagate.engine.edits.gathering import list_joins, with_gathering
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.edits.slashed import Slash, part_areas, spread_piece
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import Notice
from propagate.errors import EditError
from propagate.geometry.polyline import point_at
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.told import told
from propagate.tolerances import ON_LINE_MM, SAME_POINT_MM, SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["Spread", "Widen"]

_CLEAR_MM = 5.0
"""A line ends at least this far from the corners of its edges and from the next line."""
_WIDEST_DEG = 60.0
"""A part that turns by more was meant in another unit, or needs more lines."""


@dataclass(frozen=True, kw_only=True)
class Widen(SizedEdit):
    """The edit: a piece is cut along lines from one edge to another and opened all along.

    Attributes
    ----------
    piece : str
    first, second : str
        Edges from and to which the lines run.
    by : Amount
        By how much it is wider in all.
    lines : int
        How many lines, evenly.
    at, to_at : tuple of str
        Places of the first and of the last line on both edges; evenly between the corners else.
    stays : str
        An edge that stays where it is; else the centre.
    gather : bool
        What is sewn to the longer edges keeps its length: the ease there takes up the difference.
    """

    word: ClassVar[str] = "widen"
    verb: ClassVar[str] = "widened"

    piece: str = field(metadata=told("name", "the piece"))
    first: str = field(metadata=told("name", "the edge from which it is cut", key="from"))
    second: str = field(metadata=told("name", "the edge to which it is cut", key="to"))
    by: Amount = field(
        metadata=told("amount", "how much it opens at the first edge, all lines together")
    )
    lines: int = field(default=1, metadata=told("count", "along how many lines, evenly"))
    at: tuple[str, ...] = field(
        default=(),
        metadata=told(
            "places", "the line on that edge, or the first and the last of several; else evenly"
        ),
    )
    to_at: tuple[str, ...] = field(
        default=(), metadata=told("places", "the same on the second edge")
    )
    stays: str = field(
        default="", metadata=told("name", "an edge that stays where it is; else the centre")
    )
    gather: bool = field(
        default=False,
        metadata=told(
            "flag",
            "what is sewn to the longer edges keeps its length: the ease of those seams and zones "
            "is set to it",
        ),
    )

    def on_set(self, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
        """The set with the eases of what is gathered; raises as `draw`."""
        if not self.gather:
            return pattern
        spread = {size: self._spread(Job.in_one_size(pattern, size))[0] for size in sizes}
        return self.checked(
            pattern, with_gathering(pattern, self.piece, spread, self.where(pattern))
        )

    def draw(self, job: Job) -> Drawn:
        """Cut, spread and draw the edges over the gaps; raises UnknownName, EditError."""
        new, crossed = self._spread(job)
        old = job.pattern.sized(self.piece, job.size)
        text = self._words()
        return Drawn(
            said=f"{self.piece} {text}",
            words=self.words(job, [self.piece]),
            changes=tuple(drawn_changes(self.piece, old, new, text)),
            given=Given(
                {self.piece: new},
                loose=frozenset({self.piece}),
                placed=frozenset({self.piece}),
                openings=frozenset(
                    name
                    for name, opening in job.pattern.relations.openings.items()
                    if opening.piece == self.piece
                ),
            ),
            asked=list_joins(job.pattern, self.piece) if self.gather else frozenset(),
            notices=(
                *(
                    Notice(
                        self.piece,
                        f"'{name}' lies on both sides of a line of the cut",
                        "look whether it is still as it should be",
                    )
                    for name in crossed
                ),
                *self._leads(job.pattern, old, new),
            ),
        )

    def _leads(self, pattern: PatternSet, old: SizedPiece, new: SizedPiece) -> list[Notice]:
        """What leads the longer edges and stays as it is: a change never goes back to a lead."""
        longer = {
            f"{self.piece}.{name}"
            for name in (self.first, self.second)
            if abs(new.edge(name).length - old.edge(name).length) > SEAM_LENGTH_MM
        }
        found = [
            Notice(
                name,
                f"'{key}' follows there and is longer now than what leads it",
                "spread the lead too, or let the seam take up the rest in gathers",
                typed="gather = true",
            )
            for name, seam in pattern.relations.seams.items()
            for key in dict.fromkeys(span.key for span in seam.follow)
            if key in longer and not (seam.mirror or self.gather)
        ]
        return found + [
            Notice(
                name,
                f"'{band.piece}' is as long as what it is sewn to",
                "spread that, and the band follows",
            )
            for name, band in pattern.relations.bands.items()
            if f"{band.piece}.{band.sewn}" in longer
        ]

    def _words(self) -> str:
        lines = "a line" if self.lines == 1 else f"{self.lines} lines"
        opens = self._opens_words()
        return f"{self.verb} along {lines} from '{self.first}' to '{self.second}' by {opens}"

    def _opens_words(self) -> str:
        return amount_words(self.by)

    def _opens(self, job: Job) -> tuple[float, float]:
        """By how much it opens at both edges, all lines together, mm."""
        by = self._open_at(job, self.by, self.first)
        return by, by

    def _open_at(self, job: Job, amount: Amount, edge: str) -> float:
        return self.amount(
            job, amount, lambda size: job.pattern.sized(self.piece, size).edge(edge).length
        )

    def _spread(self, job: Job) -> tuple[SizedPiece, list[str]]:
        self.refuse_sign(job, "by", self.by)
        piece = job.pattern.sized(self.piece, job.size)
        where = job.where(self.piece)
        if self.first == self.second:
            raise EditError(f"{where}: found a cut from edge '{self.first}' to itself")
        first, second = (
            EdgeOfSet.on_piece(self.piece, piece.edge(name), piece, where)
            for name in (self.first, self.second)
        )
        self._refuse_rigid(job, where)
        opens = self._opens(job)
        ahead, back = self._places(first, self.at), self._places(second, self.to_at)
        slash = Slash(
            self.first,
            self.second,
            tuple(zip(ahead, back[::-1], strict=True)),
            (opens[0] / self.lines, opens[1] / self.lines),
            stays_last=False,
        )
        self._check(piece, slash, where)
        slash = replace(slash, stays_last=self._stays_last(job, piece, slash))
        new, crossed = spread_piece(piece, slash)
        if not shapely.Polygon(new.outline).is_valid:
            raise EditError(
                f"{where}: the outline would cross itself, expected room for the parts; open it by "
                "less, or along more lines"
            )
        return new, crossed

    def _refuse_rigid(self, job: Job, where: str) -> None:
        """Refuse edges that may not open: an opening and a fold; raises EditError."""
        for name in (self.first, self.second):
            opening = opening_on(job.pattern, self.piece, name)
            rigid = "" if opening is None else f"opening '{opening.name}'"
            if job.pattern.info[self.piece].fold == name:
                rigid = "on the fold of the cloth"
            if rigid:
                raise EditError(
                    f"{where}: edge '{name}' is {rigid} and stays as it is, expected an edge "
                    "that may open"
                )

    def _places(self, of: EdgeOfSet, said: tuple[str, ...]) -> list[float]:
        """Where the lines end on an edge, ascending, mm."""
        places = sorted(edge_place(of, place) for place in said)
        count, whole = self.lines, of.edge.length
        if places and len(places) != min(count, 2):
            raise EditError(
                f"{of.where}: found {len(places)} places on edge '{of.edge.name}' for {count} "
                f"lines, expected {min(count, 2)}: the first and the last line"
            )
        found = [whole * k / (count + 1) for k in range(1, count + 1)]
        if places:
            found = [float(place) for place in np.linspace(places[0], places[-1], count)]
        least = min(b - a for a, b in pairwise([0.0, *found, whole]))
        if least < _CLEAR_MM:
            raise EditError(
                f"{of.where}: found lines {least:.1f} mm apart on edge '{of.edge.name}', or from "
                f"its ends, expected at least {_CLEAR_MM:g} mm; it is {whole:.1f} mm long"
            )
        return found

    def _check(self, piece: SizedPiece, slash: Slash, where: str) -> None:
        """Refuse lines that leave the piece or run through a dart, and too wide a turn."""
        inside = shapely.Polygon(piece.outline).buffer(ON_LINE_MM)
        first, second = piece.edge(slash.first).points, piece.edge(slash.second).points
        for here, there in slash.places:
            ends = np.array([point_at(first, here), point_at(second, there)])
            line = shapely.LineString(ends)
            if not inside.covers(line):
                raise EditError(
                    f"{where}: the line from '{slash.first}' at {here:.1f} mm to '{slash.second}' "
                    f"at {there:.1f} mm leaves the piece; name other places"
                )
            for dart in piece.darts:
                low, high = mouth_of(piece, dart)
                legs = [point_at(piece.edge(dart.edge).points, at) for at in (low, high)]
                if shapely.Polygon([*legs, dart.tip]).distance(line) < _CLEAR_MM:
                    raise EditError(
                        f"{where}: the line from '{slash.first}' at {here:.1f} mm to "
                        f"'{slash.second}' at {there:.1f} mm runs within {_CLEAR_MM:g} mm of dart "
                        f"'{dart.name}' or through it; name other places, or swing or close the "
                        "dart first"
                    )
            widest = 2.0 * float(np.sin(np.radians(_WIDEST_DEG / 2))) * line.length
            if abs(slash.opens[0] - slash.opens[1]) > widest:
                raise EditError(
                    f"{where}: a part would turn by more than {_WIDEST_DEG:g}°, expected the two "
                    f"edges to open by amounts at most {widest * self.lines:.1f} mm apart; open it "
                    "along more lines; is the unit right?"
                )
        areas = part_areas(piece, slash)
        if any(area.area <= SAME_POINT_MM or not area.is_valid for area in areas):
            raise EditError(f"{where}: the lines cross each other; name their places in order")

    def _stays_last(self, job: Job, piece: SizedPiece, slash: Slash) -> bool:
        """Whether the part behind the last line stays."""
        areas = part_areas(piece, slash)
        stays = self.stays or lie_of(job.pattern, self.piece, piece).centre
        if self.stays or stays not in (None, self.first, self.second):
            edge = piece.edge(str(stays))
            middle = shapely.Point(point_at(edge.points, edge.length / 2))
            return bool(areas[-1].distance(middle) < areas[0].distance(middle))
        return bool(areas[-1].area > areas[0].area)


@dataclass(frozen=True, kw_only=True)
class Spread(Widen):
    """The edit: a piece is slashed and spread, by another amount at each end; see `Widen`.

    Attributes
    ----------
    to_by : Amount or None
        By how much it opens at the second edge, all lines together; None is a hinge.
    """

    word: ClassVar[str] = "spread"
    verb: ClassVar[str] = "spread"

    to_by: Amount | None = field(
        default=None,
        metadata=told(
            "amount", "how much it opens at the second edge, all lines together; a hinge else"
        ),
    )

    def _opens_words(self) -> str:
        there = "nothing" if self.to_by is None else amount_words(self.to_by)
        return f"{amount_words(self.by)} at the first and {there} at the second"

    def _opens(self, job: Job) -> tuple[float, float]:
        by = self._open_at(job, self.by, self.first)
        if self.to_by is None:
            return by, 0.0
        self.refuse_sign(job, "to_by", self.to_by)
        return by, self._open_at(job, self.to_by, self.second)
