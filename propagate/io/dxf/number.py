"""Give the points of a piece rule numbers, and check that the rules hold."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from propagate.geometry.alike_lines import alike_lines
from propagate.geometry.polyline import arc_lengths, as_pair
from propagate.io.dxf.conventions import RULES_HOLD_MM
from propagate.io.dxf.cut_lines import DrawnCut, drawn_cut
from propagate.io.dxf.frame import Entity
from propagate.io.dxf.grading import Grade, grade_shapes
from propagate.io.dxf.rules import RuleTable
from propagate.io.dxf.shapes import Line, Point, Shapes, Text
from propagate.io.dxf.sheet import Pen, Sheet, draw_sheet, mark_line_points
from propagate.io.options import WriteOptions
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Numbering", "RuleSheet", "rule_sheet"]

_NONE = Entity("", 0, 0)


@dataclass
class Numbering:
    """Rules by number; the same deltas get the same number.

    Attributes
    ----------
    sizes : tuple of str
    base : str
    unit_mm : float
        Of the rule table.
    rules : dict of number to (sizes, 2) array
        In the table's unit.
    decimals : int
    used : frozenset of str
        Numbers that a table has already.
    """

    sizes: tuple[str, ...]
    base: str
    unit_mm: float
    rules: dict[str, Array] = field(default_factory=dict)
    decimals: int = 4
    used: frozenset[str] = frozenset()
    _known: dict[bytes, str] = field(default_factory=dict)
    _next: int = 1

    def number(self, moves: Array) -> str:
        """Return the number of the rule with these displacements, mm."""
        values = np.round(moves / self.unit_mm, self.decimals) + 0.0
        key = values.tobytes()
        if key not in self._known:
            while str(self._next) in self.rules or str(self._next) in self.used:
                self._next += 1
            self._known[key] = str(self._next)
            self.rules[str(self._next)] = values
        return self._known[key]

    def table(self) -> RuleTable:
        """Return the rules as a table."""
        return RuleTable("", self.sizes, self.base, self.rules)


@dataclass(frozen=True)
class RuleSheet:
    """The base size's block and the rule numbers at its points."""

    sheet: Sheet
    numbers: tuple[tuple[str, tuple[float, float], str], ...]


def rule_sheet(
    pattern: PatternSet,
    name: str,
    numbering: Numbering,
    pen: Pen,
    options: WriteOptions,
    notes: ReportNotes,
    *,
    words: bool = True,
) -> RuleSheet | str:
    """Number the points of a piece; text says why grade rules do not hold for it.

    Rules act in the frame of the block, whose grade reference line is drawn along its own x
    axis: where the block is inserted turned, scaled or mirrored, so is what they do.
    """
    nest = pattern.pieces[name].nest
    missing = [size for size in pattern.sizes if size not in nest]
    if missing:
        return f"it is not drawn in size {', '.join(missing)}"
    sheets = _draw_alike_sheets(pattern, name, pen.place.matrix[:, 0], options, notes, words=words)
    if isinstance(sheets, str):
        return sheets
    base = sheets[pattern.sizes.index(pattern.base)]
    before = replace(numbering, rules=dict(numbering.rules), _known=dict(numbering._known))
    numbers = tuple(_number_points(sheets, base, numbering, pen))
    worst = _measure_worst_miss(sheets, base, numbers, numbering, pen)
    if worst <= RULES_HOLD_MM:
        return RuleSheet(base, numbers)
    numbering.rules, numbering._known = before.rules, before._known
    return f"a point would miss its place by {worst:.3f} mm"


# -------------------------------------------------------------------- alike in every size


def _draw_alike_sheets(
    pattern: PatternSet,
    name: str,
    axis: Array,
    options: WriteOptions,
    notes: ReportNotes,
    *,
    words: bool,
) -> list[Sheet] | str:
    info = pattern.info[name]
    pieces = [pattern.sized(name, size) for size in pattern.sizes]
    first = pieces[0]
    for size, piece in zip(pattern.sizes, pieces, strict=True):
        same = _describe_structure(piece) == _describe_structure(first)
        if not same:
            return f"size {size} has other edges, notches, darts, lines or levels than the first"
    cuts: list[DrawnCut] = []
    for size, piece in zip(pattern.sizes, pieces, strict=True):
        cut = drawn_cut(piece, info, size)
        if isinstance(cut, str):
            return cut
        cuts.append(cut)
    moved = _alike_pieces(pieces)
    lines = _alike_cuts(cuts)
    if moved is None or lines is None:
        return (
            "corners of its seam line or cut line, or the vertices of a curve drawn with few "
            "points, differ between sizes"
        )
    if any(len(a.outline) != len(b.outline) for a, b in zip(moved, pieces, strict=True)):
        notes.info(
            "the sizes have different numbers of points: its curves got points at the same shares "
            "of their lengths",
            where=f"piece '{name}'",
        )
    return [
        draw_sheet(piece, info, cut, name, size, options, words=words, grade_axis=axis)
        for size, piece, cut in zip(pattern.sizes, moved, lines, strict=True)
    ]


def _describe_structure(piece: SizedPiece) -> object:
    return (
        [(edge.name, len(edge.turns)) for edge in piece.edges],
        [(mark.name, mark.edge, mark.kind) for mark in piece.landmarks],
        [dart.name for dart in piece.darts],
        [(line.name, len(line.points)) for line in piece.lines],
        [mark.name for mark in piece.drills],
        sorted(piece.levels),
        piece.label is None,
    )


def _join_alike(parts: Sequence[Sequence[Array]]) -> list[tuple[Array, tuple[int, ...]]] | None:
    """Make parts (size by size) alike and join them: lines with the places of their joints."""
    if len({len(own) for own in parts}) != 1:
        return None
    alike = []
    for some in zip(*parts, strict=True):
        lines = alike_lines(some)
        if lines is None:
            return None
        alike.append(lines)
    found = []
    for index in range(len(parts)):
        own = [part[index] for part in alike]
        points = np.vstack([own[0], *(part[1:] for part in own[1:])])
        joints = np.cumsum([len(part) - 1 for part in own[:-1]])
        found.append((points, tuple(joints.tolist())))
    return found


def _cut_at(points: Array, turns: Sequence[int]) -> list[Array]:
    stops = [0, *turns, len(points) - 1]
    return [points[low : high + 1] for low, high in itertools.pairwise(stops)]


def _alike_pieces(pieces: Sequence[SizedPiece]) -> list[SizedPiece] | None:
    edges = []
    for index in range(len(pieces[0].edges)):
        own = [piece.edges[index] for piece in pieces]
        joined = _join_alike([_cut_at(edge.points, edge.turns) for edge in own])
        if joined is None:
            return None
        edges.append(
            [
                replace(edge, points=frozen_points(points), turns=turns, path=None)
                for edge, (points, turns) in zip(own, joined, strict=True)
            ]
        )
    return [
        replace(piece, edges=tuple(edge[index] for edge in edges))
        for index, piece in enumerate(pieces)
    ]


def _alike_cuts(cuts: Sequence[DrawnCut]) -> list[DrawnCut] | None:
    if any(not cut.stretches for cut in cuts):
        return None
    bends = [_find_bends(cut) for cut in cuts]
    by_edge = []
    for index in range(len(cuts[0].stretches)):
        own = [
            _cut_at(cut.stretches[index][1], inner[index])
            for cut, inner in zip(cuts, bends, strict=True)
        ]
        joined = _join_alike(own)
        if joined is None:
            return None
        by_edge.append(joined)
    found = []
    for index, cut in enumerate(cuts):
        parts = [joined[index] for joined in by_edge]
        turns: list[int] = []
        count = before = 0
        for (points, inner), (_, drawn) in zip(parts, cut.stretches, strict=True):
            turns += [count] if before in cut.turns else []
            turns += [count + turn for turn in inner]
            count += len(points) - 1
            before += len(drawn) - 1
        names = [name for name, _ in cut.stretches]
        found.append(
            DrawnCut(
                np.concatenate([points[:-1] for points, _ in parts]),
                tuple(turns),
                tuple(zip(names, (points for points, _ in parts), strict=True)),
            )
        )
    return found


def _find_bends(cut: DrawnCut) -> list[list[int]]:
    """Return the corners inside each stretch of a cut line, counted from its start."""
    found, begin = [], 0
    for _, part in cut.stretches:
        end = begin + len(part) - 1
        found.append([turn - begin for turn in cut.turns if begin < turn < end])
        begin = end
    return found


# --------------------------------------------------------------------------------- numbers


def _number_points(
    sheets: Sequence[Sheet], base: Sheet, numbering: Numbering, pen: Pen
) -> Iterator[tuple[str, tuple[float, float], str]]:
    """Rule numbers at points: corners first, points between them where they need one."""
    marked: dict[tuple[float, float], str] = {}
    still = replace(pen.place, e=0.0, f=0.0)

    def rule(moves: Array) -> str:
        return numbering.number(still.back(moves))

    for layer, point in zip(*mark_line_points(base, pen), strict=True):
        marked.setdefault(as_pair(point), layer)
    done: set[tuple[str, tuple[float, float]]] = set()
    for index, line in enumerate(base.lines):
        moves = np.array([sheet.lines[index].points for sheet in sheets]) - line.points
        needed = _find_needed(line.points, moves, line.turns, closed=line.closed)
        for place in needed if line.turns is not None else range(len(line.points)):
            at = as_pair(line.points[place])
            layer = marked.get(at, line.layer) if line.turns is not None else line.layer
            if line.turns is None and len(line.points) > 2:
                continue  # a validation curve lies on points that are numbered
            if (layer, at) not in done:
                done.add((layer, at))
                yield layer, at, rule(moves[:, place])
    for index, (layer, at) in enumerate(base.points):
        moves = np.array([sheet.points[index][1] for sheet in sheets]) - np.array(at)
        if (layer, at) not in done:
            done.add((layer, at))
            yield layer, at, rule(moves)
    for index, text in enumerate(base.texts):
        moves = np.array([sheet.texts[index].at for sheet in sheets]) - np.array(text.at)
        if not text.fixed and (text.layer, text.at) not in done:
            done.add((text.layer, text.at))
            yield text.layer, text.at, rule(moves)


def _find_needed(
    points: Array, moves: Array, turns: Sequence[int] | None, *, closed: bool
) -> list[int]:
    """Vertices that need a number: those that carrying in proportion would misplace."""
    stops = sorted({*(turns or ()), *(() if closed else (0, len(points) - 1))}) or [0]
    found = set(stops)
    count = len(points)
    for low, high in zip(stops, [*stops[1:], stops[0] + count], strict=True):
        if not closed and high >= count:
            continue
        index = np.arange(low, high + 1) % count
        arc = arc_lengths(points[index])
        share = (arc / max(arc[-1], 1e-12))[None, :, None]
        own = moves[:, index]
        carried = own[:, :1] + share * (own[:, -1:] - own[:, :1])
        if np.abs(own - carried).max() > RULES_HOLD_MM / 10:
            found.update(index.tolist())
    return sorted(found)


def _measure_worst_miss(
    sheets: Sequence[Sheet],
    base: Sheet,
    numbers: Sequence[tuple[str, tuple[float, float], str]],
    numbering: Numbering,
    pen: Pen,
) -> float:
    """Farthest that a graded point comes to lie from its place, as a reader would have it.

    The block is graded in its own frame and then placed.
    """

    def written(at: tuple[float, float] | Array) -> Array:
        return pen.rounded(np.asarray(at)) * pen.unit_mm

    shapes = Shapes(
        [Line(line.layer, written(line.points), line.closed, _NONE) for line in base.lines],
        [Point(layer, as_pair(written(at)), _NONE) for layer, at in base.points],
        [Text(text.layer, written(text.at), text.text, 0.0, _NONE) for text in base.texts]
        + [Text(layer, written(at), f"# {number}", 0.0, _NONE) for layer, at, number in numbers],
    )
    grade = Grade(numbering.table(), numbering.unit_mm, "from sample", "grade line")
    found: Mapping[str, Shapes] = grade_shapes(shapes, grade, ReportNotes(), "")
    worst = 0.0
    for size, sheet in zip(numbering.sizes, sheets, strict=True):
        own = found[size]
        texts = [(a.at, b.at) for a, b in zip(own.texts, sheet.texts, strict=True) if not b.fixed]
        points = [(a.at, b[1]) for a, b in zip(own.points, sheet.points, strict=True)]
        singles = np.array([*points, *texts]).reshape(-1, 2, 2)
        pairs = [(a.points, b.points) for a, b in zip(own.lines, sheet.lines, strict=True)]
        pairs.append((singles[:, 0], singles[:, 1]))
        gaps = (np.hypot(*(pen.place(a) - b).T) for a, b in pairs)
        worst = max(worst, *(float(gap.max(initial=0.0)) for gap in gaps))
    return worst
