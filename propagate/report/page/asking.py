"""The page of questions: each proposal drawn on the pieces, with its evidence, to be answered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
from markupsafe import Markup

from propagate.pattern.answers import WORDS, Answer, Word, question_of
from propagate.pattern.runs import Run
from propagate.pattern.titles import list_words
from propagate.report.asking_girths import asked_of_girths
from propagate.report.asking_levels import asked_of_lack, asked_of_levels
from propagate.report.asking_picture import (
    Drawn,
    draw_blending,
    draw_girths,
    draw_levels,
    draw_side,
    draw_tracing,
    drawn_question,
)
from propagate.report.asking_text import (
    ASKED_ALLOWANCE,
    Asked,
    asked_of,
    asked_of_blending,
    asked_of_hip,
    closing_lines,
    free_words,
)
from propagate.report.canvas import text_width
from propagate.report.page.drawn import View, view_of, write_item, write_number, write_scene
from propagate.report.page.render import ASKING, render_page
from propagate.report.page.words import clean_text, json_text
from propagate.report.scene.items import Dot, Role, Scene, make_line
from propagate.report.tracing_text import asked_of_tracing
from propagate.suggesting import Proposal
from propagate.suggesting.asking import Asking
from propagate.suggesting.closing import Closing
from propagate.suggesting.side_seams import SIDE_ENDS_MM
from propagate.suggesting.tracing import Tracing
from propagate.tolerances import WIDEST_ALLOWANCE_MM
from propagate.values import dataclass

__all__ = ["asking_page"]

_FORMAT = 4
"""Of the file of answers that the page saves."""
_FINE = 60.0
"""Lines of a drawing are written this much finer than a mark is large."""
_SAID: Mapping[Word, tuple[str, str]] = {
    "yes": ("y", "Yes, joined so"),
    "turned": ("o", "Yes, but the other way round"),
    "no": ("n", "No"),
    "later": ("l", "Later"),
}
_SAID_OF_OPENING: Mapping[Word, str] = {
    "yes": "Yes, it stays open",
    "no": "No, the seam is sewn there",
}
_PLAIN_WORDS: tuple[Word, ...] = ("yes", "no", "later")
_FOLLOWS = (
    "When no question is left, the page that is written then asks what blending sizes goes by, "
    "about the girths of a garment that is known, and the seam allowance where no piece has one."
)
_FOLLOWS_HIP = (
    "When the hip is told, the page that is written then asks about all that blending goes by."
)
_FOLLOWS_LACK = "When this is told, the page that is written then asks about what is left."
_NO_HIP, _NO_LEVEL = "It cannot be told", "There is none"
_NO_WIDTH = "None: leave all as it is"
_ABOUT = {
    **dict.fromkeys(("blending", "waist", "hip", "levels"), "blending sizes"),
    "girths": "girths",
    "derived": "pieces that follow another one",
    "allowance": "the allowance",
}
_SAID_OF_TRACING: Mapping[Word, str] = {
    "yes": "Yes, it follows",
    "no": "No, it has a shape of its own",
}
_SAID_LAST: Mapping[Word, str] = {"yes": "Yes, all of this is so", "turned": "Yes, but {}"}


@dataclass(frozen=True)
class _Choice:
    word: Word
    key: str
    said: str


@dataclass(frozen=True)
class _Question:
    """A question as the template wants it."""

    id: str
    asked: Asked
    picture: Markup | None
    view: View | None
    choices: tuple[_Choice, ...]
    rivals: tuple[int, ...]
    percent: str = ""


@dataclass(frozen=True)
class _Length:
    """A question that a length answers, of `least` to `most` mm."""

    kind: str
    question: _Question
    yes: str
    no: str
    such_as: str
    expected: str
    least: float
    most: float


def asking_page(asking: Asking) -> str:
    """Return one self-contained HTML page that asks about everything that is proposed.

    What is chosen on it is saved as a file of answers by the reader's browser.

    Parameters
    ----------
    asking : Asking
        What is answered already is a fact, and is not on the page.
    """
    pattern, closing = asking.likely_named, Closing(asking)
    asked = list(_ask_joinings(asking))
    asks_last = not asked
    if asks_last:
        asked = list(_ask_last(closing))
    questions = [question for question, _ in asked]
    plain = [row for _, row in asked]
    lengths = _ask_lengths(closing, len(plain)) if asks_last else []
    plain += [
        {
            "kind": one.kind,
            "runs": [],
            "text": {},
            "title": "",
            "rivals": [],
            "least": one.least,
            "most": one.most,
            "expected": one.expected,
        }
        for one in lengths
    ]
    data = {"format": _FORMAT, "set": pattern.name, "file": "answers.json", "questions": plain}
    return render_page(
        ASKING,
        set_name=pattern.name,
        size=pattern.base,
        questions=questions,
        kinds=list_words(list(dict.fromkeys(one.kind.name for one in asking.garments))),
        count=len(plain),
        closes=asks_last and bool(plain),
        ways=len(closing.open) if asks_last else 0,
        follows_pieces=asks_last and bool(closing.tracings),
        about=list_words(list(dict.fromkeys(_ABOUT[str(one["kind"])] for one in plain)))
        if asks_last
        else "",
        lengths=lengths,
        follows=_say_what_follows(closing, asks_last),
        free=free_words(pattern, asking.free),
        command="--answers",
        data=json_text(data),
    )


def _ask_joinings(asking: Asking) -> Iterator[tuple[_Question, dict[str, object]]]:
    """Ask about everything that is proposed, with what the script needs to save an answer."""
    likely = [one for one in asking.found.proposals if one.score >= asking.least]
    proposals = sorted(likely, key=lambda one: one.kind == "seam opening")  # last, as everywhere
    for number, one in enumerate(proposals, start=1):
        other = asking.turned.get(question_of(one.kind, one.runs))
        answers: dict[Word, Answer] = {}
        for word in WORDS:
            said = other if word == "turned" else one
            if said is not None:
                answers[word] = asking.said(said, word)
        question = _ask_question(asking, number, one, proposals, answers)
        turned = answers["turned"].runs if other is not None else ()
        text = {word: answer.text for word, answer in answers.items() if answer.text}
        yield question, _write_plain(one.kind, question, one.runs, turned, text)


def _ask_last(closing: Closing) -> Iterator[tuple[_Question, dict[str, object]]]:
    """Ask what is asked last and answered by a word, with what the script needs to save it."""
    number = 0
    for way, question in zip(closing.open, _ask_blending(closing), strict=True):
        number += 1
        yield question, _write_plain("blending", question, way.runs, way.runs, {})
    for leveling, question in zip(closing.open_levelings, _ask_levels(closing), strict=True):
        number += 1
        yield question, _write_plain("levels", question, leveling.runs, leveling.runs, {})
    # Girths at levels are told with the levels that there are then.
    if closing.girths and not closing.asks_levels:
        number += 1
        question = _ask_girths(closing, number)
        yield question, _write_plain("girths", question, (), (), {})
    for tracing in closing.tracings:
        number += 1
        question = _ask_tracing(closing, tracing, number)
        yield question, _write_plain("derived", question, tracing.runs, tracing.runs, {})


def _write_plain(
    kind: str,
    question: _Question,
    runs: Sequence[Run],
    turned: Sequence[Run],
    text: Mapping[Word, str],
) -> dict[str, object]:
    return {
        "kind": kind,
        "runs": [[str(span) for span in run] for run in runs],
        "turned": [[str(span) for span in run] for run in turned],
        "text": text,
        "title": clean_text(question.asked.title),
        "rivals": list(question.rivals),
    }


def _list_choices(
    words: Iterable[Word], own: Mapping[Word, str] | None = None, other: str = ""
) -> tuple[_Choice, ...]:
    """The words that answer a question, with their keys; `own` are said otherwise there."""
    said = {word: key_and_text[1] for word, key_and_text in _SAID.items()} | dict(own or {})
    return tuple(_Choice(word, _SAID[word][0], said[word].format(other)) for word in words)


def _ask_tracing(closing: Closing, tracing: Tracing, number: int) -> _Question:
    pattern = closing.asking.likely_named
    asked, drawn = asked_of_tracing(pattern, tracing), draw_tracing(pattern, tracing)
    return _question_of(number, asked, drawn, _list_choices(_PLAIN_WORDS, _SAID_OF_TRACING), ())


def _ask_blending(closing: Closing) -> Iterator[_Question]:
    """One question for each way of blending; a yes to one is in the way of all others."""
    pattern, ways = closing.asking.likely_named, closing.open
    for number, way in enumerate(ways, start=1):
        asked = asked_of_blending(pattern, way)
        yield _question_of(
            number,
            asked,
            draw_blending(pattern, way),
            _list_choices(WORDS, _SAID_LAST, asked.other),
            tuple(k for k in range(1, len(ways) + 1) if k != number),
        )


def _ask_levels(closing: Closing) -> Iterator[_Question]:
    """One question for each way in which the levels of a top may lie."""
    pattern, ways = closing.asking.likely_named, closing.open_levelings
    choices = _list_choices(_PLAIN_WORDS, _SAID_LAST)
    for number, way in enumerate(ways, start=1):
        rivals = tuple(k for k in range(1, len(ways) + 1) if k != number)
        asked, drawn = asked_of_levels(pattern, way), draw_levels(pattern, way)
        yield _question_of(number, asked, drawn, choices, rivals)


def _ask_girths(closing: Closing, number: int) -> _Question:
    pattern, found = closing.asking.likely_named, closing.girths
    asked, drawn = asked_of_girths(pattern, found), draw_girths(pattern, found)
    return _question_of(number, asked, drawn, _list_choices(_PLAIN_WORDS, _SAID_LAST), ())


def _ask_lengths(closing: Closing, before: int) -> list[_Length]:
    """Questions that a length answers: how low the hip is, and the seam allowance."""
    found = []
    seam, pattern = closing.side_seam, closing.asking.likely_named
    if seam is not None:
        drawn, asked = draw_side(pattern, seam.seam), asked_of_hip(pattern, seam)
        question = _question_of(before + 1, asked, drawn, (), ())
        least, most, such_as = SIDE_ENDS_MM, seam.shortest - SIDE_ENDS_MM, "200mm, 20cm or 8in"
        found.append(_Length("hip", question, "This far", _NO_HIP, such_as, seam.ends, least, most))
    lack = closing.lack
    if lack is not None:
        drawn, asked = draw_side(pattern, lack.seam), asked_of_lack(pattern, lack)
        question = _question_of(before + len(found) + 1, asked, drawn, (), ())
        such_as = "200mm, 20cm or 8in"
        found.append(
            _Length(lack.kind, question, "This far", _NO_LEVEL, such_as, lack.ends, *lack.span)
        )
    if closing.wants_allowance:
        asked = Asked("Seam allowance", ASKED_ALLOWANCE, (), (), (), (), None, False)
        question = _Question(f"q{before + len(found) + 1}", asked, None, None, (), ())
        expected = f"a width of at most {WIDEST_ALLOWANCE_MM:g} mm"
        such_as = "10mm, 1cm or 5/8in"
        most = WIDEST_ALLOWANCE_MM
        found.append(
            _Length("allowance", question, "This wide", _NO_WIDTH, such_as, expected, 0.0, most)
        )
    return found


def _say_what_follows(closing: Closing, asks_last: bool) -> str:
    """Say what is asked after the questions of the page, or why nothing is."""
    if not asks_last:
        return _FOLLOWS if len(closing.asking.pattern.sizes) > 1 else ""
    if closing.side_seam is not None:
        return _FOLLOWS_HIP
    if closing.lack is not None:
        return _FOLLOWS_LACK
    return " ".join(line.strip() for line in closing_lines(closing))


def _question_of(
    number: int,
    asked: Asked,
    drawn: Drawn,
    choices: tuple[_Choice, ...],
    rivals: tuple[int, ...],
    percent: str = "",
) -> _Question:
    # Room for the texts, which a view does not look at.
    wide = ((one, text_width(one.text, one.size, bold=one.bold) / 2.0) for one in drawn.labels)
    texts = tuple(
        Dot(Role.SEAM, one.at + np.array([side * half, 0.0]), one.size)
        for one, half in wide
        for side in (-1.0, 1.0)
    )
    view = view_of(drawn.scene + Scene(texts))
    picture = _write_question(drawn)
    return _Question(f"q{number}", asked, picture, view, choices, rivals, percent)


def _ask_question(
    asking: Asking,
    number: int,
    proposal: Proposal,
    proposals: Sequence[Proposal],
    answers: Mapping[Word, Answer],
) -> _Question:
    rivals = asking.found.rivals(proposal)
    own = _SAID_OF_OPENING if proposal.kind == "seam opening" else {}
    return _question_of(
        number,
        asked_of(asking.likely_named, proposal),
        drawn_question(asking.likely_named, proposal),
        _list_choices((word for word in WORDS if word in answers), own),
        tuple(k for k, one in enumerate(proposals, start=1) if one in rivals),
        f"{int(100.0 * proposal.score)}",
    )


def _write_question(drawn: Drawn) -> Markup:
    fine = drawn.letter / _FINE
    found = write_scene(drawn.scene, within=fine)
    for strand in drawn.strands:
        told = {"class": f"strand side-{strand.side}"}
        found += write_item(make_line(Role.SEAM, strand.points), told, fine)
    for first, last in drawn.ends:
        for point, word in ((first.points[0], "begins"), (last.points[-1], "ends")):
            told = {"class": f"strand-end side-{first.side} {word}"}
            found += write_item(Dot(Role.SEAM, point, 0.42 * drawn.letter), told)
    for label in drawn.labels:
        told = {
            "class": "label mark" if label.bold else "label",
            "font-size": write_number(label.size),
        }
        found += write_item(label, told)
    return found
