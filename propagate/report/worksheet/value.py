"""What a work sheet says, as plain immutable values.

The PDF and ``--json`` are both written from this.  Texts are in the unit of the sheet;
the numbers beside them are millimetres and degrees with every digit.  Letters are those of
`propagate.report.lettering`; each piece has its own.
"""

from __future__ import annotations

from dataclasses import asdict, field
from typing import Any, Literal

from propagate.report.lettering import LetterKind
from propagate.report.units import Unit
from propagate.values import dataclass

__all__ = [
    "Apart",
    "At",
    "Check",
    "CutRow",
    "EdgeWork",
    "Letter",
    "Mark",
    "Offset",
    "PieceWork",
    "Purpose",
    "Sentence",
    "Step",
    "Taken",
    "Widest",
    "WorkSheet",
    "sheet_plain",
]

Purpose = Literal["to change", "to lay over", "to tape"]
Way = Literal["", "by tracing"]
At = Literal["", "corner", "old line", "new leg", "old leg", "turn", "to turn", "from turn"]
"""What a row of a table stands at."""


@dataclass(frozen=True)
class Taken:
    """A piece to take out before the work: in which size, and what for."""

    piece: str
    title: str
    size: str
    purpose: Purpose


@dataclass(frozen=True)
class CutRow:
    """A piece that is not re-cut: the size to cut it in, how many, and from what."""

    piece: str
    title: str
    size: str
    cut: int
    pair: bool
    fabric: str
    words: str


@dataclass(frozen=True)
class Widest:
    """Where a change is widest.

    `mm` is the record's.  `along_mm` is the distance from the start of the edge, on its
    old line.
    """

    mm: float
    along_mm: float


@dataclass(frozen=True)
class Offset:
    """A point of a new line: so far along the old line, then square to it.

    `along_mm` is measured from the old corner that the table names; it is negative, or more
    than the old line is long, where the old line is run straight on beyond its end.
    `out_mm` is positive away from the piece (paper to add) and negative into it (paper to
    cut away).  `at` tells rows that stand at a new corner, at a dart leg, at a turn inside
    the edge, or where the new line leaves the old one or comes back to it; `letter` that of
    the corner or leg.  A corner inside both lines has two rows: "to turn" is measured from the
    old line before its own corner, "from turn" from that after it, either run straight on past
    it; so are the rows before and after these.
    """

    along_mm: float
    out_mm: float
    at: At = ""
    letter: str = ""


@dataclass(frozen=True)
class EdgeWork:
    """What is done to one changed edge; every changed edge has exactly one.

    Attributes
    ----------
    letters : (str, str)
        Of the corners where it starts and ends.
    before_mm, after_mm : float
        Its length.
    added, trimmed : Widest or None
        None when there is nothing to speak of.
    kept_start_mm, kept_end_mm : float
        How far the old line stays, from its start and from its end.
    kept_between_mm : tuple of (begin, end)
        Further stretches that stay, from the start of the old line.
    mouth_mm : float
        Of the length now, what lies in mouths of darts.
    offsets_from : str
        Letter of the corner whose old place the rows are counted from; "" without rows.
    chord : tuple of Offset
        Rows that are counted from the first of the two letters along the straight line
        between the new corners, where the new line lies too far from the old one.
    drawn : bool
        Whether a hand draws anything of it.
    """

    piece: str
    edge: str
    letters: tuple[str, str]
    text: str
    before_mm: float
    after_mm: float
    added: Widest | None = None
    trimmed: Widest | None = None
    kept_start_mm: float = 0.0
    kept_end_mm: float = 0.0
    kept_between_mm: tuple[tuple[float, float], ...] = ()
    mouth_mm: float = 0.0
    offsets_from: str = ""
    offsets: tuple[Offset, ...] = ()
    chord: tuple[Offset, ...] = ()
    allowance_mm: float = 0.0
    drawn: bool = False


@dataclass(frozen=True)
class Sentence:
    """One sentence of a step and the measures in it: name, and mm or degrees."""

    text: str
    measures: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Step:
    """One step, in the order of work; `way` marks those that only one way to work needs."""

    number: int
    title: str
    pieces: tuple[str, ...]
    sentences: tuple[Sentence, ...]
    edges: tuple[EdgeWork, ...] = ()
    way: Way = ""


@dataclass(frozen=True)
class Letter:
    """A letter of a piece and what it stands for."""

    letter: str
    kind: LetterKind
    name: str


@dataclass(frozen=True)
class Mark:
    """A notch, dart leg or landmark in its new place: so far along the new line."""

    letter: str
    name: str
    edge: str
    kind: str
    origin: str
    along_mm: float


@dataclass(frozen=True)
class Apart:
    """A point inside the piece, straight from two lettered points of the new outline."""

    letter: str
    name: str
    first: str
    first_mm: float
    second: str
    second_mm: float


@dataclass(frozen=True)
class PieceWork:
    """All measures of one re-cut piece."""

    piece: str
    title: str
    size: str
    words: str
    edges: tuple[EdgeWork, ...]
    letters: tuple[Letter, ...]
    marks: tuple[Mark, ...]
    inside: tuple[Apart, ...]


@dataclass(frozen=True)
class Check:
    """Something to walk or measure at the end, and what to expect.

    `kind` is that of the walk.  `first` and `second` are millimetres, or degrees for a
    corner, and so is `within`, by how much they may differ beside the ease; None where the
    second may be any larger.  With a `note` the two differ, and the note says by how much: it
    is to look at, not to tick.
    """

    kind: str
    name: str
    first_what: str
    second_what: str
    first: float
    second: float
    ease: float = 0.0
    note: str = ""
    within: float | None = None


@dataclass(frozen=True)
class WorkSheet:
    """A result told for people who work on paper."""

    set_name: str
    size: str
    edit: str
    edits: tuple[str, ...]
    unit: Unit
    cautions: tuple[str, ...]
    take_out: tuple[Taken, ...]
    cut_list: tuple[CutRow, ...]
    steps: tuple[Step, ...]
    checks: tuple[Check, ...]
    pieces: tuple[PieceWork, ...] = field(default=())

    @property
    def edges(self) -> tuple[EdgeWork, ...]:
        """Every changed edge, in the order of work."""
        return tuple(edge for step in self.steps for edge in step.edges)


def sheet_plain(sheet: WorkSheet) -> dict[str, Any]:
    """Write all that the sheet says; lengths in mm, angles in degrees, texts in its unit."""
    plain = asdict(sheet)
    plain["unit"] = sheet.unit.name
    for step in plain["steps"]:
        for sentence in step["sentences"]:
            sentence["measures"] = dict(sentence["measures"])
    return plain
