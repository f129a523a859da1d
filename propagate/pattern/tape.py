"""Elastics and tapes that are no pieces: a length to cut, from what they are sewn to."""

from __future__ import annotations

from dataclasses import field

from propagate.pattern.beside import INSIDE, OUT, length_beside
from propagate.pattern.ease import EaseSaid, zone_ease
from propagate.pattern.runs import Run
from propagate.pattern.spans import Lookup
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["Tape", "cut_length"]


@dataclass(frozen=True)
class Tape:
    """An elastic or a tape: no piece, but a length to cut for what it is sewn to."""

    name: str = field(metadata=told("name", "what it is called"))
    run: Run = field(metadata=told("run", "what it is sewn to, or lies in"))
    ease: EaseSaid = field(
        default=0.0, metadata=told("zone ease", "by how much the run is longer than what is cut")
    )
    out: float = field(default=0.0, metadata=OUT)
    inside: float = field(default=0.0, metadata=INSIDE)
    ends: float = field(
        default=0.0,
        metadata=told("length", "what is added in all for its ends: an overlap, what is turned in"),
    )
    times: int = field(
        default=1,
        metadata=told("count", "how often the run goes along it: 2 for a run on half a piece"),
    )


def cut_length(lookup: Lookup, tape: Tape, size: str) -> float:
    """Length to cut, mm: what is sewn, with the ends.

    Parameters
    ----------
    lookup : callable
    tape : Tape
    size : str
        Of which an ease by size is taken.
    """
    run = tape.times * length_beside(lookup, tape.run, tape)
    return run - zone_ease(tape.ease, size, run, run) + tape.ends
