"""Relations of kinds that have no words of their own: what each field says, by its key."""

from __future__ import annotations

import tomllib
from typing import Any

from propagate.pattern.kinds import kind_of
from propagate.pattern.told import ToldField, told_fields
from propagate.pattern.toml_text import lines_of_relation
from propagate.report.units import Unit

__all__ = ["field_words", "told_plainly"]


def told_plainly(relation: object) -> dict[str, Any]:
    """What is said of a relation, as plain values: what a set that has it writes; mm."""
    text = "\n".join(lines_of_relation(relation))
    found: dict[str, Any] = tomllib.loads(text)[kind_of(relation).key][0]
    return found


def field_words(relation: object, unit: Unit) -> str:
    """The same in words, without its name and title."""
    said = told_plainly(relation)
    naming, *others = told_fields(type(relation))
    told = [one for one in others if one.key in said and one.key != "title"]
    return "; ".join(_words_of(one, said[one.key], unit) for one in told) or said[naming.key]


def _words_of(one: ToldField, value: Any, unit: Unit) -> str:
    if one.told.form == "flag":
        return one.key if value else f"no {one.key}"
    if one.told.form == "length":
        return f"{one.key} {unit.said(value)}"
    if one.told.form == "run":
        return f"{one.key} {value if isinstance(value, str) else ' + '.join(value)}"
    return f"{one.key} {_listed(value)}"


def _listed(value: Any) -> str:
    """A plain value in words; of a table each key and what it says."""
    if isinstance(value, list):
        within = " | " if any(isinstance(item, list) for item in value) else ", "
        return within.join(map(_listed, value))
    if isinstance(value, dict):
        return ", ".join(f"{key} {_listed(item)}" for key, item in value.items())
    return f"{value:g}" if isinstance(value, float) else str(value)
