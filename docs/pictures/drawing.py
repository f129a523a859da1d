# ruff: noqa: RUF005 - what is added to are arrays, not lists
"""The pen of the pictures: the project's canvas, with points scaled, thinned and rounded.

Picture coordinates are millimetres on the page, y up.  A `Frame` takes a piece's
coordinates there.  Points are rounded to a hundredth of a millimetre, so that the same
picture has the same bytes everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import Anchor, Canvas, Stroke
from propagate.report.style import BLUE, INK, ORANGE, PALE, definitions

__all__ = [
    "BEFORE",
    "CUT",
    "LEVEL",
    "SEAM",
    "SMALL",
    "THIN",
    "Frame",
    "Picture",
    "clipped",
    "rings",
]

Array = npt.NDArray[np.float64]

TEXT = 3.6
"""Size of ordinary text, mm."""
LAYERS = ("paper", "areas", "thin", "before", "seam", "marks", "labels")
THIN = Stroke(PALE, 0.25)
SEAM = Stroke(INK, 0.6)
CUT = Stroke(INK, 0.3)
BEFORE = Stroke(ORANGE, 0.5, (2.4, 1.4))
LEVEL = Stroke("#7a7a7a", 0.25, (0.8, 1.2))
SMALL = Stroke(BLUE, 0.55, (0.7, 1.5))
"""The other size of two."""


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


def _thinned(points: npt.ArrayLike, closed: bool = False) -> Array:
    """Leave out vertices that nobody can see, and round."""
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    if len(xy) > 2:
        line = shapely.LineString(np.vstack([xy, xy[:1]]) if closed else xy)
        xy = shapely.get_coordinates(line.simplify(0.015))
        xy = xy[:-1] if closed else xy
    return np.round(xy, 2) + 0.0


def rings(area: shapely.Geometry, frame: Frame, least: float = 0.3) -> list[Array]:
    """Rings of an area in picture coordinates; slivers below `least` mm² are left out."""
    found = []
    for part in shapely.get_parts(area):
        if part.geom_type == "Polygon" and part.area * frame.scale**2 > least:
            found += [frame(r.coords[:-1]) for r in (part.exterior, *part.interiors)]
    return found


def clipped(points: npt.ArrayLike, box: shapely.Geometry) -> list[Array]:
    """The parts of a polyline inside a box."""
    inside = shapely.LineString(np.asarray(points)).intersection(box)
    merged = shapely.line_merge(inside) if inside.geom_type == "MultiLineString" else inside
    return [shapely.get_coordinates(p) for p in shapely.get_parts(merged) if p.length > 0]


class Picture:
    """One picture: lines, areas, labels, leaders, arrows."""

    def __init__(self, title: str, text: str) -> None:
        self.title, self.words = title, text
        self.canvas = Canvas()

    def line(
        self, points: npt.ArrayLike, stroke: Stroke, *, layer: str = "seam", closed: bool = False
    ) -> None:
        """Draw a polyline given in picture coordinates."""
        self.canvas.line(layer, _thinned(points, closed), stroke, closed=closed)

    def area(self, outline: Sequence[npt.ArrayLike], fill: str, *, layer: str = "areas") -> None:
        """Fill rings."""
        if outline:
            self.canvas.shape(layer, [_thinned(ring, True) for ring in outline], fill)

    def dot(self, at: npt.ArrayLike, *, radius: float = 0.7, colour: str = INK) -> None:
        """A filled dot."""
        angles = np.linspace(0.0, 2 * np.pi, 17)[:-1]
        ring = np.asarray(at) + radius * np.column_stack([np.cos(angles), np.sin(angles)])
        self.canvas.shape("marks", [np.round(ring, 2)], colour)

    def text(
        self,
        at: npt.ArrayLike,
        text: str,
        *,
        anchor: Anchor = "middle",
        size: float = TEXT,
        bold: bool = False,
        halo: bool = True,
    ) -> None:
        """Write lines of text; `at` is the middle of the first line."""
        x, y = np.round(np.asarray(at, dtype=np.float64), 2)
        for i, line in enumerate(text.split("\n")):
            self.canvas.text(
                "labels",
                (x, y - 1.3 * size * i),
                line,
                size,
                anchor=anchor,
                bold=bold,
                halo=halo,
            )

    def leader(
        self, at: npt.ArrayLike, tip: npt.ArrayLike, text: str, *, anchor: Anchor = "start"
    ) -> None:
        """A text tied to what it names by a thin line that ends in a dot."""
        start = np.asarray(at, dtype=np.float64)
        gap = {"start": -1.0, "end": 1.0, "middle": 0.0}[anchor]
        self.line(np.vstack([start + [gap, 0.0], tip]), THIN, layer="marks")
        self.dot(tip, radius=0.45, colour=PALE)
        self.text(start, text, anchor=anchor)

    def arrow(self, points: npt.ArrayLike, stroke: Stroke, *, head: float = 2.6) -> None:
        """A line with a head at its end."""
        xy = np.asarray(points, dtype=np.float64)
        along = xy[-1] - xy[-2]
        along = along / float(np.hypot(*along))
        across = np.array([-along[1], along[0]])
        back = xy[-1] - head * along
        self.line(np.vstack([xy[:-1], back]), stroke, layer="marks")
        ring = [xy[-1], back + 0.35 * head * across, back - 0.35 * head * across]
        self.canvas.shape("marks", [np.round(ring, 2)], stroke.colour)

    def arc(self, centre: npt.ArrayLike, radius: float, first: float, last: float) -> Array:
        """Points of an arc, angles in degrees."""
        angles = np.radians(np.linspace(first, last, max(int(abs(last - first) / 2), 8)))
        xy = np.asarray(centre) + radius * np.column_stack([np.cos(angles), np.sin(angles)])
        return np.asarray(xy)

    def save(self, folder: Path, name: str, *, pitch: float = 1.6) -> None:
        """Write ``NAME.svg``."""
        text = self.canvas.svg(
            title=self.title,
            text=self.words,
            definitions=definitions(pitch),
            order=LAYERS,
            margin=4.0,
        )
        (folder / f"{name}.svg").write_text(text, encoding="utf-8", newline="\n")
