"""Sets stripped of their relations and names, and their true relations in the new names."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, Band, PieceInfo, Run, Seam, Span

Side = tuple[str, ...]
SeamKey = frozenset[tuple[Side, Side]]


@dataclass(frozen=True)
class Names:
    """Old names to new ones."""

    pieces: Mapping[str, str]
    edges: Mapping[tuple[str, str], str]
    marks: Mapping[tuple[str, str], str]

    def mark(self, piece: str, name: str) -> str:
        """A landmark; ``EDGE.start`` follows its edge."""
        edge, dot, end = name.rpartition(".")
        if dot:
            return f"{self.edges[piece, edge]}.{end}"
        return name if name in ("start", "end") else self.marks[piece, name]

    def span(self, span: Span) -> Span:
        return Span(
            self.pieces[span.piece],
            self.edges[span.piece, span.edge],
            self.mark(span.piece, span.begin),
            self.mark(span.piece, span.end),
        )

    def run(self, run: Iterable[Span]) -> Run:
        return tuple(self.span(span) for span in run)


def _shuffled(names: Iterable[str], letter: str, chance: random.Random) -> dict[str, str]:
    known = list(names)
    new = [f"{letter}{k + 1}" for k in range(len(known))]
    chance.shuffle(new)
    return dict(zip(known, new, strict=True))


def stripped(
    pattern: PatternSet, seed: int, *, told: bool = True, redrawn: bool = False
) -> tuple[PatternSet, Names]:
    """Take relations and names away.

    Parameters
    ----------
    told : bool
        Keep what a piece says of itself: how often it is cut, fabric, allowances, fold.
    redrawn : bool
        Turn and shift every piece and size, start the outline at another edge, and round
        the points to 0.01 mm, as a file from elsewhere would have them.
    """
    chance = random.Random(seed)
    pieces = _shuffled(pattern.pieces, "p", chance)
    edges, marks = {}, {}
    for name, piece in pattern.pieces.items():
        base = piece.at(pattern.base)
        edges |= {(name, k): v for k, v in _shuffled(base.edge_names, "e", chance).items()}
        listed = [mark.name for mark in base.landmarks]
        marks |= {(name, k): v for k, v in _shuffled(listed, "n", chance).items()}
    names = Names(pieces, edges, marks)
    new = {}
    for name in sorted(pieces, key=lambda old: pieces[old]):
        first = chance.randrange(len(pattern.pieces[name].at(pattern.base).edges))
        nest = {}
        for size in pattern.sizes:
            sized = _renamed(pattern.sized(name, size), name, names)
            if redrawn:
                angle = chance.uniform(-np.pi, np.pi)
                shift = (chance.uniform(-900, 900), chance.uniform(-900, 900))
                sized = _redrawn(sized, angle, shift, first)
            nest[size] = sized
        new[pieces[name]] = Piece(pieces[name], nest)
    info = {new_name: PieceInfo(new_name) for new_name in new}
    if told:
        info |= {pieces[old]: _info(old, value, names) for old, value in pattern.info.items()}
    bare = replace(pattern, name="stranger", pieces=new, info=info, relations=Relations(), chart={})
    return bare, names


def _info(piece: str, info: PieceInfo, names: Names) -> PieceInfo:
    given = info.allowance
    allowance = Allowance(
        given.default,
        {names.edges[piece, edge]: value for edge, value in given.edges.items()},
        frozenset(names.edges[piece, edge] for edge in given.turned),
    )
    fold = None if info.fold is None else names.edges[piece, info.fold]
    return PieceInfo(names.pieces[piece], info.cut, info.pair, info.fabric, allowance, fold)


def _renamed(sized: SizedPiece, piece: str, names: Names) -> SizedPiece:
    edge = {old: new for (owner, old), new in names.edges.items() if owner == piece}
    mark = {old: new for (owner, old), new in names.marks.items() if owner == piece}
    return SizedPiece(
        tuple(Edge(edge[one.name], one.points, one.turns) for one in sized.edges),
        sized.grain,
        tuple(
            Landmark(mark[one.name], edge[one.edge], one.point, one.kind)
            for one in sorted(sized.landmarks, key=lambda one: mark[one.name])
        ),
        tuple(
            Dart(f"d{k}", edge[one.edge], (mark[one.legs[0]], mark[one.legs[1]]), one.tip)
            for k, one in enumerate(sized.darts)
        ),
        tuple(InternalLine(f"l{k}", one.points) for k, one in enumerate(sized.lines)),
        tuple(Mark(f"m{k}", one.point) for k, one in enumerate(sized.drills)),
        sized.levels,
    )


def _redrawn(sized: SizedPiece, angle: float, shift: tuple[float, float], first: int) -> SizedPiece:
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def moved(points: object) -> np.ndarray:
        return np.round(np.asarray(points) @ turn.T + shift, 2)

    def point(given: tuple[float, float]) -> tuple[float, float]:
        x, y = moved(given)
        return float(x), float(y)

    edges = [replace(edge, points=frozen_points(moved(edge.points))) for edge in sized.edges]
    return SizedPiece(
        tuple(edges[first:] + edges[:first]),
        Grain(point(sized.grain.start), point(sized.grain.end)),
        tuple(replace(mark, point=point(mark.point)) for mark in sized.landmarks),
        tuple(replace(dart, tip=point(dart.tip)) for dart in sized.darts),
        tuple(replace(line, points=frozen_points(moved(line.points))) for line in sized.lines),
        tuple(replace(mark, point=point(mark.point)) for mark in sized.drills),
        {name: point(at) for name, at in sized.levels.items()},
    )


# -------------------------------------------------------------------------- comparing


def _way(lead: Run, follow: Run, back: bool) -> tuple[Side, Side]:
    return _side(lead, back), _side(follow, back)


def _side(run: Run, back: bool) -> Side:
    if not back:
        return tuple(str(span) for span in run)
    return tuple(str(replace(s, begin=s.end, end=s.begin)) for s in reversed(run))


def seam_key(seam: Seam) -> SeamKey:
    """The same for a seam written from either end and with either lead."""
    ways = [_way(seam.lead, seam.follow, back) for back in (False, True)]
    return frozenset([*ways, *((b, a) for a, b in ways)])


def band_key(band: Band) -> tuple[object, ...]:
    zones = tuple((z.begin, z.end, _side(z.run, False), round(z.ease, 1)) for z in band.zones)
    return band.piece, band.sewn, band.far, zones
