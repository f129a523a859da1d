"""Revisions by fractions of a millimetre, and what is judged of what they led to.

Nothing here measures with the code under test: lengths are plain sums of chords, places on a
line come from shapely, and the pieces are drawn by moving points.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.demo import demo_names
from propagate.engine.revise import revise
from propagate.engine.revised import Revised
from propagate.errors import Conflict, EditError
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.model import Edge, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from tests.shared import APRON

Array = npt.NDArray[np.float64]

KINDS = ("bump", "parallel", "along", "across")
AMOUNTS = (0.1, 0.3, 1.0, 2.0)
SEAM_MM = 0.05  # what the project promises of two sides of a seam
OPENING_MM = 0.01  # and of an opening
CARRIED_MM = 0.1  # a follower that was revised alone and carried to a size that nobody drew
SAME_MM = 0.051  # laid as well as may be, an edge within 0.05 mm counts as the same
_FADE = 0.45  # of an edge over which a corner's move fades


@dataclass(frozen=True)
class Tiny:
    """One edge of one piece, moved by a little.

    `by` is outward when it is positive: the middle of the edge alone ("bump"), the whole
    edge ("parallel"), or its start, along itself or across itself.
    """

    piece: str
    edge: str
    kind: str
    by: float
    sizes: str = "base"

    def __str__(self) -> str:
        return f"{self.piece}.{self.edge} {self.kind} {self.by:+g} mm, {self.sizes} sent"


def sets() -> tuple[str, ...]:
    """Names of the demo sets; the apron is one too, once its drawings are read."""
    return (*demo_names(), APRON)


def every_edit(
    pattern: PatternSet,
    amounts: tuple[float, ...] = AMOUNTS,
    kinds: tuple[str, ...] = KINDS,
    sizes: tuple[str, ...] = ("base", "all"),
) -> Iterator[Tiny]:
    """Every edge of every piece, outward and inward."""
    for name, piece in pattern.pieces.items():
        for edge in piece.at(pattern.base).edges:
            for kind in kinds:
                for by in amounts:
                    for sent in sizes:
                        yield Tiny(name, edge.name, kind, by, sent)
                        yield Tiny(name, edge.name, kind, -by, sent)


# ------------------------------------------------------------------------- the drawing


def drawn(piece: SizedPiece, edit: Tiny) -> SizedPiece:
    """The piece as somebody might draw it anew: what was beside an edge that moved follows."""
    names = [edge.name for edge in piece.edges]
    at = names.index(edit.edge)
    old = piece.edges[at].points
    chord = (old[-1] - old[0]) / np.hypot(*(old[-1] - old[0]))
    out = np.array([chord[1], -chord[0]])
    if edit.kind == "bump":
        moved = {at: _bumped(old, edit.by * out)}
    else:
        start = {"parallel": out, "across": out, "along": -chord}[edit.kind] * edit.by
        end = start if edit.kind == "parallel" else np.zeros(2)
        before, after = (at - 1) % len(names), (at + 1) % len(names)
        moved = {
            before: _faded(piece.edges[before].points, np.zeros(2), start),
            at: old + start if edit.kind == "parallel" else _faded(old, start, end),
            after: _faded(piece.edges[after].points, end, np.zeros(2)),
        }
        if before == after:  # a bag of a mouth and a curve
            moved[after] = _faded(piece.edges[after].points, end, start)
        elif edit.kind != "parallel":
            del moved[after]
    edges = tuple(
        Edge(edge.name, moved[i], edge.turns if len(moved[i]) == len(edge.points) else ())
        if i in moved
        else edge
        for i, edge in enumerate(piece.edges)
    )
    lines = {edge.name: (old.points, new.points) for old, edge, new in
             zip(piece.edges, piece.edges, edges, strict=True) if new is not edge}  # fmt: skip
    return replace(
        piece,
        edges=edges,
        landmarks=tuple(
            _beside(mark, *lines[mark.edge]) if mark.edge in lines else mark
            for mark in piece.landmarks
        ),
    )


def _arc(points: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def _bumped(points: Array, by: Array) -> Array:
    """Out in the middle, back to nothing at the ends."""
    points = np.array(shapely.segmentize(shapely.LineString(points), 4.0).coords)
    share = _arc(points) / _arc(points)[-1]
    new = points + np.outer(np.sin(np.pi * share) ** 2, by)
    new[[0, -1]] = points[[0, -1]]
    return new


def _faded(points: Array, start: Array, end: Array) -> Array:
    """Both ends moved; a straight edge stays straight, a curved one follows near its end."""
    share = _arc(points) / _arc(points)[-1]
    if len(points) == 2:
        return points + np.array([start, end])
    near = [np.clip(1.0 - s / _FADE, 0.0, 1.0) for s in (share, 1.0 - share)]
    ramps = [n * n * (3.0 - 2.0 * n) for n in near]
    return points + np.outer(ramps[0], start) + np.outer(ramps[1], end)


def _beside(mark: Landmark, old: Array, new: Array) -> Landmark:
    """A mark stays at its share of the edge's chords."""
    line = shapely.LineString(old)
    share = line.project(shapely.Point(mark.point)) / line.length
    if len(old) == len(new):
        arc, theirs = _arc(old), _arc(new)
        along = float(np.interp(share * line.length, arc, theirs))
    else:
        along = share * float(_arc(new)[-1])
    at = shapely.LineString(new).interpolate(along)
    return replace(mark, point=(at.x, at.y))


# ------------------------------------------------------------------------ the judgement


@dataclass(frozen=True)
class Outcome:
    """What a revision led to: refused with these words, or these faults."""

    edit: Tiny
    refused: str = ""
    faults: tuple[str, ...] = ()


def outcome_of(pattern: PatternSet, edit: Tiny) -> Outcome:
    """Revise, and judge what came of it."""
    piece = pattern.pieces[edit.piece]
    sizes = pattern.sizes if edit.sizes == "all" else (pattern.base,)
    sent = Piece(edit.piece, {size: drawn(piece.at(size), edit) for size in sizes})
    for size, one in sent.nest.items():
        assert shapely.Polygon(one.outline).is_valid, (edit, size)
    try:
        found = revise(pattern, {edit.piece: sent})
    except (EditError, Conflict) as error:
        return Outcome(edit, f"{type(error).__name__}: {error}")
    return Outcome(edit, "", tuple(faults_of(pattern, edit, sent, found)))


def faults_of(pattern: PatternSet, edit: Tiny, sent: Piece, found: Revised) -> Iterator[str]:
    """What does not hold on a result."""
    if not found.changed:
        off = max(_unlike(one, pattern.sized(edit.piece, size)) for size, one in sent.nest.items())
        if off > SAME_MM:
            yield f"nothing was found to have changed, though the drawing is {off:.4f} mm off"
        return
    for size in pattern.sizes:
        yield from _outlines(pattern, found.pattern, size)
        yield from _untouched(pattern, found, size)
        yield from _seams(pattern, edit, found, size)
        yield from _openings(pattern, edit, found, size)
    for size, asked in sent.nest.items():
        got = found.pattern.sized(edit.piece, size)
        off = _unlike(asked, got)
        if off > SAME_MM + 0.01:
            yield f"size {size}: the drawing is not what is in the set, {off:.4f} mm off"


def _unlike(asked: SizedPiece, got: SizedPiece) -> float:
    """How far two pieces are from each other where one is laid on the other as well as may be."""
    shares = np.linspace(0.0, 1.0, 80)
    sets = []
    for piece in (asked, got):
        lines = [shapely.LineString(edge.points) for edge in piece.edges]
        places = [shapely.line_interpolate_point(line, shares, normalized=True) for line in lines]
        sets.append(shapely.get_coordinates(np.concatenate(places)))
    a, b = (points - points.mean(axis=0) for points in sets)
    u, _, v = np.linalg.svd(a.T @ b)
    turn = u @ np.diag([1.0, np.linalg.det(u @ v)]) @ v
    means = [points.mean(axis=0) for points in sets]
    return max(
        _apart((one.points - means[0]) @ turn + means[1], other.points)
        for one, other in zip(asked.edges, got.edges, strict=True)
    )


def _apart(first: Array, second: Array) -> float:
    return float(shapely.LineString(first).hausdorff_distance(shapely.LineString(second)))


def _outlines(was: PatternSet, now: PatternSet, size: str) -> Iterator[str]:
    for name in now.pieces:
        piece = now.sized(name, size)
        if piece is was.sized(name, size):
            continue
        polygon = shapely.Polygon(piece.outline)
        if not polygon.is_valid:
            reason = shapely.is_valid_reason(polygon)
            yield f"size {size}: the outline of '{name}' is not valid ({reason})"
        for edge, after in zip(piece.edges, (*piece.edges[1:], piece.edges[0]), strict=True):
            if (edge.points[-1] != after.points[0]).any():
                yield f"size {size}: '{name}' is open between '{edge.name}' and '{after.name}'"
            if np.hypot(*np.diff(edge.points, axis=0).T).min() < 1e-6:
                yield f"size {size}: '{name}.{edge.name}' has a doubled point"
        for mark in piece.landmarks:
            off = shapely.LineString(piece.edge(mark.edge).points).distance(
                shapely.Point(mark.point)
            )
            if off > 0.01:
                yield f"size {size}: '{name}.{mark.name}' lies {off:.4f} mm off its edge"


def _untouched(was: PatternSet, found: Revised, size: str) -> Iterator[str]:
    """What the record does not name is what it was, digit for digit."""
    record = found.records.get(size)
    named = {change.piece: change for change in record.pieces} if record else {}
    for name in was.pieces:
        old, new = was.sized(name, size), found.pattern.sized(name, size)
        if name not in named:
            if new != old:
                yield f"size {size}: '{name}' changed and the record does not say so"
            continue
        told = {edge.edge: edge.status for edge in named[name].edges}
        for before, after in zip(old.edges, new.edges, strict=True):
            same = before.points.tobytes() == after.points.tobytes()
            if same is not (told[before.name] == "same"):
                yield f"size {size}: '{name}.{before.name}' is told as {told[before.name]}"


def _amount(ease: EaseSaid, lead: float) -> float:
    """The whole of an ease that is said in millimetres, all along or by zones, or as a share."""
    if not isinstance(ease, Ease):
        return ease
    if ease.share is not None:
        return ease.share * lead
    assert ease.zones, "the demo sets say their eases as amounts, shares or by zones"
    return sum(_amount(one, lead) for _, one in ease.zones)


def _seams(was: PatternSet, edit: Tiny, found: Revised, size: str) -> Iterator[str]:
    """A seam fits as it did; one that no longer does is told, with the true millimetres."""
    record = found.records.get(size)
    walked = [row for row in record.seams if row.kind == "seam"] if record else []
    rows = {row.name: row.difference for row in walked}
    told = {notice.where for notice in record.warnings} if record else set()
    for seam in was.relations.seams.values():
        if seam.mirror:
            continue
        before, after = (
            _run(p, seam.follow, size) - _run(p, seam.lead, size) for p in (was, found.pattern)
        )
        ease = _amount(seam.ease, _run(found.pattern, seam.lead, size))
        if seam.name in rows and abs(rows[seam.name] + ease - after) > OPENING_MM:
            yield f"size {size}: '{seam.name}' is off by {after:+.4f}, told {rows[seam.name]:+.4f}"
        alone = edit.piece in {span.piece for span in seam.follow} and size != was.base
        limit = CARRIED_MM if alone and edit.sizes == "base" else SEAM_MM
        off = min(abs(after - before), abs(after - ease))
        if off > limit and seam.name not in (rows if seam.check else told):
            yield (
                f"size {size}: seam '{seam.name}' was off by {before:+.4f} mm and now is by "
                f"{after:+.4f} mm, and nobody is told"
            )


def _run(pattern: PatternSet, run: Run, size: str) -> float:
    """Length of a run, its darts closed, by chords."""
    return sum(_span(pattern.sized(span.piece, size), span) for span in run)


def _span(piece: SizedPiece, span: Span) -> float:
    line = shapely.LineString(piece.edge(span.edge).points)

    def place(name: str) -> float:
        if name in ("start", "end"):
            return 0.0 if name == "start" else float(line.length)
        mark = next(m for m in piece.landmarks if m.name == name)
        return float(line.project(shapely.Point(mark.point)))

    low, high = sorted((place(span.begin), place(span.end)))
    size = high - low
    for dart in piece.darts:
        if dart.edge == span.edge:
            first, last = sorted(place(leg) for leg in dart.legs)
            size -= max(min(last, high) - max(first, low), 0.0)
    return size


def _openings(was: PatternSet, edit: Tiny, found: Revised, size: str) -> Iterator[str]:
    """An opening is as long as it was, unless the drawing itself changed it."""
    for opening in was.relations.openings.values():
        old = _length(was.sized(opening.piece, size).edge(opening.edge).points)
        new = _length(found.pattern.sized(opening.piece, size).edge(opening.edge).points)
        if abs(new - old) > OPENING_MM and edit.piece != opening.piece:
            yield f"size {size}: opening '{opening.name}' went from {old:.4f} to {new:.4f} mm"


def _length(points: Array) -> float:
    return float(_arc(points)[-1])
