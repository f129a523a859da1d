"""The relations of a set, read from the parsed tables of its TOML.

Each relation tells its own fields (`propagate.pattern.told`); here every form is read once,
and every key that no field asked for is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from propagate.errors import FormatError
from propagate.io.amount_toml import read_amount, read_amounts, read_angle, read_ease, read_width
from propagate.io.checks import Table
from propagate.io.reading import MOST_ITEMS
from propagate.pattern.kinds import BLEND, KINDS
from propagate.pattern.names import quote_names
from propagate.pattern.patternset import Relations
from propagate.pattern.relations import BlendPlan, Run, Span, parse_span
from propagate.pattern.told import Form, ToldField, either_of, told_fields

__all__ = ["part_of", "read_relations", "read_told"]

_Kind = TypeVar("_Kind")


def read_relations(table: Table) -> Relations:
    """Return the relations in the top table of a set; problems are noted in the table."""
    found: dict[str, Any] = {}
    others: dict[str, Mapping[str, Any]] = {}
    for kind in KINDS.values():
        said: dict[str, object] = {}
        for row in table.tables(kind.key, naming=kind.naming):
            value = read_told(row, kind.relation)
            name = str(row.values.get(kind.naming, ""))
            if name in said:
                row.note(f"found a second {kind.key} '{name}', expected one")
            said[name] = value
        if kind.kept:
            found[kind.kept] = said
        elif said:
            others[kind.key] = said
    blend = read_told(table.table(BLEND.key), BlendPlan) if BLEND.key in table else None
    titles = table.table("titles").all_texts()
    return Relations(**found, blend=blend, others=others, titles=titles)


def read_told(table: Table, relation: type[_Kind]) -> _Kind:
    """Return what one table says of a relation, or of a part of one."""
    values = {one.name: _read_field(table, one) for one in told_fields(relation)}
    groups = either_of(relation)
    said = [[bool(values[key]) for key in group] for group in groups]
    if groups and not sum(map(any, said)) == sum(map(all, said)) == 1:
        words = ", or ".join(quote_names(group, " with ") for group in groups)
        table.note(f"expected either {words} (one or the other)")
    table.finish()
    return relation(**values)


def _read_field(table: Table, one: ToldField) -> Any:
    required = one.required
    if one.told.unless is not None:
        flag, expected = one.told.unless
        if table.values.get(flag) is True:
            if table.raw(one.key) is not None:
                table.wrong(one.key, expected)
            required = False
    if not required and one.key not in table:
        table.raw(one.key)
        return () if one.required else one.default
    return _READERS[one.told.form](table, one, required)


def _read_run(table: Table, key: str) -> Run:
    """Read one span or a list of spans."""
    value = table.raw(key, required=True)
    return _read_spans(table, key, value) if key in table else ()


def _read_spans(table: Table, key: str, value: object) -> Run:
    texts = [value] if isinstance(value, str) else value
    if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
        table.wrong(key, 'a span such as "front.side", or a list of spans')
        return ()
    if len(texts) > MOST_ITEMS:
        table.note(f"found a list of {len(texts)} items, expected at most {MOST_ITEMS}", key)
        return ()
    spans: list[Span] = []
    for text in texts:
        try:
            spans.append(parse_span(text))
        except FormatError as error:
            table.note(str(error), key)
    return tuple(spans)


def _as_pair(value: object) -> tuple[str, str] | None:
    if isinstance(value, list) and len(value) == 2 and all(isinstance(v, str) for v in value):
        return value[0], value[1]
    return None


def _read_pairs(table: Table, one: ToldField, required: bool) -> tuple[tuple[str, str], ...]:
    key, at_least = one.key, one.told.at_least
    pairs = [_as_pair(item) for item in table.items(key, required=required)]
    if key in table and (None in pairs or len(pairs) < at_least):
        least = f"at least {at_least} " if at_least else ""
        table.wrong(key, f"a list of {least}pairs [{one.told.pair}]")
        return ()
    return tuple(pair for pair in pairs if pair is not None)


def _runs_by_name(table: Table, one: ToldField, required: bool) -> dict[str, Run]:
    table.raw(one.key, required=required)
    runs = table.table(one.key)
    return {key: _read_run(runs, key) for key in runs}


def _pairs_by_end(table: Table, one: ToldField, _required: bool) -> dict[str, tuple[str, str]]:
    pairs = table.table(one.key)
    found: dict[str, tuple[str, str]] = {}
    for end in ("start", "end"):
        pair = _as_pair(pairs.raw(end))
        if pair is not None:
            found[end] = pair
        elif end in pairs:
            pairs.wrong(end, f"a pair of edges [{one.told.pair}], each PIECE.EDGE")
    pairs.finish()
    return found


def _read_tables(table: Table, one: ToldField, required: bool) -> tuple[Any, ...]:
    table.raw(one.key, required=required)
    relation = part_of(one)
    naming = told_fields(relation)[0].key
    rows = table.tables(one.key, one.told.label or None, naming=naming)
    return tuple(read_told(row, relation) for row in rows)


def part_of(one: ToldField) -> type[Any]:
    """The kind of the tables that a field holds."""
    if one.told.of is None:
        raise TypeError(f"field '{one.name}' holds tables and does not tell of what")
    return one.told.of


_READERS: dict[Form, Callable[[Table, ToldField, bool], Any]] = {
    "edge": lambda table, one, _: table.text(one.key),
    "dart": lambda table, one, _: table.text(one.key),
    "place": lambda table, one, _: table.text(one.key),
    "places": lambda table, one, required: (
        (table.text(one.key),)
        if isinstance(table.values.get(one.key), str)
        else table.texts(one.key, required=required)
    ),
    "amount": lambda table, one, _: read_amount(table, one.key),
    "amounts": lambda table, one, _: read_amounts(table, one.key),
    "angle": lambda table, one, _: read_angle(table, one.key),
    "name": lambda table, one, _: table.name(one.key),
    "levels": lambda table, one, _: (
        table.texts(one.key, required=True)
        if isinstance(table.values.get(one.key), list)
        else table.name(one.key)
    ),
    "text": lambda table, one, required: (
        table.text(one.key) if required else table.optional_text(one.key)
    ),
    "texts": lambda table, one, required: table.texts(one.key, required=required),
    "length": lambda table, one, _: table.length(one.key, one.default),
    "width": lambda table, one, _: read_width(table, one.key),
    "lengths": lambda table, one, _: table.lengths(one.key),
    "ease": lambda table, one, _: read_ease(table, one.key, zones=True),
    "zone ease": lambda table, one, _: read_ease(table, one.key),
    "flag": lambda table, one, _: table.flag(one.key),
    "count": lambda table, one, _: table.count(one.key, one.default),
    "choice": lambda table, one, _: table.choice(one.key, one.told.choices),
    "run": lambda table, one, _: _read_run(table, one.key),
    "runs": lambda table, one, _: tuple(
        _read_spans(table, one.key, run) for run in table.items(one.key)
    ),
    "pairs": _read_pairs,
    "names": lambda table, one, _: table.table(one.key).all_texts(),
    "runs by name": _runs_by_name,
    "pairs by end": _pairs_by_end,
    "rows": _read_tables,
    "tables": _read_tables,
    "table": lambda table, one, _: read_told(table.table(one.key), part_of(one)),
}
