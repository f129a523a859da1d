"""Edit files: what is to be changed on a set, in order, as TOML that a person writes."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Literal, cast

from propagate.engine.applying import NamedEdit
from propagate.engine.edits.kinds import edit_kind
from propagate.engine.truing import Corners
from propagate.errors import UnknownName
from propagate.io.checks import Problems, Table, check_format
from propagate.io.reading import MOST_TOML_BYTES, parse_toml, read_limited
from propagate.io.relations_toml import read_told
from propagate.pattern.amount import Grading
from propagate.values import dataclass

__all__ = ["FORMAT", "EditFile", "edit_of_words", "read_edits"]

FORMAT = 1


@dataclass(frozen=True)
class EditFile:
    """What an edit file says.

    Attributes
    ----------
    edits : tuple of NamedEdit
        In the order in which they are done.
    sizes : tuple of str
        Empty: every size of the nest.
    graded : "same" or "proportion"
    follow : "shape" or "length"
    corners : "trued" or "left"
    """

    edits: tuple[NamedEdit, ...]
    sizes: tuple[str, ...] = ()
    graded: Grading = "same"
    follow: Literal["shape", "length"] = "length"
    corners: Corners = "trued"


def read_edits(path: str | Path) -> EditFile:
    """Read an edit file.

    Raises
    ------
    FormatError
        Broken syntax (with line and column), a newer format, unknown edits or keys, wrong
        types; all problems of the file at once.
    """
    file = Path(path)
    text = read_limited(file, MOST_TOML_BYTES).decode("utf-8-sig", errors="replace")
    problems = Problems(str(file))
    table = Table(parse_toml(text, str(file)), "", problems)
    check_format(table, FORMAT)
    edits: dict[str, NamedEdit] = {}
    rows = table.tables("edit")
    if not rows:
        problems.add("edit", "found no edit, expected at least one [[edit]]")
    for number, row in enumerate(rows, start=1):
        name = row.text("name", f"{number}")
        if name in edits:
            row.note(f"found a second edit '{name}', expected another name")
        word = row.text("do").strip().replace(" ", "-")
        if not word:
            continue
        try:
            kind = edit_kind(word, row.where or "the edit")
        except UnknownName as error:
            row.note(str(error), "do")
            continue
        edits[name] = NamedEdit(name, read_told(row, kind.load()))
    follow = table.choice("follow", ("shape", "length"), "length")
    found = EditFile(
        edits=tuple(edits.values()),
        sizes=() if table.raw("sizes") == "all" else table.texts("sizes"),
        graded=cast(Grading, table.choice("amounts", ("same", "proportion"), "same")),
        follow=cast(Literal["shape", "length"], follow),
        corners=cast(Corners, table.choice("corners", ("trued", "left"), "trued")),
    )
    table.finish()
    problems.stop_if_any()
    return found


def edit_of_words(word: str, said: Sequence[str]) -> NamedEdit:
    """Return an edit from ``KEY=VALUE`` words, as a command line has them.

    Values are TOML, or text without its quotes; several texts are parted by commas.

    Raises
    ------
    UnknownName
        There is no such edit.
    FormatError
        A word of another form, an unknown key or a wrong value; all at once.
    """
    from propagate.pattern.told import told_fields

    kind = edit_kind(word, "the command")
    forms = {one.key: one.told.form for one in told_fields(kind.load())}
    problems = Problems(f"edit '{word}'")
    values: dict[str, object] = {}
    for text in said:
        key, sign, told = (part.strip() for part in text.partition("="))
        if not (sign and key and told):
            problems.add("", f"found '{text}', expected KEY=VALUE, such as {kind.example}")
            continue
        if key in values:
            problems.add(key, "was given twice")
            continue
        try:
            value = tomllib.loads(f"value = {told}")["value"]
        except (tomllib.TOMLDecodeError, RecursionError):
            value = told
        form = forms.get(key)
        if isinstance(value, str) and (
            form in ("texts", "places") or (form in ("levels", "amounts") and "," in value)
        ):
            value = [part.strip() for part in value.split(",")]
        values[key] = value
    problems.stop_if_any()
    edit = read_told(Table(values, "", problems), kind.load())
    problems.stop_if_any()
    return NamedEdit(word, edit)
