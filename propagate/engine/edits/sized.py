"""What edits of one size have in common: the size, the grading of amounts, what follows."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, replace
from typing import Any, ClassVar, Literal, Self

from propagate.engine.job import Drawn, Job, SizeMade
from propagate.errors import EditError
from propagate.pattern.amount import Amount, Grading, amount_mm
from propagate.pattern.between import amount_with_sizes, ease_with_sizes
from propagate.pattern.ease import Ease
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["SizedEdit"]


@dataclass(frozen=True, kw_only=True)
class SizedEdit(ABC):
    """An edit that is done in one size after the other, alike.

    Attributes
    ----------
    size : str or None
        None takes the base size; one that lies between two of the set is drawn first.
    graded : "same" or "proportion"
        How an amount that is said once holds in the other sizes.
    follow : "shape" or "length"
        A mate takes the shape that its lead got, or its length alone.
    """

    word: ClassVar[str]
    """Its name in edit files and on the command line."""
    untold: ClassVar[tuple[str, ...]] = ("size", "graded", "follow")
    """Fields that are said once for all edits, not by each."""
    every_size: ClassVar[bool] = False
    """What it changes holds for every size alike: it cannot be done in some of them."""

    size: str | None = None
    graded: Grading = "same"
    follow: Literal["shape", "length"] = "length"

    def where(self, pattern: PatternSet) -> str:
        """Set and edit, for messages."""
        return f"set '{pattern.name}', edit '{self.word}'"

    def on_set(self, pattern: PatternSet, sizes: Sequence[str]) -> PatternSet:
        """Change what the set says beside its pieces: allowances, eases; raises as `draw`.

        Parameters
        ----------
        pattern : PatternSet
        sizes : sequence of str
            Those in which the edit is done.
        """
        del sizes
        return pattern

    def job(self, pattern: PatternSet) -> Job:
        """Everything is taken from the one size; raises UnknownName, EditError, Conflict."""
        edit = self
        made: tuple[SizeMade, ...] = ()
        if self.size is not None and self.size not in pattern.sizes:
            from propagate.engine.edits.size_between import with_sizes_asked  # few ask for one

            pattern, called, made = with_sizes_asked(pattern, [self.size])
            edit = replace(self, size=called[self.size])
        job = edit.job_on(edit.on_set(pattern, pattern.sizes))
        return replace(job, made=made) if made else job

    def job_on(self, pattern: PatternSet) -> Job:
        """The job on a set of which `on_set` has changed what it changes; raises as `job`."""
        size = pattern.base if self.size is None else self.size
        return Job.in_one_size(pattern, size, self.follow)

    @abstractmethod
    def draw(self, job: Job) -> Drawn:
        """Draw the edit in one size."""

    def amount(self, job: Job, amount: Amount, length: Callable[[str], float]) -> float:
        """An amount in the size of a job, mm.

        Parameters
        ----------
        job : Job
        amount : Amount
        length : callable
            The length that is changed, in a size of the set.

        Raises
        ------
        EditError
            When the amounts are given by size and this one is missing.
        """
        base = job.pattern.base if self.graded == "proportion" else job.size
        try:
            return amount_mm(amount, job.size, length(job.size), length(base), self.graded)
        except KeyError:
            said = ", ".join(size for size, _ in amount.sizes)
            raise EditError(
                f"{self.where(job.pattern)}: found amounts for size {said}, expected one for size "
                f"'{job.size}' too"
            ) from None

    def refuse_sign(self, job: Job, key: str, amount: Amount) -> None:
        """Refuse an amount that is not above 0; raises EditError."""
        if not amount.least > 0.0:
            raise EditError(
                f"{self.where(job.pattern)}: found {key} = {amount.least:g}, expected more than 0; "
                "the word of the edit says which way it goes"
            )

    def said(self) -> dict[str, Any]:
        """The fields that tell the edit, plainly, for the record."""
        return {
            one.name: _make_plain(getattr(self, one.name)) for one in fields(self) if one.metadata
        }

    def words(self, job: Job, pieces: Iterable[str], **more: Any) -> dict[str, Any]:
        """The edit as the record tells it, with the pieces that it changed itself."""
        names = sorted(set(pieces))
        return {"kind": self.word, **self.said(), "pieces": names, "follow": job.follow, **more}

    def with_sizes(self, called: Mapping[str, str], made: Sequence[SizeMade]) -> Self:
        """The same edit with what it says size by size said for sizes that were made, too.

        Parameters
        ----------
        called : mapping
            What each size that was asked for is called.
        made : sequence of SizeMade
            An amount or an ease of theirs lies as far between those of their two neighbours
            as they do, where these are said and theirs is not.

        Raises
        ------
        EditError
            When the eases of two neighbours are not of one form.
        """
        where = f"edit '{self.word}'"
        said: dict[str, Any] = {}
        for one in fields(self) if made else ():
            value = getattr(self, one.name)
            sizes = [item.size for item in made]
            if isinstance(value, Amount):
                value = amount_with_sizes(value, called, sizes)
            elif isinstance(value, tuple) and value and isinstance(value[0], Amount):
                value = tuple(amount_with_sizes(item, called, sizes) for item in value)
            elif isinstance(value, Ease):
                value = ease_with_sizes(value, called, sizes, where)
            if value != getattr(self, one.name):
                said[one.name] = value
        return replace(self, **said) if said else self

    def for_size(self, size: str, graded: Grading, follow: Literal["shape", "length"]) -> Self:
        """The same edit in one size of the set."""
        return replace(self, size=size, graded=graded, follow=follow)

    def checked(self, old: PatternSet, new: PatternSet) -> PatternSet:
        """The changed set; raises EditError when it broke a rule of the model."""
        from propagate.pattern.validate import find_problems  # only edits of a set as a whole ask

        known = find_problems(old)
        found = [line for line in find_problems(new) if line not in known]
        if found:
            raise EditError(f"{self.where(old)}: {'; '.join(found)}")
        return new


def _make_plain(value: Any) -> Any:
    if isinstance(value, Amount):
        if value.sizes:
            return dict(value.sizes)
        return value.mm if value.share is None else {"share": value.share}
    if isinstance(value, tuple):
        return [_make_plain(item) for item in value]
    return value
