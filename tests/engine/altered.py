"""Sets that say the same in another way: other frames, other first edges, other sides up."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, replace

import numpy as np

from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, InternalLine, Label, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span

Place = Callable[[np.ndarray], np.ndarray]


def turn_and_shift(angle: float, dx: float, dy: float) -> Place:
    """The map of points that turns about the origin and shifts."""
    rotation = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return lambda points: np.asarray(points, float) @ rotation + np.array([dx, dy])


def undo(angle: float, dx: float, dy: float) -> Place:
    """The map that takes points back."""
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return lambda points: (np.asarray(points, float) - np.array([dx, dy])) @ rotation


def _pair(place: Place, point: tuple[float, float]) -> tuple[float, float]:
    x, y = place(np.array(point))
    return float(x), float(y)


def drawn_at(sized: SizedPiece, place: Place, *, mirrored: bool = False) -> SizedPiece:
    """The piece drawn in another frame; a mirrored one runs the other way round."""
    edges = []
    for edge in sized.edges:
        points = place(edge.points)
        turns = edge.turns
        if mirrored:
            points = points[::-1]
            turns = tuple(len(points) - 1 - turn for turn in reversed(turns))
        edges.append(Edge(edge.name, points, turns))
    if mirrored:
        edges.reverse()
    label = sized.label
    return replace(
        sized,
        edges=_closed(edges),
        grain=Grain(_pair(place, sized.grain.start), _pair(place, sized.grain.end)),
        landmarks=tuple(replace(m, point=_pair(place, m.point)) for m in sized.landmarks),
        darts=tuple(replace(d, tip=_pair(place, d.tip)) for d in sized.darts),
        lines=tuple(InternalLine(line.name, place(line.points)) for line in sized.lines),
        drills=tuple(replace(m, point=_pair(place, m.point)) for m in sized.drills),
        levels={name: _pair(place, point) for name, point in sized.levels.items()},
        label=None if label is None else Label(_pair(place, label.point), label.angle),
    )


def _closed(edges: list[Edge]) -> tuple[Edge, ...]:
    """Neighbours share their corner in every digit, whatever the product of rounding."""
    out = []
    for before, edge in zip([edges[-1], *edges[:-1]], edges, strict=True):
        points = np.array(edge.points)
        points[0] = before.points[-1]
        out.append(Edge(edge.name, points, edge.turns))
    return tuple(out)


def in_other_frames(
    pattern: PatternSet, frames: Mapping[tuple[str, str], tuple[float, float, float]]
) -> PatternSet:
    """Every (piece, size) that is named gets a frame of its own."""
    pieces = {}
    for name, piece in pattern.pieces.items():
        nest = {
            size: drawn_at(sized, turn_and_shift(*frames[(name, size)]))
            if (name, size) in frames
            else sized
            for size, sized in piece.nest.items()
        }
        pieces[name] = Piece(name, nest)
    return replace(pattern, pieces=pieces)


def with_other_first_edge(pattern: PatternSet, shifts: Mapping[str, int]) -> PatternSet:
    """Another edge comes first in a piece, in every size."""
    pieces = {}
    for name, piece in pattern.pieces.items():
        shift = shifts.get(name, 0)
        nest = {
            size: replace(sized, edges=sized.edges[shift:] + sized.edges[:shift])
            for size, sized in piece.nest.items()
        }
        pieces[name] = Piece(name, nest)
    return replace(pattern, pieces=pieces)


def turned_over(pattern: PatternSet, layer: str) -> PatternSet:
    """A layer of a pocket is drawn mirrored, and the relations say so."""
    nest = {
        size: drawn_at(sized, lambda points: np.asarray(points) * (-1.0, 1.0), mirrored=True)
        for size, sized in pattern.pieces[layer].nest.items()
    }
    relations = pattern.relations
    stacks = {
        name: replace(
            stack,
            layers=tuple(
                replace(
                    item,
                    face_down=not item.face_down,
                    put=tuple((_other_end(own), theirs) for own, theirs in item.put),
                )
                if item.piece == layer
                else item
                for item in stack.layers
            ),
        )
        for name, stack in relations.stacks.items()
    }
    assemblies = {
        name: replace(
            assembly,
            parts=tuple(
                replace(
                    part,
                    face_down=not part.face_down,
                    put=tuple((_other_end(own), theirs) for own, theirs in part.put),
                )
                if part.piece == layer
                else part
                for part in assembly.parts
            ),
            edges={edge: _run(run, layer) for edge, run in assembly.edges.items()},
        )
        for name, assembly in relations.assemblies.items()
    }
    seams = {
        name: replace(seam, lead=_run(seam.lead, layer), follow=_run(seam.follow, layer))
        for name, seam in relations.seams.items()
    }
    bands = {
        name: replace(
            band, zones=tuple(replace(zone, run=_run(zone.run, layer)) for zone in band.zones)
        )
        for name, band in relations.bands.items()
    }
    girths = {
        name: replace(girth, runs=tuple(_run(run, layer) for run in girth.runs))
        for name, girth in relations.girths.items()
    }
    info = dict(pattern.info)
    anchors = {mark: _other_end(end) for mark, end in info[layer].anchors.items()}
    info[layer] = replace(info[layer], anchors=anchors)
    return replace(
        pattern,
        pieces={**pattern.pieces, layer: Piece(layer, nest)},
        info=info,
        relations=replace(
            relations,
            stacks=stacks,
            assemblies=assemblies,
            seams=seams,
            bands=bands,
            girths=girths,
        ),
    )


def _other_end(name: str) -> str:
    """``mouth.start`` becomes ``mouth.end``; landmarks keep their names."""
    edge, dot, end = name.rpartition(".")
    swapped = {"start": "end", "end": "start"}.get(end, end)
    return f"{edge}{dot}{swapped}"


def _run(run: Run, piece: str) -> Run:
    """The run with every span of a piece read from the other end of its edge."""
    swap = {"start": "end", "end": "start"}
    return tuple(
        Span(s.piece, s.edge, swap.get(s.begin, s.begin), swap.get(s.end, s.end))
        if s.piece == piece
        else s
        for s in run
    )


def in_other_order(pattern: PatternSet, rng: np.random.Generator) -> PatternSet:
    """Pieces and relations listed in another order."""

    def shuffled(mapping: Mapping) -> dict:
        names = list(mapping)
        rng.shuffle(names)
        return {name: mapping[name] for name in names}

    relations = pattern.relations
    groups = {group.name: getattr(relations, group.name) for group in fields(relations)}
    new = replace(
        relations,
        **{name: shuffled(group) for name, group in groups.items() if isinstance(group, Mapping)},
    )
    return replace(
        pattern,
        pieces=shuffled(pattern.pieces),
        info=shuffled(pattern.info),
        relations=new,
        chart=shuffled(pattern.chart),
    )
