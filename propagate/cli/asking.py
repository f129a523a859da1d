"""Asking in the terminal how pieces are joined: what is read, said, kept and written."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.cli.options import say_lines

if TYPE_CHECKING:
    from propagate.pattern.answers import Answer
    from propagate.pattern.garments import GarmentKind
    from propagate.pattern.patternset import PatternSet
    from propagate.suggesting.asking import Asking

__all__ = [
    "Sitting",
    "add_relations",
    "confirm_answers",
    "write_page",
    "write_set",
]

_SETTLED = {
    "blending": "The set says what blending goes by: an answer about it was not taken over.",
    "hip": "The set says what blending goes by: an answer about the hip was not taken over.",
    "allowance": "The set has allowances: an answer about them was not taken over.",
}
_WRITTEN = {
    "blending": "Blending is prepared; propagate blend can be used on it now.",
    "allowance": "The allowance is written; propagate change SET allow gives an edge another.",
}


def relations_file(path: str) -> Path:
    """The file that holds a set's relations."""
    file = Path(path)
    return file / "set.toml" if file.is_dir() else file


def add_relations(path: str, change: Callable[[str], str]) -> bool:
    """Change the text of a set's file, once the whole is known to be sound.

    Returns
    -------
    bool
        Whether it was changed.

    Raises
    ------
    InvalidSet
        With what would be written; nothing was.
    """
    from dataclasses import replace

    from propagate.io import set_toml
    from propagate.io.folder import load
    from propagate.io.output import amend_file
    from propagate.pattern.validate import check_set

    file = relations_file(path)
    old = file.read_bytes()
    source = old.decode()
    new = change(source)
    if new == source:
        return False
    head = set_toml.parse_set(new.removeprefix("\ufeff"), str(file))
    check_set(replace(load(path), relations=head.relations))
    amend_file(file, old, new.encode())
    return True


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
        from propagate.io.answers import answers_place, read_answers, still_standing
        from propagate.suggesting.asking import Asking, without_relations
        from propagate.suggesting.closing import closing_standing
        from propagate.suggesting.nest import measure_nest
        from propagate.suggesting.nets import recognise_garments

        self.path, self.kept = path, answers_place(path)
        source = relations_file(path).read_bytes().decode()
        found = read_answers(self.kept, pattern.name) if self.kept.exists() else ()
        standing = closing_standing(still_standing(found, source), pattern)
        self.forgotten = len(found) - len(standing)
        self._written = tuple(one for one in standing if one.written)
        own = [relation for one in self._written for relation in one.relations]
        self._bytes = self.kept.read_bytes() if self.kept.exists() else None
        asked = [one for one in standing if one.word != "later"]
        self.asking: Asking = Asking(
            without_relations(pattern, own),
            tuple(asked),
            least,
            recognise_garments(measure_nest(pattern), kinds),
        )

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
        from propagate.errors import EditError
        from propagate.pattern.validate import check_set
        from propagate.report.layout import wrap_sentence
        from propagate.suggesting.closing import Closing, is_settled

        told = []
        known = {(one.question, one.word, one.width) for one in self.asking.answers}
        for one in more:
            if not is_settled(one.kind, self.asking.joined):
                told.append(one)
            elif (one.question, one.word, one.width) not in known:
                say_lines(wrap_sentence(_SETTLED[one.kind]))
        asking = self.asking.told(told)
        try:
            check_set(Closing(asking).put_on(asking.joined))
        except EditError as error:
            raise EditError(f"{source}: {error}") from error
        self.keep(asking)

    def walk_seams(self, names: Collection[str]) -> None:
        """Keep with the answers that some seams they added are walked alone in the set now."""
        from dataclasses import replace

        from propagate.pattern.relations import Seam

        answers = tuple(
            replace(
                answer,
                relations=tuple(
                    replace(one, check=True) if isinstance(one, Seam) and one.name in names else one
                    for one in answer.relations
                ),
            )
            for answer in self.asking.answers
        )
        self.keep(replace(self.asking, answers=answers))

    def finish(self) -> bool:
        """Write what was confirmed into the set; tells whether it changed anything."""
        from dataclasses import replace

        from propagate.io.answers import amend_text, change_titles
        from propagate.suggesting.asking import titles_told

        answers, pattern = self.asking.answers, self.asking.pattern
        garments = self.asking.garments
        told = [titles_told(pattern, these, garments) for these in (self._written, answers)]
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
        """Write what was asked last into the set, whose relations stand; tells whether it did."""
        from dataclasses import replace

        from propagate.errors import EditError
        from propagate.io.answers import still_standing
        from propagate.io.folder import load
        from propagate.report.layout import wrap_sentence
        from propagate.suggesting.asking import renew_answer
        from propagate.suggesting.closing import Closing

        closing = Closing(self.asking)
        if not closing.unwritten:
            return False
        try:
            write_set(self.path, closing.put_on(load(self.path)))
        except EditError as error:  # the set was changed by hand since it was answered
            say_lines(["", *wrap_sentence(f"{error}. It is asked again.")])
            self.asking = self.asking.without(closing.unwritten)
            return False
        # Seams have a hold now, and another side may lead: that is what was confirmed.
        now, source = load(self.path), relations_file(self.path).read_bytes().decode()
        answers = []
        for one in self.asking.answers:
            new = renew_answer(one, now)
            stands = any(same.written for same in still_standing([new], source))
            answers.append(new if stands else one)
        self.asking = replace(self.asking, answers=tuple(answers))
        return True

    def _keep(self, answers: Sequence[Answer]) -> None:
        from propagate.io.answers import render_answers
        from propagate.io.output import amend_file, open_file

        new = render_answers(self.asking.pattern.name, answers)
        if self._bytes is None:
            with open_file(self.kept, sources=[relations_file(self.path)]) as stream:
                stream.write(new)
        elif new != self._bytes:
            amend_file(self.kept, self._bytes, new)
        self._bytes = new


def confirm_answers(
    sitting: Sitting, *, asks: bool, answers: str | None, pictures: str | None
) -> None:
    """Take answers over, ask, and write what was confirmed."""
    from propagate.cli.asking_derived import ask_derived
    from propagate.cli.questions import Drawer, ask_questions
    from propagate.io.answers import read_answers
    from propagate.report.asking_text import closing_lines, state_lines
    from propagate.report.layout import wrap_sentence
    from propagate.suggesting.closing import Closing

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
    drawer = None if pictures is None else Drawer(Path(pictures), sitting.path)
    all_asked = asks and ask_questions(sitting, drawer)
    confirmed = Closing(sitting.asking).unwritten
    changed = sitting.finish()
    say_lines(["", *state_lines(sitting.asking), *closing_lines(Closing(sitting.asking))])
    written = "written to set.toml" if changed else "set.toml stays as it is"
    say_lines(
        wrap_sentence(f"What was confirmed: {written}. The answers are kept in {sitting.kept}.")
    )
    for one in confirmed if changed else ():
        say_lines(wrap_sentence(_WRITTEN[one.kind]))
    if all_asked:
        ask_derived(sitting)


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


def write_set(path: str, pattern: PatternSet) -> None:
    """Write what changed into the geometry and into ``set.toml``: all of it or nothing."""
    from propagate.io.begin_toml import NO_LEVEL
    from propagate.io.folder import set_files
    from propagate.io.output import amend_files
    from propagate.pattern.validate import check_set
    from propagate.report.layout import wrap_sentence

    check_set(pattern)
    files = set_files(pattern)
    head = relations_file(path)
    text = files.pop("set.toml").decode()
    for end in ("\r\n", "\n"):
        text = text.replace(NO_LEVEL + end, "")
    files[head.name] = text.encode()
    before = {name: old.read_bytes() for name in files if (old := head.parent / name).exists()}
    changes = {one: (before.get(one), new) for one, new in files.items() if before.get(one) != new}
    amend_files(head.parent, changes)
    if len(before) < len(files):
        said = "The drawing of the set has no place for levels: its geometry is in JSON now."
        say_lines(wrap_sentence(said))
