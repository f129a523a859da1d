"""Sets as drawings from elsewhere are: without notches, coarse, drawn twice, from cut lines."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace

import numpy as np
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from propagate.pattern.model import Edge, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, Span
from propagate.pattern.spans import span_points
from tests.suggesting.strangers import Names, stripped

Roughened = tuple[PatternSet, Names, Mapping[str, str]]
"""A stripped set, the new names, and which ``PIECE.EDGE`` is which one again."""
CUT_MM, FAR_MM = 10.0, 5.0


def _each(pattern: PatternSet, change: Callable[[SizedPiece], SizedPiece]) -> PatternSet:
    pieces = {
        name: Piece(name, {size: change(sized) for size, sized in piece.nest.items()})
        for name, piece in pattern.pieces.items()
    }
    return replace(pattern, pieces=pieces)


def _without_marks(sized: SizedPiece) -> SizedPiece:
    kept = tuple(mark for mark in sized.landmarks if mark.kind == "dart leg")
    return replace(sized, landmarks=kept, lines=(), drills=(), levels={})


def _coarse(sized: SizedPiece) -> SizedPiece:
    """Curves in chords 0.1 mm off at most, every point on a grid of 0.1 mm."""
    folded = {dart.edge for dart in sized.darts}
    edges = []
    for edge in sized.edges:
        points = edge.points
        if edge.name not in folded:
            points = np.array(LineString(points).simplify(0.1).coords)
        edges.append(Edge(edge.name, np.round(points, 1)))
    marks = tuple(replace(mark, point=_rounded(mark.point)) for mark in sized.landmarks)
    darts = tuple(replace(dart, tip=_rounded(dart.tip)) for dart in sized.darts)
    return replace(sized, edges=tuple(edges), landmarks=marks, darts=darts)


def _rounded(point: tuple[float, float]) -> tuple[float, float]:
    return round(point[0], 1), round(point[1], 1)


def _through_cut_line(sized: SizedPiece) -> SizedPiece:
    """The seam line that is found inside the cut line round a piece without darts."""
    if sized.darts:
        return sized
    ring = Polygon(sized.outline)
    for width in (CUT_MM, -CUT_MM):
        ring = ring.buffer(width, join_style="mitre", mitre_limit=20.0)
    seam = np.array(orient(ring).exterior.coords)[:-1]
    gaps = [np.hypot(*(seam - edge.points[0]).T) for edge in sized.edges]
    at = [int(gap.argmin()) for gap in gaps]
    if max(float(gap.min()) for gap in gaps) > FAR_MM or len(set(at)) < len(at):
        return sized  # as narrow as the allowance
    edges = []
    for k, edge in enumerate(sized.edges):
        a, b = at[k], at[(k + 1) % len(at)]
        points = seam[a : b + 1] if a < b else np.concatenate([seam[a:], seam[: b + 1]])
        edges.append(Edge(edge.name, points))
    return replace(sized, edges=tuple(edges))


def _drawn_twice(pattern: PatternSet, seed: int) -> tuple[PatternSet, dict[str, str]]:
    """The set with one of its sewn pieces drawn once more, mirrored and turned."""
    chance = random.Random(seed)
    sewn = sorted({span.piece for seam in pattern.relations.seams.values() for span in seam.lead})
    twice = sewn[chance.randrange(len(sewn))] if sewn else sorted(pattern.pieces)[0]
    name = f"{twice}_again"

    def mirrored(sized: SizedPiece) -> SizedPiece:
        def flip(point: tuple[float, float]) -> tuple[float, float]:
            return -point[0], point[1]

        edges = tuple(
            Edge(edge.name, edge.points[::-1] * [-1.0, 1.0]) for edge in reversed(sized.edges)
        )
        grain = replace(sized.grain, start=flip(sized.grain.start), end=flip(sized.grain.end))
        return SizedPiece(
            edges,
            grain,
            tuple(replace(m, point=flip(m.point)) for m in sized.landmarks),
            tuple(replace(d, tip=flip(d.tip), legs=d.legs[::-1]) for d in sized.darts),
        )

    nest = {size: mirrored(sized) for size, sized in pattern.pieces[twice].nest.items()}
    pieces = {**pattern.pieces, name: Piece(name, nest)}
    info = {**pattern.info, name: PieceInfo(name)}
    return replace(pattern, pieces=pieces, info=info), {name: twice}


def marked(pattern: PatternSet, seed: int) -> Roughened:
    """Names and relations away; notches and marks stay."""
    return (*stripped(pattern, seed, told=False, redrawn=True), {})


def bare(pattern: PatternSet, seed: int) -> Roughened:
    """Seam lines alone."""
    return (*stripped(_each(pattern, _without_marks), seed, told=False, redrawn=True), {})


def coarse(pattern: PatternSet, seed: int) -> Roughened:
    """Seam lines alone, in chords and on a grid of 0.1 mm."""
    found, names = stripped(_each(pattern, _without_marks), seed, told=False, redrawn=True)
    return _each(found, _coarse), names, {}


def twice(pattern: PatternSet, seed: int) -> Roughened:
    """Seam lines alone, and one piece drawn a second time, mirrored."""
    more, copies = _drawn_twice(_each(pattern, _without_marks), seed)
    found, names = stripped(more, seed, told=False, redrawn=True)
    again = {
        f"{names.pieces[piece]}.{new}": str(names.span(Span(copies[piece], old)))
        for (piece, old), new in names.edges.items()
        if piece in copies
    }
    return found, names, again


def from_cut_lines(pattern: PatternSet, seed: int) -> Roughened:
    """Seam lines that were found inside cut lines."""
    found, names = stripped(_each(pattern, _without_marks), seed, told=False, redrawn=True)
    return _each(found, _through_cut_line), names, {}


WAYS: Mapping[str, Callable[[PatternSet, int], Roughened]] = {
    "marked": marked,
    "bare": bare,
    "coarse": coarse,
    "twice": twice,
    "cut": from_cut_lines,
}


def kept(pattern: PatternSet, names: Names) -> PatternSet:
    """The set with those of its relations alone whose landmarks are left."""
    said = pattern.relations

    def there(spans: Iterable[Span]) -> bool:
        ends = {(span.piece, end) for span in spans for end in (span.begin, span.end)}
        return all(end in ("start", "end") or (piece, end) in names.marks for piece, end in ends)

    seams = {k: v for k, v in said.seams.items() if there((*v.lead, *v.follow))}
    bands = {
        k: v
        for k, v in said.bands.items()
        if there(span for zone in v.zones for span in zone.run)
        and all(
            end in ("start", "end") or (v.piece, end) in names.marks
            for zone in v.zones
            for end in (zone.begin, zone.end)
        )
    }
    for name, band in said.bands.items():
        # A band without the notches of its zones is a seam.
        run = tuple(span for zone in band.zones for span in zone.run)
        if name not in bands and all(zone.run for zone in band.zones) and there(run):
            seams[name] = Seam(name, run, (Span(band.piece, band.sewn),))
    taped = {
        k: v
        for k, v in said.assemblies.items()
        if there(span for run in v.edges.values() for span in run)
    }
    openings = {k: v for k, v in said.openings.items() if v.silhouette in taped}
    stacks = {
        k: v
        for k, v in said.stacks.items()
        if v.opening in openings
        and all(
            "." in own or (layer.piece, own) in names.marks
            for layer in v.layers
            for own, _ in layer.put
        )
    }
    mouths = {
        k: v
        for k, v in said.seam_openings.items()
        if there(span for side in v.sides for span in side)
    }
    relations = Relations(
        seams=seams,
        bands=bands,
        assemblies=taped,
        openings=openings,
        stacks=stacks,
        seam_openings=mouths,
    )
    return replace(pattern, relations=relations)


def layers(pattern: PatternSet, names: Names) -> tuple[Seam, ...]:
    """A pocket's layer is sewn to the main piece along its opening, whatever its set calls that."""
    found = []
    for stack in pattern.relations.stacks.values():
        opening = pattern.relations.openings[stack.opening]
        for layer in stack.layers:
            if layer.mouth is not None:
                back = dict(layer.put).get(f"{layer.mouth}.end") == f"{opening.edge}.start"
                ends = ("end", "start") if back else ("start", "end")
                lead = names.run((Span(opening.piece, opening.edge),))
                found.append(Seam("", lead, names.run((Span(layer.piece, layer.mouth, *ends),))))
    return (*found, *_bags(pattern, names))


def _bags(pattern: PatternSet, names: Names) -> Iterator[Seam]:
    """A bag that is derived from a side between two marks is sewn to it there."""
    for one in pattern.relations.derived.values():
        for edge in one.edges:
            if edge.start is None or edge.end is None or edge.on is None:
                continue
            side = Span(one.of, edge.on, edge.start, edge.end)
            downward = []
            for span in (side, Span(one.piece, edge.edge)):
                sized = pattern.sized(span.piece, pattern.base)
                points = span_points(sized, span)
                downward.append(float((points[0] - points[-1]) @ np.array(sized.grain.direction)))
            # The grain of both points the same way.
            ends = ("start", "end") if downward[0] * downward[1] > 0 else ("end", "start")
            lead, follow = (side,), (Span(one.piece, edge.edge, *ends),)
            if {(s.piece, m) for s in lead for m in (s.begin, s.end)} <= names.marks.keys():
                yield Seam("", names.run(lead), names.run(follow))
