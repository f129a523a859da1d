"""Visit the steps in order, and again where something that came later changed what they read.

Matching a follower moves its end, and the edges that cross there follow their corner.  What
is sewn to those edges is visited too: after it, where the order of work can have it so, and
else once more.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from propagate.engine.graph import CUT, RelationNode, causes_of, edges_read, level_node, readers_of
from propagate.engine.kinds import relation_of, work_of
from propagate.engine.record import EDIT
from propagate.engine.state import State
from propagate.engine.steps import Step
from propagate.pattern.model import SizedPiece

__all__ = ["Visits", "judged_by"]

_ROUNDS = 4
"""Seams that wait for each other are matched together; more rounds are for odd rings."""


class Visits:
    """The visits of one propagation.

    Parameters
    ----------
    state : State
    carry : callable
        Carries a change through one step: ``carry(state, step, causes)``.
    """

    def __init__(
        self, state: State, carry: Callable[[State, Step, Mapping[RelationNode, str]], None]
    ) -> None:
        self._state, self._carry = state, carry
        self._clock = 0
        self._visited: dict[RelationNode, int] = {}
        self._stirred: dict[str, int] = {}
        self._cut: dict[str, int] = {}  # edges cut apart or re-seated after a seam read them

    @property
    def done(self) -> list[RelationNode]:
        """Relations that were visited, in the order of their first visits."""
        return list(self._visited)

    def once(self, steps: Sequence[Step], near: Sequence[RelationNode], *, always: bool) -> None:
        """Visit the steps in order.

        Parameters
        ----------
        steps : sequence of Step
        near : sequence of RelationNode
            Those that read what the edit can change; the others are visited only when
            an edge that they read followed its corner.
        always : bool
            Visit those also when nothing they read changed.
        """
        close = set(near)
        for step in steps:
            causes = {}
            for node in step:
                if self._waits(node, close):
                    continue
                cause = self._due(node)
                if node in close:
                    cause = (EDIT if always else self._changed(node)) or cause
                if cause is not None:
                    causes[node] = cause
            if causes:
                self._visit(step, causes)

    def settle(self, steps: Sequence[Step]) -> None:
        """Visit again what read an edge that changed since, until nothing is due."""
        for _ in range(_ROUNDS):
            changed = False
            for step in steps:
                causes = self._all_due(step)
                changed |= bool(causes) and self._visit(step, causes)
            if not changed:
                return
        for step in steps:
            if self._all_due(step):
                self._state.notice(
                    step[0][1],
                    f"was matched {_ROUNDS} times and moves each time: it shares a corner with "
                    "another seam, and each of the two moves the other's end",
                    "look at its length",
                )

    def _waits(self, node: RelationNode, close: Collection[RelationNode]) -> bool:
        """Whether an outline that an edit drew is still to be cut apart before a seam is matched.

        Mains that the edit matched itself are not waited for: they are matched in one piece.
        Nor are pieces that it gave whole, which nothing cuts.
        """
        state = self._state
        if state.matched_by_edit or work_of(node[0]).written is None:
            return False
        parts_of = state.pattern.relations.parts_of
        pieces = {key.partition(".")[0] for key in edges_read(state.pattern, node)}
        cut = pieces - set(state.given.pieces)
        owners = {parts_of.get(piece, piece) for piece in cut} & set(state.edited)
        return any(
            state.edited[owner].changed
            and (CUT, owner) in close
            and (CUT, owner) not in self._visited
            for owner in owners
        )

    def _all_due(self, step: Step) -> dict[RelationNode, str]:
        return {node: cause for node in step if (cause := self._due(node)) is not None}

    def stirred(self) -> list[str]:
        """``PIECE.EDGE`` of the edges that seams and bands changed, corners included."""
        return list(self._stirred)

    def touch(self, keys: Sequence[str]) -> None:
        """Note that edges, or marks on them, were changed by something that is no relation."""
        self._clock += 2
        self._stirred.update(dict.fromkeys(keys, self._clock))

    def _changed(self, node: RelationNode) -> str | None:
        read, levels = causes_of(self._state.pattern, node), level_node("")
        changed = [name for name in read if name in self._state.changes]
        found = next((name for name in changed if not name.startswith(levels)), None)
        if found is None:
            pieces = dict.fromkeys(name.partition(".")[0] for name in read if "." in name)
            found = next(filter(None, map(self._in_other_size, pieces)), None)
        return found or next(iter(changed), None)

    def _in_other_size(self, piece: str) -> str | None:
        """What took a piece in another size: it has changed as a whole; None when nothing did."""
        state = self._state
        if state.size_of(piece) == state.job.size:
            return None
        return next((name for name in state.changes if name.startswith(f"{piece}.")), EDIT)

    def _due(self, node: RelationNode) -> str | None:
        """The edge that changed since a relation was visited; None when none did."""
        work = work_of(node[0])
        if work.written is None or not (self._stirred or self._cut):
            return None
        since, stirred, cut = self._visited.get(node, 0), self._stirred, self._cut
        late = [
            key
            for key in edges_read(self._state.pattern, node)
            if max(stirred.get(key, 0), cut.get(key, 0)) > since
        ]
        own = work.spared(self._state, relation_of(self._state.pattern, node)) if late else None
        if own is None:
            return None
        # Where the follower was cut apart too, the edit has matched the two.
        matched = self._state.matched_by_edit
        if cut and matched and any(key in cut for key in self._written(node)):
            late = [key for key in late if stirred.get(key, 0) > since]
        return next((key for key in late if key not in own), None)

    def _visit(self, step: Step, causes: Mapping[RelationNode, str]) -> bool:
        """Carry a change through one step, and note which edges it changed."""
        state = self._state
        before = dict(state.pieces)
        self._clock += 2
        self._visited.update(dict.fromkeys(causes, self._clock))
        self._carry(state, step, causes)
        work = work_of(step[0][0])
        if not work.cuts and work.written is None:
            return False
        stirred = [
            f"{name}.{edge}"
            for name, piece in state.pieces.items()
            if piece is not before.get(name)
            for edge in _list_differing(before.get(name) or state.source(name), piece)
        ]
        if work.cuts:
            self._cut.update(dict.fromkeys(stirred, self._clock))
            return False
        own = {key for node in step for key in self._written(node)}
        for key in stirred:
            # What a step wrote without meaning to makes its own readers due.
            self._stirred[key] = self._clock + (key not in own)
        return bool(stirred)

    def _written(self, node: RelationNode) -> set[str]:
        state, written = self._state, work_of(node[0]).written
        return set() if written is None else written(state, relation_of(state.pattern, node))


def _list_differing(old: SizedPiece, new: SizedPiece) -> list[str]:
    """Edges that differ, or have a mark that lies elsewhere."""
    marks = set(new.landmarks) - set(old.landmarks)
    return [
        now.name
        for was, now in zip(old.edges, new.edges, strict=True)
        if was != now or any(mark.edge == now.name for mark in marks)
    ]


def judged_by(state: State, keys: Sequence[str]) -> list[RelationNode]:
    """Seams, bands, girths and openings that are judged by some edges, by name."""
    return sorted({node for key in keys for node in readers_of(state.pattern, key)})
