"""Questions in the terminal: how pieces are joined, and last what blending goes by."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias, TypeVar

from propagate.cli.options import say_lines

if TYPE_CHECKING:
    from propagate.cli.asking import Sitting
    from propagate.pattern.answers import Answer, Word
    from propagate.report.asking_picture import Drawn
    from propagate.report.asking_text import Asked
    from propagate.suggesting.asking import Asking
    from propagate.suggesting.closing import Closing
    from propagate.suggesting.side_seams import SideSeam
    from propagate.suggesting.tops import Lack

__all__ = ["Drawer", "ask_for", "ask_questions"]

_Said = TypeVar("_Said")
_WORDS: dict[str, Word | Literal["undo"]] = {
    **dict.fromkeys(("y", "yes"), "yes"),
    **dict.fromkeys(("o", "other", "other way", "other way round", "turned"), "turned"),
    **dict.fromkeys(("n", "no"), "no"),
    **dict.fromkeys(("l", "later"), "later"),
    **dict.fromkeys(("u", "undo"), "undo"),
}
_STOP = ("s", "stop")
_CHOICES = "y yes, {}n no, l later, u undo, s stop"
_Other: TypeAlias = Literal["undo", "stop"]
_Ask: TypeAlias = "Callable[[Drawer | None], Answer | _Other]"


class Drawer:
    """Draws each question into a folder before it is asked, and tells the file."""

    def __init__(self, folder: Path, path: str) -> None:
        self._folder, self._path = folder, path

    def __call__(self, asked: Asked, number: int, drawn: Drawn) -> str:
        """Draw one; the file is called by its number."""
        from propagate.io.output import read_from, write_files
        from propagate.report.asking_picture import write_picture

        words = "; ".join(f"{mark}: {said}" for mark, said in asked.sides)
        text = write_picture(drawn, f"{asked.title}: {asked.words}", words)
        name = f"question-{number:02}.svg"
        files = {name: text.encode()}
        write_files(self._folder, files, replace=True, sources=[read_from(self._path)])
        return str(self._folder / name)


def ask_questions(sitting: Sitting, picture: Drawer | None = None) -> None:
    """Ask one question after the other until none is left, or somebody says stop."""
    from propagate.errors import EditError, InvalidSet
    from propagate.report.layout import wrap_sentence
    from propagate.suggesting.closing import Closing

    put_off, again = False, bool(sitting.asking.answers)
    while True:
        asking = sitting.asking
        if asking.all_put_off and not put_off:
            say_lines(["", "What follows was put off; s ends."])
        put_off = asking.all_put_off
        ask = _next_question(Closing(asking), again)
        again = False
        if ask is None:
            return
        try:
            said = ask(picture)
            if said == "undo":
                sitting.undo()
                continue
        except (EditError, InvalidSet) as error:
            say_lines(["", *wrap_sentence(str(error))])
            continue
        if said == "stop":
            return
        sitting.keep(asking.told((said,)))


def _next_question(closing: Closing, again: bool) -> _Ask | None:
    """What is asked next; `again`: where nothing is, whether an answer is to be taken back."""
    asking = closing.asking
    if asking.question is not None:
        return partial(_ask_joining, asking)
    if closing.open:
        return partial(_ask_blending, closing)
    if closing.side_seam is not None:
        return partial(_ask_hip, closing, closing.side_seam)
    if closing.lack is not None:
        return partial(_ask_lack, closing, closing.lack)
    if closing.open_levelings:
        return partial(_ask_levels, closing)
    if closing.girths:
        return partial(_ask_girths, closing)
    if closing.wants_allowance:
        return _ask_allowance
    if closing.tracings:
        return partial(_ask_tracing, closing)
    return _ask_undo if again and asking.answers else None


def _ask_joining(asking: Asking, picture: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_picture import drawn_question
    from propagate.report.asking_text import asked_of

    question, pattern = asking.question, asking.joined
    assert question is not None
    asked = asked_of(pattern, question)
    draw = partial(drawn_question, pattern, question)
    said = _ask_question(asking, asked, len(asking.open), picture, draw)
    if said == "undo" or said == "stop":
        return said
    return asking.answer(question, said)


def _ask_blending(closing: Closing, picture: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_picture import draw_blending
    from propagate.report.asking_text import asked_of_blending

    pattern, way = closing.asking.joined, closing.open[0]
    asked = asked_of_blending(pattern, way)
    draw = partial(draw_blending, pattern, way)
    said = _ask_question(closing.asking, asked, len(closing.open), picture, draw)
    if said == "undo" or said == "stop":
        return said
    return closing.answer(way, said)


def _ask_hip(closing: Closing, found: SideSeam, picture: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_picture import draw_side
    from propagate.report.asking_text import asked_of_hip

    pattern = closing.asking.joined
    draw = partial(draw_side, pattern, found.seam)
    _tell_question(closing.asking, asked_of_hip(pattern, found), 0, picture, draw)
    return _ask_length("hip", "a distance, n no", found.holds, found.ends)


def _ask_lack(closing: Closing, found: Lack, picture: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_levels import asked_of_lack
    from propagate.report.asking_picture import draw_side

    pattern = closing.asking.joined
    draw = partial(draw_side, pattern, found.seam)
    _tell_question(closing.asking, asked_of_lack(pattern, found), 0, picture, draw)
    return _ask_length(found.kind, "a distance, n none", found.holds, found.ends)


def _ask_levels(closing: Closing, picture: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_levels import asked_of_levels
    from propagate.report.asking_picture import draw_levels

    pattern, way = closing.asking.joined, closing.open_levelings[0]
    asked, left = asked_of_levels(pattern, way), len(closing.open_levelings)
    draw = partial(draw_levels, pattern, way)
    said = _ask_question(closing.asking, asked, left, picture, draw)
    return said if said == "undo" or said == "stop" else closing.answer_levels(way, said)


def _ask_girths(closing: Closing, picture: Drawer | None) -> Answer | _Other:
    from propagate.pattern.answers import Answer
    from propagate.report.asking_girths import asked_of_girths
    from propagate.report.asking_picture import draw_girths

    pattern, found = closing.asking.joined, closing.girths
    asked = asked_of_girths(pattern, found)
    draw = partial(draw_girths, pattern, found)
    said = _ask_question(closing.asking, asked, 0, picture, draw)
    return said if said == "undo" or said == "stop" else Answer("girths", (), said)


def _ask_allowance(_: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_text import ASKED_WIDTH
    from propagate.report.layout import wrap_sentence
    from propagate.tolerances import WIDEST_ALLOWANCE_MM

    say_lines(["", *wrap_sentence(ASKED_WIDTH)])
    expected = f"a width of 0 to {WIDEST_ALLOWANCE_MM:g} mm"
    return _ask_length("allowance", "a width", lambda mm: mm <= WIDEST_ALLOWANCE_MM, expected)


def _ask_tracing(closing: Closing, picture: Drawer | None) -> Answer | _Other:
    from propagate.report.asking_picture import draw_tracing
    from propagate.report.tracing_text import asked_of_tracing

    pattern, found = closing.asking.joined, closing.tracings[0]
    asked = asked_of_tracing(pattern, found)
    draw = partial(draw_tracing, pattern, found)
    said = _ask_question(closing.asking, asked, len(closing.tracings), picture, draw)
    return said if said == "undo" or said == "stop" else closing.answer_tracing(found, said)


def _ask_length(
    kind: str, what: str, holds: Callable[[float], bool], expected: str
) -> Answer | _Other:
    """Ask for a length that holds, in mm where no unit is said; 0 is a no."""
    from propagate.lengths import parse_length
    from propagate.pattern.answers import Answer

    def read(word: str) -> float | Literal["no", "later", "undo"] | None:
        other = _WORDS.get(word)
        if other is not None and other != "yes" and other != "turned":
            return other
        found = parse_length(word, bare="mm")
        return found if found is not None and found >= 0.0 and holds(found) else None

    choices = f"{what}, l later, u undo, s stop"
    said: float | Literal["no", "later", "undo", "stop"] = ask_for(choices, read, expected)
    if said == "undo" or said == "stop":
        return said
    if said == "no" or said == "later":
        return Answer(kind, (), said)
    return Answer(kind, (), "yes" if said else "no", width=said or None)


def _ask_undo(_: Drawer | None) -> _Other:
    say_lines(["", "No question is left."])
    return ask_for("u undo, s stop", lambda word: "undo" if word in ("u", "undo") else None)


def _tell_question(
    asking: Asking,
    asked: Asked,
    left: int,
    picture: Drawer | None,
    draw: Callable[[], Drawn],
) -> None:
    """Say a question by its number, and draw it where pictures are wanted; `left` are like it."""
    from propagate.report.asking_text import question_lines

    number = _count_answers(asking) + 1
    file = "" if picture is None else picture(asked, number, draw())
    say_lines(question_lines(asked, number, left, file))


def _ask_question(
    asking: Asking,
    asked: Asked,
    left: int,
    picture: Drawer | None,
    draw: Callable[[], Drawn],
) -> Word | _Other:
    """Tell a question and take its answer in a word."""
    _tell_question(asking, asked, left, picture, draw)
    words = _WORDS if asked.turns else {k: w for k, w in _WORDS.items() if w != "turned"}
    return ask_for(_CHOICES.format(f"o {asked.other}, " if asked.turns else ""), words.get)


def _count_answers(asking: Asking) -> int:
    return sum(one.word != "later" for one in asking.answers)


def ask_for(
    choices: str, read: Callable[[str], _Said | None], expected: str = "one of these"
) -> _Said | Literal["stop"]:
    """Ask until what is said, in small letters, can be read; the end of the input stops."""
    from propagate.pattern.titles import shorten_text
    from propagate.visible import quoted

    while True:
        say_lines([f"  {choices}:"])
        # There is none where a shell has closed it.
        line = sys.stdin.readline() if sys.stdin else ""
        word = " ".join(line.lower().split())
        if not line or word in _STOP:
            return "stop"
        found = read(word)
        if found is not None:
            return found
        if word:
            say_lines([f"  Found {quoted(shorten_text(word, 40))}, expected {expected}:"])
