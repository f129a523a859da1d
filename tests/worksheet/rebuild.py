"""Draw a new line as the sheet tells it, with ruler and pencil: shapely alone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from shapely.ops import substring

from propagate.report.worksheet.value import EdgeWork
from tests.worksheet.conftest import Outlines

SIXTEENTH_MM = 25.4 / 16
ELSEWHERE = (
    *("Cut along", "Draw the opening", "Redraw it from"),
    *("Comes out of", "The outline stays", "Stays as it is"),
)
"""Beginnings of texts of edges that another step draws."""


def printed(mm: float, unit: str) -> float:
    """A length as it is printed: 0.1 mm or 1/16 in."""
    return round(mm, 1) if unit == "mm" else round(mm / SIXTEENTH_MM) * SIXTEENTH_MM


def xy(point: shapely.Point) -> npt.NDArray[np.float64]:
    return np.array([point.x, point.y])


def spot(old: shapely.LineString, along: float, out: float) -> npt.NDArray[np.float64]:
    """So far along the old line, which runs straight on beyond its ends, then square to it."""
    on = min(max(along, 0.0), old.length)
    first, last = (old.interpolate(min(max(on + d, 0.0), old.length)) for d in (-1.0, 1.0))
    way = xy(last) - xy(first)
    way = way / np.hypot(*way)
    place = xy(old.interpolate(on)) + (along - on) * way
    return np.asarray(place + out * np.array([way[1], -way[0]]))


def rows_of(work: EdgeWork, outlines: Outlines, unit: str) -> list[tuple[float, npt.ArrayLike]]:
    """Rows of the table as printed: distance from the start of the old line, and the point."""
    old = outlines.old[work.edge]
    index = outlines.names.index(work.edge)
    after = outlines.names[(index + 1) % len(outlines.names)]
    from_end = f"of {work.edge} and {after}" in str(work.offsets_from)
    found: list[tuple[float, npt.ArrayLike]] = []
    for row in work.offsets:
        along = printed(row.along_mm, unit)
        along = old.length - along if from_end else along
        found.append((along, spot(old, along, printed(row.out_mm, unit))))
    return found


def stays_of(work: EdgeWork, total: float, unit: str) -> list[tuple[float, float]]:
    """Parts of the old line that stay, as printed."""
    parts = [(0.0, printed(work.kept_start_mm, unit)), *work.kept_between_mm]
    parts.append((total - printed(work.kept_end_mm, unit), total))
    return [(max(begin, 0.0), min(end, total)) for begin, end in parts if end - begin > 1.0]


def drawn(work: EdgeWork, outlines: Outlines, unit: str) -> shapely.LineString:
    """Straight lines from row to row, and the old line where it stays."""
    old, new = outlines.old[work.edge], outlines.new[work.edge]
    if "Leave it as it is" in work.text:
        return old
    ends = [np.asarray(new.coords[i]) for i in (0, -1)]
    if "follow the old line all the same" in work.text:
        between = sorted(old.project(shapely.Point(end)) for end in ends)
        part = shapely.get_coordinates(substring(old, *between))
        return shapely.LineString(np.concatenate([ends[0][None], part, ends[1][None]]))
    stays = stays_of(work, old.length, unit)
    rows = rows_of(work, outlines, unit)
    inside = [row for row in rows if not any(a + 0.2 < row[0] < b - 0.2 for a, b in stays)]
    items = [(along, np.atleast_2d(point)) for along, point in inside]
    items += [((a + b) / 2, shapely.get_coordinates(substring(old, a, b))) for a, b in stays]
    items.sort(key=lambda item: item[0])
    line = [points for _, points in items]
    if not rows:  # new corners have measures of their own
        line = [ends[0][None], *line, ends[1][None]]
    points = np.concatenate(line)
    if "it ends there now" in work.text and not rows:
        points = shapely.get_coordinates(substring(old, *_ending(work, old.length)))
    return shapely.LineString(points)


def _ending(work: EdgeWork, total: float) -> tuple[float, float]:
    if work.kept_start_mm >= work.kept_end_mm:
        return 0.0, round(work.kept_start_mm, 1)
    return total - round(work.kept_end_mm, 1), total


def off(work: EdgeWork, outlines: Outlines, unit: str) -> float:
    """Largest distance of what is drawn from the new line, and back, mm."""
    line, new = drawn(work, outlines, unit), outlines.new[work.edge]
    return float(shapely.hausdorff_distance(line.segmentize(0.5), new.segmentize(0.5)))


def off_evenly(work: EdgeWork, outlines: Outlines) -> float:
    """The same for a line whose offset changes evenly from row to row along the old one.

    Beside an old dart leg the old line has two directions to be square to, so that such a
    line is not one: straight lines alone are judged there.
    """
    old, new = outlines.old[work.edge], outlines.new[work.edge]
    stays = stays_of(work, old.length, "mm")
    index = outlines.names.index(work.edge)
    from_end = f"of {work.edge} and {outlines.names[(index + 1) % len(outlines.names)]}"
    rows = sorted(
        (
            old.length - r.along_mm if from_end in str(work.offsets_from) else r.along_mm,
            r.out_mm,
            r.at,
        )
        for r in work.offsets
    )
    far = 0.0
    for (first, out, here), (last, after, there) in pairwise(rows):
        if "old leg" in (here, there):
            continue
        if any(a - 0.2 < first and last < b + 0.2 for a, b in stays):
            continue
        for share in np.linspace(0.0, 1.0, 20):
            along = first + share * (last - first)
            point = spot(old, along, out + share * (after - out))
            far = max(far, new.distance(shapely.Point(point)))
    return far


def is_drawn(work: EdgeWork) -> bool:
    """Whether the edge is drawn from its own text and table."""
    return not work.text.startswith(ELSEWHERE)
