"""By how much an edit changes something, as TOML says it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import suppress

from propagate.io.checks import Table, as_number
from propagate.lengths import parse_length
from propagate.pattern.amount import Amount
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.names import quote_names

__all__ = ["read_amount", "read_amounts", "read_angle", "read_ease", "read_width"]

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


LARGEST_SHARE = 3.0
"""A gathering of four to one; more is a length that was written as a share."""
_RATIOS = {
    "gathers": "the fuller side in lengths of the other, such as 1.5",
    "stretched": "what is stretched on in lengths of what it is sewn to, such as 0.85",
}
LEAST_RATIO = 0.1

_EASE = (
    'an ease: mm or text such as "3mm", { share = 0.03 }, { from = 15, to = 25 }, '
    '{ gathers = 1.5 }, { stretched = 0.85 }, or one for each size, { "38" = 5, "40" = 6 }'
)
_ZONES = ', or zones, [{ to = "PIECE.LANDMARK", ease = 0 }, { to = "end", ease = 12 }]'


def read_ease(table: Table, key: str, *, zones: bool = False, sizes: bool = True) -> EaseSaid:
    """Return the ease at a key, none where it is absent; problems are noted in the table.

    Parameters
    ----------
    zones, sizes : bool
        Whether an ease by zones, and one for each size, may stand there.
    """
    value = table.raw(key)
    if isinstance(value, Mapping):
        return _read_table(table.table(key), sizes=sizes)
    if isinstance(value, list) and zones:
        found: list[tuple[str, EaseSaid]] = []
        for row in table.tables(key, f"{key}, zone", naming="to"):
            found.append((row.text("to"), read_ease(row, "ease")))
            row.finish()
        if not found or found[-1][0] != "end":
            text = 'expected zones along the lead, the last with to = "end"'
            table.note(text, key)
        return Ease(zones=tuple(found))
    amount = parse_length(value) if key in table else 0.0
    if amount is None:
        table.wrong(key, _EASE + (_ZONES if zones else ""))
        return 0.0
    return amount


def _read_table(table: Table, *, sizes: bool) -> EaseSaid:
    keys = set(table)
    if keys == {"share"}:
        share = as_number(table.raw("share"))
        if share is None or not -1.0 < share <= LARGEST_SHARE:
            expected = f"a share of the lead's length, such as 0.03, up to {LARGEST_SHARE:g}"
            table.wrong("share", expected)
            share = 0.0
        return Ease(share=float(share))
    if len(keys) == 1 and keys <= set(_RATIOS):
        (key,) = keys
        ratio = as_number(table.raw(key))
        if ratio is None or not LEAST_RATIO <= ratio <= 1.0 + LARGEST_SHARE:
            bounds = f"from {LEAST_RATIO:g} up to {1.0 + LARGEST_SHARE:g}"
            table.wrong(key, f"{_RATIOS[key]}, {bounds}")
            ratio = 1.0
        return Ease(gathers=float(ratio)) if key == "gathers" else Ease(stretched=float(ratio))
    if keys == {"from", "to"}:
        least, most = (table.length(key, 0.0, negative=True) for key in ("from", "to"))
        table.finish()
        if least > most:
            text = f"found from {least:g} to {most:g} mm, expected the smaller one first"
            table.note(text)
        return Ease(between=(least, most))
    if keys & {"share", "from", "to", *_RATIOS} or not keys or not sizes:
        found = quote_names(table) or "an empty table"
        table.note(f"found {found}, expected {_EASE}")
        return 0.0
    return Ease(sizes=tuple((size, read_ease(table, size, sizes=False)) for size in table))
