"""The edits of edges, levels and marks, two by two, each on a piece of a demo set."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from drawing import Picture
from panels import Panel, draw_panels

__all__ = ["drawn_edges", "height_edits", "length_edits", "mark_edits", "side_edits"]

SIDES = (
    Panel(
        "slant_trouser",
        "back",
        ("take-in edge=back.side by=20mm at=waist to=hip",),
        "take-in",
        "the side goes in at the\nwaist, to nothing at the hip",
        0.19,
        (0.0, 260.0),
        levels=("hip",),
    ),
    Panel(
        "puddle_pinafore",
        "front",
        ("let-out edge=front.side by=40mm at=start to=chest both=true",),
        "let-out",
        "the side goes out at the hem,\nto nothing at the chest",
        0.088,
        levels=("chest",),
    ),
)
HEIGHTS = (
    Panel(
        "slant_trouser",
        "back",
        ("raise edge=back.waist by=30mm at=end to=start",),
        "raise",
        "the waist goes up at the centre,\ndrawn across the folded dart",
        0.19,
        (0.0, 260.0),
    ),
    Panel(
        "puddle_pinafore",
        "front",
        ("lower edge=front.neck by=30mm at=end to=start",),
        "lower",
        "the neckline goes down at the\ncentre, to nothing at the shoulder",
        0.19,
        (0.0, 260.0),
    ),
)
DRAWN = (
    Panel(
        "concert_dress",
        "front",
        ("draw-edge edge=front.neck through=50%:-36mm",),
        "draw-edge",
        "a neckline drawn rounder,\nthrough a point; its ends stay",
        0.22,
        (0.0, 225.0),
    ),
    Panel(
        "concert_dress",
        "front",
        ("draw-edge edge=front.neck",),
        "draw-edge, straight",
        "the same without a point:\nruled from end to end",
        0.22,
        (0.0, 225.0),
    ),
)
MARKS = (
    Panel(
        "slant_trouser",
        "back",
        ("move-mark mark=back.welt by=-25mm across=12mm",),
        "move-mark, a line",
        "the line of the pocket goes down\nthe grain, and across it",
        0.19,
        (0.0, 260.0),
    ),
    Panel(
        "slant_trouser",
        "front",
        ("move-mark mark=front.knee_notch_side by=90mm",),
        "move-mark, a notch",
        "goes along its edge, and the one\non the back with it",
        0.062,
        notches=True,
    ),
)
LENGTHS = (
    Panel(
        "slant_trouser",
        "back",
        ("lengthen level=knee by=60mm",),
        "lengthen",
        "cut across at the knee and laid\napart; the sides run on smoothly",
        0.075,
        levels=("knee",),
    ),
    Panel(
        "ferry_shirt",
        "sleeve",
        ("shorten level=elbow by=60mm",),
        "shorten",
        "cut across at the elbow\nand lapped",
        0.12,
        levels=("elbow",),
    ),
)


def side_edits(folder: Path) -> None:
    """Draw a side that goes in, and one that goes out."""
    _pair(
        folder,
        "side-edits",
        SIDES,
        80.0,
        "Take in, let out",
        "The side of a trouser's back taken in at the waist to nothing at the hip; the side of a "
        "pinafore let out at the hem to nothing at the chest. The old lines are dashed, what is "
        "added is hatched, what goes is dotted.",
    )


def height_edits(folder: Path) -> None:
    """Draw a waist that goes up, and a neckline that goes down."""
    _pair(
        folder,
        "height-edits",
        HEIGHTS,
        80.0,
        "Raise, lower",
        "The waist of a trouser's back raised at the centre, drawn across the folded dart; the "
        "neckline of a pinafore lowered at the centre. The old lines are dashed, what is added is "
        "hatched, what goes is dotted.",
    )


def drawn_edges(folder: Path) -> None:
    """Draw a neckline through a point, and ruled."""
    _pair(
        folder,
        "drawn-edges",
        DRAWN,
        80.0,
        "Draw an edge",
        "A neckline drawn anew through one point, rounder, and with a ruler. The old "
        "line is dashed, what is added is hatched, what goes is dotted.",
    )


def mark_edits(folder: Path) -> None:
    """Draw a line and a notch that are moved."""
    _pair(
        folder,
        "mark-edits",
        MARKS,
        90.0,
        "Move a mark",
        "The line of a pocket moved down the grain and across it; the notch at the knee moved down "
        "the side, its old place a ring. The old line is dashed.",
    )


def length_edits(folder: Path) -> None:
    """Draw the edits of length at a level."""
    _pair(
        folder,
        "length-edits",
        LENGTHS,
        112.0,
        "Lengthen and shorten",
        "The back of a trouser lengthened at the knee, a sleeve shortened at the elbow; the old "
        "outlines are dashed, what is added is hatched, what goes is dotted.",
    )


def _pair(
    folder: Path, name: str, panels: Sequence[Panel], high: float, title: str, text: str
) -> None:
    picture = Picture(title, text)
    draw_panels(picture, panels, wide=84.0, high=(high,), columns=2)
    picture.save(folder, name)
