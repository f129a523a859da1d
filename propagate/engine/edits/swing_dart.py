"""Swing a dart into another edge, as a whole or in part.

By hand the new place is cut to the tip, the old dart is closed as far as is wanted, and the
cut opens by as much.  What turns is a part of the piece, about the tip: so both edges stay as
long as they are when the darts are sewn, and what they are sewn to stays as it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from propagate.engine.darts.changes import legs_along, mouth_of
from propagate.engine.darts.swinging import Swung, cut_for, swing
from propagate.engine.edits.dart_edit import (
    BENT_DEG,
    LEAST_MM,
    DartAt,
    dart_at,
    dart_drawn,
    job_in_one_size,
    nearest,
)
from propagate.engine.job import Drawn, Job
from propagate.errors import UnknownName
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import between, point_at
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = ["SwingDart"]

_ON_RIM_MM = 1e-3


@dataclass(frozen=True)
class SwingDart:
    """The edit: a dart is closed, and opens in another edge.

    Attributes
    ----------
    piece, dart : str
    edge : str
        Edge into which it is swung.
    at : float or str
        Where on that edge: mm from its start, or a landmark on it.
    share : float
        How much of the dart is swung, by its angle; below 1 it is closed in part.
    name : str or None
        Of the dart that opens; None keeps the name of a dart that is swung as a whole.
    stays : str or None
        An edge of the part that stays where it is; None takes the fold, else the centre that
        the set names, else the longest edge on the grain, else the larger part.
    size : str or None
        None takes the base size.

    Examples
    --------
    >>> import propagate
    >>> skirt = propagate.load(propagate.demo_path("scoop_skirt"))
    >>> edit = propagate.SwingDart("skirt_back", "back_dart", "cb", at=150.0, share=0.5)
    >>> propagate.run(skirt, edit).sews
    True
    """

    piece: str
    dart: str
    edge: str
    at: float | str
    share: float = 1.0
    name: str | None = None
    stays: str | None = None
    size: str | None = None

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName."""
        return job_in_one_size(pattern, self.size)

    def draw(self, job: Job) -> Drawn:
        """Turn a part of the piece about the tip; raises UnknownName, EditError."""
        at = dart_at(job, self.piece, self.dart)
        if not 0.0 < self.share <= 1.0:
            raise at.refuse(
                f"found a share of {self.share:g}, expected more than 0 and at most 1; 0.5 swings "
                "half of it"
            )
        place = _place(job, at, self)
        cut = cut_for(at.piece, at.dart, self.edge, place, self.stays or at.lie.centre)
        whole = self.share == 1.0
        name = self.name or (self.dart if whole else f"{self.dart}_2")
        legs = (f"{name}_leg_a", f"{name}_leg_b")
        if whole and self.name is None:
            legs = legs_along(at.piece, at.dart)
        found = swing(at.piece, cut, self.share, name=name, legs=legs, named=at.named, lie=at.lie)
        part = "" if whole else f" by {self.share:.0%} of its angle"
        said = (
            f"dart '{self.dart}' of '{self.piece}' swung from '{at.dart.edge}' into '{self.edge}'"
            f"{part}, {place:.1f} mm from its start"
        )
        words = {
            "kind": "swing dart",
            "piece": self.piece,
            "dart": self.dart,
            "edge": self.edge,
            "at_mm": round(place, 6),
            "share": self.share,
            "turned_deg": round(found.degrees, 6),
        }
        return dart_drawn(job, at, found.piece, said, words, _notices(at, self, found))


def _notices(at: DartAt, edit: SwingDart, found: Swung) -> list[str]:
    """What to look at: lines that were cut, legs that differ, a line that turns where it closed."""
    said = [
        f"line '{line}' lies on both sides of the cut and stayed where it is; draw it anew"
        for line in found.crossed
    ]
    legs = found.legs_mm
    if abs(legs[0] - legs[1]) > SEAM_LENGTH_MM:
        said.append(
            f"the legs of dart '{edit.dart}' differ by {abs(legs[0] - legs[1]):.2f} mm, so "
            f"'{at.dart.edge}' has a step of that size where it was closed; true it"
        )
    left = [m.name for m in found.piece.landmarks if m.name in at.dart.legs and m.kind == "mark"]
    if left:
        names = " and ".join(f"'{name}'" for name in left)
        said.append(f"{names} stayed as a mark where the dart was closed: the set names it")
    low, high = mouth_of(at.piece, at.dart)
    if edit.share == 1.0 and edit.edge != at.dart.edge:
        rim = at.piece.edge(at.dart.edge)
        tip = np.asarray(at.dart.tip)
        rays = [(point_at(rim.points, d) - tip) @ np.array([1.0, 1j]) for d in (low, high)]
        closing = float(np.angle(rays[0] / rays[1]))
        arriving = end_direction(between(rim.points, 0.0, low), "end")
        leaving = end_direction(between(rim.points, high, rim.length), "start") + closing
        bend = abs(float(np.degrees(np.angle(np.exp(1j * (leaving - arriving))))))
        if bend > BENT_DEG:
            said.append(
                f"'{at.dart.edge}' turns by {bend:.1f}° where dart '{edit.dart}' was closed, as it "
                "did when the dart was sewn; true it there"
            )
    return said


def _place(job: Job, at: DartAt, edit: SwingDart) -> float:
    """Where the cut begins on its edge, mm from the start.

    Raises
    ------
    UnknownName, EditError
    """
    piece = at.piece
    if edit.edge not in piece.edge_names:
        raise UnknownName("edge", edit.edge, piece.edge_names, f"piece '{at.name}'")
    if edit.stays is not None and edit.stays not in piece.edge_names:
        raise UnknownName("edge", edit.stays, piece.edge_names, f"piece '{at.name}'")
    info = job.pattern.info.get(at.name)
    if info is not None and info.fold == edit.edge:
        raise at.refuse(f"found edge '{edit.edge}', which lies on the fold, where no dart opens")
    for opening in job.pattern.relations.openings.values():
        if (opening.piece, opening.edge) == (at.name, edit.edge):
            raise at.refuse(
                f"found edge '{edit.edge}', which is opening '{opening.name}', whose length does "
                "not change; swing it into another edge"
            )
    size = piece.edge(edit.edge).length
    asked = piece.distance(edit.edge, edit.at) if isinstance(edit.at, str) else float(edit.at)

    def possible(place: float) -> bool:
        return not _against(at, edit.edge, place)

    why = _against(at, edit.edge, asked) if np.isfinite(asked) else "it is no number"
    if why:
        near = nearest(possible, LEAST_MM, size - LEAST_MM, asked if np.isfinite(asked) else 0.0)
        cure = (
            "no place on this edge can be reached from the tip; swing it into another edge"
            if np.isnan(near)
            else f"the nearest possible place is {near:.1f} mm from the start of the edge"
        )
        raise at.refuse(f"found {asked:g} mm along '{edit.edge}' to swing it to, but {why}; {cure}")
    return asked


def _against(at: DartAt, edge: str, place: float) -> str:
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
