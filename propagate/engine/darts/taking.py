"""Which darts a companion that is drawn alike takes over from its lead, and how.

A lining has the darts of its shell: the same legs and the same tip, when the shell is laid on
it.  Where such a dart became wider, was moved, taken out or swung into another edge, the same
is done on the lining.  A companion without the shell's darts, or of which the edge that a
dart came to is not drawn alike, keeps what it has, and that is told.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from propagate.engine.darts.changes import DartChange, change_lies_on, dart_changes, legs_along
from propagate.engine.darts.placing import with_dart, without_dart
from propagate.engine.marks_on_lines import put_mark
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import as_pair, locate
from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.relations import Span
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = ["DartTaking", "darts_alike", "darts_to_take"]

ALIKE_MM = 0.2
"""Legs and tips of two darts that lie this close are those of one dart, drawn twice."""


@dataclass(frozen=True)
class DartTaking:
    """Darts of a lead that changed, and the companion's darts that are drawn like them.

    Attributes
    ----------
    was, now : SizedPiece
        The lead before and after.
    motion : Motion
        Lays the lead on the companion.
    edges : mapping of the lead's edge name to the companion's
        Those that are drawn alike.
    changes : tuple of DartChange
        Of the lead, on those edges.
    alike : mapping of the lead's dart name to the companion's
    """

    was: SizedPiece
    now: SizedPiece
    motion: Motion
    edges: Mapping[str, str]
    changes: tuple[DartChange, ...] = ()
    alike: Mapping[str, str] = field(default_factory=dict)

    @property
    def moves_edges(self) -> bool:
        """Whether a dart came or went, so that a part of the piece was swung."""
        return any(change.what != "changed" for change in self.changes)

    @property
    def possible(self) -> bool:
        """Whether the companion can take all of it over."""
        known = all(change.name in self.alike for change in self.changes if change.was_on)
        return known and all(
            change.edge in self.edges and bool(self.alike)
            for change in self.changes
            if change.what in ("came", "swung")
        )

    def put(self, piece: SizedPiece, old: SizedPiece, named: Collection[str]) -> SizedPiece:
        """Do on the companion, whose edges are new already, what was done on the lead.

        Parameters
        ----------
        piece, old : SizedPiece
            The companion with its new edges, and as it was.
        named : collection of str
            Landmarks of the companion that relations name.
        """
        for change in self.changes:
            if change.what in ("went", "swung"):
                piece = without_dart(piece, old, self.alike[change.name], named)
        for change in self.changes:
            if change.what == "changed":
                piece = self._moved(piece, change)
            elif change.what in ("came", "swung"):
                piece = self._with_new(piece, change)
        return piece

    def _moved(self, piece: SizedPiece, change: DartChange) -> SizedPiece:
        """Move the legs of a dart that is wider or elsewhere, its tip with them."""
        dart = piece.dart(self.alike[change.name])
        edge = piece.edge(dart.edge)
        lead, places = self._places(piece, change.name)
        marks = {
            leg: put_mark(piece.landmark(leg), edge, place)
            for leg, place in zip(legs_along(piece, dart), places, strict=True)
        }
        off = np.subtract(lead.tip, self.was.dart(change.name).tip)
        tip = self._lay_tip(lead) if np.hypot(*off) > RESTS_MM else dart.tip
        return replace(
            piece,
            landmarks=tuple(marks.get(mark.name, mark) for mark in piece.landmarks),
            darts=tuple(replace(d, tip=tip) if d is dart else d for d in piece.darts),
        )

    def _with_new(self, piece: SizedPiece, change: DartChange) -> SizedPiece:
        lead, places = self._places(piece, change.name)
        legs = legs_along(self.now, lead)
        dart = Dart(
            self.alike.get(change.name, lead.name),
            self.edges[lead.edge],
            legs[::-1] if self.motion.face_down else legs,
            self._lay_tip(lead),
        )
        return with_dart(piece, dart, places)

    def _places(self, piece: SizedPiece, name: str) -> tuple[Dart, tuple[float, float]]:
        """Find a dart of the lead as it is now, and where its legs lie on the companion's edge."""
        lead = self.now.dart(name)
        points = piece.edge(self.edges[lead.edge]).points
        laid = self.motion.apply(np.array([self.now.landmark(leg).point for leg in lead.legs]))
        low, high = sorted(locate(points, point)[0] for point in laid)
        return lead, (low, high)

    def _lay_tip(self, lead: Dart) -> tuple[float, float]:
        return as_pair(rounded(self.motion.apply(lead.tip)))


def darts_to_take(
    was: SizedPiece,
    now: SizedPiece,
    own: SizedPiece,
    motion: Motion,
    edges: Mapping[str, str],
    sewn: Sequence[Span],
) -> DartTaking:
    """Find what changed of a lead's darts on some edges, and the companion's darts like them.

    Parameters
    ----------
    was, now : SizedPiece
        The lead before and after.
    own : SizedPiece
        The companion as it was.
    motion : Motion
        Lays the lead on the companion.
    edges : mapping of the lead's edge name to the companion's
        Those that are drawn alike, as a whole.
    sewn : sequence of Span
        Of the lead, to which the companion is sewn.
    """
    changes = tuple(
        change
        for change in dart_changes(was, now)
        if change.edge in edges
        or change.was_on in edges
        or any(change_lies_on(change, was, now, span) for span in sewn)
    )
    return DartTaking(was, now, motion, edges, changes, darts_alike(was, own, motion, edges))


def darts_alike(
    lead: SizedPiece, own: SizedPiece, motion: Motion, edges: Mapping[str, str]
) -> dict[str, str]:
    """Return darts of a lead that a companion has too, at the same place, by name."""
    found = {}
    for dart in lead.darts:
        laid = _lay_corners(lead, dart, motion)
        for one in own.darts:
            if edges.get(dart.edge) != one.edge:
                continue
            mine = _lay_corners(own, one, Motion())
            legs = min(
                float(np.hypot(*(laid[order] - mine[:2]).T).max()) for order in ([0, 1], [1, 0])
            )
            if max(legs, float(np.hypot(*(laid[2] - mine[2])))) <= ALIKE_MM:
                found[dart.name] = one.name
    return found


def _lay_corners(piece: SizedPiece, dart: Dart, motion: Motion) -> Array:
    """Lay the legs and the tip of a dart, (3, 2)."""
    points = [*(piece.landmark(leg).point for leg in dart.legs), dart.tip]
    return np.asarray(motion.apply(np.array(points)))
