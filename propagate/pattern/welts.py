"""Welt and jetted openings: an opening on an inner line of a piece, and what is sewn to it.

The line keeps its length and its angle, and goes with what it is measured from.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal

import numpy as np

from propagate.errors import UnknownName
from propagate.pattern.amount import Amount
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.runs import Span
from propagate.pattern.told import TITLE, told
from propagate.tolerances import WALK_MM
from propagate.values import dataclass

__all__ = [
    "AnchorKind",
    "WeltOpening",
    "WeltPart",
    "anchor_kind",
    "anchor_point",
    "length_said",
    "line_points",
    "part_span",
    "welt_points",
]

AnchorKind = Literal["edge", "dart", "landmark", "level"]


@dataclass(frozen=True)
class WeltPart:
    """A piece that is sewn to a welt opening: welt, jetting, facing, bag."""

    piece: str = field(metadata=told("name", "the piece"))
    edge: str = field(metadata=told("text", "its edge that lies along the opening"))
    start: str = field(
        default="start",
        metadata=told("text", "mark on that edge that meets the start of the opening's line"),
    )
    end: str = field(
        default="end",
        metadata=told("text", "mark on that edge that meets the end of the opening's line"),
    )
    beyond: float = field(
        default=0.0,
        metadata=told("length", "how far it goes on beyond the opening at each end"),
    )
    bag: bool = field(
        default=False,
        metadata=told("flag", "lies under the main piece: told where it sticks out of it"),
    )
    face_down: bool = field(default=False, metadata=told("flag", "drawn mirrored"))


@dataclass(frozen=True)
class WeltOpening:
    """A welt or jetted opening: an inner line of a piece that keeps its length and its angle."""

    name: str = field(metadata=told("name", "what the opening is called"))
    on: str = field(metadata=told("text", "the main piece, which is cut open"))
    line: str = field(metadata=told("text", "its inner line that is the opening"))
    anchors: tuple[str, ...] = field(
        default=(),
        metadata=told(
            "texts",
            "one or two edges, darts (their tip), landmarks or levels of the main piece that it is "
            "measured from: how far away it lies from the first, how far along from the second, or "
            "both from one; the two nearest edges when nothing is said",
            key="from",
        ),
    )
    angle: Literal["edge", "grain"] = field(
        default="edge",
        metadata=told(
            "choice",
            "what its angle is kept to: the edge it is measured from first, or the grain (which is "
            "taken also where it is measured from no edge first)",
            choices=("edge", "grain"),
        ),
    )
    length: Amount | None = field(
        default=None,
        metadata=told("amount", "how long it is, for all sizes or for each; as drawn else"),
    )
    marks: tuple[str, ...] = field(
        default=(),
        metadata=told("texts", "other inner lines and drill marks that go with it"),
    )
    parts: tuple[WeltPart, ...] = field(
        default=(),
        metadata=told(
            "rows",
            "what is sewn to it: welt, jettings, facing, bag; each is as long along it as the "
            "opening and what goes beyond",
            of=WeltPart,
            label="part",
        ),
    )
    tolerance: float = field(
        default=WALK_MM, metadata=told("length", "how far the check lets a length be off")
    )
    title: str | None = field(default=None, metadata=TITLE)


def part_span(part: WeltPart) -> Span:
    """The stretch of a part's edge that lies along the opening, from the start of its line."""
    return Span(part.piece, part.edge, part.start, part.end)


def line_points(piece: SizedPiece, opening: WeltOpening) -> Array:
    """(n, 2) points of the opening's line; raises UnknownName."""
    for line in piece.lines:
        if line.name == opening.line:
            return line.points
    known = [line.name for line in piece.lines]
    raise UnknownName("line", opening.line, known, f"piece '{opening.on}'")


def welt_points(piece: SizedPiece, opening: WeltOpening) -> Array:
    """(n, 2) points of the line, and after them of the lines and drill marks that go with it."""
    lines = {line.name: line.points for line in piece.lines}
    drills = {mark.name: np.array([mark.point]) for mark in piece.drills}
    found = {**drills, **lines}
    return np.vstack([lines[opening.line], *(found[name] for name in opening.marks)])


def anchor_kind(piece: SizedPiece, name: str) -> AnchorKind | None:
    """What an anchor is: looked for among edges, darts, landmarks and levels, in this order."""
    if name in piece.edge_names:
        return "edge"
    if any(dart.name == name for dart in piece.darts):
        return "dart"
    if piece.find_landmark(name) is not None:
        return "landmark"
    return "level" if name in piece.levels else None


def anchor_point(piece: SizedPiece, name: str) -> Array:
    """(2,) the tip of a dart, a landmark, or the point of a level; raises UnknownName."""
    kind = anchor_kind(piece, name)
    if kind == "dart":
        return np.array(next(dart.tip for dart in piece.darts if dart.name == name))
    if kind == "level":
        return np.array(piece.levels[name])
    return np.array(piece.landmark(name).point)


def length_said(opening: WeltOpening, size: str) -> float | None:
    """How long an opening is said to be in a size, mm; None where nothing is said."""
    if opening.length is None:
        return None
    return dict(opening.length.sizes).get(size) if opening.length.sizes else opening.length.mm
