"""What is asked last, of a set whose pieces are joined: blending, girths and the allowance.

A value, as the questions before it are: a set with the answers so far.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

from propagate.errors import EditError
from propagate.pattern.answers import Answer, Word
from propagate.pattern.info import Allowance
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import check_set
from propagate.suggesting.asking import Asking
from propagate.suggesting.blending import Blending, find_blendings
from propagate.suggesting.girths import (
    FoundGirth,
    find_girths,
    list_no_tops,
    list_no_waist,
    put_girths,
)
from propagate.suggesting.side_seams import SideSeam, find_side_seam
from propagate.suggesting.tops import Lack, Leveling, Told, Top, find_top
from propagate.suggesting.tracing import Tracing, find_tracings, list_tracings
from propagate.values import dataclass

__all__ = ["Closing", "closing_standing", "give_allowance", "is_settled"]

_OF_BLENDING = ("blending", "hip", "waist", "levels")
"""Kinds of answers about what blending goes by."""


@dataclass(frozen=True)
class Closing:
    """A set with the answers so far, once no proposal is left to be asked about.

    Attributes
    ----------
    asking : Asking
    """

    asking: Asking

    @cached_property
    def ways(self) -> tuple[Blending, ...]:
        """Every way in which the set can be blended, the likeliest first; none if it says one.

        Those with the hip at the distance that was said come last.
        """
        joined, along, no = self.asking.joined, self._along, self._no_waist
        far = () if along is None else find_blendings(joined, along, no)
        return (*find_blendings(joined, None, no), *far)

    @cached_property
    def _no_waist(self) -> frozenset[str]:
        return list_no_waist(self.asking.garments)

    @cached_property
    def open(self) -> tuple[Blending, ...]:
        """The ways that can be asked about: nothing once one was confirmed or put off."""
        if self.confirmed is not None or self.put_off:
            return ()
        said = {one.question for one in self.asking.answers if one.kind == "blending"}
        return tuple(way for way in self.ways if way.question not in said)

    @cached_property
    def side_seam(self) -> SideSeam | None:
        """Where the hip is to be asked for, by its distance from the waist; else None."""
        answered = self._said("hip").said
        if answered or self.open or self.put_off or self.confirmed is not None:
            return None
        return find_side_seam(self.asking.joined, self._no_waist)

    @cached_property
    def top(self) -> Top | None:
        """The side of a top that lacks levels to be blended by; None where a waist is found."""
        joined = self.asking.joined
        if self.ways or find_side_seam(joined, self._no_waist) is not None:
            return None
        return find_top(joined, list_no_tops(self.asking.garments))

    @cached_property
    def levelings(self) -> tuple[Leveling, ...]:
        """Every way in which the levels of a top may lie, the likeliest first."""
        top = self.top
        return () if top is None else top.list_levelings(*self._lengths)

    @cached_property
    def open_levelings(self) -> tuple[Leveling, ...]:
        """Those that can be asked about: nothing once one was confirmed or put off."""
        if self.put_off or self._lack is not None or self._levels_confirmed is not None:
            return ()
        said = {one.question for one in self.asking.answers if one.kind == "levels"}
        return tuple(way for way in self.levelings if way.question not in said)

    @cached_property
    def lack(self) -> Lack | None:
        """The level of a top that is to be asked for by a length, else None."""
        if self.put_off or self._levels_confirmed is not None or self.top is None:
            return None
        if self._lack is not None or self.open_levelings:
            return self._lack
        return self.top.find_next(*self._lengths)

    @property
    def asks_levels(self) -> bool:
        """Whether a question about the levels of a top is left."""
        return self.lack is not None or bool(self.open_levelings)

    @cached_property
    def _lack(self) -> Lack | None:
        top = self.top
        return None if top is None else top.find_lack(*self._lengths)

    @property
    def _levels_confirmed(self) -> Answer | None:
        given = (one for one in self.asking.answers if one.kind == "levels" and one.joins)
        return next(given, None)

    @property
    def chosen_leveling(self) -> Leveling | None:
        """The levels that were confirmed, if they are one of the ways that there are."""
        answer = self._levels_confirmed
        found = (one for one in self.levelings if answer and one.question == answer.question)
        return next(found, None)

    @property
    def _lengths(self) -> tuple[Told, Told]:
        """What was said of the waist and the hip of a top."""
        return self._said("waist"), self._said("hip")

    def _said(self, kind: str) -> Told:
        """What was said of a level that is told by a length."""
        given = (one for one in self.asking.answers if one.kind == kind and one.word != "later")
        return next((Told(True, one.width) for one in given), Told())

    @property
    def put_off(self) -> bool:
        """Whether what blending goes by is to be asked another time."""
        return any(one.kind in _OF_BLENDING and one.word == "later" for one in self.asking.answers)

    @property
    def refused(self) -> bool:
        """Whether a way of blending was refused."""
        return any(one.kind in _OF_BLENDING and one.word == "no" for one in self.asking.answers)

    @property
    def _along(self) -> float | None:
        return self._said("hip").along

    @property
    def confirmed(self) -> Answer | None:
        """The answer that says what blending goes by."""
        given = (one for one in self.asking.answers if one.kind == "blending" and one.joins)
        return next(given, None)

    @property
    def chosen(self) -> Blending | None:
        """The way that was confirmed, if it is one of those in which the set can be blended."""
        answer = self.confirmed
        for way in self.ways if answer is not None else ():
            if answer is not None and way.question == answer.question:
                return way.turn() if answer.word == "turned" else way
        return None

    @cached_property
    def girths(self) -> tuple[FoundGirth, ...]:
        """The girths that can be asked about: nothing once there was an answer."""
        if any(one.kind == "girths" for one in self.asking.answers):
            return ()
        joined, chosen = self.asking.joined, self.chosen or self.chosen_leveling
        return self._list_girths(joined if chosen is None else chosen.put_on(joined))

    def is_settled(self, answer: Answer) -> bool:
        """Whether the set says already what was asked last; it may lack one of its girths."""
        joined = self.asking.joined
        lacks = answer.kind == "girths" and self._list_girths(joined)
        return is_settled(answer, joined) and not lacks

    def _list_girths(self, pattern: PatternSet) -> tuple[FoundGirth, ...]:
        return find_girths(pattern, self.asking.garments)

    @property
    def wants_allowance(self) -> bool:
        """Whether the allowance is to be asked: no piece of a joined set has one."""
        answered = any(one.kind == "allowance" for one in self.asking.answers)
        joined = self.asking.joined
        return bool(joined.relations.seams) and not (answered or _has_allowance(joined))

    @cached_property
    def tracings(self) -> tuple[Tracing, ...]:
        """The pieces that may follow another one, as far as that was not answered."""
        answered = (one for one in self.asking.answers if one.kind == "derived")
        pairs = frozenset((one.runs[0][0].piece, one.runs[1][0].piece) for one in answered)
        try:
            pattern = self.put_on(self.asking.joined)
        except EditError:  # what was confirmed holds no more: that is told where it is written
            return ()
        return find_tracings(pattern, pairs)

    @property
    def unwritten(self) -> tuple[Answer, ...]:
        """What was confirmed of it and is not written into the set yet."""
        answers = self.asking.answers
        return tuple(one for one in answers if one.closes and one.adds and not one.written)

    def answer_tracing(self, tracing: Tracing, word: Word) -> Answer:
        """What an answer to a piece that may follow another one says.

        Raises
        ------
        EditError
            A yes to what the set cannot hold.
        """
        if word == "yes":
            check_set(tracing.put_on(self.put_on(self.asking.joined)))
        return Answer("derived", tracing.runs, word)

    def answer(self, way: Blending, word: Word) -> Answer:
        """What an answer to a way says.

        Raises
        ------
        EditError
            A yes to what the set cannot hold.
        """
        if word in ("yes", "turned"):
            pattern = self.asking.joined
            check_set((way.turn() if word == "turned" else way).put_on(pattern))
        return Answer("blending", way.runs, word)

    def answer_levels(self, way: Leveling, word: Word) -> Answer:
        """What an answer to the levels of a top says.

        Raises
        ------
        EditError
            A yes to what the set cannot hold.
        """
        if word == "yes":
            check_set(way.put_on(self.asking.joined))
        return Answer("levels", way.runs, word)

    def put_on(self, pattern: PatternSet) -> PatternSet:
        """The set with what was confirmed last and is not written yet.

        Raises
        ------
        EditError
            Another way of blending was confirmed than the set knows of now, or the hip lies
            beyond an end of the side.
        """
        self._check_hip()
        for one in self.unwritten:
            pattern = self.put_answer_on(one, pattern)
        return pattern

    def put_answer_on(self, answer: Answer, pattern: PatternSet) -> PatternSet:
        """The set with what one of the answers that are not written yet says.

        Raises
        ------
        EditError
            The set knows of no such way now.
        """
        if answer.kind == "allowance":
            return pattern if answer.width is None else give_allowance(pattern, answer.width)
        if answer.kind == "girths":
            return put_girths(pattern, self._list_girths(pattern))
        if answer.kind == "derived":
            for way in list_tracings(pattern):
                if way.question == answer.question:
                    return way.put_on(pattern)
            raise EditError(
                f"set '{pattern.name}': found that piece '{answer.runs[0][0].piece}' does not lie "
                f"on '{answer.runs[1][0].piece}' as was confirmed, or follows it already"
            )
        levels = answer.kind == "levels"
        chosen = self.chosen_leveling if levels else self.chosen
        if chosen is None:
            raise EditError(
                f"set '{pattern.name}' cannot be blended in the way that was confirmed: found "
                f"{len(self.levelings if levels else self.ways)} others; what was joined since may "
                "be in its way"
            )
        return chosen.put_on(pattern)

    def _check_hip(self) -> None:
        """Refuse a distance at which the hip cannot lie."""
        misfit = None if self.top is None else self.top.find_misfit(*self._lengths)
        if misfit is not None:
            lack, along = misfit
            above = "underarm" if lack.waist is None else "waist"
            raise EditError(
                f"set '{self.asking.pattern.name}': found a {lack.kind} {along:g} mm below the "
                f"{above}, expected {lack.ends}"
            )
        found = None if self._along is None else find_side_seam(self.asking.joined, self._no_waist)
        if self._along is not None and found is not None and not found.holds(self._along):
            raise EditError(
                f"set '{self.asking.pattern.name}': found a hip {self._along:g} mm below the "
                f"waist, expected {found.ends}"
            )


def closing_standing(answers: Iterable[Answer], pattern: PatternSet) -> tuple[Answer, ...]:
    """Answers that hold for a set, of what is asked last.

    What was written and was taken out by hand since is no answer any more.
    """
    found = []
    for one in answers:
        settled = is_settled(one, pattern)
        if not (one.closes and one.adds):
            found.append(one)
        elif settled or not one.written:
            found.append(replace(one, written=settled))
    return tuple(found)


def is_settled(answer: Answer, pattern: PatternSet) -> bool:
    """Whether a set says already what was asked last."""
    if answer.kind == "allowance":
        return _has_allowance(pattern)
    if answer.kind == "girths":
        return bool(pattern.relations.girths)
    if answer.kind == "derived":
        return answer.runs[0][0].piece in pattern.relations.derived
    if answer.kind == "levels":
        sides = ({span.piece for span in run} & pattern.pieces.keys() for run in answer.runs)
        base = pattern.base
        return all(any(len(pattern.sized(one, base).levels) > 1 for one in on) for on in sides)
    return answer.kind in ("blending", "hip") and pattern.relations.blend is not None


def give_allowance(pattern: PatternSet, width: float) -> PatternSet:
    """The set with an allowance all round each piece, but for an edge on the fold, mm."""
    info = {
        name: replace(one, allowance=Allowance(width, {} if one.fold is None else {one.fold: 0.0}))
        for name, one in pattern.info.items()
    }
    return replace(pattern, info=info)


def _has_allowance(pattern: PatternSet) -> bool:
    return any(one.allowance != Allowance() for one in pattern.info.values())
