"""Read a drawing that is sent for a set: as the set's own, in the sizes of the set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from propagate.io.begin import kind_of, read_style
from propagate.io.drawn_set import wishes_for
from propagate.io.options import ReadOptions
from propagate.io.report import ReadingReport, ReportNotes
from propagate.io.svg.files import ONE_SIZE
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.recognise.way_up import SWAPPED

__all__ = ["read_sent"]

_OF_THE_SET = ("--base", "lay_on")
"""What the set says, whatever the drawing does; so it is with the names of edges."""


def read_sent(
    pattern: PatternSet, files: Sequence[str], wishes: ReadOptions
) -> tuple[PatternSet, ReadingReport]:
    """Read revised pieces for `pattern`.

    A DXF is read as the set's own is.  A drawing of one size that nothing names is taken
    as the base size of the set, and the report says so; which of its sizes is the base
    is the set's to say.

    Raises
    ------
    FormatError
        A file cannot be read.
    """
    notes = ReportNotes()
    if kind_of([Path(file) for file in files]) == "dxf":
        wishes, taken = wishes_for(pattern, wishes)
        if taken:
            said = f"it was read as the set's own drawing is: {', '.join(taken)}"
            notes.add("assumed", said, option="--dxf KEY=VALUE")
    sent, reading = read_style(list(files), wishes)
    lines = [
        line
        for line in reading.lines
        if line.option not in _OF_THE_SET and SWAPPED not in line.text
    ]
    if sent.sizes == (ONE_SIZE,) and ONE_SIZE not in pattern.sizes:
        base = pattern.base
        pieces = {n: Piece(n, {base: p.nest[ONE_SIZE]}) for n, p in sent.pieces.items()}
        sent = replace(sent, sizes=(base,), base=base, pieces=pieces)
        lines = [line for line in lines if line.option != "--sizes"]
        said = f"nothing names its size, so it was taken as '{pattern.base}', the set's base size"
        notes.add("assumed", said, option="--sizes SIZE")
    notes.extend(lines)
    return sent, replace(reading, lines=notes.lines)
