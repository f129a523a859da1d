"""The JSON Schema of relations, from what they tell of themselves.

What a set says beside its relations stands in ``schema/set.schema.json`` by hand;
`with_relations` puts the relations into it.
"""

from __future__ import annotations

from typing import Any

from propagate.io.reading import MOST_COUNT
from propagate.io.relations_toml import part_of
from propagate.pattern.kinds import BLEND, KINDS
from propagate.pattern.told import Form, ToldField, either_of, told_fields

__all__ = ["schema_of", "with_relations"]

_Schema = dict[str, Any]


def with_relations(schema: _Schema) -> _Schema:
    """Return the schema of a set with every kind of relation put in anew."""
    found = {**schema, "properties": {**schema["properties"]}, "$defs": {**schema["$defs"]}}
    for kind in KINDS.values():
        found["properties"][kind.key] = {"type": "array", "items": _refer_to(kind.key)}
        found["$defs"][kind.key] = schema_of(kind.relation)
    found["properties"][BLEND.key] = _refer_to(BLEND.key)
    found["$defs"][BLEND.key] = schema_of(BLEND.relation)
    return found


def schema_of(relation: type[Any]) -> _Schema:
    """Return the schema of one relation, or of a part of one."""
    every = told_fields(relation)
    found: _Schema = {
        "type": "object",
        "additionalProperties": False,
        "required": [one.key for one in every if one.required and one.told.unless is None],
    }
    groups = either_of(relation)
    if groups:
        found["oneOf"] = [{"required": list(group)} for group in groups]
    for one in every:
        if one.told.unless is not None:
            flag, _ = one.told.unless
            found["if"] = {"properties": {flag: {"const": True}}, "required": [flag]}
            found["then"] = {"not": {"required": [one.key]}}
            found["else"] = {"required": [one.key]}
    either = {key for group in groups for key in group}
    found["properties"] = {one.key: _field_schema(one, one.name in either) for one in every}
    return found


def _field_schema(one: ToldField, filled: bool) -> _Schema:
    """A field; `filled`: a list that is said holds something."""
    form = _FORMS.get(one.told.form)
    if one.told.form == "table":
        found = schema_of(part_of(one))
    elif one.told.form in ("rows", "tables"):
        found = {"type": "array", "items": schema_of(part_of(one))}
    elif one.told.form == "choice":
        found = {"enum": list(one.told.choices)}
    elif form is None:
        raise TypeError(f"field '{one.name}' has a form without a schema: '{one.told.form}'")
    else:
        found = dict(form)
    if one.told.at_least:
        found["minItems"] = one.told.at_least
    elif filled and found.get("type") == "array":
        found["minItems"] = 1
    doc = {"description": one.told.doc[:1].upper() + one.told.doc[1:]}
    default = {"default": one.default} if isinstance(one.default, bool | int | float) else {}
    return {**doc, **found, **default}


def _refer_to(name: str) -> _Schema:
    return {"$ref": f"#/$defs/{name}"}


_LENGTH_OR_ONE_A_SIZE: _Schema = {
    "anyOf": [
        _refer_to("length"),
        {"type": "object", "minProperties": 1, "additionalProperties": _refer_to("length")},
    ]
}
_FORMS: dict[Form, _Schema] = {
    "name": _refer_to("name"),
    "text": {"type": "string"},
    "texts": {"type": "array", "items": {"type": "string"}},
    "levels": {
        "anyOf": [_refer_to("name"), {"type": "array", "minItems": 1, "items": _refer_to("name")}]
    },
    "length": _refer_to("length"),
    "amount": _LENGTH_OR_ONE_A_SIZE,
    "width": _LENGTH_OR_ONE_A_SIZE,
    "lengths": {"type": "array", "items": _refer_to("length")},
    "ease": _refer_to("ease"),
    "zone ease": _refer_to("ease_of_a_length"),
    "flag": {"type": "boolean"},
    "count": {"type": "integer", "minimum": 1, "maximum": MOST_COUNT},
    "run": _refer_to("run"),
    "runs": {"type": "array", "items": _refer_to("run")},
    "pairs": {"type": "array", "items": _refer_to("pair")},
    "names": {"type": "object", "additionalProperties": {"type": "string"}},
    "runs by name": {"type": "object", "additionalProperties": _refer_to("run")},
    "pairs by end": {
        "type": "object",
        "additionalProperties": False,
        "properties": {"start": _refer_to("pair"), "end": _refer_to("pair")},
    },
}
