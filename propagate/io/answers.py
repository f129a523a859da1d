"""The file of answers beside a set, and what they add to its ``set.toml``.

JSON: ``format``, ``set``, and ``answers``, each with ``kind``, ``runs`` (what was asked, as it is
written in a set), ``answer``, and where something is joined ``text``, which stands so in
``set.toml`` once ``written`` is true.  What is asked last has no text;
an allowance has a ``width``, and a yes that is written has ``changes``, what it changed in the
set's files.  Format 1 had nothing of what is asked last, format 2 no ``girths``, no ``derived``
and no changes, format 3 no ``waist`` and no ``levels``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.changes import MOST_LETTERS
from propagate.io.checks import Problems, Table, check_format
from propagate.io.reading import MOST_TOML_BYTES, decode_text, parse_json, parse_toml, read_limited
from propagate.io.relations_toml import read_relations
from propagate.io.set_toml import parse_set
from propagate.io.toml_in_place import changed_in_place
from propagate.pattern.answers import CLOSING, WORDS, Answer, Change, Joining, Word
from propagate.pattern.runs import Run, parse_run
from propagate.tolerances import WIDEST_ALLOWANCE_MM
from propagate.visible import json_text, visible

__all__ = [
    "FORMAT",
    "amend_text",
    "answers_place",
    "read_answers",
    "render_answers",
    "still_standing",
    "change_titles",
]

FORMAT = 4
KINDS = ("seam", "mirror seam", "opening", "stack", "band", "pocket", "seam opening", *CLOSING)
_KEPT = ("assemblies", "seams", "openings", "stacks", "bands", "seam_openings")
_WIDEST = {"waist": 2000.0, "hip": 2000.0, "allowance": WIDEST_ALLOWANCE_MM}
"""No side is longer; `suggesting.closing` judges by the side that there is."""
_LONGEST_BLOCK = 200_000


def answers_place(path: str | Path) -> Path:
    """Where the answers about a set are kept: beside its folder, ``NAME.answers.json``."""
    place = Path(path)
    folder = place if place.is_dir() else place.parent
    if not folder.name or folder.name == "..":
        folder = folder.resolve()
    return folder.with_name(f"{folder.name}.answers.json")


def read_answers(file: Path, name: str) -> tuple[Answer, ...]:
    """Read a file of answers about the set of a name.

    Raises
    ------
    FormatError
        It cannot be read, is newer, or is about another set; all problems at once.
    """
    problems = Problems(str(file))
    source = decode_text(read_limited(file, MOST_TOML_BYTES), file)
    table = Table(parse_json(source, str(file)), "", problems)
    check_format(table, FORMAT)
    about = table.text("set")
    found = tuple(_read_answer(row) for row in table.tables("answers", naming=""))
    table.finish()
    for kind, said in (("blending", "ways of blending"), ("levels", "ways in which levels lie")):
        ways = [one for one in found if one.kind == kind and one.joins]
        if len(ways) > 1:
            problems.add("answers", f"found yes to {len(ways)} {said}, expected one at most")
    if about != name and "set" in table:
        problems.add("set", f"found answers about '{about}', expected about '{name}'")
    problems.stop_if_any()
    return found


def _read_answer(row: Table) -> Answer:
    kind = row.choice("kind", KINDS)
    runs: list[Run] = []
    for value in row.items("runs", required=kind not in (*_WIDEST, "girths")):
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            row.wrong("runs", "a list of runs, each a list of spans")
            continue
        try:
            runs.append(parse_run(value))
        except FormatError as error:
            row.note(str(error), "runs")
    word: Word = next(one for one in WORDS if one == row.choice("answer", WORDS))
    text = row.optional_text("text", longest=_LONGEST_BLOCK) or ""
    written = row.flag("written")
    width = row.length("width", 0.0) if "width" in row else None
    changes = tuple(map(_read_change, row.tables("changes", naming="file")))
    row.finish()
    if kind in CLOSING:
        said = Answer(kind, tuple(runs), word, (), (), written, width, changes)
        return _closing_answer(row, said, text)
    if changes:
        row.note("found changes, expected them with what is asked last alone", "changes")
    if width is not None:
        row.note(
            "found a width, expected one with the waist, the hip or the allowance alone", "width"
        )
    if bool(text) != (word in ("yes", "turned")):
        row.note("expected 'text', what is added to the set, with yes and turned alone")
        return Answer(kind, tuple(runs), word)
    told, relations = _read_block(row, text)
    return Answer(kind, tuple(runs), word, relations, told, written)


def _read_change(row: Table) -> Change:
    file = row.text("file")
    before = row.text("before", longest=MOST_LETTERS)
    after = row.text("after", longest=MOST_LETTERS)
    number, of = row.count("number", 1), row.count("of", 1)
    row.finish()
    if not after:
        row.note("expected at least one line in 'after'")
    if number > of:
        row.note(f"found {number} of {of}, expected no more", "number")
    return Change(file, before, after, number, of)


def _closing_answer(row: Table, answer: Answer, text: str) -> Answer:
    """Check an answer to what is asked last."""
    blends, sided = answer.kind == "blending", ("blending", "levels", "derived")
    count = 2 * (answer.kind in sided)
    if text:
        row.note(f"found a text, expected none with {answer.kind}", "text")
    if len(answer.runs) != count or not all(answer.runs):
        row.note(f"found {len(answer.runs)} runs, expected {count}, none without a span", "runs")
    if not blends and answer.word == "turned":
        row.note("found turned, expected yes, no or later", "answer")
    wide = answer.kind in _WIDEST
    if (answer.width is not None) != (answer.joins and wide):
        row.note("expected a width with yes to the waist, the hip or the allowance alone", "width")
    elif wide and answer.width is not None and not 0.0 < answer.width <= _WIDEST[answer.kind]:
        row.note(
            f"found {answer.width:g} mm, expected more than 0 and at most "
            f"{_WIDEST[answer.kind]:g} mm; without any the answer is no",
            "width",
        )
    return answer


def _read_block(row: Table, text: str) -> tuple[tuple[str, ...], tuple[Joining, ...]]:
    """The comments and the relations of a block of TOML."""
    if not text:
        return (), ()
    lines = text.split("\n")
    count = next((k for k, line in enumerate(lines) if not line.startswith("#")), len(lines))
    told = tuple(lines[:count])
    if any(visible(line) != line for line in told):
        row.wrong("text", "comments in which nothing is hidden")
        return (), ()
    table = Table(parse_toml(text, row.problems.source), row.at("text"), row.problems)
    if not set(table) <= {"assembly", "seam", "opening", "stack", "band", "seam_opening"}:
        row.wrong(
            "text", "relations of the kinds assembly, seam, opening, stack, band and seam_opening"
        )
        return (), ()
    found = read_relations(table)
    relations = tuple(one for kept in _KEPT for one in getattr(found, kept).values())
    return told, relations


def render_answers(name: str, answers: Iterable[Answer]) -> bytes:
    """The file of answers about a set of a name."""
    rows = []
    for one in answers:
        row: dict[str, object] = {
            "kind": one.kind,
            "runs": [[str(span) for span in run] for run in one.runs],
            "answer": one.word,
        }
        if one.text:
            row["text"] = one.text
        if one.width is not None:
            row["width"] = one.width
        if one.adds:
            row["written"] = one.written
        if one.changes:
            row["changes"] = list(map(_write_change, one.changes))
        rows.append(row)
    return (json_text({"format": FORMAT, "set": name, "answers": rows}) + "\n").encode()


def _write_change(change: Change) -> dict[str, object]:
    row: dict[str, object] = {
        "file": change.file,
        "before": change.before,
        "after": change.after,
    }
    return row if change.of == 1 else {**row, "number": change.number, "of": change.of}


def still_standing(answers: Iterable[Answer], source: str) -> tuple[Answer, ...]:
    """Answers that hold for a set's text.

    What was written and was changed or taken out by hand since is no answer any more.  What
    stands there counts as written, though a run was ended before it could note that.  What is
    asked last stands as no text; `suggesting.closing` judges that.
    """
    found, plain = [], source.replace("\r\n", "\n")
    for one in answers:
        if one.closes:
            found.append(one)
            continue
        stands = bool(one.text) and _place_of(one.text, plain) is not None
        if stands or not one.written:
            found.append(replace(one, written=stands))
    return tuple(found)


def amend_text(source: str, before: Sequence[Answer], after: Sequence[Answer]) -> str:
    """The text of a set with the relations of other answers than before.

    Parameters
    ----------
    source : str
        In which those of `before` that are written stand.

    Returns
    -------
    str
        All else stays letter by letter.
    """
    wanted = [one.text for one in after if one.text]
    text = source.replace("\r\n", "\n")
    for one in before:
        at = _place_of(one.text, text) if one.written and one.text not in wanted else None
        if at is not None:
            rest = text[at + len(one.text) :].lstrip("\n")
            text = text[:at].rstrip("\n") + "\n" + (f"\n{rest}" if rest else "")
    new = [block for block in wanted if _place_of(block, text) is None]
    if new:
        text = "\n\n".join([text.rstrip("\n"), *new]) + "\n"
    return text.replace("\n", "\r\n") if "\r\n" in source else text


def change_titles(source: str, gone: Mapping[str, str], new: Mapping[str, str]) -> str:
    """The text of a set without some titles of edges and with others.

    A title that somebody wrote stays; `new` ones are told where there is none.
    """
    if not (gone or new):
        return source
    head = parse_set(source.removeprefix("\ufeff"), "set.toml")
    held = {key: title for key, title in head.relations.titles.items() if gone.get(key) != title}
    titles = {**held, **{key: title for key, title in new.items() if key not in held}}
    if titles == head.relations.titles:
        return source
    wanted = replace(head, relations=replace(head.relations, titles=titles))
    mark = "\ufeff" if source.startswith("\ufeff") else ""
    text = changed_in_place(source.removeprefix(mark), head.rendered(), wanted.rendered())
    try:
        if parse_set(text, "set.toml") == wanted:
            return mark + text
    except FormatError:
        pass  # spelled in a way that cannot be followed; a title is a comfort
    return source


def _place_of(block: str, text: str) -> int | None:
    """Where a block stands by itself, between blank lines; None where it does not."""
    alone = re.search(rf"(?:\A|(?<=\n\n)){re.escape(block)}(?=\n?\Z|\n\n)", text)
    return alone.start() if alone else None
