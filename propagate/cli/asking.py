"""Asking in the terminal how pieces are joined: what is read, said, kept and written."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.cli.amending import (
    add_relations,
    list_set_changes,
    relations_file,
    take_back,
    write_set_changes,
)
from propagate.cli.options import say_lines

if TYPE_CHECKING:
    from propagate.pattern.answers import Answer
    from propagate.pattern.garments import GarmentKind
    from propagate.pattern.patternset import PatternSet
    from propagate.suggesting.asking import Asking

__all__ = [
    "Sitting",
    "confirm_answers",
    "write_page",
]

_SETTLED = {
    "blending": "The set says what blending goes by: an answer about it was not taken over.",
    "hip": "The set says what blending goes by: an answer about the hip was not taken over.",
    "waist": "The set has its levels: an answer about the waist was not taken over.",
    "levels": "The set has its levels: an answer about them was not taken over.",
    "girths": "The set has its girths: an answer about them was not taken over.",
    "allowance": "The set has allowances: an answer about them was not taken over.",
    "derived": "The set says of a piece what it follows: an answer about it was not taken over.",
}
_WRITTEN = {
    "blending": "Blending is prepared; propagate blend can be used on it now.",
    "levels": "The levels are drawn; propagate blend takes a size for each of them now.",
    "girths": "The girths are written; propagate show and walk tell them.",
    "allowance": "The allowance is written; propagate change SET allow gives an edge another.",
    "derived": "A piece that was traced from another follows it now.",
}


class Sitting:
    """One call: the set, the answers so far, and the files that they go to.

    Parameters
    ----------
    path : str
        The set.
    pattern : PatternSet
        As it was read.
    least : float
        Proposals with a lower score are not asked about.
    kinds : tuple of GarmentKind
        Kinds of garment that are looked for.

    Attributes
    ----------
    asking : Asking
    kept : Path
        The file of answers, beside the set.
    """

    def __init__(
        self, path: str, pattern: PatternSet, least: float, kinds: tuple[GarmentKind, ...] = ()
    ) -> None:
        from propagate.errors import FormatError
        from propagate.io.answers import answers_place, read_answers

        self.path, self.kept = path, answers_place(path)
        self._least, self._kinds = least, kinds
        try:
            found = read_answers(self.kept, pattern.name) if self.kept.exists() else ()
        except FormatError as error:
            raise FormatError(
                f"{error}. The answers about set '{pattern.name}' are kept there: move the file "
                "away to be asked afresh; what was confirmed stands in the set"
            ) from error
        self._bytes = self.kept.read_bytes() if self.kept.exists() else None
        self.forgotten = self._begin(pattern, found)

    def _begin(self, pattern: PatternSet, found: Sequence[Answer]) -> int:
        """Take a set and the answers as they are in the files; tells how many do not hold now."""
        from propagate.io.answers import still_standing
        from propagate.suggesting.asking import Asking, titles_told, without_relations
        from propagate.suggesting.closing import closing_standing

        source = relations_file(self.path).read_bytes().decode()
        standing = closing_standing(still_standing(found, source), pattern)
        self._written = tuple(one for one in standing if one.written)
        own = [relation for one in self._written for relation in one.relations]
        self.asking: Asking = Asking.begin(
            without_relations(pattern, own),
            tuple(one for one in standing if one.word != "later"),
            self._least,
            self._kinds,
        )
        # What stands in the file by these answers: other garments may be recognised later.
        self._titles = titles_told(self.asking.pattern, self._written, self.asking.garments)
        return len(found) - len(standing)

    def keep(self, asking: Asking) -> None:
        """Go on with other answers, which are in the file before anything else is asked."""
        self.asking = asking
        self._keep(asking.answers)

    def take_over(self, more: Iterable[Answer], source: str) -> None:
        """Go on with further answers, once what they say of blending fits the set.

        Raises
        ------
        EditError, InvalidSet
            It does not; nothing is kept.
        """
        from dataclasses import replace

        from propagate.errors import EditError
        from propagate.pattern.validate import check_set
        from propagate.report.layout import wrap_sentence
        from propagate.suggesting.closing import Closing

        told, before = [], Closing(self.asking)
        known = {(one.question, one.word, one.width) for one in self.asking.answers}
        for one in more:
            if not before.is_settled(one):
                told.append(replace(one, written=False, changes=()))
            elif (one.question, one.word, one.width) not in known:
                say_lines(wrap_sentence(_SETTLED[one.kind]))
        asking = self.asking.told(told)
        try:
            check_set(Closing(asking).put_on(asking.joined))
        except EditError as error:
            raise EditError(f"{source}: {error}") from error
        self.keep(asking)

    def sew(self, texts: Iterable[str]) -> list[str]:
        """Take over seams that are said, all or none; returns what is told about them.

        Raises
        ------
        EditError, UnknownName, InvalidSet
            One of them cannot be; nothing is kept.
        """
        from propagate.pattern.validate import check_set
        from propagate.report.sewn_text import sewn_lines
        from propagate.suggesting.closing import Closing
        from propagate.suggesting.sewn import sew_runs

        asking, lines = self.asking, list[str]()
        for text in texts:
            said = sew_runs(asking, text)
            asking = said.asking
            lines += sewn_lines(asking.joined, said)
        check_set(Closing(asking).put_on(asking.joined))
        self.keep(asking)
        return lines

    def undo(self) -> None:
        """Take the last answer back: what was asked last out of the set's files as well.

        Raises
        ------
        EditError
            What it wrote was changed since; nothing is taken back.
        """
        last = self.asking.answers[-1] if self.asking.answers else None
        if last is None or not (last.closes and last.written):
            self.keep(self.asking.undone())
            return
        from propagate.io.folder import load

        take_back(self.path, last)
        pattern = load(self.path)
        self._begin(pattern, self._renew(self.asking.undone().answers, pattern))
        self._keep(self.asking.answers)

    def _renew(self, answers: Iterable[Answer], pattern: PatternSet) -> tuple[Answer, ...]:
        """Answers with their relations as the set has them, where these stand in its text."""
        from propagate.io.answers import still_standing
        from propagate.suggesting.asking import renew_answer

        source, renewed = relations_file(self.path).read_bytes().decode(), []
        for one in answers:
            new = renew_answer(one, pattern)
            stands = any(same.written for same in still_standing([new], source))
            renewed.append(new if stands else one)
        return tuple(renewed)

    def finish(self) -> bool:
        """Write what was confirmed into the set; tells whether it changed anything."""
        from dataclasses import replace

        from propagate.io.answers import amend_text, change_titles
        from propagate.suggesting.asking import titles_told

        answers, pattern = self.asking.answers, self.asking.pattern
        told = [self._titles, titles_told(pattern, answers, self.asking.garments)]
        gone, new = (
            {key: title for key, title in a.items() if b.get(key) != title}
            for a, b in (told, told[::-1])
        )
        changed = add_relations(
            self.path,
            lambda text: change_titles(amend_text(text, self._written, answers), gone, new),
        )
        if self._write_closing():
            changed, answers = True, self.asking.answers
        answers = tuple(replace(one, written=one.adds) for one in answers)
        if answers or self._bytes is not None:
            self._keep(answers)
        self._written = tuple(one for one in answers if one.written)
        self.asking = replace(self.asking, answers=answers)
        return changed

    def _write_closing(self) -> bool:
        """Write what was asked last into the set, whose relations stand; tells whether it did.

        One answer after the other, so that each can be taken back by itself.
        """
        from dataclasses import replace

        from propagate.errors import EditError
        from propagate.io.changes import list_changes
        from propagate.io.folder import load
        from propagate.report.layout import wrap_sentence
        from propagate.suggesting.closing import Closing

        closing, wrote = Closing(self.asking), False
        for one in closing.unwritten:
            try:
                pattern = closing.put_answer_on(one, load(self.path))
                files = list_set_changes(self.path, pattern)
            except EditError as error:  # the set was changed by hand since it was answered
                say_lines(["", *wrap_sentence(f"{error}. It is asked again.")])
                self.asking = self.asking.without([one])
                continue
            changed = replace(one, changes=list_changes(files))
            self._replace_answer(one, changed)
            # Kept before it is written: wherever this is interrupted, it can be taken back.
            self._keep(self.asking.answers)
            write_set_changes(self.path, files)
            self._replace_answer(changed, replace(changed, written=True))
            # Seams have a hold now, and another side may lead: that is what was confirmed.
            answers = self._renew(self.asking.answers, load(self.path))
            self.asking = replace(self.asking, answers=answers)
            wrote = True
        return wrote

    def _replace_answer(self, old: Answer, new: Answer) -> None:
        from dataclasses import replace

        answers = tuple(new if one is old else one for one in self.asking.answers)
        self.asking = replace(self.asking, answers=answers)

    def check_places(self) -> None:
        """Refuse to ask where no answer could be kept, or nothing that was confirmed be written.

        Raises
        ------
        OutputError
        """
        import os

        from propagate.errors import OutputError

        for file in (self.kept, relations_file(self.path)):
            if not os.access(file.absolute().parent, os.W_OK | os.X_OK):
                raise OutputError(
                    f"'{file}' cannot be written, where the answers go; copy the set to a folder "
                    "of your own, or make this one writable; nothing was asked"
                )

    def _keep(self, answers: Sequence[Answer]) -> None:
        from propagate.errors import OutputError
        from propagate.io.answers import render_answers
        from propagate.io.output import amend_file, open_file

        new = render_answers(self.asking.pattern.name, answers)
        if (self.kept.read_bytes() if self.kept.exists() else None) != self._bytes:
            raise OutputError(
                f"'{self.kept}' holds other answers than when this began: another sitting goes on. "
                "It stays as it is, and the last answer was not kept; end one of the two, then "
                "call this again"
            )
        if self._bytes is None:
            with open_file(self.kept, sources=[relations_file(self.path)]) as stream:
                stream.write(new)
        elif new != self._bytes:
            amend_file(self.kept, self._bytes, new)
        self._bytes = new


def confirm_answers(
    sitting: Sitting,
    *,
    asks: bool,
    answers: str | None,
    pictures: str | None,
    sewn: Sequence[str] = (),
) -> None:
    """Take over answers and what is said to be sewn, ask, and write what was confirmed."""
    from propagate.cli.questions import Drawer, ask_questions
    from propagate.io.answers import read_answers
    from propagate.report.asking_text import closing_lines, state_lines
    from propagate.report.layout import wrap_sentence
    from propagate.suggesting.closing import Closing

    sitting.check_places()
    if sitting.forgotten:
        say_lines(
            wrap_sentence(
                f"{sitting.forgotten} answered before were changed in set.toml since; what stands "
                "there holds."
            )
        )
    if answers is not None:
        found = read_answers(Path(answers), sitting.asking.pattern.name)
        sitting.take_over((one for one in found if one.word != "later"), answers)
    if sewn:
        say_lines(sitting.sew(sewn))
    drawer = None if pictures is None else Drawer(Path(pictures), sitting.path)
    if asks:
        ask_questions(sitting, drawer)
    confirmed = Closing(sitting.asking).unwritten
    changed = sitting.finish()
    say_lines(["", *state_lines(sitting.asking), *closing_lines(Closing(sitting.asking))])
    written = "written to set.toml" if changed else "set.toml stays as it is"
    say_lines(
        wrap_sentence(f"What was confirmed: {written}. The answers are kept in {sitting.kept}.")
    )
    for kind in dict.fromkeys(one.kind for one in confirmed if changed):
        say_lines(wrap_sentence(_WRITTEN[kind]))


def write_page(sitting: Sitting, page: str, *, replace: bool) -> None:
    """Write the page on which what is left can be answered."""
    from propagate.io.output import open_file, read_from
    from propagate.report.layout import wrap_sentence
    from propagate.report.page.asking import asking_page

    text = asking_page(sitting.asking).encode()
    with open_file(page, replace=replace, sources=[read_from(sitting.path)]) as stream:
        stream.write(text)
    say_lines(
        wrap_sentence(
            f"{page} ({len(text) / 1000:.0f} kB): open it in a browser, answer, save, and call "
            "'propagate suggest SET --answers FILE'; it needs no network."
        )
    )
