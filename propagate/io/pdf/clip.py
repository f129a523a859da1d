"""The region in which a page description paints (ISO 32000-1, 8.5.4)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from propagate.io.chain import Chain, Point, tidy_chain
from propagate.io.pdf.cutting import Box, Segment, find_bounds
from propagate.io.pdf.polyline import Polyline
from propagate.values import dataclass

__all__ = ["Clip", "clip_to", "cut_to_region", "with_last_gaps"]

_UPRIGHT_MM = 1e-4
_ON_LINE_MM = 1e-5
MOST_CLIP_POINTS = 20_000


@dataclass(frozen=True, eq=False)
class Clip:
    """An upright box and, where the clip is not one, the region in it.

    Attributes
    ----------
    box : Box
        mm; everything is clipped when its sides are swapped.
    region : shapely geometry or None
        None when the whole box is painted in.
    """

    box: Box
    region: shapely.Geometry | None = None


def clip_to(clip: Clip, path: Sequence[Chain], *, even_odd: bool) -> Clip:
    """The part of a clip that lies inside a path."""
    left, bottom, right, top = clip.box
    upright = _find_upright_box(path)
    if upright is not None:
        box = (
            max(left, upright[0]),
            max(bottom, upright[1]),
            min(right, upright[2]),
            min(top, upright[3]),
        )
        if clip.region is None or box[0] >= box[2] or box[1] >= box[3]:
            return Clip(box)
        return Clip(box, shapely.clip_by_rect(clip.region, *box))
    region = clip.region
    if region is None:  # an empty box is a point, which shapely takes
        region = shapely.box(left, bottom, max(left, right), max(bottom, top))
    rings = [chain.points for chain in path if len(chain.points) > 2]
    if sum(map(len, rings)) > MOST_CLIP_POINTS:
        return clip
    inside: shapely.Geometry = shapely.MultiPolygon()
    for ring in rings:
        area = shapely.make_valid(shapely.Polygon(ring))
        join = shapely.symmetric_difference if even_odd else shapely.union
        inside = join(inside, area)
    region = shapely.intersection(region, inside)
    if region.is_empty:
        return Clip((1.0, 1.0, 0.0, 0.0))
    left, bottom, right, top = (float(value) for value in region.bounds)
    return Clip((left, bottom, right, top), region)


def _find_upright_box(path: Sequence[Chain]) -> Box | None:
    """The box of a path that is an upright rectangle."""
    lines = [chain for chain in path if chain.segments]
    if not lines:
        return (1.0, 1.0, 0.0, 0.0)
    if len(lines) > 1 or lines[0].curved or len(lines[0].segments) > 5:
        return None
    box = left, bottom, right, top = find_bounds(lines[0])
    corners = {(0, 0): 0, (0, 1): 0, (1, 0): 0, (1, 1): 0}
    for x, y in (lines[0].start, *(segment[0] for segment in lines[0].segments)):
        beside = [min(abs(x - left), abs(x - right)), min(abs(y - bottom), abs(y - top))]
        if max(beside) > _UPRIGHT_MM:
            return None
        corners[abs(x - right) < abs(x - left), abs(y - top) < abs(y - bottom)] += 1
    return box if all(corners.values()) or right == left or top == bottom else None


def cut_to_region(parts: list[Chain], clip: Clip) -> list[Chain]:
    """The parts of a line that are painted, of those that lie in the box of a clip.

    Where the clip is an upright box they are exact; in another region a line that is cut becomes
    a polyline.
    """
    if clip.box[0] > clip.box[2] or clip.box[1] > clip.box[3]:
        return []
    if clip.region is None:
        return parts
    shapely.prepare(clip.region)
    found = []
    for part in parts:
        line = shapely.LineString(part.points)
        if clip.region.covers(line):
            found.append(part)
            continue
        if not clip.region.intersects(line):
            continue
        inside = shapely.line_merge(shapely.intersection(line, clip.region))
        for piece in shapely.get_parts(inside):
            points = [(float(x), float(y)) for x, y in shapely.get_coordinates(piece)]
            made = tidy_chain(points[0], [(p,) for p in points[1:]], False) if points else None
            found += [] if made is None else [made]
    return found


def with_last_gaps(chain: Chain | Polyline, parts: list[Chain], gap: float) -> list[Chain]:
    """Parts of a dashed line with its own ends, where a clip took no more than a gap of it.

    Writers clip to the box of what is seen, and that ends with the last dash.
    """
    if not parts or parts[0] is chain:
        return parts
    *before, last = parts
    parts = [*before, _run_on(last, _from_the_end(chain), gap)]
    first, *after = parts
    back = first.reversed()
    longer = _run_on(back, _from_the_start(chain), gap)
    return parts if longer is back else [longer.reversed(), *after]


def _from_the_end(chain: Chain | Polyline) -> Iterator[tuple[Point, Segment]]:
    """The segments of a line with their starts, the last one first."""
    for i in range(len(chain.segments) - 1, -1, -1):
        yield chain.segments[i - 1][-1] if i else chain.start, chain.segments[i]


def _from_the_start(chain: Chain | Polyline) -> Iterator[tuple[Point, Segment]]:
    """The segments of a line turned round with their starts, the first one first."""
    start = chain.start
    for segment in chain.segments:
        yield segment[-1], (*segment[-2::-1], start)
        start = segment[-1]


def _run_on(part: Chain, segments: Iterator[tuple[Point, Segment]], gap: float) -> Chain:
    """A part run on to the end of its line, when that is near and straight."""
    beyond: list[Segment] = []
    left = gap
    for start, segment in segments:
        if len(segment) > 1:
            return part
        end = segment[0]
        long = math.dist(start, end)
        here = math.dist(start, part.end), math.dist(part.end, end)
        if abs(here[0] + here[1] - long) < _ON_LINE_MM:
            if here[1] > left:
                return part
            return Chain(part.start, (*part.segments[:-1], segment, *beyond))
        beyond.insert(0, segment)
        left -= long
        if left < 0:
            return part
    return part
