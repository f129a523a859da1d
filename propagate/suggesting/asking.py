"""Asking a person how pieces are joined, one proposal after the other.

A value: a set and the answers so far.  From it follow what is asked next, what the set is with
all that was confirmed, and what is still sewn to nothing.  What was confirmed is a fact for all
that is proposed after it, what was refused is never asked again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from functools import cached_property
from typing import Any

from propagate.engine.review.taken import free_spans
from propagate.errors import EditError
from propagate.pattern.answers import Answer, Joining, Question, Word
from propagate.pattern.garments import GarmentKind
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, Span
from propagate.suggesting.accepted import (
    ACCEPT,
    TABLES,
    list_joinings,
    name_apart,
    names_of,
    write_comment,
)
from propagate.suggesting.garments import Garment
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from propagate.suggesting.proposal import Proposal
from propagate.suggesting.settled import Known
from propagate.suggesting.suggestions import Suggestions, suggest_beside
from propagate.suggesting.words import share_titles, title_by_role
from propagate.values import dataclass

__all__ = [
    *("ASKED", "Asking", "can_turn", "other_way", "renew_answer", "titles_told"),
    *("with_relations", "without_relations"),
]

ASKED = 0.3
"""Proposals with a lower score are not asked about."""


@dataclass(frozen=True)
class Asking:
    """A set, and what was answered so far.

    Attributes
    ----------
    pattern : PatternSet
        As it was read: relations that it has are facts.
    answers : tuple of Answer
        In the order in which they were given.
    least : float
        Proposals with a lower score are not asked about.
    garments : tuple of Garment
        What was recognised of it: what these know of their seams is asked about too.
    kinds : tuple of GarmentKind
        By which they were recognised: after a no they are looked for again without that seam.
    """

    pattern: PatternSet
    answers: tuple[Answer, ...] = ()
    least: float = ASKED
    garments: tuple[Garment, ...] = ()
    kinds: tuple[GarmentKind, ...] = ()

    @classmethod
    def begin(
        cls,
        pattern: PatternSet,
        answers: tuple[Answer, ...] = (),
        least: float = ASKED,
        kinds: tuple[GarmentKind, ...] = (),
    ) -> Asking:
        """Take a set and what was answered, and recognise what garments of these kinds it is."""
        garments = recognise_garments(measure_nest(pattern), kinds, _list_refused(answers))
        return cls(pattern, answers, least, garments, kinds)

    @cached_property
    def joined(self) -> PatternSet:
        """The set with all relations that were confirmed."""
        told = (relation for answer in self.answers for relation in answer.relations)
        joined = with_relations(self.pattern, told)
        titles = titles_told(self.pattern, self.answers, self.garments)
        titles = {**titles, **self.pattern.relations.titles}
        if titles == self.pattern.relations.titles:
            return joined
        return replace(joined, relations=replace(joined.relations, titles=titles))

    @cached_property
    def found(self) -> Suggestions:
        """What is proposed now."""
        return suggest_beside(measure_nest(self.joined), self._known, self.garments)

    @cached_property
    def likely_named(self) -> PatternSet:
        """The set with all that was confirmed, its edges called as its likely garments call them.

        For words alone: a page asks all at once, before anything about a piece is confirmed.
        """
        likely = (one for one in self.found.proposals if one.score >= ACCEPT)
        seams = [r for one in likely for r in one.relations if isinstance(r, Seam)]
        held = self.joined.relations
        titles = {**title_by_role(self.joined, seams, self.garments), **held.titles}
        return replace(self.joined, relations=replace(held, titles=titles))

    @cached_property
    def open(self) -> tuple[Proposal, ...]:
        """What can be asked, the best known first; what was put off comes last."""
        openings = self.joined.relations.openings
        likely = [
            one
            for one in self.found.proposals
            if one.score >= self.least and all(need in openings for need in one.needs)
        ]
        return tuple(sorted(likely, key=self._say_turn))

    def _say_turn(self, proposal: Proposal) -> tuple[int, bool]:
        """When it is asked: an opening lies in a seam, which is asked before it."""
        return self._put_off[proposal.question], proposal.kind == "seam opening"

    @property
    def question(self) -> Proposal | None:
        """What is asked next; None when nothing is left."""
        return self.open[0] if self.open else None

    @property
    def all_put_off(self) -> bool:
        """Whether nothing is left but what was put off before."""
        return self.question is not None and self._put_off[self.question.question] > 0

    @cached_property
    def free(self) -> dict[str, tuple[Span, ...]]:
        """What of each piece is sewn to nothing yet."""
        return free_spans(self.joined)

    def answered(self, word: Word) -> Asking:
        """Answer what is asked.

        Raises
        ------
        EditError
            Nothing is asked, or it has no other way round.
        """
        if self.question is None:
            raise EditError(
                f"set '{self.pattern.name}' has no question left; take an answer back to change it"
            )
        return self._with_answers((*self.answers, self.answer(self.question, word)))

    def answer(self, proposal: Proposal, word: Word) -> Answer:
        """What an answer to a proposal says and adds to the set.

        Raises
        ------
        EditError
            It has no other way round.
        """
        if word == "turned":
            proposal = other_way(self.joined, proposal, self._known)
        return self.said(proposal, word)

    @cached_property
    def turned(self) -> dict[Question, Proposal]:
        """The other way round of every seam that is proposed, by its question."""
        seams = [one for one in self.found.proposals if can_turn(one)]
        asked = frozenset(one.question for one in seams)
        known = replace(self._known, turned=asked)
        every = suggest_beside(measure_nest(self.joined), known).proposals
        found = {one.question: one for one in every if one.question in asked}
        # What runs on across another seam is not found while that one is turned.
        for one in seams:
            if one.question not in found and one.score >= self.least:
                with suppress(EditError):  # a kind of garment knows one way of it alone
                    found[one.question] = other_way(self.joined, one, self._known)
        return found

    def said(self, proposal: Proposal, word: Word) -> Answer:
        """What an answer to a proposal says that is shown as it is to be sewn."""
        if word in ("no", "later"):
            return Answer(proposal.kind, proposal.runs, word)
        named = (_name_by_kind(one, self.garments) for one in proposal.relations)
        relations = tuple(name_apart(named, names_of(self.joined), {}))
        told = tuple(write_comment(proposal))
        return Answer(proposal.kind, proposal.runs, word, relations, told)

    def told(self, more: Iterable[Answer]) -> Asking:
        """Take further answers over: one to a question that was answered takes its place.

        The same answer once more changes nothing: what it added may be told in more words by now.
        """
        known = {(one.question, one.runs, one.word, one.width) for one in self.answers}
        further = tuple(
            one for one in more if (one.question, one.runs, one.word, one.width) not in known
        )
        again = {one.question for one in further}
        kept = tuple(one for one in self.answers if one.question not in again)
        used, renamed = names_of(replace(self, answers=kept).joined), dict[tuple[type, str], str]()
        named = tuple(
            replace(one, relations=tuple(name_apart(one.relations, used, renamed)))
            for one in further
        )
        return self._with_answers((*kept, *named))

    def undone(self) -> Asking:
        """Take the last answer back; the same when there is none."""
        return self._with_answers(self.answers[:-1]) if self.answers else self

    def without(self, gone: Iterable[Answer]) -> Asking:
        """Leave some answers out."""
        left = tuple(gone)
        return self._with_answers(tuple(one for one in self.answers if one not in left))

    def _with_answers(self, answers: tuple[Answer, ...]) -> Asking:
        """Take other answers; a garment of which a seam was refused is looked for again."""
        before, after = _list_refused(self.answers), _list_refused(answers)
        again = bool(before - after) or any(one.rests_on(after - before) for one in self.garments)
        if not (self.kinds and again):
            return replace(self, answers=answers)
        return Asking.begin(self.pattern, answers, self.least, self.kinds)

    @cached_property
    def _put_off(self) -> Counter[Question]:
        return Counter(one.question for one in self.answers if one.word == "later")

    @property
    def _known(self) -> Known:
        return Known(tuple(list_joinings(self.joined)), _list_refused(self.answers))


def _list_refused(answers: Iterable[Answer]) -> frozenset[Question]:
    return frozenset(one.question for one in answers if one.word == "no")


def renew_answer(answer: Answer, pattern: PatternSet) -> Answer:
    """Take the relations of an answer as a set has them now."""
    return replace(
        answer,
        relations=tuple(
            getattr(pattern.relations, TABLES[type(one).__name__]).get(one.name, one)
            for one in answer.relations
        ),
    )


def titles_told(
    pattern: PatternSet, answers: Iterable[Answer], garments: Iterable[Garment]
) -> dict[str, str]:
    """Titles of edges that say nothing by their names.

    After what they are in a kind of garment, else after what they are sewn to.
    """
    told = (relation for answer in answers for relation in answer.relations)
    seams = [one for one in told if isinstance(one, Seam)]
    roles, held = title_by_role(pattern, seams, garments), pattern.relations
    titled = replace(pattern, relations=replace(held, titles={**roles, **held.titles}))
    return {**share_titles(titled, seams), **roles}


def _name_by_kind(relation: Joining, garments: Iterable[Garment]) -> Joining:
    """Call a seam as the garment does that has it, also where another piece takes part in it."""
    if isinstance(relation, Seam):
        sewn = {span.key for span in (*relation.lead, *relation.follow)}
        for fit in (fit for garment in garments for fit in garment.fits):
            if fit.follow and sewn >= fit.edges:
                return replace(relation, name=fit.join.name.replace(" ", "_"))
    return relation


def can_turn(proposal: Proposal) -> bool:
    """Whether there is another way round to sew it: two edges of one piece would be twisted."""
    if proposal.kind != "seam":
        return proposal.kind == "pocket"
    lead, follow = ({span.piece for span in run} for run in proposal.runs)
    return lead.isdisjoint(follow)


def other_way(pattern: PatternSet, proposal: Proposal, known: Known) -> Proposal:
    """The same seam the other way round, with the notches that meet then.

    Raises
    ------
    EditError
        It has no other way round.
    """
    if not can_turn(proposal):
        raise EditError(
            f"'{proposal.name}' is a {proposal.kind}, which has no other way round; answer yes "
            "or no"
        )
    wanted = replace(known, turned=frozenset([proposal.question]))
    for one in suggest_beside(measure_nest(pattern), wanted).proposals:
        if one.question == proposal.question:
            return one
    raise EditError(
        f"found no other way round in which '{proposal.name}' fits; answer yes, or no and write "
        "the seam in set.toml"
    )


def with_relations(pattern: PatternSet, more: Iterable[Joining]) -> PatternSet:
    """A set with further relations; one whose name it has already stays as it is there."""
    held = pattern.relations
    kept: dict[str, Any] = {kind: dict(getattr(held, kind)) for kind in TABLES.values()}
    for relation in more:
        kept[TABLES[type(relation).__name__]].setdefault(relation.name, relation)
    if all(len(kept[kind]) == len(getattr(held, kind)) for kind in kept):
        return pattern
    return replace(pattern, relations=replace(held, **kept))


def without_relations(pattern: PatternSet, gone: Iterable[Joining]) -> PatternSet:
    """A set without some of its relations, which are known by their names."""
    held = pattern.relations
    names: dict[str, set[str]] = {kind: set() for kind in TABLES.values()}
    for relation in gone:
        names[TABLES[type(relation).__name__]].add(relation.name)
    if not any(names.values()):
        return pattern
    kept: dict[str, Any] = {
        kind: {name: one for name, one in getattr(held, kind).items() if name not in left}
        for kind, left in names.items()
    }
    return replace(pattern, relations=replace(held, **kept))
