"""Compose one piece: its lines and marks, and what became of it; the grain upwards.

This is the only place that says how a piece is drawn.  A picture, a printed piece, the work
sheet and the page take the same items, and leave out the roles that they do not show.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Collection
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import CutLine, allowances
from propagate.engine.main_sides import two_sided_mains
from propagate.engine.record import PieceChange, Record
from propagate.geometry.crossing import line_crossings
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import between, length, point_at
from propagate.pattern.model import Edge, Label, Landmark, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Span
from propagate.report.scene.items import Dot, Item, Role, Scene, areas_of, arrow_head, make_line

__all__ = [
    "NOTCH_MM",
    "changed_areas",
    "compose_changed",
    "compose_piece",
    "drill_mark",
    "grain_up",
    "laid_on_base",
    "moved_piece",
    "outward_at",
    "piece_before",
    "shown_changes",
]

Array = npt.NDArray[np.float64]

NOTCH_MM = 6.0
"""Notches that no cut line ends, and no allowance makes shorter."""
_DOUBLE_MM = 6.0
"""Ticks of a double notch are a quarter inch apart (common practice, no source)."""
_SLIVER_MM = 0.04
"""Thinner areas come from rounding."""
_SMALLEST_MM2 = 0.5


def grain_up(piece: SizedPiece) -> Motion:
    """Return the motion that turns a piece so that its grain points upwards."""
    return Motion(1j / complex(*piece.grain.direction))


def compose_piece(
    piece: SizedPiece,
    info: PieceInfo,
    *,
    cut: CutLine | None = None,
    before: SizedPiece | None = None,
    same: Collection[str] = (),
    series: int | None = None,
    page_mm: float = 1.0,
) -> Scene:
    """Compose everything of a piece but its texts.

    Parameters
    ----------
    piece : SizedPiece
        In the frame in which it is to be drawn.
    cut : CutLine or None
        Its cut line; None draws none.
    before : SizedPiece or None
        The piece as it was, in the same frame.
    same : collection of str
        Edges that did not change.
    series : int or None
        Which size of a nest it is.
    page_mm : float
        How many mm of the piece 1 mm on the page is: marks keep their size on the page.
    """
    items: list[Item] = [*areas_of(Role.FACE, shapely.Polygon(piece.outline))]
    if before is not None:
        items += _changed_items(before, piece, same)
    items += _level_lines(piece)
    if cut is not None and any(allowances(piece, info).values()):
        items.append(make_line(Role.CUT, cut.points, closed=True, series=series))
    items += [make_line(Role.INNER, i.points, i.name, series=series) for i in piece.lines]
    for dart in piece.darts:
        first, second = (piece.landmark(leg).point for leg in dart.legs)
        items.append(make_line(Role.DART, [first, dart.tip, second], dart.name, series=series))
    items += _fold_bracket(piece, info.fold, page_mm)
    items += _grain_arrow(piece, page_mm)
    for edge in piece.edges:
        length_mm = f"{edge.length:.4f}"
        items.append(
            make_line(Role.SEAM, edge.points, edge.name, series=series, length_mm=length_mm)
        )
    items += [item for drill in piece.drills for item in drill_mark(drill.point, page_mm)]
    items += _edge_marks(piece, info, cut, page_mm)
    return Scene(tuple(items))


def compose_changed(
    piece: SizedPiece,
    info: PieceInfo,
    change: PieceChange,
    *,
    cut: CutLine | None = None,
    page_mm: float = 1.0,
) -> Scene:
    """Compose a piece with what it was before; see `compose_piece`."""
    before = piece_before(piece, change)
    same = frozenset(edge.edge for edge in change.edges if edge.status == "same")
    return compose_piece(piece, info, cut=cut, before=before, same=same, page_mm=page_mm)


def outward_at(piece: SizedPiece, mark: Landmark) -> Array:
    """Return unit vector (2,) square to the edge at a landmark, away from the piece."""
    edge = piece.edge(mark.edge)
    at = piece.distance(mark.edge, mark.name)
    part = between(edge.points, max(at - 1.0, 0.0), min(at + 1.0, edge.length))
    along = part[-1] - part[0]
    return np.asarray(np.array([along[1], -along[0]]) / math.hypot(*along))


def _level_lines(piece: SizedPiece) -> list[Item]:
    """Return levels where they lie inside the piece, from left to right."""
    grain = piece.grain.direction
    across = np.array([grain[1], -grain[0]])
    outline = shapely.make_valid(shapely.Polygon(piece.outline))
    found: list[Item] = []
    for name, point in piece.levels.items():
        ends = np.asarray(point) + across * 1e4, np.asarray(point) - across * 1e4
        for part in shapely.get_parts(outline.intersection(shapely.LineString(ends))):
            if part.geom_type == "LineString" and part.length >= 5.0:
                points = sorted(part.coords, key=lambda xy: (xy[0], xy[1]))
                found.append(make_line(Role.LEVEL, points, name))
    return found


def drill_mark(point: tuple[float, float], page_mm: float) -> list[Item]:
    """Return A circle and a cross at a point; 2.5 mm to each side on the page."""
    x, y = point
    arm = 2.5 * page_mm
    cross = [[(x - arm, y), (x + arm, y)], [(x, y - arm), (x, y + arm)]]
    return [
        Dot(Role.DRILL, np.array(point), 1.5 * page_mm),
        *(make_line(Role.DRILL, ends) for ends in cross),
    ]


def _grain_arrow(piece: SizedPiece, page_mm: float) -> list[Item]:
    """Return the grain line with a head at both ends."""
    start, end = np.array(piece.grain.start), np.array(piece.grain.end)
    size = math.dist(start, end)
    along = (end - start) / size
    head = min(5.0 * page_mm, size / 4)
    return [
        make_line(Role.GRAIN, [start, end]),
        arrow_head(Role.GRAIN, start, -along, head),
        arrow_head(Role.GRAIN, end, along, head),
    ]


def _fold_bracket(piece: SizedPiece, fold: str | None, page_mm: float) -> list[Item]:
    """Return A bracket inside the piece whose arrows point to the fold of the cloth."""
    if fold is None or fold not in piece.edge_names:
        return []
    points = piece.edge(fold).points
    total = length(points)
    reach, depth = min(0.32 * total, 120.0 * page_mm), min(14.0 * page_mm, total / 6)
    ends = [point_at(points, total / 2 - reach), point_at(points, total / 2 + reach)]
    along = (ends[1] - ends[0]) / math.dist(*ends)
    inward = np.array([-along[1], along[0]])
    feet = [end + inward * depth for end in ends]
    head = min(4.0 * page_mm, depth / 2)
    return [
        make_line(Role.FOLD, [ends[0], feet[0], feet[1], ends[1]], fold),
        *(arrow_head(Role.FOLD, end, -inward, head) for end in ends),
    ]


def _edge_marks(
    piece: SizedPiece, info: PieceInfo, cut: CutLine | None, page_mm: float
) -> list[Item]:
    """Return notches as ticks from the seam line to the cut line, other landmarks as dots."""
    widths = allowances(piece, info)
    ring = None if cut is None else shapely.LinearRing(cut.points)
    found: list[Item] = []
    for mark in piece.landmarks:
        point = np.asarray(mark.point)
        if mark.kind == "notch":
            width = widths[mark.edge]
            short = min(max(width, NOTCH_MM / 2), NOTCH_MM) * page_mm
            outward = outward_at(piece, mark)
            aside = np.array([-outward[1], outward[0]]) * _DOUBLE_MM * page_mm / 2
            double = mark.name in info.double_notches
            for foot in (point - aside, point + aside) if double else (point,):
                long = short
                if ring is not None and width:
                    most = foot + outward * 3.0 * width
                    met = ring.intersection(shapely.LineString([foot, most]))
                    long = short if met.is_empty else float(shapely.Point(foot).distance(met))
                found.append(make_line(Role.NOTCH, [foot, foot + outward * long], mark.name))
        elif mark.kind != "dart leg":
            found.append(Dot(Role.LANDMARK, point, 1.2 * page_mm, name=mark.name))
    return found


def shown_changes(record: Record) -> dict[str, PieceChange]:
    """Tell what became of each piece of which there is something to show."""
    return {c.piece: c for c in record.pieces if c.status != "same" and c.before}


def piece_before(piece: SizedPiece, change: PieceChange) -> SizedPiece:
    """Make a piece of the old outline, in the frame of the new one.

    The record keeps the points alone; an edge that has as many points as before turns at the
    same ones.
    """
    now = {edge.name: edge for edge in piece.edges}
    edges = []
    for name, points in change.before.items():
        twin = now.get(name)
        alike = twin is not None and len(twin.points) == len(points)
        edges.append(Edge(name, points, twin.turns if twin is not None and alike else ()))
    return SizedPiece(tuple(edges), piece.grain)


def changed_areas(before: SizedPiece, now: SizedPiece) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Return paper to tape on and paper to trim, without the slivers that rounding leaves."""
    old, new = (shapely.make_valid(shapely.Polygon(p.outline)) for p in (before, now))
    return _worth_showing(new.difference(old)), _worth_showing(old.difference(new))


def _worth_showing(area: shapely.Geometry) -> shapely.Geometry:
    opened = area.buffer(-_SLIVER_MM).buffer(_SLIVER_MM, join_style="mitre").intersection(area)
    parts = [p for p in shapely.get_parts(opened) if p.geom_type == "Polygon"]
    return shapely.MultiPolygon([p for p in parts if p.area >= _SMALLEST_MM2])


def _changed_items(before: SizedPiece, now: SizedPiece, same: Collection[str]) -> list[Item]:
    """Make areas to tape on and to trim, and the seam line before where it lies off the new one.

    `same` names the edges that stayed as they were.
    """
    added, trimmed = changed_areas(before, now)
    found: list[Item] = [*areas_of(Role.TAPE_ON, added), *areas_of(Role.TRIM, trimmed)]
    kept = shapely.LinearRing(now.outline).buffer(_SLIVER_MM)
    for edge in before.edges:
        if edge.name in same:
            continue
        parts = shapely.get_parts(shapely.LineString(edge.points).difference(kept))
        found += [
            make_line(Role.BEFORE, part.coords, edge.name) for part in parts if not part.is_empty
        ]
    return found


def moved_piece(piece: SizedPiece, motion: Motion) -> SizedPiece:
    """Move everything on a piece by a rigid motion that does not turn it face down."""

    def point(given: tuple[float, float]) -> tuple[float, float]:
        x, y = motion.apply(given).tolist()
        return x, y

    label = piece.label
    if label is not None:
        angle = label.angle + math.degrees(cmath.phase(motion.turn))
        label = Label(point(label.point), angle)
    return SizedPiece(
        edges=tuple(
            Edge(edge.name, frozen_points(motion.apply(edge.points)), edge.turns)
            for edge in piece.edges
        ),
        grain=replace(piece.grain, start=point(piece.grain.start), end=point(piece.grain.end)),
        landmarks=tuple(replace(mark, point=point(mark.point)) for mark in piece.landmarks),
        darts=tuple(replace(dart, tip=point(dart.tip)) for dart in piece.darts),
        lines=tuple(
            replace(line, points=frozen_points(motion.apply(line.points))) for line in piece.lines
        ),
        drills=tuple(replace(drill, point=point(drill.point)) for drill in piece.drills),
        levels={name: point(place) for name, place in piece.levels.items()},
        label=label,
    )


def laid_on_base(pattern: PatternSet, name: str, size: str) -> Motion:
    """Return motion that lays a size on the base size: grain parallel, place on place."""
    piece, base = pattern.sized(name, size), pattern.sized(name, pattern.base)
    turn = complex(*base.grain.direction) / complex(*piece.grain.direction)
    turned = Motion(turn / abs(turn))
    shift = _place_of_size(pattern, name, base) - turned.apply(_place_of_size(pattern, name, piece))
    return Motion(turned.turn, complex(*shift))


def _place_of_size(pattern: PatternSet, name: str, piece: SizedPiece) -> Array:
    """Return the place of a size that is laid on its twin.

    The height is the lay level's.  Across the grain it is where the centre edge of a main
    crosses its hold, else the level's own point.  A piece without the level is laid on
    its first corner.
    """
    if pattern.lay_on not in piece.levels:
        return np.asarray(piece.edges[0].points[0])
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    level = np.asarray(piece.levels[pattern.lay_on])
    centre = _centre_at_hold(pattern, name, piece)
    beside = level if centre is None else centre
    return np.asarray(grain * (level @ grain) + across * (beside @ across))


def _centre_at_hold(pattern: PatternSet, name: str, piece: SizedPiece) -> Array | None:
    """Tell where the centre edge of a main crosses the level of its hold; None elsewhere."""
    plan, assemblies = pattern.relations.blend, pattern.relations.assemblies
    middles = two_sided_mains(pattern, plan) if plan else frozenset()
    for main in plan.mains if plan else ():
        if main.silhouette in middles:
            continue
        assembly = assemblies.get(main.silhouette)
        run = assembly.edges[main.centre] if assembly else (Span(name, main.centre),)
        lead = assembly.lead if assembly else main.silhouette
        if lead != name or main.centre_hold not in piece.levels:
            continue
        points = piece.edge(run[0].edge).points
        grain = piece.grain.direction
        across = np.array([-grain[1], grain[0]])
        hits = line_crossings(points, np.asarray(piece.levels[main.centre_hold]), across)
        if len(hits):
            return point_at(points, float(hits[0]))
    return None
