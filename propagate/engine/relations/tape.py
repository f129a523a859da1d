"""Elastics and tapes: the length to cut, walked, and told when what they are sewn to changed."""

from __future__ import annotations

from propagate.engine.record import Notice
from propagate.engine.rows import Check
from propagate.engine.state import State
from propagate.engine.walk_checks import Walked
from propagate.pattern.beside import length_beside
from propagate.pattern.ease import fullness_words
from propagate.pattern.runs import run_words
from propagate.pattern.tape import Tape, cut_length
from propagate.tolerances import WALK_MM

__all__ = ["apply", "walk_tape"]

_TOLD_MM = 0.05
"""A length that changed by less is cut as before."""


def walk_tape(on: Walked, tape: Tape) -> list[Check]:
    """The length to cut beside that of the run; there must be something to cut."""
    run = tape.times * length_beside(on.piece, tape.run, tape)
    cut = cut_length(on.piece, tape, on.size)
    words = run_words(tape.run)
    share = fullness_words(tape.ease, on.size, lambda mm: f"{mm:g} mm")
    return [
        Check(
            "tape",
            tape.name,
            words,
            run,
            cut,
            cut - run,
            0.0,
            WALK_MM,
            "sews" if cut > 0.0 else "does not sew",
            meant=f"cut {tape.name} {cut:.1f} mm" + (f", {share}" if share else ""),
            sides=(words, ""),
        )
    ]


def apply(state: State, tape: Tape, _: str) -> bool:
    """Tell the length to cut where it is another one; nothing of a piece is changed."""
    if tape.name not in state.tapes:
        state.tapes.add(tape.name)
        # What else comes along the run is known only in the end.
        state.notices.append(lambda: _tell_length(state, tape))
    return False


def _tell_length(state: State, tape: Tape) -> list[Notice]:
    size = state.size_of(tape.run[0].piece)
    was, now = (cut_length(lookup, tape, size) for lookup in (state.source, state.lookup))
    if abs(now - was) <= _TOLD_MM:
        return []
    return [
        Notice(tape.name, "its run changed", f"cut {tape.name} {now:.1f} mm, no longer {was:.1f}")
    ]
