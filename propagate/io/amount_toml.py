"""By how much an edit changes something, as TOML says it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import suppress

from propagate.io.checks import Table, as_number, parse_length
from propagate.pattern.amount import Amount

__all__ = ["read_amount", "read_amounts", "read_angle", "read_width"]

_EXPECTED = (
    'mm or text such as "10mm" or "3/8in", a share such as "2%", or one for each size, '
    '{ "38" = "8mm", "40" = "10mm" }'
)
_WIDTH = (
    'a length of 0 or more: mm or text such as "55mm", or one for each size, '
    '{ "38" = "55mm", "40" = "58mm" }'
)
_MOST_PERCENT = 100.0
_MOST_DEGREES = 90.0
_MOST_MM = 1000.0
"""What an edit asks for beyond is a length in another unit."""


def read_amount(table: Table, key: str) -> Amount:
    """Return the amount at a key; problems are noted in the table."""
    value = table.raw(key, required=True)
    if key not in table:
        return Amount(mm=0.0)
    if isinstance(value, Mapping):
        sizes = table.table(key)
        if not value:
            table.wrong(key, _EXPECTED)
            return Amount(mm=0.0)
        return Amount(sizes=tuple((size, _length(sizes, size)) for size in sizes))
    if isinstance(value, str) and value.strip().endswith("%"):
        try:
            percent = float(value.strip().removesuffix("%"))
        except ValueError:
            percent = math.nan
        if not 0.0 < abs(percent) <= _MOST_PERCENT:
            table.wrong(key, f"a share above 0% and up to {_MOST_PERCENT:g}%")
            percent = 0.0
        return Amount(share=percent / 100.0)
    return Amount(mm=_length(table, key))


def read_amounts(table: Table, key: str) -> Amount | tuple[Amount, ...]:
    """Return the amount at a key, or several where a list is; problems are noted in the table."""
    if not isinstance(table.values.get(key), list):
        return read_amount(table, key)
    items = table.items(key, required=True)
    if not items:
        table.wrong(key, _EXPECTED)
    return tuple(
        read_amount(Table({key: item}, table.where, table.problems), key) for item in items
    )


def read_width(table: Table, key: str) -> float | Amount:
    """Return the width at a key, 0 where it is absent; problems are noted in the table."""
    value = table.raw(key)
    if not isinstance(value, Mapping):
        mm = parse_length(value) if key in table else 0.0
        return _checked_width(table, key, mm)
    if not value:
        table.wrong(key, _WIDTH)
    sizes = table.table(key)
    found = ((size, _checked_width(sizes, size, parse_length(sizes.raw(size)))) for size in sizes)
    return Amount(sizes=tuple(found))


def _checked_width(table: Table, key: str, mm: float | None) -> float:
    if mm is None or mm < 0.0:
        table.wrong(key, _WIDTH)
        return 0.0
    return mm


def read_angle(table: Table, key: str) -> float:
    """Return the degrees at a key; problems are noted in the table."""
    value = table.raw(key)
    if isinstance(value, str):
        with suppress(ValueError):
            value = float(value.strip().removesuffix("°").removesuffix("deg"))
    degrees = as_number(value)
    if degrees is None:
        table.wrong(key, 'degrees, such as 5 or "5°"')
    elif not abs(degrees) <= _MOST_DEGREES:
        table.wrong(key, f"at most {_MOST_DEGREES:g} degrees either way")
    else:
        return float(degrees)
    return 0.0


def _length(table: Table, key: str) -> float:
    mm = parse_length(table.raw(key))
    if mm is None:
        table.wrong(key, _EXPECTED)
        return 0.0
    if abs(mm) > _MOST_MM:
        table.wrong(key, f"at most {_MOST_MM:g} mm; is it in another unit?")
        return 0.0
    return mm
