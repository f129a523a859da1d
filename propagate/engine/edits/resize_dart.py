"""Make a dart wider or narrower, and give or take the same at the end of its edge.

The tip stays and the legs stay as long as each other.  What the mouth takes more of the edge is
let out at the side, and the side is trued: the change runs out along it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.placing import landmark_at
from propagate.engine.darts.remarking import BareEdge, Mouth, bare_edge, marked_anew, widened
from propagate.engine.edits.dart_edit import (
    LEAST_MM,
    DartAt,
    check_clear,
    dart_at,
    dart_drawn,
    job_in_one_size,
)
from propagate.engine.following.ends import hold_on_span
from propagate.engine.job import Drawn, Job
from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import arc_lengths, between, length, locate, unit
from propagate.pattern.model import Array, Edge, Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.spans import dart_mouths
from propagate.tolerances import STEP_MM

__all__ = ["ResizeDart"]

End = Literal["start", "end"]

_LEAST_MOUTH_MM = 1.0
_ROUNDS = 30
_STEEP = 2.0
"""A taper shorter than this many times what it carries would run across the edge."""


@dataclass(frozen=True)
class ResizeDart:
    """The edit: a dart is wider or narrower.

    Attributes
    ----------
    piece, dart : str
    by_mm : float
        What its mouth is to be wider by; below 0 narrower: the dart is closed in part.
    keep : "length" or "outline"
        With "length" the edge is as long as before when it is sewn, and so is the side: their
        corner goes out, or in.  With "outline" nothing moves but the legs, and what is sewn
        to the edge follows its new length.
    end : "start", "end" or None
        The end of the edge that gives; None takes the one away from the centre, and for a dart
        that lies across the lower one.
    taper_mm : float or None
        Over how much of the side the change runs out; None takes it to the hold of the seam
        there, or all of that edge.
    size : str or None
        None takes the base size.
    """

    piece: str
    dart: str
    by_mm: float
    keep: Literal["length", "outline"] = "length"
    end: End | None = None
    taper_mm: float | None = None
    size: str | None = None

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName."""
        return job_in_one_size(pattern, self.size)

    def draw(self, job: Job) -> Drawn:
        """Mark the legs anew and true the side; raises UnknownName, EditError."""
        at = dart_at(job, self.piece, self.dart)
        bare = bare_edge(at.piece, at.dart)
        if not (np.isfinite(self.by_mm) and self.by_mm != 0.0):
            raise at.refuse(
                f"found {self.by_mm:g} mm to make it wider by, expected a length other than 0; "
                "below 0 makes it narrower"
            )
        if bare.width + self.by_mm < _LEAST_MOUTH_MM:
            raise at.refuse(
                f"found {-self.by_mm:g} mm to make it narrower by, but its mouth is "
                f"{bare.width:.1f} mm wide; the most possible is "
                f"{bare.width - _LEAST_MOUTH_MM:.1f} mm; to close it as a whole, swing it"
            )

        def places(by: float) -> list[tuple[float, float]]:
            return [(bare.low - by / 2, bare.high + by / 2)]

        check_clear(at, bare, places, self.by_mm, "to make it wider by")
        wide = widened(bare, self.by_mm)
        if wide is None:
            raise at.refuse(
                f"found {self.by_mm:g} mm to make it wider by, but its legs would not end on "
                f"'{at.dart.edge}'; make it less wide"
            )
        legs = legs_along(at.piece, at.dart)
        mouth = Mouth(self.dart, legs, wide.low, wide.high, at.dart.tip)
        new = marked_anew(wide, [mouth], at.lie)
        words = {
            "kind": "resize dart",
            "piece": self.piece,
            "dart": self.dart,
            "by_mm": self.by_mm,
            "keep": self.keep,
        }
        word = "wider" if self.by_mm > 0 else "narrower"
        said = f"dart '{self.dart}' of '{self.piece}' made {abs(self.by_mm):g} mm {word}"
        if self.keep == "length":
            end = self.end or _giving(at, bare)
            side, taper = _taper(job, at, self, end)
            new = _given_at(at, new, end, side, taper, self.by_mm)
            words |= {"end": end, "side": side, "taper_mm": taper}
            said += f", '{side}' trued over {taper:.0f} mm"
        return dart_drawn(job, at, new, said, words)


def _giving(at: DartAt, bare: BareEdge) -> End:
    """The end that gives: away from the centre for an upright dart, below for one across."""
    legs = bare.at(bare.low), bare.at(bare.high)
    folded = at.lie.folded(at.piece, at.dart, legs)
    if not at.lie.is_upright(at.dart, legs):
        return folded
    return "end" if folded == "start" else "start"


def _taper(job: Job, at: DartAt, edit: ResizeDart, end: End) -> tuple[str, float]:
    """The edge that is trued, and over how much of it.

    Raises
    ------
    EditError
    """
    names = at.piece.edge_names
    step = 1 if end == "end" else -1
    side = at.piece.edge(names[(names.index(at.dart.edge) + step) % len(names)])
    info = job.pattern.info.get(at.name)
    if info is not None and info.fold == side.name:
        raise at.refuse(
            f"found the {end} of '{at.dart.edge}' to give, which lies on the fold '{side.name}'; "
            "let the other end give, or keep the outline"
        )
    taper = edit.taper_mm
    if taper is None:
        taper = _to_the_hold(job, at, side, "start" if end == "end" else "end")
    least = _STEEP * abs(edit.by_mm)
    if not least <= taper <= side.length:
        near = min(max(taper, least), side.length) if np.isfinite(taper) else side.length
        raise at.refuse(
            f"found a taper of {taper:g} mm along '{side.name}', which is {side.length:.1f} mm "
            f"long, for {abs(edit.by_mm):g} mm to run out on; the nearest possible is {near:.1f} mm"
        )
    return side.name, taper


def _to_the_hold(job: Job, at: DartAt, side: Edge, corner: End) -> float:
    """From a corner of the side to the hold of its seam; all of it where there is none."""
    places = [
        place
        for seam in job.pattern.relations.seams.values()
        for span in (*seam.lead, *seam.follow)
        if (span.piece, span.edge) == (at.name, side.name)
        and (place := hold_on_span(at.piece, span, seam.hold)) is not None
    ]
    reach = [place if corner == "start" else side.length - place for place in places]
    return min(reach, default=side.length)


def _given_at(
    at: DartAt, new: SizedPiece, end: End, side: str, taper: float, by: float
) -> SizedPiece:
    """The piece with the end of the dart's edge moved along it, and the side run out to there.

    The corner goes to where both edges have their lengths: the dart's edge by so much more,
    the side as it was, so that what is sewn to the side stays as it is.
    """
    edge, own = new.edge(at.dart.edge), new.edge(side)
    rim = edge.points if end == "end" else edge.points[::-1]
    shore = own.points if end == "start" else own.points[::-1]
    mouths = dart_mouths(new, edge.name)
    free = mouths[-1][1] if end == "end" else edge.length - mouths[0][0]
    if edge.length - free + by < LEAST_MM:
        raise at.refuse(
            f"found {abs(by):g} mm to take in at the {end} of '{edge.name}', but only "
            f"{edge.length - free:.1f} mm of it lie beside the dart; the most possible is "
            f"{max(edge.length - free - LEAST_MM, 0.0):.1f} mm"
        )
    ways = np.array([unit(end_direction(rim, "end")), unit(end_direction(shore, "end"))])
    asked = np.array([edge.length + by, own.length])
    amounts = np.array([by, 0.0])

    def drawn() -> tuple[Array, Array]:
        corner = rounded(rim[-1] + amounts @ ways)
        return _ended(rim, corner, free), rounded(fade_end(shore, corner, taper, STEP_MM))

    for _ in range(_ROUNDS):  # the slopes are near 1: what is left is a tenth each time
        amounts = amounts + asked - [length(line) for line in drawn()]
    line, true = drawn()
    true[-1] = line[-1]
    fresh = {}
    for name, points, old, turned in (
        (edge.name, line, edge, end == "start"),
        (side, true, own, end == "end"),
    ):
        corners = old.points[list(old.turns)].reshape(-1, 2)
        fresh[name] = edge_from_parts(name, [points[::-1] if turned else points], corners)
    redrawn = replace(new, edges=tuple(fresh.get(one.name, one) for one in new.edges))
    return replace(redrawn, landmarks=tuple(_mark(new, fresh, m, end, side) for m in new.landmarks))


def _ended(rim: Array, corner: Array, free: float) -> Array:
    """A line that ends at another corner: behind the dart it is drawn out evenly to there."""
    whole = length(rim)
    last = between(rim, free, whole)
    share = (arc_lengths(last) / (whole - free))[:, None]
    moved = rounded(last + share * (corner - rim[-1]))
    moved[0] = last[0]
    return np.vstack([between(rim, 0.0, free)[:-1], moved])


def _mark(
    old: SizedPiece, fresh: Mapping[str, Edge], mark: Landmark, end: End, side: str
) -> Landmark:
    """A mark of an edge that was drawn anew.

    One on the side keeps its distance from the corner that stayed, as its partner does; one
    on the dart's edge its distance from there, drawn out with the line behind the dart.
    """
    edge = fresh.get(mark.edge)
    if edge is None or mark.point in map(tuple, edge.points.tolist()):
        return mark
    along, was = old.distance(mark.edge, mark.name), old.edge(mark.edge).length
    gives_last = end == ("end" if mark.edge != side else "start")
    if mark.edge == side:
        return landmark_at(mark, edge, along if gives_last else edge.length - (was - along))
    return landmark_at(mark, edge, locate(edge.points, mark.point)[0])
