"""The elastics and tapes of a set that are no pieces, in words."""

from __future__ import annotations

from propagate.pattern.ease import ease_words
from propagate.pattern.patternset import PatternSet
from propagate.pattern.tape import Tape
from propagate.report.layout import entries, heading
from propagate.report.units import Unit

__all__ = ["tape_lines", "tapes_plain"]


def tape_lines(pattern: PatternSet, unit: Unit) -> list[str]:
    """The tapes: what they are sewn to, and how much shorter they are cut."""
    pairs = [(name, _words(one, unit)) for name, one in pattern.relations.tapes.items()]
    return heading("elastics and tapes") + entries(pairs) if pairs else []


def _words(tape: Tape, unit: Unit) -> str:
    run = " + ".join(str(span) for span in tape.run)
    words = f"{tape.times} times {run}" if tape.times > 1 else run
    said = [ease_words(tape.ease, unit.said)] if tape.ease else []
    said += [f"{unit.said(tape.ends)} for its ends"] if tape.ends else []
    return f"{words}: {'; '.join(said)}" if said else words


def tapes_plain(pattern: PatternSet) -> list[dict[str, object]]:
    """The same as plain values, mm."""
    return [
        {
            "name": one.name,
            "run": [str(span) for span in one.run],
            "ease": ease_words(one.ease, lambda mm: f"{mm:g} mm"),
            "ends": one.ends,
            "times": one.times,
        }
        for one in pattern.relations.tapes.values()
    ]
