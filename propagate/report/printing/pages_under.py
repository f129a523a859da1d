"""The pages that a piece goes over: where its texts had better lie, and where not."""

from __future__ import annotations

import shapely
import shapely.affinity

from propagate.report.printing.packing import Spot
from propagate.report.printing.plan import TilePlan
from propagate.report.printing.tile_frame import text_boxes
from propagate.values import dataclass

__all__ = ["Pages", "pages_under"]


@dataclass(frozen=True)
class Pages:
    """Where the pages lie that a piece goes over, in the piece's own frame.

    Attributes
    ----------
    alone : tuple of shapely geometries
        What each page shows and no other page does: a title keeps inside one of them.
    whole : tuple of shapely geometries
        All that each page shows: else inside one of these.
    words : tuple of shapely geometries
        What the pages' own words take, which no text of the piece lies on.
    """

    alone: tuple[shapely.Geometry, ...] = ()
    whole: tuple[shapely.Geometry, ...] = ()
    words: tuple[shapely.Geometry, ...] = ()


def pages_under(plan: TilePlan, spot: Spot) -> Pages:
    """The pages that a piece in its place goes over."""
    back = (-spot.shift[0], -spot.shift[1])

    def own(box: tuple[float, float, float, float], inset: float = 0.0) -> shapely.Geometry:
        left, bottom, right, top = box
        inner = shapely.box(left + inset, bottom + inset, right - inset, top - inset)
        return shapely.affinity.translate(inner, *back)

    grid = plan.grid
    boxes = {tile: grid.box(tile) for tile in plan.tiles}
    near = [tile for tile in plan.tiles if shapely.box(*boxes[tile]).intersects(spot.shape)]
    return Pages(
        tuple(own(boxes[tile], grid.overlap) for tile in near),
        tuple(own(boxes[tile]) for tile in near),
        tuple(own(box) for tile in near for box in text_boxes(grid, tile)),
    )
