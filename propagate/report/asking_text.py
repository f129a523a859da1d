"""What is asked about a proposal, in words: the pieces by their titles, and which ends meet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, Run, Span
from propagate.pattern.titles import in_sentence, in_words, listed, name_title, piece_title
from propagate.report.layout import entries, sentence
from propagate.report.units import counted
from propagate.suggesting import Proposal
from propagate.suggesting.asking import Asking, can_turn
from propagate.values import dataclass

__all__ = ["Asked", "asked_of", "free_words", "question_lines", "state_lines", "words_of_run"]

_ASKED = {
    "seam": "Are these two sewn together?",
    "mirror seam": "Is this edge sewn to its own mirrored twin?",
    "opening": "Is this edge the opening of a pocket, with this piece behind it?",
    "stack": "Do these layers lie behind the opening?",
    "band": "Is this edge a band's, sewn to these, zone by zone?",
}
_NOTHING = "nothing, the zone keeps its length"


@dataclass(frozen=True)
class Asked:
    """A question in words.

    Attributes
    ----------
    title : str
        The pieces that it is about.
    words : str
        The question.
    sides : tuple of (str, str)
        A mark that the picture has too, and what it stands for.
    ends : tuple of str
        Of a seam, what meets what at its two ends.
    evidence, against : tuple of str
    score : float
    turns : bool
        There is another way round to sew it.
    """

    title: str
    words: str
    sides: tuple[tuple[str, str], ...]
    ends: tuple[str, ...]
    evidence: tuple[str, ...]
    against: tuple[str, ...]
    score: float
    turns: bool


def asked_of(pattern: PatternSet, proposal: Proposal) -> Asked:
    """Put a proposal in words."""
    pieces = dict.fromkeys(span.piece for run in proposal.runs for span in run)
    titles = [in_sentence(piece_title(pattern, piece)) for piece in pieces]
    title = listed(titles)
    return Asked(
        title[:1].upper() + title[1:],
        _ASKED[proposal.kind],
        tuple(_sides(pattern, proposal)),
        tuple(_ends(pattern, *proposal.runs)) if can_turn(proposal) else (),
        tuple(in_words(pattern, text) for text in proposal.evidence),
        tuple(in_words(pattern, text) for text in proposal.against),
        proposal.score,
        can_turn(proposal),
    )


def _sides(pattern: PatternSet, proposal: Proposal) -> Iterator[tuple[str, str]]:
    band = next((one for one in proposal.relations if isinstance(one, Band)), None)
    if band is not None:
        yield "A", words_of_run(pattern, proposal.runs[0])
        for number, zone in enumerate(band.zones, start=1):
            yield str(number), words_of_run(pattern, zone.run) if zone.run else _NOTHING
        return
    for letter, run in zip("ABCDEFGHIJKLMNOP", proposal.runs, strict=False):
        yield letter, words_of_run(pattern, run)


def words_of_run(pattern: PatternSet, run: Run) -> str:
    """A run in words: which part of which edge of which piece, one after the other."""
    return ", then ".join(_span_words(pattern, span) for span in run)


def _span_words(pattern: PatternSet, span: Span) -> str:
    words = (
        f"{in_sentence(name_title(pattern, span.edge, span.piece))} of "
        f"{in_sentence(piece_title(pattern, span.piece))}"
    )
    if {span.begin, span.end} == {"start", "end"}:
        return words
    ends = (_end_words(pattern, span, at_begin=first) for first in (True, False))
    return f"{words}, from {' to '.join(ends)}"


def _ends(pattern: PatternSet, lead: Run, follow: Run) -> Iterator[str]:
    for first in (True, False):
        at = 0 if first else -1
        a, b = (_end_words(pattern, run[at], at_begin=first, whose=True) for run in (lead, follow))
        yield f"{a} meets {b}"


def _end_words(pattern: PatternSet, span: Span, *, at_begin: bool, whose: bool = False) -> str:
    """An end of a span by the edge that comes to it there, or by its mark."""
    mark = span.begin if at_begin else span.end
    if mark in ("start", "end"):
        names = pattern.sized(span.piece, pattern.base).edge_names
        step = -1 if mark == "start" else 1
        beside = names[(names.index(span.edge) + step) % len(names)]
        words = f"the end at {in_sentence(name_title(pattern, beside, span.piece))}"
    else:
        words = in_sentence(name_title(pattern, mark, span.piece))
    return f"{words} of {in_sentence(piece_title(pattern, span.piece))}" if whose else words


# ------------------------------------------------------------------------------- in a terminal


def question_lines(asked: Asked, number: int, left: int, picture: str = "") -> list[str]:
    """A question at 80 columns."""
    lines = ["", *sentence(f"{number}. {asked.title} ({left} left). {asked.words}")]
    lines += entries(asked.sides)
    for text in asked.ends:
        lines += sentence(text, 5, 2)
    lines += sentence(f"+ {asked.evidence[0]}", 2, 2) if asked.evidence else []
    lines += sentence(f"- {asked.against[0]}", 2, 2) if asked.against else []
    lines += sentence(f"score {asked.score:.3f}", 2)
    lines += sentence(f"picture: {picture}", 2) if picture else []
    return lines


def state_lines(asking: Asking) -> list[str]:
    """What was answered, what is left, and what is sewn to nothing yet."""
    count = dict.fromkeys(("joins", "no"), 0)
    for one in asking.answers:
        count["joins"] += one.joins
        count["no"] += one.word == "no"
    lines = sentence(
        f"{count['joins']} confirmed, {count['no']} refused, "
        f"{counted(len(asking.open), 'question')} left."
    )
    if not asking.free:
        return [*lines, *sentence("Every edge is sewn to something.")]
    lines += sentence("Sewn to nothing yet:")
    return lines + entries(free_words(asking.pattern, asking.free))


def free_words(pattern: PatternSet, free: Mapping[str, Sequence[Span]]) -> list[tuple[str, str]]:
    """The edges of each piece that nothing is sewn to."""
    found = []
    for piece, spans in free.items():
        edges = [_span_words(pattern, span).replace(_of(pattern, piece), "") for span in spans]
        found.append((piece_title(pattern, piece), "; ".join(edges)))
    return found


def _of(pattern: PatternSet, piece: str) -> str:
    return f" of {in_sentence(piece_title(pattern, piece))}"
