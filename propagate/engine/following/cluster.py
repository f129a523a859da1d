"""Followers that share corners, made one problem, solved, and written back.

Conditions come first: every run its length, corners whose lead stayed hold, holds and folds
hold, a free edge goes parallel.  Among all that meet them the least movement is taken.  A
corner that one seam alone moves goes along that seam, as a hand would move it; where that is
not enough it moves freely, then corners give that no lead moved.  What cannot be met even so
is met as nearly as it goes, and told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.following.ends import Answering, answering_ends, hold_on_span
from propagate.engine.following.newton import Answer, Length, Problem, solve
from propagate.engine.following.outline import FIXED, EdgeLine, Move, OutlineMoves, edge_lines
from propagate.engine.following.parallel import with_parallels
from propagate.engine.relations.ends import landmark_on
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.tape import edge_from_parts
from propagate.geometry.polyline import end_direction, unit
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.pattern.relations import Seam, Span
from propagate.pattern.spans import dart_mouths, run_length, span_ends
from propagate.tolerances import SAME_POINT_MM, SEAM_LENGTH_MM

__all__ = ["Ask", "excess_of", "solve_followers"]

Array = npt.NDArray[np.float64]
End = Literal["start", "end"]

_MET_MM = SEAM_LENGTH_MM / 10
_ALONG, _FREELY, _ALL = range(3)
"""What gives: corners along their seam; corners freely; those that no lead moved as well."""
_FAR = 10.0
"""What moves this many times what was asked is no answer."""


@dataclass(frozen=True)
class Ask:
    """What one seam asks of its follower: a length in mm, of its whole run.

    `wanted` is None where the lead lies on a piece that moves as well.
    """

    seam: Seam
    wanted: float | None


@dataclass(frozen=True, order=True)
class _Node:
    """A corner (the start of the edge with this index), or a landmark inside an edge."""

    piece: str
    edge: int
    landmark: str = ""


def solve_followers(state: State, asks: Sequence[Ask]) -> Mapping[str, SizedPiece]:
    """Bring every follower to its length by the least movement.

    Parameters
    ----------
    state : State
    asks : sequence of Ask
        Every seam of the followers, also of those that have their length already.

    Returns
    -------
    mapping of name to SizedPiece
        The pieces that changed; where not everything can be met, as nearly as it goes.
    """
    pieces = {s.piece: state.lookup(s.piece) for ask in asks for s in ask.seam.follow}
    answers = {ask.seam.name: answering_ends(state, ask.seam) for ask in asks}
    off = {ask.seam.name: excess_of(state, ask) for ask in asks}
    worst = max(map(abs, off.values()))
    least, nearest = worst, dict[str, SizedPiece]()
    for giving in (_ALONG, _FREELY, _ALL):
        setting = _Setting(state, pieces, asks, answers, off, giving)
        built = _built(setting, worst)
        if built.problem.count == 0:
            continue
        answer = solve(built.problem)
        left = float(np.abs(answer.miss).max())
        if not _is_near(built, answer, worst) or left >= least - _MET_MM:
            continue
        least, nearest = left, _written(setting, built, answer)
        if left <= _MET_MM:
            break
    return nearest


def excess_of(state: State, ask: Ask) -> float:
    """By how much a follower is longer than asked, mm."""
    wanted = ask.wanted
    if wanted is None:
        wanted = run_length(state.lookup, ask.seam.lead) + state.ease_of(ask.seam).total
    return run_length(state.lookup, ask.seam.follow) - wanted


def _is_near(built: _Built, answer: Answer, asked: float) -> bool:
    moved = max(
        (
            float(np.abs(line.line.slope @ answer.q[line.line.unknowns]).max(initial=0.0))
            for lines in built.lines.values()
            for line in lines
        ),
        default=0.0,
    )
    return moved <= _FAR * max(asked, 0.5)


# --------------------------------------------------------------------------- what may move


@dataclass(frozen=True)
class _Setting:
    state: State
    pieces: Mapping[str, SizedPiece]
    asks: Sequence[Ask]
    answers: Mapping[str, Answering]
    off: Mapping[str, float]
    giving: int

    def node(self, span: Span, landmark: str) -> _Node:
        """The node at an end of a span."""
        piece = self.pieces[span.piece]
        i = piece.edge_names.index(span.edge)
        along, size = piece.distance(span.edge, landmark), piece.edges[i].length
        if along <= SAME_POINT_MM:
            return _Node(span.piece, i)
        if along >= size - SAME_POINT_MM:
            return _Node(span.piece, (i + 1) % len(piece.edges))
        return _Node(span.piece, i, landmark)


@dataclass(frozen=True)
class _Built:
    problem: Problem
    lines: Mapping[str, Sequence[EdgeLine]]
    moves: Mapping[_Node, Move]


def _built(setting: _Setting, expected: float) -> _Built:
    """The problem of a setting."""
    held, fixed = _holds(setting)
    moving = _moving(setting) - fixed
    moves: dict[_Node, Move] = {}
    count = 0
    for node in sorted(moving):
        move, used = _move(setting, node, count)
        if used:
            moves[node] = move
            count += used
    lines: dict[str, Sequence[EdgeLine]] = {}
    for name, piece in setting.pieces.items():
        corners = [moves.get(_Node(name, i), FIXED) for i in range(len(piece.edges))]
        free = {i for i in range(len(corners)) if _Node(name, i) not in fixed}
        told = {node.edge for node in _ends(setting) if node.piece == name and not node.landmark}
        corners = with_parallels(setting.state.pattern, name, piece, corners, free - told)
        inner: dict[str, list[tuple[float, Move]]] = {}
        for node, move in moves.items():
            if node.piece == name and node.landmark:
                edge = piece.edges[node.edge].name
                inner.setdefault(edge, []).append((piece.distance(edge, node.landmark), move))
        own = {edge: part for (one, edge), part in held.items() if one == name}
        places = _places(setting, name)
        lines[name] = edge_lines(piece, OutlineMoves(corners, inner, own, places, expected))
    index = {
        (name, line.edge.name): k
        for k, (name, line) in enumerate((n, one) for n, group in lines.items() for one in group)
    }
    flat = [one.line for group in lines.values() for one in group]
    lengths = [_length(setting, ask, lines, index) for ask in setting.asks]
    return _Built(Problem(flat, lengths, count), lines, moves)


def _ends(setting: _Setting) -> set[_Node]:
    """Every node at which a run of the followers ends or goes from span to span."""
    return {
        setting.node(span, mark)
        for ask in setting.asks
        for span in ask.seam.follow
        for mark in (span.begin, span.end)
    }


def _moving(setting: _Setting) -> set[_Node]:
    """Nodes that answer a lead that moved; those that give where no lead's end did."""
    found: set[_Node] = set()
    for ask in setting.asks:
        seam, answer = ask.seam, setting.answers[ask.seam.name]
        asked = abs(setting.off[seam.name]) > _MET_MM
        first, last = seam.follow[0], seam.follow[-1]
        everything = setting.giving == _ALL and asked
        for node, answers in (
            (setting.node(first, first.begin), answer.start),
            (setting.node(last, last.end), answer.end),
        ):
            if everything or (answers and (answer.lead_moved or asked)):
                found.add(node)
        if everything:
            found.update(setting.node(s, m) for s in seam.follow for m in (s.begin, s.end))
    return found


def _move(setting: _Setting, node: _Node, first: int) -> tuple[Move, int]:
    """How a node may move, with unknowns from `first`, and how many it uses.

    A corner on the fold slides along it, and only where its lead slid too: moved along its
    seam it would run over the fold.
    """
    piece = setting.pieces[node.piece]
    info = setting.state.pattern.info.get(node.piece)
    fold = info.fold if info is not None else None
    if not node.landmark and fold is not None:
        before, after = piece.edges[node.edge - 1], piece.edges[node.edge]
        ends: tuple[tuple[Edge, End], ...] = ((before, "end"), (after, "start"))
        for edge, end in ends:
            if edge.name == fold:
                if setting.giving != _ALL and not _lead_moved_at(setting, node):
                    return FIXED, 0
                direction = unit(end_direction(edge.points, end))
                return Move(np.array([first]), direction[:, None]), 1
    if setting.giving == _ALONG:
        alone = _seams_at(setting, node)
        if len(alone) == 1:
            span, end = alone[0]
            edge = piece.edge(span.edge)
            direction = unit(end_direction(edge.points, end, turns=edge.turns))
            return Move(np.array([first]), direction[:, None], span.edge), 1
    return Move(np.array([first, first + 1]), np.eye(2)), 2


def _seams_at(setting: _Setting, node: _Node) -> list[tuple[Span, End]]:
    """Spans of seams that end at a corner, and the end of the edge that it is there."""
    found: list[tuple[Span, End]] = []
    if node.landmark:
        return found
    piece = setting.pieces[node.piece]
    for ask in setting.asks:
        for run in (ask.seam.follow, ask.seam.lead if ask.wanted is None else ()):
            for span in run:
                if span.piece != node.piece:
                    continue
                for mark in (span.begin, span.end):
                    if setting.node(span, mark) == node:
                        at_start = piece.distance(span.edge, mark) <= SAME_POINT_MM
                        found.append((span, "start" if at_start else "end"))
    return found


def _lead_moved_at(setting: _Setting, node: _Node) -> bool:
    for ask in setting.asks:
        answer = setting.answers[ask.seam.name]
        first, last = ask.seam.follow[0], ask.seam.follow[-1]
        for end, answers in (
            (setting.node(first, first.begin), answer.start),
            (setting.node(last, last.end), answer.end),
        ):
            if end == node and answers and answer.lead_moved:
                return True
    return False


def _holds(setting: _Setting) -> tuple[dict[tuple[str, str], tuple[float, float]], set[_Node]]:
    """Stretches that a hold keeps, by (piece, edge), and the corners on them."""
    held: dict[tuple[str, str], tuple[float, float]] = {}
    fixed: set[_Node] = set()
    for ask in setting.asks:
        seam, answer = ask.seam, setting.answers[ask.seam.name]
        at = [hold_on_span(setting.pieces[s.piece], s, seam.hold) for s in seam.follow]
        if all(one is None for one in at):
            continue
        crossing = max(k for k, one in enumerate(at) if one is not None)
        for k, span in enumerate(seam.follow):
            begin, end = span_ends(setting.pieces[span.piece], span)
            place = at[k] if k == crossing else None
            if k == crossing and place is not None:
                low = begin if not answer.start else place
                high = end if not answer.end else place
                marks = [span.begin] * (not answer.start) + [span.end] * (not answer.end)
            elif answer.start if k < crossing else answer.end:
                continue
            else:
                low, high, marks = begin, end, [span.begin, span.end]
            held[span.piece, span.edge] = (min(low, high), max(low, high))
            fixed.update(setting.node(span, mark) for mark in marks)
    return held, fixed


def _places(setting: _Setting, piece: str) -> dict[str, list[float]]:
    """Where the lines of a piece need vertices: at the ends of every span on it."""
    places: dict[str, list[float]] = {}
    for ask in setting.asks:
        runs = (ask.seam.follow, ask.seam.lead) if ask.wanted is None else (ask.seam.follow,)
        for span in (span for run in runs for span in run if span.piece == piece):
            places.setdefault(span.edge, []).extend(span_ends(setting.pieces[piece], span))
    return places


def _length(
    setting: _Setting,
    ask: Ask,
    lines: Mapping[str, Sequence[EdgeLine]],
    index: Mapping[tuple[str, str], int],
) -> Length:
    """What a seam asks, as stretches of lines between vertices, darts left out."""
    stretches: list[tuple[int, int, int, float]] = []
    wanted = ask.wanted
    if wanted is None:
        wanted = setting.state.ease_of(ask.seam).total
    runs = [(ask.seam.follow, 1.0)]
    if ask.wanted is None:
        runs.append((ask.seam.lead, -1.0))
    for run, sign in runs:
        for span in run:
            if span.piece not in lines:
                wanted += run_length(setting.state.lookup, (span,))
                continue
            piece = setting.pieces[span.piece]
            line = lines[span.piece][piece.edge_names.index(span.edge)]
            for low, high in _sewn_parts(piece, span):
                first, last = line.vertex(low), line.vertex(high)
                stretches.append((index[span.piece, span.edge], first, last, sign))
    return Length(stretches, wanted, ask.seam.name)


def _sewn_parts(piece: SizedPiece, span: Span) -> list[tuple[float, float]]:
    """Parts of a span between its darts, as distances along the edge, mm."""
    low, high = sorted(span_ends(piece, span))
    parts, at = [], low
    for first, last in dart_mouths(piece, span.edge):
        if last <= low or first >= high:
            continue
        parts.append((at, max(first, at)))
        at = max(min(last, high), at)
    parts.append((at, high))
    return [(a, b) for a, b in parts if b - a > SAME_POINT_MM]


# ---------------------------------------------------------------------------- written back


def _written(setting: _Setting, built: _Built, answer: Answer) -> dict[str, SizedPiece]:
    """The followers as the answer moves them; those that stay are left out."""
    found = {}
    for name, lines in built.lines.items():
        old = setting.pieces[name]
        moved = {line.edge.name: line.line.slope @ answer.q[line.line.unknowns] for line in lines}
        if all(np.abs(move).max(initial=0.0) <= SAME_POINT_MM for move in moved.values()):
            continue
        found[name] = _piece(setting, name, old, lines, moved)
    return found


def _piece(
    setting: _Setting,
    name: str,
    old: SizedPiece,
    lines: Sequence[EdgeLine],
    moved: Mapping[str, Array],
) -> SizedPiece:
    edges = []
    for line in lines:
        move = moved[line.edge.name]
        still = np.abs(move).max(axis=1) <= SAME_POINT_MM
        if still.all():
            edges.append(line.edge)
            continue
        points = np.where(still[:, None], line.line.points, rounded(line.line.points + move))
        own = _is_vertex(line.edge.points, line.line.points)
        keep = ~still | own
        keep[[0, -1]] = True
        edges.append(edge_from_parts(line.edge.name, [points[keep]], points[list(line.turns)]))
    new = replace(old, edges=tuple(edges))
    marks, tips = _marks(setting, name, old, lines, moved)
    placed = tuple(marks.get(m.name) or landmark_on(new, old, m) for m in old.landmarks)
    darts = tuple(replace(d, tip=tips.get(d.name, d.tip)) for d in old.darts)
    return replace(new, landmarks=placed, darts=darts)


def _is_vertex(points: Array, of: Array) -> npt.NDArray[np.bool_]:
    """Which of some vertices the old edge had already."""
    own = {point.tobytes() for point in np.ascontiguousarray(points)}
    return np.array([point.tobytes() in own for point in np.ascontiguousarray(of)])


def _marks(
    setting: _Setting,
    name: str,
    old: SizedPiece,
    lines: Sequence[EdgeLine],
    moved: Mapping[str, Array],
) -> tuple[dict[str, Landmark], dict[str, tuple[float, float]]]:
    """Landmarks at which runs end and legs of darts go with their vertex; tips with the legs."""
    ends = {node.landmark for node in _ends(setting) if node.piece == name and node.landmark}
    legs = {leg for dart in old.darts for leg in dart.legs}
    marks: dict[str, Landmark] = {}
    shift: dict[str, Array] = {}
    for line in lines:
        move = moved[line.edge.name]
        if np.abs(move).max(initial=0.0) <= SAME_POINT_MM:
            continue
        for mark in old.landmarks_on(line.edge.name):
            if mark.name not in ends | legs:
                continue
            vertex = line.vertex(old.distance(mark.edge, mark.name))
            shift[mark.name] = move[vertex]
            if np.abs(move[vertex]).max() > SAME_POINT_MM:
                x, y = rounded(line.line.points[vertex] + move[vertex])
                marks[mark.name] = replace(mark, point=(float(x), float(y)))
            else:
                marks[mark.name] = mark
    tips = {}
    for dart in old.darts:
        move = shift.get(dart.legs[0], np.zeros(2))
        if np.abs(move).max() > SAME_POINT_MM:
            x, y = rounded(np.asarray(dart.tip) + move)
            tips[dart.name] = (float(x), float(y))
    return marks, tips
