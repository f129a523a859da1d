"""What an edit takes, in words."""

from __future__ import annotations

from dataclasses import MISSING

from propagate.engine.edits.kinds import EditKind
from propagate.pattern.told import Form, ToldField, told_fields
from propagate.report.layout import entries, heading, sentence

__all__ = ["VALUES", "edit_lines"]

VALUES: dict[Form, str] = {
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


def edit_lines(kind: EditKind) -> list[str]:
    """Describe an edit at 80 columns: what it does, what it takes, an example."""
    rows = [(one.key, _words(one)) for one in told_fields(kind.load())]
    lines = sentence(f"{kind.word}: {kind.does}")
    lines += heading("what it takes") + entries(rows, widest=16)
    lines += heading("example")
    return [
        *lines,
        f"  propagate demo {kind.on}",
        f"  propagate change propagate_demo/{kind.on} {kind.word} {kind.example}",
    ]


def _words(one: ToldField) -> str:
    """A field in one sentence: what it says, what may stand there, and what holds else."""
    told = one.told
    value = " or ".join(told.choices) if told.choices else VALUES.get(told.form, told.form)
    if one.default is MISSING:
        said = "needed"
    elif told.choices:
        said = f"{one.default} when left out"
    else:
        said = "may be left out"
    return f"{told.doc}: {value}; {said}"
