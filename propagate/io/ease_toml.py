"""An ease as TOML says it: a number, or a small table, or a list of them."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.io.checks import Table, as_number, parse_length
from propagate.pattern.ease import Ease, EaseSaid

__all__ = ["read_ease"]

LARGEST_SHARE = 3.0
"""A gathering of four to one; more is a length that was written as a share."""
_RATIOS = {
    "gathers": "the fuller side in lengths of the other, such as 1.5",
    "stretched": "what is stretched on in lengths of what it is sewn to, such as 0.85",
}
LEAST_RATIO = 0.1

_EXPECTED = (
    'an ease: mm or text such as "3mm", { share = 0.03 }, { from = 15, to = 25 }, '
    '{ gathers = 1.5 }, { stretched = 0.85 }, or one for each size, { "38" = 5, "40" = 6 }'
)
_ZONES = ', or zones, [{ to = "PIECE.LANDMARK", ease = 0 }, { to = "end", ease = 12 }]'


def read_ease(table: Table, key: str, *, zones: bool = False, sizes: bool = True) -> EaseSaid:
    """Return the ease at a key, none where it is absent; problems are noted in the table.

    Parameters
    ----------
    table : Table
    key : str
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
            table.problems.add(table.at(key), text)
        return Ease(zones=tuple(found))
    amount = parse_length(value) if key in table else 0.0
    if amount is None:
        table.wrong(key, _EXPECTED + (_ZONES if zones else ""))
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
            table.problems.add(table.where, text)
        return Ease(between=(least, most))
    if keys & {"share", "from", "to", *_RATIOS} or not keys or not sizes:
        found = ", ".join(f"'{key}'" for key in table) or "an empty table"
        table.problems.add(table.where, f"found {found}, expected {_EXPECTED}")
        return 0.0
    return Ease(sizes=tuple((size, read_ease(table, size, sizes=False)) for size in table))
