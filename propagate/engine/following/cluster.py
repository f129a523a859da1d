"""Followers that share corners, made one problem, solved, and written back.

Conditions come first: every run its length, corners whose lead stayed hold, holds and folds
hold, a free edge goes parallel.  Among all that meet them the least movement is taken.  A
corner that one seam alone moves goes along that seam, as a hand would move it; where that is
not enough it moves freely, then corners give that no lead moved.  What cannot be met even so
is met as nearly as it goes, and told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.following.giving import (
    ALL,
    ALONG,
    FREELY,
    MET_MM,
    Ask,
    Node,
    Setting,
    answers_of,
    ends_of_leads_held,
    ends_of_runs,
    excess_of,
    held_stretches,
    met_within,
    move_of,
    moving_nodes,
    places_of_ends,
    smooth_joints,
)
from propagate.engine.following.lengths import Length, LineLengths
from propagate.engine.following.outline import FIXED, EdgeLine, Move, OutlineMoves, edge_lines
from propagate.engine.following.parallel import with_parallels
from propagate.engine.following.strips import StripPlan, plan_strips
from propagate.engine.following.zones import asks_by_zone
from propagate.engine.marks_on_lines import follow_line, put_mark_at
from propagate.engine.newton import solve_problem
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.engine.tape import edge_from_parts
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import as_pair
from propagate.pattern.model import Landmark, SizedPiece
from propagate.pattern.pleats import pleated_part
from propagate.pattern.relations import Span
from propagate.pattern.spans import dart_mouths, run_length, span_ends
from propagate.tolerances import SAME_POINT_MM, SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["solve_followers"]

_FAR = 10.0
"""What moves this many times what was asked is no answer."""


def solve_followers(state: State, asks: Sequence[Ask]) -> Mapping[str, SizedPiece]:
    """Bring every follower to its length by the least movement.

    Parameters
    ----------
    asks : sequence of Ask
        Every seam of the followers, also of those that have their length already.

    Returns
    -------
    mapping of name to SizedPiece
        The pieces that changed; where not everything can be met, as nearly as it goes.  Where
        the stretches between notches cannot be met each for itself, the whole runs are.
    """
    zones = [zone for ask in asks for zone in asks_by_zone(state, ask)]
    if len(zones) > len(asks):
        found, left = _solve_asks(state, zones)
        if left <= SEAM_LENGTH_MM:
            return found
    return _solve_asks(state, asks)[0]


def _solve_asks(state: State, asks: Sequence[Ask]) -> tuple[dict[str, SizedPiece], float]:
    """Return the pieces that changed, and by how many mm the worst of the conditions is missed."""
    pieces = {s.piece: state.lookup(s.piece) for ask in asks for s in ask.seam.follow}
    answers = {ask.seam.name: answers_of(state, ask) for ask in asks}
    off = {ask.seam.name: excess_of(state, ask) for ask in asks}
    worst = max(map(abs, off.values()))
    least, nearest = worst, dict[str, SizedPiece]()
    enough = max(met_within(ask, answers[ask.seam.name]) for ask in asks)
    for giving in (ALONG, FREELY, ALL):
        setting = Setting(state, pieces, asks, answers, off, giving)
        built = _build_problem(setting, worst)
        if built.problem.count == 0:
            continue
        answer = solve_problem(built.problem)
        moved = (np.abs(line.shift(answer.q)).max(initial=0.0) for line in built.problem.lines)
        if max(moved) > _FAR * max(worst, 0.5) or answer.worst >= least - MET_MM:
            continue
        least = answer.worst
        pieces_now = ((name, _move_piece(setting, built, name, answer.q)) for name in built.lines)
        nearest = {name: piece for name, piece in pieces_now if piece is not None}
        if least <= enough:
            break
    return nearest, least


# -------------------------------------------------------------------------------- the problem


@dataclass(frozen=True)
class _Built:
    problem: LineLengths
    lines: Mapping[str, Sequence[EdgeLine]]
    strips: Mapping[str, StripPlan]


def _build_problem(setting: Setting, expected: float) -> _Built:
    strips = plan_strips(setting)
    count = sum(len(plan.asked) for plan in strips.values())
    held, fixed = held_stretches(setting)
    joined = {name: smooth_joints(setting, name) for name in setting.pieces if name not in strips}
    passed = {Node(name, i) for name, (_, corners) in joined.items() for i in corners}
    moves: dict[Node, Move] = {}
    for node in sorted(moving_nodes(setting) - fixed - passed):
        move, used = move_of(setting, node, count) if node.piece not in strips else (FIXED, 0)
        if used:
            moves[node] = move
            count += used
    ends = ends_of_runs(setting)
    nodes = ends | ends_of_leads_held(setting, moves.keys())
    lines: dict[str, Sequence[EdgeLine]] = {}
    for name, piece in setting.pieces.items():
        if name in strips:
            lines[name] = strips[name].lines(places_of_ends(setting, name))
            continue
        corners = [moves.get(Node(name, i), FIXED) for i in range(len(piece.edges))]
        free = {i for i in range(len(corners)) if Node(name, i) not in fixed}
        told = {node.edge for node in nodes if node.piece == name and not node.landmark}
        corners = with_parallels(setting.state.pattern, name, piece, corners, free - told)
        own = {edge: part for (one, edge), part in held.items() if one == name}
        inner: dict[str, list[tuple[float, Move]]] = {}
        for node in sorted(one for one in ends if one.piece == name and one.landmark):
            edge = piece.edges[node.edge].name
            at = piece.distance(edge, node.landmark)
            inner.setdefault(edge, []).append((at, moves.get(node, FIXED)))
        places = places_of_ends(setting, name)
        what = OutlineMoves(corners, inner, own, places, *joined[name], expected)
        lines[name] = edge_lines(piece, what)
    index = {
        (name, line.edge.name): k
        for k, (name, line) in enumerate((n, one) for n, group in lines.items() for one in group)
    }
    flat = [one.line for group in lines.values() for one in group]
    lengths = [_state_length(setting, ask, lines, index) for ask in setting.asks]
    return _Built(LineLengths(flat, lengths, count), lines, strips)


def _state_length(
    setting: Setting,
    ask: Ask,
    lines: Mapping[str, Sequence[EdgeLine]],
    index: Mapping[tuple[str, str], int],
) -> Length:
    """State what a seam asks, as stretches of lines between vertices, darts left out."""
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
            part, taken_up = pleated_part(piece, span)
            wanted += sign * taken_up
            for low, high in _sewn_parts(piece, span):
                first, last = line.vertex(low), line.vertex(high)
                stretches.append((index[span.piece, span.edge], first, last, sign * part))
    return Length(stretches, wanted, ask.seam.name)


def _sewn_parts(piece: SizedPiece, span: Span) -> list[tuple[float, float]]:
    """Return parts of a span between its darts, as distances along the edge, mm."""
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


def _move_piece(setting: Setting, built: _Built, name: str, q: Array) -> SizedPiece | None:
    """Move a follower by the values of the unknowns; None where it stays."""
    if name in built.strips:
        return built.strips[name].stretched(q)
    old, lines = setting.pieces[name], built.lines[name]
    moved = {line.edge.name: line.line.shift(q) for line in lines}
    if all(np.abs(move).max(initial=0.0) <= SAME_POINT_MM for move in moved.values()):
        return None
    edges = []
    for line in lines:
        move = moved[line.edge.name]
        still = np.abs(move).max(axis=1) <= SAME_POINT_MM
        if still.all():
            edges.append(line.edge)
            continue
        points = np.where(still[:, None], line.line.points, rounded(line.line.points + move))
        # Of those that were added for the movement, the ones that stay are not needed.
        drawn = {point.tobytes() for point in line.edge.points}
        keep = ~still | np.array([point.tobytes() in drawn for point in line.line.points])
        keep[[0, -1]] = True
        edges.append(edge_from_parts(line.edge.name, [points[keep]], points[list(line.turns)]))
    new = replace(old, edges=tuple(edges))
    marks, tips = _move_marks(setting, name, old, lines, moved)
    placed = tuple(marks.get(m.name) or follow_line(new, old, m) for m in old.landmarks)
    darts = tuple(replace(d, tip=tips.get(d.name, d.tip)) for d in old.darts)
    return replace(new, landmarks=placed, darts=darts)


def _move_marks(
    setting: Setting,
    name: str,
    old: SizedPiece,
    lines: Sequence[EdgeLine],
    moved: Mapping[str, Array],
) -> tuple[dict[str, Landmark], dict[str, tuple[float, float]]]:
    """Move landmarks at which runs end or edges do, and legs of darts, with their vertex.

    The tip of a dart goes with its legs.
    """
    ends = {node.landmark for node in ends_of_runs(setting) if node.piece == name and node.landmark}
    legs = {leg for dart in old.darts for leg in dart.legs}
    marks: dict[str, Landmark] = {}
    shift: dict[str, Array] = {}
    for line in lines:
        move = moved[line.edge.name]
        if np.abs(move).max(initial=0.0) <= SAME_POINT_MM:
            continue
        for mark in old.landmarks_on(line.edge.name):
            along = old.distance(mark.edge, mark.name)
            at_corner = min(along, line.edge.length - along) <= SAME_POINT_MM
            if not at_corner and mark.name not in ends | legs:
                continue
            vertex = line.vertex(along)
            shift[mark.name] = move[vertex]
            if np.abs(move[vertex]).max() > SAME_POINT_MM:
                point = rounded(line.line.points[vertex] + move[vertex])
                marks[mark.name] = put_mark_at(mark, point)
            else:
                marks[mark.name] = mark
    tips = {}
    for dart in old.darts:
        move = shift.get(dart.legs[0], np.zeros(2))
        if np.abs(move).max() > SAME_POINT_MM:
            tips[dart.name] = as_pair(rounded(np.asarray(dart.tip) + move))
    return marks, tips
