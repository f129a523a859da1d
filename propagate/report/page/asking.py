"""The page of questions: each proposal drawn on the pieces, with its evidence, to be answered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from markupsafe import Markup

from propagate.pattern.answers import WORDS, Answer, Word, question_of
from propagate.report.asking_picture import Drawn, drawn_question
from propagate.report.asking_text import Asked, asked_of, free_words
from propagate.report.page.drawn import View, view_of, write_item, write_number, write_scene
from propagate.report.page.render import ASKING, render_page
from propagate.report.page.words import clean_text, json_text
from propagate.report.scene.items import Dot, Role, Scene, make_line
from propagate.suggesting import Proposal
from propagate.suggesting.asking import Asking
from propagate.values import dataclass

__all__ = ["asking_page"]

_FORMAT = 1
"""Of the file of answers that the page saves."""
_FINE = 60.0
"""Lines of a drawing are written this much finer than a mark is large."""
_SAID: Mapping[Word, tuple[str, str]] = {
    "yes": ("y", "Yes, joined so"),
    "turned": ("o", "Yes, but the other way round"),
    "no": ("n", "No"),
    "later": ("l", "Later"),
}


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
    picture: Markup
    view: View
    choices: tuple[_Choice, ...]
    rivals: tuple[int, ...]
    percent: str


def asking_page(asking: Asking) -> str:
    """Return one self-contained HTML page that asks about everything that is proposed.

    What is chosen on it is saved as a file of answers by the reader's browser.

    Parameters
    ----------
    asking : Asking
        What is answered already is a fact, and is not on the page.
    """
    pattern = asking.joined
    proposals = [one for one in asking.found.proposals if one.score >= asking.least]
    questions, plain = [], []
    for number, one in enumerate(proposals, start=1):
        other = asking.turned.get(question_of(one.kind, one.runs))
        answers: dict[Word, Answer] = {}
        for word in WORDS:
            said = other if word == "turned" else one
            if said is not None:
                answers[word] = asking.said(said, word)
        question = _ask_question(asking, number, one, proposals, answers)
        turned = answers["turned"].runs if other is not None else ()
        questions.append(question)
        plain.append(  # what the script needs to save an answer
            {
                "kind": one.kind,
                "runs": [[str(span) for span in run] for run in one.runs],
                "turned": [[str(span) for span in run] for run in turned],
                "text": {word: answer.text for word, answer in answers.items() if answer.text},
                "title": clean_text(question.asked.title),
                "rivals": list(question.rivals),
            }
        )
    data = {"format": _FORMAT, "set": pattern.name, "file": "answers.json", "questions": plain}
    return render_page(
        ASKING,
        set_name=pattern.name,
        size=pattern.base,
        questions=questions,
        free=free_words(pattern, asking.free),
        command="--answers",
        data=json_text(data),
    )


def _ask_question(
    asking: Asking,
    number: int,
    proposal: Proposal,
    proposals: Sequence[Proposal],
    answers: Mapping[Word, Answer],
) -> _Question:
    drawn = drawn_question(asking.joined, proposal)
    # Room for the texts, which a view does not look at.
    texts = tuple(Dot(Role.SEAM, one.at, one.size) for one in drawn.labels)
    rivals = asking.found.rivals(proposal)
    return _Question(
        f"q{number}",
        asked_of(asking.joined, proposal),
        _write_question(drawn),
        view_of(drawn.scene + Scene(texts)),
        tuple(_Choice(word, *_SAID[word]) for word in WORDS if word in answers),
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
