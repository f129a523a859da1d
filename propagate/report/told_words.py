"""What fields say: of relations that have no words of their own, and of edits."""

from __future__ import annotations

import tomllib
from dataclasses import MISSING
from typing import Any

from propagate.engine.edits.kinds import EditKind
from propagate.pattern.kinds import kind_of
from propagate.pattern.told import Form, ToldField, told_fields
from propagate.pattern.toml_text import lines_of_relation
from propagate.report.layout import lay_entries, lay_heading, wrap_sentence
from propagate.report.units import Unit

__all__ = ["edit_lines", "field_words", "told_plainly"]
_VALUES: dict[Form, str] = {
    "edge": "PIECE.EDGE or ASSEMBLY.EDGE",
    "dart": "PIECE.DART",
    "place": "a level, a landmark, start, end, or a length",
    "places": "places, with commas between them",
    "amount": '10mm, 3/8in, 2%, or { "38" = "8mm", ... } by size',
    "amounts": "an amount, or one for each with commas between them",
    "levels": "a level, or several with commas between them",
    "angle": "degrees",
    "flag": "true or false",
    "name": "a name",
    "text": "text",
    "texts": "names, with commas between them",
    "count": "a whole number",
}
"""What is said for a field of each form."""


def told_plainly(relation: object) -> dict[str, Any]:
    """Tell what is said of a relation, as plain values: what a set that has it writes; mm."""
    text = "\n".join(lines_of_relation(relation))
    found: dict[str, Any] = tomllib.loads(text)[kind_of(relation).key][0]
    return found


def field_words(relation: object, unit: Unit) -> str:
    """Return the same in words, without its name and title."""
    said = told_plainly(relation)
    naming, *others = told_fields(type(relation))
    told = [one for one in others if one.key in said and one.key != "title"]
    return "; ".join(_say_field(one, said[one.key], unit) for one in told) or said[naming.key]


def _say_field(one: ToldField, value: Any, unit: Unit) -> str:
    if one.told.form == "flag":
        return one.key if value else f"no {one.key}"
    if one.told.form == "length":
        return f"{one.key} {unit.said(value)}"
    if one.told.form == "run":
        return f"{one.key} {value if isinstance(value, str) else ' + '.join(value)}"
    return f"{one.key} {_say_value(value)}"


def _say_value(value: Any) -> str:
    """Return A plain value in words; of a table each key and what it says."""
    if isinstance(value, list):
        within = " | " if any(isinstance(item, list) for item in value) else ", "
        return within.join(map(_say_value, value))
    if isinstance(value, dict):
        return ", ".join(f"{key} {_say_value(item)}" for key, item in value.items())
    return f"{value:g}" if isinstance(value, float) else str(value)


def edit_lines(kind: EditKind) -> list[str]:
    """Describe an edit at 80 columns: what it does, what it takes, an example."""
    rows = [(one.key, _say_option(one)) for one in told_fields(kind.load())]
    lines = wrap_sentence(f"{kind.word}: {kind.does}")
    lines += lay_heading("what it takes") + lay_entries(rows, widest=16)
    lines += lay_heading("example")
    return [
        *lines,
        f"  propagate demo {kind.on}",
        f"  propagate change propagate_demo/{kind.on} {kind.word} {kind.example}",
    ]


def _say_option(one: ToldField) -> str:
    """Return A field in one sentence: what it says, what may stand there, and what holds else."""
    told = one.told
    value = " or ".join(told.choices) if told.choices else _VALUES.get(told.form, told.form)
    if one.default is MISSING:
        said = "needed"
    elif told.choices:
        said = f"{one.default} when left out"
    else:
        said = "may be left out"
    return f"{told.doc}: {value}; {said}"
