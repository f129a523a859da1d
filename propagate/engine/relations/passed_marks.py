"""Marks that an opening or a layer's end went past, and the mates that they have.

A mark belongs to an edge of its piece.  Where that edge became shorter than the place of the
mark, the mark is put at its end; the notch that it meets across a seam goes with it, so that
the two still say where the seam is sewn together, or the pair is told as lost.
"""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.record import ChangeKind, Notice
from propagate.engine.relations.notch_pairs import move_notch, pair_apart
from propagate.engine.state import State
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.relation_edges import runs_of
from propagate.pattern.relations import Seam
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = ["follow_passed"]

_ROUNDS = 4
"""Darts and ease between two places of a mark: each round leaves a small share of the last."""


def follow_passed(state: State) -> list[str]:
    """Let the mates of marks that were put at an end follow, and tell of both.

    Returns
    -------
    list of str
        ``PIECE.EDGE`` of the edges on which a mate was moved.
    """
    touched: list[str] = []
    for (piece, name), passed in sorted(state.passed.items()):
        mark = state.lookup(piece).landmark(name)
        told = (
            f"{mark.kind} '{name}' would lie {passed.beyond_mm:.1f} mm beyond the end of edge "
            f"'{passed.edge}', which ends before it now; it was put at that end"
        )
        for ends in _pull_mates(state, f"{piece}.{name}", touched):
            told += ends
        do = "look whether the mark belongs there, else move it and its mates"
        state.first.append(Notice(piece, told, do))
    return touched


def _pull_mates(state: State, passed: str, touched: list[str]) -> Iterator[str]:
    """Move the mate of a mark, and the mates of that; words for each."""
    todo, seen = [passed], {passed}
    while todo:
        moved = todo.pop()
        mates = [
            (seam, lead if follow == moved else follow, follow == moved)
            for seam in state.pattern.relations.seams.values()
            for lead, follow in seam.notches
            if moved in (lead, follow)
        ]
        for seam, mate, leads in mates:
            if mate in seen:
                continue
            seen.add(mate)
            off = _measure_lag(state, seam, moved, mate, leads=leads)
            if off is None:
                yield f"; its pair with '{mate}' across seam '{seam.name}' is lost"
            elif abs(off) <= SEAM_LENGTH_MM:
                continue
            elif _put_mate(state, seam, moved, mate, leads=leads):
                todo.append(mate)
                to, cause = _edge_of(state, mate), _edge_of(state, moved)
                text = f"notch '{mate.partition('.')[2]}' follows '{moved}'"
                known = cause if cause in state.changes else None
                state.change(to, ChangeKind.NOTCH_FOLLOWS, text, known)
                touched.append(to)
                yield f", and '{mate}', which it meets, went {abs(off):.1f} mm with it"
            else:
                yield (
                    f"; '{mate}', which it meets across seam '{seam.name}', cannot follow and is "
                    f"{abs(off):.1f} mm away: the pair is lost, mark it by hand"
                )


def _edge_of(state: State, mark: str) -> str:
    """``PIECE.EDGE`` on which a mark lies."""
    piece, _, name = mark.partition(".")
    return f"{piece}.{state.lookup(piece).landmark(name).edge}"


def _measure_lag(state: State, seam: Seam, moved: str, mate: str, *, leads: bool) -> float | None:
    """How far the follower's notch lies behind its place, mm; None when one is not on the run."""
    lead, follow = (mate, moved) if leads else (moved, mate)
    size = state.size_of(seam.lead[0].piece)
    now = pair_apart(state.lookup, seam, size, lead, follow)
    if now is None or not state.given.pieces:
        return now
    # What a revised pair was apart before stays.
    was = pair_apart(state.source, seam, size, lead, follow)
    return now if was is None else now - was


def _put_mate(state: State, seam: Seam, moved: str, mate: str, *, leads: bool) -> bool:
    """Put a mate where its moved notch is; False, and nothing done, when it cannot go there."""
    piece, _, mark = mate.partition(".")
    # What a run of any relation begins or ends at measures something.
    ends_a_run = any(
        span.piece == piece and mark in (span.begin, span.end)
        for key in KINDS
        for relation in relations_of(state.pattern.relations, key).values()
        for _, run in runs_of(relation)
        for span in run
    )
    if ends_a_run or (piece in state.given.pieces and mate in state.remarked):
        return False
    before = state.lookup(piece)
    for _ in range(_ROUNDS):
        off = _measure_lag(state, seam, moved, mate, leads=leads)
        if off is None or abs(off) <= SEAM_LENGTH_MM / 10:
            break
        run = seam.lead if leads else seam.follow
        if not move_notch(state, run, mate, off if leads else -off):
            break
    off = _measure_lag(state, seam, moved, mate, leads=leads)
    if off is not None and abs(off) <= SEAM_LENGTH_MM:
        return True
    state.pieces[piece] = before
    return False
