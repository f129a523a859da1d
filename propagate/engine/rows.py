"""Rows of the record: what was measured, one type for each kind of thing.

Lengths in mm, areas in mm², angles in degrees.  A row is written to the file field by
field (see `propagate.engine.record.as_plain`); a field made by `left_out` is left out where
it is None, and one made by `unwritten` is for reports alone: the file tells it inside
another field.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any, Literal, TypeVar

from propagate.values import dataclass

__all__ = [
    "BandRow",
    "Check",
    "EditOptions",
    "FairnessRow",
    "GirthRow",
    "LayerRow",
    "Match",
    "OpeningRow",
    "RideRow",
    "TopCorners",
    "TruedCorner",
    "Verdict",
    "is_left_out",
    "is_written",
    "left_out",
    "unwritten",
]

T = TypeVar("T")
Verdict = Literal["sews", "look", "does not sew"]

_LEFT_OUT, _UNWRITTEN = "left out", "unwritten"


def left_out() -> Any:
    """A field that is None by default, and then left out of the file."""
    return field(default=None, metadata={_LEFT_OUT: True})


def unwritten(default: T) -> T:
    """A field that the file does not have."""
    made: Any = field(default=default, metadata={_UNWRITTEN: True}, kw_only=True)
    return made  # type: ignore[no-any-return]


def is_left_out(metadata: Any, value: object) -> bool:
    """Whether a field of that metadata is left out of the file for its value."""
    return value is None and _LEFT_OUT in metadata


def is_written(metadata: Any) -> bool:
    """Whether the file has a field of that metadata."""
    return _UNWRITTEN not in metadata


@dataclass(frozen=True)
class EditOptions:
    """What an edit was, as far as reports ask; each is None where the edit has no such option.

    Attributes
    ----------
    kind : str
        ``blend``, ``revise``, ``settle``, the word of an edit, ``edits`` for several; empty when
        it was not told.
    pieces : tuple of str
        Pieces and assemblies that were revised or edited.
    sizes : mapping of level to size
    follow, top, pocket : str or None
        ``shape`` or ``length``; ``trued`` or ``traced``; ``upper`` or ``lower``.
    rise, hold : str, float or None
        A word or a level, or mm.
    pocket_size, leg_size : str or None
        As resolved.
    between : mapping of size to a mapping
        Sizes that nobody drew: between which `first` and `second` they lie, and the `share`
        of the way.
    """

    kind: str = ""
    pieces: tuple[str, ...] = ()
    sizes: Mapping[str, str] = field(default_factory=dict)
    follow: str | None = None
    top: str | None = None
    rise: str | float | None = None
    pocket: str | None = None
    pocket_size: str | None = None
    leg_size: str | None = None
    hold: str | float | None = None
    between: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    @property
    def of_drawing(self) -> bool:
        """Whether revised drawings were put in."""
        return self.kind == "revise"

    @property
    def changes_girths(self) -> bool:
        """Whether girths are compared with what they were, and not with a size that gives them."""
        return self.kind not in ("blend", "settle", "")


@dataclass(frozen=True)
class Check:
    """One thing that was walked: a row of the record's seams and corners, too.

    Attributes
    ----------
    kind : str
        ``seam``, ``notches``, ``opening``, ``corner``, ``band`` or ``girth``; what another kind
        of relation is walked by has its own word.
    name : str
        Seam, opening, girth, ``BAND ZONE`` or ``OPENING LAYER``.
    what : str
        The two sides in words.
    first, second : float
        What was measured, and what it should meet: mm, or degrees for a corner.
    ease : float
        Difference that is meant.
    difference : float
        ``second - first - ease``; of a corner ``first - second``: + is a dip, - a peak.
    tolerance : float
    verdict : "sews", "look" or "does not sew"
        "look" is within tolerance but worth a glance.
    cut_line_difference : float or None
        What the cut lines would have said, mm.
    meant : str or None
        What is meant beside lengths, in words: gathered 1.5 to 1.
    relation : str
        The seam, opening, band or girth alone, as the set names it; `name` where nothing is said.
    part : str
        The zone of a band, or the layer of an opening; empty else.
    sides : tuple of two str
        The two sides one by one: runs, edges, or ``PIECE.LANDMARK`` of a notch pair.
    end : "start", "end" or None
        The end of the seam that a corner is at; None for everything else.
    """

    kind: str
    name: str
    what: str
    first: float
    second: float
    ease: float
    difference: float
    tolerance: float
    verdict: Verdict
    cut_line_difference: float | None = None
    meant: str | None = left_out()
    relation: str = unwritten("")
    part: str = unwritten("")
    sides: tuple[str, str] = unwritten(("", ""))
    end: str | None = unwritten(None)

    def __post_init__(self) -> None:
        """A check that is of a whole relation bears its name."""
        if not self.relation:
            object.__setattr__(self, "relation", self.name)


@dataclass(frozen=True)
class BandRow(Check):
    """A zone of a band, as walked.

    Attributes
    ----------
    before_mm : float or None
        Length of the zone in the size that the band was taken from.
    """

    before_mm: float | None = left_out()


@dataclass(frozen=True)
class TopCorners:
    """The two corners at the top of the side seam against the size that gives the top.

    Attributes
    ----------
    name : str
        The seam of the two mains.
    what : str
        The two silhouettes in words.
    first, second : float
        Interior angles, degrees.
    wanted_sum, found_sum : float
        Their sum in the size of the top, and in the result, degrees.
    difference : float
        ``found_sum - wanted_sum``.
    ok : bool
    """

    kind: Literal["top corners"] = field(default="top corners", init=False)
    name: str
    what: str
    first: float
    second: float
    wanted_sum: float
    found_sum: float
    difference: float
    ok: bool


@dataclass(frozen=True)
class TruedCorner:
    """A corner at which a line was made to run on smoothly across a seam.

    Attributes
    ----------
    name : str
        The seam.
    what : str
        The lines that cross it, and at which of its ends.
    end : "start" or "end"
        Of the seam.
    before_deg, after_deg : float
        Both corner angles together before and after, degrees.
    shift_mm : float
        How far a line went at most.
    over_mm : float
        How far from the corner the lines change, at most.
    """

    kind: Literal["trued corner"] = field(default="trued corner", init=False)
    name: str
    what: str
    end: str
    before_deg: float
    after_deg: float
    shift_mm: float
    over_mm: float


@dataclass(frozen=True)
class OpeningRow:
    """An opening that was laid anew.

    Attributes
    ----------
    opening, piece, edge : str
    size : str
        The pocket's.
    before_mm, after_mm, difference_mm : float
        Its length, which should not change.
    swing_deg : float
        Against the grain of the piece.
    moved_mm, slid_mm : float
        How far its far end moved, and its near end slid along the crossing edge.
    across_gap_mm, side_gap_mm : float
        How far its ends lie off their lines.
    ok : bool
    """

    opening: str
    piece: str
    edge: str
    size: str
    before_mm: float
    after_mm: float
    difference_mm: float
    swing_deg: float
    moved_mm: float
    slid_mm: float
    across_gap_mm: float
    side_gap_mm: float
    ok: bool


@dataclass(frozen=True)
class RideRow:
    """An edge of a layer that rides on an edge of the silhouette.

    Attributes
    ----------
    edge, rides_on : str
    off_line_mm : float
        How far the layer's edge lies off the silhouette's, at most.
    added_mm, trimmed_mm : float
        Paper to tape on and to cut away along it, at most.
    """

    edge: str
    rides_on: str
    off_line_mm: float
    added_mm: float = 0.0
    trimmed_mm: float = 0.0


@dataclass(frozen=True)
class LayerRow:
    """A layer of a pocket, as re-seated.

    Attributes
    ----------
    stack, piece : str
    size : str
        The pocket's.
    rides : tuple of RideRow
    sticks_out_mm2 : float
        Its area outside the silhouette.
    ok : bool
    area_before_mm2, area_after_mm2, depth_before_mm, depth_after_mm : float or None
        Of a bag: its area, and its depth below the opening.
    fits : bool or None
        Of a layer that was revised itself: whether it meets the opening.
    """

    stack: str
    piece: str
    size: str
    rides: tuple[RideRow, ...]
    sticks_out_mm2: float
    ok: bool
    area_before_mm2: float | None = left_out()
    area_after_mm2: float | None = left_out()
    depth_before_mm: float | None = left_out()
    depth_after_mm: float | None = left_out()
    fits: bool | None = left_out()


@dataclass(frozen=True)
class GirthRow:
    """A girth of the finished garment against the size that gives it.

    Attributes
    ----------
    girth, size : str
    wanted_mm, found_mm, difference_mm : float
        That size's, the result's, and by how much they differ.
    body_mm, ease_mm : float or None
        From the chart; None without one.
    ok : bool
    """

    girth: str
    size: str
    wanted_mm: float
    found_mm: float
    difference_mm: float
    body_mm: float | None
    ease_mm: float | None
    ok: bool


@dataclass(frozen=True)
class FairnessRow:
    """How fair a new curve is.

    Attributes
    ----------
    edge : str
        ``SILHOUETTE/EDGE``.
    join_deg : float
        The break where it joins what was kept.
    inflections, inflections_allowed, peaks, peaks_of_parents : int
        How often it bends back, and the peaks of its curvature.
    smallest_radius_mm, parents_radius_mm, plain_arc_radius_mm : float or None
        None for a straight line.
    curvature_ratio : float
        Largest curvature over what is allowed.
    ok : bool
    """

    edge: str
    join_deg: float
    inflections: int
    inflections_allowed: int
    peaks: int
    peaks_of_parents: int
    smallest_radius_mm: float | None
    parents_radius_mm: float | None
    plain_arc_radius_mm: float | None
    curvature_ratio: float
    ok: bool


@dataclass(frozen=True)
class Match:
    """How far the two sides of a seam were apart before they were matched.

    Attributes
    ----------
    seam : str
    apart_before_mm : float
    drawn_into_source_mm : float or None
        A difference that the set was drawn with; None where no blend looked for it.
    largest_deviation_mm : float
        Of the two shapes.
    """

    seam: str
    apart_before_mm: float
    drawn_into_source_mm: float | None = left_out()
    largest_deviation_mm: float = field(kw_only=True)
