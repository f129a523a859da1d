"""Values and relations as TOML text.

The standard library reads TOML but does not write it; the few forms that a set needs are
spelled here.  What equals its default is left out, so the text is as small as a person would
write it, and reading it gives the same values.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import MISSING
from typing import Any

from propagate.pattern.amount import Amount, amount_plain
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.kinds import BLEND, kind_of
from propagate.pattern.relations import BlendPlan
from propagate.pattern.told import Form, ToldField, told_fields

__all__ = ["Value", "key_text", "lines_of_relation", "pair_lines", "value_text"]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_WHOLE_BELOW = 1e15  # whole numbers below are written without a decimal point
Value = str | bool | float | list["Value"] | dict[str, "Value"]


# --------------------------------------------------------------------------- TOML forms


def _quote_text(text: str) -> str:
    # JSON's escapes are those of a TOML basic string; TOML also escapes DEL.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def key_text(name: str) -> str:
    """Return a key, in quotes where it needs them."""
    return name if _BARE_KEY.fullmatch(name) else _quote_text(name)


def value_text(value: Value) -> str:
    """Return a value on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quote_text(value)
    if isinstance(value, list):
        return f"[{', '.join(value_text(item) for item in value)}]"
    if isinstance(value, dict):
        inner = ", ".join(f"{key_text(key)} = {value_text(item)}" for key, item in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    number = float(value)
    whole = number.is_integer() and abs(number) < _WHOLE_BELOW and repr(number) != "-0.0"
    return str(int(number)) if whole else repr(number)


def pair_lines(values: Mapping[str, Value]) -> list[str]:
    """Return a line ``key = value`` for each."""
    return [f"{key_text(key)} = {value_text(value)}" for key, value in values.items()]


# ------------------------------------------------------------------------------ relations


def _write_all(values: Any) -> Value:
    return [str(value) for value in values]


def _write_ease(ease: EaseSaid) -> Value:
    if not isinstance(ease, Ease):
        return ease
    if ease.share is not None:
        return {"share": ease.share}
    if ease.gathers is not None:
        return {"gathers": ease.gathers}
    if ease.stretched is not None:
        return {"stretched": ease.stretched}
    if ease.between is not None:
        return {"from": ease.between[0], "to": ease.between[1]}
    if ease.sizes:
        return {size: _write_ease(one) for size, one in ease.sizes}
    return [{"to": to, "ease": _write_ease(one)} for to, one in ease.zones]


_PLAIN: dict[Form, Callable[[Any], Value]] = {
    "run": _write_all,
    "runs": lambda runs: [_write_all(run) for run in runs],
    "texts": _write_all,
    "lengths": list,
    "levels": lambda said: said if isinstance(said, str) else list(said),
    "pairs": lambda pairs: [_write_all(pair) for pair in pairs],
    "names": dict,
    "runs by name": lambda runs: {name: _write_all(run) for name, run in runs.items()},
    "pairs by end": lambda pairs: {end: _write_all(pair) for end, pair in pairs.items()},
    "amount": amount_plain,
    "width": lambda width: dict(width.sizes) if isinstance(width, Amount) else width,
    "ease": lambda ease: _write_ease(ease),
    "zone ease": lambda ease: _write_ease(ease),
    "rows": lambda rows: [_write_row(row) for row in rows],
}
"""Forms whose value in TOML is not simply the field's."""
_OWN_TABLE = ("runs by name", "pairs by end", "table", "tables")
_LATE = ("rows", *_OWN_TABLE)
"""Forms that are written below the others, in this order of tables."""


def lines_of_relation(relation: object, spelled: Collection[str] = ()) -> list[str]:
    """Return the lines of a relation, or of what a set says of blends.

    Parameters
    ----------
    relation : object
        One of a kind that is known.
    spelled : collection of str
        Keys that are written also where they are the default, with what they mean.
    """
    if isinstance(relation, BlendPlan):
        return [f"[{BLEND.key}]", *_write_body(relation, BLEND.key, spelled)]
    key = kind_of(relation).key
    return [f"[[{key}]]", *_write_body(relation, key, spelled)]


def _write_body(value: object, path: str, spelled: Collection[str] = ()) -> Iterator[str]:
    """Plain values, then lists of small tables, then tables of their own."""
    for one in told_fields(type(value)):
        if one.told.form not in _LATE:
            if one.key in spelled:
                yield f"{_write_line(one, value):<18}# {one.told.doc}, mm"
            elif _says_something(one, value):
                yield _write_line(one, value)
    later = [one for one in told_fields(type(value)) if one.told.form in _LATE]
    for one in sorted(later, key=lambda field: _LATE.index(field.told.form)):
        if _says_something(one, value):
            yield from _write_late(one, getattr(value, one.name), path)


def _write_line(one: ToldField, value: object) -> str:
    return pair_lines({one.key: _value_of(one, value)})[0]


def _write_late(one: ToldField, value: Any, path: str) -> Iterator[str]:
    place = f"{path}.{key_text(one.key)}"
    if one.told.form == "rows":
        yield f"{one.key} = ["
        for row in value:
            yield f"  {value_text(_write_row(row))},"
        yield "]"
    elif one.told.form == "tables":
        if not value:
            yield f"{one.key} = []"
        for table in value:
            yield f"[[{place}]]"
            yield from _write_body(table, place)
    else:
        yield f"[{place}]"
        if one.told.form == "table":
            yield from _write_body(value, place)
        else:
            plain = _PLAIN[one.told.form](value)
            yield from pair_lines(plain if isinstance(plain, dict) else {})


def _write_row(value: object) -> dict[str, Value]:
    """A small table as a value."""
    return {
        one.key: _value_of(one, value)
        for one in told_fields(type(value))
        if _says_something(one, value)
    }


def _value_of(one: ToldField, value: object) -> Value:
    said: Value = getattr(value, one.name)
    plain = _PLAIN.get(one.told.form)
    return said if plain is None else plain(said)


def _says_something(one: ToldField, value: object) -> bool:
    """Whether a field says something."""
    said = getattr(value, one.name)
    if one.told.always:
        return True
    if one.told.unless is not None and getattr(value, one.told.unless[0]):
        return bool(said)
    if one.default is MISSING:
        return True
    return bool(said != one.default and said not in (None, ""))
