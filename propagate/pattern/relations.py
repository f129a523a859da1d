"""What joins the pieces: spans, runs and the relations between them.

Relations are written by people in the set's TOML.  They name pieces, edges and
landmarks; they hold no geometry.  On each relation one side is the *lead*: a
change goes from lead to follower, never back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from propagate.errors import FormatError
from propagate.tolerances import OPENING_DRIFT_MM, WALK_MM

__all__ = [
    "Allowance",
    "Assembly",
    "AssemblyPart",
    "Band",
    "BlendMain",
    "BlendPlan",
    "CornerStyle",
    "Girth",
    "LegPlan",
    "Opening",
    "PieceInfo",
    "Place",
    "Run",
    "Seam",
    "Span",
    "Stack",
    "StackLayer",
    "Zone",
    "parse_run",
    "parse_span",
]

CornerStyle = Literal["mitre", "square", "square second"]


@dataclass(frozen=True)
class Span:
    """An edge, or the part of it between two landmarks, with a direction.

    Written ``PIECE.EDGE [from LANDMARK] [to LANDMARK] [reversed]``.  ``start`` and
    ``end`` are the edge's own ends.  When `begin` comes after `end` along the edge
    the span runs against the outline.
    """

    piece: str
    edge: str
    begin: str = "start"
    end: str = "end"

    def __str__(self) -> str:
        text = f"{self.piece}.{self.edge}"
        if (self.begin, self.end) == ("start", "end"):
            return text
        if (self.begin, self.end) == ("end", "start"):
            return f"{text} reversed"
        return f"{text} from {self.begin} to {self.end}"

    @property
    def key(self) -> str:
        """``PIECE.EDGE``, the node of the span in the relation graph."""
        return f"{self.piece}.{self.edge}"


Run = tuple[Span, ...]


def parse_span(text: str) -> Span:
    """Read one span; raises FormatError with the expected spelling."""
    words = text.split()
    piece, dot, edge = words[0].partition(".") if words else ("", "", "")
    rest = words[1:]
    begin, end, reverse = "start", "end", False
    while rest:
        if rest[0] == "reversed":
            reverse, rest = True, rest[1:]
        elif rest[0] in ("from", "to") and len(rest) > 1:
            if rest[0] == "from":
                begin = rest[1]
            else:
                end = rest[1]
            rest = rest[2:]
        else:
            break
    if rest or not (piece and dot and edge) or "." in edge:
        raise FormatError(
            f"span '{text}' cannot be read; "
            "expected 'PIECE.EDGE [from LANDMARK] [to LANDMARK] [reversed]'"
        )
    if reverse:
        begin, end = ("end" if begin == "start" else begin), ("start" if end == "end" else end)
    return Span(piece, edge, begin, end)


def parse_run(texts: str | list[str]) -> Run:
    """Read a run: one span or several, sewn as one continuous line."""
    return tuple(parse_span(text) for text in ([texts] if isinstance(texts, str) else texts))


@dataclass(frozen=True)
class Allowance:
    """What the cut line adds to the seam line of a piece.

    Attributes
    ----------
    default : float
        mm, for edges not named in `edges`.
    edges : mapping of edge name to mm
    turned : frozenset of str
        Edges that are folded up (a hem): the cut line beyond them is the mirror
        image of the piece above the fold, so that it can be turned.
    corners : mapping of "EDGE/EDGE" to style
        The corner where the first edge ends and the second starts; default mitre.
        ``square``: the first edge's allowance ends square to its seam line, so that it
        lies flat when pressed open; ``square second``: the second edge's does.
    """

    default: float = 0.0
    edges: Mapping[str, float] = field(default_factory=dict)
    turned: frozenset[str] = frozenset()
    corners: Mapping[str, CornerStyle] = field(default_factory=dict)

    def of(self, edge: str) -> float:
        """Allowance of one edge, mm."""
        return self.edges.get(edge, self.default)


@dataclass(frozen=True)
class PieceInfo:
    """What people say of a piece: title, cutting, allowances, anchors.

    Attributes
    ----------
    title : str
        What is printed on the piece.
    cut : int
        How many are cut; pairs are mirrored when `pair` is true.
    pair : bool
    fabric : str
    allowance : Allowance
    fold : str or None
        Edge that lies on the fold of the cloth.
    anchors : mapping of landmark name to ``EDGE.start`` or ``EDGE.end``
        The end of its edge from which a landmark keeps its distance.
    """

    title: str
    cut: int = 1
    pair: bool = False
    fabric: str = ""
    allowance: Allowance = Allowance()
    fold: str | None = None
    anchors: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class AssemblyPart:
    """A piece taped to the assembly's lead by two or more landmark pairs.

    `put` pairs a landmark of the part with a landmark of the lead.
    """

    piece: str
    put: tuple[tuple[str, str], ...]
    face_down: bool = False


@dataclass(frozen=True)
class Assembly:
    """Pieces taped together as sewn, so that the silhouette can be edited.

    `edges` maps each silhouette edge, in counter-clockwise order, to the run of
    spans that make it up.  The frame is the lead's.
    """

    name: str
    lead: str
    parts: tuple[AssemblyPart, ...]
    edges: Mapping[str, Run]


@dataclass(frozen=True)
class Seam:
    """Two runs sewn together; both are written from the same physical end.

    Attributes
    ----------
    ease : float
        mm by which the follower is longer than the lead on purpose.
    tolerance : float
        mm; the default of the check (about 1.5 mm when walking; common practice).
    notches : pairs of ``PIECE.LANDMARK`` on lead and follower that meet
    crossing : mapping "start"/"end" to (lead edge, follower edge)
        The edges (``PIECE.EDGE``) that run on across the seam at that end; the two
        corner angles should add up to 180 degrees.
    hold : level name or None
        Level beyond which a match may not change a digit.
    fixed : bool
        The follower cannot change (a zip): a difference is a conflict.
    check : bool
        Only walked, never matched.
    mirror : bool
        The follower is the lead's own mirrored twin (centre back).
    lead_wins : bool
        When both sides were revised and disagree the follower gives way; otherwise that
        is a conflict.
    """

    name: str
    lead: Run
    follow: Run
    ease: float = 0.0
    tolerance: float = WALK_MM
    notches: tuple[tuple[str, str], ...] = ()
    crossing: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    hold: str | None = None
    fixed: bool = False
    check: bool = False
    mirror: bool = False
    lead_wins: bool = False


@dataclass(frozen=True)
class Opening:
    """The mouth of a pocket: a rigid edge of the main piece.

    Attributes
    ----------
    silhouette : str
        Assembly whose corner it cuts off.
    piece, edge : str
        The main piece's edge that is the mouth.
    across_end, side_end : "start" or "end"
        Which end of the edge lies on the crossing edge (waist) and on the side.
    across, side : str
        Silhouette edges that the two ends lie on.
    slide : float
        mm that the crossing end may slide along its edge when the side cannot be
        reached otherwise.
    tolerance : float
        mm of length change that the walk accepts (3 mm, common practice).
    """

    name: str
    silhouette: str
    piece: str
    edge: str
    across_end: Literal["start", "end"]
    side_end: Literal["start", "end"]
    across: str
    side: str
    slide: float = 0.0
    tolerance: float = OPENING_DRIFT_MM


@dataclass(frozen=True)
class StackLayer:
    """One layer of a pocket.

    Attributes
    ----------
    piece : str
    put : ((layer landmark, main piece landmark), ...)
        The two ends of the opening.
    ride : mapping of layer edge to silhouette edge
        Edges that lie on the silhouette's outline.
    mouth : str or None
        Layer edge that is the opening line itself (top bag).
    face_down : bool
        Drawn mirrored.
    shows : bool
        Seen when worn: its grain is redrawn parallel to the main piece's.
    bag : bool
        Counts for hand room and clearance.
    """

    piece: str
    put: tuple[tuple[str, str], ...]
    ride: Mapping[str, str]
    mouth: str | None = None
    face_down: bool = False
    shows: bool = False
    bag: bool = False


@dataclass(frozen=True)
class Stack:
    """The layers of a pocket as sewn, registered on the opening.

    `clear_of` names silhouette edges (centre front, crotch) that a bag should keep
    its allowance away from.
    """

    name: str
    opening: str
    layers: tuple[StackLayer, ...]
    clear_of: tuple[str, ...] = ()


@dataclass(frozen=True)
class Zone:
    """A part of a band and the run it is sewn to.

    `begin` and `end` are landmarks of the band's sewn edge; an empty `run` keeps the
    zone's length (an extension).  `ease` is mm by which the run is longer than the
    zone on purpose (cloth eased on to the band).
    """

    name: str
    begin: str
    end: str
    run: Run = ()
    ease: float = 0.0


@dataclass(frozen=True)
class Band:
    """A strip whose length is the sum of the runs it is sewn to, zone by zone.

    `sewn` is the edge that is sewn to the runs, `far` the edge along its other side.
    Zones follow each other along `sewn` from its start to its end.
    """

    name: str
    piece: str
    sewn: str
    far: str
    zones: tuple[Zone, ...]
    tolerance: float = WALK_MM


@dataclass(frozen=True)
class Place:
    """A piece that is not re-cut: it is taken in the size of its place."""

    piece: str
    level: str


@dataclass(frozen=True)
class Girth:
    """A girth of the finished garment at a level.

    Either `runs` (their lengths, darts closed) or a `level` measured across
    `silhouettes`; `times` counts mirrored pieces.  `chart` names the row of the
    chart of body measurements it is compared with.
    """

    name: str
    runs: tuple[Run, ...] = ()
    level: str | None = None
    silhouettes: tuple[str, ...] = ()
    times: int = 2
    chart: str | None = None


@dataclass(frozen=True)
class BlendMain:
    """A main silhouette and the roles of its edges in a blend.

    `silhouette` names an assembly or a plain piece.  `across` is the crossing edge at
    the top (waist), `centre` and `side` the edges that go down from its two ends.
    `centre_hold` and `side_hold` are levels; `across_hold` is a landmark
    (``PIECE.LANDMARK``) or None (dart leg next to the side, else half of the edge).
    """

    silhouette: str
    across: str
    centre: str
    side: str
    centre_hold: str
    side_hold: str
    across_hold: str | None = None


@dataclass(frozen=True)
class LegPlan:
    """How a third size gives the part below a lower level."""

    level: str
    hold: str
    edges: tuple[str, ...]


@dataclass(frozen=True)
class BlendPlan:
    """What a blend of sizes by level needs to know of a set.

    `upper` and `lower` are levels: the upper level's size gives the top, the lower
    level's size the rest.  Sizes are laid over each other on the set's `lay_on`
    level.  `seam` names the seam that joins the two mains at their sides.
    """

    upper: str
    lower: str
    mains: tuple[BlendMain, ...]
    seam: str
    leg: LegPlan | None = None
