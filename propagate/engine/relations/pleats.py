"""Put the marks of pleats and tucks where their edge has them now, and their lines with them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.marks_on_lines import kept_or_share, put_mark, with_marks
from propagate.engine.pleats import laid_anew, pleat_words
from propagate.engine.record import EDIT
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.geometry.polyline import arc_lengths
from propagate.pattern.model import InternalLine, SizedPiece
from propagate.pattern.pleats import FoldedRun, Pleats, folded_run
from propagate.pattern.spans import span_ends
from propagate.tolerances import ON_LINE_MM, RESTS_MM

__all__ = ["apply", "fold_anew"]


_AT_MARK_MM = 2.0
"""An inner line that ends so near to a mark of a pleat is a line of that pleat."""


def fold_anew(state: State) -> None:
    """Fold every pleated run of which the piece has changed; raises as `apply`."""
    for pleats in state.pattern.relations.pleats.values():
        span = pleats.run[0]
        if span.piece in state.pieces:
            apply(state, pleats, span.key if span.key in state.changes else EDIT)


def apply(state: State, pleats: Pleats, cause: str) -> bool:
    """Fold the run anew; returns whether a mark or a line moved.

    Raises
    ------
    Conflict
        When the pleats would take up all of their run.
    """
    span = pleats.run[0]
    piece = state.lookup(span.piece)
    now = folded_run(piece, pleats)
    was = _choose_model(state, pleats)
    begin, end = span_ends(state.source(span.piece), span)
    to_start = {  # of marks that are anchored to an end of their edge: whether to the run's start
        mark: (anchor == f"{span.edge}.start") == (begin <= end)
        for mark, anchor in state.pattern.info[span.piece].anchors.items()
        if anchor in (f"{span.edge}.start", f"{span.edge}.end")
    }
    wanted = laid_anew(pleats, was, now.open_mm, to_start)
    if wanted.closed_mm <= ON_LINE_MM:
        raise Conflict(
            f"pleats '{pleats.name}' take up {wanted.taken_up.sum():.1f} mm of '{span.key}', which "
            f"has {now.open_mm:.1f} mm; make the change smaller, or let their depth go with the "
            'edge, keep = "ratio"',
            causes=(
                f"'{pleats.name}': {wanted.taken_up.sum():.1f} mm",
                f"'{span.key}': {now.open_mm:.1f} mm",
            ),
            distance_mm=float(wanted.taken_up.sum()) - now.open_mm,
        )
    _refuse_over_darts(piece, pleats, wanted)
    begin, end = span_ends(piece, span)
    way, put = 1.0 if begin <= end else -1.0, {}
    lies = {name: _place_share(now, fold, share) for name, fold, share in now.marks}
    for name, fold, share in wanted.marks:
        at = _place_share(wanted, fold, share)
        if abs(at - lies[name]) > RESTS_MM:
            put[name] = put_mark(piece.landmark(name), piece.edge(span.edge), begin + way * at)
    fresh = _with_lines(state, with_marks(piece, put) if put else piece, pleats)
    if fresh is piece:
        return False
    state.pieces[span.piece] = fresh
    text = f"'{pleats.name}' folded anew: {pleat_words(pleats, wanted, _write_mm)}"
    state.change_beside(span.key, pleats.name, text, cause)
    return True


def _refuse_over_darts(piece: SizedPiece, pleats: Pleats, wanted: FoldedRun) -> None:
    """Refuse pleats that would fold away a part of a dart; raises Conflict."""
    span = pleats.run[0]
    begin, end = span_ends(piece, span)
    way = 1.0 if begin <= end else -1.0
    for dart in piece.darts:
        if dart.edge != span.edge:
            continue
        low, high = sorted(way * (piece.distance(span.edge, leg) - begin) for leg in dart.legs)
        over = [min(high, b) - max(low, a) for a, b in wanted.folds.tolist()]
        if max(over, default=0.0) > ON_LINE_MM:
            raise Conflict(
                f"pleats '{pleats.name}' would lie over dart '{dart.name}' on '{span.key}' by "
                f"{max(over):.1f} mm; make the change smaller, or move the dart or the pleat away "
                "first",
                causes=(f"'{pleats.name}'", f"dart '{dart.name}' of '{span.piece}'"),
                distance_mm=max(over),
            )


def _write_mm(amount: float) -> str:
    return f"{amount:.1f} mm"


def _choose_model(state: State, pleats: Pleats) -> FoldedRun:
    """How the pleats are to lie: as they were, or as the edit itself put their marks.

    On an edge that became another one, marks that only went along say nothing; those that a
    drawing from outside shows elsewhere do.
    """
    span = pleats.run[0]
    was = folded_run(state.source(span.piece), pleats)
    marks = {f"{span.piece}.{name}" for name, _, _ in was.marks}
    if span.piece not in state.given.pieces or not marks & state.remarked:
        return was
    given = folded_run(state.given.pieces[span.piece], pleats)
    if span.key not in state.redrawn:
        return given
    source, piece = state.source(span.piece), state.given.pieces[span.piece]
    edge = piece.edge(span.edge)
    drawn_there = any(  # elsewhere than where its edge took it
        abs(piece.distance(span.edge, mark) - kept_or_share(source, edge, source.landmark(mark)))
        > _ALIKE_MM
        for row in pleats.pleats
        for mark in row.marks
    )
    if span.piece in state.given.loose or not drawn_there:
        return was
    if np.abs(given.taken_up - was.taken_up).max() <= _ALIKE_MM:
        return given  # as deep as they were, and in the places that were drawn
    state.notice(
        span.piece,
        f"the marks of '{pleats.name}' were drawn anew with '{span.edge}': "
        f"{pleat_words(pleats, was, _write_mm)} before, now "
        f"{pleat_words(pleats, given, _write_mm)}",
        "look whether they are to be folded so",
    )
    return given


_ALIKE_MM = 0.5
"""A fold that was drawn this close to what it was is no deeper on purpose."""


def _place_share(lies: FoldedRun, fold: int, share: float) -> float:
    low, high = lies.folds[fold].tolist()
    return float(low + share * (high - low))


def _with_lines(state: State, piece: SizedPiece, pleats: Pleats) -> SizedPiece:
    """The piece with the lines that end at marks of pleats there; itself where they are.

    A line between two of them is drawn from one to the other; one with a free end goes along.
    """
    source = state.source(pleats.run[0].piece)
    own = {mark for row in pleats.pleats for mark in row.marks}
    every = {mark for pleat in source.pleats for mark in pleat.marks}
    drawn = {line.name: line for line in source.lines}
    turn = source.grain.turn_to(piece.grain)
    lines = []
    for line in piece.lines:
        model = drawn.get(line.name)
        if model is None:
            lines.append(line)
            continue
        met, moves = set(), []
        for end in (0, -1):
            gaps = {
                mark.name: float(np.hypot(*(mark.point - model.points[end])))
                for mark in source.landmarks
                if mark.name in every
            }
            near = min(gaps, key=lambda name: (gaps[name], name), default="")
            if not near or gaps[near] > _AT_MARK_MM:
                continue
            away = model.points[end] - source.landmark(near).point
            moves.append(piece.landmark(near).point + turn.rotate(away) - line.points[end])
            met.add(near)
        if met & own and np.abs(moves).max() > RESTS_MM:
            arc = arc_lengths(line.points)
            share = (arc / arc[-1])[:, None]
            shifted = line.points + (1.0 - share) * moves[0] + share * moves[-1]
            line = InternalLine(line.name, rounded(shifted))
        lines.append(line)
    same = all(a is b for a, b in zip(lines, piece.lines, strict=True))
    return piece if same else replace(piece, lines=tuple(lines))
