"""The relations that join the pieces, each kind told once.

Relations are written by people in the set's TOML.  They name pieces, edges and landmarks;
they hold no geometry.  On each relation one side is the *lead*: a change goes from lead to
follower, never back, but for a seam that says so (`Seam.both_ways`).  What a field means, how
it is written and what it is when nothing is said stands with the field
(`propagate.pattern.told`) and nowhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import ClassVar, Literal

from propagate.pattern.beside import INSIDE, OUT
from propagate.pattern.ease import EaseSaid
from propagate.pattern.info import Allowance, CornerStyle, PieceInfo
from propagate.pattern.runs import Run, Span, parse_run, parse_span
from propagate.pattern.told import TITLE, told
from propagate.tolerances import OPENING_DRIFT_MM, WALK_MM
from propagate.values import dataclass

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
    "SeamOpening",
    "Span",
    "Stack",
    "StackLayer",
    "Zone",
    "parse_run",
    "parse_span",
]

_Pairs = tuple[tuple[str, str], ...]
_PUT = told(
    "pairs",
    "two or more pairs of landmarks by which it is put on the main piece",
    pair="landmark of this piece, landmark of the main piece",
    at_least=2,
)
_ENDS = ("start", "end")


@dataclass(frozen=True)
class AssemblyPart:
    """A piece taped to the assembly's lead by two or more landmark pairs."""

    piece: str = field(metadata=told("name", "the piece that is taped on"))
    put: _Pairs = field(metadata=_PUT)
    face_down: bool = field(default=False, metadata=told("flag", "drawn mirrored"))


@dataclass(frozen=True)
class Assembly:
    """Pieces taped together as sewn, so that the silhouette can be edited."""

    name: str = field(metadata=told("name", "what the assembly is called"))
    lead: str = field(metadata=told("name", "the piece whose frame is the assembly's"))
    parts: tuple[AssemblyPart, ...] = field(
        metadata=told("rows", "the pieces taped to the lead", of=AssemblyPart, label="part")
    )
    edges: Mapping[str, Run] = field(
        metadata=told(
            "runs by name", "the silhouette's edges, counter-clockwise, each the run it is made of"
        )
    )
    title: str | None = field(default=None, metadata=TITLE)

    @property
    def pieces(self) -> tuple[str, ...]:
        """The pieces that are taped together, the lead first."""
        return (self.lead, *(part.piece for part in self.parts))


@dataclass(frozen=True)
class Seam:
    """Two runs sewn together; both are written from the same physical end."""

    name: str = field(metadata=told("name", "what the seam is called"))
    lead: Run = field(metadata=told("run", "the run that changes first"))
    follow: Run = field(
        metadata=told(
            "run",
            "the run that is matched to it, written from the same physical end",
            unless=("mirror", "no follower: the seam is sewn to its own mirrored twin"),
        )
    )
    ease: EaseSaid = field(
        default=0.0,
        metadata=told("ease", "by how much the follower is longer on purpose"),
    )
    out: float = field(default=0.0, metadata=OUT)
    inside: float = field(default=0.0, metadata=INSIDE)
    tolerance: float = field(
        default=WALK_MM, metadata=told("length", "how far the check lets the two be apart")
    )
    hold: str | None = field(
        default=None,
        metadata=told("text", "level beyond which a match may not change a digit"),
    )
    notches: _Pairs = field(
        default=(),
        metadata=told(
            "pairs",
            "notches that meet, each PIECE.LANDMARK",
            pair="landmark of the lead, landmark of the follower",
        ),
    )
    crossing: Mapping[str, tuple[str, str]] = field(
        default_factory=dict,
        metadata=told(
            "pairs by end",
            "edges that run on across the seam at its start and end; corner angles add to 180°",
            pair="lead's, follower's",
        ),
    )
    peak: tuple[str, ...] = field(
        default=(),
        metadata=told(
            "texts",
            "its ends, start or end, at which the crossing edges are meant to peak or dip; "
            "they are never trued",
        ),
    )
    fixed: bool = field(
        default=False,
        metadata=told("flag", "the follower cannot change (a zip): a difference is a conflict"),
    )
    check: bool = field(default=False, metadata=told("flag", "only walked, never matched"))
    mirror: bool = field(
        default=False,
        metadata=told("flag", "sewn to its own mirrored twin (a centre back), with no `follow`"),
    )
    lead_wins: bool = field(
        default=False,
        metadata=told(
            "flag", "when both sides were revised and disagree the follower gives way to its lead"
        ),
    )
    both_ways: bool = field(
        default=False,
        metadata=told(
            "flag",
            "when only the follower's side was edited or revised it leads, and the lead follows",
        ),
    )
    title: str | None = field(default=None, metadata=TITLE)


@dataclass(frozen=True)
class Opening:
    """The mouth of a pocket: a rigid edge of the main piece."""

    name: str = field(metadata=told("name", "what the opening is called"))
    silhouette: str = field(metadata=told("text", "assembly whose corner it cuts off"))
    piece: str = field(metadata=told("text", "the main piece"))
    edge: str = field(metadata=told("text", "its edge that is the mouth"))
    across_end: Literal["start", "end"] = field(
        metadata=told("choice", "end of the mouth that lies on `across`", choices=_ENDS)
    )
    side_end: Literal["start", "end"] = field(
        metadata=told("choice", "end of the mouth that lies on `side`", choices=_ENDS)
    )
    across: str = field(metadata=told("text", "silhouette edge at the top (the waist)"))
    side: str = field(metadata=told("text", "silhouette edge at the side"))
    slide: float = field(
        default=0.0,
        metadata=told("length", "how far the end on `across` may slide to reach the side"),
    )
    tolerance: float = field(
        default=OPENING_DRIFT_MM,
        metadata=told("length", "how much change of its length the check lets pass"),
    )
    title: str | None = field(default=None, metadata=TITLE)


@dataclass(frozen=True)
class StackLayer:
    """One layer of a pocket."""

    piece: str = field(metadata=told("text", "the layer's piece"))
    put: _Pairs = field(metadata=_PUT)
    ride: Mapping[str, str] = field(
        default_factory=dict,
        metadata=told("names", "edges that lie on the outline: layer edge = silhouette edge"),
    )
    mouth: str | None = field(
        default=None, metadata=told("text", "its edge that is the opening line (top bag)")
    )
    face_down: bool = field(default=False, metadata=told("flag", "drawn mirrored"))
    shows: bool = field(
        default=False,
        metadata=told("flag", "seen when worn: its grain is redrawn parallel to the main piece's"),
    )
    bag: bool = field(default=False, metadata=told("flag", "counts for hand room and clearance"))


@dataclass(frozen=True)
class Stack:
    """The layers of a pocket as sewn, registered on the opening."""

    name: str = field(metadata=told("name", "what the stack is called"))
    opening: str = field(metadata=told("text", "the opening it lies behind"))
    layers: tuple[StackLayer, ...] = field(
        metadata=told("tables", "its layers", of=StackLayer, key="layer")
    )
    clear_of: tuple[str, ...] = field(
        default=(),
        metadata=told(
            "texts", "silhouette edges (centre front, crotch) a bag keeps its allowance away from"
        ),
    )


@dataclass(frozen=True)
class Zone:
    """A part of a band and the run it is sewn to."""

    name: str = field(metadata=told("name", "what the zone is called"))
    begin: str = field(metadata=told("text", "landmark of the sewn edge where it begins"))
    end: str = field(metadata=told("text", "landmark of the sewn edge where it ends"))
    run: Run = field(
        default=(),
        metadata=told("run", "what it is sewn to; without it the zone keeps its length"),
    )
    ease: EaseSaid = field(
        default=0.0,
        metadata=told("zone ease", "by how much the run is longer: eased on to the band"),
    )
    out: float = field(default=0.0, metadata=OUT)
    inside: float = field(default=0.0, metadata=INSIDE)
    title: str | None = field(default=None, metadata=TITLE)


@dataclass(frozen=True)
class Band:
    """A strip whose length is the sum of the runs it is sewn to, zone by zone."""

    name: str = field(metadata=told("name", "what the band is called"))
    piece: str = field(metadata=told("text", "the strip"))
    sewn: str = field(metadata=told("text", "its edge that is sewn to the runs"))
    far: str = field(metadata=told("text", "its edge along the other side"))
    zones: tuple[Zone, ...] = field(
        metadata=told(
            "rows", "its parts, along the sewn edge from start to end", of=Zone, label="zone"
        )
    )
    tolerance: float = field(
        default=WALK_MM, metadata=told("length", "how far the check lets the two be apart")
    )
    title: str | None = field(default=None, metadata=TITLE)


@dataclass(frozen=True)
class Place:
    """A piece that stays as drawn: it is taken in the size of its place."""

    piece: str = field(metadata=told("text", "the piece"))
    level: str = field(metadata=told("text", "the level whose size it is taken in"))


@dataclass(frozen=True)
class Girth:
    """A girth of the finished garment: runs (darts closed), or silhouettes at a level."""

    either: ClassVar[tuple[tuple[str, ...], ...]] = (("runs",), ("level", "silhouettes"))

    name: str = field(metadata=told("name", "what the girth is called"))
    runs: tuple[Run, ...] = field(
        default=(), metadata=told("runs", "runs whose lengths are added, darts closed")
    )
    level: str | None = field(
        default=None, metadata=told("text", "the level across which silhouettes are measured")
    )
    silhouettes: tuple[str, ...] = field(
        default=(), metadata=told("texts", "what is measured at the level")
    )
    times: int = field(
        default=2, metadata=told("count", "how often: 2 for mirrored pieces", always=True)
    )
    chart: str | None = field(
        default=None, metadata=told("text", "row of the chart it is compared with")
    )
    title: str | None = field(default=None, metadata=TITLE)


@dataclass(frozen=True)
class SeamOpening:
    """A part of a seam that is left open: the mouth of a pocket, a zip; it keeps its length."""

    name: str = field(metadata=told("name", "what the opening is called"))
    sides: tuple[Run, ...] = field(
        metadata=told(
            "runs",
            "each side of it: one span between two marks, written from the end of the edge from "
            "which it keeps its distance",
        )
    )
    lengths: tuple[float, ...] = field(
        default=(), metadata=told("lengths", "lengths that can be bought (a zip)")
    )
    change: Literal["keep", "nearest", "conflict"] = field(
        default="keep",
        metadata=told(
            "choice",
            "when an edit makes it longer or shorter: it keeps its length, takes the nearest that "
            "can be bought, or that is a conflict",
            choices=("keep", "nearest", "conflict"),
        ),
    )
    tolerance: float = field(
        default=WALK_MM,
        metadata=told("length", "how far the check lets it be off, from side to side or a zip"),
    )
    title: str | None = field(default=None, metadata=TITLE)

    @property
    def marks(self) -> frozenset[str]:
        """``PIECE.LANDMARK`` of both its ends on each side."""
        spans = [span for run in self.sides for span in run]
        return frozenset(f"{span.piece}.{end}" for span in spans for end in (span.begin, span.end))


@dataclass(frozen=True)
class BlendMain:
    """A main silhouette and the roles of its edges in a blend."""

    silhouette: str = field(metadata=told("text", "an assembly or a plain piece"))
    across: str = field(metadata=told("text", "the crossing edge at the top (waist)"))
    centre: str = field(
        metadata=told(
            "text",
            "the edge that goes down at the centre; of a back in one piece between a left and a "
            "right front its other side",
        )
    )
    side: str = field(metadata=told("text", "the edge that goes down at the side"))
    centre_hold: str = field(metadata=told("text", "level below which the centre stays"))
    side_hold: str = field(metadata=told("text", "level below which the side stays"))
    across_hold: str | None = field(
        default=None,
        metadata=told(
            "text",
            "PIECE.LANDMARK beyond which the crossing edge stays; else the dart leg next to the "
            "side, else half of the edge",
        ),
    )


@dataclass(frozen=True)
class LegPlan:
    """How a third size gives the part below a lower level."""

    level: str = field(metadata=told("text", "the level below which the third size rules"))
    hold: str = field(metadata=told("text", "level above which nothing changes for it"))
    edges: tuple[str, ...] = field(metadata=told("texts", "silhouette edges that are redrawn"))


@dataclass(frozen=True)
class BlendPlan:
    """What a blend of sizes by level needs to know of a set."""

    upper: str = field(metadata=told("text", "the level whose size gives the top"))
    lower: str = field(metadata=told("text", "the level whose size gives the rest"))
    mains: tuple[BlendMain, ...] = field(
        metadata=told("rows", "the main silhouettes", of=BlendMain, label="main")
    )
    seam: str = field(metadata=told("text", "the seam that joins the mains at their sides"))
    leg: LegPlan | None = field(
        default=None, metadata=told("table", "a third size below a level", of=LegPlan)
    )
