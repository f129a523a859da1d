"""What a blend of sizes by level needs to know of a set, told once."""

from __future__ import annotations

from dataclasses import field

from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["BlendMain", "BlendPlan", "LegPlan"]


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
