"""What the edits of darts have in common: find the dart, say no with the nearest yes, draw."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import field, replace
from typing import Any

import numpy as np
import shapely

from propagate.engine.compare import edge_status
from propagate.engine.darts.cap import Lie, lie_of
from propagate.engine.darts.changes import dart_changes, dart_words, mouth_of
from propagate.engine.darts.remarking import BareEdge
from propagate.engine.edits.edge_of_set import EdgeOfSet
from propagate.engine.edits.nearest import nearest_possible
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.record import EDIT, Change, ChangeKind, Notice
from propagate.errors import EditError, UnknownName
from propagate.geometry.polyline import locate
from propagate.pattern.amount import Amount
from propagate.pattern.model import Dart, Edge, SizedPiece
from propagate.pattern.named_marks import named_landmarks
from propagate.pattern.patternset import PatternSet
from propagate.pattern.told import told
from propagate.tolerances import DART_LEGS_LOOK_MM
from propagate.values import dataclass

__all__ = [
    "BENT_DEG",
    "LEAST_MM",
    "DartAt",
    "DartEdit",
    "check_clear",
    "dart_drawn",
    "edge_at",
    "says_bend",
]

BENT_DEG = 3.0
"""A line that turns by more where a dart was is trued by hand (common practice, no source)."""
LEAST_MM = 5.0
"""A dart's leg stands at least this far from a corner, or from the next dart."""


@dataclass(frozen=True)
class DartAt:
    """A dart of a piece in the size of a job.

    Attributes
    ----------
    where : str
        Set, piece, size and dart, for messages.
    name : str
        Of the piece.
    piece : SizedPiece
    dart : Dart
    lie : Lie
        How the piece hangs.
    named : frozenset of str
        Landmarks that relations name.
    """

    where: str
    name: str
    piece: SizedPiece
    dart: Dart
    lie: Lie
    named: frozenset[str]

    def refuse(self, text: str) -> EditError:
        """An error that says where."""
        return EditError(f"{self.where}: {text}")


@dataclass(frozen=True, kw_only=True)
class DartEdit(SizedEdit):
    """An edit of one dart.

    Attributes
    ----------
    dart : str
        ``PIECE.DART``.
    """

    dart: str = field(metadata=told("dart", "the dart"))

    def job_on(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size.

        What turns with a dart was not reshaped: mates keep their shapes, whatever is asked.
        """
        return replace(super().job_on(pattern), follow="length")

    def draw(self, job: Job) -> Drawn:
        """Draw the edit in one size.

        Raises
        ------
        UnknownName
            For a piece or dart that there is not.
        EditError
            When its legs differ by so much that they are not sewn on each other, or as the edit
            itself says.
        """
        name, _, own = self.dart.partition(".")
        piece = job.pattern.sized(name, job.size)
        dart = next((one for one in piece.darts if one.name == own), None)
        if dart is None:
            raise UnknownName("dart", own, [one.name for one in piece.darts], f"piece '{name}'")
        where, lie = f"{job.where(name)}, dart '{own}'", lie_of(job.pattern, name, piece)
        at = DartAt(where, name, piece, dart, lie, named_landmarks(job.pattern, name))
        legs = [
            float(np.hypot(*np.subtract(piece.landmark(leg).point, dart.tip))) for leg in dart.legs
        ]
        if abs(legs[0] - legs[1]) > DART_LEGS_LOOK_MM:
            raise at.refuse(
                f"found legs of {legs[0]:.1f} mm and {legs[1]:.1f} mm, expected them alike within "
                f"{DART_LEGS_LOOK_MM:g} mm; put the tip above the middle of the mouth first"
            )
        return self.drawn(job, at)

    @abstractmethod
    def drawn(self, job: Job, at: DartAt) -> Drawn:
        """Draw the edit of a dart that was found."""

    def of_width(self, job: Job, at: DartAt, amount: Amount) -> float:
        """An amount in the size of a job, mm; a share is of the width of the dart's mouth."""
        pattern = job.pattern

        def width(size: str) -> float:
            piece = pattern.sized(at.name, size)
            low, high = mouth_of(piece, next(d for d in piece.darts if d.name == at.dart.name))
            return high - low

        return self.amount(job, amount, width)


def edge_at(at: DartAt, edge: Edge) -> EdgeOfSet:
    """An edge of the dart's own piece, on which places are named."""
    return EdgeOfSet.on_piece(at.name, edge, at.piece, at.where)


def check_clear(
    at: DartAt,
    bare: BareEdge,
    places: Callable[[float], Sequence[tuple[float, float]]],
    asked: float,
    what: str,
    least: float = -np.inf,
) -> None:
    """Check that the mouths which an amount asks for have room on their edge.

    Parameters
    ----------
    places : callable
        Of an amount in mm: where the legs of each mouth would stand on the edge.
    asked : float
        The amount, mm.
    what : str
        What it is, after "found ... mm".
    least : float
        Amounts below this are none.

    Raises
    ------
    EditError
        Says what is in the way, and the nearest amount for which there is room.
    """
    why = _in_the_way(at, bare, places(asked))
    if not why:
        return
    reach = bare.edge.length

    def possible(amount: float) -> bool:
        return amount >= least and not _in_the_way(at, bare, places(amount))

    near = nearest_possible(possible, -reach, reach, asked)
    cure = (
        "there is room for none; move or swing it first"
        if np.isnan(near)
        else f"the nearest possible is {near:.1f} mm"
    )
    raise at.refuse(f"found {asked:g} mm {what}, but {why}; {cure}")


def _in_the_way(at: DartAt, bare: BareEdge, places: Sequence[tuple[float, float]]) -> str:
    """What stands where mouths would come to lie; empty when there is room."""
    taken = [*bare.others]
    for first, last in places:
        if first < LEAST_MM or last > bare.edge.length - LEAST_MM:
            return (
                f"a leg would stand less than {LEAST_MM:g} mm from an end of "
                f"'{bare.edge.name}', or beyond it"
            )
        for low, high in taken:
            if first < high + LEAST_MM and last > low - LEAST_MM:
                return f"its mouth would lie within {LEAST_MM:g} mm of another dart's, or on it"
        taken.append((first, last))
        for mark in at.piece.landmarks_on(bare.edge.name):
            if mark.kind == "dart leg":
                continue
            along, gap = locate(bare.edge.points, mark.point)
            if gap <= LEAST_MM and first < along < last:
                return f"its mouth would lie over {mark.kind} '{mark.name}'"
    return ""


def says_bend(bare: BareEdge) -> list[tuple[str, str]]:
    """A word about the line where a mouth was, when it turns there."""
    if bare.bend_deg <= BENT_DEG:
        return []
    return [
        (
            f"'{bare.edge.name}' turns by {bare.bend_deg:.1f}° where the legs of dart "
            f"'{bare.dart.name}' were",
            "true it there",
        )
    ]


def dart_drawn(
    at: DartAt,
    new: SizedPiece,
    said: str,
    words: Mapping[str, Any],
    notices: Iterable[tuple[str, str]] = (),
    *,
    crossed: Collection[str] | None = None,
) -> Drawn:
    """What an edit of a dart hands over: the piece, and what changed on its edges.

    Parameters
    ----------
    at : DartAt
    new : SizedPiece
    said, words
        As of `Drawn`.
    notices : iterable of (str, str)
        What was found, and what to do.
    crossed : collection of str or None
        Of an edit that turned a part of the piece, and what lies in it: the inner lines on both
        sides of the cut, which stay.

    Raises
    ------
    EditError
        When the new outline would cross itself, or the tip lie outside.
    """
    outline = shapely.Polygon(new.outline)
    if not outline.is_valid:
        raise at.refuse(
            f"the outline would cross itself ({shapely.is_valid_reason(outline)}, mm), expected "
            "room for the part that moves; swing less of it, or into another place"
        )
    for dart in new.darts:
        away = float(outline.distance(shapely.Point(dart.tip)))
        if away > 0.0:
            raise at.refuse(
                f"the tip of dart '{dart.name}' would lie {away:.1f} mm outside the piece, "
                "expected it inside; move it less far"
            )
    rows = dart_changes(at.piece, new)
    changes = []
    for before, after in zip(at.piece.edges, new.edges, strict=True):
        text = "; ".join(dart_words(row) for row in rows if after.name in (row.edge, row.was_on))
        reshaped = edge_status(before, after) == "reshaped"
        if reshaped or text:
            kind = ChangeKind.DRAWN if reshaped else ChangeKind.MARKED
            changes.append(Change(f"{at.name}.{after.name}", kind, text or "drawn anew", EDIT))
    return Drawn(
        said=said,
        words=words,
        changes=tuple(changes),
        given=Given(
            {at.name: new},
            placed=frozenset() if crossed is None else frozenset({at.name}),
            left=frozenset(f"{at.name}.{line}" for line in crossed or ()),
        ),
        notices=tuple(Notice(at.name, *told) for told in notices),
    )
