"""Swing a dart into another edge, as a whole or in part.

By hand the new place is cut to the tip, the old dart is closed as far as is wanted, and the
cut opens by as much.  What turns is a part of the piece, about the tip: so both edges stay as
long as they are when the darts are sewn, and what they are sewn to stays as it is.
"""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar

import numpy as np
import shapely

from propagate.engine.darts.changes import legs_along, mouth_of
from propagate.engine.darts.swinging import Swung, cut_for, swing
from propagate.engine.edits.dart_edit import (
    BENT_DEG,
    LEAST_MM,
    DartAt,
    DartEdit,
    dart_drawn,
    edge_at,
)
from propagate.engine.edits.edge_of_set import edge_place, opening_on
from propagate.engine.edits.nearest import nearest_possible
from propagate.engine.job import Drawn, Job
from propagate.errors import UnknownName
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import between, point_at
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.told import told
from propagate.tolerances import SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["SwingDart"]

_ON_RIM_MM = 1e-3
_WHOLE = 1e-9


@dataclass(frozen=True, kw_only=True)
class SwingDart(DartEdit):
    """The edit: a dart is closed, and opens in another edge.

    Attributes
    ----------
    dart : str
    into : str
        Edge of the same piece.
    at : str
        Place on that edge.
    share : Amount
        How much of the dart is swung: a share of its angle, or so much of the width of its
        mouth; what is left is closed in part.
    called : str
        Name of the dart that opens; empty keeps the name of a dart that is swung as a whole.
    stays : str
        An edge of the part that stays where it is; empty takes the fold, else the centre that
        the set names, else the longest edge on the grain, else the larger part.

    Examples
    --------
    >>> import propagate
    >>> skirt = propagate.load(propagate.demo_path("scoop_skirt"))
    >>> half = propagate.Amount(share=0.5)
    >>> edit = propagate.SwingDart(
    ...     dart="skirt_back.back_dart", into="cb", at="150mm", share=half
    ... )
    >>> propagate.run(skirt, edit).sews
    True
    """

    word: ClassVar[str] = "swing-dart"
    every_size: ClassVar[bool] = True

    into: str = field(metadata=told("name", "the edge of the same piece in which it opens"))
    at: str = field(metadata=told("place", "where on that edge"))
    share: Amount = field(
        default=Amount(share=1.0),
        metadata=told(
            "amount", "how much of it, by its angle or by the width of its mouth; all when left out"
        ),
    )
    called: str = field(default="", metadata=told("name", "name of the dart that opens"))
    stays: str = field(
        default="", metadata=told("name", "an edge that stays where it is, such as the centre")
    )

    def drawn(self, job: Job, at: DartAt) -> Drawn:
        """Turn a part of the piece about the tip; raises UnknownName, EditError."""
        share = self._share(job, at)
        place = _find_place(job, at, self)
        cut = cut_for(at.piece, at.dart, self.into, place, self.stays or at.lie.centre)
        own = at.dart.name
        whole = share == 1.0
        name = self.called or (own if whole else f"{own}_2")
        legs = (f"{name}_leg_a", f"{name}_leg_b")
        if whole and not self.called:
            legs = legs_along(at.piece, at.dart)
        found = swing(at.piece, cut, share, name=name, legs=legs, named=at.named, lie=at.lie)
        part = "" if whole else f" by {amount_words(self.share)} of it"
        said = (
            f"dart {self.dart} swung from '{at.dart.edge}' into '{self.into}'{part}, at {self.at}"
        )
        words = self.words(
            job, [at.name], at_mm=round(place, 6), turned_deg=round(found.degrees, 6)
        )
        notices = _list_notices(at, self.into, whole, found)
        return dart_drawn(at, found.piece, said, words, notices, crossed=found.crossed)

    def _share(self, job: Job, at: DartAt) -> float:
        """How much of the angle is swung."""
        if self.share.share is not None:
            share = self.share.share
        else:
            low, high = mouth_of(at.piece, at.dart)
            share = self.of_width(job, at, self.share) / (high - low)
        if not 0.0 < share <= 1.0 + _WHOLE:
            raise at.refuse(
                f"found {share:.0%} of the dart to swing, expected more than 0% and at most 100%; "
                "50% swings half of it"
            )
        return 1.0 if share >= 1.0 - _WHOLE else share


def _list_notices(at: DartAt, into: str, whole: bool, found: Swung) -> list[tuple[str, str]]:
    """What to look at: lines that were cut, legs that differ, a line that turns where it closed."""
    said = [
        (f"line '{line}' lies on both sides of the cut and stayed where it is", "draw it anew")
        for line in found.crossed
    ]
    dart, legs = at.dart, found.legs_mm
    if abs(legs[0] - legs[1]) > SEAM_LENGTH_MM:
        said.append(
            (
                f"the legs of dart '{dart.name}' differ by {abs(legs[0] - legs[1]):.2f} mm, so "
                f"'{dart.edge}' has a step of that size where it was closed",
                "true it",
            )
        )
    left = [m.name for m in found.piece.landmarks if m.name in dart.legs and m.kind == "mark"]
    if left:
        names = " and ".join(f"'{name}'" for name in left)
        said.append(
            (
                f"{names} stayed as a mark where the dart was closed: the set names it",
                "take it out of the set if it is not wanted",
            )
        )
    bend = _measure_bend(at) if whole and into != dart.edge else 0.0
    if bend > BENT_DEG:
        said.append(
            (
                f"'{dart.edge}' turns by {bend:.1f}° where dart '{dart.name}' was closed, as it "
                "did when the dart was sewn",
                "true it there",
            )
        )
    return said


def _measure_bend(at: DartAt) -> float:
    """By how much the dart's edge turns where its legs come together, degrees."""
    low, high = mouth_of(at.piece, at.dart)
    rim = at.piece.edge(at.dart.edge)
    tip = np.asarray(at.dart.tip)
    rays = [(point_at(rim.points, d) - tip) @ np.array([1.0, 1j]) for d in (low, high)]
    closing = float(np.angle(rays[0] / rays[1]))
    arriving = end_direction(between(rim.points, 0.0, low), "end")
    leaving = end_direction(between(rim.points, high, rim.length), "start") + closing
    return abs(float(np.degrees(np.angle(np.exp(1j * (leaving - arriving))))))


def _find_place(job: Job, at: DartAt, edit: SwingDart) -> float:
    """Where the cut begins on its edge, mm from the start.

    Raises
    ------
    UnknownName, EditError
    """
    piece, into = at.piece, edit.into
    for name in (into, edit.stays or into):
        if name not in piece.edge_names:
            raise UnknownName("edge", name, piece.edge_names, f"piece '{at.name}'")
    if job.pattern.info[at.name].fold == into:
        raise at.refuse(f"found edge '{into}', which lies on the fold, where no dart opens")
    opening = opening_on(job.pattern, at.name, into)
    if opening is not None:
        raise at.refuse(
            f"found edge '{into}', which is opening '{opening.name}', whose length does "
            "not change; swing it into another edge"
        )
    edge = piece.edge(into)
    asked = edge_place(edge_at(at, edge), edit.at)
    why = _tell_objection(at, into, asked)
    if why:
        near = nearest_possible(
            lambda place: not _tell_objection(at, into, place),
            LEAST_MM,
            edge.length - LEAST_MM,
            asked,
        )
        cure = (
            "no place on this edge can be reached from the tip; swing it into another edge"
            if np.isnan(near)
            else f"the nearest possible place is {near:.1f} mm from the start of the edge"
        )
        raise at.refuse(f"found {asked:g} mm along '{into}' to swing it to, but {why}; {cure}")
    return asked


def _tell_objection(at: DartAt, edge: str, place: float) -> str:
    """Why no cut can begin at a place; empty when it can."""
    piece, size = at.piece, at.piece.edge(edge).length
    if not LEAST_MM <= place <= size - LEAST_MM:
        return (
            f"the edge is {size:.1f} mm long and a dart stands at least {LEAST_MM:g} mm from its "
            "ends"
        )
    for dart in piece.darts:
        if dart.edge == edge:
            low, high = mouth_of(piece, dart)
            if low - LEAST_MM < place < high + LEAST_MM:
                return f"that is within {LEAST_MM:g} mm of the mouth of dart '{dart.name}'"
    point = point_at(piece.edge(edge).points, place)
    line = shapely.LineString([point, at.dart.tip])
    for dart in piece.darts:
        if dart.name == at.dart.name:
            continue
        legs = [piece.landmark(leg).point for leg in dart.legs]
        if shapely.Polygon([*legs, dart.tip]).intersects(line):
            return f"the cut would run past dart '{dart.name}', through its cloth"
    outline = shapely.Polygon(piece.outline)
    low, high = mouth_of(piece, at.dart)
    mouth = between(piece.edge(at.dart.edge).points, low, high)
    wedge = shapely.Polygon([*mouth, at.dart.tip])
    inside = outline.buffer(_ON_RIM_MM)
    if not inside.covers(line) or line.intersection(wedge).length > _ON_RIM_MM:
        return "the cut from there to the tip would leave the piece"
    return ""
