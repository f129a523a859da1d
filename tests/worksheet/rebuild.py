"""Draw a new line from what the sheet prints, by ruler or as a smooth curve: no code of the sheet.

What is read is the plain JSON of an edge and the old line, which a person has on paper.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from scipy.interpolate import PchipInterpolator
from shapely.ops import substring

Array = npt.NDArray[np.float64]
Work = dict[str, Any]

SIXTEENTH_MM = 25.4 / 16


def printed(mm: float, unit: str) -> float:
    """A length as it is printed: 0.1 mm or 1/16 in."""
    return round(mm, 1) if unit == "mm" else round(mm / SIXTEENTH_MM) * SIXTEENTH_MM


def xy(point: shapely.Point) -> Array:
    return np.array([point.x, point.y])


def spot(old: shapely.LineString, along: float, out: float) -> Array:
    """So far along the old line, which runs straight on beyond its ends, then square to it."""
    on = min(max(along, 0.0), old.length)
    first, last = (old.interpolate(min(max(on + d, 0.0), old.length)) for d in (-1.0, 1.0))
    way = xy(last) - xy(first)
    way = way / np.hypot(*way)
    place = xy(old.interpolate(on)) + (along - on) * way
    return np.asarray(place + out * np.array([way[1], -way[0]]))


def from_end(work: Work) -> bool:
    """Whether rows are counted from the corner where the edge ends."""
    first, last = work["letters"]
    return bool(work["offsets_from"] == last != first)


def rows_of(work: Work, old: shapely.LineString, unit: str) -> list[tuple[float, Array, str]]:
    """Rows of the table as printed: how far from the start of the old line, the point, what."""
    found = []
    for row in work["offsets"]:
        along = printed(row["along_mm"], unit)
        along = old.length - along if from_end(work) else along
        found.append((along, spot(old, along, printed(row["out_mm"], unit)), row["at"]))
    return sorted(found, key=lambda row: row[0])


def stretches_of(work: Work, old: shapely.LineString) -> list[tuple[Work, shapely.LineString]]:
    """The table in parts, each told from the old line between two of its corners.

    Where a row "to turn" is followed by one "from turn", the old line is cut at its corner. The
    distances of a part, and the stretches that stay, are counted from its own first or last point.
    """
    tables: list[list[Work]] = [[]]
    for row in work["offsets"]:
        if row["at"] == "from turn":
            tables.append([])
        tables[-1].append(row)
    if len(tables) == 1:
        return [(work, old)]
    backwards = from_end(work)
    cuts = [0.0]
    for table in tables[1:]:
        told = table[0]["along_mm"]
        told = old.length - told if backwards else told
        cuts.append(min(sharp_places(old), key=lambda place: abs(place - told)))
    cuts = sorted([*cuts, old.length])
    tables = tables[::-1] if backwards else tables
    stays = [(0.0, work["kept_start_mm"]), *work["kept_between_mm"]]
    stays.append((old.length - work["kept_end_mm"], old.length))
    found = []
    for table, (begin, end) in zip(tables, pairwise(cuts), strict=True):
        less = old.length - end if backwards else begin
        rows = [{**row, "along_mm": row["along_mm"] - less} for row in table]
        parts = [(max(a, begin) - begin, min(b, end) - begin) for a, b in stays]
        parts = [(a, b) for a, b in parts if b - a > 1.0]
        kept = {"kept_start_mm": 0.0, "kept_end_mm": 0.0, "kept_between_mm": parts}
        found.append(({**work, **kept, "offsets": rows}, substring(old, begin, end)))
    return found


def sharp_places(line: shapely.LineString) -> list[float]:
    """How far along a line it turns by more than 15 degrees."""
    points = shapely.get_coordinates(line)
    ways = np.diff(points, axis=0)
    turned = [abs(np.degrees(np.angle(complex(*b) / complex(*a)))) for a, b in pairwise(ways)]
    return [
        line.project(shapely.Point(point))
        for point, by in zip(points[1:-1], turned, strict=True)
        if by > 15.0
    ]


def stays_of(work: Work, total: float, unit: str) -> list[tuple[float, float]]:
    """Parts of the old line that stay, as printed."""
    parts = [(0.0, printed(work["kept_start_mm"], unit)), *work["kept_between_mm"]]
    parts.append((total - printed(work["kept_end_mm"], unit), total))
    return [(max(begin, 0.0), min(end, total)) for begin, end in parts if end - begin > 1.0]


Run = tuple[Array, list[str]]
"""Points in order, and what each of them is: "stays" for those of the old line."""


def points_of(work: Work, old: shapely.LineString, unit: str) -> Run:
    """Rows, and the old line where it stays, from start to end."""
    text, rows = work["text"], rows_of(work, old, unit)
    if text.startswith("As it is"):
        return _old(old, 0.0, old.length)
    if "it ends there now" in text:
        kept = printed(max(work["kept_start_mm"], work["kept_end_mm"]), unit)
        starts = work["kept_start_mm"] >= work["kept_end_mm"]
        return _old(old, *((0.0, kept) if starts else (old.length - kept, old.length)))
    if "too close to it to tell apart" in text:
        corners = [(a, p[None], ["corner"]) for a, p, _ in rows]
        begin, end = (min(max(row[0], 0.0), old.length) for row in (rows[0], rows[-1]))
        if len(rows) == 1:  # the other corner did not move
            begin, end = (begin, old.length) if begin < old.length / 2 else (0.0, end)
        parts = [*corners, ((begin + end) / 2, *_old(old, begin, end))]
        parts.sort(key=lambda part: part[0])
        return np.concatenate([p for _, p, _ in parts]), [k for *_, kinds in parts for k in kinds]
    if work["chord"]:
        line = shapely.LineString([rows[0][1], rows[-1][1]])
        within = _chord(work, line, unit)
        points = [rows[0][1], *(point for _, point, _ in within), rows[-1][1]]
        return np.array(points), ["corner", *(kind for *_, kind in within), "corner"]
    stays = stays_of(work, old.length, unit)
    items = [
        (along, (point[None], [kind]))
        for along, point, kind in rows
        if not any(a + 0.2 < along < b - 0.2 for a, b in stays)
    ]
    items += [((a + b) / 2, _old(old, a, b)) for a, b in stays]
    items.sort(key=lambda item: item[0])
    runs = [run for _, run in items]
    return np.concatenate([p for p, _ in runs]), [kind for _, kinds in runs for kind in kinds]


def _old(old: shapely.LineString, begin: float, end: float) -> Run:
    points = shapely.get_coordinates(substring(old, begin, end).segmentize(1.0))
    return points, ["stays"] * len(points)


def ruler(work: Work, old: shapely.LineString, unit: str) -> shapely.LineString:
    """Straight lines from row to row."""
    parts = [points_of(part, base, unit)[0] for part, base in stretches_of(work, old)]
    return shapely.LineString(np.concatenate(parts))


def smooth(work: Work, old: shapely.LineString, unit: str) -> shapely.LineString:
    """One smooth line through the rows, that follows the old line: its offset changes smoothly.

    Broken where the sheet says so, at dart legs and turns; straight where it says that.
    """
    parts = [_smooth(part, base, unit) for part, base in stretches_of(work, old)]
    return shapely.LineString(np.concatenate(parts))


def _smooth(work: Work, old: shapely.LineString, unit: str) -> Array:
    text = work["text"]
    told = text.startswith("As it is") or "it ends there now" in text or "too close to it" in text
    if told or "straight" in text.lower().replace("straight line", ""):
        return points_of(work, old, unit)[0]
    rows = rows_of(work, old, unit)
    base = old
    if work["chord"]:
        base = shapely.LineString([rows[0][1], rows[-1][1]])
        rows = [(0.0, rows[0][1], ""), *_chord(work, base, unit), (base.length, rows[-1][1], "")]
        outs = [0.0, *(printed(r["out_mm"], unit) for r in work["chord"]), 0.0]
    else:
        outs = [printed(r["out_mm"], unit) for r in work["offsets"]]
        outs = outs[::-1] if from_end(work) else outs
    table = [(row[0], out, row[2]) for row, out in zip(rows, outs, strict=True)]
    stays = [] if work["chord"] else stays_of(work, old.length, unit)
    for begin, end in stays:
        table = [row for row in table if not begin + 0.2 < row[0] < end - 0.2]
        for at in (begin, end):
            if min((abs(row[0] - at) for row in table), default=9.0) > 0.3:
                table.append((at, 0.0, "old line"))
    table.sort()
    broken = ("new leg", "old leg", "turn")
    breaks = sorted({0, *(i for i, r in enumerate(table) if r[2] in broken), len(table) - 1})
    parts = []
    for a, b in pairwise(breaks):
        (low, *_), (high, *_) = table[a], table[b]
        parts.append(_offset_smoothly(base, table[a : b + 1]))
        if b == a + 1 and any(s < low + 0.5 and high - 0.5 < e for s, e in stays):
            kept, _ = _old(old, max(low, 0.0), min(high, old.length))
            parts[-1] = np.concatenate([parts[-1][:1], kept, parts[-1][1:]])
    return np.concatenate(parts)


def _chord(work: Work, line: shapely.LineString, unit: str) -> list[tuple[float, Array, str]]:
    return [
        (along, spot(line, along, printed(row["out_mm"], unit)), row["at"])
        for row in work["chord"]
        for along in [printed(row["along_mm"], unit)]
    ]


def _offset_smoothly(base: shapely.LineString, rows: list[tuple[float, float, str]]) -> Array:
    at, out = np.array([row[:2] for row in rows]).T
    if len(at) < 3:
        return np.array([spot(base, a, o) for a, o in zip(at, out, strict=True)])
    curve = PchipInterpolator(at, out)
    places = np.unique(np.concatenate([at, np.arange(at[0], at[-1], 1.0)]))
    return np.array([spot(base, a, float(curve(a))) for a in places])


def apart(first: shapely.LineString, second: shapely.LineString) -> float:
    """Largest distance of a line from another and back, mm."""
    return float(shapely.hausdorff_distance(first.segmentize(0.5), second.segmentize(0.5)))
