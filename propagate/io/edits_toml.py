"""Edit files: what is to be changed on a set, in order, as TOML that a person writes."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, cast

from propagate.engine.applying import NamedEdit
from propagate.engine.edits.kinds import edit_kind
from propagate.engine.truing import Corners
from propagate.errors import UnknownName
from propagate.io.checks import Problems, Table, check_format
from propagate.io.limits import MOST_TOML_BYTES
from propagate.io.reading import read_limited
from propagate.io.relations_toml import read_told
from propagate.io.set_toml import parse_toml
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
    found = EditFile(
        edits=_read_list(table),
        sizes=_sizes(table),
        graded=cast(Grading, table.choice("amounts", ("same", "proportion"), "same")),
        follow=cast(
            Literal["shape", "length"], table.choice("follow", ("shape", "length"), "length")
        ),
        corners=cast(Corners, table.choice("corners", ("trued", "left"), "trued")),
    )
    table.finish()
    problems.stop_if_any()
    return found


def _sizes(table: Table) -> tuple[str, ...]:
    if table.values.get("sizes") == "all":
        table.raw("sizes")
        return ()
    return table.texts("sizes")


def _read_list(table: Table) -> tuple[NamedEdit, ...]:
    found: dict[str, NamedEdit] = {}
    rows = table.tables("edit")
    if not rows:
        table.problems.add("edit", "found no edit, expected at least one [[edit]]")
    for number, row in enumerate(rows, start=1):
        name = row.text("name", f"{number}")
        if name in found:
            row.problems.add(row.where, f"found a second edit '{name}', expected another name")
        named = _read_edit(row, name)
        if named is not None:
            found[name] = named
    return tuple(found.values())


def _read_edit(row: Table, name: str) -> NamedEdit | None:
    word = row.text("do").strip().replace(" ", "-")
    if not word:
        return None
    try:
        kind = edit_kind(word, row.where or "the edit")
    except UnknownName as error:
        row.problems.add(row.at("do"), str(error))
        return None
    return NamedEdit(name, read_told(row, kind.load()))


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
    kind = edit_kind(word, "the command")
    problems = Problems(f"edit '{word}'")
    values: dict[str, object] = {}
    for text in said:
        key, sign, value = text.partition("=")
        if not (sign and key.strip() and value.strip()):
            problems.add("", f"found '{text}', expected KEY=VALUE, such as {kind.example}")
        elif key.strip() in values:
            problems.add(key.strip(), "was given twice")
        else:
            values[key.strip()] = _parse_value(value.strip())
    problems.stop_if_any()
    table = Table(_part_lists(values, kind.load()), "", problems)
    edit = read_told(table, kind.load())
    problems.stop_if_any()
    return NamedEdit(word, edit)


def _parse_value(text: str) -> object:
    """TOML where it is, else the text itself."""
    try:
        return cast(object, tomllib.loads(f"value = {text}")["value"])
    except (tomllib.TOMLDecodeError, RecursionError):
        return text


def _is_list(value: str, form: str | None) -> bool:
    """Whether several are said for a field that takes one or several."""
    return "," in value and form in ("levels", "amounts")


def _part_lists(values: Mapping[str, object], edit: type[Any]) -> dict[str, object]:
    """Part the texts of lists at their commas."""
    from propagate.pattern.told import told_fields

    forms = {one.key: one.told.form for one in told_fields(edit)}
    return {
        key: [part.strip() for part in value.split(",")]
        if isinstance(value, str)
        and (forms.get(key) in ("texts", "places") or _is_list(value, forms.get(key)))
        else value
        for key, value in values.items()
    }
