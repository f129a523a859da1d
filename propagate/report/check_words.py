"""What the checks of a walk are called: one line for each kind, for every report.

What is said here depends on no report: a kind that has no line goes by its own word, so that a
relation that was plugged in is told as well.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable

from propagate.counts import say_count
from propagate.engine.record import Record
from propagate.engine.rows import Check
from propagate.report.units import Unit, add_figures, drop_sign, subtract_figures
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = [
    "CHECKS",
    "CheckWords",
    "checks_counted",
    "degrees_over",
    "difference_of_row",
    "kinds_counted",
    "reached_kinds",
    "words_of",
]


@dataclass(frozen=True)
class CheckWords:
    """How the checks of a kind are told.

    Attributes
    ----------
    one : str
        One check.
    title : str
        Above a table of them.
    on_paper : str
        Above their table on a work sheet; empty: as in `title`.
    sides : (str, str)
        What the two figures of a check are called.
    many : str
        Several checks; empty: as `one` with an s.
    of : str
        What it belongs to where that is told as a whole: the checks of a seam's notches and
        corners are the seam's.  Empty: it stands for itself.
    degrees : bool
        It measures an angle, and no length.
    both_lines : bool
        What the cut lines would have said is told of it.
    of_body : bool
        It compares the garment with a body, and is told in a table of its own.
    called : callable
        What one check is called among the others of its kind.
    to_do : str
        What is to be done where one does not sew, as notices say it.
    """

    one: str
    title: str
    on_paper: str = ""
    sides: tuple[str, str] = ("lead", "follower")
    many: str = ""
    of: str = ""
    degrees: bool = False
    both_lines: bool = False
    of_body: bool = False
    called: Callable[[Check], str] = lambda check: check.name
    to_do: str = "change one of the two sides so that they agree"

    @property
    def several(self) -> str:
        """What more than one are called."""
        return self.many or f"{self.one}s"


CHECKS: dict[str, CheckWords] = {
    "seam": CheckWords(
        "seam",
        "Seams",
        "Seams: walk one side along the other",
        both_lines=True,
        to_do="change one of the two sides so that they agree, or say it as an ease of the seam",
    ),
    "notches": CheckWords(
        "notch pair",
        "Notch pairs, measured from the start of the seam",
        "Notch pairs: their distance from where the seam begins",
        of="seam",
        called=lambda check: check.what,
        to_do="put the pair elsewhere, or take it out of the seam",
    ),
    "opening": CheckWords(
        "opening",
        "Pocket openings",
        "Openings",
        ("main", "layer"),
        of="pocket",
        to_do="put its landmarks on the ends of the opening",
    ),
    "band": CheckWords(
        "band zone",
        "Bands, zone by zone",
        "Bands, zone by zone",
        ("band", "run"),
        to_do="change one of the two sides so that they agree, or say it as an ease of the zone",
    ),
    "corner": CheckWords(
        "corner",
        "Corners across seams, should add up to 180°: more (+) is a dip, less (-) a peak",
        "Corners across seams, in degrees",
        of="seam",
        degrees=True,
        called=lambda check: f"{check.name}: {' | '.join(check.sides)}",
        to_do="true the lines by hand, or leave them if the peak or dip is meant",
    ),
    "seam_opening": CheckWords(
        "opening in a seam",
        "Openings in seams",
        "Openings in seams: one side and the other",
        sides=("one side", "other"),
        many="openings in seams",
        to_do="put its ends on both sides as far along the seam",
    ),
    "buttons": CheckWords(
        "row of buttons",
        "Buttons, from the start of their edge",
        "Buttons, from the start of their edge: A is meant, B is found",
        sides=("meant", "lies"),
        many="rows of buttons",
        to_do="move them to where they are meant, or say in the set where they lie",
    ),
    "pleats": CheckWords(
        "pleated run",
        "Pleats and tucks, closed",
        "Pleats and tucks, closed: A is meant, B is found",
        sides=("meant", "closed"),
        to_do="change the edge, or how deep its pleats are, so that they agree",
    ),
    "tape": CheckWords(
        "elastic or tape",
        "Elastics and tapes, the length to cut",
        "Elastics and tapes: A is the run, B the length to cut",
        sides=("run", "cut"),
        many="elastics and tapes",
        to_do="say in the set how long it is to be cut",
    ),
    "derived": CheckWords(
        "derived piece",
        "Derived pieces, off their definition",
        "Derived pieces: lay A on B, which it is drawn from, and compare",
        sides=("meant", "drawn"),
        to_do="look which of the two was meant",
    ),
    "patch": CheckWords(
        "place",
        "Places of what is set on, to the edge with least room",
        "Places of what is set on: A is the least room, B is found",
        sides=("allowance", "distance"),
        to_do="move its marks, or measure it from other edges",
    ),
    "welt_opening": CheckWords(
        "check of a welt opening",
        "Welt openings: what is sewn to them, their room, their bags",
        "Welt openings: A is meant, B is found",
        sides=("meant", "found"),
        many="checks of welt openings",
        to_do="move the opening, or make what is sewn to it fit",
    ),
    "alike": CheckWords(
        "copy",
        "Pieces that are cut alike, off the first of them",
        "Pieces that are cut alike: lay A on B, outline on outline",
        sides=("meant", "drawn"),
        many="copies",
        to_do="look which of the two was meant",
    ),
    "girth": CheckWords(
        "girth",
        "Girths of the finished garment against the body",
        "Girths of the finished garment",
        ("body", "garment"),
        of_body=True,
        to_do="let it out there, or take a larger size",
    ),
}
"""By the word of the check, in the order in which they are told."""


def reached_kinds(record: Record) -> list[str]:
    """Return the kind of every check in a record, which has those that the change reached."""
    rows = (*record.checks, *record.walked_corners)
    others = ["opening"] * len(record.openings) + ["girth"] * len(record.girths)
    return [row.kind for row in rows] + others


def checks_counted(kinds: Iterable[str]) -> str:
    """Tell how many checks there are, of what: ``34 checks: 21 seams, 13 notch pairs``."""
    kinds = list(kinds)
    return f"{say_count(len(kinds), 'check')}: {kinds_counted(kinds)}"


def kinds_counted(kinds: Iterable[str]) -> str:
    """Tell how many checks there are of each kind, in the order in which they are told."""
    counts = Counter(kinds)
    order = [*(kind for kind in CHECKS if kind in counts), *sorted(counts.keys() - CHECKS.keys())]
    told = [(counts[kind], words_of(kind)) for kind in order]
    return ", ".join(f"{n} {words.one if n == 1 else words.several}" for n, words in told)


def degrees_over(check: Check) -> str:
    """Say by how much two angles of a corner add up to more than is wanted; less has a minus."""
    return drop_sign(f"{check.first - check.second:+.1f}")


def difference_of_row(check: Check, unit: Unit, more: int = 0) -> str:
    """Return the difference beside what it comes from, so that a row adds up as it is printed.

    Parameters
    ----------
    more : int
        Decimals of all of them beyond those of a length.
    """
    if words_of(check.kind).degrees:
        return degrees_over(check)
    if abs(check.second - check.first - check.ease - check.difference) > ON_LINE_MM:
        return unit.change(check.difference, more)  # such as room, of which there may be more
    first, second, ease = (unit.length(v, more) for v in (check.first, check.second, check.ease))
    return subtract_figures(second, add_figures(first, ease))


def words_of(kind: str) -> CheckWords:
    """Tell how a check is told; one of a kind without a line goes by its word."""
    found = CHECKS.get(kind)
    return found or CheckWords(kind, kind[:1].upper() + kind[1:])
