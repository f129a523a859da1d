"""What lies inside a piece follows its outline: a slit, a line across, a parallel."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from drawing import Picture
from panels import Panel, draw_panels

import propagate
from propagate.pattern.model import InternalLine, Piece, SizedPiece

__all__ = ["inner_lines"]

FRONT = "front"


def inner_lines(folder: Path) -> None:
    """Draw three edits and what follows inside of the piece."""
    picture = Picture(
        "What lies inside a piece follows",
        "A sleeve raised at the wrist, whose slit keeps its length; a neckline lowered, with a "
        "row of stitching that stays beside it; a side let out, to which a line across the piece "
        "is run on. The old lines are dashed, what is added is hatched, what goes is dotted.",
    )
    draw_panels(picture, _PANELS, wide=74.0, high=(88.0,), columns=3)
    picture.save(folder, "inner-lines")


def _ruled(pattern: propagate.PatternSet) -> propagate.PatternSet:
    """The pinafore with two lines in its front: 30 mm beside the neckline, and across."""
    front = pattern.piece(FRONT)
    nest = {size: _with_lines(piece) for size, piece in front.nest.items()}
    return replace(pattern, pieces={**pattern.pieces, FRONT: Piece(FRONT, nest)})


def _with_lines(piece: SizedPiece) -> SizedPiece:
    outline = shapely.Polygon(piece.outline)
    neck = shapely.LineString(piece.edge("neck").points)
    beside = next(
        line
        for line in (neck.offset_curve(30.0), neck.offset_curve(-30.0))
        if outline.contains(line.interpolate(0.5, normalized=True))
    )
    return replace(piece, lines=(*piece.lines, *_lines(piece, outline, beside)))


def _lines(
    piece: SizedPiece, outline: shapely.Polygon, beside: shapely.LineString
) -> list[InternalLine]:
    up = np.asarray(piece.grain.direction)
    at = np.asarray(piece.levels["lower"])
    right = np.array([up[1], -up[0]])
    across = shapely.LineString([at - 900.0 * right, at + 900.0 * right]).intersection(outline)
    return [
        InternalLine("neck_stitching", shapely.get_coordinates(beside)),
        InternalLine("seam_line", shapely.get_coordinates(across)),
    ]


_PANELS = (
    Panel(
        "ferry_shirt",
        "sleeve",
        ("raise edge=sleeve.wrist by=60mm",),
        "a slit",
        "ends on the wrist as before,\nand is as long",
        0.1,
    ),
    Panel(
        "puddle_pinafore",
        FRONT,
        ("lower edge=front.neck by=35mm at=end to=start",),
        "stitching beside an edge",
        "drawn anew, 30 mm\nfrom the new neckline",
        0.2,
        (0.0, 300.0),
        lines=_ruled,
    ),
    Panel(
        "puddle_pinafore",
        FRONT,
        ("let-out edge=front.side by=45mm at=start to=chest both=true",),
        "a line across",
        "ended on the side,\nand is run on to it",
        0.1,
        lines=_ruled,
    ),
)
