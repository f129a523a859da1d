"""Make a dart wider or narrower, and give or take the same at the end of its edge.

The tip stays and the legs stay as long as each other.  What the mouth takes more of the edge is
let out at the side, and the side is trued: the change runs out along it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from typing import ClassVar, Literal

import numpy as np

from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.remarking import Mouth, bare_edge, marked_anew, widen_mouth
from propagate.engine.edits.dart_edit import (
    LEAST_MM,
    DartAt,
    DartEdit,
    check_clear,
    dart_drawn,
    edge_at,
)
from propagate.engine.edits.edge_of_set import edge_place, opening_on
from propagate.engine.following.ends import hold_on_span
from propagate.engine.job import Drawn, Job
from propagate.engine.marks_on_lines import End, nearest_place, put_mark, walked_place
from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import arc_lengths, between, length, unit
from propagate.pattern.amount import Amount, amount_words
from propagate.pattern.model import Array, Edge, Landmark, SizedPiece
from propagate.pattern.spans import dart_mouths
from propagate.pattern.told import told
from propagate.tolerances import STEP_MM
from propagate.values import dataclass

__all__ = ["NarrowDart", "WidenDart"]


_LEAST_MOUTH_MM = 1.0
_ROUNDS = 30
_STEEP = 2.0
"""A taper shorter than this many times what it carries would run across the edge."""


@dataclass(frozen=True, kw_only=True)
class WidenDart(DartEdit):
    """The edit: a dart is wider.

    Attributes
    ----------
    dart : str
    by : Amount
        A share is of the width of its mouth.
    keep : "length" or "outline"
        With "length" the edge is as long as before when it is sewn, and so is the side: their
        corner goes out, or in.  With "outline" nothing moves but the legs, and what is sewn
        to the edge follows its new length.
    end : "away", "start" or "end"
        The end of the edge that gives; "away" from the centre, and for a dart that lies across
        the lower one.
    to : str
        Place on the side at which nothing changes any more, a length from the corner; empty
        takes the hold of the seam there, or all of that edge.
    """

    word: ClassVar[str] = "widen-dart"
    way: ClassVar[float] = 1.0

    by: Amount = field(metadata=told("amount", "how much; a share is of the width of its mouth"))
    keep: Literal["length", "outline"] = field(
        default="length",
        metadata=told(
            "choice",
            "the edge keeps its sewn length and gives at its end, or the outline stays",
            choices=("length", "outline"),
        ),
    )
    end: Literal["away", "start", "end"] = field(
        default="away",
        metadata=told(
            "choice",
            "the end of the edge that gives; away is from the centre",
            choices=("away", "start", "end"),
        ),
    )
    to: str = field(
        default="", metadata=told("place", "where on the side the change tapers off to nothing")
    )

    def drawn(self, job: Job, at: DartAt) -> Drawn:
        """Mark the legs anew and true the side; raises UnknownName, EditError."""
        self.refuse_sign(job, "by", self.by)
        by = self.way * self.of_width(job, at, self.by)
        bare = bare_edge(at.piece, at.dart)
        if bare.width + by < _LEAST_MOUTH_MM:
            raise at.refuse(
                f"found {-by:g} mm to make it narrower by, but its mouth is "
                f"{bare.width:.1f} mm wide; the most possible is "
                f"{bare.width - _LEAST_MOUTH_MM:.1f} mm; to close it as a whole, swing it"
            )

        def places(mm: float) -> list[tuple[float, float]]:
            return [(bare.low - mm / 2, bare.high + mm / 2)]

        check_clear(at, bare, places, by, "to make it wider by")
        wide = widen_mouth(bare, by)
        if wide is None:
            raise at.refuse(
                f"found {by:g} mm to make it wider by, but its legs would not end on "
                f"'{at.dart.edge}'; make it less wide"
            )
        legs = legs_along(at.piece, at.dart)
        mouth = Mouth(at.dart.name, legs, wide.low, wide.high, at.dart.tip)
        new = marked_anew(wide, [mouth], at.lie)
        word = "wider" if by > 0 else "narrower"
        said = f"dart {self.dart} made {amount_words(self.by)} {word}"
        if self.keep == "outline":
            return dart_drawn(at, new, said, self.words(job, [at.name]))
        end = self.end
        if end == "away":  # from the centre for an upright dart, below for one across
            legs_at = bare.at(bare.low), bare.at(bare.high)
            end = at.lie.folded(at.piece, at.dart, legs_at)
            if at.lie.is_upright(at.dart, legs_at):
                end = "end" if end == "start" else "start"
        side, taper = _choose_taper(job, at, self.to, end, by)
        new = _given_at(at, new, end, side, taper, by)
        words = self.words(job, [at.name], side=side, taper_mm=round(taper, 6))
        return dart_drawn(at, new, f"{said}, '{side}' trued over {taper:.0f} mm", words)


@dataclass(frozen=True, kw_only=True)
class NarrowDart(WidenDart):
    """The edit: a dart is narrower, closed in part; the fields are those of `WidenDart`."""

    word: ClassVar[str] = "narrow-dart"
    way: ClassVar[float] = -1.0


def _choose_taper(job: Job, at: DartAt, to: str, end: End, by: float) -> tuple[str, float]:
    """The edge that is trued, and over how much of it.

    Raises
    ------
    UnknownName, EditError
    """
    names = at.piece.edge_names
    step = 1 if end == "end" else -1
    side = at.piece.edge(names[(names.index(at.dart.edge) + step) % len(names)])
    if job.pattern.info[at.name].fold == side.name:
        raise at.refuse(
            f"found the {end} of '{at.dart.edge}' to give, which lies on the fold '{side.name}'; "
            "let the other end give, or keep the outline"
        )
    opening = opening_on(job.pattern, at.name, side.name)
    if opening is not None:
        raise at.refuse(
            f"found the {end} of '{at.dart.edge}' to give, which lies on opening "
            f"'{opening.name}': the side is beyond it, on another piece; let the other end "
            "give, or keep the outline and take the whole line of the assembly in or out"
        )
    corner = 0.0 if end == "end" else side.length
    # From the corner to the hold of the side's seam; all of it where there is none.
    holds = [
        hold_on_span(at.piece, span, seam.hold)
        for seam in job.pattern.relations.seams.values()
        for span in (*seam.lead, *seam.follow)
        if (span.piece, span.edge) == (at.name, side.name)
    ]
    taper = min((abs(hold - corner) for hold in holds if hold is not None), default=side.length)
    if to:
        taper = abs(edge_place(edge_at(at, side), to, beyond=corner) - corner)
    least = _STEEP * abs(by)
    if not least <= taper <= side.length:
        near = min(max(taper, least), side.length)
        raise at.refuse(
            f"found a taper of {taper:g} mm along '{side.name}', which is {side.length:.1f} mm "
            f"long, for {abs(by):g} mm to run out on; the nearest possible is {near:.1f} mm"
        )
    return side.name, taper


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
        # Behind the dart its edge is drawn out evenly to the corner.
        last = between(rim, free, edge.length)
        share = (arc_lengths(last) / (edge.length - free))[:, None]
        moved = rounded(last + share * (corner - rim[-1]))
        moved[0] = last[0]
        line = np.vstack([between(rim, 0.0, free)[:-1], moved])
        return line, rounded(fade_end(shore, corner, taper, STEP_MM))

    for _ in range(_ROUNDS):  # the slopes are near 1: what is left is a tenth each time
        amounts = amounts + asked - [length(line) for line in drawn()]
    line, true = drawn()
    true[-1] = line[-1]
    fresh = {}
    for name, points, old, turned in (
        (edge.name, line, edge, end == "start"),
        (side, true, own, end == "end"),
    ):
        corners = old.turn_points
        fresh[name] = edge_from_parts(name, [points[::-1] if turned else points], corners)
    redrawn = replace(new, edges=tuple(fresh.get(one.name, one) for one in new.edges))
    return replace(
        redrawn, landmarks=tuple(_put_landmark(new, fresh, m, end, side) for m in new.landmarks)
    )


def _put_landmark(
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
        if gives_last:
            return put_mark(mark, edge, walked_place(edge, along))
        return put_mark(mark, edge, walked_place(edge, was - along, "end"))
    return put_mark(mark, edge, nearest_place(edge, mark.point))
