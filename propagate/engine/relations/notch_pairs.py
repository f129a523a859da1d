"""Set the notches of a follower where those of its revised lead are.

A notch belongs to the seam that it marks: what the pair was apart before stays, what the
revision added between them is taken out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from propagate.engine.graph import RelationNode
from propagate.engine.marks_on_lines import put_mark, slid_place, with_marks
from propagate.engine.record import ChangeKind
from propagate.engine.state import State
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Run, Seam
from propagate.pattern.spans import distance_on_run, span_ends
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = ["follow_mouths", "follow_notches", "move_notch", "pair_apart"]

_Lookup = Callable[[str], SizedPiece]


def follow_notches(state: State, order: Iterable[RelationNode]) -> None:
    """Move the followers' notches of every matched seam that was reached."""
    for kind, name in order:
        seam = state.pattern.relations.seams.get(name) if kind == "seam" else None
        if seam is not None and not (seam.check or seam.mirror):
            _follow_pairs(state, seam, seam.notches)


def follow_mouths(state: State, seam: Seam) -> None:
    """Move the follower's notches whose mates are marks of an opening in a seam.

    Those keep their place whatever is drawn, so that they do not go along with the line.
    """
    kept = state.pattern.relations.seam_opening_marks
    _follow_pairs(state, seam, [pair for pair in seam.notches if kept & {*pair} == {pair[0]}])


def _follow_pairs(state: State, seam: Seam, pairs: Iterable[tuple[str, str]]) -> None:
    for lead, follow in pairs:
        piece, _, landmark = follow.partition(".")
        mark = state.lookup(piece).landmark(landmark)
        drawn_there = follow in state.remarked and piece not in state.given.loose
        if drawn_there and not seam.lead_wins:
            continue
        size = state.size_of(seam.lead[0].piece)
        now = pair_apart(state.lookup, seam, size, lead, follow)
        was: float | None = 0.0  # under an ease that the edit gave, nothing was off before
        if seam.name not in state.asked:
            before = state.pattern.in_size(state.job.size)
            was = pair_apart(before, seam, state.job.size, lead, follow)
        if now is None or was is None or abs(now - was) <= SEAM_LENGTH_MM:
            continue
        if not move_notch(state, seam.follow, follow, was - now):
            state.notice(
                piece,
                f"notch '{landmark}' cannot follow '{lead}': it would leave '{mark.edge}'",
                "put the pair elsewhere, or take it out of the seam",
            )
            continue
        state.change(
            f"{piece}.{mark.edge}",
            ChangeKind.NOTCH_FOLLOWS,
            f"notch '{landmark}' follows '{lead}' ({was - now:+.2f} mm)",
            next((s.key for s in seam.lead if s.key in state.changes), None),
        )


def move_notch(state: State, run: Run, name: str, by: float) -> bool:
    """Move ``PIECE.LANDMARK`` along its run by so many mm; False when it would leave its span."""
    piece, _, landmark = name.partition(".")
    sized = state.lookup(piece)
    mark = sized.landmark(landmark)
    span = next(s for s in run if (s.piece, s.edge) == (piece, mark.edge))
    begin, end = span_ends(sized, span)
    place = slid_place(sized, mark, by * (1.0 if begin < end else -1.0))
    if not min(begin, end) <= place <= max(begin, end):
        return False
    put = put_mark(mark, sized.edge(mark.edge), place)
    state.pieces[piece] = with_marks(sized, {landmark: put})
    return True


def pair_apart(lookup: _Lookup, seam: Seam, size: str, lead: str, follow: str) -> float | None:
    """How far the follower's notch lies behind the lead's, ease by share; None off its run."""
    places = []
    for name, run in ((lead, seam.lead), (follow, seam.follow)):
        piece, _, landmark = name.partition(".")
        places.append(distance_on_run(lookup, run, piece, landmark))
    if places[0] is None or places[1] is None:
        return None
    return places[1] - places[0] - seam_ease(lookup, seam, size).before(places[0])
