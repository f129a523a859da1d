# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""The page of a picture: pieces as the program draws them, and what is said beside them.

A piece is composed and painted by `propagate.report.scene`, so that it looks here as it does on
every sheet.  What a picture adds, such as a leader or a line that it lays stress on, is a few
strokes over that.  Picture coordinates are millimetres on the page, y up; a `Frame` takes a
piece's coordinates there.  Points are thinned and rounded to a hundredth of a millimetre, so
that the same picture has the same bytes everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import CutLine
from propagate.engine.tape import Silhouette
from propagate.geometry.motion import IDENTITY, Motion
from propagate.pattern.info import PieceInfo
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Anchor, Canvas
from propagate.report.scene.items import Item, Line, Role, Scene, areas_of, arrow_head, make_text
from propagate.report.scene.looks import (
    LAYERS,
    SAMPLE_MM,
    legend_of,
    legend_rows,
    paint_scene,
    stroke_of,
)
from propagate.report.scene.piece import compose_piece
from propagate.report.style import BLUE, INK, ORANGE, PALE, Stroke, write_patterns

__all__ = ["LEADER", "STRESS", "Frame", "Picture", "composed", "lines_of", "piece_of"]

Array = npt.NDArray[np.float64]

TEXT = 3.6
"""Size of ordinary text, mm."""
THIN = 0.75
"""Widths of lines and dashes, of those of a picture at true scale."""
MARKS = 0.4
"""Notches, arrow heads and drill marks, likewise."""
LEFT_OUT = (Role.LEVEL, Role.LANDMARK, Role.GRAIN)
LEADER = stroke_of(Role.LEADER)
STRESS = (Stroke(BLUE, 1.1), Stroke(ORANGE, 1.1))
"""Lines that a picture is about."""


@dataclass(frozen=True)
class Frame:
    """Scale a piece, turn it (degrees) and put its own point `origin` at `at`."""

    scale: float
    origin: tuple[float, float] = (0.0, 0.0)
    at: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0

    def __call__(self, points: npt.ArrayLike) -> Array:
        """Picture coordinates of points."""
        moved = (np.asarray(points, dtype=np.float64) - self.origin) * self.scale
        angle = math.radians(self.turn)
        c, s = math.cos(angle), math.sin(angle)
        turned: Array = moved @ np.array([[c, s], [-s, c]]) + self.at
        return turned


def composed(
    piece: SizedPiece,
    frame: Frame,
    info: PieceInfo | None = None,
    *,
    cut: CutLine | None = None,
    before: SizedPiece | None = None,
    series: int | None = None,
    shown: Sequence[Role] = (),
    laid: Motion = IDENTITY,
    crop: shapely.Polygon | None = None,
) -> Scene:
    """A piece as the program draws it, in picture coordinates.

    Parameters
    ----------
    piece : SizedPiece
    frame : Frame
    info : PieceInfo, optional
        Fold and allowances; a silhouette has none.
    cut, before, series
        As `compose_piece` takes them.
    shown : sequence of Role
        What is drawn; all but levels, landmarks and the grain where nothing is said.
    laid : Motion
        Lays it on another piece, in whose coordinates the frame is.
    crop : polygon, optional
        What is shown of it there.
    """
    scene = compose_piece(
        piece,
        info or PieceInfo(""),
        cut=cut,
        before=before,
        series=series,
        page_mm=MARKS / frame.scale,
    )
    scene = Scene(scene.of(*shown)) if shown else scene.without(*LEFT_OUT)
    scene = scene.placed(1.0, laid.apply)
    return (scene if crop is None else scene.clipped(crop)).placed(1.0 / frame.scale, frame)


def piece_of(taped: Silhouette) -> SizedPiece:
    """Pieces taped together, to be drawn as one."""
    return SizedPiece(taped.edges, taped.base.grain, levels=taped.base.levels)


def lines_of(scene: Scene, *edges: str, role: Role = Role.SEAM) -> Scene:
    """The seam lines of some edges alone, as what they are here."""
    seams = [item for item in scene.of(Role.SEAM) if isinstance(item, Line)]
    return Scene(tuple(replace(item, role=role) for item in seams if item.name in edges))


def _thinned(points: npt.ArrayLike) -> Array:
    """Leave out vertices that nobody can see, and round."""
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if len(xy) > 2:
        xy = shapely.get_coordinates(shapely.LineString(xy).simplify(0.015))
    return np.round(xy, 2) + 0.0


def _bare(item: Item) -> Item:
    """A line without the facts that a picture of the program keeps for those who read it."""
    return replace(item, name="", facts={}) if isinstance(item, Line) else item


class Picture:
    """One picture: pieces, lines, areas, labels, leaders, arrows, and the legend of all."""

    def __init__(self, title: str, text: str) -> None:
        self.title, self.words = title, text
        self.canvas = Canvas()
        self.roles: set[Role] = set()

    def draw(self, scene: Scene) -> None:
        """Draw what is composed, given in picture coordinates."""
        self.roles |= set(scene.roles)
        thinned = scene.placed(1.0, _thinned)
        paint_scene(Scene(tuple(_bare(item) for item in thinned.items)), self.canvas, thin=THIN)

    def line(
        self,
        points: npt.ArrayLike,
        look: Role | Stroke,
        *,
        layer: str = "landmark",
        closed: bool = False,
    ) -> None:
        """Draw a polyline given in picture coordinates: by what it is, or to lay stress on it."""
        if isinstance(look, Role):
            self.draw(Scene((Line(look, np.asarray(points, dtype=np.float64), closed),)))
        else:
            self.canvas.line(layer, _thinned(points), look, closed=closed)

    def area(self, outline: Sequence[npt.ArrayLike], fill: str, *, layer: str = "face") -> None:
        """Fill rings."""
        self.canvas.shape(layer, [_thinned(ring) for ring in outline], fill)

    def cloth(self, area: shapely.Geometry) -> None:
        """A face that belongs to no piece of a set."""
        self.draw(Scene(tuple(areas_of(Role.FACE, area))))

    def dot(self, at: npt.ArrayLike, *, radius: float = 0.7, colour: str = INK) -> None:
        """A filled dot."""
        self.canvas.circle("landmark", np.round(at, 2), radius, Stroke(colour, 0.1), colour)

    def text(
        self,
        at: npt.ArrayLike,
        words: str,
        *,
        anchor: Anchor = "middle",
        size: float = TEXT,
        bold: bool = False,
    ) -> None:
        """Write lines of text; `at` is the middle of the first line."""
        x, y = np.asarray(at, dtype=np.float64)
        for i, said in enumerate(words.split("\n")):
            row = make_text((x, y - 1.3 * size * i), said, size, anchor=anchor, bold=bold)
            paint_scene(Scene((row,)).placed(1.0, _thinned), self.canvas)

    def leader(
        self, at: npt.ArrayLike, tip: npt.ArrayLike, words: str, *, anchor: Anchor = "start"
    ) -> None:
        """A text tied to what it names by a thin line that ends in a dot."""
        start = np.asarray(at, dtype=np.float64)
        gap = {"start": -1.0, "end": 1.0, "middle": 0.0}[anchor]
        self.line(np.vstack([start + [gap, 0.0], tip]), LEADER)
        self.dot(tip, radius=0.45, colour=PALE)
        self.text(start, words, anchor=anchor)

    def arrow(self, points: npt.ArrayLike, stroke: Stroke, *, head: float = 2.6) -> None:
        """A line with a head at its end."""
        xy = np.asarray(points, dtype=np.float64)
        along = xy[-1] - xy[-2]
        along = along / float(np.hypot(*along))
        self.line(np.vstack([xy[:-1], xy[-1] - head * along]), stroke)
        self.area(
            arrow_head(Role.GRAIN, xy[-1], along, head).rings, stroke.colour, layer="landmark"
        )

    def arc(self, centre: npt.ArrayLike, radius: float, first: float, last: float) -> Array:
        """Points of an arc, angles in degrees."""
        angles = np.radians(np.linspace(first, last, max(int(abs(last - first) / 2), 8)))
        xy = np.asarray(centre) + radius * np.column_stack([np.cos(angles), np.sin(angles)])
        return np.asarray(xy)

    def legend(self, words: Mapping[Role, str] | None = None) -> None:
        """Below everything, name the kinds of line and area that were drawn."""
        roles = tuple(role for role in Role if role in self.roles)
        wide = max(float(self.canvas.high[0] - self.canvas.low[0]), 60.0)
        scene, _ = legend_rows(legend_of(roles, SAMPLE_MM, 0.9 * TEXT, words), wide, 0.9 * TEXT)
        corner = self.canvas.low - [0.0, 2.0 * TEXT]
        paint_scene(scene.placed(1.0, corner.__add__).placed(1.0, _thinned), self.canvas, thin=THIN)

    def save(self, folder: Path, name: str) -> None:
        """Write ``NAME.svg``."""
        written = self.canvas.svg(
            title=self.title,
            text=self.words,
            definitions=write_patterns(1.6),
            order=LAYERS,
            margin=4.0,
        )
        (folder / f"{name}.svg").write_text(written, encoding="utf-8", newline="\n")
