"""Asking in the terminal how pieces are joined: what is read, said, kept and written."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeVar

from propagate.cli.options import say_lines

if TYPE_CHECKING:
    from propagate.pattern.answers import Answer, Word
    from propagate.pattern.garments import GarmentKind
    from propagate.pattern.patternset import PatternSet
    from propagate.suggesting.asking import Asking
    from propagate.suggesting.blending import Blending
    from propagate.suggesting.proposal import Proposal

__all__ = [
    "Drawer",
    "Sitting",
    "add_relations",
    "ask_allowances",
    "ask_blending",
    "ask_questions",
    "confirm_answers",
    "write_page",
]

_Said = TypeVar("_Said")
_PLAIN: dict[str, Literal["yes", "no"]] = {"y": "yes", "yes": "yes", "n": "no", "no": "no"}
_WORDS: dict[str, Word | Literal["undo"]] = {
    **dict.fromkeys(("y", "yes"), "yes"),
    **dict.fromkeys(("o", "other", "other way", "other way round", "turned"), "turned"),
    **dict.fromkeys(("n", "no"), "no"),
    **dict.fromkeys(("l", "later"), "later"),
    **dict.fromkeys(("u", "undo"), "undo"),
}
_STOP = ("s", "stop")
_CHOICES = "y yes, {}n no, l later, u undo, s stop"
_OTHER = "o the other way round, "

Picture = Callable[["PatternSet", "Proposal", int], str]


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
        from propagate.suggesting.nest import measure_nest
        from propagate.suggesting.nets import recognise_garments

        self.path, self.kept = path, answers_place(path)
        source = relations_file(path).read_bytes().decode()
        found = read_answers(self.kept, pattern.name) if self.kept.exists() else ()
        standing = still_standing(found, source)
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
        answers = tuple(replace(one, written=bool(one.text)) for one in answers)
        if answers or self._bytes is not None:
            self._keep(answers)
        self._written = tuple(one for one in answers if one.written)
        self.asking = replace(self.asking, answers=answers)
        return changed

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


class Drawer:
    """Draws each question into a folder before it is asked, and tells the file."""

    def __init__(self, folder: Path, path: str) -> None:
        self._folder, self._path = folder, path

    def __call__(self, pattern: PatternSet, proposal: Proposal, number: int) -> str:
        """Draw one; the file is called by its number."""
        from propagate.io.output import read_from, write_files
        from propagate.report.asking_picture import question_picture
        from propagate.report.asking_text import asked_of

        asked = asked_of(pattern, proposal)
        words = "; ".join(f"{mark}: {said}" for mark, said in asked.sides)
        drawn = question_picture(pattern, proposal, f"{asked.title}: {asked.words}", words)
        name = f"question-{number:02}.svg"
        files = {name: drawn.encode()}
        write_files(self._folder, files, replace=True, sources=[read_from(self._path)])
        return str(self._folder / name)


def confirm_answers(
    sitting: Sitting, *, asks: bool, answers: str | None, pictures: str | None
) -> None:
    """Take answers over, ask, and write what was confirmed."""
    from propagate.io.answers import read_answers
    from propagate.report.asking_text import state_lines
    from propagate.report.layout import wrap_sentence

    if sitting.forgotten:
        say_lines(
            wrap_sentence(
                f"{sitting.forgotten} answered before were changed in set.toml since; what stands "
                "there holds."
            )
        )
    if answers is not None:
        found = read_answers(Path(answers), sitting.asking.pattern.name)
        sitting.keep(sitting.asking.told(one for one in found if one.word != "later"))
    if asks:
        ask_questions(sitting, None if pictures is None else Drawer(Path(pictures), sitting.path))
    changed = sitting.finish()
    say_lines(["", *state_lines(sitting.asking)])
    written = "written to set.toml" if changed else "set.toml stays as it is"
    say_lines(
        wrap_sentence(f"What was confirmed: {written}. The answers are kept in {sitting.kept}.")
    )
    if asks and sitting.asking.question is None:
        ask_blending(sitting.path)
        ask_allowances(sitting.path)


def ask_questions(sitting: Sitting, picture: Picture | None = None) -> None:
    """Ask one question after the other, until none is left or the person stops."""
    from propagate.errors import EditError
    from propagate.report.asking_text import asked_of, question_lines
    from propagate.report.layout import wrap_sentence

    put_off = False
    while (question := sitting.asking.question) is not None:
        asking = sitting.asking
        if asking.all_put_off and not put_off:
            say_lines(["", "What follows was put off; s ends."])
        put_off = asking.all_put_off
        number = sum(one.word != "later" for one in asking.answers) + 1
        drawn = "" if picture is None else picture(asking.joined, question, number)
        asked = asked_of(asking.joined, question)
        say_lines(question_lines(asked, number, len(asking.open), drawn))
        words = _WORDS if asked.turns else {k: w for k, w in _WORDS.items() if w != "turned"}
        choices = _CHOICES.format(_OTHER if asked.turns else "")
        said: Word | Literal["undo", "stop"] = _ask_for(choices, words.get)
        if said == "stop":
            return
        try:
            sitting.keep(asking.undone() if said == "undo" else asking.answered(said))
        except EditError as error:
            say_lines(["", *wrap_sentence(str(error))])


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


def ask_blending(path: str) -> None:
    """Ask what blending sizes goes by, once all pieces are joined; a yes is written at once."""
    from propagate.io.folder import load
    from propagate.report.asking_text import NOT_TOLD, hip_lines
    from propagate.report.layout import wrap_sentence
    from propagate.suggesting.blending import find_blendings
    from propagate.suggesting.side_seams import SIDE_ENDS_MM, find_side_seam

    pattern = load(path)
    if pattern.relations.blend is not None:
        return
    if _ask_ways(path, pattern, find_blendings(pattern)):
        return
    found = find_side_seam(pattern)
    if found is None:
        say_lines(["", *wrap_sentence(NOT_TOLD)])
        return
    say_lines(hip_lines(pattern, found))
    ends = f"{SIDE_ENDS_MM:g} to {found.shortest - SIDE_ENDS_MM:.1f} mm"
    along = _ask_for("a distance, s stop", _read_length(found.holds), f"a distance of {ends}")
    if along != "stop":
        _ask_ways(path, pattern, find_blendings(pattern, along))


def _ask_ways(path: str, pattern: PatternSet, ways: Sequence[Blending]) -> bool:
    """Ask about one way to blend after the other; tells whether that ends it, by yes or stop."""
    from propagate.report.asking_text import blending_lines
    from propagate.report.layout import wrap_sentence

    for number, way in enumerate(ways):
        say_lines(blending_lines(pattern, way, len(ways) - number))
        said = _ask_for("y yes, n no, s stop", _PLAIN.get)
        if said == "yes":
            _write_set(path, way.put_on(pattern))
            say_lines(wrap_sentence("Written to the set; propagate blend can be used on it now."))
        if said != "no":
            return True
    return False


def _read_length(holds: Callable[[float], bool]) -> Callable[[str], float | None]:
    """Read a length that holds, in mm where no unit is said."""
    from propagate.lengths import parse_length

    def read(word: str) -> float | None:
        found = parse_length(word, bare="mm")
        return found if found is not None and holds(found) else None

    return read


def ask_allowances(path: str) -> None:
    """Ask how wide the allowance is where no piece of a joined set has any."""
    from dataclasses import replace

    from propagate.io.folder import load
    from propagate.pattern.info import Allowance
    from propagate.report.layout import wrap_sentence
    from propagate.tolerances import WIDEST_ALLOWANCE_MM

    pattern = load(path)
    if not pattern.relations.seams or any(
        one.allowance != Allowance() for one in pattern.info.values()
    ):
        return
    say_lines(
        [
            "",
            *wrap_sentence(
                "No piece has a seam allowance. How wide is it all round, such as 10mm or "
                "5/8in? An edge on the fold gets none; 0 leaves all as it is."
            ),
        ]
    )

    read = _read_length(lambda mm: 0.0 <= mm <= WIDEST_ALLOWANCE_MM)
    width = _ask_for("a width, s stop", read, f"a width of 0 to {WIDEST_ALLOWANCE_MM:g} mm")
    if width != "stop" and width > 0.0:
        info = {
            name: replace(
                one, allowance=Allowance(width, {} if one.fold is None else {one.fold: 0.0})
            )
            for name, one in pattern.info.items()
        }
        _write_set(path, replace(pattern, info=info))
        say_lines(
            wrap_sentence("Written to set.toml; propagate change SET allow gives an edge another.")
        )


def _ask_for(
    choices: str, read: Callable[[str], _Said | None], expected: str = "one of these"
) -> _Said | Literal["stop"]:
    """Ask until what is said, in small letters, can be read; the end of the input stops."""
    while True:
        say_lines([f"  {choices}:"])
        line = sys.stdin.readline()
        word = " ".join(line.lower().split())
        if not line or word in _STOP:
            return "stop"
        found = read(word)
        if found is not None:
            return found
        if word:
            say_lines([f"  Found '{word}', expected {expected}:"])


def _write_set(path: str, pattern: PatternSet) -> None:
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
