"""Blend sizes by level where a set says nothing of sides and centres: tops, dresses, any garment.

Every level is given a size.  At a level, and beyond the outermost one, a piece is that size;
between two levels it goes smoothly from the one to the other, every point straight from its
like in the one size to its like in the other.  So both sides of a seam go alike, and what is
left of a difference is matched.  A piece without a level (a sleeve, a collar) is taken in the
size that what it is sewn to has there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

import numpy as np

from propagate.engine.compare import drawn_changes
from propagate.engine.edits.level_laying import LaidSizes, lay_sizes, level_changes, with_places
from propagate.engine.edits.size_between import with_sizes_asked
from propagate.engine.job import Drawn, Given, Job
from propagate.engine.marks_on_lines import nearest_place, put_mark, put_mark_at
from propagate.engine.record import Notice
from propagate.engine.reshape import rounded, share_corners
from propagate.errors import EditError, UnknownName
from propagate.geometry.correspond import match_lines
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.polyline import arc_lengths, as_pair, points_at
from propagate.pattern.model import Array, Dart, Edge, InternalLine, Mark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["BlendLevels"]


@dataclass(frozen=True)
class BlendLevels:
    """The edit: a size for each level, on a set without a blend plan.

    Attributes
    ----------
    sizes : mapping of level name to size name
        At least one level; what lies between two goes from one size to the other.  A size may
        lie between two of the nest, as in a `Blend`.
    follow : "shape" or "length"
        What is left of a difference across a seam: the follower takes the lead's shape, or
        its length alone.
    """

    sizes: Mapping[str, str]
    follow: Literal["shape", "length"] = "length"

    def job(self, pattern: PatternSet) -> Job:
        """Check levels and sizes; raises EditError, UnknownName."""
        if not self.sizes:
            raise EditError(
                f"set '{pattern.name}': found no level with a size, expected one at least, such "
                "as bust=40"
            )
        known = sorted(
            {level for piece in pattern.pieces.values() for level in piece.at(pattern.base).levels}
        )
        for level in self.sizes:
            if level not in known:
                raise UnknownName("level", level, known, f"set '{pattern.name}'")
        if pattern.relations.openings:
            names = ", ".join(f"'{name}'" for name in pattern.relations.openings)
            raise EditError(
                f"set '{pattern.name}': found opening {names}, which goes with the "
                "silhouettes of a blend plan; add a [blend] section to set.toml (see the page "
                "on the set format)"
            )
        pattern, called, made = with_sizes_asked(pattern, self.sizes.values())
        levels = {level: called[size] for level, size in self.sizes.items()}
        size = levels.get(pattern.lay_on, next(iter(levels.values())))
        return Job(
            with_places(pattern, levels, size),
            "/".join(dict.fromkeys(levels.values())),
            size,
            size,
            levels=levels,
            follow=self.follow,
            made=made,
        )

    def draw(self, job: Job) -> Drawn:
        """Draw every piece that has a level; raises EditError when sizes cannot be laid."""
        laid = {
            name: lay_sizes(job.pattern, name, job.levels, job.size) for name in job.pattern.pieces
        }
        given = {name: _draw_piece(job, name, one) for name, one in laid.items() if one.levels}
        notices = [
            Notice(
                name,
                "no centre lies on the grain, so the sizes were laid over each other by the middle "
                "of their width",
                "look whether that is how they nest, and if they nest by an edge instead, draw "
                "the blend by hand with each size laid by that edge",
            )
            for name, one in laid.items()
            if one.levels and not one.by_centre
        ]
        given = {n: piece for n, piece in given.items() if piece != job.pattern.sized(n, job.size)}
        said = ", ".join(f"{level} {size}" for level, size in job.levels.items())
        text = f"blended by level: {said}"
        return Drawn(
            said=f"blend of sizes by level: {said}",
            words={
                "kind": "blend",
                "sizes": dict(job.levels),
                "pieces": sorted(given),
                "follow": self.follow,
            },
            changes=(
                *(
                    change
                    for name in sorted(given)
                    for change in drawn_changes(
                        name, job.pattern.sized(name, job.size), given[name], text
                    )
                ),
                *level_changes(job),
            ),
            given=Given(given, loose=frozenset(given), placed=frozenset(given)),
            girth_sizes={
                name: job.at(girth.level if girth.level is not None else girth.chart)
                for name, girth in job.pattern.relations.girths.items()
            },
            notices=tuple(notices),
        )


def _draw_piece(job: Job, name: str, laid: LaidSizes) -> SizedPiece:
    base = job.pattern.sized(name, job.size)
    grain = base.grain.direction
    size = laid.whole(base.outline @ grain)
    if size is not None and not laid.pieces[size][1].any():
        return laid.pieces[size][0]

    named = {size: _list_points(piece) for size, (piece, _) in laid.pieces.items()}

    def put(point: tuple[float, float], kind: str, name: str) -> tuple[float, float]:
        # where it lies, given its likes in every size
        likes = {size: points.get((kind, name), point) for size, points in named.items()}
        shares = laid.shares(np.array([float(np.dot(point, grain))]))
        found = (
            float(share[0]) * (np.asarray(likes[size]) + laid.pieces[size][1])
            for size, share in shares.items()
        )
        return as_pair(rounded(sum(found)))

    edges = share_corners([_draw_edge(laid, base, edge, grain) for edge in base.edges], base.edges)
    new = replace(
        base,
        edges=edges,
        darts=tuple(replace(d, tip=put(d.tip, "dart", d.name)) for d in base.darts),
        lines=tuple(_draw_line(laid, line, grain) for line in base.lines),
        drills=tuple(Mark(m.name, put(m.point, "drill", m.name)) for m in base.drills),
        levels={level: put(at, "level", level) for level, at in base.levels.items()},
    )
    marks = []
    for mark in base.landmarks:
        edge, size = new.edge(mark.edge), laid.whole(base.edge(mark.edge).points @ grain)
        if size is not None and not laid.pieces[size][1].any():
            marks.append(put_mark_at(mark, named[size]["mark", mark.name]))
        else:
            at = nearest_place(edge, put(mark.point, "mark", mark.name))
            marks.append(put_mark(mark, edge, at))
    new = replace(new, landmarks=tuple(marks))
    return replace(new, darts=tuple(_put_tip(laid, base, new, dart, grain) for dart in new.darts))


def _put_tip(laid: LaidSizes, base: SizedPiece, new: SizedPiece, dart: Dart, grain: Array) -> Dart:
    """Put the tip of a dart whose mouth lies between two sizes above it as it was drawn.

    Each leg goes with its own height, so that a tip that went with its own would lie aside.
    """
    drawn = base.dart(dart.name)
    corners = np.array([*(base.landmark(leg).point for leg in drawn.legs), drawn.tip])
    if laid.whole(corners @ grain) is not None:
        return dart
    shares = laid.shares(np.array([float(np.dot(drawn.tip, grain))]))
    place = sum(
        float(share[0]) * _place_of_tip(laid.pieces[size][0], dart.name)
        for size, share in shares.items()
    )
    first, second = (np.asarray(new.landmark(leg).point) for leg in dart.legs)
    along = (second - first) / np.hypot(*(second - first))
    tip = (first + second) / 2.0 + place @ np.array([along, [-along[1], along[0]]])
    return replace(dart, tip=as_pair(rounded(tip)))


def _place_of_tip(piece: SizedPiece, name: str) -> Array:
    """(2,) where the tip of a dart lies: from the middle of its mouth along it, and above it."""
    dart = piece.dart(name)
    first, second = (np.asarray(piece.landmark(leg).point) for leg in dart.legs)
    along = (second - first) / np.hypot(*(second - first))
    out = np.asarray(dart.tip) - (first + second) / 2.0
    return np.array([float(out @ along), float(out @ [-along[1], along[0]])])


def _list_points(piece: SizedPiece) -> dict[tuple[str, str], tuple[float, float]]:
    """Dart tips, drill marks, levels and landmarks of a piece, by kind and name."""
    return {
        **{("dart", dart.name): dart.tip for dart in piece.darts},
        **{("drill", mark.name): mark.point for mark in piece.drills},
        **{("level", name): point for name, point in piece.levels.items()},
        **{("mark", mark.name): mark.point for mark in piece.landmarks},
    }


def _draw_line(laid: LaidSizes, line: InternalLine, grain: Array) -> InternalLine:
    at = arc_lengths(line.points)
    found = np.zeros_like(line.points)
    for size, share in laid.shares(line.points @ grain).items():
        piece, shift = laid.pieces[size]
        own = next((one.points for one in piece.lines if one.name == line.name), line.points)
        place = at / at[-1] * arc_lengths(own)[-1]
        found += share[:, None] * (points_at(own, place) + shift)
    return InternalLine(line.name, rounded(found))


def _draw_edge(laid: LaidSizes, base: SizedPiece, edge: Edge, grain: Array) -> Edge:
    size = laid.whole(edge.points @ grain)
    if size is not None:
        piece, shift = laid.pieces[size]
        own = piece.edge(edge.name)
        return own if not shift.any() else Edge(edge.name, rounded(own.points + shift), own.turns)
    points = densify_smoothly(edge.points, STEP_MM)
    found = np.zeros_like(points)
    for size, share in laid.shares(points @ grain).items():
        other, shift = laid.pieces[size]
        second = other.edge(edge.name)
        # What stands for the points in the other size, marks tell, and vertices.
        ours, theirs = match_lines(edge.points, second.points, (edge.turns, second.turns))
        marks = [
            (base.distance(edge.name, mark.name), other.distance(edge.name, mark.name))
            for mark in base.landmarks_on(edge.name)
        ]
        pairs = sorted({*zip(ours.tolist(), theirs.tolist(), strict=True), *marks})
        rising = [pairs[0]]
        for pair in pairs[1:]:
            if min(np.subtract(pair, rising[-1])) > SAME_POINT_MM:
                rising.append(pair)
        at = np.interp(arc_lengths(points), *np.array(rising).T)
        found += share[:, None] * (points_at(second.points, at) + shift)
    turns = [int(np.abs(points - edge.points[turn]).sum(axis=1).argmin()) for turn in edge.turns]
    return Edge(edge.name, rounded(found), tuple(turns))
