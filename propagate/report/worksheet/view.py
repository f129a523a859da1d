"""A piece scaled down on a page: what of it shows, and places for its labels."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.style import INK, PALE

__all__ = ["SCALES", "View", "fitting_scale"]

Array = npt.NDArray[np.float64]

SCALES = (0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40)
_LEADER = Stroke(PALE, 0.15)
_REACHES = (1.2, 2.5, 4.0, 6.0, 8.5, 11.5, 15.0, 19.0, 24.0, 30.0, 37.0, 45.0)
_NEAR_MM = 3.0
"""A text this close to its point needs no line to it."""
_OWN_MM = 1.5
"""Lines that a tie meets this close to its point are the point's own."""
_SHORT_MM = 20.0
"""A tie longer than this is worse than one across an outline."""
_CLEAR_MM = 1.2
"""A tie this close to a dart leg reads as one more leg."""
_DIRECTIONS = [math.pi * k / 8 for k in range(16)]


def fitting_scale(size: Array, room: tuple[float, float], least: float) -> float:
    """The largest drawing that fits: 4.0 stands for 1:4.  `least` keeps it from being larger."""
    need = max(float(size[0]) / room[0], float(size[1]) / room[1], least)
    return next((float(s) for s in SCALES if s >= need - 1e-9), math.ceil(need / 10.0) * 10.0)


@dataclass
class View:
    """A window on a piece.

    Attributes
    ----------
    canvas : PdfCanvas
    box : (left, bottom, right, top)
        Where it stands on the page, mm.
    scale : float
        4.0 stands for 1:4.
    centre : (2,) array
        Point of the piece in the middle of the window.
    window : shapely polygon or None
        What of the piece shows; None shows all of it.
    taken, inner, darts : lists of shapely geometries
        What labels stay off, the lines inside the piece, and the darts, on the page.
    """

    canvas: PdfCanvas
    box: tuple[float, float, float, float]
    scale: float
    centre: Array
    window: shapely.Polygon | None = None
    taken: list[shapely.Geometry] = field(default_factory=list)
    inner: list[shapely.Geometry] = field(default_factory=list)
    darts: list[shapely.Geometry] = field(default_factory=list)

    def at(self, points: npt.ArrayLike) -> Array:
        """Points of the piece on the page."""
        left, bottom, right, top = self.box
        middle = np.array([(left + right) / 2, (bottom + top) / 2])
        return np.asarray((np.asarray(points) - self.centre) / self.scale + middle)

    def shows(self, point: npt.ArrayLike) -> bool:
        """Tell whether a point lies in the window."""
        return self.window is None or bool(self.window.covers(shapely.Point(point)))

    def parts(self, points: npt.ArrayLike) -> list[Array]:
        """The parts of a line that show, in the piece's frame."""
        line = shapely.LineString(points)
        if self.window is not None:
            line = line.intersection(self.window)
        found = shapely.get_parts(line)
        return [
            np.asarray(p.coords) for p in found if p.geom_type == "LineString" and p.length > 0.0
        ]

    def line(self, layer: str, points: npt.ArrayLike, stroke: Stroke, *, keep: bool = True) -> None:
        """Draw what shows of a line; labels stay off it."""
        for part in self.parts(points):
            placed = self.at(part)
            self.canvas.line(layer, placed, stroke)
            if keep:
                self.taken.append(shapely.LineString(placed))
            if layer == "inner":
                self.inner.append(shapely.LineString(placed))

    def area(self, area: shapely.Geometry, fill: str) -> None:
        """Fill what shows of an area."""
        if self.window is not None:
            area = area.intersection(self.window)
        for part in shapely.get_parts(area):
            if part.geom_type != "Polygon" or part.area / self.scale**2 < 0.05:
                continue
            rings = [part.exterior.coords, *(hole.coords for hole in part.interiors)]
            self.canvas.shape("areas", [self.at(np.asarray(r)[:-1]) for r in rings], fill)

    def dart(self, points: npt.ArrayLike) -> None:
        """Keep labels and their ties out of a dart: (3, 2) leg, tip, leg."""
        self.darts.append(shapely.Polygon(self.at(points)).buffer(_CLEAR_MM, quad_segs=2))

    def label(
        self,
        point: npt.ArrayLike,
        text: str,
        size: float = 2.7,
        *,
        bold: bool = False,
        farthest: float = 50.0,
    ) -> bool:
        """Write a text near a point of the piece where nothing else is, tied by a thin line.

        False when there is no free place within `farthest` mm on the page.
        """
        anchor = self.at(point)
        fonts = self.canvas.fonts
        assert fonts is not None
        text = fonts.fitted(text, size, 52.0, bold=bold)
        half = np.array([fonts.width(text, size, bold=bold) + 1.0, size * 1.25]) / 2
        found = self._place(anchor, half, farthest)
        if found is None:
            return False
        centre, place, tied = found
        if tied:
            tie = shapely.shortest_line(place, shapely.Point(anchor))
            self.canvas.line("labels", np.asarray(tie.coords), _LEADER)
            self.taken.append(tie)
        self.taken.append(place)
        self.canvas.text("labels", centre, text, size, bold=bold, colour=INK, halo=True)
        return True

    def _place(
        self, anchor: Array, half: Array, farthest: float
    ) -> tuple[Array, shapely.Polygon, bool] | None:
        """A free place: near and its tie across no line, else across no line inside, else any."""
        inner = [*self.inner, *self.darts]
        for crossing, most in (
            ([*self.taken, *self.darts], _SHORT_MM),
            (inner, 2.0 * _SHORT_MM),
            (self.taken, farthest),
            ([], farthest),
        ):
            for reach in _REACHES:
                if reach > min(farthest, most):
                    break
                for turn in _DIRECTIONS:
                    way = np.array([math.cos(turn), math.sin(turn)])
                    centre = anchor + way * (reach + half)
                    place = shapely.box(*(centre - half), *(centre + half))
                    tied = reach > _NEAR_MM
                    if self._free(place) and not (tied and self._crossed(place, anchor, crossing)):
                        return centre, place, tied
        return None

    def _free(self, place: shapely.Polygon) -> bool:
        left, bottom, right, top = self.box
        low_x, low_y, high_x, high_y = place.bounds
        if low_x < left or low_y < bottom or high_x > right or high_y > top:
            return False
        return not any(place.intersects(shape) for shape in self.taken)

    def _crossed(
        self, place: shapely.Polygon, anchor: Array, lines: list[shapely.Geometry]
    ) -> bool:
        """Whether a tie would cross a text, or one of some lines."""
        point = shapely.Point(anchor)
        tie = shapely.shortest_line(place, point)
        if any(s.geom_type == "Polygon" and tie.intersects(s) for s in self.taken):
            return True
        rest = tie.difference(point.buffer(_OWN_MM))
        return any(rest.intersects(shape) for shape in lines)
