"""What of the followers may give, and what is held.

A corner, or a landmark inside an edge at which a run ends, is a *node*.  It moves where the end
of its lead did, or where its run gives at all; along its seam where that seam alone moves it,
along a fold, or freely; beyond a hold not at all.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Literal

import numpy as np

from propagate.engine.following.ends import Answering, answering_ends, hold_on_span
from propagate.engine.following.outline import FIXED, Move
from propagate.engine.state import State
from propagate.geometry.arrays import Array
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import is_straight, unit
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import run_length, span_ends
from propagate.tolerances import SAME_POINT_MM, SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = [
    "ALL",
    "ALONG",
    "FREELY",
    "MET_MM",
    "Ask",
    "Node",
    "Setting",
    "answers_of",
    "ends_of_leads_held",
    "ends_of_runs",
    "excess_before",
    "excess_of",
    "held_stretches",
    "met_within",
    "move_of",
    "moving_nodes",
    "places_of_ends",
    "smooth_joints",
    "was_sewn",
]

End = Literal["start", "end"]

MET_MM = SEAM_LENGTH_MM / 10
ALONG, FREELY, ALL = range(3)
"""What gives: corners along their seam; corners freely; those that no lead moved as well."""

_SMOOTH_DEG = 15.0
"""Two edges of a run that meet at less run on as one line, on which their corner may slide."""


@dataclass(frozen=True)
class Ask:
    """What one seam asks of its follower: a length in mm.

    Attributes
    ----------
    seam : Seam
        With the runs that are asked about: the whole of them, or a stretch between two notches.
    wanted : float or None
        Length of the follower, mm; None where the lead lies on a piece that moves as well.
    part_of : Seam or None
        The whole seam, where this is a stretch of it.
    between : (bool, bool)
        Whether the start and the end of the stretch are notches of the whole seam.
    """

    seam: Seam
    wanted: float | None
    part_of: Seam | None = None
    between: tuple[bool, bool] = (False, False)

    @property
    def runs(self) -> tuple[Run, ...]:
        """The runs on pieces that move: the follower's, and the lead's where that does as well."""
        return (self.seam.follow, self.seam.lead) if self.wanted is None else (self.seam.follow,)


@dataclass(frozen=True, order=True)
class Node:
    """A corner (the start of the edge with this index), or a landmark inside an edge."""

    piece: str
    edge: int
    landmark: str = ""


def excess_of(state: State, ask: Ask) -> float:
    """Measure by how much a follower is longer than asked, mm."""
    wanted = ask.wanted
    if wanted is None:
        wanted = run_length(state.lookup, ask.seam.lead) + state.ease_of(ask.seam).total
    return run_length(state.lookup, ask.seam.follow) - wanted


def excess_before(state: State, seam: Seam) -> float:
    """Measure by how much a follower was longer than asked in the set as it was, mm.

    0 where `was_sewn` says that it was not sewn so before.
    """
    if not was_sewn(state, seam):
        return 0.0
    ease = seam_ease(state.source, seam, state.size_of(seam.lead[0].piece)).total
    return run_length(state.source, seam.follow) - run_length(state.source, seam.lead) - ease


def was_sewn(state: State, seam: Seam) -> bool:
    """Tell whether a seam was sewn before as it is to be sewn now, but for what the edit moved.

    Not where the pieces were taken from several sizes, nor where the edit itself changed what
    is asked.
    """
    sizes = {state.size_of(span.piece) for run in (seam.lead, seam.follow) for span in run}
    return seam.name not in state.asked and len(sizes) == 1


def answers_of(state: State, ask: Ask) -> Answering:
    """Tell which ends of what is asked about give.

    Of a stretch between notches that is a corner which the lead moved, and where there is
    none the notches.
    """
    if ask.part_of is None:
        return answering_ends(state, ask.seam)
    whole = answering_ends(state, ask.part_of)
    if _is_slide(state, ask):
        start, end = ask.between
        return Answering(start or whole.start, end or whole.end, whole.lead_moved)
    corners = [
        whole.lead_moved and answers and not between
        for between, answers in zip(ask.between, (whole.start, whole.end), strict=True)
    ]
    start, end = corners if any(corners) else ask.between
    return Answering(start, end, whole.lead_moved)


def met_within(ask: Ask, answer: Answering) -> float:
    """Tell within how many mm what is asked is met.

    A stretch between notches is not asked for less than anybody could cut where a corner of
    the seam moved: its notches would take a share of what that moved.
    """
    return SEAM_LENGTH_MM / 2 if ask.part_of is not None and answer.lead_moved else MET_MM


def _is_slide(state: State, ask: Ask) -> bool:
    """Tell whether it is a stretch of a straight line of which an edit said how long each is.

    Such a line has no other way to get longer than at its end; its notches slide along it.
    """
    return (
        ask.part_of is not None
        and ask.part_of.name in state.asked
        and all(is_straight(state.lookup(s.piece).edge(s.edge).points) for s in ask.seam.follow)
    )


@dataclass(frozen=True)
class Setting:
    """Followers as they are, what is asked of them, and what gives.

    `answers` and `off` are by seam: which ends answer, and by how many mm it is off.
    """

    state: State
    pieces: Mapping[str, SizedPiece]
    asks: Sequence[Ask]
    answers: Mapping[str, Answering]
    off: Mapping[str, float]
    giving: int

    def node(self, span: Span, landmark: str) -> Node:
        """Return the node at an end of a span."""
        piece = self.pieces[span.piece]
        i = piece.edge_names.index(span.edge)
        along, size = piece.distance(span.edge, landmark), piece.edges[i].length
        if along <= SAME_POINT_MM:
            return Node(span.piece, i)
        if along >= size - SAME_POINT_MM:
            return Node(span.piece, (i + 1) % len(piece.edges))
        return Node(span.piece, i, landmark)

    def ends_of(self, run: Run) -> tuple[Node, Node]:
        """Return the nodes at which a run begins and ends."""
        return self.node(run[0], run[0].begin), self.node(run[-1], run[-1].end)


def ends_of_runs(setting: Setting) -> set[Node]:
    """Return every node at which a run of the followers ends or goes from span to span."""
    return {
        setting.node(span, mark)
        for ask in setting.asks
        for span in ask.seam.follow
        for mark in (span.begin, span.end)
    }


def ends_of_leads_held(setting: Setting, moving: Collection[Node]) -> set[Node]:
    """Return nodes at which leads end that must not go along, though they lie on followers.

    That is the lead of a gore that is sewn to itself: if it went along with the follower, the
    two would never be as long as each other.  And in a ring of pieces it is the lead of one
    whose own end rests.
    """
    found = set()
    for ask in setting.asks:
        if ask.wanted is not None:
            continue
        lead, follow = ask.seam.lead, ask.seam.follow
        own = {span.piece for span in follow}
        found |= {
            setting.node(span, mark)
            for span in lead
            for mark in (span.begin, span.end)
            if span.piece in own
        }
        for mine, mark, theirs, its in (
            (lead[0], lead[0].begin, follow[0], follow[0].begin),
            (lead[-1], lead[-1].end, follow[-1], follow[-1].end),
        ):
            if mine.piece in setting.pieces and setting.node(theirs, its) not in moving:
                found.add(setting.node(mine, mark))
    return found


def moving_nodes(setting: Setting) -> set[Node]:
    """Return nodes that answer a lead that moved; those that give where no lead's end did."""
    found: set[Node] = set()
    for ask in setting.asks:
        seam, answer = ask.seam, setting.answers[ask.seam.name]
        asked = abs(setting.off[seam.name]) > met_within(ask, answer) or _is_slide(
            setting.state, ask
        )
        everything = setting.giving == ALL and asked
        ends = setting.ends_of(seam.follow), (answer.start, answer.end), ask.between
        for node, answers, between in zip(*ends, strict=True):
            led = answer.lead_moved and not between
            gives = answers or (between and setting.giving == FREELY)
            if everything or (gives and (led or asked)):
                found.add(node)
        if everything:
            found.update(setting.node(s, m) for s in seam.follow for m in (s.begin, s.end))
    return found


def move_of(setting: Setting, node: Node, first: int) -> tuple[Move, int]:
    """Tell how a node may move, with unknowns from `first`, and how many it uses.

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
                if setting.giving != ALL and not _lead_moved_at(setting, node):
                    return FIXED, 0
                direction = unit(end_direction(edge.points, end))
                return Move(np.array([first]), direction[:, None]), 1
    if setting.giving == ALONG:
        here = _seams_at(setting, node)
        if len(here) == 1 or _is_smooth(piece, here):
            ways = _ways_out(piece, here)
            way = ways[0] if len(ways) == 1 else ways[0] - ways[1]  # halfway between the two
            along = frozenset(span.edge for span, _ in here)
            return Move(np.array([first]), (way / np.hypot(*way))[:, None], along), 1
    return Move(np.array([first, first + 1]), np.eye(2)), 2


def smooth_joints(setting: Setting, name: str) -> tuple[frozenset[int], frozenset[int]]:
    """Find corners across which a run goes on as one curve, by the edge that starts there.

    Returns all of them, and those at which nothing that is asked about ends.
    """
    piece = setting.pieces[name]
    found = set()
    for node in ends_of_runs(setting):
        if node.piece == name and not node.landmark:
            here = _seams_at(setting, node)
            curved = not any(is_straight(piece.edge(span.edge).points) for span, _ in here)
            if curved and _is_smooth(piece, here):
                found.add(node)
    ends: set[Node] = set()
    for run in (run for ask in setting.asks for run in ask.runs):
        for span, mark in ((run[0], run[0].begin), (run[-1], run[-1].end)):
            if span.piece in setting.pieces:
                ends.add(setting.node(span, mark))
    return frozenset(n.edge for n in found), frozenset(n.edge for n in found - ends)


def _is_smooth(piece: SizedPiece, spans: Sequence[tuple[Span, End]]) -> bool:
    """Tell whether two spans that meet in a corner run on there as one line."""
    if len({span.edge for span, _ in spans}) != 2:
        return False
    first, second = _ways_out(piece, spans)
    return bool(first @ second < -np.cos(np.radians(_SMOOTH_DEG)))


def _ways_out(piece: SizedPiece, spans: Sequence[tuple[Span, End]]) -> list[Array]:
    """Return the unit directions in which edges of spans run on beyond a corner."""
    ways = []
    for name, end in {span.edge: end for span, end in spans}.items():
        edge = piece.edge(name)
        way = unit(end_direction(edge.points, end, turns=edge.turns))
        ways.append(way if end == "end" else -way)
    return ways


def _seams_at(setting: Setting, node: Node) -> list[tuple[Span, End]]:
    """Return spans of seams that end at a corner, and the end of the edge that it is there."""
    found: list[tuple[Span, End]] = []
    if node.landmark:
        return found
    piece = setting.pieces[node.piece]
    for span in (span for ask in setting.asks for run in ask.runs for span in run):
        for mark in (span.begin, span.end) if span.piece == node.piece else ():
            if setting.node(span, mark) == node:
                at_start = piece.distance(span.edge, mark) <= SAME_POINT_MM
                found.append((span, "start" if at_start else "end"))
    return found


def _lead_moved_at(setting: Setting, node: Node) -> bool:
    for ask in setting.asks:
        answer = setting.answers[ask.seam.name]
        ends = zip(setting.ends_of(ask.seam.follow), (answer.start, answer.end), strict=True)
        if answer.lead_moved and (node, True) in ends:
            return True
    return False


def held_stretches(
    setting: Setting,
) -> tuple[dict[tuple[str, str], tuple[float, float]], set[Node]]:
    """Return stretches that a hold keeps, by (piece, edge), and the corners on them."""
    held: dict[tuple[str, str], tuple[float, float]] = {}
    fixed: set[Node] = set()
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


def places_of_ends(setting: Setting, piece: str) -> dict[str, list[float]]:
    """Tell where the lines of a piece need vertices: at the ends of every span on it."""
    places: dict[str, list[float]] = {}
    for ask in setting.asks:
        for span in (span for run in ask.runs for span in run if span.piece == piece):
            places.setdefault(span.edge, []).extend(span_ends(setting.pieces[piece], span))
    return places
