"""What a person answered when asked how pieces are joined: values that a file keeps."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, TypeAlias, get_args

from propagate.pattern.relations import Assembly, Band, Opening, Run, Seam, SeamOpening, Stack
from propagate.pattern.toml_text import lines_of_relation
from propagate.values import dataclass

__all__ = [
    "CLOSING",
    "WORDS",
    "Answer",
    "Change",
    "Joining",
    "Question",
    "Word",
    "reverse_run",
    "question_of",
]

Word = Literal["yes", "turned", "no", "later"]
WORDS: tuple[Word, ...] = get_args(Word)
"""``turned``: they are sewn, but the other way round."""
Joining: TypeAlias = Seam | Assembly | Opening | Stack | Band | SeamOpening
Question: TypeAlias = tuple[str, tuple[tuple[str, ...], ...]]
"""A kind and its runs, the same from whichever end and side they are written."""
CLOSING = ("blending", "waist", "hip", "levels", "girths", "allowance", "derived")
"""Kinds of what is asked last, of a set whose pieces are joined."""


def reverse_run(run: Run) -> Run:
    """The same run from its other end."""
    return tuple(replace(span, begin=span.end, end=span.begin) for span in reversed(run))


def question_of(kind: str, runs: tuple[Run, ...]) -> Question:
    """What is asked of some runs: a seam either way round, from either end, is one question."""
    sides = (min(_write_run(run), _write_run(reverse_run(run))) for run in runs)
    return kind, tuple(sorted(sides))


def _write_run(run: Run) -> tuple[str, ...]:
    return tuple(str(span) for span in run)


@dataclass(frozen=True)
class Change:
    """What an answer changed in a file of the set: whole lines, to be put back as they were.

    Attributes
    ----------
    file : str
        With ``/``, from the folder of the set.
    before, after : str
        Lines with their ends; of `after` at least one.
    number, of : int
        Where the lines stood more than once: which of how many this is, from 1.
    """

    file: str
    before: str
    after: str
    number: int = 1
    of: int = 1


@dataclass(frozen=True)
class Answer:
    """One answer.

    Attributes
    ----------
    kind : str
        ``seam``, ``mirror seam``, ``opening``, ``stack``, ``band``, ``pocket`` or
        ``seam opening``; last ``blending``, whose runs go along both waists and down both sides
        to the hip, ``hip``, how far it lies below the waist, ``girths``, ``allowance``; of a top
        or a dress ``waist``, how far it lies below the underarm; these have no runs; ``levels``,
        whose runs go down both sides from the notch of the waist to that of the hip, as far as
        they have one; and ``derived``, whose runs are the edges of a piece that lie on another
        one and those on which they lie.
    runs : tuple of Run
        As they were shown.
    word : Word
    relations : tuple
        What a yes adds to the set.
    told : tuple of str
        Lines of comment above them: score and evidence.
    written : bool
        What it adds stands in the set's files.
    width : float or None
        Of a yes to the waist, the hip or the allowance, mm.
    changes : tuple of Change
        What a yes to something that is asked last changed in the set's files.
    """

    kind: str
    runs: tuple[Run, ...]
    word: Word
    relations: tuple[Joining, ...] = ()
    told: tuple[str, ...] = ()
    written: bool = False
    width: float | None = None
    changes: tuple[Change, ...] = ()

    @property
    def question(self) -> Question:
        """What was asked."""
        return question_of(self.kind, self.runs)

    @property
    def joins(self) -> bool:
        """Whether it says that something is joined."""
        return self.word in ("yes", "turned")

    @property
    def closes(self) -> bool:
        """Whether it is one of those that are asked last."""
        return self.kind in CLOSING

    @property
    def adds(self) -> bool:
        """Whether it adds something to the set."""
        return bool(self.relations) or (
            self.closes and self.kind not in ("waist", "hip") and self.joins
        )

    @property
    def text(self) -> str:
        """The relations as TOML below their comments; empty unless something is joined."""
        lines = (line for relation in self.relations for line in lines_of_relation(relation))
        return "\n".join([*self.told, *lines]) if self.relations else ""
