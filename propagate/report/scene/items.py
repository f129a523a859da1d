"""A drawing as a value: items that say what they are, not how they look.

A piece is composed once (`propagate.report.scene.piece`) and painted by one painter
(`propagate.report.scene.looks`) on a picture, on paper or on a page.  How a role looks, and
what the legend says of it, stands in `propagate.report.scene.looks` alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import field, replace
from enum import Enum
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import Anchor, upright_angle
from propagate.values import dataclass

__all__ = ["Area", "Dot", "Item", "Line", "Role", "Scene", "Text", "Tone"]

Array = npt.NDArray[np.float64]
Tone = Literal["ink", "pale", "longer", "shorter"]


class Role(Enum):
    """What an item is.  In the order of painting: later ones lie on top."""

    FACE = "face"
    TAPE_ON = "tape-on"
    TRIM = "trim"
    LEVEL = "level"
    CUT_BEFORE = "cut-before"
    CUT = "cut"
    BEFORE = "before"
    BEYOND = "beyond"
    BREAK = "break"
    INNER = "inner"
    DART = "dart"
    FOLD = "fold"
    GRAIN = "grain"
    SEAM = "seam"
    DRILL = "drill"
    LANDMARK = "landmark"
    NOTCH = "notch"
    OFFSET = "offset"
    DIMENSION = "dimension"
    LEADER = "leader"
    LABEL = "label"


def _freeze_points(points: npt.ArrayLike) -> Array:
    xy = np.array(points, dtype=np.float64).reshape(-1, 2)
    xy.setflags(write=False)
    return xy


@dataclass(frozen=True, eq=False)
class Line:
    """A polyline.

    Attributes
    ----------
    points : (n, 2) array, mm
    closed : bool
        Back to its first point, which is not repeated.
    name : str
        Of the edge, level, notch or line that it is; "" where it has none.
    facts : mapping of str to str
        What a picture keeps beside the line for programs that read it.
    series : int or None
        Which size of a nest it belongs to; each has dashes of its own.
    """

    role: Role
    points: Array
    closed: bool = False
    name: str = ""
    facts: Mapping[str, str] = field(default_factory=dict)
    series: int | None = None


@dataclass(frozen=True, eq=False)
class Area:
    """An area with its holes: rings as (n, 2) arrays, mm, the first point not repeated."""

    role: Role
    rings: tuple[Array, ...]

    @property
    def polygon(self) -> shapely.Polygon:
        """As a shape."""
        return shapely.Polygon(self.rings[0], self.rings[1:])


@dataclass(frozen=True, eq=False)
class Dot:
    """A circle: its centre (2,), mm, its radius, mm, and its name; filled white where `filled`."""

    role: Role
    centre: Array
    radius: float
    filled: bool = False
    name: str = ""


@dataclass(frozen=True, eq=False)
class Text:
    """A text: `at` (2,) is the middle of its height, `size` in mm, `angle` in degrees."""

    role: Role
    at: Array
    text: str
    size: float
    angle: float = 0.0
    anchor: Anchor = "middle"
    bold: bool = False
    tone: Tone = "ink"


Item = Line | Area | Dot | Text


@dataclass(frozen=True, eq=False)
class Scene:
    """What a drawing holds, in the order in which it was composed."""

    items: tuple[Item, ...] = ()

    def __add__(self, other: Scene) -> Scene:
        """Both drawings in one."""
        return Scene(self.items + other.items)

    @property
    def roles(self) -> tuple[Role, ...]:
        """The roles that the drawing really holds, in the order of painting."""
        held = {item.role for item in self.items}
        return tuple(role for role in Role if role in held)

    def of(self, *roles: Role) -> tuple[Item, ...]:
        """The items of some roles."""
        return tuple(item for item in self.items if item.role in roles)

    def area_of(self, *roles: Role) -> shapely.Geometry:
        """What the areas of some roles cover together."""
        areas = (item for item in self.items if isinstance(item, Area) and item.role in roles)
        return shapely.union_all([area.polygon for area in areas])

    def without(self, *roles: Role) -> Scene:
        """The drawing without the items of some roles."""
        return Scene(tuple(item for item in self.items if item.role not in roles))

    def bounds(self) -> tuple[Array, Array]:
        """Lower left and upper right corner, (2,) each, mm, of everything but texts."""
        points: list[Array] = []
        for item in self.items:
            if isinstance(item, Line):
                points.append(item.points)
            elif isinstance(item, Area):
                points += item.rings
            elif isinstance(item, Dot):
                points.append(np.array([item.centre - item.radius, item.centre + item.radius]))
        every = np.concatenate(points)
        return every.min(axis=0), every.max(axis=0)

    def placed(self, scale: float, move: Callable[[Array], Array]) -> Scene:
        """The drawing on a page: `move` takes (n, 2) points there, `scale` 4.0 stands for 1:4.

        Radii and sizes of letters are scaled with it; what has to keep its size on the page
        is composed that much larger.
        """
        return Scene(tuple(_placed_item(item, scale, move) for item in self.items))

    def clipped(self, window: shapely.Polygon) -> Scene:
        """The part of the drawing that lies in a window; dots and texts by their middle."""
        shapely.prepare(window)
        return Scene(tuple(part for item in self.items for part in _clip_item(item, window)))


def _placed_item(item: Item, scale: float, move: Callable[[Array], Array]) -> Item:
    if isinstance(item, Line):
        return replace(item, points=_freeze_points(move(item.points)))
    if isinstance(item, Area):
        return replace(item, rings=tuple(_freeze_points(move(ring)) for ring in item.rings))
    if isinstance(item, Dot):
        return replace(
            item, centre=_freeze_points(move(item.centre))[0], radius=item.radius / scale
        )
    return replace(item, at=_freeze_points(move(item.at))[0], size=item.size / scale)


def _clip_item(item: Item, window: shapely.Polygon) -> Iterable[Item]:
    if isinstance(item, Line):
        ring = np.vstack([item.points, item.points[:1]]) if item.closed else item.points
        line = shapely.LineString(ring)
        if window.covers(line):
            return [item]
        parts = shapely.get_parts(shapely.line_merge(line.intersection(window)))
        lines = (p for p in parts if p.geom_type == "LineString" and p.length > 0.0)
        return [replace(item, points=_freeze_points(p.coords), closed=False) for p in lines]
    if isinstance(item, Area):
        return areas_of(item.role, shapely.make_valid(item.polygon).intersection(window))
    centre = item.centre if isinstance(item, Dot) else item.at
    return [item] if window.covers(shapely.Point(centre)) else []


def areas_of(role: Role, shape: shapely.Geometry) -> list[Area]:
    """Return the polygons of a shape as areas."""
    found = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and part.area > 0.0:
            rings = [part.exterior.coords, *(hole.coords for hole in part.interiors)]
            found.append(Area(role, tuple(_freeze_points(ring)[:-1] for ring in rings)))
    return found


def make_line(
    role: Role,
    points: npt.ArrayLike,
    name: str = "",
    *,
    closed: bool = False,
    series: int | None = None,
    **facts: str,
) -> Line:
    """Return A line of points that nobody can change afterwards."""
    return Line(role, _freeze_points(points), closed, name, facts, series)


def arrow_head(role: Role, tip: npt.ArrayLike, way: npt.ArrayLike, size: float) -> Area:
    """Return A filled arrow head: its tip, the unit vector that it points in, its length."""
    point, ahead = np.asarray(tip, dtype=np.float64), np.asarray(way, dtype=np.float64)
    back = point - ahead * size
    aside = np.array([-ahead[1], ahead[0]]) * size * 0.28
    return Area(role, (_freeze_points([point, back + aside, back - aside]),))


def make_text(
    at: npt.ArrayLike,
    words: str,
    size: float,
    *,
    angle: float = 0.0,
    anchor: Anchor = "middle",
    bold: bool = False,
    tone: Tone = "ink",
) -> Text:
    """Make a label."""
    turned = upright_angle(angle)
    turned = 90.0 if math.isclose(turned, -90.0) else turned
    return Text(Role.LABEL, _freeze_points(at)[0], words, size, turned, anchor, bold, tone)
